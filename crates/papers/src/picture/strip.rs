//! The passes side by side: what is iced, piped now and still naked, and what each pass waits for.

use std::collections::BTreeSet;

use craft::document::plan::{
    BagDocument, BowlDocument, DesignDocument, PassDocument, PlanDocument, WaitDocument,
};
use drawing::Color;
use quantity::Span;

use super::{
    MARGIN, WIDEST,
    cookie::{Cookie, State},
    design::{state_at, touches},
    flow::in_rows,
    palette::{ACCENT, GROUND, HAIRLINE, MOON, NIGHT, PARCHMENT, SOFT_INK, color_of, edge_of},
    svg::{Element, picture},
    words::{Anchor, Paragraph, Weight, height_of, line, set},
};
use crate::words::{listed, n_of, span, spoken};

/// Width of a pass.
const PASS: f64 = 37.0;
/// Width of a night between two sessions.
const NIGHT_WIDTH: f64 = 9.0;
/// Room between columns.
const GAP: f64 = 4.0;
/// Width of the names of the designs.
const NAMES: f64 = 27.0;
/// Height of the tallest cookie.
const COOKIE: f64 = 30.0;
/// Room between two rows of cookies.
const ROW_GAP: f64 = 4.5;
/// Where the words over a pass begin, under the color of its bag.
const HEAD_TOP: f64 = 2.8;
/// Height of the key over the first passes.
const KEY: f64 = 12.0;
/// Room between two bands of passes.
const BAND_GAP: f64 = 9.0;
/// What is not touched in a pass stands back.
const UNTOUCHED: f64 = 0.4;

/// Draws one column a pass and one row a design, with the nights between sessions.
pub fn passes_strip(plan: &PlanDocument) -> String {
    let designs = &plan.designs;
    let largest = |side: fn(&DesignDocument) -> f64| designs.iter().map(side).fold(1.0, f64::max);
    let scale = ((PASS - 2.0) / largest(|design| design.width_mm))
        .min(COOKIE / largest(|design| design.height_mm));
    let cookies: Vec<Cookie<'_>> = designs
        .iter()
        .enumerate()
        .map(|(place, design)| Cookie::new(design, &plan.sections, format!("strip-{place}"), scale))
        .collect();

    let columns = columns(&plan.passes);
    let widths: Vec<f64> = columns.iter().map(Column::width).collect();
    let bands = in_rows(&widths, GAP, WIDEST - 2.0 * MARGIN - NAMES);
    let mut content = vec![key().moved([MARGIN, MARGIN])];
    let mut y = MARGIN + KEY;
    let mut width: f64 = 2.0 * MARGIN + 90.0;
    for band in bands {
        let drawn = Band::new(plan, &cookies, &columns[band], scale);
        content.push(Element::group([drawn.content]).moved([MARGIN, y]));
        width = width.max(2.0 * MARGIN + drawn.width);
        y += drawn.height + BAND_GAP;
    }
    let whole = [width, y - BAND_GAP + MARGIN];
    let title = format!(
        "{} in {}",
        n_of(plan.passes.len(), "pass", "passes"),
        n_of(plan.sessions.len(), "session", "sessions")
    );
    let ground = Element::rect([0.0, 0.0], whole[0], whole[1]).fill(GROUND);
    let definitions = cookies.iter().map(Cookie::definitions);
    picture(&title, whole, definitions.chain([ground]).chain(content))
}

/// What stands side by side.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Column {
    /// A pass, by its place.
    Pass(usize),
    Night,
}

impl Column {
    fn width(&self) -> f64 {
        match self {
            Self::Pass(_) => PASS,
            Self::Night => NIGHT_WIDTH,
        }
    }
}

fn columns(passes: &[PassDocument]) -> Vec<Column> {
    let mut columns = Vec::new();
    let mut session = None;
    for (place, pass) in passes.iter().enumerate() {
        if session.is_some_and(|session| session != pass.session) {
            columns.push(Column::Night);
        }
        session = Some(pass.session);
        columns.push(Column::Pass(place));
    }
    columns
}

