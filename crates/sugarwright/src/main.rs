//! sugarwright plans the work of a person who bakes and hand-decorates royal-iced cookies to order, alone, at home.
//!
//! Exit codes: 0 the plan was written; 2 the command line was wrong; 3 an input was refused; 4 a file could not be read or written.

use std::{path::PathBuf, process::ExitCode};

use clap::{Parser, Subcommand, ValueEnum};
use jiff::civil::Date;

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
    /// Plan an order folder (order.toml, optional kitchen.toml, designs/*.svg).
    Plan(PlanArguments),
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
