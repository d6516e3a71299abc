//! The program, serving its pages from a new data folder.

use std::{
    io::{BufRead, BufReader},
    process::{Child, Command, Stdio},
};

use tempfile::TempDir;

use crate::program::scratch;

/// The running program; it is stopped when this goes out of scope.
pub(crate) struct Served {
    process: Child,
    /// The address of its first page, without the last slash.
    address: String,
    _data: TempDir,
}

impl Served {
    /// Starts the program for the first time, as on a new machine.
    pub(crate) fn start() -> Self {
        let data = scratch();
        let mut program = Command::new(env!("CARGO_BIN_EXE_sugarwright"));
        program.arg("--data").arg(data.path()).args(["--port", "0", "--no-browser"]);
        let (process, address) = start_and_read(&mut program, |line| {
            let address = line.strip_prefix("sugarwright is at ")?;
            Some(address.trim_end_matches('/').to_owned())
        });
        Self { process, address, _data: data }
    }

    /// The full address of a page.
    pub(crate) fn at(&self, path: &str) -> String {
        format!("{}{path}", self.address)
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        // It may have ended by itself, which a test then has noticed.
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

/// Starts a program and reads its output up to the line that says what is wanted.
pub(crate) fn start_and_read<T>(
    program: &mut Command,
    wanted: impl Fn(&str) -> Option<T>,
) -> (Child, T) {
    let mut process = program.stdout(Stdio::piped()).spawn().expect("the program starts");
    let output = process.stdout.take().expect("its output is piped");
    let mut lines = BufReader::new(output).lines();
    let said = lines.find_map(|line| wanted(&line.expect("its output is text")));
    // The rest is read as well, so that the program never waits for a reader.
    std::thread::spawn(move || lines.for_each(drop));
    (process, said.expect("it says where it listens"))
}
