//! What was agreed and what happened, and what can be done with the order.

use maud::{Markup, html};
use store::EventKind;

use crate::{
    desk::OrderView,
    pages::events::{EventForm, NOTED, event_words},
    ui::{choice, date, day_and_month, field},
};

pub(super) fn chapter(order: &OrderView, noting: &EventForm) -> Markup {
    let stored = &order.order;
    let id = &stored.id;
    let revision = stored.revision.to_i64();
    let is_agreed = stored.kept_plan.is_some();
    let is_open = stored.removed_on.is_none() && stored.handed_over_on.is_none();
    html! {
        section.chapter id="agreed" {
            header { h2 { "Agreed" } }
            div.matter {
                ul.dated.events {
                    @for event in &stored.events {
                        li {
                            time datetime=(event.on) { (day_and_month(event.on)) }
                            span { (event_words(event, order.kitchen.units.currency)) }
                            form method="post" action={ "/orders/" (id) "/events/" (event.id) "/remove" } {
                                button.quiet type="submit" { "take back" span.unseen { ": " (event_words(event, order.kitchen.units.currency)) } }
                            }
                        }
                    }
                    @if let Some(on) = stored.handed_over_on {
                        li { time datetime=(on) { (day_and_month(on)) } span { "handed over" } }
                    }
                    @if stored.events.iter().all(|event| event.what != EventKind::WordingConfirmed) && has_wording(order) {
                        li { time { "open" } span.open { "wording not confirmed in writing" } }
                    }
                }
                @if is_open {
                    form.note-down method="post" action={ "/orders/" (id) "/events" } {
                        (field("on", "On", "date", &noting.on, "", noting.wrong_at("on")))
                        @let options = NOTED.map(|(kind, words)| (kind.name(), words));
                        (choice("what", "this happened", &options, &noting.what, noting.wrong_at("what")))
                        (field("amount", "amount, if any", "text", &noting.amount, "", noting.wrong_at("amount")))
                        button.act type="submit" { "Note it" }
                    }
                    @if !is_agreed && order.plan.is_some() {
                        form method="post" action={ "/orders/" (id) "/agree" } {
                            input type="hidden" name="revision" value=(revision);
                            p { "Once you and the customer have agreed, keep this plan: what changes later then makes a second one beside it." }
                            button.act.main type="submit" { "Agreed: keep this plan" }
                        }
                    } @else if is_agreed {
                        p { "The plan that was agreed is kept; only its days may still move, for they are shared with other orders." }
                    }
                }
                div.acts {
                    @if stored.removed_on.is_none() { a.act href={ "/orders/" (id) "/change" } { "Change the order" } }
                    @if is_open {
                        (button(&format!("/orders/{id}/hand-over"), revision, false, "Handed over today"))
                        (button(&format!("/orders/{id}/remove"), revision, false, "Remove the order"))
                    } @else if stored.removed_on.is_some() {
                        (button(&format!("/orders/{id}/put-back"), revision, false, "Put it back"))
                    } @else {
                        (button(&format!("/orders/{id}/hand-over"), revision, true, "Not handed over yet"))
                    }
                }
                @if let Some(plan) = order.plan.as_ref().filter(|plan| !plan.document.basis.today.is_empty()) {
                    details.more {
                        summary { "What this plan was made from" }
                        p.small {
                            (plan.document.basis.engine) ", seed " (plan.document.basis.seed) ", "
                            (plan.document.basis.evaluations) " evaluations, planned for "
                            (plan.document.basis.today.parse().map(date).unwrap_or_default())
                            ", inputs " code { (plan.document.basis.inputs_sha256.get(..16).unwrap_or_default()) }
                        }
                    }
                }
            }
        }
    }
}

/// Whether something is piped that the customer must confirm first.
fn has_wording(order: &OrderView) -> bool {
    let is_unconfirmed = |plan: &crate::desk::PlanShown| {
        !plan.document.order.wording_confirmed
            && plan.document.sections.iter().any(|section| section.technique == "lettering")
    };
    order.plan.as_ref().is_some_and(is_unconfirmed)
}

fn button(action: &str, revision: i64, undo: bool, words: &str) -> Markup {
    html! {
        form method="post" action=(action) {
            input type="hidden" name="revision" value=(revision);
            @if undo { input type="hidden" name="undo" value="true"; }
            button.act type="submit" { (words) }
        }
    }
}
