//! Letters side by side, around a circle, or broken into lines.

use super::{
    Setting,
    alphabet::{Letter, Metrics},
};

/// A word: its letters and where each begins.
#[derive(Clone, Debug, Default)]
pub(super) struct Word {
    letters: Vec<(f64, Letter)>,
    width: f64,
}

impl Word {
    pub(super) fn add(&mut self, letter: &Letter) {
        self.letters.push((self.width, letter.clone()));
        self.width += letter.advance;
    }
}

/// Sets words at the scale asked for, or smaller to fit a box or a circle; returns strokes in millimeters and the scale.
pub(super) fn set(
    words: &[Word],
    metrics: Metrics,
    asked: f64,
    setting: Setting,
) -> (Vec<Vec<[f64; 2]>>, f64) {
    let nothing = (Vec::new(), 0.0);
    if !(asked.is_finite() && asked > 0.0) {
        return nothing;
    }
    match setting {
        Setting::Line => {
            let width = width_of(words, metrics);
            let place = |x: f64| Some(Turn { cos: 1.0, sin: 0.0, at: [x, 0.0] });
            (on_line(words, metrics, asked, -asked * width / 2.0, &place), asked)
        }
        Setting::Arc { radius } => {
            let radius = radius.to_mm();
            if !radius.is_finite() || radius == 0.0 {
                return nothing;
            }
            // Not all the way around: the last letter stays off the first.
            let around = std::f64::consts::TAU * radius.abs();
            let asked = asked.min(around / (width_of(words, metrics) + metrics.space));
            let start = -asked * width_of(words, metrics) / 2.0;
            // The middle of a letter touches the circle, so it turns by its own distance from the top.
            let place = |x: f64| {
                let (sin, cos) = (x / radius).sin_cos();
                Some(Turn { cos, sin, at: [radius * sin, radius * (1.0 - cos)] })
            };
            (on_line(words, metrics, asked, start, &place), asked)
        }
        Setting::Box { width, height } => {
            let size = [width.to_mm(), height.to_mm()];
            if !size.iter().all(|side| side.is_finite() && *side > 0.0) {
                return nothing;
            }
            in_box(words, metrics, asked, size)
        }
    }
}

/// A letter's place and turn on its baseline.
struct Turn {
    cos: f64,
    sin: f64,
    at: [f64; 2],
}

fn on_line(
    words: &[Word],
    metrics: Metrics,
    scale: f64,
    start: f64,
    place: &dyn Fn(f64) -> Option<Turn>,
) -> Vec<Vec<[f64; 2]>> {
    let mut strokes = Vec::new();
    let mut x = start;
    for word in words {
        for (begin, letter) in &word.letters {
            let half = letter.advance / 2.0;
            let Some(turn) = place(x + scale * (begin + half)) else { continue };
            strokes.extend(letter.strokes.iter().map(|stroke| {
                let moved = stroke.iter().map(|&[along, up]| {
                    let (dx, dy) = (scale * (along - half), -scale * up);
                    [
                        turn.at[0] + dx * turn.cos - dy * turn.sin,
                        turn.at[1] + dx * turn.sin + dy * turn.cos,
                    ]
                });
                moved.collect()
            }));
        }
        x += scale * (word.width + metrics.space);
    }
    strokes
}

fn width_of(words: &[Word], metrics: Metrics) -> f64 {
    let letters: f64 = words.iter().map(|word| word.width).sum();
    letters + metrics.space * words.len().saturating_sub(1) as f64
}

fn in_box(
    words: &[Word],
    metrics: Metrics,
    asked: f64,
    [width, height]: [f64; 2],
) -> (Vec<Vec<[f64; 2]>>, f64) {
    let widths: Vec<f64> = words.iter().map(|word| word.width).collect();
    let scale = largest_fitting(&widths, metrics, asked, [width, height]);
    let lines = lines(&widths, metrics.space, width / scale);
    let used = block_height(lines.len(), metrics);
    let top = (height - scale * used) / 2.0;
    let mut strokes = Vec::new();
    for (place, line) in lines.into_iter().enumerate() {
        let words = words.get(line).unwrap_or_default();
        let baseline = top + scale * (metrics.ascent + metrics.step * place as f64);
        let start = (width - scale * width_of(words, metrics)) / 2.0;
        let turn = |x: f64| Some(Turn { cos: 1.0, sin: 0.0, at: [x, baseline] });
        strokes.extend(on_line(words, metrics, scale, start, &turn));
    }
    (strokes, scale)
}

/// Returns the largest scale up to the one asked for at which words of these widths fit a box.
pub(super) fn largest_fitting(
    widths: &[f64],
    metrics: Metrics,
    asked: f64,
    [width, height]: [f64; 2],
) -> f64 {
    let fits = |scale: f64| {
        let widest = widths.iter().copied().fold(0.0, f64::max);
        let n_lines = lines(widths, metrics.space, width / scale).len();
        scale * widest <= width && scale * block_height(n_lines, metrics) <= height
    };
    if fits(asked) {
        return asked;
    }
    // Smaller letters never need more lines, so halving the bracket finds the limit.
    let (mut low, mut high) = (0.0, asked);
    for _ in 0..40 {
        let middle = (low + high) / 2.0;
        if fits(middle) { low = middle } else { high = middle }
    }
    low.max(f64::MIN_POSITIVE)
}

fn block_height(n_lines: usize, metrics: Metrics) -> f64 {
    metrics.ascent + metrics.descent + metrics.step * n_lines.saturating_sub(1) as f64
}

/// Breaks words into lines no wider than `limit`, a wider word alone on its own.
pub(super) fn lines(widths: &[f64], space: f64, limit: f64) -> Vec<std::ops::Range<usize>> {
    let mut lines: Vec<std::ops::Range<usize>> = Vec::new();
    let mut used = 0.0;
    for (place, width) in widths.iter().enumerate() {
        match lines.last_mut() {
            Some(line) if used + space + width <= limit => {
                line.end = place + 1;
                used += space + width;
            }
            _ => {
                lines.push(place..place + 1);
                used = *width;
            }
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_share_a_line_as_long_as_they_fit() {
        assert_eq!(lines(&[10.0, 10.0, 10.0], 2.0, 22.0), [0..2, 2..3]);
        assert_eq!(lines(&[50.0, 1.0], 2.0, 22.0), [0..1, 1..2]);
        assert!(lines(&[], 2.0, 22.0).is_empty());
    }

    #[test]
    fn a_single_word_in_a_narrow_box_is_as_wide_as_the_box() {
        let metrics = Metrics { ascent: 700.0, descent: 300.0, step: 1000.0, space: 300.0 };
        let scale = largest_fitting(&[2000.0], metrics, 1.0, [40.0, 100.0]);
        assert!((scale - 0.02).abs() < 1e-9, "{scale}");
    }
}
