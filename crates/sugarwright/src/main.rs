//! sugarwright plans the work of a person who bakes and hand-decorates royal-iced cookies to order, alone, at home.
//!
//! Exit codes: 0 the plan was written; 2 the command line was wrong; 3 an input was refused; 4 a file could not be read or written.

use std::{path::PathBuf, process::ExitCode};

use clap::{Parser, Subcommand, ValueEnum};
use craft::order::Cutter;
use drawing::{
    lettering::{Alphabet, Setting},
    photo::{LineEdge, Reference},
};
use jiff::civil::Date;
use quantity::Length;

use sugarwright::command;

/// Plans custom decorated cookies from the order to the pickup.
#[derive(Debug, Parser)]
#[command(
    version,
    about,
    after_help = "Without a command, sugarwright shows its pages at an address of this machine."
)]
#[command(args_conflicts_with_subcommands = true)]
struct Arguments {
    #[command(subcommand)]
    command: Option<Command>,
    #[command(flatten)]
    pages: PagesArguments,
}

#[derive(Debug, clap::Args)]
struct PagesArguments {
    /// Where orders and kitchen are kept. [default: the system's place for data of programs]
    #[arg(long, value_name = "FOLDER")]
    data: Option<PathBuf>,
    /// The port of the address; 0 takes any that is free.
    #[arg(long, default_value_t = 4180)]
    port: u16,
    /// Open no browser.
    #[arg(long)]
    no_browser: bool,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Plan an order folder (order.toml, optional kitchen.toml, drawings in designs).
    Plan(PlanArguments),
    /// Read a drawing at true size: its sections, neighbors, overlaps, and what is too fine for a hand.
    Art(ArtArguments),
    /// Find the outline of a cutter, or of a line drawn on paper, in a photograph with something of known size in it.
    Outline(OutlineArguments),
    /// Set words at true size as they are piped or flooded: their length, and whether they can be read.
    Letter(LetterArguments),
    /// Say how much water brings a bowl of icing to its count, from readings of it: JSON in, JSON out.
    Settle(AnswerArguments),
    /// Say when icing has a skin, is set and is dry in the air of a room: JSON in, JSON out.
    Dry(AnswerArguments),
    /// Find gels that give colors: JSON in, JSON out.
    Tint(AnswerArguments),
    /// Put the sections of cookies in an order of work that leaves little waiting: JSON in, JSON out.
    Sequence(RequestArguments),
    /// Place the tasks of orders among working windows, so that each is ready in time and fresh: JSON in, JSON out.
    Schedule(RequestArguments),
    /// Lay pieces out on dough sheets, whose scraps are rolled again, on a strip or on trays: JSON in, JSON out.
    Nest(RequestArguments),
    /// Write a sample order folder to start from.
    Sample {
        /// Where to write it: a new or empty folder.
        folder: PathBuf,
        /// Which sample.
        #[arg(long, value_name = "NAME", default_value = craft::sample::SAMPLES[0].name,
              value_parser = craft::sample::SAMPLES.map(|sample| sample.name))]
        which: String,
    },
    /// Print the JSON Schema of a file that goes in or comes out.
    Schema {
        /// Which file.
        #[arg(value_parser = craft::document::SCHEMA_NAMES)]
        name: String,
        /// Explain the file to a person instead: keys, start values, meaning and source.
        #[arg(long)]
        explain: bool,
    },
}

#[derive(Debug, clap::Args)]
struct AnswerArguments {
    /// The request (see `sugarwright schema`); - reads it from the standard input.
    request: PathBuf,
    /// A kitchen.toml whose start values and records hold. [default: the built-in kitchen]
    #[arg(long, value_name = "FILE")]
    kitchen: Option<PathBuf>,
}

impl From<AnswerArguments> for command::answer::Request {
    fn from(arguments: AnswerArguments) -> Self {
        Self { file: arguments.request, kitchen: arguments.kitchen }
    }
}

#[derive(Debug, clap::Args)]
struct RequestArguments {
    /// The request (see `sugarwright schema`); - reads it from the standard input.
    request: PathBuf,
}

impl From<RequestArguments> for command::answer::Request {
    fn from(arguments: RequestArguments) -> Self {
        Self { file: arguments.request, kitchen: None }
    }
}

