//! Can a hand do this drawing?
//!
//! Measures where parts are too fine, too close, too small or too many for icing, and says so with the place.
//! Places are told in millimeters from the left and the upper end of the cutter shape.
//! Each section tells each kind of trouble once, at its worst place, with how often it occurs.

use drawing::{
    Drawing, Fact, Origin, Region,
    doability::{TooFine, gaps, islands, narrow_parts, thin},
    lettering::too_small,
    shape::{Fault, LEAST_SLIT, faults},
};
use quantity::{Area, Length};

use crate::{
    heads_up::{HeadsUp, Severity, Subject},
    kitchen::Kitchen,
    technique::{Onto, Section, Technique},
};

/// Parts of a flood narrower than this sink in on a crust (common practice, no source).
const CRATER_WIDTH: Length = Length::mm(10.0);
/// Most colors one can keep tinted, bagged and apart for one design (common practice, no source).
const MOST_COLORS: usize = 8;
/// A border narrower than this breaks off or shows no cookie (common practice, no source).
const LEAST_BORDER: Length = Length::mm(2.0);
/// Less than this beyond the border is the overhang everybody draws, and less than this too thin is a pointed end.
const WORTH_TELLING: Area = Area::mm2(1.0);

/// Says what of a drawing a hand cannot do well.
pub(super) fn about_doability(
    kitchen: &Kitchen,
    name: &str,
    drawing: &Drawing,
    sections: &[Section],
) -> Vec<HeadsUp> {
    let mut found = Vec::new();
    let tip = kitchen.tips.iter().map(|tip| tip.opening).reduce(Length::min);
    for section in sections {
        let Some(poured) = &section.poured else { continue };
        found.extend(gap_in(kitchen, section, poured));
        if let Some(tip) = tip {
            found.extend(thin_flood(tip, section));
            found.extend(small_island(tip, section, poured));
        }
        found.extend(craters(section));
    }
    if let Some(tip) = tip {
        found.extend(small_text(tip, name, drawing));
    }
    found.extend(many_colors(name, sections));
    found.extend(narrow_border(kitchen, name, drawing));
    found.extend(cutter_faults(name, drawing));
    found
}

/// "12 mm from the left, 30 mm from the top".
fn place([x, y]: [f64; 2]) -> String {
    format!("{x:.0} mm from the left, {y:.0} mm from the top")
}

/// A length in millimeters, rounded down to tenths: what is less than enough never reads as enough.
fn tenths_below(length: Length) -> f64 {
    (length.to_mm() * 10.0 + 1e-6).floor() / 10.0
}

/// " (and 3 more)", or nothing.
fn more(n: usize) -> String {
    if n > 1 { format!(" (and {} more)", n - 1) } else { String::new() }
}

fn on_section(section: &Section, message: String, hint: &str) -> HeadsUp {
    HeadsUp::new(Severity::Caution, Subject::Section(section.id.clone()), message).hint(hint)
}

fn thin_flood(tip: Length, section: &Section) -> Option<HeadsUp> {
    let poured = section.poured.as_ref().filter(|_| section.technique == Technique::Flood)?;
    let mut found = thin(poured, tip * THIN_SHARE);
    // A pointed end is thin too, and everybody pipes those.
    found.retain(|place| place.area > WORTH_TELLING);
    let TooFine { at, width, .. } = *found.first()?;
    let message = format!(
        "Part of this flood is about {:.1} mm thin, finer than the finest tip ({:.1} mm): {}{}.",
        width.to_mm().max(0.1),
        tip.to_mm(),
        place(at),
        more(found.len())
    );
    Some(on_section(section, message, "Draw it wider, or pipe that part as a line."))
}

/// A tip pressed lightly pipes a line this share of its opening wide (common practice, no source).
pub(super) const THIN_SHARE: f64 = 0.75;

fn small_island(tip: Length, section: &Section, poured: &Region) -> Option<HeadsUp> {
    if !section.technique.is_piped() || matches!(section.technique, Technique::Lettering) {
        return None;
    }
    let found = islands(poured, tip * THIN_SHARE);
    let TooFine { at, area, .. } = *found.first()?;
    let message = format!(
        "A part of {:.1} mm² is smaller than the smallest dot: {}{}.",
        area.to_mm2().max(0.1),
        place(at),
        more(found.len())
    );
    Some(on_section(section, message, "Leave it out, or touch it on with an edible marker."))
}

