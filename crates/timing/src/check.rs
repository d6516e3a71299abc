//! Is this schedule sound? Everything is worked out again from the answer alone; no code is shared with the engines.

mod calendar;
mod rows;
mod sequence;

pub use calendar::check_calendar;
pub use rows::check_rows;
pub use sequence::check_sequence;

/// A rule that a schedule breaks, with the places concerned.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Violation {
    /// The answer has another number of jobs, tasks or projects than the problem, or the problem names some that are not there.
    WrongLength,
    /// The parts of a row do not make up its copies, or one takes another time than it needs.
    Parts {
        /// The row.
        row: usize,
    },
    /// A job of a sequence starts too soon after another.
    Lag {
        /// The earlier job.
        before: usize,
        /// The later job.
        after: usize,
    },
    /// Two jobs of one worker, or of one exclusive set, overlap, or their set-up does not fit between them.
    Overlap {
        /// One job.
        a: usize,
        /// The other.
        b: usize,
    },
    /// A bag is used before it is prepared, or is prepared while its worker is busy.
    Preparation {
        /// The bag.
        bag: usize,
    },
    /// Something lies outside the windows it needs.
    Window {
        /// The project; 0 for a sequence.
        project: usize,
        /// The job or task.
        task: usize,
    },
    /// A project grows older than it may.
    Age {
        /// The project.
        project: usize,
    },
    /// A figure of the answer is not what its times say.
    Figure {
        /// Its name.
        name: &'static str,
    },
    /// A link's least or most time is not kept.
    Link {
        /// The project.
        project: usize,
        /// The link, by its place in the project.
        link: usize,
    },
    /// The maker does two things at once.
    Maker {
        /// Project and task.
        a: (usize, usize),
        /// Project and task.
        b: (usize, usize),
    },
    /// More of a resource is used than there is.
    Resource {
        /// The resource.
        resource: usize,
        /// When.
        at: i64,
    },
    /// Something fixed lies elsewhere.
    Fixed {
        /// The project.
        project: usize,
        /// The task.
        task: usize,
    },
    /// A task's stretches do not add up to its duration, or it is cut where it may not be.
    Pieces {
        /// The project.
        project: usize,
        /// The task.
        task: usize,
    },
}
