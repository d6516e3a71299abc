//! The chapters around the work: days, price, label, packing, papers.

use craft::{
    document::plan::{HeadsUpDocument, PlanDocument},
    kitchen::Kitchen,
};
use maud::{Markup, html};
use quantity::Currency;
use store::OrderId;

use crate::{
    desk::PlanShown,
    show,
    ui::{PlanAddress, Scale, capital, cookie, counted, day_rows, money, notes, ruler, spoken},
};

pub(super) fn days(
    plan: &PlanDocument,
    progress: Option<String>,
    heads_ups: &[&HeadsUpDocument],
) -> Markup {
    html! {
        section.chapter id="days" {
            header { h2 { "Days" } p.when { "until the pickup" } }
            div.wide.matter {
                @match day_rows(plan) {
                    Some(rows) => (rows),
                    None => p.lead data-progress=[progress.as_deref()] {
                        @if progress.is_some() { "The days of all open orders are being placed." }
                        @else { "No days are planned for this order." }
                    }
                }
                @if !heads_ups.is_empty() { div.two { (notes("days", heads_ups)) } }
            }
        }
    }
}

/// What a price is made of, as cookies.
const PARTS: [(&str, &str, &[&str]); 3] = [
    ("in", "what is in them", &["ingredients"]),
    ("around", "bags, oven and overhead", &["packaging", "energy", "overhead"]),
    ("hands", "your hours", &[]),
];

pub(super) fn price(plan: &PlanDocument, kitchen: &Kitchen, margin: &Markup) -> Markup {
    let price = &plan.price;
    let currency = kitchen.units.currency;
    html! {
        section.chapter id="price" {
            header { h2 { "Price" } }
            div.matter {
                div.wage {
                    p { b { (money(price.price_minor, currency)) } "for " (counted(plan.order.count as usize, "cookie", "cookies")) }
                    p.chief { b { (money(price.per_hour_minor, currency)) } "an hour, for you" }
                }
                (cookies_that_pay(plan))
                p {
                    (money(price.cash_cost_minor, currency)) " go out for ingredients, bags, energy and overhead; the rest pays you for "
                    (show::span(quantity::Span::hours(price.hours))) ". A deposit of " (money(price.deposit_minor, currency))
                    " holds the date."
                }
                dl.bill {
                    @for line in &price.lines {
                        div { dt { (line.name) } dd { (money(line.amount_minor, currency)) } }
                    }
                    div.sum { dt { "cost with your hours at your wage" } dd { (money(price.cost_minor, currency)) } }
                }
                (shopping(plan, currency))
            }
            (margin)
        }
    }
}

/// As many cookies as are handed over, each paying for what its share of the price pays for.
fn cookies_that_pay(plan: &PlanDocument) -> Markup {
    let count = u64::from(plan.order.count.clamp(1, 60));
    let price = plan.price.price_minor.max(1).unsigned_abs();
    let share = |parts: &[&str]| -> u64 {
        let minor: i64 = plan
            .price
            .lines
            .iter()
            .filter(|line| parts.contains(&line.part.as_str()))
            .map(|line| line.amount_minor.max(0))
            .sum();
        (minor.unsigned_abs().saturating_mul(count) + price / 2) / price
    };
    let inside = share(PARTS[0].2).min(count);
    let around = share(PARTS[1].2).min(count - inside);
    let hands = count - inside - around;
    let every = if u64::from(plan.order.count) > count { "every " } else { "" };
    let said = format!(
        "Of {every}{count} cookies, {inside} pay for {}, {around} for {}, {hands} pay for {}.",
        PARTS[0].1, PARTS[1].1, PARTS[2].1
    );
    html! {
        div.thirty role="img" aria-label=(said) {
            @for (n, (class, ..)) in [inside, around, hands].into_iter().zip(PARTS) {
                @for _ in 0..n {
                    svg class={ "coin coin-" (class) } viewBox="0 0 20 20" aria-hidden="true" {
                        circle.edge cx="10" cy="10" r="9" {}
                        @if class == "hands" { circle.iced cx="10" cy="10" r="6.6" {} }
                    }
                }
            }
        }
        p.scale { (said) }
    }
}