/// Some columns over all designs; its origin is its upper left corner.
struct Band {
    width: f64,
    height: f64,
    content: Element,
}

impl Band {
    fn new(plan: &PlanDocument, cookies: &[Cookie<'_>], columns: &[Column], scale: f64) -> Self {
        let words: Vec<ColumnWords> =
            columns.iter().map(|column| ColumnWords::new(plan, *column)).collect();
        let tallest = |part: fn(&ColumnWords) -> &[Paragraph]| {
            words.iter().map(|words| height_of(part(words))).fold(0.0, f64::max)
        };
        let names: Vec<[Paragraph; 2]> = plan.designs.iter().map(name_of).collect();
        let row_heights: Vec<f64> = cookies
            .iter()
            .zip(&names)
            .map(|(cookie, name)| (cookie.height() * scale).max(height_of(name)) + ROW_GAP)
            .collect();
        let rows_top = tallest(|words| &words.head) + HEAD_TOP + 1.7;
        let foot_top = rows_top + row_heights.iter().sum::<f64>() + 1.5;
        let height = foot_top + tallest(|words| &words.foot);

        let mut elements = Vec::new();
        let mut row_top = rows_top;
        let mut middles = Vec::new();
        for (name, row_height) in names.iter().zip(&row_heights) {
            let middle = row_top + row_height / 2.0;
            elements.extend(set(name, [0.0, middle - height_of(name) / 2.0], Anchor::Start));
            middles.push(middle);
            row_top += row_height;
        }
        let mut x = NAMES;
        for (column, words) in columns.iter().zip(&words) {
            match column {
                Column::Pass(pass) => {
                    elements.push(swatch(bag_color(plan, *pass)).moved([x, 0.0]));
                    elements.extend(set(&words.head, [x, HEAD_TOP], Anchor::Start));
                    elements.extend(set(&words.foot, [x, foot_top], Anchor::Start));
                    for (place, (cookie, middle)) in cookies.iter().zip(&middles).enumerate() {
                        let center = [x + PASS / 2.0, *middle];
                        elements.push(cell(plan, place, cookie, *pass, scale, center));
                    }
                }
                Column::Night => elements.push(night(height).moved([x, 0.0])),
            }
            x += column.width() + GAP;
        }
        Self { width: x - GAP, height, content: Element::group(elements) }
    }
}

/// What stands over and under a column.
#[derive(Default)]
struct ColumnWords {
    head: Vec<Paragraph>,
    foot: Vec<Paragraph>,
}

impl ColumnWords {
    fn new(plan: &PlanDocument, column: Column) -> Self {
        let Column::Pass(place) = column else { return Self::default() };
        let Some(pass) = plan.passes.get(place) else { return Self::default() };
        Self {
            head: head(plan, place, pass),
            foot: vec![Paragraph::new(&waits(&plan.passes, pass), 2.7, Weight::Side, PASS)],
        }
    }
}

fn name_of(design: &DesignDocument) -> [Paragraph; 2] {
    let copies = n_of((design.count + design.extras) as usize, "copy", "copies");
    [
        Paragraph::new(&spoken(&design.id), 3.2, Weight::Chief, NAMES - 3.0),
        Paragraph::new(&copies, 2.7, Weight::Side, NAMES - 3.0),
    ]
}

/// The color of a bag over its pass.
fn swatch(color: Color) -> Element {
    let bar = Element::rect([0.0, 0.0], PASS, 1.8).set("rx", 0.9);
    Element::group([bar.fill(color).stroke(edge_of(color), 0.25)])
}

/// A design as it looks during a pass, its middle at `center`.
fn cell(
    plan: &PlanDocument,
    design: usize,
    cookie: &Cookie<'_>,
    pass: usize,
    scale: f64,
    center: [f64; 2],
) -> Element {
    let passes = &plan.passes;
    let bounds = cookie.bounds;
    let middle = bounds.middle();
    let corner = [center[0] - middle[0] * scale, center[1] - middle[1] * scale];
    let state = |section: usize| match plan.sections.get(section) {
        Some(section) => state_at(passes, &section.id, pass),
        None => State::Naked,
    };
    let drawn = Element::group([cookie.drawn(state)]).scaled_and_moved(scale, corner);
    let is_touched = plan
        .designs
        .get(design)
        .is_some_and(|design| passes.get(pass).is_some_and(|pass| touches(pass, design)));
    if is_touched { drawn } else { drawn.set("opacity", UNTOUCHED) }
}

/// Number and bag, consistency and tip, copies and minutes.
fn head(plan: &PlanDocument, place: usize, pass: &PassDocument) -> Vec<Paragraph> {
    let (name, how) = match (bag_of(plan, pass), technique_of(plan, pass)) {
        (Some((_, bag)), _) => {
            let count = match bag.count_s {
                Some(count_s) => format!("{count_s:.0} s"),
                None => "stiff".to_owned(),
            };
            (spoken(&bag.id), format!("{count}, tip {}", bag.tip))
        }
        (None, Some(technique)) => (technique.to_owned(), "no icing".to_owned()),
        (None, None) => (String::new(), String::new()),
    };
    let cookies = worked_on(plan, pass);
    vec![
        Paragraph::new(&format!("{} {name}", place + 1), 3.3, Weight::Chief, PASS),
        Paragraph::new(&how, 2.7, Weight::Side, PASS),
        Paragraph::new(
            &format!("{cookies}, {}", span(Span::minutes(pass.end_min - pass.start_min))),
            2.7,
            Weight::Side,
            PASS,
        ),
    ]
}

/// Says which cookies a pass goes over: all copies of every design it works on, some of them, or paper for later.
pub fn worked_on(plan: &PlanDocument, pass: &PassDocument) -> String {
    let designs = plan.designs.iter();
    let touched = designs.filter(|one| touches(pass, one));
    let (mut all, mut now, mut only) = (0, 0, None);
    for design in touched {
        let rows = pass
            .rows
            .iter()
            .filter(|row| row.sections.iter().any(|section| design.sections.contains(section)));
        let spans = rows.map(|row| (row.first_cookie, row.first_cookie + row.copies));
        let (first, end) = spans.fold((u32::MAX, 0), |a, b| (a.0.min(b.0), a.1.max(b.1)));
        let copies = design.count + design.extras;
        all += copies;
        now += end.saturating_sub(first).min(copies);
        only = Some((first, end.saturating_sub(1), copies));
    }
    let n = |n: u32| n_of(n as usize, "cookie", "cookies");
    match only {
        _ if pass.ahead => format!("on paper, for {}", n(now)),
        _ if now == all => n(all),
        Some((first, last, copies)) if copies == all => {
            format!("cookies {first} to {last} of {copies}")
        }
        _ => format!("{now} of {}", n(all)),
    }
}

/// Finds the bag of a pass and the bowl it is filled from; nothing for what is not piped.
pub fn bag_of<'a>(
    plan: &'a PlanDocument,
    pass: &PassDocument,
) -> Option<(&'a BowlDocument, &'a BagDocument)> {
    let id = pass.bag.as_ref()?;
    plan.bowls.iter().find_map(|bowl| Some((bowl, bowl.bags.iter().find(|bag| bag.id == *id)?)))
}

