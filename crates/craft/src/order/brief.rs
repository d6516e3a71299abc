//! An order together with its pictures at true size: everything a plan is made from, besides the kitchen.

use std::collections::BTreeMap;

use drawing::{Artwork, Drawing, ReadOptions};
use quantity::Length;

use crate::order::{ItemPicture, Order, SectionChoice};

/// Border around a picture that brings no cutter shape of its own (common practice, no source).
const BORDER: Length = Length::mm(3.0);

/// The pictures that came with an order, by file stem.
#[derive(Clone, Debug, Default)]
pub struct DesignFiles {
    /// The drawings as they were understood on their way in.
    pub artworks: BTreeMap<String, Artwork>,
    /// The maker's choices for sections of a design.
    pub choices: BTreeMap<String, Vec<SectionChoice>>,
}

/// An order and its pictures.
#[derive(Clone, Debug)]
pub struct Brief {
    /// The order.
    pub order: Order,
    /// One picture for each item, in the order's own sequence.
    pub pictures: Vec<Picture>,
}

/// The picture of an item at true size.
#[derive(Clone, Debug)]
pub enum Picture {
    /// A drawing and the maker's choices for its sections.
    Drawn {
        /// The drawing.
        drawing: Drawing,
        /// The maker's choices.
        choices: Vec<SectionChoice>,
    },
    /// No drawing; the item itself says what stands in for it.
    Undrawn,
}

/// Why an order's pictures could not be read.
#[derive(Debug, thiserror::Error)]
pub enum BriefError {
    /// An item names a design that is not there.
    #[error("item \"{item}\": there is no drawing \"{design}\" among the designs; there is {have}")]
    Missing {
        /// The item's name.
        item: String,
        /// The design's name.
        design: String,
        /// The designs that are there, as a list to read.
        have: String,
    },
    /// Neither the drawing nor the order says how large the cookie is.
    #[error(
        "item \"{item}\": the drawing \"{design}\" has no physical size; add width_mm to the item, or a width in mm, cm or in to the drawing"
    )]
    NoSize {
        /// The item's name.
        item: String,
        /// The design's name.
        design: String,
    },
    /// The drawing cannot be read.
    #[error("item \"{item}\": the drawing \"{design}\": {source}")]
    Drawing {
        /// The item's name.
        item: String,
        /// The design's name.
        design: String,
        /// What is wrong with it.
        source: drawing::Error,
    },
}

/// Reads the pictures of an order at true size.
///
/// # Errors
/// The first item whose picture is missing, has no size or cannot be read.
pub fn read_brief(order: Order, files: &DesignFiles) -> Result<Brief, BriefError> {
    let pictures = order
        .items
        .iter()
        .map(|item| match &item.picture {
            ItemPicture::Drawn { design, width, border, gradient_bands } => {
                let options = ReadOptions { width: *width, border: border.unwrap_or(BORDER) };
                read_picture(&item.name, design, &options, *gradient_bands, files)
            }
            ItemPicture::Undrawn { .. } => Ok(Picture::Undrawn),
        })
        .collect::<Result<_, _>>()?;
    Ok(Brief { order, pictures })
}

fn read_picture(
    item: &str,
    design: &str,
    options: &ReadOptions,
    gradient_bands: Option<usize>,
    files: &DesignFiles,
) -> Result<Picture, BriefError> {
    let (item, design) = (item.to_owned(), design.to_owned());
    let Some(artwork) = files.artworks.get(&design) else {
        let have = match files.artworks.len() {
            0 => "no designs".to_owned(),
            _ => files.artworks.keys().map(String::as_str).collect::<Vec<_>>().join(", "),
        };
        return Err(BriefError::Missing { item, design, have });
    };
    let banded = gradient_bands.map(|n_bands| artwork.in_bands(n_bands));
    match drawing::read(banded.as_ref().unwrap_or(artwork), options) {
        Ok(drawing) => {
            let choices = files.choices.get(&design).cloned().unwrap_or_default();
            Ok(Picture::Drawn { drawing, choices })
        }
        Err(drawing::Error::NoSize) => Err(BriefError::NoSize { item, design }),
        Err(source) => Err(BriefError::Drawing { item, design, source }),
    }
}
