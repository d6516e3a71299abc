//! How short can a strip be at best?
//!
//! L >= Σ G / (W - 2m + g) - g + 2m
//!
//! - `G`: area of a piece with half a gap around, at least that of a disk of the same area (Brunn-Minkowski inequality), mm²
//! - `W`: width of the strip, mm; `m`: margin, mm; `g`: gap, mm
//!
//! Source: geometry.
//!
//! # Worked example
//! 20 squares of 50 mm on a strip of 214.5 mm, gap 2 mm, margin 4 mm:
//! a disk of 2500 mm² has a radius of 28.21 mm, grown by 1 mm 2680.4 mm²; 20 of them over 208.5 mm are 257.1 mm, less 2 and with 8 mm 263.1 mm.
//! In rows they take 266 mm.
//! ```
//! use nesting::{Budget, Piece, Rotation, StripRequest, strip_bound_mm};
//!
//! let square = vec![[0.0, 0.0], [50.0, 0.0], [50.0, 50.0], [0.0, 50.0]];
//! let piece = Piece { outline: square, n: 20, n_optional: 0, rotation: Rotation::Quarter, mirror: false, fresh_only: false };
//! let request = StripRequest {
//!     pieces: vec![piece],
//!     width_mm: 214.5,
//!     gap_mm: 2.0,
//!     edge_margin_mm: 4.0,
//!     budget: Budget { evaluations: 1 },
//!     seed: 1,
//! };
//! assert!((strip_bound_mm(&request).unwrap() - 263.1).abs() < 0.05);
//! ```

use std::f64::consts::PI;

use crate::{Error, StripRequest, clean::clean};

/// Returns a length that no strip goes below.
///
/// # Errors
/// A piece has no simple outline.
pub fn strip_bound_mm(request: &StripRequest) -> Result<f64, Error> {
    let (gap, margin) = (request.gap_mm, request.edge_margin_mm);
    let mut grown = 0.0;
    for (place, piece) in request.pieces.iter().enumerate().filter(|(_, piece)| piece.n > 0) {
        let radius = (clean(place, &piece.outline)?.area_mm2 / PI).sqrt() + gap / 2.0;
        grown += piece.n as f64 * PI * radius * radius;
    }
    let across = request.width_mm - 2.0 * margin + gap;
    if grown == 0.0 || across <= 0.0 {
        return Ok(0.0);
    }
    Ok((grown / across - gap + 2.0 * margin).max(0.0))
}
