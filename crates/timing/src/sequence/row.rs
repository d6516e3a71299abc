//! How long is a row over many copies, and how far apart must two rows start?
//!
//! A plain row works one section on copy after copy.
//! A composite row works several sections on the same copies, because the later ones must follow while the first is fresh:
//! a block of `k` copies gets the first section, then the bag is swapped and the block gets the next one, and so on.
//! `k` is the largest block that keeps every most time, so that no most time is left for the search.
//!
//! On copy `r` of a full block, `p_i` being the ticks of section `i` on one copy and `w` a swap,
//! section `j` starts after the end of section `i`
//!
//! gap = k (p_i + ... + p_(j-1)) - p_i + w n_swaps + r (p_j - p_i)
//!
//! which is largest on the first or on the last copy.
//! Source: geometry of the two staircases; all quantities are whole ticks.
//!
//! # Worked example
//! Ten copies, 18 ticks of the first section, 4 of the second at most 20 later, 2 to swap bags:
//! a block of two keeps 18 + 2 = 20, so five blocks of 2 (18 + 4) ticks and nine swaps.
//! ```
//! use timing::{RowSection, WetLimit, block_row};
//!
//! let sections = [RowSection { bag: 0, per_copy: 18 }, RowSection { bag: 1, per_copy: 4 }];
//! let row = block_row(&sections, 10, 2, &[WetLimit { base: 0, over: 1, most: 20 }]);
//! assert_eq!((row.block(), row.duration(), row.keeps_limits()), (2, 10 * 22 + 9 * 2, true));
//! assert_eq!((row.visit(0, 2), row.visit(1, 2)), ((48, 66), (86, 90)));
//! ```

/// A section of a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RowSection {
    /// What it is worked with.
    pub bag: usize,
    /// Ticks on one copy.
    pub per_copy: i64,
}

/// On every copy, `over` starts at most `most` ticks after `base` ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WetLimit {
    /// The earlier section, by its place in the row.
    pub base: usize,
    /// The later section, by its place in the row.
    pub over: usize,
    /// The most time between them.
    pub most: i64,
}

/// Sections worked over the same copies in blocks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BlockRow {
    sections: Vec<RowSection>,
    /// Ticks from the start of a full block to each section, were it one copy long: swaps only.
    swaps_before: Vec<i64>,
    copies: i64,
    block: i64,
    /// Ticks to swap back to the first bag between two blocks.
    swap_back: i64,
    keeps_limits: bool,
}

/// Lays out a row of `copies` in the largest blocks that keep every limit; with no limit, in one block.
///
/// `swap` is the time to change bags inside the row; sections in a row from one bag need none.
/// A limit that not even a block of one copy keeps leaves blocks of one, and [`BlockRow::keeps_limits`] says so.
/// Limits that name no section of the row are ignored; negative numbers count as 0.
pub fn block_row(sections: &[RowSection], copies: i64, swap: i64, limits: &[WetLimit]) -> BlockRow {
    let swap = swap.max(0);
    let sections: Vec<RowSection> = sections
        .iter()
        .map(|section| RowSection { per_copy: section.per_copy.max(0), ..*section })
        .collect();
    let mut swaps_before = Vec::with_capacity(sections.len());
    let mut swaps = 0_i64;
    for (place, section) in sections.iter().enumerate() {
        if place > 0 && sections[place - 1].bag != section.bag {
            swaps = swaps.saturating_add(swap);
        }
        swaps_before.push(swaps);
    }
    let returns = sections.first().map(|first| first.bag) != sections.last().map(|last| last.bag);
    let mut row = BlockRow {
        sections,
        swaps_before,
        copies: copies.max(0),
        block: 1,
        swap_back: if returns { swap } else { 0 },
        keeps_limits: true,
    };
    let keeps = |row: &BlockRow, block: i64| {
        limits.iter().all(|limit| row.largest_gap(limit, block) <= limit.most)
    };
    row.keeps_limits = keeps(&row, 1);
    // Gaps grow with the block, so halving finds the largest that keeps the limits.
    let (mut kept, mut broken) = (1, row.copies.max(1).saturating_add(1));
    while broken - kept > 1 {
        let middle = kept + (broken - kept) / 2;
        if keeps(&row, middle) {
            kept = middle;
        } else {
            broken = middle;
        }
    }
    row.block = kept;
    row
}

