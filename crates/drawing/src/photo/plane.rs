//! One number for each point of a grid, and the filters a photograph needs.

use crate::raster::decode::Pixels;

/// One number for each pixel, row by row.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Plane {
    pub(super) width: usize,
    pub(super) height: usize,
    pub(super) values: Vec<f32>,
}

impl Plane {
    /// Returns a plane that is the same everywhere.
    pub(super) fn filled(width: usize, height: usize, value: f32) -> Self {
        Self { width, height, values: vec![value; width * height] }
    }

    /// Returns the value at a point between pixels; the first pixel covers 0 to 1, the frame repeats.
    pub(super) fn at(&self, [x, y]: [f64; 2]) -> f32 {
        let (x, y) = (x - 0.5, y - 0.5);
        let (left, top) = (x.floor(), y.floor());
        let (right_share, lower_share) = ((x - left) as f32, (y - top) as f32);
        let value = |x: f64, y: f64| {
            // Casts from a float keep within the range of the integer.
            let x = (x as usize).min(self.width.saturating_sub(1));
            let y = (y as usize).min(self.height.saturating_sub(1));
            self.values.get(y * self.width + x).copied().unwrap_or_default()
        };
        let upper = value(left, top) * (1.0 - right_share) + value(left + 1.0, top) * right_share;
        let lower = value(left, top + 1.0) * (1.0 - right_share)
            + value(left + 1.0, top + 1.0) * right_share;
        upper * (1.0 - lower_share) + lower * lower_share
    }

    /// Combines two planes of one size value by value.
    pub(super) fn zip(&self, other: &Self, combine: impl Fn(f32, f32) -> f32) -> Self {
        let values = self.values.iter().zip(&other.values).map(|(&a, &b)| combine(a, b)).collect();
        Self { values, ..*self }
    }

    /// Changes every value.
    pub(super) fn map(&self, change: impl Fn(f32) -> f32) -> Self {
        Self { values: self.values.iter().map(|&value| change(value)).collect(), ..*self }
    }

    /// Returns the largest value within a square of `2 · reach + 1` around each pixel.
    pub(super) fn largest_within(&self, reach: usize) -> Self {
        let along = Self { values: rows(&self.values, self.width, reach), ..*self };
        let turned = along.transposed();
        let across = Self { values: rows(&turned.values, turned.width, reach), ..turned };
        across.transposed()
    }

    /// Returns the smallest value within a square of `2 · reach + 1` around each pixel.
    pub(super) fn smallest_within(&self, reach: usize) -> Self {
        self.map(|value| -value).largest_within(reach).map(|value| -value)
    }

    /// Returns the mean within a square of three by three; the frame is left as it is.
    pub(super) fn softened(&self) -> Self {
        let along = Self { values: soften_rows(&self.values, self.width), ..*self };
        let turned = along.transposed();
        Self { values: soften_rows(&turned.values, turned.width), ..turned }.transposed()
    }

    fn transposed(&self) -> Self {
        /// Side of the squares moved at once, so that both grids stay in the cache.
        const BLOCK: usize = 32;
        let mut turned = Self::filled(self.height, self.width, 0.0);
        for top in (0..self.height).step_by(BLOCK) {
            for left in (0..self.width).step_by(BLOCK) {
                for y in top..(top + BLOCK).min(self.height) {
                    for x in left..(left + BLOCK).min(self.width) {
                        let value = self.values.get(y * self.width + x).copied();
                        if let Some(slot) = turned.values.get_mut(x * self.height + y) {
                            *slot = value.unwrap_or_default();
                        }
                    }
                }
            }
        }
        turned
    }
}

