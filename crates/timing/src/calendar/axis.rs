//! The working-time axis: working ticks numbered through, windows laid end to end.
//!
//! On it an attended task is one contiguous stretch, breakable or not.

#[derive(Clone, Debug)]
pub(super) struct Axis {
    /// Windows as (open, close, working ticks before it), clipped to the earliest time.
    windows: Vec<(i64, i64, i64)>,
}

impl Axis {
    pub(super) fn new(windows: &[(i64, i64)], earliest: i64) -> Self {
        let mut laid = Vec::with_capacity(windows.len());
        let mut before = 0;
        for &(open, close) in windows {
            let open = open.max(earliest);
            if close > open {
                laid.push((open, close, before));
                before += close - open;
            }
        }
        Self { windows: laid }
    }

    /// The same with a window of this length up to the earliest time.
    pub(super) fn with_past(&self, earliest: i64, room: i64) -> Self {
        let later = self.windows.iter().map(|&(open, close, before)| (open, close, before + room));
        Self { windows: std::iter::once((earliest - room, earliest, 0)).chain(later).collect() }
    }

    /// How many working ticks lie before a real time.
    pub(super) fn worked_by(&self, at: i64) -> i64 {
        match self.windows[..self.windows.partition_point(|&(open, ..)| open <= at)].last() {
            Some(&(open, close, before)) => before + at.min(close) - open,
            None => 0,
        }
    }

    /// The last working tick that begins by a real time; -1 where none does.
    pub(super) fn begun_by(&self, at: i64) -> i64 {
        self.worked_by(at.saturating_add(1)) - 1
    }

    /// The real time at which a working tick begins.
    pub(super) fn real(&self, tick: i64) -> i64 {
        match self.windows[..self.windows.partition_point(|&(.., before)| before <= tick)].last() {
            Some(&(open, _, before)) => open + tick - before,
            None => tick,
        }
    }

    /// The stretches of real time that working ticks `from..to` lie in.
    pub(super) fn pieces(&self, from: i64, to: i64) -> Vec<(i64, i64)> {
        let first =
            self.windows.partition_point(|&(open, close, before)| before + (close - open) <= from);
        self.windows[first..]
            .iter()
            .take_while(|&&(.., before)| before < to)
            .map(|&(open, close, before)| {
                (open + (from - before).max(0), (open + to - before).min(close))
            })
            .collect()
    }

    /// The first working tick of the window that tick `at - 1` lies in: nothing unbreakable that ends at `at` begins before.
    pub(super) fn window_start(&self, at: i64) -> i64 {
        let index = self.windows.partition_point(|&(.., before)| before < at);
        self.windows[..index].last().map_or(0, |&(.., before)| before)
    }

    /// The end of the last window.
    pub(super) fn last_close(&self) -> i64 {
        self.windows.last().map_or(0, |&(_, close, _)| close)
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
        assert_eq!([3, 4, 9, 15, 19, 20, 99].map(|at| axis.begun_by(at)), [-1, 0, 5, 5, 5, 6, 15]);
        assert_eq!([0, 5, 6, 15].map(|tick| axis.real(tick)), [4, 9, 20, 29]);
        assert_eq!(axis.pieces(2, 8), [(6, 10), (20, 22)]);
        assert_eq!(axis.pieces(2, 6), [(6, 10)]);
        assert_eq!(axis.pieces(6, 8), [(20, 22)]);
        assert_eq!([1, 6, 7].map(|at| axis.window_start(at)), [0, 0, 6]);
    }
}