impl BlockRow {
    /// Returns how many copies a block has.
    pub fn block(&self) -> i64 {
        self.block
    }

    /// Returns whether every most time is kept.
    pub fn keeps_limits(&self) -> bool {
        self.keeps_limits
    }

    /// Returns how long the row is worked, swaps inside it included.
    pub fn duration(&self) -> i64 {
        match (self.sections.len().checked_sub(1), self.copies) {
            (None, _) | (_, 0) => 0,
            (Some(last), copies) => self.visit(last, copies - 1).1,
        }
    }

    /// Returns when, from the start of the row, a section is worked on a copy; both count from 0.
    ///
    /// A section that is not there takes no time at the start.
    pub fn visit(&self, section: usize, copy: i64) -> (i64, i64) {
        let Some(here) = self.sections.get(section) else { return (0, 0) };
        let (number, place) = (copy.max(0) / self.block, copy.max(0) % self.block);
        // The last block may be shorter.
        let size = self.block.min(self.copies.saturating_sub(number * self.block)).max(1);
        let all = self.sections.len();
        let cycle = self
            .block
            .saturating_mul(self.per_copy(0, all))
            .saturating_add(self.swaps_before[all - 1])
            .saturating_add(self.swap_back);
        let start = number
            .saturating_mul(cycle)
            .saturating_add(size.saturating_mul(self.per_copy(0, section)))
            .saturating_add(self.swaps_before[section])
            .saturating_add(place.saturating_mul(here.per_copy));
        (start, start.saturating_add(here.per_copy))
    }

    /// Ticks of sections `from..to` on one copy.
    fn per_copy(&self, from: usize, to: usize) -> i64 {
        self.sections[from..to]
            .iter()
            .fold(0, |sum, section| i64::saturating_add(sum, section.per_copy))
    }

    /// The longest time from the end of a limit's base to the start of its other section, in a full block.
    fn largest_gap(&self, limit: &WetLimit, block: i64) -> i64 {
        let (Some(base), Some(over)) =
            (self.sections.get(limit.base), self.sections.get(limit.over))
        else {
            return i64::MIN;
        };
        if limit.base >= limit.over {
            return i64::MIN;
        }
        let slower = (block - 1).saturating_mul(over.per_copy - base.per_copy).max(0);
        block
            .saturating_mul(self.per_copy(limit.base, limit.over))
            .saturating_sub(base.per_copy)
            .saturating_add(self.swaps_before[limit.over] - self.swaps_before[limit.base])
            .saturating_add(slower)
    }
}

/// Returns the start-to-start lag of two rows over the same copies, of which every copy keeps `lag` ticks between the end of
/// a section of the first row and the start of a section of the second.
///
/// d = max over copies of (end in the first row + lag - start in the second)
///
/// Rows and sections that are plain give [`row_lag`].
pub fn block_lag(first: (&BlockRow, usize), second: (&BlockRow, usize), lag: i64) -> i64 {
    let copies = first.0.copies.min(second.0.copies);
    lag_of_parts((first.0, first.1, 0), (second.0, second.1, 0), (0, copies), lag)
}

/// The same for parts of rows: each has its layout, the section, and the copy its layout begins with;
/// the copies `shared.0..shared.1` keep the lag.
pub(crate) fn lag_of_parts(
    (a, section_a, first_a): (&BlockRow, usize, i64),
    (b, section_b, first_b): (&BlockRow, usize, i64),
    shared: (i64, i64),
    lag: i64,
) -> i64 {
    let mut longest = 0;
    let mut from = shared.0;
    // Where neither row begins a new block both staircases are straight: the ends of such a stretch decide.
    while from < shared.1 {
        let to = [(a.block, first_a), (b.block, first_b)]
            .into_iter()
            .map(|(block, first)| ((from - first) / block + 1).saturating_mul(block) + first)
            .fold(shared.1, i64::min);
        for copy in [from, to - 1] {
            let end = a.visit(section_a, copy - first_a).1;
            let start = b.visit(section_b, copy - first_b).0;
            longest = longest.max(end.saturating_add(lag).saturating_sub(start));
        }
        from = to;
    }
    longest
}

