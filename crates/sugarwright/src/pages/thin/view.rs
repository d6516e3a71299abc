use craft::document::settle::{ReadingEntry, SettleAnswer};
use maud::{Markup, html};

use super::ThinPage;
use crate::ui::{Page, counted, notes, page};

pub(super) fn view(thin: &ThinPage) -> Markup {
    let content = html! {
        div.plain-page.thin {
            h1 { "Thin a bowl" }
            @match &thin.answer {
                Some(answer) if !thin.asked.readings.is_empty() => (next(thin, answer)),
                _ => p.lead { "Take a spoonful up, let its ribbon fall back, and count until it has vanished. One reading is enough for the first dose." },
            }
            (form(thin))
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

/// What is wrong at a field; a count that was typed is told there, whichever field it is.
fn wrong<'a>(thin: &'a ThinPage, field: &str) -> Option<&'a str> {
    let field = if field == "own" { "target" } else { field };
    thin.wrong.as_ref().filter(|(at, _)| at == field).map(|(_, words)| words.as_str())
}

/// What to do now, in large letters, and what was read so far.
fn next(thin: &ThinPage, answer: &SettleAnswer) -> Markup {
    let heads_ups: Vec<_> = answer.heads_ups.iter().collect();
    html! {
        section.next role="status" {
            @match &answer.first {
                Some(first) => {
                    p.dose { b { (dose(first.water_g)) } " of water" }
                    p.soft { "For " (thin.asked.stiff_or_start()) " g of stiff icing, to " (format!("{:.0}", thin.target_s)) " s." }
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
                a.quiet href="/thin" { "Another bowl" }
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

/// With as many digits as the sentence below it.
fn dose(g: f64) -> String {
    if g < 10.0 { format!("{g:.1} g") } else { format!("{g:.0} g") }
}

fn unread(answer: &SettleAnswer) -> Markup {
    html! {
        @if let Some(water) = &answer.water_g {
            p.soft { "Icing of this kitchen usually takes about " (dose(water.likely)) " of water for this, between " (dose(water.low)) " and " (dose(water.high)) ". One reading makes that much surer." }
        }
    }
}

/// The form: the next reading, with a stopwatch where scripts run, and the bowl it is of.
fn form(thin: &ThinPage) -> Markup {
    html! {
        form.reading method="get" action="/thin" {
            @for (_, value) in thin.asked.fields().iter().filter(|(key, _)| *key == "r") {
                input type="hidden" name="r" value=(value);
            }
            (next_reading(thin))
            (bowl(thin))
        }
    }
}

fn number(thin: &ThinPage, name: &str, label: &str, value: &str, hint: &str) -> Markup {
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
}

fn next_reading(thin: &ThinPage) -> Markup {
    let asked = &thin.asked;
    let so_far = asked.readings.last().map_or(0.0, |last| last.water_g);
    let first = thin.answer.as_ref().and_then(|answer| answer.first.as_ref());
    let water = match (&asked.water, first, asked.readings.is_empty()) {
        (typed, _, _) if !typed.is_empty() => typed.clone(),
        (_, Some(first), false) => format!("{}", ((so_far + first.water_g) * 10.0).round() / 10.0),
        _ => so_far.to_string(),
    };
    let target = format!("{:.0}", thin.target_s);
    html! {
        h2 { @if asked.readings.is_empty() { "Test it" } @else { "Test it again" } }
        div.stopwatch data-stopwatch hidden {
            p.clock aria-hidden="true" { "0.0" }
            button.act.main type="button" { "Start" }
        }
        div.fields {
            (number(thin, "seconds", "Smooth after (s)", &asked.seconds, "Seconds until the ribbon has vanished."))
            (number(thin, "water", "Water so far (g)", &water, "All you added to this bowl, the last dose included."))
        }
        p.acts {
            button.act type="submit" name="answer" value="count" { "Take this reading" }
            button.act type="submit" name="answer" value="no" { "Not smooth yet at " (target) " s" }
            button.act type="submit" name="answer" value="yes" { "Was smooth by " (target) " s" }
        }
    }
}

/// The bowl: what is in it, the count it should have, its name.
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
        h2 { "The bowl" }
        div.fields {
            (number(thin, "stiff", "Stiff icing in it (g)", if asked.stiff.is_empty() { "100" } else { &asked.stiff }, "As weighed out, before water."))
            (number(thin, "gel", "Gel in it (g)", if asked.gel.is_empty() { "0" } else { &asked.gel }, "About two fifths of a gel is water."))
        }
        fieldset.fields.counts {
            legend { "What it is for" }
            @for (words, count) in uses {
                @let seconds = count.to_seconds();
                label.choice {
                    input type="radio" name="target" value=(seconds) checked[seconds == thin.target_s];
                    span { (words) ", " (format!("{seconds:.0}")) " s" }
                }
            }
            (number(thin, "own", "Another count (s)", &own, "It goes before the choice above."))
        }
        (crate::ui::field("bowl", "Name", "text", &asked.bowl, "Readings of one bowl go together under it.", None))
        p.acts { button.act type="submit" name="answer" value="" { "Use this bowl" } }
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
                " (nine chances in ten), from " (counted(answer.n_tests, "test", "tests")) " and a start value of common practice. "
                "Now it is at " (format!("{:.0}", answer.now_s.likely)) " s, between " (format!("{:.0}", answer.now_s.low)) " and " (format!("{:.0}", answer.now_s.high)) " s. "
                @if answer.first.is_some() { "The first dose leaves it, with four chances in five, no thinner than wanted: water goes in and not out." }
            }
        }
    }
}
