use craft::document::{RangeDocument, dry::DepthEntry, kitchen::KnownRate};
use maud::{Markup, html};
use quantity::Span;

use super::MeasuredPage;
use crate::{
    show,
    ui::{Page, choice, counted, field, notes, page},
};

pub(super) fn view(measured: &MeasuredPage) -> Markup {
    let content = html! {
        div.plain-page.measured {
            h1 { "Measured here" }
            p.lead { "Every plan begins with start values of common practice. What you weigh and time takes their place, the more of it the surer." }
            @if let Some(n_kept) = measured.n_kept.filter(|n| *n > 0) {
                p.undo role="status" { (counted(n_kept, "reading is", "readings are")) " kept; plans follow." a href="#water_test" { "Look at them" } a href="/thin" { "Thin another bowl" } }
            }
            (air(measured))
            section { h2 { "Numbers" } @for rate in &measured.rates { (number(measured, rate)) } }
            (drying(measured))
            (water(measured))
            section { h2 { "Colors" } p { "What each gel gives, and the samples that tell, stand on the " a href="/gels" { "page of the gels" } "." } }
        }
    };
    let frame =
        Page { title: "Measured here", here: "/measured", styles: &[], scripts: &[], waits: false };
    page(&frame, &content)
}

/// What stands in a field: what was typed when its form was refused, else a start.
fn value<'a>(measured: &'a MeasuredPage, form: &str, key: &str, start: &'a str) -> &'a str {
    let refused = &measured.refused;
    let typed = refused.typed.get(key).filter(|_| refused.form == form);
    typed.map_or(start, String::as_str)
}

fn wrong<'a>(measured: &'a MeasuredPage, form: &str, key: &str) -> Option<&'a str> {
    let (at, words) = &measured.refused.wrong;
    (measured.refused.form == form && at == key).then_some(words.as_str())
}

fn revision(measured: &MeasuredPage) -> Markup {
    html! { input type="hidden" name="revision" value=(measured.revision.to_i64()); }
}

/// The air of the room, and what it makes of the times.
fn air(measured: &MeasuredPage) -> Markup {
    let drying = &measured.document.drying;
    let (celsius, humidity) =
        (drying.room_celsius.to_string(), drying.room_humidity_percent.to_string());
    let known = |key, start| value(measured, "air", key, start);
    let heads_ups: Vec<_> = measured.drying.heads_ups.iter().collect();
    html! {
        section #air {
            h2 { "The air of the room" }
            @for depth in &measured.drying.depth { (times(depth)) }
            (notes("the air", &heads_ups))
            form method="post" action="/measured/air" {
                (revision(measured))
                div.fields {
                    (field("room_celsius", "Temperature (°C)", "text", known("room_celsius", &celsius), "", wrong(measured, "air", "room_celsius")))
                    (field("room_humidity_percent", "Relative humidity (%)", "text", known("room_humidity_percent", &humidity), "From a hygrometer beside the cookies.", wrong(measured, "air", "room_humidity_percent")))
                    div.field.check {
                        input id="fan" name="fan" type="checkbox" value="true" checked[drying.fan];
                        label for="fan" { "A fan blows on the cookies" }
                    }
                }
                p.acts { button.act type="submit" { "Plan with this air" } }
            }
        }
    }
}

fn times(depth: &DepthEntry) -> Markup {
    let minutes = |range: &RangeDocument| show::span(Span::minutes(range.likely));
    let name = match depth.name.as_str() {
        "base" => "A base",
        _ => "A second layer",
    };
    html! {
        @match (&depth.skin_min, &depth.set_min, &depth.dry_min) {
            (Some(skin), Some(set), Some(dry)) => p {
                (name) ", " (format!("{:.1}", depth.depth_mm)) " mm deep, has a skin in " (minutes(skin)) ", is set in " (minutes(set)) " and dry in " (minutes(dry)) "."
            },
            _ => p { (name) " does not dry in it." },
        }
    }
}

fn shown(value: f64) -> String {
    // As many digits as a kitchen can measure.
    match value.abs() {
        large if large >= 100.0 => format!("{value:.0}"),
        middle if middle >= 10.0 => format!("{value:.1}"),
        _ => format!("{value:.2}"),
    }
}

fn number(measured: &MeasuredPage, rate: &KnownRate) -> Markup {
    let is_plain = rate.key.contains('.');
    let is_refused = measured.refused.form == rate.key;
    let unit = rate.unit;
    let today = measured.today.to_string();
    html! {
        article.rate id=[is_plain.then_some(rate.key)] {
            h3 { (crate::ui::capital(&rate.words)) }
            p {
                b.figures { (shown(rate.now.likely)) " " (unit) }
                " now, between " (shown(rate.now.low)) " and " (shown(rate.now.high)) " " (unit) "; "
                @if rate.n_records == 0 { "not measured yet." }
                @else { (shown(rate.start)) " " (unit) " at the start; " (counted(rate.n_records, "record", "records")) "." }
            }
            p.small.soft { "Moves " (rate.moves) "." }
            @if !is_plain {
                p.small {
                    (rate.how) " "
                    @if rate.key == "water_test" { a href="/thin" { "Thin a bowl" } } @else { a href="#drying_seen" { "Add what you saw" } }
                }
            }
            @if is_plain {
                details.more open[is_refused] {
                    summary { "Measure it" }
                    p.small { (rate.how) }
                    form.note-down method="post" action="/measured/number" {
                        (revision(measured))
                        input type="hidden" name="rate" value=(rate.key);
                        (labeled(&format!("value-{}", rate.key), "value", &format!("Measured ({unit})"), value(measured, rate.key, "value", ""), wrong(measured, rate.key, "value")))
                        (labeled(&format!("on-{}", rate.key), "on", "On", value(measured, rate.key, "on", &today), wrong(measured, rate.key, "on")))
                        button.act type="submit" { "Add this record" }
                    }
                    (records(measured, rate))
                }
            }
        }
    }
}