#[derive(Debug, clap::Args)]
struct PlanArguments {
    /// The order folder.
    folder: PathBuf,
    /// Where the plan goes: a new or empty folder, or one that holds an earlier plan.
    #[arg(long, value_name = "FOLDER")]
    out: PathBuf,
    /// Another open order whose work shares the days; may be given several times.
    #[arg(long, value_name = "FOLDER")]
    beside: Vec<PathBuf>,
    /// The day to plan from; the only clock the planner sees. [default: today in the kitchen's time zone]
    #[arg(long, value_name = "DATE")]
    today: Option<Date>,
    /// How hard to look for a better plan.
    #[arg(long, value_enum, default_value = "normal")]
    effort: Effort,
    /// Where chance starts: the same seed gives the same plan.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Print the plan as JSON instead of a summary.
    #[arg(long)]
    json: bool,
}

#[derive(Debug, clap::Args)]
struct ArtArguments {
    /// The drawing: an SVG file, or a picture as PNG, JPEG or WebP.
    file: PathBuf,
    /// Width of the cutter shape in millimeters. [default: the drawing's own size]
    #[arg(long, value_name = "W")]
    width_mm: Option<f64>,
    /// Fit the art into a cutter of the shelf, such as "heart 80 mm" or "plaque 90 x 60 mm".
    #[arg(long, value_name = "CUTTER", conflicts_with = "width_mm", value_parser = cutter)]
    cutter: Option<Cutter>,
    /// Fit the art into the cutter shape of another drawing, such as one made by `sugarwright outline`.
    #[arg(long, value_name = "FILE", conflicts_with_all = ["width_mm", "cutter"])]
    onto: Option<PathBuf>,
    /// Border around art that has no element named "outline", or between art and cutter, in millimeters.
    #[arg(long, value_name = "B", default_value = "3", value_parser = border)]
    border_mm: f64,
    /// Tell each gradient in bands of one color, 2 to 4. [default: one color]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u8).range(2..=4))]
    gradient_bands: Option<u8>,
    /// Bring the drawing down to this many colors, the nearest made one. [default: all it has]
    #[arg(long, value_name = "N", conflicts_with = "exact",
          value_parser = clap::value_parser!(u8).range(1..=24))]
    most_colors: Option<u8>,
    /// An earlier version of the drawing: what is still there keeps its ids.
    #[arg(long, value_name = "FILE")]
    earlier: Option<PathBuf>,
    /// Print JSON (see `sugarwright schema art`) instead of a summary.
    #[arg(long)]
    json: bool,
    /// Leave every shape by itself, with no base, so that areas by color can be checked.
    #[arg(long)]
    exact: bool,
    /// Write a picture, as SVG or, if its name ends in .png, as pixels.
    #[arg(long = "as", value_name = "PICTURE", value_parser = svg_or_png)]
    picture: Option<PathBuf>,
    /// What the picture shows.
    #[arg(long, value_enum, default_value = "sections", requires = "picture")]
    view: View,
    /// A section that is piped now, or traced, by its id; may be given several times.
    #[arg(long, value_name = "SECTION", requires = "picture")]
    now: Vec<String>,
    /// A section that is iced already, by its id; may be given several times.
    #[arg(long, value_name = "SECTION", requires = "picture")]
    iced: Vec<String>,
    /// Where the art is from.
    #[arg(long, value_name = "WORDS")]
    source: Option<String>,
    /// What the art may be used for.
    #[arg(long, value_name = "WORDS")]
    license: Option<String>,
}

