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
}

/// Stretches of working time in which the maker's hands are busy, in order and apart.
#[derive(Clone, Debug, Default)]
pub(super) struct Hands {
    stretches: Vec<(i64, i64)>,
}

impl Hands {
    pub(super) fn add(&mut self, from: i64, to: i64) {
        if to > from {
            let at = self.stretches.partition_point(|stretch| stretch.0 < from);
            self.stretches.insert(at, (from, to));
        }
    }

    pub(super) fn remove(&mut self, from: i64, to: i64) {
        let at = self.stretches.partition_point(|stretch| stretch.0 < from);
        if self.stretches.get(at) == Some(&(from, to)) {
            self.stretches.remove(at);
        }
    }

    /// The start of the last stretch in the way of `from..to`.
    pub(super) fn conflict(&self, from: i64, to: i64) -> Option<i64> {
        let before = self.stretches.partition_point(|stretch| stretch.0 < to);
        self.stretches[..before].last().filter(|stretch| stretch.1 > from).map(|stretch| stretch.0)
    }
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
        assert_eq!(hands.conflict(20, 30), None);
        assert_eq!(hands.conflict(5, 35), Some(30));
        assert_eq!(hands.conflict(15, 30), Some(10));
        hands.remove(10, 20);
        assert_eq!(hands.conflict(15, 30), None);
    }
}
