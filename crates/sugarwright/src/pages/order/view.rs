//! The page of an order, from its brief to what was agreed.

use craft::document::{plan::PlanDocument, read_order};
use maud::{Markup, html};
use quantity::Length;

use super::{agreed, cutting::other_ways, make, sell};
use crate::{
    desk::{OrderView, PlanShown, Progress},
    pages::{
        events::{EventForm, dated_sentences},
        progress::progress_words,
    },
    ui::{
        Notes, Page, PlanAddress, Scale, cookie, counted, date, notes, page, ruler, shapes, spoken,
        stops, time,
    },
};

/// The page of an order, with what is about to be noted on it.
pub(in crate::pages) fn view(order: &OrderView, noting: &EventForm) -> Markup {
    let stored = &order.order;
    let is_hopeless = matches!(order.progress, Some(Progress::Failed(_) | Progress::Refused(_)));
    let is_open = stored.removed_on.is_none() && stored.handed_over_on.is_none();
    let is_coming = match &order.plan {
        None => !is_hopeless && is_ahead(order),
        // The chapters come before the days.
        Some(plan) => !plan.has_days && is_ahead(order),
    };
    // Loading itself again would lose what was typed.
    let waits = is_open && is_coming && !noting.is_refused();
    let styles: Vec<String> = order.plan.iter().map(|plan| address(order, plan).sizes()).collect();
    let content = html! {
        (opening(order))
        @match &order.plan {
            Some(plan) => (planned(order, plan, waits)),
            None => (unplanned(order, waits, is_open)),
        }
        (agreed::chapter(order, noting))
    };
    let scripts: &[&str] =
        if waits { &["js/progress.js", "js/true-size.js"] } else { &["js/true-size.js"] };
    let frame = Page { title: &stored.heading.title, here: "", styles: &styles, scripts, waits };
    page(&frame, &content)
}

/// Where the page hears of its plan, and of what is done meanwhile.
fn progress_address(order: &OrderView) -> String {
    format!("/orders/{}/progress?after={}", order.order.id, order.n_done)
}

fn is_ahead(order: &OrderView) -> bool {
    order.order.heading.first_handover.date() >= order.today
}

pub(super) fn address<'a>(order: &'a OrderView, plan: &'a PlanShown) -> PlanAddress<'a> {
    PlanAddress { order: &order.order.id, key: &plan.key }
}

fn opening(order: &OrderView) -> Markup {
    let stored = &order.order;
    let heading = &stored.heading;
    html! {
        div.opening {
            div {
                h1 { (heading.title) }
                p.lead.brief {
                    (counted(usize::try_from(heading.n_cookies).unwrap_or(0), "cookie", "cookies"))
                    " for " (heading.customer)
                    @if heading.invented && !heading.customer.contains("invented") { " (invented)" }
                    ", picked up on " (date(heading.first_handover.date()))
                    " at " (time(heading.first_handover)) ". " (wishes(&stored.brief))
                }
            }
            div {
                (dated_sentences(&stored.events, order.kitchen.units.currency))
                @if let Some(on) = stored.removed_on { p.small.open-state { "Removed on " (date(on)) "." } }
                @if let Some(on) = stored.handed_over_on { p.small { "Handed over on " (date(on)) "." } }
            }
        }
    }
}

/// Must-haves, wording and what to avoid, in sentences.
fn wishes(brief: &str) -> String {
    let Ok(order) = read_order(brief) else { return String::new() };
    let mut words = Vec::new();
    if !order.must_have.is_empty() {
        words.push(format!("Must be there: {}.", order.must_have.join(", ")));
    }
    if !order.avoid.is_empty() {
        words.push(format!("To be avoided: {}.", order.avoid.join(", ")));
    }
    if order.handovers.len() > 1 {
        words.push(format!(
            "There are {} hand-overs; the packet says what goes when.",
            order.handovers.len()
        ));
    }
    words.join(" ")
}

