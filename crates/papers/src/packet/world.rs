//! The closed world in which a paper is set: our layouts, our fonts, the files handed in, and no clock.

use std::{collections::BTreeMap, sync::LazyLock};

use typst::{
    Library, LibraryExt, World, comemo,
    diag::{FileError, FileResult, SourceDiagnostic},
    foundations::{Bytes, Datetime, Duration, Smart},
    syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot},
    text::{Font, FontBook},
    utils::LazyHash,
};
use typst_pdf::PdfOptions;

use crate::Error;

/// Every layout by its file name.
const LAYOUTS: [(&str, &str); 10] = [
    ("packet.typ", include_str!("../../typ/packet.typ")),
    ("templates.typ", include_str!("../../typ/templates.typ")),
    ("look.typ", include_str!("../../typ/look.typ")),
    ("cover.typ", include_str!("../../typ/cover.typ")),
    ("baking.typ", include_str!("../../typ/baking.typ")),
    ("bowls.typ", include_str!("../../typ/bowls.typ")),
    ("passes.typ", include_str!("../../typ/passes.typ")),
    ("days.typ", include_str!("../../typ/days.typ")),
    ("lists.typ", include_str!("../../typ/lists.typ")),
    ("outlines.typ", include_str!("../../typ/outlines.typ")),
];

/// Vollkorn for words and Ysabeau Office for figures, both under the SIL Open Font License 1.1.
const FONTS: [&[u8]; 5] = [
    include_bytes!("../../fonts/Vollkorn-Regular.ttf"),
    include_bytes!("../../fonts/Vollkorn-SemiBold.ttf"),
    include_bytes!("../../fonts/Vollkorn-Italic.ttf"),
    include_bytes!("../../fonts/YsabeauOffice-Regular.ttf"),
    include_bytes!("../../fonts/YsabeauOffice-SemiBold.ttf"),
];

/// What is the same for every paper, read once.
struct Fixed {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    fonts: Vec<Font>,
    layouts: BTreeMap<&'static str, Source>,
}

static FIXED: LazyLock<Fixed> = LazyLock::new(|| {
    let fonts: Vec<Font> =
        FONTS.into_iter().flat_map(|data| Font::iter(Bytes::new(data))).collect();
    let layouts = LAYOUTS
        .into_iter()
        .filter_map(|(name, text)| Some((name, Source::new(file_id(name)?, text.to_owned()))));
    Fixed {
        library: LazyHash::new(Library::default()),
        book: LazyHash::new(FontBook::from_fonts(&fonts)),
        layouts: layouts.collect(),
        fonts,
    }
});

fn file_id(name: &str) -> Option<FileId> {
    let path = VirtualPath::new(name).ok()?;
    Some(RootedPath::new(VirtualRoot::Project, path).intern())
}

/// One paper in the making.
struct PaperWorld {
    main: FileId,
    files: BTreeMap<String, Bytes>,
}

impl World for PaperWorld {
    fn library(&self) -> &LazyHash<Library> {
        &FIXED.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &FIXED.book
    }

    fn main(&self) -> FileId {
        self.main
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        let name = name_of(id)?;
        FIXED.layouts.get(name).cloned().ok_or_else(|| FileError::NotFound(name.into()))
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        let name = name_of(id)?;
        self.files.get(name).cloned().ok_or_else(|| FileError::NotFound(name.into()))
    }

    fn font(&self, index: usize) -> Option<Font> {
        FIXED.fonts.get(index).cloned()
    }

    fn today(&self, _offset: Option<Duration>) -> Option<Datetime> {
        None
    }
}

/// The name of a file of ours; files of packages are not ours.
fn name_of(id: FileId) -> FileResult<&'static str> {
    let path: &'static RootedPath = id.get();
    match path.root() {
        VirtualRoot::Project => Ok(path.vpath().get_without_slash()),
        VirtualRoot::Package(_) => Err(FileError::AccessDenied),
    }
}

/// What the file says it was made by.
const CREATOR: &str = concat!("sugarwright ", env!("CARGO_PKG_VERSION"));
/// Sets the layout `main` over the files and packs the pages as PDF.
///
/// The same files give the same bytes.
pub(super) fn set_pdf(main: &str, files: BTreeMap<String, Vec<u8>>) -> Result<Vec<u8>, Error> {
    let main = file_id(main).ok_or_else(|| Error::Layout { reason: format!("no file {main}") })?;
    let files = files.into_iter().map(|(name, data)| (name, Bytes::new(data))).collect();
    let world = PaperWorld { main, files };
    let pdf = typst::compile(&world).output.and_then(|document| {
        typst_pdf::pdf(
            &document,
            &PdfOptions {
                creator: Smart::Custom(Some(CREATOR.to_owned())),
                ..PdfOptions::default()
            },
        )
    });
    // Papers have little in common, and memory is better spent otherwise.
    comemo::evict(0);
    pdf.map_err(|wrong| Error::Layout { reason: told(&wrong) })
}

/// Tells what the typesetter did not like, with its hints.
fn told(wrong: &[SourceDiagnostic]) -> String {
    let sentences = wrong.iter().map(|one| {
        let hints = one.hints.iter().map(|hint| format!(" ({})", hint.v));
        format!("{}{}", one.message, hints.collect::<String>())
    });
    sentences.collect::<Vec<_>>().join("; ")
}
