/// Corners of a simple polygon in millimeters, closed implicitly, in either direction.
pub type Outline = Vec<[f64; 2]>;

/// A shape and how many of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// Its outline.
    pub outline: Outline,
    /// How many must be placed.
    pub n: usize,
    /// How many more are placed if they cost no sheet.
    pub n_optional: usize,
    /// How it may be turned.
    pub rotation: Rotation,
    /// Whether it may be mirrored.
    pub mirror: bool,
    /// Whether it is only cut in round 0, from stock or fresh dough.
    pub fresh_only: bool,
}

/// How a piece may be turned.
#[derive(Clone, Debug, PartialEq)]
pub enum Rotation {
    /// By any angle.
    Free,
    /// By quarter turns.
    Quarter,
    /// Not at all.
    Fixed,
    /// By one of these angles, in degrees.
    Angles(Vec<f64>),
}

/// Size of a sheet or tray.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SheetSize {
    /// Along x.
    pub width_mm: f64,
    /// Along y.
    pub length_mm: f64,
}

impl SheetSize {
    /// Returns the area.
    pub fn area_mm2(&self) -> f64 {
        self.width_mm * self.length_mm
    }
}

/// Sheets that are there already.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stock {
    /// Their size.
    pub size: SheetSize,
    /// How many.
    pub n: usize,
}

/// Rolling scraps again.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rerolls {
    /// How often scraps may be rolled.
    pub max: usize,
    /// Share of the mass that each rolling loses, 0 up to but not 1.
    pub loss: f64,
}

/// How long to search.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Budget {
    /// Collision queries; at least one whole plan is made whatever the number.
    pub evaluations: u64,
}

/// What to cut, and from what.
#[derive(Clone, Debug, PartialEq)]
pub struct SheetsRequest {
    /// The pieces.
    pub pieces: Vec<Piece>,
    /// Size of a fresh sheet.
    pub sheet: SheetSize,
    /// Sheets that are there already and are used first.
    pub stock: Vec<Stock>,
    /// Least distance between two pieces.
    pub gap_mm: f64,
    /// Least distance between a piece and the edge of its sheet.
    pub edge_margin_mm: f64,
    /// Rolling scraps again.
    pub rerolls: Rerolls,
    /// Whether a sheet carries one shape, unless that costs a sheet or a rolling.
    pub one_piece_per_sheet: bool,
    /// How long to search.
    pub budget: Budget,
    /// Where chance starts.
    pub seed: u64,
}
