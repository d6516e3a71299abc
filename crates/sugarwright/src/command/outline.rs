//! `sugarwright outline PHOTO --beside a4 --as plaque.svg`.

use std::{
    fs,
    path::{Path, PathBuf},
};

use drawing::photo::{
    Doubt, LineEdge, PhotoOptions, PhotoOutline, Reference, Subject, drawn_over, outline,
};
use quantity::Length;

use crate::{Failure, command::keep_inputs, print};

/// What the command line asked for.
#[derive(Clone, Debug)]
pub struct Request {
    /// The photograph.
    pub photo: PathBuf,
    /// What of known size is in it.
    pub reference: Reference,
    /// Which edge of a drawn line is meant; nothing means a cutter.
    pub line: Option<LineEdge>,
    /// Corners of the reference in pixels; found if not given.
    pub corners: Option<[[f64; 2]; 4]>,
    /// Longest distance across by a ruler, in millimeters.
    pub longest_mm: Option<f64>,
    /// Whether the lens bends straight lines.
    pub is_bent: bool,
    /// Where the outline goes, as a drawing.
    pub drawing: Option<PathBuf>,
    /// Where the photograph goes with the outline drawn over it.
    pub check: Option<PathBuf>,
}

/// Finds the outline of a cutter or a drawn line in a photograph.
///
/// # Errors
/// The photograph is refused, or a file cannot be read or written.
pub fn run(request: &Request) -> Result<(), Failure> {
    let file = |path: &Path| {
        let file = path.to_owned();
        move |source| Failure::Art { file, source }
    };
    let refused = |source| Failure::ArtRefused { file: request.photo.clone(), source };
    let written: Vec<&Path> =
        [&request.drawing, &request.check].into_iter().flatten().map(PathBuf::as_path).collect();
    keep_inputs(&[&request.photo], &written)?;
    let bytes = fs::read(&request.photo).map_err(file(&request.photo))?;
    let options = PhotoOptions {
        reference: request.reference,
        subject: request.line.map_or(Subject::Cutter, Subject::DrawnLine),
        corners: request.corners,
        with_lens: request.is_bent,
        longest: request.longest_mm.map(Length::mm),
    };
    let found = outline(&bytes, &options).map_err(refused)?;
    if let Some(path) = &request.drawing {
        fs::write(path, found.to_svg()).map_err(file(path))?;
    }
    if let Some(path) = &request.check {
        fs::write(path, drawn_over(&bytes, &found).map_err(refused)?).map_err(file(path))?;
    }
    print(&told(request, &found));
    Ok(())
}

fn told(request: &Request, found: &PhotoOutline) -> String {
    let size = found
        .outline
        .bounds()
        .map_or([0.0; 2], |bounds| [bounds.width().to_mm(), bounds.height().to_mm()]);
    let name = request.photo.file_stem().unwrap_or_default().to_string_lossy();
    let mut lines = vec![
        format!(
            "{name}: {:.1} x {:.1} mm, {:.0} mm², good to about {:.1} mm where the cutting edge lies on the paper",
            size[0],
            size[1],
            found.outline.area().to_mm2(),
            found.uncertainty.to_mm().max(0.1)
        ),
        format!(
            "The sides of the {} were found to {:.2} mm; its corners lie at {}.",
            request.reference.name(),
            found.residual.to_mm(),
            found.corners.map(|[x, y]| format!("{x:.0},{y:.0}")).join(" ")
        ),
    ];
    lines.push(match found.ruler {
        None => format!(
            "The longest way across should be {:.1} mm: measure it with a ruler, and if it is not, give what you measured with --longest-mm.",
            found.longest().to_mm()
        ),
        Some(ruler) if ruler.scale == 1.0 => "Your ruler agrees.".to_owned(),
        Some(ruler) => format!(
            "The photograph alone says {:.1} mm across; the outline was brought to what your ruler says.",
            ruler.seen.to_mm()
        ),
    });
    if let Some(doubt) = found.doubt {
        let name = request.reference.name();
        lines.push("Heads-up".to_owned());
        lines.push(match doubt {
            Doubt::NoSides => format!(
                "  No sides of a {name} are seen at the corners you gave, so the size hangs on how well you marked them. Look at the picture of --check."
            ),
            Doubt::BentSides => "  The sides found do not lie straight, so the size may be wrong. Look at the picture of --check; if straight lines look bent in the photograph, add --bent.".to_owned(),
            Doubt::OtherProportion { seen, expected } => format!(
                "  What was found is {seen:.2} times as long as wide, a {name} is {expected:.2} times as long: is it one? If not, the size is wrong."
            ),
        });
    }
    lines.join("\n")
}

/// Reads four corners, "120,80 2200,95 2180,1600 130,1590".
///
/// # Errors
/// There are not four pairs of numbers.
pub fn read_corners(text: &str) -> Result<[[f64; 2]; 4], String> {
    let corner = |text: &str| {
        let (x, y) = text.split_once(',')?;
        let corner = [x.trim().parse().ok()?, y.trim().parse().ok()?];
        corner.iter().all(|at: &f64| at.is_finite()).then_some(corner)
    };
    let corners: Option<Vec<[f64; 2]>> = text.split_whitespace().map(corner).collect();
    corners.and_then(|corners| corners.try_into().ok()).ok_or_else(|| {
        "four corners are needed, such as \"120,80 2200,95 2180,1600 130,1590\"".to_owned()
    })
}
