//! `sugarwright letter "Happy Birthday" --as words.svg`.

use std::{fmt::Write, fs, path::PathBuf};

use craft::{
    document::start_kitchen,
    heads_up::HeadsUp,
    technique::{Written, about_lettering},
};
use drawing::{
    Fact, Region,
    lettering::{Alphabet, Setting, flood, pipe},
};
use quantity::Length;

use crate::{Failure, fonts::fonts, print, show};

/// What the command line asked for.
#[derive(Clone, Debug)]
pub struct Request {
    /// The words.
    pub words: String,
    /// The alphabet of single strokes; nothing means letters to flood.
    pub alphabet: Option<Alphabet>,
    /// Height of an x, in millimeters.
    pub x_height_mm: f64,
    /// Where the words stand.
    pub setting: Setting,
    /// Width of the line that is piped, in millimeters; nothing means the finest tip there is.
    pub line_mm: Option<f64>,
    /// Where the lettering goes, as a drawing.
    pub drawing: Option<PathBuf>,
}

/// Lettering at true size.
struct Lettering {
    /// Center lines, or nothing where it is flooded.
    strokes: Vec<Vec<[f64; 2]>>,
    /// What the icing covers.
    covered: Region,
    length: Length,
    x_height: Length,
    facts: Vec<Fact>,
}

/// Sets words as they are piped or flooded, and tells whether they can be read.
///
/// # Errors
/// Nothing of the words can be set, or the drawing cannot be written.
pub fn run(request: &Request) -> Result<(), Failure> {
    let kitchen = start_kitchen();
    let finest = kitchen.tips.iter().map(|tip| tip.opening).reduce(Length::min);
    let line = request.line_mm.map(Length::mm).or(finest).unwrap_or(Length::mm(1.0));
    let x_height = Length::mm(request.x_height_mm);
    let lettering = match request.alphabet {
        Some(alphabet) => {
            let setting = inside(request.setting, line);
            let piped = pipe(&request.words, alphabet, x_height, setting);
            Lettering {
                covered: piped.covered(line),
                length: piped.length(),
                x_height: piped.x_height,
                facts: piped.facts,
                strokes: piped.strokes,
            }
        }
        None => {
            let flooded = flood(&request.words, &fonts(), x_height, request.setting)
                .map_err(|_| Failure::NoWords)?;
            Lettering {
                strokes: Vec::new(),
                length: flooded.letters.edge_length(),
                covered: flooded.letters,
                x_height: flooded.x_height,
                facts: flooded.facts,
            }
        }
    };
    if lettering.covered.is_empty() {
        return Err(Failure::NoWords);
    }
    let written = if lettering.strokes.is_empty() {
        Written::Flooded {
            stem: lettering.covered.typical_width(),
            tip: finest.unwrap_or(Length::ZERO),
        }
    } else {
        Written::Piped { x_height: lettering.x_height, line }
    };
    let heads_ups = about_lettering(&request.words, written, &lettering.facts);
    if let Some(path) = &request.drawing {
        fs::write(path, to_svg(&lettering, line))
            .map_err(|source| Failure::Art { file: path.clone(), source })?;
    }
    print(&told(request, &lettering, line, &heads_ups));
    Ok(())
}

/// Leaves room for half of the line on each side of its center.
fn inside(setting: Setting, line: Length) -> Setting {
    match setting {
        Setting::Box { width, height } => {
            Setting::Box { width: width - line, height: height - line }
        }
        other => other,
    }
}

fn told(request: &Request, lettering: &Lettering, line: Length, heads_ups: &[HeadsUp]) -> String {
    let size = lettering
        .covered
        .bounds()
        .map_or([0.0; 2], |bounds| [bounds.width().to_mm(), bounds.height().to_mm()]);
    let mut lines = vec![format!(
        "\"{}\": {:.1} x {:.1} mm, an x is {:.1} mm high",
        request.words,
        size[0],
        size[1],
        // Rounded down, as the heads-up does.
        (lettering.x_height.to_mm() * 10.0 + 1e-6).floor() / 10.0
    )];
    lines.push(if lettering.strokes.is_empty() {
        format!(
            "{} to flood, {:.0} mm² with {:.0} mm of edge",
            show::n_of(lettering.covered.n_parts(), "letter", "letters"),
            lettering.covered.area().to_mm2(),
            lettering.length.to_mm()
        )
    } else {
        format!(
            "{} of {:.0} mm in all, piped {:.1} mm wide",
            show::n_of(lettering.strokes.len(), "stroke", "strokes"),
            lettering.length.to_mm(),
            line.to_mm()
        )
    });
    if !heads_ups.is_empty() {
        lines.push("Heads-up".to_owned());
    }
    let told =
        |one: &HeadsUp| format!("  {} {}", one.message, one.hint.as_deref().unwrap_or_default());
    lines.extend(heads_ups.iter().map(told));
    lines.join("\n")
}

/// Writes lettering as a drawing at true size.
fn to_svg(lettering: &Lettering, line: Length) -> String {
    let Some(bounds) = lettering.covered.bounds() else { return String::new() };
    let (width, height) = (bounds.width().to_mm(), bounds.height().to_mm());
    let mut svg = format!(
        r##"<svg xmlns="http://www.w3.org/2000/svg" width="{width:.3}mm" height="{height:.3}mm" viewBox="{:.3} {:.3} {width:.3} {height:.3}">"##,
        bounds.min_x, bounds.min_y
    );
    if lettering.strokes.is_empty() {
        svg += &format!(
            r##"<path id="lettering" fill="#4a2c1d" d="{}"/>"##,
            lettering.covered.path_d()
        );
    } else {
        svg += &format!(
            r##"<path id="lettering" fill="none" stroke="#4a2c1d" stroke-width="{:.3}" stroke-linecap="round" stroke-linejoin="round" d=""##,
            line.to_mm()
        );
        for stroke in &lettering.strokes {
            for (place, [x, y]) in stroke.iter().enumerate() {
                let letter = if place == 0 { 'M' } else { 'L' };
                write!(svg, "{letter}{x:.3} {y:.3}").expect("writing to a string does not fail");
            }
        }
        svg += "\"/>";
    }
    svg + "</svg>\n"
}
