//! Which letters does text turn into?

use std::sync::{Arc, Mutex, PoisonError};

use roxmltree::Document;
use usvg::{
    FontFamily, FontResolver, ImageHrefResolver, ImageKind, Options, Tree,
    fontdb::{Database, Family, ID, Query, Weight},
};

use crate::{error::Error, fact::Fact, raster};

/// Fonts to set the text of drawings in; cheap to clone.
#[derive(Clone, Debug, Default)]
pub struct Fonts(Arc<Database>);

impl Fonts {
    /// Returns no fonts at all: text is left out of drawings.
    pub fn none() -> Self {
        Self::default()
    }

    /// Takes the bytes of TrueType or OpenType files; what is no font is passed over.
    ///
    /// The first is used where a drawing asks for a font that is not among them.
    pub fn from_bytes(fonts: impl IntoIterator<Item = Vec<u8>>) -> Self {
        let mut database = Database::new();
        for font in fonts {
            database.load_font_data(font);
        }
        Self(Arc::new(database))
    }

    /// Tells whether there is no font.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

/// Resolves a vetted drawing with these fonts alone, following no reference to anything outside of it.
pub(super) fn set(document: &Document<'_>, fonts: &Fonts) -> Result<(Tree, Vec<Fact>), Error> {
    let facts = Mutex::new(Vec::new());
    let note = |fact: Fact| {
        let mut facts = facts.lock().unwrap_or_else(PoisonError::into_inner);
        if !facts.contains(&fact) {
            facts.push(fact);
        }
    };
    // Text that names no font is set in the first.
    let family = fonts.0.faces().next().and_then(|face| face.families.first());
    let options = Options {
        font_family: family.map(|(name, _)| name.clone()).unwrap_or_default(),
        fontdb: Arc::clone(&fonts.0),
        font_resolver: FontResolver {
            select_font: Box::new(|font, database| {
                let select = FontResolver::default_font_selector();
                select(font, database).or_else(|| {
                    let (id, used) = stand_in(database, Weight(font.weight()))?;
                    if let Some(FontFamily::Named(asked)) = font.families().first() {
                        note(Fact::FontReplaced { asked: asked.clone(), used });
                    }
                    Some(id)
                })
            }),
            select_fallback: Box::new(|letter, tried, database| {
                let found = FontResolver::default_fallback_selector()(letter, tried, database);
                if found.is_none() {
                    note(Fact::LetterMissing { letter });
                }
                found
            }),
        },
        image_href_resolver: ImageHrefResolver {
            // The reader looks at the size alone; what kind it is, its first bytes tell again when it is traced.
            resolve_data: Box::new(|_, data, _| {
                raster::file_ending(&data).map(|_| ImageKind::PNG(data))
            }),
            resolve_string: Box::new(|_, _| None),
        },
        ..Options::default()
    };
    let tree = Tree::from_xmltree(document, &options).map_err(|error| match error {
        usvg::Error::InvalidSize => Error::NoArea,
        other => Error::NotXml { reason: other.to_string() },
    })?;
    drop(options);
    Ok((tree, facts.into_inner().unwrap_or_else(PoisonError::into_inner)))
}

/// Returns the face of the first font's family that is nearest in weight, with the family's name.
fn stand_in(database: &Database, weight: Weight) -> Option<(ID, String)> {
    let (family, _) = database.faces().next()?.families.first()?;
    let families = [Family::Name(family)];
    let id = database.query(&Query { families: &families, weight, ..Query::default() })?;
    Some((id, family.clone()))
}