#[derive(Debug, clap::Args)]
struct OutlineArguments {
    /// The photograph, taken from straight above as well as you can: PNG, JPEG or WebP.
    photo: PathBuf,
    /// What of known size is in it: a sheet the cutter lies on, or a bank card beside it.
    #[arg(long, value_enum)]
    beside: Beside,
    /// Follow a line drawn dark on the paper instead of a cutter, along this edge of it.
    #[arg(long, value_enum, value_name = "EDGE")]
    line: Option<Line>,
    /// The four corners of the sheet or card in pixels, one after the other around it. [default: found]
    #[arg(long, value_name = "X,Y X,Y X,Y X,Y", value_parser = command::outline::read_corners)]
    corners: Option<[[f64; 2]; 4]>,
    /// The longest way across by a ruler, in millimeters: it confirms the size or corrects it.
    #[arg(long, value_name = "MM", value_parser = millimeters)]
    longest_mm: Option<f64>,
    /// Straight lines look bent in the photograph, as through a wide lens: take that out.
    #[arg(long)]
    bent: bool,
    /// Write the outline as an SVG drawing at true size.
    #[arg(long = "as", value_name = "DRAWING", value_parser = svg)]
    drawing: Option<PathBuf>,
    /// Write the photograph with the outline drawn over it, as PNG.
    #[arg(long, value_name = "PICTURE", value_parser = png)]
    check: Option<PathBuf>,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum Beside {
    /// It lies on a sheet of A4, 297 x 210 mm.
    A4,
    /// It lies on a sheet of Letter, 11 x 8.5 in.
    Letter,
    /// It lies beside a bank card, 85.60 x 53.98 mm, on plain ground.
    Card,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum Line {
    /// Its outer edge.
    Outer,
    /// Its middle.
    Middle,
    /// Its inner edge, as when a cutter was drawn around.
    Inner,
}

#[derive(Debug, clap::Args)]
struct LetterArguments {
    /// The words.
    words: String,
    /// Joined script or separate letters in single strokes, or letters to flood.
    #[arg(long, value_enum, default_value = "script")]
    hand: Hand,
    /// How high an x is, in millimeters.
    #[arg(long, value_name = "MM", default_value = "8", value_parser = millimeters)]
    x_height_mm: f64,
    /// Set the words around a circle of this radius; a negative one runs along its bottom.
    #[arg(long, value_name = "MM", allow_negative_numbers = true, conflicts_with = "in_mm",
          value_parser = radius)]
    around_mm: Option<f64>,
    /// Set the words in a box, such as 60x30, broken into lines and made smaller until they fit.
    #[arg(long, value_name = "WxH", value_parser = width_and_height)]
    in_mm: Option<[f64; 2]>,
    /// How wide the piped line is, in millimeters. [default: the finest tip of the start values]
    #[arg(long, value_name = "MM", value_parser = millimeters)]
    line_mm: Option<f64>,
    /// Write the lettering as an SVG drawing at true size.
    #[arg(long = "as", value_name = "DRAWING", value_parser = svg)]
    drawing: Option<PathBuf>,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum Hand {
    Script,
    Print,
    Flooded,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum View {
    /// Its sections, numbered and told.
    Sections,
    /// The finished cookie in plain colors.
    Finished,
    /// The finished cookie with the light on its icing.
    Icing,
    /// Some sections iced, some piped now, the others naked; see --iced and --now.
    States,
    /// White lines on black, to trace; all sections, or those of --now.
    Tracing,
}

impl From<View> for command::art::View {
    fn from(view: View) -> Self {
        match view {
            View::Sections => Self::Sections,
            View::Finished => Self::Finished,
            View::Icing => Self::Icing,
            View::States => Self::States,
            View::Tracing => Self::Tracing,
        }
    }
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum Effort {
    Quick,
    Normal,
    Long,
}

impl From<Effort> for craft::plan::Effort {
    fn from(effort: Effort) -> Self {
        match effort {
            Effort::Quick => Self::Quick,
            Effort::Normal => Self::Normal,
            Effort::Long => Self::Long,
        }
    }
}

/// Reads the width of a border in millimeters.
fn border(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(mm) if (0.0..=50.0).contains(&mm) => Ok(mm),
        _ => Err("a border has 0 to 50 mm".to_owned()),
    }
}

/// Reads a length above zero that a cookie may have, in millimeters.
fn millimeters(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(mm) if (0.1..=600.0).contains(&mm) => Ok(mm),
        _ => Err("a length here has 0.1 to 600 mm".to_owned()),
    }
}

/// Reads the radius of a circle of words in millimeters.
fn radius(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(mm) if (5.0..=1000.0).contains(&mm.abs()) => Ok(mm),
        _ => Err("a circle of words has a radius of 5 to 1000 mm, with a minus along its bottom"
            .to_owned()),
    }
}

/// Reads the width and height of a box in millimeters.
fn width_and_height(text: &str) -> Result<[f64; 2], String> {
    let (width, height) = text.split_once('x').ok_or("a box is written like 60x30")?;
    Ok([millimeters(width.trim())?, millimeters(height.trim())?])
}