/// Running maximum of each row.
///
/// M. van Herk, "A fast algorithm for local minimum and maximum filters on rectangular and octagonal kernels", 1992:
/// maxima from the left and from the right within blocks as long as the window; each window is the end of one block
/// and the beginning of the next.
fn rows(values: &[f32], width: usize, reach: usize) -> Vec<f32> {
    let window = 2 * reach + 1;
    if reach == 0 || width == 0 {
        return values.to_vec();
    }
    let padded = width + 2 * reach;
    let mut ahead = vec![f32::NEG_INFINITY; padded];
    let mut back = vec![f32::NEG_INFINITY; padded];
    let mut largest = Vec::with_capacity(values.len());
    for row in values.chunks_exact(width) {
        for line in [&mut ahead, &mut back] {
            line.fill(f32::NEG_INFINITY);
            if let Some(middle) = line.get_mut(reach..reach + width) {
                middle.copy_from_slice(row);
            }
        }
        for block in ahead.chunks_mut(window) {
            let mut most = f32::NEG_INFINITY;
            for value in block {
                most = most.max(*value);
                *value = most;
            }
        }
        for block in back.chunks_mut(window) {
            let mut most = f32::NEG_INFINITY;
            for value in block.iter_mut().rev() {
                most = most.max(*value);
                *value = most;
            }
        }
        let ends = ahead.iter().skip(window - 1);
        largest.extend(back.iter().zip(ends).map(|(from, to)| from.max(*to)));
    }
    largest
}

fn soften_rows(values: &[f32], width: usize) -> Vec<f32> {
    let mut softened = values.to_vec();
    for (row, target) in
        values.chunks_exact(width.max(1)).zip(softened.chunks_exact_mut(width.max(1)))
    {
        for (three, slot) in row.windows(3).zip(target.iter_mut().skip(1)) {
            *slot = three.iter().sum::<f32>() / 3.0;
        }
    }
    softened
}

/// Returns the color at a point of a photograph between the pixels around it, 0 to 255 a channel.
///
/// The first pixel covers 0 to 1; points beyond the frame take its color.
pub(super) fn color_at(pixels: &Pixels, [x, y]: [f64; 2]) -> [f64; 3] {
    let (x, y) = (x - 0.5, y - 0.5);
    let (left, top) = (x.floor(), y.floor());
    let (right_share, lower_share) = (x - left, y - top);
    // Casts from a float keep within the range of the integer.
    let (left, top) = (left as isize, top as isize);
    let (right, lower) = (left.saturating_add(1), top.saturating_add(1));
    let corners = [
        (pixels.at(left, top), (1.0 - right_share) * (1.0 - lower_share)),
        (pixels.at(right, top), right_share * (1.0 - lower_share)),
        (pixels.at(left, lower), (1.0 - right_share) * lower_share),
        (pixels.at(right, lower), right_share * lower_share),
    ];
    let mut color = [0.0; 3];
    for (pixel, weight) in corners {
        for (sum, channel) in color.iter_mut().zip(pixel) {
            *sum += weight * f64::from(channel);
        }
    }
    color
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_largest_and_smallest_within_reach_equal_those_found_by_looking_everywhere() {
        let (width, height) = (37_usize, 23_usize);
        let values: Vec<f32> =
            (0..width * height).map(|index| ((index * 7919) % 251) as f32).collect();
        let plane = Plane { width, height, values };
        for reach in [1, 2, 5, 30] {
            let (largest, smallest) = (plane.largest_within(reach), plane.smallest_within(reach));
            for y in 0..height {
                for x in 0..width {
                    let ys = y.saturating_sub(reach)..(y + reach + 1).min(height);
                    let around = ys.flat_map(|y| {
                        let xs = x.saturating_sub(reach)..(x + reach + 1).min(width);
                        xs.map(move |x| (x, y))
                    });
                    let around: Vec<f32> =
                        around.map(|(x, y)| plane.values[y * width + x]).collect();
                    let most = around.iter().copied().fold(f32::NEG_INFINITY, f32::max);
                    let least = around.iter().copied().fold(f32::INFINITY, f32::min);
                    assert_eq!(largest.values[y * width + x], most);
                    assert_eq!(smallest.values[y * width + x], least);
                }
            }
        }
    }

    #[test]
    fn a_point_between_pixels_has_a_color_between_theirs() {
        let pixels = Pixels { width: 2, height: 1, rgba: vec![[0, 0, 100, 255], [100, 0, 0, 255]] };
        assert_eq!(color_at(&pixels, [1.0, 0.5]), [50.0, 0.0, 50.0]);
        assert_eq!(color_at(&pixels, [-9.0, 40.0]), [0.0, 0.0, 100.0]);
    }
}