fn technique_of<'a>(plan: &'a PlanDocument, pass: &PassDocument) -> Option<&'a str> {
    let first = pass.sections.first()?;
    Some(plan.sections.iter().find(|section| section.id == *first)?.technique.as_str())
}

fn bag_color(plan: &PlanDocument, place: usize) -> Color {
    let color = plan.passes.get(place).and_then(|pass| match bag_of(plan, pass) {
        Some((bowl, _)) => Some(&bowl.color),
        None => {
            let first = pass.sections.first()?;
            Some(&plan.sections.iter().find(|section| section.id == *first)?.color)
        }
    });
    color.map_or(PARCHMENT, |color| color_of(color))
}

/// Says in which order the sections of a pass are worked, those of one cookie that follow each other together; nothing
/// where there is but one.
pub fn in_order(plan: &PlanDocument, pass: &PassDocument) -> Option<String> {
    let mut runs: Vec<(&str, Vec<String>)> = Vec::new();
    for id in pass.rows.iter().flat_map(|row| &row.sections) {
        let (design, section) = id.split_once('/').unwrap_or((id, ""));
        let section = spoken(section);
        match runs.last_mut() {
            Some((known, sections)) if *known == design => {
                if !sections.contains(&section) {
                    sections.push(section);
                }
            }
            _ => runs.push((design, vec![section])),
        }
    }
    let n_sections: usize = runs.iter().map(|(_, sections)| sections.len()).sum();
    let is_alone = plan.designs.len() < 2;
    let words = runs.iter().map(|(design, sections)| match is_alone {
        true => sections.join(", "),
        false => format!("{} {}", spoken(design), sections.join(", ")),
    });
    (n_sections > 1).then(|| words.collect::<Vec<_>>().join("; "))
}

