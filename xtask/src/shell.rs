//! Running other programs.

use std::env;
use std::ffi::OsStr;
use std::iter;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use anyhow::{Context, Result, ensure};

/// A command that starts in the root of the workspace and is never asked anything.
pub(crate) fn command(program: impl AsRef<OsStr>) -> Command {
    let mut command = Command::new(program);
    command.current_dir(root()).stdin(Stdio::null());
    command
}

/// A command of the cargo that runs us.
pub(crate) fn cargo(args: &[&str]) -> Command {
    let mut command = command(env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    command.args(args);
    command
}

/// Runs a command with its output shown.
pub(crate) fn run(command: &mut Command) -> Result<()> {
    let status = command.status().with_context(|| format!("cannot start `{}`", line(command)))?;
    ensure!(status.success(), "`{}` ended with {status}", line(command));
    Ok(())
}

/// Runs a command and returns what it printed.
pub(crate) fn read(command: &mut Command) -> Result<String> {
    let output = command
        .stderr(Stdio::inherit())
        .output()
        .with_context(|| format!("cannot start `{}`", line(command)))?;
    ensure!(output.status.success(), "`{}` ended with {}", line(command), output.status);
    String::from_utf8(output.stdout)
        .with_context(|| format!("`{}` printed no UTF-8", line(command)))
}

/// A command as one would type it, without the folders of the program.
fn line(command: &Command) -> String {
    let program = Path::new(command.get_program()).file_name().unwrap_or_default();
    let words: Vec<_> =
        iter::once(program).chain(command.get_args()).map(OsStr::to_string_lossy).collect();
    words.join(" ")
}

/// Whether a command can be started and succeeds, unseen.
pub(crate) fn succeeds(command: &mut Command) -> bool {
    command.stdout(Stdio::null()).stderr(Stdio::null()).status().is_ok_and(|s| s.success())
}

/// Whether a program of this name lies on the search path.
pub(crate) fn is_installed(program: &str) -> bool {
    env::var_os("PATH")
        .is_some_and(|path| env::split_paths(&path).any(|folder| folder.join(program).is_file()))
}

/// The root of the workspace.
pub(crate) fn root() -> PathBuf {
    // What cargo says now goes before what it said when this was built: clones share builds.
    let xtask =
        env::var_os("CARGO_MANIFEST_DIR").unwrap_or_else(|| env!("CARGO_MANIFEST_DIR").into());
    let xtask = PathBuf::from(xtask);
    xtask.parent().map_or_else(|| xtask.clone(), Path::to_owned)
}