/// A field whose name occurs in several forms.
fn labeled(id: &str, name: &str, label: &str, value: &str, error: Option<&str>) -> Markup {
    html! {
        div.field {
            label for=(id) { (label) }
            input id=(id) name=(name) type="text" value=(value) aria-invalid=[error.map(|_| "true")];
            @if let Some(error) = error { p.wrong { (error) } }
        }
    }
}

fn records(measured: &MeasuredPage, rate: &KnownRate) -> Markup {
    let own = measured.document.measured.iter().enumerate();
    let own: Vec<_> = own.filter(|(_, one)| one.rate == rate.key).collect();
    html! {
        @if !own.is_empty() {
            ul.dated.records {
                @for (place, one) in own {
                    li {
                        time { (one.on) }
                        span { (shown(one.value)) " " (rate.unit) @if one.set_aside { ", set aside" } }
                        (aside_button(measured, "measured", place, one.set_aside))
                    }
                }
            }
        }
    }
}

fn aside_button(measured: &MeasuredPage, list: &str, place: usize, is_aside: bool) -> Markup {
    html! {
        form method="post" action="/measured/set-aside" {
            (revision(measured))
            input type="hidden" name="list" value=(list);
            input type="hidden" name="place" value=(place);
            button.quiet type="submit" { @if is_aside { "Count it again" } @else { "Set it aside" } }
        }
    }
}

const ANSWERS: [(&str, &str); 3] = [
    ("count", "it had just become so"),
    ("yes", "it was so when I looked"),
    ("no", "it was not so yet"),
];

fn answered(answer: Option<&str>) -> &'static str {
    let answer = answer.unwrap_or("count");
    ANSWERS.iter().find(|(known, _)| *known == answer).map_or("", |(_, words)| words)
}

/// What was seen while icing dried.
fn drying(measured: &MeasuredPage) -> Markup {
    let form = "drying_seen";
    let document = &measured.document;
    let (celsius, humidity) = (
        document.drying.room_celsius.to_string(),
        document.drying.room_humidity_percent.to_string(),
    );
    let today = measured.today.to_string();
    let known = |key, start| value(measured, form, key, start);
    let bad = |key| wrong(measured, form, key);
    let states = [("skin", "has a skin"), ("set", "is set"), ("dry", "is dry")];
    html! {
        section id=(form) {
            h2 { "How it dried" }
            details.more open[measured.refused.form == form] {
                summary { "Add what you saw" }
                form method="post" action="/measured/drying" {
                    (revision(measured))
                    div.fields {
                        (choice("state", "A base", &states, known("state", "skin"), bad("state")))
                        (field("after_min", "Minutes after piping", "text", known("after_min", ""), "", bad("after_min")))
                        (choice("answer", "What that says", &ANSWERS, known("answer", "count"), bad("answer")))
                        (field("celsius", "Temperature (°C)", "text", known("celsius", &celsius), "", bad("celsius")))
                        (field("humidity_percent", "Relative humidity (%)", "text", known("humidity_percent", &humidity), "", bad("humidity_percent")))
                        (field("on", "On", "text", known("on", &today), "", bad("on")))
                        div.field.check {
                            input id="seen-fan" name="fan" type="checkbox" value="true" checked[document.drying.fan];
                            label for="seen-fan" { "A fan blew on it" }
                        }
                    }
                    p.acts { button.act type="submit" { "Add this record" } }
                }
            }
            @if document.drying_seen.is_empty() { p.soft { "Nothing was noted yet." } }
            ul.dated.records {
                @for (place, one) in document.drying_seen.iter().enumerate() {
                    li {
                        time { (one.on) }
                        span {
                            (states.iter().find(|(state, _)| *state == one.state).map_or("", |(_, words)| words))
                            " after " (one.after_min) " min (" (answered(one.answer.as_deref())) "), "
                            (one.celsius) " °C, " (one.humidity_percent) " %" @if one.fan { ", with a fan" }
                            @if one.set_aside { ", set aside" }
                        }
                        (aside_button(measured, form, place, one.set_aside))
                    }
                }
            }
        }
    }
}

/// Tests of bowls.
fn water(measured: &MeasuredPage) -> Markup {
    let tests = &measured.document.water_test;
    html! {
        section #water_test {
            h2 { "Counts of bowls" }
            @if tests.is_empty() { p.soft { "None is kept yet. " a href="/thin" { "Thin a bowl" } " and keep its readings." } }
            ul.dated.records {
                @for (place, one) in tests.iter().enumerate().rev() {
                    li {
                        time { (one.on) }
                        span {
                            (one.bowl) ", " (shown(one.water_g_per_100_g)) " g of water in 100 g: "
                            @match one.answer.as_deref() {
                                Some("yes") => { "smooth by " (one.smooth_s) " s" },
                                Some(_) => { "not yet smooth at " (one.smooth_s) " s" },
                                None => { (one.smooth_s) " s" },
                            }
                            @if one.method.as_ref().is_some_and(|method| *method != measured.kitchen.counts.method) { ", tested another way" }
                            @if one.set_aside { ", set aside" }
                        }
                        (aside_button(measured, "water_test", place, one.set_aside))
                    }
                }
            }
        }
    }
}
