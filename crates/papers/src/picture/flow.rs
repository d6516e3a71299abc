//! Boxes side by side on rows, like lines of text but evenly filled.

use std::ops::Range;

use super::svg::Element;

/// Something to stand on a row: drawn upward and downward from a foot line, its origin at the left end of that line.
#[derive(Clone, Debug)]
pub(super) struct Block {
    pub(super) width: f64,
    /// Extent over the foot line.
    pub(super) above: f64,
    /// Extent under it.
    pub(super) below: f64,
    pub(super) content: Element,
}

/// Room between blocks and between rows.
#[derive(Clone, Copy, Debug)]
pub(super) struct Gaps {
    pub(super) across: f64,
    pub(super) down: f64,
}

/// Blocks in their places; the origin is the upper left corner.
#[derive(Clone, Debug)]
pub(super) struct Flow {
    pub(super) width: f64,
    pub(super) height: f64,
    pub(super) content: Vec<Element>,
}

/// Lays blocks on as few rows no wider than `limit` as they need, and spreads each row over the whole width.
///
/// A block wider than `limit` has a row of its own, and the flow is as wide as that block.
pub(super) fn flow(blocks: Vec<Block>, gaps: Gaps, limit: f64, least_width: f64) -> Flow {
    let widths: Vec<f64> = blocks.iter().map(|block| block.width).collect();
    let rows = in_rows(&widths, gaps.across, limit);
    let row_width = |row: &Range<usize>| extent(&widths[row.clone()], gaps.across);
    let width = rows.iter().map(row_width).fold(least_width, f64::max);

    let mut content = Vec::new();
    let mut height = 0.0;
    let mut blocks = blocks.into_iter();
    for (place, row) in rows.iter().enumerate() {
        let blocks: Vec<Block> = blocks.by_ref().take(row.len()).collect();
        let above = blocks.iter().map(|block| block.above).fold(0.0, f64::max);
        let below = blocks.iter().map(|block| block.below).fold(0.0, f64::max);
        let spare = (width - row_width(row)) / (row.len() + 1) as f64;
        let foot = height + above;
        let mut x = spare;
        for block in blocks {
            content.push(Element::group([block.content]).moved([x, foot]));
            x += block.width + gaps.across + spare;
        }
        height = foot + below + if place + 1 < rows.len() { gaps.down } else { 0.0 };
    }
    Flow { width, height, content }
}

/// Breaks boxes into as few rows as `limit` asks for, then makes the widest row as narrow as that number of rows allows.
pub(super) fn in_rows(widths: &[f64], gap: f64, limit: f64) -> Vec<Range<usize>> {
    let rows = greedy(widths, gap, limit);
    let (mut low, mut high) = (0.0, limit);
    // Halving twenty times is exact to a thousandth of a millimeter on any paper.
    for _ in 0..20 {
        let middle = (low + high) / 2.0;
        let fits = greedy(widths, gap, middle).len() <= rows.len();
        if fits { high = middle } else { low = middle }
    }
    greedy(widths, gap, high)
}

fn greedy(widths: &[f64], gap: f64, limit: f64) -> Vec<Range<usize>> {
    let mut rows = Vec::new();
    let mut start = 0;
    for end in 1..=widths.len() {
        let is_last = end == widths.len();
        if is_last || extent(&widths[start..=end], gap) > limit {
            rows.push(start..end);
            start = end;
        }
    }
    rows
}

fn extent(widths: &[f64], gap: f64) -> f64 {
    widths.iter().sum::<f64>() + gap * widths.len().saturating_sub(1) as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_are_as_few_as_they_can_be_and_then_even() {
        assert_eq!(in_rows(&[10.0; 5], 0.0, 40.0), [0..3, 3..5]);
        assert_eq!(in_rows(&[10.0; 4], 1.0, 43.0).len(), 1);
        assert_eq!(in_rows(&[10.0; 4], 1.0, 42.9), [0..2, 2..4]);
        assert_eq!(in_rows(&[90.0, 5.0], 1.0, 40.0), [0..1, 1..2]);
        assert_eq!(in_rows(&[], 1.0, 40.0), Vec::<Range<usize>>::new());
    }

    #[test]
    fn blocks_stand_on_a_common_foot_line_and_fill_the_width_evenly() {
        let block = |width, above, below| Block {
            width,
            above,
            below,
            content: Element::rect([0.0, -above], width, above),
        };
        let gaps = Gaps { across: 2.0, down: 5.0 };
        let laid = flow(vec![block(10.0, 8.0, 1.0), block(4.0, 3.0, 2.0)], gaps, 100.0, 22.0);
        assert_eq!((laid.width, laid.height), (22.0, 10.0));
        let places: Vec<String> = laid
            .content
            .iter()
            .map(|element| super::super::svg::picture("", [1.0, 1.0], [element.clone()]))
            .collect();
        assert!(places[0].contains("translate(2 8)"), "{}", places[0]);
        assert!(places[1].contains("translate(16 8)"), "{}", places[1]);
    }
}
