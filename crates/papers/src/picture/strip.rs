//! The passes side by side: what is iced, piped now and still naked, and what each pass waits for.

use std::collections::BTreeMap;

use craft::{
    passes::{Pass, WaitKind},
    plan::OrderPlan,
    technique::Design,
};
use drawing::Color;
use quantity::{Length, Span};

use super::{
    MARGIN, WIDEST,
    cookie::Cookie,
    design::state_at,
    flow::in_rows,
    palette::{ACCENT, GROUND, HAIRLINE, MOON, NIGHT, PARCHMENT, SOFT_INK, edge_of},
    svg::{Element, picture},
    words::{Anchor, Paragraph, Weight, height_of, line, listed, n_of, set, span, spoken},
};

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
pub fn passes_strip(plan: &OrderPlan) -> String {
    let designs = &plan.sections.designs;
    let largest = |side: fn(&Design) -> Length| {
        designs.iter().map(|design| side(design).to_mm()).fold(1.0, f64::max)
    };
    let scale = ((PASS - 2.0) / largest(|design| design.width))
        .min(COOKIE / largest(|design| design.height));
    let cookies: Vec<Cookie<'_>> = designs
        .iter()
        .enumerate()
        .map(|(place, design)| Cookie::new(design, &plan.sections, format!("strip-{place}"), scale))
        .collect();

    let columns = columns(&plan.passes.passes);
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
        n_of(plan.passes.passes.len(), "pass", "passes"),
        n_of(plan.passes.sessions.len(), "session", "sessions")
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

fn columns(passes: &[Pass]) -> Vec<Column> {
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
    fn new(plan: &OrderPlan, cookies: &[Cookie<'_>], columns: &[Column], scale: f64) -> Self {
        let words: Vec<ColumnWords> =
            columns.iter().map(|column| ColumnWords::new(plan, *column)).collect();
        let tallest = |part: fn(&ColumnWords) -> &[Paragraph]| {
            words.iter().map(|words| height_of(part(words))).fold(0.0, f64::max)
        };
        let names: Vec<[Paragraph; 2]> = plan.sections.designs.iter().map(name_of).collect();
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
                    elements.push(swatch(color_of(plan, *pass)).moved([x, 0.0]));
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
    fn new(plan: &OrderPlan, column: Column) -> Self {
        let Column::Pass(place) = column else { return Self::default() };
        let Some(pass) = plan.passes.passes.get(place) else { return Self::default() };
        Self {
            head: head(plan, place, pass),
            foot: vec![Paragraph::new(&waits(pass), 2.7, Weight::Side, PASS)],
        }
    }
}

fn name_of(design: &Design) -> [Paragraph; 2] {
    let copies = n_of(design.copies() as usize, "copy", "copies");
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
    plan: &OrderPlan,
    design: usize,
    cookie: &Cookie<'_>,
    pass: usize,
    scale: f64,
    center: [f64; 2],
) -> Element {
    let passes = &plan.passes.passes;
    let bounds = cookie.bounds;
    let middle = [(bounds.min_x + bounds.max_x) / 2.0, (bounds.min_y + bounds.max_y) / 2.0];
    let corner = [center[0] - middle[0] * scale, center[1] - middle[1] * scale];
    let drawn = Element::group([cookie.drawn(|section| state_at(passes, section, pass))])
        .scaled_and_moved(scale, corner);
    let is_touched = plan.sections.designs.get(design).is_some_and(|design| {
        passes.get(pass).is_some_and(|pass| pass.sections().any(|s| design.sections.contains(&s)))
    });
    if is_touched { drawn } else { drawn.set("opacity", UNTOUCHED) }
}

/// Number and bag, consistency and tip, copies and minutes.
fn head(plan: &OrderPlan, place: usize, pass: &Pass) -> Vec<Paragraph> {
    let bag = pass.bag.and_then(|(bowl, bag)| plan.icing.bowls.get(bowl)?.bags.get(bag));
    let first = pass.sections().next().and_then(|section| plan.sections.sections.get(section));
    let (name, how) = match (bag, first) {
        (Some(bag), _) => {
            let count = match bag.count {
                Some(count) => format!("{:.0} s", count.to_seconds()),
                None => "stiff".to_owned(),
            };
            (spoken(&bag.id), format!("{count}, tip {}", bag.tip))
        }
        (None, Some(section)) => (section.technique.name().to_owned(), "no icing".to_owned()),
        (None, None) => (String::new(), String::new()),
    };
    let copies = n_of(pass.copies() as usize, "copy", "copies");
    vec![
        Paragraph::new(&format!("{} {name}", place + 1), 3.3, Weight::Chief, PASS),
        Paragraph::new(&how, 2.7, Weight::Side, PASS),
        Paragraph::new(
            &format!("{copies}, {}", span(pass.end - pass.start)),
            2.7,
            Weight::Side,
            PASS,
        ),
    ]
}

fn color_of(plan: &OrderPlan, place: usize) -> Color {
    let color = plan.passes.passes.get(place).and_then(|pass| match pass.bag {
        Some((bowl, _)) => Some(plan.icing.bowls.get(bowl)?.color),
        None => Some(plan.sections.sections.get(pass.sections().next()?)?.color),
    });
    color.unwrap_or(PARCHMENT)
}

/// What a pass waits for, in plain words.
fn waits(pass: &Pass) -> String {
    let mut by_kind: BTreeMap<WaitKind, (Vec<usize>, Span)> = BTreeMap::new();
    for wait in &pass.waits_for {
        let (passes, lag) = by_kind.entry(wait.kind).or_default();
        passes.push(wait.pass + 1);
        *lag = lag.max(wait.lag);
    }
    let words: Vec<String> = by_kind
        .into_iter()
        .map(|(kind, (mut passes, lag))| {
            passes.sort_unstable();
            passes.dedup();
            let names: Vec<String> = passes.iter().map(usize::to_string).collect();
            let (noun, has) = if passes.len() == 1 { ("pass", "has") } else { ("passes", "have") };
            let which = format!("{noun} {}", listed(&names));
            match kind {
                WaitKind::Skin => format!("Once {which} {has} a skin ({}).", span(lag)),
                WaitKind::Set => format!("Once {which} {has} set ({}).", span(lag)),
                // Every pass behind a night has waited for it.
                WaitKind::Dry => String::new(),
            }
        })
        .filter(|words| !words.is_empty())
        .collect();
    match (words.is_empty(), pass.waits_for.is_empty()) {
        (true, true) => "No wait.".to_owned(),
        (true, false) => "After the night.".to_owned(),
        (false, _) => words.join(" "),
    }
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
    use craft::passes::{Row, Wait};

    use super::*;

    fn pass(session: usize, waits_for: Vec<Wait>) -> Pass {
        let (start, end) = (Span::ZERO, Span::minutes(5.0));
        let rows = vec![Row { sections: vec![0], copies: 3, start, end }];
        Pass { id: "pass".into(), session, bag: None, rows, maker: 0, start, end, waits_for }
    }

    fn wait(pass: usize, kind: WaitKind, minutes: f64) -> Wait {
        Wait { pass, section: 0, waiting: 1, kind, lag: Span::minutes(minutes) }
    }

    #[test]
    fn a_night_stands_between_sessions_only() {
        let passes = [0, 0, 1].map(|session| pass(session, Vec::new()));
        use Column::{Night, Pass};
        assert_eq!(columns(&passes), [Pass(0), Pass(1), Night, Pass(2)]);
        assert_eq!(columns(&[]), []);
    }

    #[test]
    fn waits_of_one_kind_are_told_together() {
        let told = waits(&pass(
            0,
            vec![
                wait(3, WaitKind::Set, 75.0),
                wait(1, WaitKind::Set, 60.0),
                wait(1, WaitKind::Set, 60.0),
                wait(0, WaitKind::Skin, 15.0),
            ],
        ));
        let told = told.replace('\u{a0}', " ");
        assert_eq!(told, "Once pass 1 has a skin (15 min). Once passes 2 and 4 have set (1 h 15).");
        assert_eq!(waits(&pass(0, vec![wait(1, WaitKind::Dry, 720.0)])), "After the night.");
        assert_eq!(waits(&pass(0, Vec::new())), "No wait.");
    }
}
