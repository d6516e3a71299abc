//! The working-time axis: working ticks numbered through, windows laid end to end.
//!
//! On it an attended task is one contiguous stretch, breakable or not.

#[derive(Clone, Debug)]
pub(super) struct Axis {
    /// Windows as (open, close, working ticks before it), clipped to the earliest time.
    windows: Vec<(i64, i64, i64)>,
    /// Where their openings are, in real time and in working ticks.
    by_open: Finder,
    by_tick: Finder,
}

/// Finds quickly how many of some numbers in order are at most another: it knows about where to look.
#[derive(Clone, Debug)]
struct Finder {
    keys: Vec<i64>,
    first: i64,
    /// Each guess serves 2 to this power of numbers.
    shift: u32,
    guesses: Vec<usize>,
}

impl Finder {
    fn new(keys: Vec<i64>) -> Self {
        let (first, last) = (keys.first().copied().unwrap_or(0), keys.last().copied().unwrap_or(0));
        let span = last - first;
        let mut shift = 0;
        while (span >> shift) > 4 * keys.len() as i64 {
            shift += 1;
        }
        let guesses = (0..=span >> shift)
            .map(|part| keys.partition_point(|&key| key <= first + (part << shift)))
            .collect();
        Self { keys, first, shift, guesses }
    }

    fn n_up_to(&self, number: i64) -> usize {
        if self.keys.is_empty() || number < self.first {
            return 0;
        }
        let part = (number.saturating_sub(self.first) >> self.shift) as usize;
        let mut n = self.guesses[part.min(self.guesses.len() - 1)];
        while self.keys.get(n).is_some_and(|&key| key <= number) {
            n += 1;
        }
        n
    }
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
        Self::of(laid)
    }

    fn of(windows: Vec<(i64, i64, i64)>) -> Self {
        let by_open = Finder::new(windows.iter().map(|window| window.0).collect());
        let by_tick = Finder::new(windows.iter().map(|window| window.2).collect());
        Self { windows, by_open, by_tick }
    }

    /// The same with a window of this length up to the earliest time.
    pub(super) fn with_past(&self, earliest: i64, room: i64) -> Self {
        let later = self.windows.iter().map(|&(open, close, before)| (open, close, before + room));
        Self::of(std::iter::once((earliest - room, earliest, 0)).chain(later).collect())
    }

    /// The same with one more window of this length from the end of the last one on.
    pub(super) fn with_future(&self, room: i64) -> Self {
        let mut windows = self.windows.clone();
        if let Some(&(open, close, before)) = windows.last() {
            windows.push((close, close.saturating_add(room), before + close - open));
        }
        Self::of(windows)
    }

    /// How many working ticks there are.
    pub(super) fn n_worked(&self) -> i64 {
        self.windows.last().map_or(0, |&(open, close, before)| before + close - open)
    }

    pub(super) fn n_windows(&self) -> usize {
        self.windows.len()
    }

    /// How many working ticks lie before a real time.
    pub(super) fn worked_by(&self, at: i64) -> i64 {
        match self.windows[..self.by_open.n_up_to(at)].last() {
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
        match self.windows[..self.by_tick.n_up_to(tick)].last() {
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
        let index = self.by_tick.n_up_to(at - 1);
        self.windows[..index].last().map_or(0, |&(.., before)| before)
    }

    /// The end of the last window.
    /// The first working tick behind the window that a working tick lies in: nothing unbreakable that begins there ends behind.
    pub(super) fn window_end(&self, tick: i64) -> i64 {
        match self.windows[..self.by_tick.n_up_to(tick)].last() {
            Some(&(open, close, before)) => before + close - open,
            None => tick,
        }
    }

    /// The first time from `at` on from which so much lies inside one window.
    pub(super) fn start_inside(&self, at: i64, duration: i64) -> Option<i64> {
        let first = self.by_open.n_up_to(at).saturating_sub(1);
        self.windows[first..].iter().find_map(|&(open, close, _)| {
            let start = open.max(at);
            (start.saturating_add(duration) <= close).then_some(start)
        })
    }

    pub(super) fn last_close(&self) -> i64 {
        self.windows.last().map_or(0, |&(_, close, _)| close)
    }

    /// Windows of real time, latest first, that open before a time.
    pub(super) fn windows_before(&self, at: i64) -> impl Iterator<Item = (i64, i64)> + '_ {
        let n = self.by_open.n_up_to(at.saturating_sub(1));
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