/// Reads the name of a file that is written in one of some formats.
fn file_ending_in(text: &str, endings: &[&str]) -> Result<PathBuf, String> {
    let path = PathBuf::from(text);
    let own = path.extension().unwrap_or_default();
    if endings.iter().any(|ending| own.eq_ignore_ascii_case(ending)) {
        Ok(path)
    } else {
        Err(format!("the name must end in .{}", endings.join(" or .")))
    }
}

fn svg(text: &str) -> Result<PathBuf, String> {
    file_ending_in(text, &["svg"])
}

fn png(text: &str) -> Result<PathBuf, String> {
    file_ending_in(text, &["png"])
}

fn svg_or_png(text: &str) -> Result<PathBuf, String> {
    file_ending_in(text, &["svg", "png"])
}

/// Reads a cutter of the shelf with its size.
fn cutter(text: &str) -> Result<Cutter, String> {
    Cutter::parse(text).map_err(|error| error.to_string())
}

fn main() -> ExitCode {
    let Arguments { command, pages } = Arguments::parse();
    let done = match command {
        None => command::serve::run(&command::serve::Request {
            data: pages.data,
            port: pages.port,
            browser: !pages.no_browser,
        }),
        Some(Command::Plan(arguments)) => command::plan::run(&command::plan::Request {
            folder: arguments.folder,
            out: arguments.out,
            beside: arguments.beside,
            today: arguments.today,
            effort: arguments.effort.into(),
            seed: arguments.seed,
            json: arguments.json,
        }),
        Some(Command::Art(arguments)) => command::art::run(&command::art::Request {
            file: arguments.file,
            width_mm: arguments.width_mm,
            cutter: arguments.cutter,
            onto: arguments.onto,
            border_mm: arguments.border_mm,
            gradient_bands: arguments.gradient_bands.map(usize::from),
            most_colors: arguments.most_colors.map(usize::from),
            earlier: arguments.earlier,
            json: arguments.json,
            exact: arguments.exact,
            picture: arguments.picture,
            view: arguments.view.into(),
            now: arguments.now,
            iced: arguments.iced,
            source: arguments.source,
            license: arguments.license,
        }),
        Some(Command::Outline(arguments)) => command::outline::run(&command::outline::Request {
            photo: arguments.photo,
            reference: match arguments.beside {
                Beside::A4 => Reference::A4,
                Beside::Letter => Reference::Letter,
                Beside::Card => Reference::Id1Card,
            },
            line: arguments.line.map(|line| match line {
                Line::Outer => LineEdge::Outer,
                Line::Middle => LineEdge::Middle,
                Line::Inner => LineEdge::Inner,
            }),
            corners: arguments.corners,
            longest_mm: arguments.longest_mm,
            is_bent: arguments.bent,
            drawing: arguments.drawing,
            check: arguments.check,
        }),
        Some(Command::Letter(arguments)) => command::letter::run(&command::letter::Request {
            words: arguments.words,
            alphabet: match arguments.hand {
                Hand::Script => Some(Alphabet::Script),
                Hand::Print => Some(Alphabet::Print),
                Hand::Flooded => None,
            },
            x_height_mm: arguments.x_height_mm,
            setting: match (arguments.around_mm, arguments.in_mm) {
                (Some(radius), _) => Setting::Arc { radius: Length::mm(radius) },
                (None, Some([width, height])) => {
                    Setting::Box { width: Length::mm(width), height: Length::mm(height) }
                }
                (None, None) => Setting::Line,
            },
            line_mm: arguments.line_mm,
            drawing: arguments.drawing,
        }),
        Some(Command::Settle(arguments)) => command::answer::settle_bowl(&arguments.into()),
        Some(Command::Dry(arguments)) => command::answer::dry_icing(&arguments.into()),
        Some(Command::Tint(arguments)) => command::answer::tint_colors(&arguments.into()),
        Some(Command::Sequence(arguments)) => command::answer::sequence_sections(&arguments.into()),
        Some(Command::Schedule(arguments)) => command::answer::schedule_orders(&arguments.into()),
        Some(Command::Nest(arguments)) => command::answer::nest_pieces(&arguments.into()),
        Some(Command::Sample { folder, which }) => command::sample::write(&folder, &which),
        Some(Command::Schema { name, explain }) => command::schema::print_schema(&name, explain),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            sugarwright::tell(&format!("sugarwright: {failure}"));
            ExitCode::from(failure.exit_code())
        }
    }
}
