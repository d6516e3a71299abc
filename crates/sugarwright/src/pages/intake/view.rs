//! The page on which an order is written down or changed.

use craft::{document::OrderDocument, order::Detail};
use jiff::civil::Date;
use maud::{Markup, html};
use store::{OrderId, Revision, StoredOrder};

use super::form::{ItemRow, ORDER, OrderForm, Wrong};
use crate::ui::{self, Page, choice, field, file_field, page};

pub(super) struct IntakePage {
    pub(super) form: OrderForm,
    pub(super) wrong: Wrong,
    pub(super) purpose: Purpose,
    pub(super) today: Date,
}

/// What the form is for.
pub(super) enum Purpose {
    New,
    Change {
        order: OrderId,
        title: String,
        revision: Revision,
        /// The whole order as text.
        text: String,
        has_several_handovers: bool,
        is_agreed: bool,
    },
}

impl Purpose {
    pub(super) fn change(
        order: &StoredOrder,
        revision: Revision,
        text: String,
        document: &OrderDocument,
    ) -> Self {
        Self::Change {
            order: order.id.clone(),
            title: order.heading.title.clone(),
            revision,
            text,
            has_several_handovers: !document.handover.is_empty(),
            is_agreed: order.kept_plan.is_some(),
        }
    }
}

pub(super) fn view(intake: &IntakePage) -> Markup {
    let (title, here, action) = match &intake.purpose {
        Purpose::New => ("Write down an order", "/orders/new", "/orders/new".to_owned()),
        Purpose::Change { order, .. } => {
            ("Change the order", "", format!("/orders/{order}/change"))
        }
    };
    let form = &intake.form;
    let wrong = &intake.wrong;
    let content = html! {
        div.plain-page.intake {
            h1 { (title) @if let Purpose::Change { title, .. } = &intake.purpose { ": " (title) } }
            @if wrong.is_any() {
                p.wrong-all role="alert" tabindex="-1" autofocus {
                    @match wrong.at(ORDER) {
                        Some(words) => (words),
                        None => "Something is still missing or cannot be read. Nothing that was typed is lost.",
                    }
                }
                @if wrong.fields().next().is_some() { ul.places {
                    @for (at, words) in wrong.fields() { li { a href={ "#" (at) } { (words) } } }
                } }
            }
            @if let Purpose::Change { is_agreed: true, .. } = &intake.purpose {
                p { "This order was agreed: its plan is kept, and what you change here makes a second one beside it." }
            }
            form method="post" action=(action) enctype="multipart/form-data" {
                @if let Purpose::Change { revision, .. } = &intake.purpose {
                    input type="hidden" name="revision" value=(revision.to_i64());
                }
                (brief(form, wrong, &intake.purpose, intake.today))
                @for (place, row) in form.rows.iter().enumerate() { (item(place, row, wrong)) }
                p.acts {
                    button.act type="submit" name="more" value="true" formnovalidate { "More kinds of cookies" }
                }
                p.acts { button.act.main type="submit" { (match intake.purpose {
                    Purpose::New => "Write it down and plan it",
                    Purpose::Change { .. } => "Save and plan it anew",
                }) } }
            }
            @match &intake.purpose {
                Purpose::New => (from_folder(wrong)),
                Purpose::Change { order, revision, text, .. } => (as_text(order, *revision, text, wrong)),
            }
        }
    };
    let frame = Page { title, here, styles: &[], scripts: &["js/items.js"], waits: false };
    page(&frame, &content)
}

fn brief(form: &OrderForm, wrong: &Wrong, purpose: &Purpose, today: Date) -> Markup {
    let several = matches!(purpose, Purpose::Change { has_several_handovers: true, .. });
    html! {
        fieldset.fields {
            legend { "Who, what for, and when" }
            (field("title", "What the cookies are for", "text", &form.title, "", wrong.at("title")))
            (field("customer", "For whom", "text", &form.customer, "", wrong.at("customer")))
            @if several {
                p.hint { "This order has several hand-overs; change them in its text below." }
            } @else {
                (field("date", "Picked up on", "date", &form.date, &format!("Today is {}.", ui::date(today)), wrong.at("date")))
                (field("time", "At what time", "time", &form.time, "", wrong.at("time")))
            }
            (field("must_have", "Must be on them", "text", &form.must_have, "With commas between: the lighthouse, the word BEACON.", None))
            (field("avoid", "To be kept out", "text", &form.avoid, "Allergens, with commas between: nuts, sesame.", None))
            div.field.check {
                input id="wording_confirmed" name="wording_confirmed" type="checkbox" value="true" checked[form.wording_confirmed];
                label for="wording_confirmed" { "The wording is confirmed in writing" }
            }
        }
    }
}

