//! The chapters of the work: cut, bake, ice, decorate.

use craft::{
    document::plan::{
        BagDocument, BatchDocument, BowlDocument, DesignDocument, HeadsUpDocument, PartDocument,
        PassDocument, PlanDocument, SessionDocument, TintDocument,
    },
    kitchen::{Kitchen, Measures},
};
use maud::{Markup, html};
use papers::{
    icing::{bowl_steps, doses, keeping},
    picture::{bag_of, bowl_depths, in_order, waits, worked_on},
    words::{length, spooned},
};
use quantity::{Mass, Span, Volume};

use crate::{
    show,
    ui::{
        PlanAddress, Scale, bowl, capital, cookie_in_pass, counted, money, night_bar, notes, ruler,
        sheet, spoken, titled, tray,
    },
};

fn grams(mass_g: f64) -> String {
    format!("{mass_g:.0}\u{a0}g")
}

fn minutes(min: f64) -> String {
    show::span(Span::minutes(min))
}

pub(super) fn cut(
    plan: &PlanDocument,
    at: &PlanAddress<'_>,
    kitchen: &Kitchen,
    ways: &Markup,
    margin: &Markup,
) -> Markup {
    let dough = &plan.dough;
    let n_cut: usize = plan.cutting.sheets.iter().map(|sheet| sheet.placements.len()).sum();
    let n_cut_of = |design: &str| {
        let cuts = plan.cutting.sheets.iter().flat_map(|sheet| &sheet.placements);
        cuts.filter(|cut| cut.design == design).count()
    };
    // What lies in the freezer is not cut, and neither are its extras.
    let n_extra: usize =
        plan.designs.iter().map(|one| n_cut_of(&one.id).min(one.extras as usize)).sum();
    let n_left_out = dough.ways.first().map_or(0, |way| way.extras_left_out);
    let mass = show::mass(Mass::g(dough.mass_g), kitchen.units.measures);
    html! {
        section.chapter id="cut" {
            header { h2 { "Cut" } }
            div.matter {
                p.lead {
                    @if dough.freezer_sheets > 0 {
                        "Pull " (counted(dough.freezer_sheets, "dough sheet", "dough sheets")) " from the freezer. "
                    }
                    @if dough.fresh_sheets > 0 {
                        "Roll " (counted(dough.fresh_sheets, "dough sheet", "dough sheets")) " from " (mass) " of dough, "
                        (length(kitchen.dough.thickness, kitchen.units.measures)) " thick between two guides. "
                    }
                    @match dough.rerolls {
                        0 => {},
                        1 => "Re-roll the scraps once. ",
                        n => { "Re-roll the scraps into " (n) " sheets. " }
                    }
                    @for one in plan.designs.iter().filter(|one| is_baked(plan, one)) {
                        (one.count + one.extras) " × " (spoken(&one.id)) " are baked already and come from the freezer. "
                    }
                    @if n_cut == 0 { "Nothing to cut." }
                    @else { (counted(n_cut, "cookie", "cookies")) @if n_extra > 0 { ", " (n_extra) " of them extras" } "." }
                    @if n_left_out > 0 {
                        " " (counted(n_left_out, "extra", "extras")) " left out, which would cost dough or a rolling."
                    }
                }
                @if !plan.cutting.sheets.is_empty() {
                    div.row.sixth {
                        @for place in 0..plan.cutting.sheets.len() { (sheet(at, plan, place)) }
                    }
                    (ruler(Scale::Sixth, "Numbers are the order of cutting."))
                    @for note in &plan.cutting.notes { p.small { (note) } }
                }
                @if !dough.parts.is_empty() {
                    details.more {
                        summary { "The dough by weight" @if dough.batches > 1 { ", over " (dough.batches) " batches" } }
                        (parts(&dough.parts, dough.batches, kitchen.units.measures))
                        (steps(&dough.steps))
                    }
                }
                (ways)
                details.more {
                    summary { "How good is this?" }
                    p.small {
                        "Without re-rolling, no cutting plan does with fewer than "
                        (counted(plan.cutting.area_bound_sheets, "fresh sheet", "fresh sheets")) "."
                        @if let Some(least) = plan.cutting.least_dough_g {
                            " However often the scraps are rolled, up to "
                            (counted(kitchen.dough.rerolls_max, "time", "times"))
                            ", none makes do with less than " (show::mass(Mass::g(least), kitchen.units.measures))
                            " of dough; this one takes " (mass) "."
                        }
                    }
                }
            }
            (margin)
        }
    }
}

