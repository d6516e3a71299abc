//! The storyboard: every pass with the cookies it works on, iced, piping now or still naked, and what it waits for.

use craft::document::plan::{
    BagDocument, BowlDocument, DesignDocument, PassDocument, PlanDocument, WaitDocument,
};
use quantity::Span;
use serde::Serialize;

use super::{
    bowls::{Swatch, kind_of},
    drawn::has_outline,
    files::Files,
    notes::{Note, about},
    scale::Room,
    standing::{Standing, in_rows},
};
use crate::picture::{in_order, meanwhile, pass_picture, worked_on};
use crate::words::{counted, few, listed, n_of, span, spoken, titled, unique};

#[derive(Serialize)]
pub(super) struct Passes {
    lead: String,
    /// How the pictures are read.
    legend: &'static str,
    sessions: Vec<Session>,
    notes: Vec<Note>,
}

/// Passes between two nights.
#[derive(Serialize)]
struct Session {
    words: String,
    passes: Vec<Pass>,
}

#[derive(Serialize)]
struct Pass {
    number: usize,
    name: String,
    swatch: Swatch,
    /// Bag, copies and minutes, each a line.
    figures: Vec<String>,
    cookies: Vec<Vec<Standing>>,
    /// Whether there is room for words beside the cookies.
    words_beside: bool,
    waits: Vec<Wait>,
}

/// What must have happened before.
#[derive(Serialize)]
struct Wait {
    what: String,
    why: String,
}

/// No cookie of the storyboard is taller or wider.
const TALLEST_MM: f64 = 24.0;
const WIDEST_MM: f64 = 34.0;
/// Beside the names of the passes.
const ROOM: Room =
    Room { width: 154.0, height: f64::INFINITY, gap: 4.0, caption: 0.0, least_width: 34.0 };
/// So many cookies leave room for words beside them.
const BESIDE: usize = 2;

pub(super) fn passes(document: &PlanDocument, files: &mut Files) -> Passes {
    let all = &document.passes;
    let numbers = unique(all.iter().map(|pass| pass.session));
    let several_makers = all.iter().any(|pass| pass.maker > 1);
    let shrink = shrink(&document.designs);
    let sessions = numbers.iter().map(|&number| {
        let ours = all.iter().enumerate().filter(|(_, pass)| pass.session == number);
        let passes: Vec<Pass> = ours
            .map(|(place, pass)| {
                let cookies = cookies(document, place, pass, shrink, files);
                let words_beside = cookies.len() <= BESIDE;
                let cookies = in_rows(cookies, ROOM);
                Pass {
                    number: place + 1,
                    cookies,
                    words_beside,
                    ..told(document, pass, several_makers)
                }
            })
            .collect();
        Session { words: session_words(document, number, passes.len()), passes }
    });
    let sessions: Vec<Session> = sessions.collect();
    let active: f64 = document.sessions.iter().map(|session| session.active_min).sum();
    let n_bags: u32 = document.bowls.iter().flat_map(|bowl| &bowl.bags).map(|bag| bag.n).sum();
    Passes {
        lead: match all.len() {
            0 => "Nothing is decorated.".to_owned(),
            n => format!(
                "{} in {}, {} at the bench, {}.",
                n_of(n, "pass", "passes"),
                n_of(numbers.len(), "session", "sessions"),
                span(Span::minutes(active)),
                n_of(n_bags as usize, "bag", "bags")
            ),
        },
        legend: "Iced before; piping now, with a drawn edge; still naked, as a ghost. \
                 Minutes count from the start of the session.",
        sessions,
        notes: about(document, &["pass", "section"]),
    }
}