/// Waits within a session that hold the whole pass: those of the sections it begins with.
fn holds_all<'a>(
    passes: &'a [PassDocument],
    pass: &'a PassDocument,
) -> impl Iterator<Item = &'a WaitDocument> {
    within(passes, pass)
        .filter(|wait| pass.rows.first().is_none_or(|first| first.sections.contains(&wait.waiting)))
}

/// Waits of a pass for others of its session: every pass behind a night has waited for it, so that the rest is not told.
fn within<'a>(
    passes: &'a [PassDocument],
    pass: &'a PassDocument,
) -> impl Iterator<Item = &'a WaitDocument> {
    let is_of_session = |wait: &&WaitDocument| {
        passes.iter().any(|other| other.id == wait.pass && other.session == pass.session)
    };
    pass.waits_for.iter().filter(|wait| wait.kind != "dry").filter(is_of_session)
}

/// Tells what a pass waits for, in plain words.
pub fn waits(passes: &[PassDocument], pass: &PassDocument) -> String {
    let states = [("skin", ["has a skin", "have a skin"]), ("set", ["has set", "have set"])];
    // "pass 8 has set (44 min)"
    let state = |waits: &[&WaitDocument], [one_has, many_have]: [&str; 2]| {
        let lag = waits.iter().map(|wait| wait.lag_min).reduce(f64::max)?;
        let number = |id: &str| passes.iter().position(|other| other.id == id);
        let numbers: BTreeSet<usize> =
            waits.iter().filter_map(|wait| Some(number(&wait.pass)? + 1)).collect();
        let (noun, has) =
            if numbers.len() == 1 { ("pass", one_has) } else { ("passes", many_have) };
        let numbers: Vec<String> = numbers.iter().map(usize::to_string).collect();
        let lag = span(Span::minutes(lag));
        Some(format!("{noun} {} {has} ({lag}).", listed(&numbers)))
    };
    let of_kind = |kind: &str| -> Vec<&WaitDocument> {
        holds_all(passes, pass).filter(|wait| wait.kind == kind).collect()
    };
    let words: Vec<String> = states
        .into_iter()
        .filter_map(|(kind, has)| Some(format!("Once {}", state(&of_kind(kind), has)?)))
        .collect();
    // What waits longer than the beginning of its pass; what its pass finds ready needs no words.
    let later = |(kind, has): (&str, [&str; 2])| {
        let held: Vec<&WaitDocument> = of_kind(kind);
        let is_open = |wait: &&WaitDocument| {
            let before = passes.iter().find(|other| other.id == wait.pass);
            before.is_some_and(|other| other.end_min + wait.lag_min > pass.start_min)
        };
        let waits = within(passes, pass).filter(|wait| wait.kind == kind).filter(is_open);
        let rest: Vec<&WaitDocument> =
            waits.filter(|wait| !held.iter().any(|one| std::ptr::eq(*one, *wait))).collect();
        let mut sections: Vec<&str> = rest.iter().map(|wait| wait.waiting.as_str()).collect();
        sections.sort_unstable();
        sections.dedup();
        let told = sections.into_iter().filter_map(move |section| {
            let own: Vec<&WaitDocument> =
                rest.iter().copied().filter(|wait| wait.waiting == section).collect();
            let name = spoken(&section.replace('/', " "));
            Some(format!("Leave {name} until {}", state(&own, has)?))
        });
        told.collect::<Vec<String>>()
    };
    let later: Vec<String> = states.into_iter().flat_map(later).collect();
    let begins = match (words.is_empty(), pass.waits_for.is_empty()) {
        (true, true) => "No wait.".to_owned(),
        (true, false) if within(passes, pass).next().is_some() => "No wait.".to_owned(),
        (true, false) => "After the night.".to_owned(),
        (false, _) => match &meanwhile(passes, pass)[..] {
            [] => words.join(" "),
            [only] => format!("{} Meanwhile pass {only}.", words.join(" ")),
            many => format!("{} Meanwhile passes {}.", words.join(" "), listed(many)),
        },
    };
    std::iter::once(begins).chain(later).collect::<Vec<_>>().join(" ")
}

