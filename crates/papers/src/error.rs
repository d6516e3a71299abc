/// Why a paper could not be made.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The resolution is not one a picture can have.
    #[error("a picture cannot have {px_per_mm} pixels a millimeter; take a number such as 6")]
    Resolution {
        /// What was asked for.
        px_per_mm: f64,
    },
    /// The picture would have too many pixels.
    #[error(
        "a picture of {width_px} x {height_px} pixels is over the limit of {most_px} pixels; take fewer pixels a millimeter"
    )]
    TooLarge {
        /// Pixels from left to right.
        width_px: u64,
        /// Pixels from top to bottom.
        height_px: u64,
        /// The most it may have in all.
        most_px: u64,
    },
    /// The picture is no SVG.
    #[error("the picture is no SVG that can be drawn: {reason}")]
    Svg {
        /// What is wrong with it.
        reason: String,
    },
    /// The drawn picture could not be packed as PNG.
    #[error("the picture could not be packed as PNG: {reason}")]
    Png {
        /// What is wrong.
        reason: String,
    },
    /// A paper could not be set.
    #[error("the paper could not be set: {reason}")]
    Layout {
        /// What the typesetter says.
        reason: String,
    },
    /// A PDF could not be asked to be printed at 100 %.
    #[error("the file cannot ask to be printed at 100 %: {reason}")]
    PrintScaling {
        /// What is in the way.
        reason: String,
    },
}
