//! Who uses how much of a resource when, and when the maker's hands are busy.

/// Stretches of use, in no particular order.
#[derive(Clone, Debug, Default)]
pub(super) struct Profile {
    stretches: Vec<(i64, i64, i64)>,
}

impl Profile {
    pub(super) fn add(&mut self, from: i64, to: i64, quantity: i64) {
        if to > from && quantity > 0 {
            self.stretches.push((from, to, quantity));
        }
    }

    pub(super) fn remove(&mut self, from: i64, to: i64, quantity: i64) {
        if let Some(at) = self.stretches.iter().position(|&one| one == (from, to, quantity)) {
            self.stretches.swap_remove(at);
        }
    }

    /// If `quantity` more in `from..to` exceeds the capacity: the latest time by which something must end to be out of the way.
    pub(super) fn conflict(&self, from: i64, to: i64, quantity: i64, capacity: i64) -> Option<i64> {
        if to <= from || quantity <= 0 {
            return None;
        }
        let inside =
            || self.stretches.iter().filter(|&&(open, close, _)| open < to && from < close);
        let together: i64 = inside().map(|stretch| stretch.2).sum();
        if together + quantity <= capacity {
            return None;
        }
        // Use is highest where some stretch begins, or at the start.
        let at =
            |time: i64| inside().filter(move |&&(open, close, _)| open <= time && time < close);
        let over = inside()
            .map(|stretch| stretch.0.max(from))
            .find(|&time| at(time).map(|stretch| stretch.2).sum::<i64>() + quantity > capacity)?;
        at(over).map(|stretch| stretch.0).max()
    }

    /// If `quantity` more in `from..to`, beside some further stretches, exceeds the capacity: a time before which it does.
    pub(super) fn free_from(
        &self,
        (from, to): (i64, i64),
        quantity: i64,
        capacity: i64,
        more: impl Iterator<Item = (i64, i64, i64)> + Clone,
    ) -> Option<i64> {
        if to <= from || quantity <= 0 {
            return None;
        }
        let inside = || {
            let all = self.stretches.iter().copied().chain(more.clone());
            all.filter(|&(open, close, _)| open < to && from < close)
        };
        let together: i64 = inside().map(|stretch| stretch.2).sum();
        if together + quantity <= capacity {
            return None;
        }
        let at = |time: i64| inside().filter(move |&(open, close, _)| open <= time && time < close);
        let over = inside()
            .map(|stretch| stretch.0.max(from))
            .filter(|&time| at(time).map(|stretch| stretch.2).sum::<i64>() + quantity > capacity)
            .max()?;
        at(over).map(|stretch| stretch.1).min()
    }
}

/// Stretches of working time in which hands are busy, in order.
#[derive(Clone, Debug, Default)]
pub(super) struct Hands {
    stretches: Vec<(i64, i64)>,
    /// Whether some of them may overlap: with a helper, or in what is fixed.
    overlap: bool,
    longest: i64,
}

impl Hands {
    pub(super) fn add(&mut self, from: i64, to: i64) {
        if to > from {
            let at = self.stretches.partition_point(|&stretch| stretch < (from, to));
            self.overlap |= at > 0 && self.stretches[at - 1].1 > from;
            self.overlap |= self.stretches.get(at).is_some_and(|next| next.0 < to);
            self.longest = self.longest.max(to - from);
            self.stretches.insert(at, (from, to));
        }
    }

    pub(super) fn remove(&mut self, from: i64, to: i64) {
        let at = self.stretches.partition_point(|&stretch| stretch < (from, to));
        if self.stretches.get(at) == Some(&(from, to)) {
            self.stretches.remove(at);
        }
    }

    /// If hands are busy in `from..to`: the time from which they are no more, if there is but one pair of them.
    pub(super) fn free_from(&self, from: i64, to: i64) -> Option<i64> {
        let before = self.stretches.partition_point(|stretch| stretch.0 < to);
        let before = &self.stretches[..before];
        if !self.overlap {
            return before.last().map(|stretch| stretch.1).filter(|&close| close > from);
        }
        let near = before.partition_point(|stretch| stretch.0 + self.longest <= from);
        before[near..].iter().map(|stretch| stretch.1).filter(|&close| close > from).max()
    }

