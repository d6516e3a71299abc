//! `sugarwright art FILE --width-mm W`.

use std::{
    fs,
    path::{Path, PathBuf},
};

use craft::{
    document::{
        art::{ArtDocument, write_art},
        start_kitchen,
    },
    technique::{ArtReading, about_rights, art_sections},
};
use drawing::{ReadOptions, import, read};
use papers::picture::{DrawnDesign, icing_look, section_sheet, to_png, tracing_picture};
use quantity::Length;

use crate::{
    Failure,
    fonts::{FONTS, fonts},
    print, show,
};

/// What the command line asked for.
#[derive(Clone, Debug)]
pub struct Request {
    /// The drawing.
    pub file: PathBuf,
    /// Width of the cutter shape in millimeters; nothing means the drawing's own size.
    pub width_mm: Option<f64>,
    /// Border around art without a cutter shape, in millimeters.
    pub border_mm: f64,
    /// Whether to print JSON.
    pub json: bool,
    /// Whether to leave every shape by itself.
    pub exact: bool,
    /// Where a picture goes.
    pub picture: Option<PathBuf>,
    /// What the picture shows.
    pub view: View,
    /// Where the art is from.
    pub source: Option<String>,
    /// What it may be used for.
    pub license: Option<String>,
}

/// What a picture of a drawing shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum View {
    /// Its sections, numbered and told.
    Sections,
    /// The finished cookie.
    Icing,
    /// White lines on black.
    Tracing,
}

/// Pixels a millimeter of a picture made of pixels.
const PX_PER_MM: f64 = 12.0;

/// Reads a drawing at true size and tells what it becomes.
///
/// # Errors
/// The drawing is refused, or a file cannot be read or written; no picture is then written.
pub fn run(request: &Request) -> Result<(), Failure> {
    let name = request.file.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let bytes = fs::read(&request.file)
        .map_err(|source| Failure::Art { file: request.file.clone(), source })?;
    let refused = |source| Failure::ArtRefused { file: request.file.clone(), source };
    let artwork = import(&bytes, &fonts()).map_err(refused)?;
    let options = ReadOptions {
        width: request.width_mm.map(Length::mm),
        border: Length::mm(request.border_mm),
    };
    let drawing = read(&artwork, &options).map_err(refused)?;
    let reading = if request.exact { ArtReading::Exact } else { ArtReading::Sections };
    let (sections, mut heads_ups) = art_sections(&start_kitchen(), &name, &drawing, reading);
    heads_ups.extend(about_rights(&name, request.source.as_deref(), request.license.as_deref()));
    let art = write_art(&name, &drawing, &sections, &heads_ups);
    if let Some(path) = &request.picture {
        write_picture(path, &art, request.view)?;
    }
    if request.json {
        print(&serde_json::to_string_pretty(&art)?);
    } else {
        print(&told(&art));
    }
    Ok(())
}

fn write_picture(path: &Path, art: &ArtDocument, view: View) -> Result<(), Failure> {
    let drawn = DrawnDesign::of_art(art);
    let svg = match view {
        View::Sections => section_sheet(&drawn),
        View::Icing => icing_look(&drawn),
        View::Tracing => tracing_picture(&drawn, &[]),
    };
    let is_png = path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("png"));
    let bytes = if is_png { to_png(&svg, PX_PER_MM, FONTS)? } else { svg.into_bytes() };
    fs::write(path, bytes).map_err(|source| Failure::Art { file: path.to_owned(), source })
}

/// Tells a drawing to a person.
fn told(art: &ArtDocument) -> String {
    let mut lines = vec![format!(
        "{}: {:.1} x {:.1} mm, {:.0} mm² of cookie, {}",
        art.design,
        art.width_mm,
        art.height_mm,
        art.shape_area_mm2,
        show::n_of(art.sections.len(), "section", "sections")
    )];
    for section in &art.sections {
        let measure = if section.line_mm > 0.0 {
            format!("{:.0} mm long", section.line_mm)
        } else {
            format!("{:.0} mm² poured", section.poured_area_mm2)
        };
        lines.push(format!(
            "  {} {:<9} on {:<6} {:<24} {:.0} mm² seen, {measure}, {:.1} mm at its narrowest",
            section.color,
            section.technique,
            section.onto,
            section.id,
            section.visible_area_mm2,
            section.smallest_width_mm
        ));
    }
    if !art.heads_ups.is_empty() {
        lines.push("Heads-up".to_owned());
    }
    for one in &art.heads_ups {
        let about = if one.subject.kind == "section" {
            format!("{}: ", one.subject.id)
        } else {
            String::new()
        };
        lines.push(format!("  {about}{} {}", one.message, one.hint.as_deref().unwrap_or_default()));
    }
    lines.join("\n")
}
