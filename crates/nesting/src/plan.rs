use crate::SheetSize;

/// Where a piece lies: its outline is mirrored (x becomes -x) if it says so, rotated about the outline's own origin, then moved.
///
/// x' = x cos a - y sin a + `x_mm`, y' = x sin a + y cos a + `y_mm`; with y down, a positive angle turns clockwise on the page.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placement {
    /// The piece, by its place in the request.
    pub piece: usize,
    /// Where its origin goes.
    pub x_mm: f64,
    /// Where its origin goes.
    pub y_mm: f64,
    /// The angle, in degrees.
    pub rotation_deg: f64,
    /// Whether the outline is mirrored before it is rotated.
    pub mirrored: bool,
}

/// A sheet and what is cut from it.
#[derive(Clone, Debug, PartialEq)]
pub struct CutSheet {
    /// 0 for stock and fresh sheets, 1 for sheets rolled from their scraps, and so on.
    pub round: usize,
    /// Whether it was there already.
    pub from_stock: bool,
    /// Its size.
    pub size: SheetSize,
    /// The cuts.
    pub placements: Vec<Placement>,
}

/// A cutting plan.
#[derive(Clone, Debug, PartialEq)]
pub struct SheetsPlan {
    /// Sheets in the order they are cut.
    pub sheets: Vec<CutSheet>,
    /// Fresh sheets.
    pub n_fresh: usize,
    /// Sheets from stock that are cut.
    pub n_stock: usize,
    /// Sheets rolled from scraps.
    pub n_rerolled: usize,
    /// Whether every sheet carries one shape.
    pub one_shape: bool,
    /// Area of the fresh sheets.
    pub fresh_area_mm2: f64,
    /// Area of all pieces cut.
    pub piece_area_mm2: f64,
    /// Area of dough left when all is cut, losses aside.
    pub scrap_area_mm2: f64,
    /// No plan without re-rolls and stock needs fewer fresh sheets.
    pub sheets_bound: usize,
    /// Area of pieces over area of fresh and stock sheets.
    pub dough_use: f64,
    /// For each piece how many optional copies were left out.
    pub unplaced_optional: Vec<usize>,
    /// Collision queries made.
    pub evaluations: u64,
}

/// Told to the listener after each attempt.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Progress {
    /// Fresh sheets of the best plan so far; nothing until there is one.
    pub n_fresh: Option<usize>,
    /// Sheets rolled from scraps in the best plan so far.
    pub n_rerolled: Option<usize>,
    /// Collision queries made.
    pub evaluations: u64,
}

impl SheetsPlan {
    /// Returns what the listener is told of it.
    pub(crate) fn progress(&self, evaluations: u64) -> Progress {
        let (n_fresh, n_rerolled) = (Some(self.n_fresh), Some(self.n_rerolled));
        Progress { n_fresh, n_rerolled, evaluations }
    }
}
