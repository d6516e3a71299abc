/// Why pieces cannot be laid out.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum Error {
    /// A piece fits no sheet, however it is turned.
    #[error(
        "piece {piece} ({width_mm:.1} x {height_mm:.1} mm) fits no sheet; make it smaller or the sheet larger"
    )]
    PieceTooLarge {
        /// The piece.
        piece: usize,
        /// Width of its bounding box.
        width_mm: f64,
        /// Height of its bounding box.
        height_mm: f64,
    },
    /// An outline is no simple polygon with an area.
    #[error(
        "the outline of piece {piece} {what}; draw it as one closed curve that does not cross itself"
    )]
    BadOutline {
        /// The piece.
        piece: usize,
        /// What is wrong with it.
        what: &'static str,
    },
    /// The angles a piece may be turned by are none, too many, or no numbers.
    #[error(
        "the angles of piece {piece} {what}; list 1 to {most} angles in degrees, or let it turn freely"
    )]
    BadAngles {
        /// The piece.
        piece: usize,
        /// What is wrong with them.
        what: &'static str,
        /// Angles accepted.
        most: usize,
    },
    /// A number is negative, infinite or not a number.
    #[error("{what} is {value}, outside {least} to {most}; correct it")]
    OutOfRange {
        /// The number's name.
        what: &'static str,
        /// Its value.
        value: f64,
        /// The smallest accepted.
        least: f64,
        /// The largest accepted.
        most: f64,
    },
    /// There are more pieces than any kitchen cuts.
    #[error("{n} pieces are more than the {most} that can be laid out; split the order")]
    TooMany {
        /// Pieces asked for.
        n: usize,
        /// Pieces accepted.
        most: usize,
    },
    /// The search found no plan, although every piece fits a sheet alone.
    #[error(
        "each piece fits a sheet, but no layout was found on {n_sheets} or fewer; allow a smaller gap or margin, or larger sheets"
    )]
    NoPlan {
        /// Fresh sheets tried at most.
        n_sheets: usize,
    },
}