/// Returns the numbers of the passes that are worked while a pass waits, from the end of the last it waits for in its session.
pub fn meanwhile(passes: &[PassDocument], pass: &PassDocument) -> Vec<String> {
    let ends = holds_all(passes, pass)
        .filter_map(|wait| Some(passes.iter().find(|other| other.id == wait.pass)?.end_min));
    let Some(end) = ends.reduce(f64::max) else { return Vec::new() };
    // Times are written to 0.1 min.
    let is_between = |other: &PassDocument| {
        other.session == pass.session
            && other.start_min > end - 0.1
            && other.end_min < pass.start_min + 0.1
            && other.id != pass.id
    };
    let numbered = passes.iter().enumerate().filter(|(_, other)| is_between(other));
    numbered.map(|(place, _)| (place + 1).to_string()).collect()
}

/// A night: icing dries, nobody works.
fn night(height: f64) -> Element {
    let middle = NIGHT_WIDTH / 2.0;
    // A crescent: half of a disk, less the ellipse its shadow covers.
    let moon = format!("M{middle} 3A2.3 2.3 0 0 1 {middle} 7.6A1.1 2.3 0 0 0 {middle} 3Z");
    let words = line("a night: it dries", [0.0, 0.0], 3.0, Anchor::Start, Weight::Night);
    Element::group([
        Element::rect([0.0, 0.0], NIGHT_WIDTH, height).set("rx", 1.2).fill(NIGHT),
        Element::path(moon).fill(MOON),
        Element::group([words]).turned_and_moved(90.0, [middle - 1.1, 11.0]),
    ])
}

/// Says what the three states look like.
fn key() -> Element {
    let swatch = |x: f64| Element::circle([x + 2.5, 3.0], 2.5).fill(PARCHMENT);
    let words = |x: f64, words: &str| line(words, [x + 7.0, 4.1], 3.0, Anchor::Start, Weight::Side);
    Element::group([
        swatch(0.0).stroke(HAIRLINE, 0.3),
        words(0.0, "iced"),
        swatch(24.0).stroke(ACCENT, 0.9),
        words(24.0, "piping now"),
        swatch(59.0).set("fill-opacity", 0.4).stroke(SOFT_INK, 0.15),
        words(59.0, "still naked"),
    ])
}

#[cfg(test)]
mod tests {
    use craft::document::plan::RowDocument;

    use super::*;

    fn pass(session: usize, waits_for: Vec<WaitDocument>) -> PassDocument {
        PassDocument {
            id: format!("pass-{session}"),
            session,
            bag: None,
            sections: Vec::new(),
            maker: 1,
            start_min: 0.0,
            end_min: 5.0,
            copies: 3,
            ahead: false,
            rows: Vec::new(),
            waits_for,
        }
    }

