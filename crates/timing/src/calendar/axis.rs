//! The working-time axis: working ticks numbered through, windows laid end to end.
//!
//! On it an attended task is one contiguous stretch, breakable or not.
//! Behind the last window the axis goes on in one endless window, so that late work always finds a place.

pub(super) struct Axis {
    /// Windows as (open, close, working ticks before it), clipped to the earliest time.
    windows: Vec<(i64, i64, i64)>,
}

/// Far beyond any window.
const ENDLESS: i64 = 1 << 42;

impl Axis {
    pub(super) fn new(windows: &[(i64, i64)], earliest: i64) -> Self {
        let mut laid = Vec::with_capacity(windows.len() + 1);
        let (mut before, mut last) = (0, earliest);
        for &(open, close) in windows {
            let open = open.max(last);
            if close > open {
                laid.push((open, close, before));
                before += close - open;
                last = close;
            }
        }
        Self { windows: laid }
    }

    /// How many working ticks lie before a real time.
    pub(super) fn worked_by(&self, at: i64) -> i64 {
        match self.windows[..self.windows.partition_point(|&(open, ..)| open <= at)].last() {
            Some(&(open, close, before)) => before + at.min(close) - open,
            None => 0,
        }
    }

    /// The stretches of real time that working ticks `from..to` lie in; nothing where the windows end before.
    pub(super) fn pieces(&self, from: i64, to: i64) -> Option<Vec<(i64, i64)>> {
        if to > self.total() {
            return None;
        }
        let first =
            self.windows.partition_point(|&(open, close, before)| before + (close - open) <= from);
        let mut pieces = Vec::new();
        for &(open, close, before) in &self.windows[first..] {
            if before >= to && !pieces.is_empty() {
                break;
            }
            let (start, end) = (open + (from - before).max(0), (open + to - before).min(close));
            pieces.push((start, end.max(start)));
            if before + (close - open) >= to {
                break;
            }
        }
        Some(pieces)
    }

    /// All working ticks.
    pub(super) fn total(&self) -> i64 {
        self.windows.last().map_or(0, |&(open, close, before)| before + close - open)
    }

    /// The working ticks at which the window with working tick `at - 1` begins: nothing unbreakable that ends at `at` begins before.
    pub(super) fn window_start(&self, at: i64) -> i64 {
        let index = self.windows.partition_point(|&(.., before)| before < at);
        self.windows[..index].last().map_or(0, |&(.., before)| before)
    }

    /// The end of the last window.
    pub(super) fn last_close(&self) -> i64 {
        self.windows.last().map_or(0, |&(_, close, _)| close).min(ENDLESS)
    }

    /// Windows of real time, latest first, that open before a time.
    pub(super) fn windows_before(&self, at: i64) -> impl Iterator<Item = (i64, i64)> + '_ {
        let n = self.windows.partition_point(|&(open, ..)| open < at);
        self.windows[..n].iter().rev().map(|&(open, close, _)| (open, close))
    }
}

#[cfg(test)]
mod tests {
    use super::Axis;

    #[test]
    fn working_ticks_map_to_real_time_and_back() {
        let axis = Axis::new(&[(0, 10), (20, 30)], 4);
        assert_eq!(
            [3, 4, 9, 10, 15, 20, 25, 99].map(|at| axis.worked_by(at)),
            [0, 0, 5, 6, 6, 6, 11, 16]
        );
        assert_eq!(axis.pieces(2, 8), Some(vec![(6, 10), (20, 22)]));
        assert_eq!(axis.pieces(2, 6), Some(vec![(6, 10)]));
        assert_eq!(axis.pieces(6, 8), Some(vec![(20, 22)]));
        assert_eq!(axis.pieces(10, 17), None);
        assert_eq!([1, 6, 7].map(|at| axis.window_start(at)), [0, 0, 6]);
    }
}
