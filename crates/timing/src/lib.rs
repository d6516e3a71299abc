//! Jobs with lags, resources and windows become a schedule and a bound.
//!
//! Two engines: [`solve_sequence`] puts the jobs of a working session in order, [`solve_calendar`] places whole projects
//! among working windows; [`solve_rows`] takes rows over many copies to the first of them and may split them.
//! Each has a checker that shares no code with it ([`check_sequence`], [`check_calendar`]) and a lower bound.
//! Times are whole ticks; what a tick is, the caller decides.
//! Both engines count evaluations, take their chance from a seed and keep the best answer so far:
//! the same problem, budget and seed give the same answer.
#![warn(missing_docs)]

mod bound;
mod calendar;
mod check;
mod error;
mod replay;
mod rows;
mod sequence;

pub use bound::bound_sequence;
pub use calendar::{
    Age, Blocked, Calendar, CalendarProblem, Clash, Fit, Hold, Link, LinkKind, Obstacle, Probe,
    Project, Span, Task, Work, clash_of, fit_project, solve_calendar,
};
pub use check::{Violation, check_calendar, check_rows, check_sequence};
pub use error::Error;
pub use replay::{Spread, ready_in_time};
pub use rows::{Row, RowLag, RowPart, RowProblem, RowSequence, solve_rows};
pub use sequence::{
    Bag, BlockRow, Crust, EitherOrder, FurtherBag, Job, Precedence, RowSection, Sequence,
    SequenceProblem, SetUp, WetLimit, block_lag, block_row, row_lag, solve_sequence,
};
