//! Runs the program as a person would.

use std::{
    path::Path,
    process::{Command, Output},
};

use craft::document::plan::PlanDocument;

/// What the program answered.
pub(crate) struct Answer {
    pub(crate) code: i32,
    pub(crate) out: String,
    pub(crate) aside: String,
}

/// Runs the program in a folder.
pub(crate) fn run(folder: &Path, arguments: &[&str]) -> Answer {
    answer(
        Command::new(env!("CARGO_BIN_EXE_sugarwright"))
            .current_dir(folder)
            .args(arguments)
            .output(),
    )
}

/// Runs the program in a folder, with so many threads to compute with.
pub(crate) fn run_on_threads(folder: &Path, n_threads: usize, arguments: &[&str]) -> Answer {
    let mut program = Command::new(env!("CARGO_BIN_EXE_sugarwright"));
    program.env("RAYON_NUM_THREADS", n_threads.to_string());
    answer(program.current_dir(folder).args(arguments).output())
}

fn answer(output: std::io::Result<Output>) -> Answer {
    let output = output.expect("the program starts");
    Answer {
        code: output.status.code().unwrap_or(-1),
        out: String::from_utf8(output.stdout).expect("answers are text"),
        aside: String::from_utf8(output.stderr).expect("asides are text"),
    }
}

/// Reads the plan in a plan folder.
pub(crate) fn read_plan(folder: &Path) -> PlanDocument {
    let text = std::fs::read_to_string(folder.join("plan.json")).expect("there is a plan");
    serde_json::from_str(&text).expect("the plan reads back")
}

/// Makes a temporary folder.
pub(crate) fn scratch() -> tempfile::TempDir {
    tempfile::tempdir().expect("a temporary folder")
}