    fn wait(pass: usize, kind: &str, lag_min: f64) -> WaitDocument {
        WaitDocument {
            pass: format!("pass-{pass}"),
            section: String::new(),
            waiting: String::new(),
            kind: kind.to_owned(),
            lag_min,
        }
    }

    #[test]
    fn a_night_stands_between_sessions_only() {
        let passes = [1, 1, 2].map(|session| pass(session, Vec::new()));
        use Column::{Night, Pass};
        assert_eq!(columns(&passes), [Pass(0), Pass(1), Night, Pass(2)]);
        assert_eq!(columns(&[]), []);
    }

    #[test]
    fn waits_of_one_kind_are_told_together() {
        let passes: Vec<PassDocument> =
            (1..=4).map(|number| PassDocument { session: 5, ..pass(number, Vec::new()) }).collect();
        let told = |waits_for| waits(&passes, &pass(5, waits_for)).replace('\u{a0}', " ");
        assert_eq!(
            told(vec![
                wait(4, "set", 75.0),
                wait(2, "set", 60.0),
                wait(2, "set", 60.0),
                wait(1, "skin", 15.0),
            ]),
            "Once pass 1 has a skin (15 min). Once passes 2 and 4 have set (1 h 15)."
        );
        assert_eq!(told(vec![wait(2, "dry", 720.0)]), "After the night.");
        assert_eq!(told(Vec::new()), "No wait.");
        // What an earlier session did has waited long enough.
        let earlier: Vec<PassDocument> = vec![pass(1, Vec::new())];
        assert_eq!(waits(&earlier, &pass(5, vec![wait(1, "skin", 15.0)])), "After the night.");
    }

    #[test]
    fn what_waits_longer_than_its_pass_is_told_by_name() {
        let row = |section: &str| RowDocument {
            sections: vec![section.to_owned()],
            first_cookie: 1,
            copies: 3,
            start_min: 0.0,
            end_min: 5.0,
        };
        let passes = [PassDocument { session: 5, ..pass(1, Vec::new()) }];
        let waiting =
            |section: &str| WaitDocument { waiting: section.to_owned(), ..wait(1, "set", 44.0) };
        let told = |section: &str| {
            let rows = vec![row("gull/eye"), row("gull/spot")];
            let pass = PassDocument { rows, ..pass(5, vec![waiting(section)]) };
            waits(&passes, &pass).replace('\u{a0}', " ")
        };
        assert_eq!(told("gull/eye"), "Once pass 1 has set (44 min).");
        assert_eq!(told("gull/spot"), "No wait. Leave gull spot until pass 1 has set (44 min).");
    }

    #[test]
    fn what_is_worked_during_a_wait_is_told() {
        let mut passes: Vec<PassDocument> = (1..=4).map(|_| pass(1, Vec::new())).collect();
        for (number, pass) in passes.iter_mut().enumerate() {
            pass.id = format!("pass-{}", number + 1);
            (pass.start_min, pass.end_min) = (10.0 * number as f64, 10.0 * number as f64 + 10.0);
        }
        let told = |waits_for: Vec<WaitDocument>, start: f64| {
            let waiting = PassDocument { waits_for, start_min: start, ..pass(1, Vec::new()) };
            waits(&passes, &PassDocument { id: "pass-5".to_owned(), ..waiting })
                .replace('\u{a0}', " ")
        };
        let skin = |pass| vec![wait(pass, "skin", 15.0)];
        assert_eq!(
            told(skin(1), 40.0),
            "Once pass 1 has a skin (15 min). Meanwhile passes 2, 3 and 4."
        );
        assert_eq!(told(skin(3), 40.0), "Once pass 3 has a skin (15 min). Meanwhile pass 4.");
        assert_eq!(told(skin(4), 55.0), "Once pass 4 has a skin (15 min).");
        // A night is no wait to fill.
        assert_eq!(told(vec![wait(1, "dry", 720.0)], 40.0), "After the night.");
    }
}