fn gap_in(kitchen: &Kitchen, section: &Section, poured: &Region) -> Option<HeadsUp> {
    if !matches!(section.technique, Technique::Flood | Technique::Line) {
        return None;
    }
    let apart = kitchen.drying.apart;
    let found = gaps(poured, apart);
    let TooFine { at, width, .. } = *found.first()?;
    let message = format!(
        "A gap of about {:.1} mm will run together: {}{}.",
        tenths_below(width).max(0.1),
        place(at),
        more(found.len())
    );
    let hint = format!("Leave at least {:.1} mm, or let one side skin over first.", apart.to_mm());
    Some(on_section(section, message, &hint))
}

fn craters(section: &Section) -> Option<HeadsUp> {
    if section.technique != Technique::Flood || !matches!(section.onto, Onto::Set | Onto::Skin) {
        return None;
    }
    let found = narrow_parts(section.poured.as_ref()?, CRATER_WIDTH);
    let TooFine { at, width, .. } = *found.first()?;
    let message = format!(
        "A flooded part only {:.0} mm wide on a crust sinks into craters: {}{}.",
        // Never as wide as what does not sink in.
        width.to_mm().round().clamp(1.0, CRATER_WIDTH.to_mm() - 1.0),
        place(at),
        more(found.len())
    );
    Some(on_section(
        section,
        message,
        "Pipe it at a count of 15 s and put it before a fan at once.",
    ))
}

/// How a wording is put on a cookie.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Written {
    /// In single strokes.
    Piped {
        /// Height of an x.
        x_height: Length,
        /// Width of the line.
        line: Length,
    },
    /// Outlined and filled.
    Flooded {
        /// Width of most of the letters' strokes.
        stem: Length,
        /// Opening of the finest tip.
        tip: Length,
    },
}

/// Says what of a wording cannot be read or set.
pub fn about_lettering(words: &str, written: Written, facts: &[Fact]) -> Vec<HeadsUp> {
    let caution = |message: String, hint: &str| {
        HeadsUp::new(Severity::Caution, Subject::Item(words.to_owned()), message).hint(hint)
    };
    let small = match written {
        Written::Piped { x_height, line } => too_small(x_height, line).map(|fact| {
            caution(
                format!(
                    "An x {:.1} mm high cannot be read when it is piped {:.1} mm wide.",
                    tenths_below(fact.x_height),
                    line.to_mm()
                ),
                &format!(
                    "Make it at least {:.1} mm high, use a finer tip, or write it with an edible marker.",
                    fact.least.to_mm()
                ),
            )
        }),
        Written::Flooded { stem, tip } => (stem < tip).then(|| {
            caution(
                format!(
                    "The strokes of these letters are about {:.1} mm wide, finer than the finest tip ({:.1} mm).",
                    tenths_below(stem),
                    tip.to_mm()
                ),
                "Make them larger, or pipe them in single strokes.",
            )
        }),
    };
    let missing = facts.iter().filter_map(|fact| match fact {
        Fact::LetterMissing { letter } => Some(caution(
            format!("The letter \"{letter}\" is not in this alphabet and was left out."),
            "Draw it yourself, or set the words in letters to flood.",
        )),
        _ => None,
    });
    small.into_iter().chain(missing).collect()
}

/// Takes the height of most letters for that of an x: of a word, most letters have no ascender.
fn small_text(tip: Length, name: &str, drawing: &Drawing) -> Vec<HeadsUp> {
    let texts = drawing.shapes.iter().filter(|shape| shape.origin == Origin::Text);
    let small = texts.filter_map(|shape| {
        let parts = shape.painted.parts();
        let mut heights: Vec<Length> =
            parts.iter().filter_map(|part| Some(part.bounds()?.height())).collect();
        heights.sort_by(|a, b| a.to_mm().total_cmp(&b.to_mm()));
        let fact = too_small(*heights.get(heights.len() / 2)?, tip)?;
        let bounds = shape.painted.bounds()?;
        let at = bounds.middle();
        let message = format!(
            "The lettering \"{}\" is about {:.1} mm high, too low to be read when piped: {}.",
            shape.id,
            fact.x_height.to_mm(),
            place(at)
        );
        let hint = format!(
            "Make it at least {:.0} mm high for the finest tip ({:.1} mm), or write it with an edible marker.",
            fact.least.to_mm().ceil(),
            tip.to_mm()
        );
        let subject = Subject::Item(name.to_owned());
        Some(HeadsUp::new(Severity::Caution, subject, message).hint(hint))
    });
    small.collect()
}

