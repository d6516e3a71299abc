//! What is done with the icing, in sentences: one voice for the packet and the page.

use craft::{
    document::plan::{BagDocument, BatchDocument, BowlDocument, DoseDocument},
    icing::shade_of,
    kitchen::Measures,
};
use drawing::Color;
use quantity::{Mass, Span};

use crate::words::{NO_BREAK, listed, mass, n_of, span};

/// How long thinned icing rests before it is tested (common practice, no source).
const REST: &str = "10\u{a0}to\u{a0}15\u{a0}min";

/// Says when the icing is made, how long it keeps, and what is done before it is used; nothing where none is made.
pub fn keeping(batch: &BatchDocument) -> String {
    if batch.total_g <= 0.0 || batch.keeps_days <= 0.0 {
        return String::new();
    }
    let made_ahead = span(Span::hours(batch.made_ahead_h));
    let keeps = match batch.keeps_days.floor() {
        1.0 => format!("1{NO_BREAK}day"),
        days => format!("{days}{NO_BREAK}days"),
    };
    let made = if batch.made_ahead_h > 0.0 {
        format!("Make it {made_ahead} before its first use or earlier; covered it")
    } else {
        "Covered it".to_owned()
    };
    format!("{made} keeps {keeps}. Beat it again before each use, at low speed until it is smooth.")
}

/// Says what is done with one bowl, in order: weigh, tint, thin, rest, bag.
pub fn bowl_steps(bowl: &BowlDocument, measures: Measures) -> Vec<String> {
    let weighed = |g: f64| mass(Mass::g(g), measures);
    let stock = match bowl.from_stock_g {
        taken if taken > 0.0 => format!(", {} of it from stock", weighed(taken)),
        _ => String::new(),
    };
    let weigh = match &bowl.range {
        Some(range) if range.low_g < range.high_g => format!(
            "Weigh out about {}{stock}: {} to {}, as the drawing will want it.",
            weighed(bowl.weigh_out_g),
            weighed(range.low_g),
            weighed(range.high_g)
        ),
        _ => format!("Weigh out {}{stock}.", weighed(bowl.weigh_out_g)),
    };
    let gels = bowl.tint.as_ref().map_or_else(String::new, |tint| doses(&tint.doses));
    let start = bowl.tint.as_ref().and_then(|tint| tint.start.as_ref()).map(|start| {
        let name = Color::parse(&start.color).map(|color| shade_of(color).name());
        let name = name.unwrap_or_else(|_| "tinted".to_owned());
        format!("Stir in {} of the {name} leftover first.", weighed(start.mass_g))
    });
    let tint = (!gels.is_empty()).then(|| {
        let what = if bowl.from_stock_g > 0.0 { "what is fresh" } else { "it" };
        format!("Tint {what} with {gels}.")
    });
    // Gels bring a part of the water, to each bag alike.
    let of_gel = if bowl.water_g > 0.0 { (bowl.gel_water_g / bowl.water_g).min(1.0) } else { 0.0 };
    let thinned: Vec<String> = bowl
        .bags
        .iter()
        .filter_map(|bag| {
            let count = bag.count_s.filter(|_| bag.water_g > 0.0)?;
            let stiff = bag.fill_g * f64::from(bag.n) - bag.water_g;
            let (stiff, water) = (weighed(stiff), weighed(bag.water_g * (1.0 - of_gel)));
            Some(format!("{stiff} to {count:.0}{NO_BREAK}s with about {water} of water"))
        })
        .collect();
    let thin = (!thinned.is_empty())
        .then(|| format!("Thin {}; put in four fifths of it first.", listed(&thinned)));
    let rest = (!thinned.is_empty()).then(|| {
        format!("Let it rest {REST}, pop the bubbles, test the count, and add what it still needs.")
    });
    let bags: Vec<String> = bowl.bags.iter().map(|one| bag(one, measures)).collect();
    let bag = (!bags.is_empty()).then(|| format!("Fill {}.", listed(&bags)));
    [Some(weigh), start, tint, thin, rest, bag].into_iter().flatten().collect()
}

/// "2 bags of 95 g at 13 s, tip 3".
fn bag(bag: &BagDocument, measures: Measures) -> String {
    let count = bag
        .count_s
        .map_or_else(|| " of stiff icing".to_owned(), |count| format!(" at {count:.0}{NO_BREAK}s"));
    let tip = match bag.tip.as_str() {
        "" => String::new(),
        tip => format!(" (tip{NO_BREAK}{tip})"),
    };
    let each = if bag.n > 1 { " each" } else { "" };
    let bags = n_of(bag.n as usize, "bag", "bags");
    format!("{bags} with {}{each}{count}{tip}", mass(Mass::g(bag.fill_g), measures))
}

