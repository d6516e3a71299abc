//! Cutters by their usual names: "round 82 mm", "rectangle 90 x 60 mm".

use drawing::{Region, region::FillRule};
use quantity::{Length, ParseError, parse_length};

/// A cutter shape of known size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cutter {
    /// Its shape.
    pub shape: CutterShape,
    /// Width of its bounding box.
    pub width: Length,
    /// Height of its bounding box.
    pub height: Length,
}

/// The shapes a cutter can be named by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CutterShape {
    /// A circle, or an oval when two sizes are given.
    Round,
    /// A square, or a rectangle when two sizes are given.
    Rectangle,
    /// A heart.
    Heart,
    /// A star with five points.
    Star,
    /// A regular hexagon standing on a side.
    Hexagon,
}

/// Why a cutter could not be understood.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum CutterError {
    /// The first word names no shape.
    #[error(
        "cutter \"{text}\" does not start with round, oval, square, rectangle, heart, star or hexagon"
    )]
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
        let shape = match word {
            "round" | "circle" | "oval" => CutterShape::Round,
            "square" | "rectangle" => CutterShape::Rectangle,
            "heart" => CutterShape::Heart,
            "star" => CutterShape::Star,
            "hexagon" => CutterShape::Hexagon,
            _ => return Err(CutterError::Shape { text: text.into() }),
        };
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
        let points = self.shape.unit_points();
        let ring = points
            .iter()
            .map(|[x, y]| [x * self.width.to_mm(), y * self.height.to_mm()])
            .collect::<Vec<_>>();
        Region::from_rings(&[ring], FillRule::NonZero)
    }
}

/// Corners of a round outline: 256 keep a 100 mm circle within 0.01 mm.
const N_ROUND: usize = 256;

impl CutterShape {
    /// Height over width of the shape when only its width is named.
    fn proportion(self) -> f64 {
        let [_, height] = self.raw_size();
        let [width, _] = self.raw_size();
        height / width
    }

    /// Width and height of the raw points.
    fn raw_size(self) -> [f64; 2] {
        let (low, high) = bounds(&self.raw_points());
        [high[0] - low[0], high[1] - low[1]]
    }

    /// The shape's points with its bounding box stretched to the unit square.
    fn unit_points(self) -> Vec<[f64; 2]> {
        let points = self.raw_points();
        let (low, high) = bounds(&points);
        points
            .iter()
            .map(|p| [0, 1].map(|axis| (p[axis] - low[axis]) / (high[axis] - low[axis])))
            .collect()
    }

    /// The shape's points in its natural proportion, y down.
    fn raw_points(self) -> Vec<[f64; 2]> {
        let around = |n: usize| (0..n).map(move |i| i as f64 / n as f64 * std::f64::consts::TAU);
        match self {
            Self::Round => around(N_ROUND).map(|t| [t.cos(), t.sin()]).collect(),
            Self::Rectangle => vec![[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]],
            // A well-known heart curve: x = 16 sin³t, y = 13 cos t - 5 cos 2t - 2 cos 3t - cos 4t.
            Self::Heart => around(N_ROUND)
                .map(|t| {
                    let y = 13.0 * t.cos()
                        - 5.0 * (2.0 * t).cos()
                        - 2.0 * (3.0 * t).cos()
                        - (4.0 * t).cos();
                    [16.0 * t.sin().powi(3), -y]
                })
                .collect(),
            // Points of a pentagram: the inner corners lie at 0.382 of the outer radius.
            Self::Star => around(10)
                .enumerate()
                .map(|(i, t)| {
                    let radius = if i % 2 == 0 { 1.0 } else { 0.381_966 };
                    [radius * t.sin(), -radius * t.cos()]
                })
                .collect(),
            Self::Hexagon => around(6).map(|t| [t.cos(), t.sin()]).collect(),
        }
    }
}

fn bounds(points: &[[f64; 2]]) -> ([f64; 2], [f64; 2]) {
    points.iter().fold(([f64::MAX; 2], [f64::MIN; 2]), |(low, high), p| {
        ([low[0].min(p[0]), low[1].min(p[1])], [high[0].max(p[0]), high[1].max(p[1])])
    })
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
        // The heart curve's area is 180 π on a box 32 wide.
        check("heart 64 mm", 64.0, 64.0 * 28.951 / 32.0, 180.0 * PI * 4.0);
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
