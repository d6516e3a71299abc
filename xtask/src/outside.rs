//! Outside programs and data our tests are held against, kept in the target folder.
//!
//! Nothing of it is part of the repository: it is downloaded at a pinned version.

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail, ensure};
use serde::Deserialize;

use crate::shell;

/// Reads the calendar files we write; BSD-2-Clause.
const ICALENDAR: &str = "icalendar==7.3.2";

/// Measures distances between polygons; BSD-3-Clause.
const SHAPELY: &str = "shapely==2.1.2";

/// Drawings of many hands, as people really draw; CC BY-SA 4.0.
const OPENMOJI: (&str, &str) = ("@iconify-json/openmoji", "1.2.29");

/// Checks pages against WCAG 2.2 as far as a program can; MPL-2.0.
const AXE: (&str, &str) = ("axe-core", "4.14.1");

/// Checks pages against the HTML standard, without Java or the network; MIT.
///
/// The newest version that runs on the Node.js 18 of Debian 12.
const HTML_VALIDATE: (&str, &str) = ("html-validate", "9.7.1");

/// Flat pictures with gradients and translucent paint; MIT.
const FLUENT_EMOJI: (&str, &str) = ("@iconify-json/fluent-emoji-flat", "1.2.6");

/// Line art, all strokes; MIT.
const TABLER: (&str, &str) = ("@iconify-json/tabler", "1.2.41");

/// Whether what is missing may be downloaded.
#[derive(Clone, Copy, PartialEq)]
pub(crate) enum Downloads {
    /// Download it.
    Allowed,
    /// Do without.
    Forbidden,
}

/// What tests find through an environment variable; a test without it says so and passes.
pub(crate) struct Outside {
    /// The name of the variable.
    pub(crate) variable: &'static str,
    /// What is checked with it.
    pub(crate) check: &'static str,
    /// The place the variable holds.
    pub(crate) place: Result<PathBuf>,
}

/// Brings what the tests want, as far as it can be had.
pub(crate) fn set_up(target: &Path, downloads: Downloads) -> [Outside; 4] {
    let npm = |package| npm_package(&target.join("outside-npm"), package, downloads);
    [
        Outside {
            variable: "SUGARWRIGHT_OUTSIDE_PYTHON",
            check: "calendar files and layouts against the Python packages icalendar and shapely",
            place: python(&target.join("outside-venv"), &[ICALENDAR, SHAPELY], downloads),
        },
        Outside {
            variable: "SUGARWRIGHT_OPENMOJI",
            check: "drawings of OpenMoji",
            place: npm(OPENMOJI),
        },
        Outside {
            variable: "SUGARWRIGHT_AXE",
            check: "pages against WCAG 2.2 by axe-core",
            place: npm(AXE),
        },
        Outside {
            variable: "SUGARWRIGHT_HTML_VALIDATE",
            check: "pages against the HTML standard by html-validate",
            place: npm(HTML_VALIDATE),
        },
    ]
}

/// The folders of all picture sets, downloaded where they are missing.
pub(crate) fn picture_sets(target: &Path) -> Result<Vec<PathBuf>> {
    let sets = [OPENMOJI, FLUENT_EMOJI, TABLER];
    sets.into_iter()
        .map(|set| npm_package(&target.join("outside-npm"), set, Downloads::Allowed))
        .collect()
}

/// A Python with these packages, each pinned as `name==version`.
pub(crate) fn python(folder: &Path, packages: &[&str], downloads: Downloads) -> Result<PathBuf> {
    /// Fails unless every `name==version` among the arguments is installed at that version.
    const HAS_PACKAGES: &str = "
import importlib.metadata, sys
for package in sys.argv[1:]:
    name, version = package.split('==')
    assert importlib.metadata.version(name) == version
";
    for package in packages {
        ensure!(package.contains("=="), "pin the Python package `{package}`: name==version");
    }
    let python = folder.join("bin/python");
    let has_packages =
        || shell::succeeds(shell::command(&python).args(["-c", HAS_PACKAGES]).args(packages));
    if has_packages() {
        return Ok(python);
    }
    if downloads == Downloads::Forbidden {
        bail!("{} is not installed and nothing may be", packages.join(", "));
    }

    shell::run(shell::command("python3").args(["-m", "venv", "--clear"]).arg(folder))?;
    let mut pip = shell::command(&python);
    pip.args(["-m", "pip", "install", "--quiet", "--disable-pip-version-check"]);
    shell::run(pip.args(packages))?;
    ensure!(has_packages(), "pip did not install {}", packages.join(", "));
    Ok(python)
}

/// The folder of an npm package.
///
/// Each lies in a folder of its own, because npm removes what it did not install with the same command.
fn npm_package(
    folder: &Path,
    (name, version): (&str, &str),
    downloads: Downloads,
) -> Result<PathBuf> {
    #[derive(Deserialize)]
    struct Manifest {
        version: String,
    }
    let folder = folder.join(name.replace('/', "-"));
    let package = folder.join("node_modules").join(name);
    let is_there = || -> Result<bool> {
        let manifest = fs::read(package.join("package.json"))?;
        Ok(serde_json::from_slice::<Manifest>(&manifest)?.version == version)
    };
    if is_there().unwrap_or(false) {
        return Ok(package);
    }
    if downloads == Downloads::Forbidden {
        bail!("{name} {version} is not installed and nothing may be");
    }

    fs::create_dir_all(&folder).with_context(|| format!("cannot create {}", folder.display()))?;
    let mut npm = shell::command("npm");
    npm.args(["install", "--no-save", "--no-audit", "--no-fund", "--ignore-scripts"]);
    npm.arg("--prefix").arg(&folder).arg(format!("{name}@{version}"));
    shell::run(&mut npm)?;
    ensure!(is_there().unwrap_or(false), "npm did not install {name} {version}");
    Ok(package)
}
