//! The files a paper is set from.

use std::collections::BTreeMap;

use serde::Serialize;

/// Pictures by their names.
#[derive(Default)]
pub(super) struct Files(BTreeMap<String, String>);

/// A picture as a layout places it.
#[derive(Clone, Debug, Serialize)]
pub(super) struct Picture {
    file: String,
    pub(super) width_mm: f64,
    pub(super) height_mm: f64,
    /// What it shows, for those who cannot see it.
    alt: String,
}

impl Files {
    /// Keeps a picture under a name of its own, to be placed at this size.
    pub(super) fn add(
        &mut self,
        name: impl Into<String>,
        svg: String,
        [width_mm, height_mm]: [f64; 2],
        alt: impl Into<String>,
    ) -> Picture {
        let file = format!("{}.svg", name.into());
        self.0.insert(file.clone(), svg);
        Picture { file, width_mm, height_mm, alt: alt.into() }
    }

    /// Returns all files with one more beside them.
    pub(super) fn with(&self, name: &str, data: Vec<u8>) -> BTreeMap<String, Vec<u8>> {
        let pictures = self.0.iter().map(|(name, svg)| (name.clone(), svg.clone().into_bytes()));
        pictures.chain([(name.to_owned(), data)]).collect()
    }
}
