use craft::{
    document::kitchen::{GelDocument, GelSampleDocument},
    tinting::KnownGel,
};
use drawing::Color;
use maud::{Markup, html};
use quantity::Mass;

use super::{Fields, GelsPage};
use crate::ui::{Page, capital, counted, page};

pub(super) fn view(gels: &GelsPage) -> Markup {
    let content = html! {
        div.plain-page.gels {
            h1 { "Gels" }
            p.lead { "How strong a gel is, its label does not say: until it was tried it may be a third or three times as strong as taken here. One sample of a middle shade tells more than any guess, and every bowl follows it." }
            p.scale { "Under each drop stands the gel in 100 g of icing; above it the shade it is likely to give." }
            @if gels.document.gel.is_empty() {
                p { "There is no gel yet. " a href="/kitchen#gel" { "Write down those you own" } "." }
            }
            @for (place, gel) in gels.document.gel.iter().enumerate() { (one(gels, place, gel)) }
        }
    };
    let frame = Page {
        title: "Gels",
        here: "/gels",
        styles: &[],
        scripts: &["js/sample.js"],
        waits: false,
    };
    page(&frame, &content)
}

fn one(gels: &GelsPage, place: usize, gel: &GelDocument) -> Markup {
    let known = gels.known.iter().find(|known| known.name == gel.name);
    let refused = gels.refused.as_ref().filter(|(at, ..)| *at == place);
    html! {
        article.gel id={ "gel-" (place) } {
            h2 { (capital(&gel.name)) }
            @match known {
                Some(known) => {
                    (ladder(known))
                    p { (strength(known)) }
                },
                None => p { "It names no dye there is data of, so no bowl is tinted with it. " a href="/kitchen#gel" { "Write down what its label names" } "." },
            }
            details.more open[refused.is_some()] {
                summary { "Try it" }
                (form(gels, place, gel, refused.map(|(_, typed, words)| (typed, words.as_str()))))
            }
            @if !gel.sample.is_empty() { (samples(gels, place, &gel.sample)) }
        }
    }
}

/// How the gel looks in more and more of it.
fn ladder(known: &KnownGel) -> Markup {
    html! {
        ol.ladder {
            @for (mass, color) in &known.swatches {
                li { (swatch(*color)) span { (grams(*mass)) } }
            }
        }
    }
}

fn grams(mass: Mass) -> String {
    format!("{} g", mass.to_g())
}

/// A drop of icing with light on it.
fn swatch(color: Color) -> Markup {
    html! {
        svg viewBox="0 0 60 44" aria-hidden="true" {
            path fill=(color.to_hex()) d="M6 26C6 12 18 5 31 5C45 5 55 13 55 25C55 36 44 40 30 40C16 40 6 37 6 26Z" {}
            path fill="none" stroke="#fff" stroke-opacity="0.45" stroke-width="2.4" stroke-linecap="round" d="M15 19C18 13 24 10.5 30 10.5" {}
        }
    }
}

fn strength(known: &KnownGel) -> String {
    let strength = known.strength.map(|share| share.to_one());
    let ends = format!("between {:.1} and {:.1} times", strength.low, strength.high);
    match known.n_samples {
        0 => "Not tried yet.".to_owned(),
        n => format!(
            "By {} it is {:.1} times as strong as a label like its own lets one guess, {ends}.",
            counted(n, "sample", "samples"),
            strength.likely
        ),
    }
}

fn form(
    gels: &GelsPage,
    place: usize,
    gel: &GelDocument,
    refused: Option<(&Fields, &str)>,
) -> Markup {
    let typed = |key: &str, start: &str| {
        let typed = refused.and_then(|(typed, _)| typed.get(key).cloned());
        typed.unwrap_or_else(|| start.to_owned())
    };
    let field = |key: &str, label: &str, start: &str, hint: &str| {
        let id = format!("{key}-{place}");
        html! {
            div.field {
                label for=(id) { (label) }
                input id=(id) name=(key) type="text" value=(typed(key, start)) aria-describedby={ (id) "-hint" };
                p.hint id={ (id) "-hint" } { (hint) }
            }
        }
    };
    let unit = typed("unit", "drops");
    html! {
        form method="post" action="/gels/sample" {
            input type="hidden" name="revision" value=(gels.revision.to_i64());
            input type="hidden" name="gel" value=(place);
            p.small { "Weigh 50 g of plain icing, add three drops, stir, and wait ten minutes. Then pick its color by daylight, or photograph it beside a dish of the same plain icing." }
            @if let Some((_, words)) = refused { p.wrong role="alert" { (words) } }
            div.field.photo data-photo hidden {
                label { "Photograph of sample and plain icing" input type="file" accept="image/*"; }
                p.hint { "It stays on this device." }
                canvas hidden {}
                p.hint data-say role="status" {}
            }
            div.fields {
                (field("amount", "Gel", "3", "How much went in."))
                div.field {
                    label for={ "unit-" (place) } { "Counted in" }
                    select id={ "unit-" (place) } name="unit" {
                        option value="drops" selected[unit == "drops"] { "drops of " (gel.drop_g) " g" }
                        option value="g" selected[unit == "g"] { "grams" }
                    }
                }
                (field("icing_g", "In plain icing (g)", "50", ""))
                (field("seen", "Color it gave", "", "Pick it, or write it as #rrggbb."))
                (field("plain", "Plain icing in the same photograph", "", "Only where the color is from a photograph; the light then does not matter."))
                (field("white", "White paper in it", "", "May be left empty."))
                (field("next_day", "Color the next day", "", "May be left empty; kept covered."))
            }
            p.acts { button.act type="submit" { "Add this sample" } }
        }
    }
}

fn samples(gels: &GelsPage, gel: usize, samples: &[GelSampleDocument]) -> Markup {
    html! {
        ul.samples {
            @for (place, one) in samples.iter().enumerate() {
                li {
                    @if let Ok(color) = Color::parse(&one.seen) { (swatch(color)) }
                    span {
                        (one.g_per_100_g) " g in 100 g: " (one.seen)
                        @if one.plain.is_some() { ", from a photograph" }
                        @if let Some(next) = &one.next_day { ", the next day " (next) }
                        @if one.set_aside { ", set aside" }
                    }
                    form method="post" action="/gels/set-aside" {
                        input type="hidden" name="revision" value=(gels.revision.to_i64());
                        input type="hidden" name="gel" value=(gel);
                        input type="hidden" name="sample" value=(place);
                        button.quiet type="submit" { @if one.set_aside { "Count it again" } @else { "Set it aside" } }
                    }
                }
            }
        }
    }
}
