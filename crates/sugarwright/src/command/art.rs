//! `sugarwright art FILE --width-mm W`, or `--cutter "heart 80 mm"`.

use std::{
    fs,
    path::{Path, PathBuf},
};

use craft::{
    document::{
        art::{ArtDocument, write_art},
        start_kitchen,
    },
    order::Cutter,
    technique::{ArtReading, about_rights, art_sections},
};
use drawing::{
    Artwork, Drawing, ReadOptions, design::read_onto, identity::with_earlier_ids, import, read,
};
use papers::picture::{
    DrawnDesign, finished_picture, icing_look, section_sheet, states_picture, to_png,
    tracing_picture,
};
use quantity::Length;

use crate::{
    Failure,
    command::keep_inputs,
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
    /// The cutter the art is fitted into, instead of a width.
    pub cutter: Option<Cutter>,
    /// A drawing whose cutter shape the art is fitted into, instead of both.
    pub onto: Option<PathBuf>,
    /// Border around art without a cutter shape, or between art and cutter, in millimeters.
    pub border_mm: f64,
    /// In how many bands gradients come; nothing makes each one color.
    pub gradient_bands: Option<usize>,
    /// An earlier version of the drawing, whose ids are kept.
    pub earlier: Option<PathBuf>,
    /// Whether to print JSON.
    pub json: bool,
    /// Whether to leave every shape by itself.
    pub exact: bool,
    /// How many colors it may have; nothing leaves them all.
    pub most_colors: Option<usize>,
    /// Where a picture goes.
    pub picture: Option<PathBuf>,
    /// What the picture shows.
    pub view: View,
    /// Sections that are piped now, or traced, by id.
    pub now: Vec<String>,
    /// Sections that are iced already, by id.
    pub iced: Vec<String>,
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
    /// The finished cookie in plain colors.
    Finished,
    /// The finished cookie with the light on its icing.
    Icing,
    /// Some sections iced, some piped now, the others naked.
    States,
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
    let read = [Some(&request.file), request.earlier.as_ref(), request.onto.as_ref()];
    let read: Vec<&Path> = read.into_iter().flatten().map(PathBuf::as_path).collect();
    let written: Vec<&Path> = request.picture.iter().map(PathBuf::as_path).collect();
    keep_inputs(&read, &written)?;
    let name = request.file.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let drawing = drawing_of(request)?;
    let reading = if request.exact {
        ArtReading::Exact
    } else {
        ArtReading::Sections { most_colors: request.most_colors }
    };
    let (sections, mut heads_ups) = art_sections(&start_kitchen(), &name, &drawing, reading);
    heads_ups.extend(about_rights(&name, request.source.as_deref(), request.license.as_deref()));
    let art = write_art(&name, &drawing, &sections, &heads_ups);
    if let Some(path) = &request.picture {
        write_picture(path, &art, request)?;
    }
    if request.json {
        print(&serde_json::to_string_pretty(&art)?);
    } else {
        print(&told(&art));
    }
    Ok(())
}

/// Reads the drawing as the request wants it.
fn drawing_of(request: &Request) -> Result<Drawing, Failure> {
    let refused = |source| Failure::ArtRefused { file: request.file.clone(), source };
    let mut artwork = artwork_in(&request.file)?;
    if let Some(earlier) = &request.earlier {
        artwork = with_earlier_ids(&artwork, &artwork_in(earlier)?).map_err(refused)?;
    }
    if let Some(n_bands) = request.gradient_bands {
        artwork = artwork.in_bands(n_bands);
    }
    let border = Length::mm(request.border_mm);
    let outline = match (&request.cutter, &request.onto) {
        (Some(cutter), _) => Some(cutter.outline()),
        (None, Some(onto)) => {
            let own_size = ReadOptions { width: None, border: Length::ZERO };
            let shape = read(&artwork_in(onto)?, &own_size)
                .map_err(|source| Failure::ArtRefused { file: onto.clone(), source })?;
            Some(shape.outline)
        }
        (None, None) => None,
    };
    let width = request.width_mm.map(Length::mm);
    match outline {
        Some(outline) => read_onto(&artwork, &outline, border),
        None => read(&artwork, &ReadOptions { width, border }),
    }
    .map_err(refused)
}

fn artwork_in(file: &Path) -> Result<Artwork, Failure> {
    let bytes = fs::read(file).map_err(|source| Failure::Art { file: file.to_owned(), source })?;
    import(&bytes, &fonts()).map_err(|source| Failure::ArtRefused { file: file.to_owned(), source })
}

fn write_picture(path: &Path, art: &ArtDocument, request: &Request) -> Result<(), Failure> {
    let drawn = DrawnDesign::of_art(art);
    let (iced, now) = (known(&request.iced, &drawn)?, known(&request.now, &drawn)?);
    let svg = match request.view {
        View::Sections => section_sheet(&drawn),
        View::Finished => finished_picture(&drawn),
        View::Icing => icing_look(&drawn),
        View::States => states_picture(&drawn, &iced, &now),
        View::Tracing => tracing_picture(&drawn, &now),
    };
    let is_png = path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("png"));
    let bytes = if is_png { to_png(&svg, PX_PER_MM, FONTS)? } else { svg.into_bytes() };
    fs::write(path, bytes).map_err(|source| Failure::Art { file: path.to_owned(), source })
}

/// Checks that the drawing has each of these sections; the name of the drawing before an id may be left out.
fn known<'a>(asked: &[String], drawn: &'a DrawnDesign) -> Result<Vec<&'a str>, Failure> {
    let ids = drawn.section_ids();
    let find = |asked: &String| {
        let is_meant =
            |id: &&&str| **id == asked || id.rsplit_once('/').is_some_and(|(_, own)| own == asked);
        let unknown = || Failure::NoSection { asked: asked.clone(), have: ids.join(", ") };
        ids.iter().find(is_meant).copied().ok_or_else(unknown)
    };
    asked.iter().map(find).collect()
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
