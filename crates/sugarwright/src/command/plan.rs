//! `sugarwright plan FOLDER --out FOLDER`.

use std::{ops::ControlFlow, path::PathBuf, time::Instant};

use craft::plan::{Basis, Effort, News};
use jiff::{Timestamp, civil::Date};
use store::{Replace, write_folder};

use crate::{Failure, Inputs, pages::news_words, print, summary::summary, tell};

/// What the command line asked for.
#[derive(Clone, Debug)]
pub struct Request {
    /// The order folder.
    pub folder: PathBuf,
    /// Where the plan goes.
    pub out: PathBuf,
    /// Other open orders whose work shares the days.
    pub beside: Vec<PathBuf>,
    /// The day to plan from; nothing means the clock's.
    pub today: Option<Date>,
    /// How hard to look for a better plan.
    pub effort: Effort,
    /// Where chance starts.
    pub seed: u64,
    /// Whether to print the plan as JSON.
    pub json: bool,
}

/// Plans an order folder into a plan folder and tells about it.
///
/// # Errors
/// An input is refused, or a file cannot be read or written; nothing is then written.
pub fn run(request: &Request) -> Result<(), Failure> {
    plan_inputs(Inputs::read(&request.folder, &request.beside)?, request)
}

/// Plans what was read; `request` says how and where to.
pub(crate) fn plan_inputs(inputs: Inputs, request: &Request) -> Result<(), Failure> {
    let today = match request.today {
        Some(today) => today,
        None => Timestamp::now()
            .in_tz(&inputs.kitchen.units.time_zone)
            .map_err(|_| Failure::Today)?
            .date(),
    };
    let basis = Basis { today, effort: request.effort, seed: request.seed };
    let planned = inputs.plan(&request.folder, &basis, &mut progress())?;
    write_folder(&request.out, &planned.files()?, Replace::OwnFiles)?;
    if request.json {
        print(&serde_json::to_string_pretty(&planned.document)?);
    } else {
        print(&summary(&planned, &request.out));
    }
    Ok(())
}

/// Tells on standard error what is worked on and what was found so far, once each, with the seconds so far.
fn progress() -> impl FnMut(News) -> ControlFlow<()> {
    let start = Instant::now();
    let mut last = None;
    move |news| {
        if last != Some(news) {
            last = Some(news);
            tell(&format!("{:6.2} s  {}", start.elapsed().as_secs_f64(), news_words(news)));
        }
        ControlFlow::Continue(())
    }
}
