use craft::document::settle::{ReadingEntry, SettleAnswer};
use maud::{Markup, html};

use super::ThinPage;
use crate::ui::{Page, notes, page};

pub(super) fn view(thin: &ThinPage) -> Markup {
    let content = html! {
        div.plain-page.thin {
            h1 { "Thin a bowl" }
            @match &thin.answer {
                Some(answer) if !thin.asked.readings.is_empty() => (next(thin, answer)),
                _ => p.lead { "Take a spoonful up, let its ribbon fall back, and count until it has vanished. One reading is enough for the first dose." },
            }
            (next_reading(thin))
            (bowl(thin))
            @if let Some(answer) = &thin.answer {
                @if thin.asked.readings.is_empty() { (unread(answer)) }
                (details(answer))
            }
        }
    };
    let frame = Page {
        title: "Thin a bowl",
        here: "/thin",
        styles: &[],
        scripts: &["js/stopwatch.js"],
        waits: false,
    };
    page(&frame, &content)
}

fn wrong<'a>(thin: &'a ThinPage, field: &str) -> Option<&'a str> {
    thin.wrong.as_ref().filter(|(at, _)| at == field).map(|(_, words)| words.as_str())
}

/// What to do now, in large letters, and what was read so far.
fn next(thin: &ThinPage, answer: &SettleAnswer) -> Markup {
    let heads_ups: Vec<_> = answer.heads_ups.iter().collect();
    html! {
        section.next role="status" {
            @match &answer.first {
                Some(first) => {
                    p.dose { b { (format!("{:.1}", first.water_g)) " g" } " of water" }
                    p { (answer.say) }
                },
                None => p.dose { (answer.say) },
            }
            p.soft { (answer.then) }
            (notes("this bowl", &heads_ups))
            ol.readings {
                @for one in &thin.asked.readings { li { (read(one)) } }
            }
            form.acts method="post" action="/thin/keep" {
                @for (key, value) in thin.asked.fields() { input type="hidden" name=(key) value=(value); }
                button.act type="submit" { "Keep these readings for next time" }
                a.quiet href=(back(thin)) { "Take the last reading back" }
            }
        }
    }
}

/// The address without the last reading.
fn back(thin: &ThinPage) -> String {
    let mut asked = thin.asked.clone();
    asked.readings.pop();
    asked.address()
}

fn read(one: &ReadingEntry) -> String {
    let water = if one.water_g > 0.0 {
        format!("With {} g of water", one.water_g)
    } else {
        "Without water".to_owned()
    };
    match one.answer.as_deref() {
        Some("yes") => format!("{water} smooth by {} s.", one.smooth_s),
        Some(_) => format!("{water} not yet smooth at {} s.", one.smooth_s),
        None => format!("{water} {} s.", one.smooth_s),
    }
}

fn unread(answer: &SettleAnswer) -> Markup {
    html! {
        p.soft { "Without a reading, icing of this kitchen usually takes: " (answer.say) }
    }
}