/// Whether the cookies of a design were baked and frozen before.
fn is_baked(plan: &PlanDocument, design: &DesignDocument) -> bool {
    let about = |one: &HeadsUpDocument| one.subject.kind == "item" && one.subject.id == design.id;
    plan.heads_ups.iter().any(|one| about(one) && one.message.contains("baked and frozen"))
}

/// The parts of a recipe in the order they go in: what one batch takes, spooned and in all.
fn parts(parts: &[PartDocument], batches: u32, measures: Measures) -> Markup {
    let one_batch = |part: &PartDocument| part.mass_g / f64::from(batches.max(1));
    html! {
        dl.bill.parts {
            @for part in parts {
                @let volume = part.batch_ml.map(|ml| spooned(Volume::ml(ml), measures)).unwrap_or_default();
                div {
                    dt {
                        (part.ingredient)
                        @if !volume.is_empty() { span.soft { ", " (volume) } }
                    }
                    dd {
                        (grams(one_batch(part)))
                        @if batches > 1 { span.soft { " of " (grams(part.mass_g)) } }
                    }
                }
            }
        }
    }
}

/// What is done, in order.
fn steps(all: &[String]) -> Markup {
    html! { @if !all.is_empty() { ol.steps { @for step in all { li { (step) } } } } }
}

pub(super) fn bake(plan: &PlanDocument, at: &PlanAddress<'_>, margin: &Markup) -> Markup {
    let total: f64 = plan.loads.iter().map(|load| load.bake_min).sum();
    html! {
        section.chapter id="bake" {
            header { h2 { "Bake" } }
            div.matter {
                p.lead {
                    @if plan.trays.is_empty() { "Nothing to bake." }
                    @else {
                        (capital(&counted(plan.trays.len(), "tray", "trays"))) " in "
                        (counted(plan.loads.len(), "oven load", "oven loads")) ", " (minutes(total)) " in the oven."
                    }
                }
                @if !plan.trays.is_empty() {
                    div.row.eighth {
                        @for (number, load) in (1..).zip(&plan.loads) {
                            @for place in &load.trays {
                                @let name = format!("Load {number}, {}", minutes(load.bake_min));
                                (tray(at, plan, *place, &name))
                            }
                        }
                    }
                    (ruler(Scale::Eighth, ""))
                }
            }
            (margin)
        }
    }
}

pub(super) fn ice(plan: &PlanDocument, kitchen: &Kitchen, margin: &Markup) -> Markup {
    let batch = &plan.icing_batch;
    let measures = kitchen.units.measures;
    let depths = bowl_depths(&plan.bowls);
    html! {
        section.chapter id="ice" {
            header { h2 { "Ice" } }
            div.matter {
                p.lead {
                    "Make " (grams(batch.total_g)) " of stiff icing in " (counted(batch.batches as usize, "batch", "batches"))
                    " and weigh it out into " (counted(plan.bowls.len(), "bowl", "bowls")) "."
                }
                @if batch.total_g > 0.0 { (making(batch, measures)) }
                div.bowls {
                    @for (one, depth) in plan.bowls.iter().zip(depths) {
                        figure {
                            (bowl(one, depth))
                            figcaption {
                                b { (spoken(&one.id)) }
                                (steps(&bowl_steps(one, measures)))
                                ul.thin-it {
                                    @for bag in &one.bags {
                                        @if let Some(count) = bag.count_s {
                                            li { a href=(thin_address(one, bag, count)) { "Thin it to " (format!("{count:.0}")) " s" } }
                                        }
                                    }
                                }
                                @if let Some(tint) = &one.tint { (shades(&one.color, tint, kitchen)) }
                                span { "on the cookies " (grams(one.on_cookies_g)) ", reserve and what stays behind " (grams(one.left_g)) }
                                span { "less water " (grams(one.water_g)) ": weigh out " (grams(one.weigh_out_g)) }
                            }
                        }
                    }
                }
                @if plan.bowls.iter().any(|one| one.range.is_some_and(|range| range.low_g < range.high_g)) {
                    p.scale { "Bowls that are about so much are those of cookies without a drawing: from one level of detail plainer to one richer, their colors changed about. A drawing makes them exact." }
                }
                @if plan.bowls.iter().any(|one| one.tint.is_some()) {
                    p.scale { "How strong your gels are is a guess: begin with two thirds, look again after ten minutes. A mix is one part of gel with fifty of icing. " a href="/gels" { "Try your gels" } " and the guess becomes yours." }
                }
                p.scale { "All bowls are drawn alike; the icing stands as high in each, against the others, as it will in yours." }
            }
            (margin)
        }
    }
}