fn many_colors(name: &str, sections: &[Section]) -> Option<HeadsUp> {
    let mut colors: Vec<_> = sections.iter().map(|section| section.color).collect();
    colors.sort();
    colors.dedup();
    (colors.len() > MOST_COLORS).then(|| {
        HeadsUp::new(
            Severity::Caution,
            Subject::Item(name.to_owned()),
            format!(
                "The design has {} colors; each is a bowl to tint and a bag to fill.",
                colors.len()
            ),
        )
        .hint(format!("Bring it down to {MOST_COLORS} or fewer by merging shades that look alike."))
    })
}

/// The border is narrow where art other than a base comes closer to the edge than icing should.
fn narrow_border(kitchen: &Kitchen, name: &str, drawing: &Drawing) -> Option<HeadsUp> {
    let inside = drawing.outline.inset(kitchen.icing.edge_inset.min(LEAST_BORDER));
    let covers = |painted: &Region| painted.intersect(&inside).area() >= inside.area() * BASE_SHARE;
    let art: Vec<&Region> = drawing
        .shapes
        .iter()
        .map(|shape| &shape.painted)
        .filter(|painted| !covers(painted))
        .collect();
    let beyond = Region::union(&art).subtract(&inside);
    let worst = beyond
        .parts()
        .into_iter()
        .max_by(|a, b| a.area().to_mm2().total_cmp(&b.area().to_mm2()))?;
    if worst.area() <= WORTH_TELLING {
        return None;
    }
    let bounds = worst.bounds()?;
    let at = bounds.middle();
    Some(
        HeadsUp::new(
            Severity::Note,
            Subject::Item(name.to_owned()),
            format!(
                "The art comes closer to the edge of the cookie than {:.0} mm: {}.",
                kitchen.icing.edge_inset.min(LEAST_BORDER).to_mm(),
                place(at)
            ),
        )
        .hint("Make the border wider or the art smaller; icing so near the edge runs over it."),
    )
}

/// A shape that covers this share of the cookie is its base, which may reach the edge.
const BASE_SHARE: f64 = 0.9;

fn cutter_faults(name: &str, drawing: &Drawing) -> Option<HeadsUp> {
    let found = faults(&drawing.outline);
    let (message, at) = match *found.first()? {
        Fault::Spike { at, depth } => {
            (format!("The cutter shape has a spike {:.0} mm long", depth.to_mm().max(1.0)), at)
        }
        Fault::Slit { at, depth } => (
            format!(
                "The cutter shape has a slit narrower than {:.0} mm, {:.0} mm deep",
                LEAST_SLIT.to_mm(),
                depth.to_mm().max(1.0)
            ),
            at,
        ),
    };
    let message = format!("{message}: {}{}.", place(at), more(found.len()));
    let subject = Subject::Item(name.to_owned());
    let hint = "Such a cutter is hard to make, and dough breaks there; round it off.";
    Some(HeadsUp::new(Severity::Note, subject, message).hint(hint))
}

/// Asks what nobody can tell from a drawing: whose it is, and whether it may be sold.
///
/// `source` and `license` are what the maker recorded; an empty word counts as nothing.
pub fn about_rights(name: &str, source: Option<&str>, license: Option<&str>) -> Vec<HeadsUp> {
    let subject = || Subject::Item(name.to_owned());
    let given = |word: Option<&str>| word.is_some_and(|word| !word.trim().is_empty());
    let missing = match (given(source), given(license)) {
        (true, true) => None,
        (true, false) => Some("license"),
        (false, true) => Some("source"),
        (false, false) => Some("source and license"),
    };
    let mut asked = Vec::new();
    if let Some(missing) = missing {
        asked.push(
            HeadsUp::new(
                Severity::Note,
                subject(),
                format!("No {missing} of the art is recorded."),
            )
            .hint("Write down where it is from and what it may be used for."),
        );
    }
    asked.push(
        HeadsUp::new(
            Severity::Note,
            subject(),
            "Does it show a character, a logo or the badge of a club? Selling it needs its owner's leave.",
        )
        .hint("If so, ask the owner, or draw something of your own."),
    );
    asked
}
