//! Why artwork cannot be taken in.

use thiserror::Error;

use quantity::Length;

/// Why artwork could not be taken in.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum Error {
    /// The file has no bytes.
    #[error("the file is empty; save the drawing again and choose that file")]
    Empty,
    /// The file is larger than any drawing needs to be.
    #[error(
        "the file has {n_bytes} bytes, more than the {limit} a drawing may have; remove embedded pictures or simplify its paths"
    )]
    TooLarge {
        /// Bytes in the file.
        n_bytes: usize,
        /// Bytes allowed.
        limit: usize,
    },
    /// The file is not UTF-8 text.
    #[error(
        "the file is not text from byte {at} on; save the drawing as plain, uncompressed SVG in UTF-8"
    )]
    NotText {
        /// First byte that is not UTF-8.
        at: usize,
    },
    /// The file is not well-formed XML.
    #[error("the file is not a readable SVG ({reason}); save the drawing again as plain SVG")]
    NotXml {
        /// What the XML reader found, with its line and column.
        reason: String,
    },
    /// The file declares a document type, which may hide entities.
    #[error(
        "the file has a document type declaration (<!DOCTYPE ...>), which is not accepted; save the drawing as plain SVG"
    )]
    DocumentType,
    /// The root element is not `svg`.
    #[error("the file is an XML document of type \"{root}\", not an SVG drawing")]
    NotSvg {
        /// Name of the root element.
        root: String,
    },
    /// The drawing has too many elements.
    #[error("the drawing has more than {limit} elements; simplify it")]
    TooManyElements {
        /// Elements allowed.
        limit: usize,
    },
    /// Elements are nested too deep, in the file or through references.
    #[error("the drawing nests more than {limit} elements inside each other; ungroup it")]
    TooDeep {
        /// Levels allowed.
        limit: usize,
    },
    /// An element refers to itself, directly or through others.
    #[error(
        "element \"{id}\" refers to itself; remove the clone, clip, mask or pattern that contains its own source"
    )]
    Cycle {
        /// An element on the cycle.
        id: String,
    },
    /// Clones, clips, masks, patterns and markers multiply into too much.
    #[error(
        "the clones, clips, masks, patterns and markers of the drawing multiply into too much to read; turn them into plain paths"
    )]
    TooManyReferences,
    /// The drawing holds more text than lettering.
    #[error(
        "the drawing holds more than {limit} characters of text; keep only what is piped on the cookie"
    )]
    TooMuchText {
        /// Characters allowed.
        limit: usize,
    },
    /// The style sheet is too long for the number of elements.
    #[error(
        "the style sheet of the drawing is too long; save the drawing with its styles as attributes"
    )]
    TooManyStyles,
    /// The picture has no area: its width, height or view box is zero, negative or missing.
    #[error("the drawing has no area; give its page a width and a height above zero")]
    NoArea,
    /// Nothing is painted.
    #[error("the drawing paints nothing; fill or stroke at least one shape")]
    NothingPainted,
    /// All that is painted is text, and there is no font to set it in.
    #[error("the drawing is all text and no font is at hand; convert the text to paths")]
    NoFont,
    /// Neither the caller nor the file says how large the cutter shape is.
    #[error(
        "the drawing does not say how large it is; give the width of the cutter shape, or save it with a width in mm, cm or in"
    )]
    NoSize,
    /// The cutter shape would have an impossible size.
    #[error(
        "the cutter shape would be {:.1} mm along one side, outside the {} to {} mm that can be cut; give another width",
        width.to_mm(), least.to_mm(), most.to_mm()
    )]
    BadSize {
        /// Width asked for or found.
        width: Length,
        /// Smallest width accepted.
        least: Length,
        /// Largest width accepted.
        most: Length,
    },
    /// The outline element encloses no area.
    #[error("the element \"outline\" encloses no area; draw the cutter shape as one closed curve")]
    OpenOutline,
    /// The cutter is too small for its border, or of a shape that art cannot be fitted into.
    #[error(
        "a border of {:.1} mm leaves no room for art on the cutter; take a larger cutter or a narrower border",
        border.to_mm()
    )]
    NoRoom {
        /// The border asked for.
        border: Length,
    },
    /// Shapes have so many corners or crossings that combining them would take too long.
    #[error(
        "the shapes of the drawing have too many corners or cross each other too often; simplify its paths"
    )]
    TooIntricate,
    /// The file is neither an SVG drawing nor a picture of a kind that is read.
    #[error(
        "the file is neither an SVG drawing nor a picture as PNG, JPEG or WebP; save it as one of these and choose that file"
    )]
    NotPicture,
    /// The picture has too many pixels.
    #[error(
        "the picture says it is {width} x {height} pixels, more than the {most_pixels} a picture may have; save it smaller"
    )]
    PictureTooLarge {
        /// Width in its header, in pixels.
        width: u32,
        /// Height in its header, in pixels.
        height: u32,
        /// Pixels allowed.
        most_pixels: u64,
    },
    /// The picture is cut short or damaged.
    #[error("the picture cannot be read ({reason}); save or take it again")]
    BrokenPicture {
        /// What the decoder found.
        reason: String,
    },
    /// The reference for the scale was not found in a photograph.
    #[error(
        "the {reference} was not found in the photograph ({reason}); lay it flat on a plain ground of another color with all corners in view, or mark its four corners"
    )]
    NoReference {
        /// What was looked for.
        reference: &'static str,
        /// What was found instead.
        reason: &'static str,
    },
    /// The corners given for the reference are no picture of a rectangle.
    #[error(
        "the four corners of the {reference} do not look like a rectangle seen from above; mark them one after the other around it"
    )]
    BadCorners {
        /// What the corners were said to be of.
        reference: &'static str,
    },
    /// No cutter or drawn line was found in a photograph.
    #[error(
        "no closed outline was found on the paper ({reason}); lay the cutter on plain paper away from its edges, or draw the line darker and close it"
    )]
    NoSubject {
        /// What was found instead.
        reason: &'static str,
    },
    /// What the ruler says is too far from what the photograph says.
    #[error(
        "the ruler says {:.1} mm where the photograph says {:.1} mm; check the size of the sheet or card and what was measured",
        measured.to_mm(), seen.to_mm()
    )]
    RulerDisagrees {
        /// Length by the ruler.
        measured: Length,
        /// Length by the photograph.
        seen: Length,
    },
}
