/// Why a problem has no answer, or is none.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Error {
    /// A job, bag, task or resource is named that is not there.
    #[error("{what} {index} is named, and there are only {n}; correct the reference")]
    Unknown {
        /// The kind of thing.
        what: &'static str,
        /// The index that was used.
        index: usize,
        /// How many there are.
        n: usize,
    },
    /// A duration, lag or quantity is negative or beyond any calendar.
    #[error("{what} {index} has the value {value}, outside {least} to {most}; correct it")]
    OutOfRange {
        /// The kind of thing.
        what: &'static str,
        /// Its place.
        index: usize,
        /// The value.
        value: i64,
        /// The smallest value accepted.
        least: i64,
        /// The largest value accepted.
        most: i64,
    },
    /// Some things wait for each other in a circle.
    #[error("{what} {members:?} wait for each other in a circle; remove one of these waits")]
    Cycle {
        /// The kind of thing.
        what: &'static str,
        /// The members of the circle, by their places.
        members: Vec<usize>,
    },
    /// Something unbreakable is longer than every window.
    #[error(
        "{what} {index} takes {duration} ticks without a break, and the longest window has {longest}; shorten it or widen a window"
    )]
    TooLong {
        /// The kind of thing.
        what: &'static str,
        /// Its place.
        index: usize,
        /// How long it takes.
        duration: i64,
        /// The longest window.
        longest: i64,
    },
    /// A window begins before the one in front of it ends.
    #[error(
        "window {index} begins before the one in front of it ends; put them in order and join those that overlap"
    )]
    Windows {
        /// The window, by its place.
        index: usize,
    },
    /// A stretch with a helper begins before the one in front of it ends.
    #[error(
        "helper {index} begins before the one in front of it ends; put them in order and join those that overlap"
    )]
    Helpers {
        /// The stretch, by its place.
        index: usize,
    },
    /// The windows end before every job of a sequence is placed.
    #[error("job {job} finds no room in the windows; give more windows or less work")]
    Full {
        /// A job without a place.
        job: usize,
    },
    /// There is attended work and no window long enough in total.
    #[error("there are no working windows for the work; give some")]
    NoWindows,
    /// The windows end before everything is placed.
    #[error(
        "task {task} of project {project} finds no room in the windows; give more windows or less work"
    )]
    NoRoom {
        /// The project, by its place.
        project: usize,
        /// The task, by its place in it.
        task: usize,
    },
    /// Work of a project that is fixed leaves no room for one of its other tasks.
    #[error(
        "task {task} of project {project} finds no room beside what is fixed in the project; release something fixed or fix this task too"
    )]
    Fixed {
        /// The project, by its place.
        project: usize,
        /// The task, by its place in it.
        task: usize,
    },
    /// A project is too old by its due time whenever it is done.
    #[error(
        "project {project} cannot be done within {most} ticks of its freshness; allow more or shorten its rests"
    )]
    Stale {
        /// The project, by its place.
        project: usize,
        /// The most it may age.
        most: i64,
    },
    /// A task wants more of a resource than there is.
    #[error(
        "task {task} wants {wanted} of resource {resource}, which has {capacity}; lower the demand or raise the capacity"
    )]
    Overdemand {
        /// The task, by its place in its project.
        task: usize,
        /// The resource.
        resource: usize,
        /// What it wants.
        wanted: i64,
        /// What there is.
        capacity: i64,
    },
}

/// Durations, lags and windows stay below this, so that no sum of theirs overflows.
pub(crate) const MOST_TICKS: i64 = 1 << 40;

/// Checks that a value is 0 to [`MOST_TICKS`].
pub(crate) fn in_range(what: &'static str, index: usize, value: i64) -> Result<(), Error> {
    if (0..=MOST_TICKS).contains(&value) {
        Ok(())
    } else {
        Err(Error::OutOfRange { what, index, value, least: 0, most: MOST_TICKS })
    }
}

/// Checks that a time, which may be long past, is no further than [`MOST_TICKS`] from 0.
pub(crate) fn at_some_time(what: &'static str, index: usize, value: i64) -> Result<(), Error> {
    if (-MOST_TICKS..=MOST_TICKS).contains(&value) {
        Ok(())
    } else {
        Err(Error::OutOfRange { what, index, value, least: -MOST_TICKS, most: MOST_TICKS })
    }
}

/// Checks that windows are in order and apart; returns the length of the longest.
pub(crate) fn in_order(windows: &[(i64, i64)]) -> Result<i64, Error> {
    let (mut last, mut longest) = (0, 0);
    for (index, &(open, close)) in windows.iter().enumerate() {
        in_range("opening of window", index, open)?;
        in_range("close of window", index, close)?;
        if open < last || close < open {
            return Err(Error::Windows { index });
        }
        last = close;
        longest = longest.max(close - open);
    }
    Ok(longest)
}

/// Checks that an index is below `n`.
pub(crate) fn known(what: &'static str, index: usize, n: usize) -> Result<(), Error> {
    if index < n { Ok(()) } else { Err(Error::Unknown { what, index, n }) }
}

/// Returns an order of `n` things in which each arc's first comes before its second, or the members of a circle.
pub(crate) fn topological_order(
    n: usize,
    arcs: &[(usize, usize)],
) -> Result<Vec<usize>, Vec<usize>> {
    let mut n_before = vec![0; n];
    let mut after: Vec<Vec<usize>> = vec![Vec::new(); n];
    for &(a, b) in arcs {
        after[a].push(b);
        n_before[b] += 1;
    }
    let mut order: Vec<usize> = (0..n).filter(|&i| n_before[i] == 0).collect();
    let mut next = 0;
    while let Some(&i) = order.get(next) {
        next += 1;
        for &j in &after[i] {
            n_before[j] -= 1;
            if n_before[j] == 0 {
                order.push(j);
            }
        }
    }
    if order.len() == n {
        return Ok(order);
    }
    // What is left either lies on a circle or behind one: walking backward ends on the circle.
    let left: Vec<usize> = (0..n).filter(|&i| n_before[i] > 0).collect();
    let mut walk = vec![left[0]];
    loop {
        let here = walk[walk.len() - 1];
        let before = arcs.iter().find(|&&(a, b)| b == here && n_before[a] > 0).map(|&(a, _)| a);
        let Some(before) = before else { return Err(left) };
        if let Some(at) = walk.iter().position(|&i| i == before) {
            let mut circle = walk.split_off(at);
            circle.sort_unstable();
            return Err(circle);
        }
        walk.push(before);
    }
}

#[cfg(test)]
mod tests {
    use super::topological_order;

    #[test]
    fn an_order_is_found_or_the_circle_named() {
        assert_eq!(topological_order(3, &[(2, 0), (0, 1)]), Ok(vec![2, 0, 1]));
        assert_eq!(topological_order(4, &[(0, 1), (1, 2), (2, 1), (2, 3)]), Err(vec![1, 2]));
        assert_eq!(topological_order(1, &[(0, 0)]), Err(vec![0]));
    }
}