fn shopping(plan: &PlanDocument, currency: Currency) -> Markup {
    html! {
        details.more {
            summary { "What to buy" }
            section.scroll tabindex="0" aria-label="What to buy" {
                table.list {
                    thead { tr { th scope="col" { "what" } th scope="col" { "used" } th scope="col" { "packs" } th scope="col" { "pay" } } }
                    tbody {
                        @for line in &plan.shopping {
                            tr {
                                th scope="row" { (line.name) }
                                td {
                                    @if let Some(mass_g) = line.mass_g { (format!("{mass_g:.0} g")) }
                                    @if let Some(pieces) = line.pieces { (pieces) }
                                }
                                td { @if line.packs == 0 { "in stock" } @else { (line.packs) } }
                                td { @if line.packs > 0 { (money(line.outlay_minor, currency)) } }
                            }
                        }
                        tr {
                            th scope="row" { "in all" } td {} td {}
                            td { (money(plan.shopping.iter().map(|line| line.outlay_minor).sum(), currency)) }
                        }
                    }
                }
            }
        }
    }
}

pub(super) fn label(plan: &PlanDocument, margin: &Markup) -> Markup {
    let label = &plan.label;
    let ingredients: Vec<&str> = label.ingredients.iter().map(|one| one.text.as_str()).collect();
    html! {
        section.chapter id="label" {
            header { h2 { "Label" } }
            div.matter {
                div.sticker {
                    h3 { "Decorated sugar cookie" }
                    p { b { "Ingredients: " } (ingredients.join(", ")) "." }
                    @if !label.contains_line.is_empty() { p { b { (label.contains_line) } } }
                    @else if !label.allergens.is_empty() { p { b { "Allergens: " (label.allergens.join(", ")) } } }
                    @if !label.color_warning.is_empty() { p { (label.color_warning) } }
                    p.net { span { (plan.order.title) } span {
                        (format!("{:.0}\u{a0}g each", label.net_g))
                        @if plan.designs.len() > 1 { " on average" }
                    } }
                }
                p.scale {
                    @if plan.designs.len() > 1 { "Weigh a cookie of each kind for its own label. " }
                    "A text to start from. Check your local rules; this is not legal advice."
                }
                @if !label.cautions.is_empty() {
                    ul.cautions { @for caution in &label.cautions { li { (caution) } } }
                }
            }
            (margin)
        }
    }
}

pub(super) fn pack(plan: &PlanDocument, at: &PlanAddress<'_>, margin: &Markup) -> Markup {
    html! {
        section.chapter id="pack" {
            header { h2 { "Pack" } }
            div.matter {
                @if plan.packing.designs.is_empty() { p.lead { "Nothing to pack." } }
                div.row.third.bagged {
                    @for packed in &plan.packing.designs {
                        @let place = plan.designs.iter().position(|design| design.id == packed.design);
                        figure {
                            @if let Some(place) = place { (cookie(at, place, "")) }
                            figcaption {
                                b { (packed.count) " × " (spoken(&packed.design)) }
                                span {
                                    @match &packed.cookie_bag {
                                        Some(bag) => { "in " (bag) },
                                        None => "no bag of yours fits",
                                    }
                                }
                                span.soft { (format!("needs {:.0} × {:.0} mm", packed.need_width_mm, packed.need_length_mm)) }
                            }
                        }
                    }
                }
                @if !plan.packing.designs.is_empty() { (ruler(Scale::Third, "")) }
            }
            (margin)
        }
    }
}

pub(super) fn papers(order: &OrderId, shown: &PlanShown, margin: &Markup) -> Markup {
    let newer = if shown.is_kept { "" } else { "newer=true&" };
    let files = [
        (
            "packet.pdf",
            "Kitchen packet",
            "everything to hang up over the bench: sheets, trays, bowls, passes, days, shopping, label",
        ),
        (
            "templates.pdf",
            "True-size templates",
            "to print at 100 % and lay under the cookie; a ruler on each page proves the size",
        ),
        (
            "sheets.pdf",
            "True-size dough sheets",
            "the cuts as they lie, in parts to lay edge to edge under the dough",
        ),
        ("calendar.ics", "Calendar", "your hours of work and the pickup, for the calendar you use"),
        ("shopping.csv", "Shopping list", "for a spreadsheet"),
        ("set.svg", "Picture of the set", "at true size"),
        (
            "order.zip",
            "The order folder",
            "order, kitchen and drawings, to keep or to send in again",
        ),
        ("plan.json", "The whole plan", "for other programs"),
    ];
    html! {
        section.chapter id="papers" {
            header { h2 { "Papers" } }
            div.matter {
                ul.papers {
                    @for (file, name, words) in files {
                        li {
                            a href={ "/orders/" (order) "/" (file) "?" (newer) } { (name) }
                            span.soft { (capital(words)) "." }
                            @if file.ends_with(".pdf") {
                                span.small {
                                    a href={ "/orders/" (order) "/" (file) "?" (newer) "paper=a4" } { (name) " on A4" } " · "
                                    a href={ "/orders/" (order) "/" (file) "?" (newer) "paper=letter" } { "on Letter" }
                                }
                            }
                        }
                    }
                }
            }
            (margin)
        }
    }
}
