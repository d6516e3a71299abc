//! The kitchen packet as poppler's tools read it.

use std::{
    io::Write,
    process::{Command, Stdio},
};

use craft::{
    document::{
        plan::{DesignDocument, PlanDocument},
        start_kitchen,
    },
    kitchen::{Kitchen, Measures, Paper},
};
use papers::packet::{packet, templates, true_sheets};
use roxmltree::{Document, ParsingOptions};

use crate::samples::{planned_sample, planned_samples};

const PT_PER_MM: f64 = 72.0 / 25.4;
/// What both papers hold with margins of 10 mm.
const LIVE_MM: [f64; 2] = [190.0, 259.0];

/// Hands a PDF to one of poppler's tools and returns what it says.
fn tool(name: &str, options: &[&str], pdf: &[u8]) -> String {
    let mut child = Command::new(name)
        .args(options)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap_or_else(|error| panic!("install poppler-utils, which has {name}: {error}"));
    child.stdin.take().expect("it is piped").write_all(pdf).expect("the tool reads");
    let output = child.wait_with_output().expect("the tool ends");
    assert!(output.status.success(), "{name} refused the file");
    String::from_utf8(output.stdout).expect("the tool writes text")
}

/// The words of a PDF in the order they were set, all spaces and line ends alike.
fn words(pdf: &[u8]) -> String {
    spaced(&tool("pdftotext", &["-raw", "-", "-"], pdf))
}