/// Returns the start-to-start lag of two plain rows over `n` copies of which each copy keeps `lag` between end and start.
///
/// d = lag + pa + max(0, (n - 1) (pa - pb))
///
/// `pa` and `pb` are the ticks of the first and second row on one copy:
/// copy k (from 0) is done by the first row at (k + 1) pa and begun by the second at d + k pb.
///
/// ```
/// // Three copies, 10 ticks then 4 each, 5 ticks apart: the last copy decides, 5 + 10 + 2 * 6.
/// assert_eq!(timing::row_lag(10, 4, 3, 5), 27);
/// // A slower second row never catches up: only the first copy counts.
/// assert_eq!(timing::row_lag(4, 10, 3, 5), 9);
/// ```
pub fn row_lag(pa: i64, pb: i64, n: i64, lag: i64) -> i64 {
    let catches_up = n.saturating_sub(1).max(0).saturating_mul(pa.saturating_sub(pb)).max(0);
    lag.saturating_add(pa).saturating_add(catches_up)
}

#[cfg(test)]
mod tests {
    use super::{RowSection, WetLimit, block_lag, block_row, row_lag};

    fn check(per_copy: [i64; 2], copies: i64, swap: i64, most: i64, expected: (i64, i64, bool)) {
        let sections = [0, 1].map(|bag| RowSection { bag, per_copy: per_copy[bag] });
        let row = block_row(&sections, copies, swap, &[WetLimit { base: 0, over: 1, most }]);
        assert_eq!((row.block(), row.duration(), row.keeps_limits()), expected);
        // Every copy, counted one by one.
        let gap = (0..copies).map(|copy| row.visit(1, copy).0 - row.visit(0, copy).1).max();
        assert_eq!(gap.is_none_or(|gap| gap <= most), row.keeps_limits());
    }

    #[test]
    fn blocks_are_as_large_as_the_most_time_allows() {
        check([11, 4], 8, 2, 30, (3, 8 * 15 + 5 * 2, true));
        // A slow second section makes the last copy wait longest.
        check([4, 11], 8, 2, 30, (3, 8 * 15 + 5 * 2, true));
        // The whole row is one block.
        check([5, 5], 3, 0, 100, (3, 30, true));
        // A swap alone takes too long.
        check([5, 5], 3, 10, 9, (1, 30 + 5 * 10, false));
        check([5, 5], 0, 10, 20, (1, 0, true));
    }

    #[test]
    fn a_section_from_the_same_bag_needs_no_swap() {
        let sections = [RowSection { bag: 3, per_copy: 5 }; 2];
        let row = block_row(&sections, 4, 9, &[WetLimit { base: 0, over: 1, most: 5 }]);
        assert_eq!((row.block(), row.duration()), (2, 40));
    }

    #[test]
    fn lags_of_blocks_agree_with_every_copy_counted() {
        let plain = |per_copy| block_row(&[RowSection { bag: 9, per_copy }], 7, 2, &[]);
        for (pa, pb) in [(10, 4), (4, 10), (5, 5)] {
            assert_eq!(block_lag((&plain(pa), 0), (&plain(pb), 0), 30), row_lag(pa, pb, 7, 30));
        }
        let sections = [RowSection { bag: 0, per_copy: 6 }, RowSection { bag: 1, per_copy: 3 }];
        let blocks = block_row(&sections, 7, 2, &[WetLimit { base: 0, over: 1, most: 10 }]);
        assert_eq!(blocks.block(), 2);
        for (first, second) in [
            ((&blocks, 1), (&plain(4), 0)),
            ((&plain(9), 0), (&blocks, 0)),
            ((&blocks, 0), (&blocks, 1)),
        ] {
            let counted = (0..7)
                .map(|copy| first.0.visit(first.1, copy).1 + 25 - second.0.visit(second.1, copy).0)
                .max();
            assert_eq!(Some(block_lag(first, second, 25)), counted);
        }
    }
}