/// The color wanted, the one expected and that of tomorrow, and other ways to it.
fn shades(wanted: &str, tint: &TintDocument, kitchen: &Kitchen) -> Markup {
    let drop = |color: &str, words: &str| {
        html! {
            span { svg viewBox="0 0 20 20" aria-hidden="true" { circle cx="10" cy="10" r="9" fill=(color) {} } (words) }
        }
    };
    let currency = kitchen.units.currency;
    html! {
        p.shades {
            (drop(wanted, "wanted"))
            (drop(&tint.expected, "as mixed"))
            @if !tint.tomorrow.is_empty() { (drop(&tint.tomorrow, "tomorrow")) }
        }
        @if !tint.others.is_empty() {
            details.more {
                summary { "Other ways" }
                ul {
                    @for other in &tint.others {
                        li {
                            @if let Some(start) = &other.start {
                                (format!("{:.0}", start.mass_g)) " g of the leftover " (drop(&start.color, "")) ", then "
                            }
                            (doses(&other.doses)) " (" (drop(&other.expected, "")) ", "
                            @if other.difference < tint.difference + 0.5 { "as near" } @else { "a little farther off" }
                            @if other.cost_minor != tint.cost_minor { ", " (money(other.cost_minor, currency)) " instead of " (money(tint.cost_minor, currency)) }
                            ")"
                            @for caution in other.cautions.iter().filter(|one| !tint.cautions.contains(one)) { ". " (caution) }
                        }
                    }
                }
            }
        }
    }
}

/// Where the icing of a bag is thinned to its count.
fn thin_address(bowl: &BowlDocument, bag: &BagDocument, count_s: f64) -> String {
    let stiff_g = bag.fill_g * f64::from(bag.n) - bag.water_g;
    let gel_g = bowl.tint.as_ref().map_or(0.0, |tint| tint.gel_mg / 1000.0);
    let gel_g = if bowl.weigh_out_g > 0.0 { gel_g * stiff_g / bowl.weigh_out_g } else { 0.0 };
    format!("/thin?bowl={}&target={count_s}&stiff={stiff_g:.0}&gel={gel_g:.1}", bowl.id)
}

/// How the icing is made: what goes in, what is done, how long it keeps.
fn making(batch: &BatchDocument, measures: Measures) -> Markup {
    html! {
        div.making {
            div {
                (parts(&batch.parts, batch.batches, measures))
                @if batch.batches > 1 {
                    p.scale { "The " (batch.batches) " batches are alike; behind each figure stands what all of them take." }
                }
            }
            (steps(&batch.steps))
        }
        @let keeping = keeping(batch);
        @if !keeping.is_empty() { p.small { (keeping) } }
    }
}

pub(super) fn decorate(
    plan: &PlanDocument,
    at: &PlanAddress<'_>,
    heads_ups: &[&HeadsUpDocument],
) -> Markup {
    let active: f64 = plan.sessions.iter().map(|session| session.active_min).sum();
    let idle: f64 = plan.sessions.iter().map(|session| session.idle_min).sum();
    let n_bags: u32 = plan.bowls.iter().flat_map(|bowl| &bowl.bags).map(|bag| bag.n).sum();
    html! {
        section.chapter id="decorate" {
            header { h2 { "Decorate" } }
            div.wide.matter {
                @if plan.passes.is_empty() { p.lead { "Nothing to pipe." } }
                @else {
                    p.lead {
                        (capital(&counted(plan.passes.len(), "pass", "passes"))) " in "
                        (counted(plan.sessions.len(), "session", "sessions")) ", " (minutes(active)) " at the bench"
                        @if idle >= 1.0 {
                            " with " (minutes(idle))
                            @if several_decorate(plan) { " of idle hands, all decorators together" } @else { " of waiting" }
                        }
                        "; " (counted(n_bags as usize, "bag", "bags")) " to fill."
                    }
                    @if !plan.designs.is_empty() { (key(plan, at)) }
                    @for (place, session) in plan.sessions.iter().enumerate() {
                        @if let Some(before) = place.checked_sub(1).map(|before| &plan.sessions[before]) {
                            (night_bar(if before.stage == session.stage && session.stage > 0 {
                                "The next stretch of your hours: the same layer goes on."
                            } else {
                                "A drying night: what was iced becomes dry."
                            }))
                        }
                        h3.session {
                            "Session " (session.session) ": " (minutes(session.active_min))
                            @let beside = beside_piping(plan, session);
                            @if beside >= 1.0 { span.small.soft { ", " (minutes(beside)) " of it tinting and changing bags" } }
                        }
                        ol.passes start=(first_of(plan, session.session) + 1) {
                            @for (number, pass) in plan.passes.iter().enumerate().filter(|(_, pass)| pass.session == session.session) {
                                (pass_column(plan, at, number, pass))
                            }
                        }
                    }
                    p.small { a href={ "/orders/" (at.order) "/what-if" } { "What if somebody helps, a fan blows, a color is left out?" } }
                    details.more {
                        summary { "How good is this order?" }
                        @for session in &plan.sessions {
                            p.small {
                                "Session " (session.session) ": "
                                @if session.bound_min > 0.0 {
                                    "no order of these passes is shorter than " (minutes(session.bound_min)) "; this one takes "
                                } @else { "one of several of its layer; it takes " }
                                (minutes(session.active_min)) ", with "
                                (counted(session.bag_changes, "change of bag", "changes of bag")) "."
                            }
                        }
                    }
                }
                @if !heads_ups.is_empty() { div.two { (notes("decorate", heads_ups)) } }
            }
        }
    }
}