fn spaced(text: &str) -> String {
    let plain = text.replace('\u{200b}', "");
    plain.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Expects every word inside the paper's margins.
fn check_margins(name: &str, pdf: &[u8]) {
    const MARGIN_MM: f64 = 9.9;
    let boxes = tool("pdftotext", &["-bbox", "-", "-"], pdf);
    let options = ParsingOptions { allow_dtd: true, ..ParsingOptions::default() };
    let document = Document::parse_with_options(&boxes, options).expect("it is XML");
    let number = |node: roxmltree::Node<'_, '_>, key: &str| -> f64 {
        node.attribute(key).and_then(|value| value.parse().ok()).expect("a number")
    };
    let mut n_words = 0;
    for page in document.descendants().filter(|node| node.has_tag_name("page")) {
        let (width, height) = (number(page, "width"), number(page, "height"));
        for word in page.children().filter(|node| node.has_tag_name("word")) {
            n_words += 1;
            let edges = [
                number(word, "xMin"),
                width - number(word, "xMax"),
                number(word, "yMin"),
                height - number(word, "yMax"),
            ];
            // Tall letters reach a little over the line they stand on.
            let least = edges.into_iter().fold(f64::INFINITY, f64::min) / PT_PER_MM;
            assert!(least >= MARGIN_MM, "{name}: {:?} is {least:.1} mm from the edge", word.text());
        }
    }
    assert!(n_words > 20, "{name}: {n_words} words");
}

/// Left, upper, right and lower end of a drawn line, in points from the upper left corner of the page.
type Ends = [f64; 4];

/// Finds the drawn lines of one page by their width in millimeters.
fn lines(pdf: &[u8], page: usize, width: &str) -> Vec<Ends> {
    let page = page.to_string();
    // Without this option the page is shrunk to whole points.
    let options = ["-svg", "-noshrink", "-f", &page, "-l", &page, "-", "-"];
    let svg = tool("pdftocairo", &options, pdf);
    let document = Document::parse(&svg).expect("it is XML");
    let style = format!("fill:none;stroke-width:{width};");
    let ends = |path: roxmltree::Node<'_, '_>| {
        let matrix = path.attribute("transform")?.strip_prefix("matrix(")?.strip_suffix(')')?;
        let matrix: Vec<f64> = matrix.split(',').filter_map(|part| part.parse().ok()).collect();
        let &[a, b, c, d, e, f] = matrix.as_slice() else { return None };
        let numbers = path.attribute("d")?.split_whitespace().filter_map(|part| part.parse().ok());
        let numbers: Vec<f64> = numbers.collect();
        let mut ends = [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY];
        for pair in numbers.chunks_exact(2) {
            let (x, y) = (a * pair[0] + c * pair[1] + e, b * pair[0] + d * pair[1] + f);
            ends = [ends[0].min(x), ends[1].min(y), ends[2].max(x), ends[3].max(y)];
        }
        Some(ends)
    };
    let paths = document.descendants().filter(|node| node.has_tag_name("path"));
    let drawn =
        paths.filter(|path| path.attribute("style").is_some_and(|it| it.starts_with(&style)));
    drawn.filter_map(ends).collect()
}

fn n_pages(pdf: &[u8]) -> usize {
    let info = tool("pdfinfo", &["-"], pdf);
    let line =
        info.lines().find_map(|line| line.strip_prefix("Pages:")).expect("a number of pages");
    line.trim().parse().expect("a number")
}

/// Names of designs, bags and passes as a maker reads them.
fn spoken(id: &str) -> String {
    id.replace(['-', '_', '/'], " ")
}

fn both_papers() -> [(Paper, &'static str); 2] {
    [(Paper::A4, "595.276 x 841.89 pts (A4)"), (Paper::Letter, "612 x 792 pts (letter)")]
}

/// Expects everything a plan holds in the words of its packet.
fn check_complete(name: &str, plan: &PlanDocument, text: &str) {
    let has = |wanted: &str| {
        let wanted = spaced(wanted);
        assert!(text.contains(&wanted), "{name}: {wanted:?} is missing");
    };
    has(&plan.order.title);
    for wish in &plan.order.must_have {
        has(wish);
    }
    for design in &plan.designs {
        has(&format!("{} × {}", design.count, spoken(&design.id)));
    }
    for (sheet, number) in plan.cutting.sheets.iter().zip(1..) {
        has(&format!("Sheet {number}, "));
        let last = sheet.placements.last().expect("a cut");
        has(&format!("{} {}", sheet.placements.len(), spoken(&last.design)));
    }
    for (load, number) in plan.loads.iter().zip(1..) {
        for tray in &load.trays {
            has(&format!("Tray {} in oven load {number} {:.0} min", tray + 1, load.bake_min));
        }
    }
    for part in plan.dough.parts.iter().chain(&plan.icing_batch.parts) {
        has(&part.ingredient);
    }
    for bowl in &plan.bowls {
        has(&format!("{:.0} g", bowl.weigh_out_g));
        for bag in &bowl.bags {
            let n = if bag.n == 1 { "1 bag".to_owned() } else { format!("{} bags", bag.n) };
            let count =
                bag.count_s.map_or("of stiff icing".to_owned(), |count| format!("at {count:.0} s"));
            has(&format!("{n} with"));
            has(&format!("{count} (tip {})", bag.tip));
        }
    }
    assert!(!plan.icing_batch.steps.is_empty());
    for step in &plan.icing_batch.steps {
        has(step);
    }
    has("covered it keeps 3 days");
    for (pass, number) in plan.passes.iter().zip(1..) {
        has(&format!("{number}. "));
        // A cookie with two areas of the color is one cookie.
        let is_worked_on = |design: &&DesignDocument| {
            pass.sections.iter().any(|section| design.sections.contains(section))
        };
        let worked_on = plan.designs.iter().filter(is_worked_on);
        let n_cookies: u32 = worked_on.map(|design| design.count + design.extras).sum();
        has(&if n_cookies == 1 { "1 cookie".to_owned() } else { format!("{n_cookies} cookies") });
        for section in &pass.sections {
            has(&spoken(section.split_once('/').expect("a design and a name").1));
        }
        for wait in &pass.waits_for {
            let earlier = plan.passes.iter().position(|one| one.id == wait.pass);
            assert!(earlier.expect("an earlier pass") + 1 < number, "{name}");
        }
    }
    for day in &plan.days {
        let start: jiff::ZonedDateTime = day.start.parse().expect("a time");
        has(&start.strftime("%A %-d %B").to_string());
    }
    for line in &plan.shopping {
        has(&line.name);
    }
    for ingredient in &plan.label.ingredients {
        has(&ingredient.text);
    }
    for heads_up in &plan.heads_ups {
        has(&heads_up.message);
        has(heads_up.hint.as_deref().unwrap_or_default());
    }
    has("Check your local rules; this is not legal advice.");
    has("Print at 100 %, no fit to page; these 100 mm must measure 100 mm.");
}

#[test]
fn a_packet_holds_all_of_its_plan_on_either_paper() {
    for (name, plan) in planned_samples() {
        for (paper, size) in both_papers() {
            let pdf = packet(&plan, &start_kitchen(), paper).expect("a packet");
            check_complete(name, &plan, &words(&pdf));
            check_margins(name, &pdf);

            let info = spaced(&tool("pdfinfo", &["-"], &pdf));
            let title = format!("Title: {}: kitchen packet", plan.order.title);
            for wanted in [&title, "Tagged: yes", &format!("Page size: {size}")] {
                assert!(info.contains(wanted), "{name}: {wanted} is not in {info}");
            }
            let fonts = tool("pdffonts", &["-"], &pdf);
            // Two lines of head, then one for each font: name, type, encoding, embedded, ...
            for font in fonts.lines().skip(2) {
                assert!(font.contains("Vollkorn") || font.contains("Ysabeau"), "{font}");
                assert!(font.contains(" yes yes yes "), "{font}");
            }
            assert!((3..=7).contains(&fonts.lines().count()), "{fonts}");
        }
    }
}

#[test]
fn a_packet_is_the_same_twice_and_asks_for_full_size() {
    let plan = planned_sample();
    let pdf = || packet(&plan, &start_kitchen(), Paper::A4).expect("a packet");
    let first = pdf();
    assert!(first == pdf(), "two runs differ");
    // ISO 32000-1:2008, table 150; the last catalog of the file counts.
    let wish: &[u8] = b"/PrintScaling /None";
    let update = first.windows(5).rposition(|window| window == b"%%EOF").expect("an end");
    let before = first[..update].windows(5).rposition(|window| window == b"%%EOF");
    let update = &first[before.expect("the file before the update")..];
    assert!(update.windows(wish.len()).any(|window| window == wish));
    assert!(tool("pdfinfo", &["-"], &first).contains("Pages:"));
}

#[test]
fn rulers_and_outlines_measure_what_they_say() {
    for (name, plan) in planned_samples() {
        for (paper, _) in both_papers() {
            let pdf = templates(&plan, &start_kitchen(), paper).expect("templates");
            let (width, height) = paper.size();
            let spare = [width.to_mm() - LIVE_MM[0], height.to_mm() - LIVE_MM[1]];
            let mut outlines = Vec::new();
            for page in 1..=n_pages(&pdf) {
                let rulers: Vec<[f64; 2]> = lines(&pdf, page, "0.25")
                    .iter()
                    .map(|[left, upper, right, lower]| [right - left, lower - upper])
                    .collect();
                let on_page = lines(&pdf, page, "0.3");
                // 100 mm are 283.46 pt, 4 in are 288 pt.
                for wanted in [[283.46, 0.0], [0.0, 283.46], [288.0, 0.0]] {
                    let near = |ruler: &&[f64; 2]| {
                        ruler.iter().zip(wanted).all(|(a, b)| (a - b).abs() <= 0.05)
                    };
                    assert_eq!(rulers.iter().filter(near).count(), 1, "{name}: {rulers:?}");
                }
                for [left, upper, right, lower] in on_page {
                    let inside = [
                        left / PT_PER_MM - spare[0] / 2.0,
                        upper / PT_PER_MM - spare[1] / 2.0,
                        width.to_mm() - spare[0] / 2.0 - right / PT_PER_MM,
                        height.to_mm() - spare[1] / 2.0 - lower / PT_PER_MM,
                    ];
                    assert!(inside.iter().all(|mm| *mm >= 0.0), "{name}: {inside:?}");
                    outlines.push([(right - left) / PT_PER_MM, (lower - upper) / PT_PER_MM]);
                }
            }
            for design in &plan.designs {
                let size = [design.width_mm, design.height_mm];
                let near = |outline: &[f64; 2]| {
                    outline.iter().zip(size).all(|(a, b)| (a - b).abs() <= 0.05)
                };
                assert!(outlines.iter().any(near), "{name}: no {} of {size:?} mm", design.id);
            }
            check_margins(name, &pdf);
        }
    }
}

#[test]
fn a_design_larger_than_the_paper_is_printed_in_parts() {
    let mut plan = planned_sample();
    plan.designs.truncate(1);
    let design = &mut plan.designs[0];
    design.outline_d = "M0 0L400 0L400 300L0 300Z".to_owned();
    (design.width_mm, design.height_mm) = (400.0, 300.0);
    let pdf = templates(&plan, &start_kitchen(), Paper::Letter).expect("templates");
    // Parts of 178 x 215 mm that share 10 mm: three across, two down.
    assert_eq!(n_pages(&pdf), 6);
    assert!(words(&pdf).contains("part 6 of 6, column 3, row 2"));

    plan.designs[0].outline_d = "M0 0L400000 0L400000 300000Z".to_owned();
    let pdf = templates(&plan, &start_kitchen(), Paper::Letter).expect("templates");
    assert!(words(&pdf).contains("Too large to be printed: Lighthouse."));
}

#[test]
fn dough_sheets_are_printed_at_true_size_in_parts_with_every_cut() {
    let plan = planned_sample();
    for (paper, _) in both_papers() {
        let pdf = true_sheets(&plan, &start_kitchen(), paper).expect("sheets");
        // Parts of 178 x 215 mm that share 10 mm, with half a millimeter around the sheet.
        let parts = |mm: f64, part: f64| ((mm + 1.0 - 10.0) / (part - 10.0)).ceil() as usize;
        let sheets = plan.cutting.sheets.iter();
        let n = sheets.map(|one| parts(one.width_mm, 178.0) * parts(one.length_mm, 215.0));
        assert_eq!(n_pages(&pdf), n.sum::<usize>());
        // The left edge of the first sheet, where it is not cut off, and a whole cookie measure what they say.
        let design = |id: &str| plan.designs.iter().find(|one| one.id == id).expect("a design");
        let first = &plan.cutting.sheets[0];
        let drawn: Vec<[f64; 2]> = lines(&pdf, 1, "0.3")
            .iter()
            .map(|[left, upper, right, lower]| {
                [(right - left) / PT_PER_MM, (lower - upper) / PT_PER_MM]
            })
            .collect();
        let size = [first.width_mm, first.length_mm];
        let is_near =
            |a: [f64; 2], b: [f64; 2]| a.iter().zip(b).all(|(a, b)| (a - b).abs() <= 0.05);
        assert!(drawn.iter().any(|one| is_near(*one, size)), "{size:?}: {drawn:?}");
        // The first cut of the sample lies along the sheet.
        let cut = first.placements.first().expect("a cut");
        assert!((cut.rotation_deg.rem_euclid(180.0) - 90.0).abs() < 0.1, "{cut:?}");
        let design = design(&cut.design);
        let size = [design.height_mm, design.width_mm];
        assert!(drawn.iter().any(|one| is_near(*one, size)), "{size:?}: {drawn:?}");
        check_margins("sheets", &pdf);
    }
}

/// A plan with far more, and far longer names, than anybody's.
fn swollen(plan: &PlanDocument) -> PlanDocument {
    let mut plan = plan.clone();
    let long = "Donaudampfschifffahrtsgesellschaft".repeat(4);
    plan.order.title = format!("{long} and friends");
    plan.order.customer = long.repeat(2);
    plan.order.must_have = vec![long.clone(); 12];
    let designs = plan.designs.clone();
    for round in 0..10 {
        plan.designs.extend(designs.iter().cloned().map(|mut design| {
            design.id = format!("{}-{long}-{round}", design.id);
            design
        }));
    }
    let passes = plan.passes.clone();
    plan.passes.extend(passes.iter().cloned().map(|mut pass| {
        pass.id.push_str(&long);
        pass.sections.push(format!("{}/{long}", plan.designs[0].id));
        pass
    }));
    let section = format!("{}/{long}", plan.designs[0].id);
    plan.designs[0].sections.push(section);
    for bowl in &mut plan.bowls {
        bowl.id = long.clone();
        bowl.bags.iter_mut().for_each(|bag| bag.tip = long.clone());
    }
    plan.shopping.iter_mut().for_each(|line| line.name = long.clone());
    plan.dough.parts.iter_mut().for_each(|part| part.ingredient = long.clone());
    plan.heads_ups.iter_mut().for_each(|heads_up| heads_up.message.push_str(&long));
    plan.days.iter_mut().for_each(|day| (day.order, day.this_order) = (long.clone(), false));
    plan.packing.designs.iter_mut().for_each(|packed| packed.cookie_bag = Some(long.clone()));
    plan
}

/// A plan with nothing in it.
fn hollow(plan: &PlanDocument) -> PlanDocument {
    PlanDocument {
        designs: Vec::new(),
        sections: Vec::new(),
        neighbors: Vec::new(),
        overlaps: Vec::new(),
        bowls: Vec::new(),
        trays: Vec::new(),
        loads: Vec::new(),
        sessions: Vec::new(),
        passes: Vec::new(),
        days: Vec::new(),
        shopping: Vec::new(),
        heads_ups: Vec::new(),
        ..plan.clone()
    }
}

#[test]
fn long_names_and_empty_chapters_stay_on_the_paper() {
    let plan = planned_sample();
    let kitchen = start_kitchen();
    let ounces = Kitchen {
        units: craft::kitchen::Units { measures: Measures::Us, ..kitchen.units.clone() },
        ..kitchen.clone()
    };
    let mut nothing = hollow(&plan);
    nothing.order.handovers.clear();
    nothing.cutting.sheets.clear();
    nothing.dough.parts.clear();
    nothing.icing_batch.parts.clear();
    nothing.label.ingredients.clear();
    nothing.packing.designs.clear();
    for (name, plan) in [("swollen", swollen(&plan)), ("nothing", nothing), ("ounces", plan)] {
        for (paper, _) in both_papers() {
            let pdf = packet(&plan, &ounces, paper).expect("a packet");
            check_margins(name, &pdf);
        }
    }
}

#[test]
fn what_is_no_time_and_no_outline_is_passed_over() {
    let mut plan = planned_sample();
    plan.order.handovers[0].at = "next week".to_owned();
    plan.days[0].start = "soon".to_owned();
    plan.designs[0].outline_d = "a lighthouse".to_owned();
    plan.designs[1].outline_d.clear();
    plan.passes[0].bag = Some("no such bag".to_owned());
    plan.bowls[0].color = "blue".to_owned();
    let text = words(&packet(&plan, &start_kitchen(), Paper::A4).expect("a packet"));
    assert!(text.contains("handed over on next week."), "{text}");
}
