//! What the checks need of the machine, installed where we may.

use anyhow::{Result, bail};

use crate::{postgres, shell};

/// A program the checks call, and the Debian package that brings it.
struct Tool {
    package: &'static str,
    is_there: fn() -> bool,
}

const TOOLS: [Tool; 8] = [
    Tool { package: "git", is_there: || shell::is_installed("git") },
    Tool { package: "python3-venv", is_there: has_venv },
    Tool { package: "nodejs", is_there: || shell::is_installed("node") },
    Tool { package: "npm", is_there: || shell::is_installed("npm") },
    Tool { package: "chromium", is_there: || shell::is_installed("chromium") },
    Tool { package: "chromium-driver", is_there: || shell::is_installed("chromedriver") },
    Tool { package: "poppler-utils", is_there: || shell::is_installed("pdftotext") },
    Tool { package: "postgresql", is_there: || postgres::binaries().is_some() },
];

/// Installs what is missing and returns a sentence for each thing that could not be.
pub(crate) fn install() -> Vec<String> {
    let mut failures = Vec::new();
    let mut attempt = |what: &str, result: Result<()>| {
        if let Err(error) = result {
            failures.push(format!("{what} could not be installed: {error:#}"));
        }
    };

    let missing: Vec<&str> =
        TOOLS.iter().filter(|tool| !(tool.is_there)()).map(|tool| tool.package).collect();
    if !missing.is_empty() {
        println!("missing: {}", missing.join(", "));
        match apt_get() {
            Err(error) => attempt(&missing.join(", "), Err(error)),
            Ok(apt_get) => {
                attempt("the list of packages", apt_get(&["update", "--quiet"]));
                // One by one, so that one unknown to this system keeps none of the others away.
                for package in missing {
                    let args = ["install", "--quiet", "--yes", "--no-install-recommends", package];
                    attempt(package, apt_get(&args));
                }
            }
        }
    }

    for (component, subcommand) in [("rustfmt", "fmt"), ("clippy", "clippy")] {
        if !shell::succeeds(&mut shell::cargo(&[subcommand, "--version"])) {
            let mut rustup = shell::command("rustup");
            attempt(component, shell::run(rustup.args(["component", "add", component])));
        }
    }
    if !has_nextest() {
        attempt(
            "cargo-nextest",
            shell::run(&mut shell::cargo(&["install", "cargo-nextest", "--locked"])),
        );
    }
    failures
}

/// Whether `cargo nextest` runs.
pub(crate) fn has_nextest() -> bool {
    shell::succeeds(&mut shell::cargo(&["nextest", "--version"]))
}

fn has_venv() -> bool {
    shell::succeeds(shell::command("python3").args(["-c", "import ensurepip, venv"]))
}

/// Debian's `apt-get`, run as root or through a `sudo` that asks nothing.
fn apt_get() -> Result<impl Fn(&[&str]) -> Result<()>> {
    if !shell::is_installed("apt-get") {
        bail!("there is no apt-get");
    }
    let is_root = shell::read(shell::command("id").arg("-u")).is_ok_and(|id| id.trim() == "0");
    let as_root: &[&str] = if is_root {
        &["env"]
    } else if shell::succeeds(shell::command("sudo").args(["--non-interactive", "true"])) {
        &["sudo", "--non-interactive", "env"]
    } else {
        bail!("apt-get needs root or a sudo that asks for no password");
    };
    Ok(move |args: &[&str]| {
        let [program, options @ ..] = as_root else { bail!("no program to run apt-get with") };
        let mut command = shell::command(program);
        command.args(options).args(["DEBIAN_FRONTEND=noninteractive", "apt-get"]).args(args);
        shell::run(&mut command)
    })
}