    /// If there are no hands left for all of `from..to`: the latest time by which something must end to be out of the way.
    ///
    /// `helpers` are the stretches in which there is a second pair of hands, in order and apart.
    pub(super) fn conflict(&self, from: i64, to: i64, helpers: &[(i64, i64)]) -> Option<i64> {
        let before = self.stretches.partition_point(|stretch| stretch.0 < to);
        let before = &self.stretches[..before];
        if helpers.is_empty() && !self.overlap {
            return before.last().filter(|stretch| stretch.1 > from).map(|stretch| stretch.0);
        }
        let near = before.partition_point(|stretch| stretch.0 + self.longest <= from);
        let near = &before[near..];
        let n_at = |time: i64| near.iter().filter(|one| one.0 <= time && time < one.1).count();
        let is_full = |time: i64| n_at(time) > usize::from(is_helped(helpers, time));
        // Hands run out where some stretch begins, where a helper leaves, or at the start.
        let begins = near.iter().map(|stretch| stretch.0);
        let leaves = helpers.iter().map(|helper| helper.1);
        let full = begins
            .chain(leaves)
            .chain([from])
            .filter(|&time| from <= time && time < to && is_full(time))
            .max()?;
        // From here to `full` nobody's hands come free.
        let began = near.iter().filter(|one| one.0 <= full && full < one.1).map(|one| one.0).max();
        let left = helpers.iter().map(|helper| helper.1).filter(|&leaves| leaves <= full).max();
        Some(began.unwrap_or(full).max(left.unwrap_or(i64::MIN)))
    }
}

fn is_helped(helpers: &[(i64, i64)], time: i64) -> bool {
    helpers.iter().any(|&(from, to)| from <= time && time < to)
}

#[cfg(test)]
mod tests {
    use super::{Hands, Profile};

    #[test]
    fn a_full_resource_names_the_time_before_which_there_is_room() {
        let mut oven = Profile::default();
        oven.add(10, 20, 1);
        oven.add(30, 40, 1);
        assert_eq!(oven.conflict(20, 30, 1, 1), None);
        assert_eq!(oven.conflict(15, 25, 1, 1), Some(10));
        assert_eq!(oven.conflict(15, 25, 1, 2), None);
        assert_eq!(oven.conflict(25, 45, 2, 2), Some(30));
        assert_eq!(oven.conflict(5, 5, 1, 1), None);
        oven.remove(10, 20, 1);
        assert_eq!(oven.conflict(15, 25, 1, 1), None);
    }

    #[test]
    fn busy_hands_name_the_stretch_in_the_way() {
        let mut hands = Hands::default();
        hands.add(30, 40);
        hands.add(10, 20);
        assert_eq!(hands.conflict(20, 30, &[]), None);
        assert_eq!(hands.conflict(5, 35, &[]), Some(30));
        assert_eq!(hands.conflict(15, 30, &[]), Some(10));
        hands.remove(10, 20);
        assert_eq!(hands.conflict(15, 30, &[]), None);
    }

    #[test]
    fn a_helper_makes_room_for_one_more() {
        let mut hands = Hands::default();
        hands.add(10, 20);
        let helpers = [(12, 18), (30, 40)];
        assert_eq!(hands.conflict(12, 18, &helpers), None);
        // After 18 she is alone again; before 12 she was.
        assert_eq!(hands.conflict(13, 19, &helpers), Some(18));
        assert_eq!(hands.conflict(11, 17, &helpers), Some(10));
        assert_eq!(hands.conflict(18, 25, &helpers), Some(18));
        hands.add(13, 16);
        assert_eq!(hands.conflict(12, 18, &helpers), Some(13));
        assert_eq!(hands.conflict(16, 18, &helpers), None);
        assert_eq!(hands.conflict(32, 50, &helpers), None);
    }
}
