//! Who uses how much of a resource when.

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

    /// If `quantity` more in `from..to` exceeds the capacity: the latest start, among stretches in the way, that frees some.
    ///
    /// Something that must lie earlier than it wanted can end there.
    pub(super) fn conflict(&self, from: i64, to: i64, quantity: i64, capacity: i64) -> Option<i64> {
        if to <= from || quantity <= 0 {
            return None;
        }
        let meets = |&&(open, close, _): &&(i64, i64, i64)| open < to && from < close;
        let inside: Vec<_> = self.stretches.iter().filter(meets).collect();
        // Use is highest where some stretch begins, or at the start.
        let over = inside.iter().map(|stretch| stretch.0.max(from)).find(|&at| {
            let used: i64 = inside.iter().filter(|s| s.0 <= at && at < s.1).map(|s| s.2).sum();
            used + quantity > capacity
        })?;
        inside.iter().filter(|s| s.0 <= over && over < s.1).map(|s| s.0).max()
    }
}

#[cfg(test)]
mod tests {
    use super::Profile;

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
    }
}