fn session_words(document: &PlanDocument, number: usize, n_passes: usize) -> String {
    let passes = n_of(n_passes, "pass", "passes");
    let Some(session) = document.sessions.iter().find(|session| session.session == number) else {
        return format!("Session {number}: {passes}");
    };
    let active = span(Span::minutes(session.active_min));
    let changes = match session.bag_changes {
        0 => String::new(),
        n => format!(", {}", n_of(n, "change of bags", "changes of bags")),
    };
    let several = document.passes.iter().any(|pass| pass.maker > 1);
    let idle = match session.idle_min.round() {
        idle if idle >= 1.0 && several => {
            format!(", {} of idle hands, all decorators together", span(Span::minutes(idle)))
        }
        idle if idle >= 1.0 => format!(", {} of them waiting", span(Span::minutes(idle))),
        _ => String::new(),
    };
    format!("Session {number}: {passes}, {active}{idle}{changes}")
}

/// How much smaller than life all cookies of the storyboard are.
fn shrink(designs: &[DesignDocument]) -> f64 {
    let fits = |longest: f64, most: f64| if longest > most { most / longest } else { 1.0 };
    let tallest = designs.iter().map(|design| design.height_mm).fold(0.0, f64::max);
    let widest = designs.iter().map(|design| design.width_mm).fold(0.0, f64::max);
    fits(tallest, TALLEST_MM).min(fits(widest, WIDEST_MM))
}

/// Everything about a pass but its number and cookies.
fn told(document: &PlanDocument, pass: &PassDocument, several_makers: bool) -> Pass {
    let found = pass.bag.as_ref().and_then(|id| bag(document, id));
    let first = document.sections.iter().find(|section| pass.sections.contains(&section.id));
    let color = match (found, first) {
        (Some((bowl, _)), _) => bowl.color.as_str(),
        (None, Some(section)) => section.color.as_str(),
        (None, None) => "",
    };
    let name = match (&pass.bag, first) {
        (Some(id), _) => titled(id),
        (None, Some(section)) => titled(&section.technique),
        (None, None) => "By hand".to_owned(),
    };
    let time = format!(
        "{}, {} to {}",
        span(Span::minutes(pass.end_min - pass.start_min)),
        clock(pass.start_min),
        clock(pass.end_min)
    );
    let lines = [
        found.map(|(_, bag)| kind_of(bag)),
        Some(worked_on(document, pass)),
        Some(time),
        several_makers.then(|| format!("decorator {}", pass.maker)),
    ];
    Pass {
        number: 0,
        name,
        swatch: Swatch::new(color),
        figures: lines.into_iter().flatten().collect(),
        cookies: Vec::new(),
        words_beside: true,
        waits: waits(document, pass),
    }
}

/// "1:05": hours and minutes since the start of the session.
fn clock(minutes: f64) -> String {
    let minutes = minutes.round().max(0.0) as u64;
    format!("{}:{:02}", minutes / 60, minutes % 60)
}

fn bag<'a>(document: &'a PlanDocument, id: &str) -> Option<(&'a BowlDocument, &'a BagDocument)> {
    let bags = document.bowls.iter().flat_map(|bowl| bowl.bags.iter().map(move |bag| (bowl, bag)));
    bags.into_iter().find(|(_, bag)| bag.id == id)
}

/// The designs a pass works on, each with its sections; those that look the same are one.
fn cookies(
    document: &PlanDocument,
    place: usize,
    pass: &PassDocument,
    shrink: f64,
    files: &mut Files,
) -> Vec<Standing> {
    let worked = |design: &&DesignDocument| {
        has_outline(design) && design.sections.iter().any(|section| pass.sections.contains(section))
    };
    let mut looks: Vec<(Look<'_>, Vec<&DesignDocument>)> = Vec::new();
    for design in document.designs.iter().filter(worked) {
        let look = look(document, design);
        match looks.iter_mut().find(|(known, _)| *known == look) {
            Some((_, twins)) => twins.push(design),
            None => looks.push((look, vec![design])),
        }
    }
    let mut standing = |twins: Vec<&DesignDocument>| {
        let first = *twins.first()?;
        let number = document.designs.iter().position(|design| design.id == first.id)?;
        let sections = pass.sections.iter().filter(|id| first.sections.contains(id));
        let sections: Vec<String> = sections.map(|id| section_name(id)).collect();
        let svg = pass_picture(document, number, place)?;
        let size = [first.width_mm, first.height_mm].map(|mm| mm * shrink);
        let alt = format!("{} during pass {}", spoken(&first.id), place + 1);
        let picture = files.add(format!("pass-{place}-{number}"), svg, size, alt);
        let names: Vec<String> =
            twins.iter().map(|one| counted(one.count + one.extras, &one.id)).collect();
        Some(Standing::new(picture, few(&names), sections.join(", "), ROOM))
    };
    looks.into_iter().filter_map(|(_, twins)| standing(twins)).collect()
}

/// What one sees of a design: its outline, and shapes and colors of its sections.
type Look<'a> = (&'a str, Vec<(&'a str, &'a str, String)>);