fn unplanned(order: &OrderView, waits: bool, is_open: bool) -> Markup {
    let id = &order.order.id;
    html! {
        div.waiting-plan data-progress=[waits.then(|| progress_address(order))] role="status" {
            @if is_open && !is_ahead(order) {
                p.lead { "Its pickup is past, so nothing is planned for it any more." }
                p.acts { a.act.main href={ "/orders/" (id) "/change" } { "Change the date" } }
            } @else if is_open {
                p.lead data-words=(id) { (progress_words(order.progress.as_ref())) }
                @if matches!(order.progress, Some(Progress::Refused(_))) {
                    p.acts { a.act.main href={ "/orders/" (id) "/change" } { "Change the order" } }
                } @else if waits {
                    p.soft { "It takes a few seconds; this page shows it by itself." }
                    form.acts method="post" action={ "/orders/" (id) "/enough" } {
                        button.act type="submit" { "Take what was found so far" }
                    }
                }
            } @else {
                p.lead { "No plan was kept with this order." }
            }
        }
    }
}

fn planned(order: &OrderView, shown: &PlanShown, waits: bool) -> Markup {
    let plan = &shown.document;
    let at = address(order, shown);
    let mut margin = Notes::of(plan);
    html! {
        @if let Some(words) = standing(order, shown) { (words) }
        (shapes(plan))
        (set_on_tray(plan, &at))
        (stops(plan))
        nav.contents aria-label="Chapters" {
            @for (id, name) in [
                ("cut", "Cut"), ("bake", "Bake"), ("ice", "Ice"), ("decorate", "Decorate"), ("days", "Days"),
                ("price", "Price"), ("label", "Label"), ("pack", "Pack"), ("papers", "Papers"), ("agreed", "Agreed"),
            ] { a href={ "#" (id) } { (name) } }
        }
        @let ways = if shown.is_kept { html! {} } else { other_ways(order, &plan.dough.ways) };
        (make::cut(plan, &at, &order.kitchen, &ways, &notes("cut", &margin.about(&["dough"]))))
        (make::bake(plan, &at, &notes("bake", &margin.about(&["baking"]))))
        (make::ice(plan, &order.kitchen, &notes("ice", &margin.about(&["icing", "bowl"]))))
        (make::decorate(plan, &at, &margin.about(&["section", "pass"])))
        @let progress = waits.then(|| progress_address(order));
        (sell::days(plan, progress, &margin.about(&["days"])))
        (sell::price(plan, &order.kitchen, &notes("price", &margin.about(&["price"]))))
        (sell::label(plan, &notes("label", &margin.about(&["label"]))))
        (sell::pack(plan, &at, &notes("pack", &margin.about(&["packing"]))))
        (sell::papers(&order.order.id, shown, &notes("papers", &margin.rest())))
    }
}

/// Says whether this is the agreed plan, and whether another would be made now.
fn standing(order: &OrderView, shown: &PlanShown) -> Option<Markup> {
    let id = &order.order.id;
    match (shown.is_kept, order.has_newer) {
        (true, false) => None,
        (true, true) => Some(html! {
            p.standing role="status" {
                span {
                    "This is the plan that was agreed, for "
                    (counted(shown.document.order.count as usize, "cookie", "cookies"))
                    ". What was changed since would give another one: "
                    a href={ "/orders/" (id) "?newer=true" } { "look at it" } "."
                }
            }
        }),
        (false, true) => Some(html! {
            form.standing method="post" action={ "/orders/" (id) "/agree" } role="status" {
                input type="hidden" name="revision" value=(order.order.revision.to_i64());
                span {
                    "This plan would be made now; another one was agreed. "
                    a href={ "/orders/" (id) } { "Back to the agreed one" } " "
                }
                button.act type="submit" { "Keep this one from now on" }
            }
        }),
        (false, false) => None,
    }
}

fn set_on_tray(plan: &PlanDocument, at: &PlanAddress<'_>) -> Markup {
    html! {
        div.set.tray {
            div.paper {
                div.lying {
                    @for (place, design) in plan.designs.iter().enumerate() {
                        figure {
                            (cookie(at, place, &spoken(&design.id)))
                            figcaption {
                                b { (design.count) " × " (spoken(&design.id)) }
                                @let (width, height) = (Length::mm(design.width_mm), Length::mm(design.height_mm));
                                span { (format!("{:.0} × {:.0} mm", width.to_mm(), height.to_mm())) }
                            }
                        }
                    }
                }
                div.at-full { (ruler(Scale::True, "")) }
                div.at-half { (ruler(Scale::Half, "")) }
            }
        }
        (crate::ui::screen_measure())
    }
}