/// Says which gels go in: "12 drops of sky blue and 0.2 g of a mix of red".
pub fn doses(doses: &[DoseDocument]) -> String {
    listed(&doses.iter().map(gel).collect::<Vec<_>>())
}

/// "12 drops of sky blue"; what is too little to count comes from a mix.
fn gel(dose: &DoseDocument) -> String {
    let amount = match (dose.drops, dose.mix_g) {
        (Some(drops), _) => n_of(drops as usize, "drop", "drops"),
        (None, Some(mix)) => format!("{mix:.1}{NO_BREAK}g of a{NO_BREAK}mix"),
        (None, None) => format!("{:.0}{NO_BREAK}mg", dose.mass_mg),
    };
    format!("{amount} of {}", dose.gel)
}

#[cfg(test)]
mod tests {
    use craft::document::plan::{MassRangeDocument, TintDocument};

    use super::*;

    fn bowl() -> BowlDocument {
        let bag = |id: &str, count_s, fill_g, water_g, n| BagDocument {
            id: id.to_owned(),
            count_s,
            tip: "2".to_owned(),
            fill_g,
            water_g,
            n,
        };
        let doses = vec![DoseDocument {
            gel: "sky blue".to_owned(),
            mass_mg: 480.0,
            drops: Some(12),
            mix_g: None,
        }];
        BowlDocument {
            id: "blue".to_owned(),
            color: "#2f4666".to_owned(),
            on_cookies_g: 220.0,
            left_g: 60.0,
            gel_water_g: 0.0,
            water_g: 10.0,
            weigh_out_g: 270.0,
            from_stock_g: 0.0,
            range: None,
            bags: vec![
                bag("blue-flood", Some(13.0), 110.0, 9.8, 2),
                bag("blue-stiff", None, 40.0, 0.0, 1),
            ],
            tint: Some(TintDocument {
                expected: "#2f4666".to_owned(),
                difference: 1.0,
                doses,
                ..TintDocument::default()
            }),
        }
    }

    fn told(bowl: &BowlDocument) -> Vec<String> {
        let steps = bowl_steps(bowl, Measures::Metric);
        steps.into_iter().map(|step| step.replace(NO_BREAK, " ")).collect()
    }

    #[test]
    fn a_bowl_is_weighed_tinted_thinned_rested_and_bagged() {
        assert_eq!(
            told(&bowl()),
            [
                "Weigh out 270 g.",
                "Tint it with 12 drops of sky blue.",
                "Thin 210 g to 13 s with about 9.8 g of water; put in four fifths of it first.",
                "Let it rest 10 to 15 min, pop the bubbles, test the count, and add what it still needs.",
                "Fill 2 bags with 110 g each at 13 s (tip 2) and 1 bag with 40 g of stiff icing (tip 2).",
            ]
        );
    }

    #[test]
    fn what_is_stiff_and_white_is_weighed_and_bagged_and_what_has_no_drawing_is_about() {
        let mut white = bowl();
        white.tint = None;
        white.bags.remove(0);
        white.from_stock_g = 70.0;
        white.range = Some(MassRangeDocument { low_g: 230.0, high_g: 320.0 });
        let steps = told(&white);
        assert_eq!(steps.len(), 2, "{steps:?}");
        assert_eq!(
            steps[0],
            "Weigh out about 270 g, 70 g of it from stock: 230 g to 320 g, as the drawing will want it."
        );
    }

    #[test]
    fn icing_tells_when_it_is_made_and_how_long_it_keeps() {
        let batch = |total_g, made_ahead_h, keeps_days| BatchDocument {
            sugar_g: 0.0,
            dried_white_g: 0.0,
            water_g: 0.0,
            total_g,
            batches: 1,
            parts: Vec::new(),
            steps: Vec::new(),
            made_ahead_h,
            keeps_days,
        };
        let told = |batch: BatchDocument| keeping(&batch).replace(NO_BREAK, " ");
        let again = "Beat it again before each use, at low speed until it is smooth.";
        let ahead = "Make it 12 h before its first use or earlier; covered it keeps 3 days.";
        assert_eq!(told(batch(500.0, 12.0, 3.0)), format!("{ahead} {again}"));
        assert_eq!(told(batch(500.0, 0.0, 1.0)), format!("Covered it keeps 1 day. {again}"));
        assert_eq!(told(batch(0.0, 12.0, 3.0)) + &told(batch(500.0, 12.0, 0.0)), "");
    }
}