fn look<'a>(document: &'a PlanDocument, design: &'a DesignDocument) -> Look<'a> {
    let sections = document.sections.iter().filter(|section| section.design == design.id);
    let seen = sections
        .map(|one| (one.path_d.as_str(), one.color.as_str(), section_name(&one.id)))
        .collect();
    (&design.outline_d, seen)
}

/// The name of a section without its design.
fn section_name(id: &str) -> String {
    spoken(id.split_once('/').map_or(id, |(_, section)| section))
}

/// Waits of one kind and length are told together, the longest first, and what is worked meanwhile.
fn waits(document: &PlanDocument, pass: &PassDocument) -> Vec<Wait> {
    let waits: &[WaitDocument] = &pass.waits_for;
    let mut kinds = unique(waits.iter().map(|wait| (wait.kind.as_str(), wait.lag_min)));
    kinds.sort_by(|a, b| b.1.total_cmp(&a.1));
    let told = |(kind, lag_min): (&str, f64)| {
        let of_kind = || waits.iter().filter(|wait| wait.kind == kind && wait.lag_min == lag_min);
        let mut passes = unique(of_kind().map(|wait| number(document, &wait.pass)));
        passes.sort_unstable();
        let earlier = passes.iter().map(|&pass| {
            let sections = of_kind().filter(|wait| number(document, &wait.pass) == pass);
            let sections = unique(sections.map(|wait| spoken(&wait.section.replace('/', " "))));
            format!("pass {pass} ({})", few(&sections))
        });
        let lag = span(Span::minutes(lag_min));
        let (state, why) = match kind {
            "dry" => ("dry", "so that nothing bleeds or dents"),
            "set" => ("set", "so that it holds what lies on it"),
            "skin" => ("skinned over", "so that neighbors do not run together"),
            other => (other, ""),
        };
        // What the night before has dried needs no list.
        let what = if kind == "dry" {
            let numbers: Vec<String> = passes.iter().map(ToString::to_string).collect();
            let word = if numbers.len() == 1 { "Pass" } else { "Passes" };
            format!("{word} {} {state}, {lag}", listed(&numbers))
        } else {
            format!("{}, {state}, {lag}", capital(&listed(&earlier.collect::<Vec<_>>())))
        };
        Wait { what, why: why.to_owned() }
    };
    let first = in_order(document, pass)
        .map(|what| Wait { what: format!("In order: {what}"), why: String::new() });
    let mut told: Vec<Wait> = first.into_iter().chain(kinds.into_iter().map(told)).collect();
    let between = meanwhile(&document.passes, pass);
    if !between.is_empty() {
        let word = if between.len() == 1 { "Pass" } else { "Passes" };
        let what = format!("{word} {} in the meantime", listed(&between));
        told.push(Wait { what, why: "to fill the wait".to_owned() });
    }
    told
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// The number of a pass in the order they are worked; 0 for one that is not there.
fn number(document: &PlanDocument, id: &str) -> usize {
    document.passes.iter().position(|pass| pass.id == id).map_or(0, |place| place + 1)
}
