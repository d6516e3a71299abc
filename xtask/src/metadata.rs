//! What `cargo metadata` says about our crates and those of others.

use std::path::PathBuf;

use anyhow::{Context, Result};
use serde::Deserialize;

use crate::shell;

/// The crates of the workspace and all they depend on.
#[derive(Deserialize)]
pub(crate) struct Metadata {
    /// Ours and others.
    pub(crate) packages: Vec<Package>,
    /// The ids of ours.
    pub(crate) workspace_members: Vec<String>,
    /// Where cargo builds.
    pub(crate) target_directory: PathBuf,
}

/// A crate.
#[derive(Deserialize)]
pub(crate) struct Package {
    /// Name and version, made unique by cargo.
    pub(crate) id: String,
    /// Its name.
    pub(crate) name: String,
    /// Its version.
    pub(crate) version: String,
    /// An SPDX license expression.
    pub(crate) license: Option<String>,
    /// What its manifest names, of every kind.
    pub(crate) dependencies: Vec<Dependency>,
    /// `[package.metadata]` of its manifest.
    metadata: Option<PackageMetadata>,
}

/// A dependency as the manifest names it.
#[derive(Deserialize)]
pub(crate) struct Dependency {
    /// The name of the crate.
    pub(crate) name: String,
    /// `dev`, `build` or nothing.
    pub(crate) kind: Option<String>,
}

#[derive(Deserialize)]
struct PackageMetadata {
    floor: Option<Floor>,
}

/// `[package.metadata.floor]`: where a crate stands and what it may use.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Floor {
    /// 0 is the ground.
    pub(crate) number: u8,
    /// Our crates it may use, all of lower floors.
    pub(crate) ours: Vec<String>,
    /// Crates of others it may use.
    pub(crate) others: Vec<String>,
}

impl Metadata {
    /// Asks cargo.
    pub(crate) fn read() -> Result<Self> {
        let json = shell::read(&mut shell::cargo(&["metadata", "--format-version", "1"]))?;
        serde_json::from_str(&json).context("cannot read what cargo metadata printed")
    }

    /// Our crates.
    pub(crate) fn ours(&self) -> impl Iterator<Item = &Package> {
        self.packages.iter().filter(|package| self.is_ours(package))
    }

    /// Crates of others.
    pub(crate) fn others(&self) -> impl Iterator<Item = &Package> {
        self.packages.iter().filter(|package| !self.is_ours(package))
    }

    /// Our crate of this name.
    pub(crate) fn our(&self, name: &str) -> Option<&Package> {
        self.ours().find(|package| package.name == name)
    }

    fn is_ours(&self, package: &Package) -> bool {
        self.workspace_members.contains(&package.id)
    }
}

impl Package {
    /// The floor it stands on; crates that are no part of the program have none.
    pub(crate) fn floor(&self) -> Option<&Floor> {
        self.metadata.as_ref()?.floor.as_ref()
    }

    /// What it is built from; tests and benches may use what they like.
    pub(crate) fn built_from(&self) -> impl Iterator<Item = &str> {
        let shipped = |d: &&Dependency| d.kind.as_deref() != Some("dev");
        self.dependencies.iter().filter(shipped).map(|d| d.name.as_str())
    }
}