/// The form of the next reading, with a stopwatch where scripts run.
fn next_reading(thin: &ThinPage) -> Markup {
    let asked = &thin.asked;
    let so_far = asked.readings.last().map_or(0.0, |last| last.water_g);
    let first = thin.answer.as_ref().and_then(|answer| answer.first.as_ref());
    let water = match (&asked.water, first, asked.readings.is_empty()) {
        (typed, _, _) if !typed.is_empty() => typed.clone(),
        (_, Some(first), false) => format!("{}", ((so_far + first.water_g) * 10.0).round() / 10.0),
        _ => so_far.to_string(),
    };
    let number = |name: &str, label: &str, value: &str, hint: &str| {
        let error = wrong(thin, name);
        html! {
            div.field {
                label for=(name) { (label) }
                input id=(name) name=(name) type="text" inputmode="decimal" autocomplete="off" value=(value)
                    aria-invalid=[error.map(|_| "true")] aria-describedby={ (name) "-hint" };
                @if let Some(error) = error { p.wrong { (error) } }
                p.hint id={ (name) "-hint" } { (hint) }
            }
        }
    };
    let target = format!("{:.0}", thin.target_s);
    html! {
        form.reading method="get" action="/thin" {
            @for (key, value) in asked.fields() { input type="hidden" name=(key) value=(value); }
            h2 { @if asked.readings.is_empty() { "Test it" } @else { "Test it again" } }
            div.stopwatch data-stopwatch hidden {
                p.clock aria-hidden="true" { "0.0" }
                button.act.main type="button" { "Start" }
            }
            div.fields {
                (number("seconds", "Smooth after (s)", &asked.seconds, "Seconds until the ribbon has vanished."))
                (number("water", "Water so far (g)", &water, "All you added to this bowl, the last dose included."))
            }
            p.acts {
                button.act type="submit" name="answer" value="count" { "Take this reading" }
                button.act type="submit" name="answer" value="no" { "Not smooth yet at " (target) " s" }
                button.act type="submit" name="answer" value="yes" { "Was smooth by " (target) " s" }
            }
        }
    }
}

/// The bowl: its name, what is in it, the count it should have.
fn bowl(thin: &ThinPage) -> Markup {
    let asked = &thin.asked;
    let counts = &thin.kitchen.counts;
    let uses = [
        ("Lines and lettering", counts.line),
        ("Outline and flood", counts.flood),
        ("Wet-on-wet", counts.wet_on_wet),
    ];
    let is_known = uses.iter().any(|(_, count)| count.to_seconds() == thin.target_s);
    let own = if is_known { String::new() } else { format!("{}", thin.target_s) };
    html! {
        form.bowl-of method="get" action="/thin" {
            h2 { "The bowl" }
            @for (key, value) in asked.fields().iter().filter(|(key, _)| *key == "r") { input type="hidden" name=(key) value=(value); }
            fieldset.fields.counts {
                legend { "What it is for" }
                @for (words, count) in uses {
                    @let seconds = count.to_seconds();
                    label.choice {
                        input type="radio" name="target" value=(seconds) checked[seconds == thin.target_s];
                        span { (words) ", " (format!("{seconds:.0}")) " s" }
                    }
                }
                (crate::ui::field("own", "Another count (s)", "text", &own, "", wrong(thin, "target")))
            }
            div.fields {
                (crate::ui::field("stiff", "Stiff icing in it (g)", "text", if asked.stiff.is_empty() { "100" } else { &asked.stiff }, "As weighed out, before water.", wrong(thin, "stiff")))
                (crate::ui::field("gel", "Gel in it (g)", "text", if asked.gel.is_empty() { "0" } else { &asked.gel }, "About two fifths of a gel is water.", wrong(thin, "gel")))
                (crate::ui::field("bowl", "Name", "text", &asked.bowl, "", None))
            }
            p.acts { button.act type="submit" { "Use this bowl" } }
        }
    }
}

/// How it was worked out, one click below.
fn details(answer: &SettleAnswer) -> Markup {
    let fall = &answer.fall_per_gram;
    html! {
        details.more {
            summary { "How is this known?" }
            p.small {
                "The count falls by " (format!("{:.0}", 100.0 * (1.0 - (-fall.likely).exp()))) " % a gram of water in 100 g of stiff icing"
                ", between " (format!("{:.0}", 100.0 * (1.0 - (-fall.low).exp()))) " and " (format!("{:.0}", 100.0 * (1.0 - (-fall.high).exp()))) " %"
                " (nine chances in ten), from " (answer.n_tests) " tests and a start value of common practice. "
                "Now it is at " (format!("{:.0}", answer.now_s.likely)) " s, between " (format!("{:.0}", answer.now_s.low)) " and " (format!("{:.0}", answer.now_s.high)) " s. "
                "The first dose leaves it, with four chances in five, no thinner than wanted: water goes in and not out."
            }
        }
    }
}
