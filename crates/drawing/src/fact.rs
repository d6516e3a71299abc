//! What happened to artwork on its way in.

use quantity::{Area, Length};

/// Something that happened to the artwork on its way in; a face words it for the maker.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Fact {
    /// A part of the drawing was left out.
    Dropped {
        /// What was left out.
        what: Dropped,
        /// Id of the element or the nearest named group around it.
        id: Option<String>,
    },
    /// A part of the drawing was replaced by something plainer.
    Flattened {
        /// What was made plain.
        what: Flattened,
        /// Id of the element or the nearest named group around it.
        id: Option<String>,
    },
    /// Text asked for a font that was not at hand, and was set in another.
    FontReplaced {
        /// Family the drawing asked for.
        asked: String,
        /// Family it was set in.
        used: String,
    },
    /// No font at hand has this letter, so it was left out or shows as an empty box.
    LetterMissing {
        /// The letter.
        letter: char,
    },
    /// No single element `outline` was found: the cutter shape is the silhouette of the art, grown by a border.
    OutlineGuessed {
        /// Growth of the silhouette.
        border: Length,
    },
    /// Several elements are named `outline`, so none of them was taken.
    OutlineAmbiguous {
        /// How many there are.
        n_outlines: usize,
    },
    /// The silhouette fell into several parts, which were joined over the gaps between them.
    OutlineJoined {
        /// Parts that were joined.
        n_parts: usize,
    },
    /// The cutter shape fell into several parts, of which the largest was kept.
    OutlineInParts {
        /// Parts left out.
        n_dropped: usize,
    },
    /// Painted artwork lies outside the cutter shape and was cut off.
    ArtOutsideOutline {
        /// The shape.
        id: String,
        /// Area cut off.
        area: Area,
    },
    /// A shape is wholly covered by shapes above it.
    Covered {
        /// The shape.
        id: String,
    },
}

/// What can be left out of a drawing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[non_exhaustive]
pub enum Dropped {
    /// A picture made of pixels that is in another file, or damaged, or one too many.
    Image,
    /// A mask: what it would have hidden is shown. Only in artwork kept by early versions.
    Mask,
    /// A filter effect such as blur or shadow.
    Filter,
    /// Text, because no font was given.
    Text,
    /// A reference to another file.
    ExternalReference,
    /// An embedded foreign document (`foreignObject`).
    ForeignObject,
    /// A shape with coordinates beyond any cookie, or so tangled that its area has no practical meaning.
    Geometry,
}

/// What can be made plainer in a drawing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[non_exhaustive]
pub enum Flattened {
    /// Translucent paint became the opaque color it shows over what lies beneath.
    Opacity,
    /// A mask became edges: a soft one lets through in a few steps.
    Mask,
    /// A gradient became its mean color.
    Gradient,
    /// A pattern became the color that fills most of its tile.
    Pattern,
    /// A blend mode other than normal was read as normal.
    BlendMode,
    /// An embedded picture made of pixels was traced.
    Image,
    /// A dash pattern finer than any tip was read as a solid line.
    Dashes,
}
