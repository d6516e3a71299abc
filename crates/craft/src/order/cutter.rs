//! Cutters by their usual names: "round 82 mm", "rectangle 90 x 60 mm".

use drawing::{Region, shape::ShelfShape};
use quantity::{Length, ParseError, parse_length};

/// A cutter shape of known size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cutter {
    /// Its shape.
    pub shape: ShelfShape,
    /// Width of its bounding box.
    pub width: Length,
    /// Height of its bounding box.
    pub height: Length,
}

/// Why a cutter could not be understood.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum CutterError {
    /// The first word names no shape.
    #[error("cutter \"{text}\" does not start with a shape of the shelf: round, {}", shelf())]
    Shape {
        /// What was written.
        text: String,
    },
    /// The size cannot be read.
    #[error("cutter \"{text}\" needs a size such as \"round 82 mm\" or \"rectangle 90 x 60 mm\"")]
    Size {
        /// What was written.
        text: String,
        /// What is wrong with it.
        #[source]
        source: ParseError,
    },
    /// The size is not one a cookie can have.
    #[error("cutter \"{text}\" must measure between 10 and 400 mm")]
    Range {
        /// What was written.
        text: String,
    },
}

impl Cutter {
    /// Reads "round 82 mm", "oval 90 x 60 mm", "heart 3.25 in".
    ///
    /// One size is the width; hexagons, hearts and stars keep their own proportion.
    pub fn parse(text: &str) -> Result<Self, CutterError> {
        let (word, size) = text.trim().split_once(char::is_whitespace).unwrap_or((text.trim(), ""));
        // A cutter is called round where geometry says circle.
        let name = if word == "round" { "circle" } else { word };
        let shape =
            ShelfShape::from_name(name).ok_or_else(|| CutterError::Shape { text: text.into() })?;
        let read = |size: &str| {
            parse_length(size).map_err(|source| CutterError::Size { text: text.into(), source })
        };
        let (width, height) = match size.split_once(['x', '×']) {
            // "90 x 60 mm": the unit stands once, behind the last number.
            Some((width, height)) => {
                let unit = height.trim_start_matches(|c: char| !c.is_alphabetic());
                (read(width).or_else(|_| read(&format!("{width} {unit}")))?, read(height)?)
            }
            None => {
                let width = read(size)?;
                (width, width * shape.proportion())
            }
        };
        let possible = |side: Length| (10.0..=400.0).contains(&side.to_mm());
        if possible(width) && possible(height) {
            Ok(Self { shape, width, height })
        } else {
            Err(CutterError::Range { text: text.into() })
        }
    }

    /// Returns the closed curve that is cut, its bounding box starting at the origin.
    pub fn outline(&self) -> Region {
        self.shape.outline(self.width, self.height)
    }
}

/// The names of all shapes, as a list to read.
fn shelf() -> String {
    ShelfShape::NAMES.map(|(_, name)| name).join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str, width_mm: f64, height_mm: f64, area_mm2: f64) {
        let cutter = Cutter::parse(text).expect("a cutter");
        let close = |a: f64, b: f64| (a - b).abs() <= b * 0.001;
        assert!(close(cutter.width.to_mm(), width_mm), "{text}: {:?}", cutter.width);
        assert!(close(cutter.height.to_mm(), height_mm), "{text}: {:?}", cutter.height);
        assert!(
            close(cutter.outline().area().to_mm2(), area_mm2),
            "{text}: {:?}",
            cutter.outline().area()
        );
    }

    #[test]
    fn cutters_have_the_area_of_their_closed_form() {
        use std::f64::consts::PI;
        check("round 82 mm", 82.0, 82.0, PI * 41.0 * 41.0);
        check("oval 90 x 60 mm", 90.0, 60.0, PI * 45.0 * 30.0);
        check("square 3 in", 76.2, 76.2, 76.2 * 76.2);
        check("rectangle 90 mm x 60 mm", 90.0, 60.0, 5400.0);
        // A regular hexagon of side a: width 2a, height √3 a, area 3√3/2 a².
        check("hexagon 80 mm", 80.0, 40.0 * 3.0_f64.sqrt(), 1.5 * 3.0_f64.sqrt() * 1600.0);
        // A square of side a with half circles on two sides: 1.7071 a wide, 1.5607 a high, a² (1 + π/4).
        let side = 64.0 / 1.707_107;
        check("heart 64 mm", 64.0, side * 1.560_660, side * side * (1.0 + PI / 4.0));
        check("plaque 90 x 60 mm", 90.0, 60.0, 5400.0 - PI * 9.6 * 9.6);
    }

    #[test]
    fn what_is_no_cutter_is_refused_in_a_sentence() {
        for text in
            ["", "blob 30 mm", "round", "round big", "round 5 mm", "round 9 m", "round 1e9 mm", "x"]
        {
            assert!(Cutter::parse(text).is_err(), "{text}");
        }
    }
}