/// What a drawing may be, for the browser's choice of files.
const DRAWING_FILES: &str =
    ".svg,.png,.jpg,.jpeg,.webp,image/svg+xml,image/png,image/jpeg,image/webp";

fn item(place: usize, row: &ItemRow, wrong: &Wrong) -> Markup {
    let at = |field: &str| format!("{field}-{place}");
    let mut details = vec![("", "choose")];
    details.extend(Detail::NAMES.map(|(_, name)| (name, name)));
    let is_open = row.held.is_none()
        && (!row.cutter.is_empty()
            || ["cutter", "detail", "colors"].iter().any(|field| wrong.at(&at(field)).is_some()));
    html! {
        fieldset.fields.item data-item=(place) {
            legend { "Cookie " (place + 1) }
            @if let Some(was) = row.was { input type="hidden" name=(at("was")) value=(was); }
            (field(&at("count"), "How many", "number", &row.count, "", wrong.at(&at("count"))))
            (field(&at("name"), "Name", "text", &row.name, "Left empty, it is the name of the drawing.", wrong.at(&at("name"))))
            @if let Some((name, id)) = &row.held {
                div.field.held {
                    span.label { "Drawing" }
                    p { b { (name) } " is here" @if row.was.is_none() { "; choose another file only to replace it" } "." }
                    input type="hidden" name=(at("held")) value=(id);
                    input type="hidden" name=(at("held-name")) value=(name);
                }
            }
            (file_field(&at("file"), if row.held.is_some() { "Another drawing instead" } else { "Drawings" },
                DRAWING_FILES, true, "SVG, or a picture as PNG, JPEG or WebP. Several files become several kinds.", wrong.at(&at("file"))))
            (field(&at("width"), "Width of the cookie", "text", &row.width, "As 76 (mm) or 3 in; needed if the drawing has no size in mm or in.", wrong.at(&at("width"))))
            details.undrawn open[is_open] {
                summary { "No drawing yet" }
                div.fields {
                    (field(&at("cutter"), "Cut with", "text", &row.cutter, "round 82 mm, oval 90 x 60 mm, heart 3.25 in, square 70 mm, star 3 in, hexagon 80 mm", wrong.at(&at("cutter"))))
                    (choice(&at("detail"), "As detailed as", &details, &row.detail, wrong.at(&at("detail"))))
                    (field(&at("colors"), "Colors, the base first", "text", &row.colors, "#2f4666, #ffffff", wrong.at(&at("colors"))))
                }
            }
        }
    }
}

fn from_folder(wrong: &Wrong) -> Markup {
    html! {
        section.other-way {
            h2 { "Or from an order folder" }
            p { "A zip with order.toml and a folder of designs, as an order's own page gives it out. Your kitchen holds; one in the zip is left aside." }
            form method="post" action="/orders/new/folder" enctype="multipart/form-data" {
                (file_field("folder", "The zip", ".zip,application/zip", false, "", wrong.at("folder")))
                p.acts { button.act type="submit" { "Take it in" } }
            }
        }
    }
}

fn as_text(order: &OrderId, revision: Revision, text: &str, wrong: &Wrong) -> Markup {
    let error = wrong.at("order");
    html! {
        section.other-way {
            h2 { "Or the whole order as text" }
            p { "Everything an order can say: extras, frozen cookies, several hand-overs, allergens of one kind, cutters that keep to a pattern or to fresh dough." }
            details.more open[error.is_some()] {
                summary { "Change the text" }
                p.hint { "What was changed in the form above is not in it." }
                form method="post" action={ "/orders/" (order) "/change/text" } enctype="multipart/form-data" {
                    input type="hidden" name="revision" value=(revision.to_i64());
                    div.field.text {
                        label for="order" { "order.toml" }
                        textarea id="order" name="order" rows="18" spellcheck="false" aria-invalid=[error.map(|_| "true")]
                            aria-describedby=[error.map(|_| "order-wrong")] { (text) }
                        @if let Some(error) = error { p.wrong id="order-wrong" { (error) } }
                    }
                    p.acts { button.act type="submit" { "Save the text" } }
                }
            }
        }
    }
}
