//! The ruler: only under a drawing to scale, and it says which.

use std::fmt::Write;

use maud::{Markup, PreEscaped, html};

/// How much smaller than life a place shows things; the style sheet knows the classes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Scale {
    True,
    Half,
    Third,
    Quarter,
    Sixth,
    Eighth,
}

/// How a ruler is drawn, in millimeters of life.
struct Marks {
    class: &'static str,
    words: &'static str,
    /// Its length; the page cuts it off where the matter ends.
    length: u32,
    height: u32,
    fine: u32,
    middle: u32,
    figured: u32,
}

impl Scale {
    fn marks(self) -> Marks {
        let marks = |class, words, [length, height, fine, middle, figured]: [u32; 5]| Marks {
            class,
            words,
            length,
            height,
            fine,
            middle,
            figured,
        };
        match self {
            Self::True => {
                marks("true", "True size, once this screen has been measured.", [420, 9, 1, 5, 10])
            }
            Self::Half => marks("half", "Half of true size.", [840, 18, 5, 10, 50]),
            Self::Third => marks("third", "A third of true size.", [960, 26, 5, 10, 50]),
            Self::Quarter => marks("quarter", "A quarter of true size.", [1200, 34, 10, 50, 50]),
            Self::Sixth => marks("sixth", "A sixth of true size.", [1800, 50, 10, 50, 100]),
            Self::Eighth => marks("eighth", "An eighth of true size.", [2400, 66, 10, 50, 100]),
        }
    }
}

/// A ruler with the words of its scale under it; `more` is said behind them.
pub(crate) fn ruler(scale: Scale, more: &str) -> Markup {
    html! {
        div class=(scale.marks().class) {
            (ruler_alone(scale))
            p.scale { (scale.marks().words) @if !more.is_empty() { " " (more) } }
        }
    }
}

/// A ruler without words, in the scale of what it stands in.
pub(crate) fn ruler_alone(scale: Scale) -> Markup {
    let marks = scale.marks();
    let Marks { class, length, height, .. } = marks;
    html! {
        div.ruler {
            svg class={ "ruled ruled-" (class) } viewBox={ "0 0 " (length) " " (height) } aria-hidden="true" {
                (PreEscaped(drawn(&marks)))
            }
        }
    }
}

/// Lets the maker measure her screen with a card, so that true size is true; without scripts there is nothing to see.
pub(crate) fn screen_measure() -> Markup {
    html! {
        details.more.screen-measure data-screen-measure hidden {
            summary { "Measure this screen" }
            p.small {
                "Hold a bank or library card (85.6 mm wide, ISO/IEC 7810) against the blue bar, and move the handle until both are equally wide."
            }
            svg.card data-card viewBox="0 0 856 120" preserveAspectRatio="none" role="img" aria-label="a bar to compare with the card" {
                rect width="856" height="120" {}
            }
            label { span.unseen { "Width of the bar" } input type="range" min="180" max="900" step="0.5"; }
        }
    }
}

fn drawn(marks: &Marks) -> String {
    let height = f64::from(marks.height);
    let (mut fine, mut long, mut figures) = (String::new(), String::new(), String::new());
    for at in (0..=marks.length).step_by(marks.fine as usize) {
        // Writing to a string cannot fail.
        let _ = if at % marks.figured == 0 {
            write!(long, "M{at} 0V{:.2}", height * 0.38)
        } else if at % marks.middle == 0 {
            write!(fine, "M{at} 0V{:.2}", height * 0.27)
        } else {
            write!(fine, "M{at} 0V{:.2}", height * 0.17)
        };
        if at > 0 && at % marks.figured == 0 {
            let unit = if at == marks.figured { " cm" } else { "" };
            let _ = write!(
                figures,
                "<text x=\"{at}\" y=\"{:.2}\">{}{unit}</text>",
                height * 0.86,
                at / 10
            );
        }
    }
    format!(
        "<g fill=\"none\" stroke=\"currentColor\"><path stroke-width=\"{0:.2}\" d=\"M0 0H{1}{long}\"/>\
         <path stroke-width=\"{2:.2}\" d=\"{fine}\"/></g>\
         <g class=\"ruler-figures\" fill=\"currentColor\" font-size=\"{3:.2}\">{figures}</g>",
        height * 0.035,
        marks.length,
        height * 0.025,
        height * 0.4,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_figure_stands_at_its_centimeters() {
        for scale in
            [Scale::True, Scale::Half, Scale::Third, Scale::Quarter, Scale::Sixth, Scale::Eighth]
        {
            let svg = drawn(&scale.marks());
            let mut n_figures = 0;
            for text in svg.split("<text x=\"").skip(1) {
                let (x, rest) = text.split_once('"').expect("an attribute ends");
                let figure = rest.split(['>', '<']).nth(1).expect("a figure");
                let centimeters: f64 = figure.trim_end_matches(" cm").parse().expect("a number");
                assert_eq!(x.parse::<f64>().expect("a number"), centimeters * 10.0, "{scale:?}");
                n_figures += 1;
            }
            assert!(n_figures > 10, "{scale:?}: {n_figures}");
        }
    }
}
