//! `sugarwright settle REQUEST.json`, and `dry`, `tint`, `sequence`, `schedule` and `nest` alike: a request as JSON in, an answer as
//! JSON out.

use std::{
    fs,
    io::{self, Read},
    path::{Path, PathBuf},
    thread,
    time::Instant,
};

use craft::{
    document::{
        FileError, answer_tints,
        calendar::{read_schedule_request, schedule},
        dry::{dry, read_dry_request},
        nest::{nest, read_nest_request},
        read_kitchen, read_tint_request,
        sequence::{read_sequence_request, sequence},
        settle::{read_settle_request, settle},
        start_kitchen,
    },
    kitchen::Kitchen,
};
use serde::Serialize;

use crate::{Failure, print};

/// What the command line asked for.
#[derive(Clone, Debug)]
pub struct Request {
    /// The request; "-" stands for what is typed or piped in.
    pub file: PathBuf,
    /// The kitchen; without one, the start values hold.
    pub kitchen: Option<PathBuf>,
}

/// Says what brings a bowl to its count.
///
/// # Errors
/// A file cannot be read, or something in it makes no sense.
pub fn settle_bowl(request: &Request) -> Result<(), Failure> {
    answer(request, |kitchen, text| settle(kitchen, &read_settle_request(text)?))
}

/// Says when icing has a skin, is set, is dry.
///
/// # Errors
/// A file cannot be read, or something in it makes no sense.
pub fn dry_icing(request: &Request) -> Result<(), Failure> {
    answer(request, |kitchen, text| dry(kitchen, &read_dry_request(text)?))
}

/// Finds gels that give colors.
///
/// # Errors
/// A file cannot be read, or something in it makes no sense.
pub fn tint_colors(request: &Request) -> Result<(), Failure> {
    let owns = request.kitchen.is_some();
    answer(request, |kitchen, text| {
        let gels = owns.then_some(kitchen.gels.as_slice());
        Ok(answer_tints(&read_tint_request(text, "tint request", gels)?))
    })
}

/// Puts sections in an order of work.
///
/// # Errors
/// A file cannot be read, or something in it makes no sense.
pub fn sequence_sections(request: &Request) -> Result<(), Failure> {
    answer(request, |_, text| sequence(&read_sequence_request(text)?))
}

/// Places the tasks of orders among working windows.
///
/// # Errors
/// A file cannot be read, or something in it makes no sense.
pub fn schedule_orders(request: &Request) -> Result<(), Failure> {
    answer(request, |_, text| schedule(&read_schedule_request(text)?))
}

/// Lays pieces out on sheets, a strip or trays.
///
/// # Errors
/// A file cannot be read, or something in it makes no sense.
pub fn nest_pieces(request: &Request) -> Result<(), Failure> {
    let start = Instant::now();
    let n_threads = thread::available_parallelism().map_or(1, usize::from);
    answer(request, |_, text| {
        nest(&read_nest_request(text)?, n_threads, &mut || start.elapsed().as_secs_f64())
    })
}

fn answer<A: Serialize>(
    request: &Request,
    work: impl FnOnce(&Kitchen, &str) -> Result<A, FileError>,
) -> Result<(), Failure> {
    let refused = |file: &Path| {
        let file = named(file);
        move |error| Failure::Request(FileError { file, ..error })
    };
    let kitchen = match &request.kitchen {
        Some(file) => read_kitchen(&read(file)?).map_err(refused(file))?,
        None => start_kitchen(),
    };
    let answer = work(&kitchen, &read(&request.file)?).map_err(refused(&request.file))?;
    print(&serde_json::to_string_pretty(&answer)?);
    Ok(())
}

/// What a file is called in messages.
fn named(file: &Path) -> String {
    if file == Path::new("-") { "the request".to_owned() } else { file.display().to_string() }
}

/// Most bytes of a request: far more than anybody writes.
const MOST_BYTES: u64 = 4 * 1024 * 1024;

fn read(file: &Path) -> Result<String, Failure> {
    let mut text = String::new();
    let read = if file == Path::new("-") {
        io::stdin().take(MOST_BYTES).read_to_string(&mut text)
    } else {
        fs::File::open(file).and_then(|open| open.take(MOST_BYTES).read_to_string(&mut text))
    };
    read.map_err(|source| Failure::Art { file: named(file).into(), source })?;
    Ok(text)
}