fn several_decorate(plan: &PlanDocument) -> bool {
    plan.passes.iter().any(|pass| pass.maker > 1)
}

/// Minutes of a session in which nothing is piped: tinting, filling and changing bags.
fn beside_piping(plan: &PlanDocument, session: &SessionDocument) -> f64 {
    let passes = plan.passes.iter().filter(|pass| pass.session == session.session);
    session.active_min - passes.map(|pass| pass.end_min - pass.start_min).sum::<f64>()
}

fn first_of(plan: &PlanDocument, session: usize) -> usize {
    plan.passes.iter().position(|pass| pass.session == session).unwrap_or(0)
}

/// What the states of a cookie look like, on the first design.
fn key(plan: &PlanDocument, at: &PlanAddress<'_>) -> Markup {
    let is_worked_on = |pass: &PassDocument| {
        let design = plan.designs.first();
        design.is_some_and(|one| pass.sections.iter().any(|id| one.sections.contains(id)))
    };
    let now = plan.passes.iter().position(is_worked_on);
    let later = plan.passes.iter().enumerate().skip(now.unwrap_or(0));
    let not_now = later.filter(|(_, pass)| !is_worked_on(pass)).map(|(place, _)| place).next();
    html! {
        p.key {
            span { (cookie_in_pass(at, plan.passes.len(), 0, "", true)) "iced" }
            @if let Some(pass) = now {
                span { (cookie_in_pass(at, pass, 0, "", true)) "piping now, with a drawn edge; what is not iced yet is a ghost" }
            }
            @if let Some(pass) = not_now {
                span { (cookie_in_pass(at, pass, 0, "", false)) "pale when this pass leaves it alone" }
            }
        }
    }
}

fn pass_column(
    plan: &PlanDocument,
    at: &PlanAddress<'_>,
    place: usize,
    pass: &PassDocument,
) -> Markup {
    let found = bag_of(plan, pass);
    let bowl_place =
        found.and_then(|(bowl, _)| plan.bowls.iter().position(|one| one.id == bowl.id));
    let class = bowl_place.map(|place| at.class('b', place)).unwrap_or_default();
    html! {
        li class={ "pass " (class) } {
            header {
                @match found {
                    Some((bowl, bag)) => {
                        b { (place + 1) ". " (titled(&bowl.id)) }
                        @match bag.count_s {
                            Some(count) => (format!("{count:.0} s")),
                            None => "stiff",
                        }
                        ", tip " (bag.tip) br;
                    }
                    None => b { (place + 1) ". " (capital(technique(plan, pass))) }
                }
                (worked_on(plan, pass)) ", " (minutes(pass.end_min - pass.start_min))
                @if several_decorate(plan) { ", decorator " (pass.maker) }
            }
            div.strip {
                @for (design, one) in plan.designs.iter().enumerate() {
                    @let is_touched = pass.sections.iter().any(|section| one.sections.contains(section));
                    @let name = if is_touched { spoken(&one.id) } else { String::new() };
                    (cookie_in_pass(at, place, design, &name, is_touched))
                }
            }
            footer {
                (waits(&plan.passes, pass))
                @if let Some(order) = in_order(plan, pass) { br; "In order: " (order) "." }
            }
        }
    }
}

fn technique<'a>(plan: &'a PlanDocument, pass: &PassDocument) -> &'a str {
    let first = pass.sections.first();
    let section = plan.sections.iter().find(|section| Some(&section.id) == first);
    section.map_or("", |section| &section.technique)
}
