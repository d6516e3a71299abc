//! Between which masses does a bowl lie while some of its cookies have no drawing yet?
//!
//! The bowls are filled again with every cookie without a drawing one level of detail plainer and one richer,
//! and with its colors but the base's changed about, since nothing says yet which of them does what;
//! the least and the most that is weighed out of a color is its range.
//! What is drawn stays as it is.
//!
//! Source: the same start values as the levels themselves (common practice, no source); a drawing ends the doubt.
//! Holds as far as the drawing to come is within a level of the one named.

use quantity::Mass;

use super::{Bowl, fill_bowls, shade_of};
use crate::{
    kitchen::Kitchen,
    order::{ItemPicture, Order},
    technique::{Sections, with_other_stand_ins},
};

/// The least and the most of something.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    /// The least.
    pub low: Mass,
    /// The most.
    pub high: Mass,
}

/// A cookie with more colors than this has them changed about only so often.
const MOST_TURNS: usize = 8;

/// Gives a range to every bowl that cookies without a drawing have a part in.
pub fn likely_ranges(kitchen: &Kitchen, order: &Order, chapter: &Sections, bowls: &mut [Bowl]) {
    let turns = order.items.iter().filter_map(|item| match &item.picture {
        ItemPicture::Undrawn { colors, .. } => Some(colors.len().saturating_sub(1).max(1)),
        ItemPicture::Drawn { .. } => None,
    });
    // Without an item that has no drawing there is nothing to try.
    let Some(turns) = turns.max() else { return };
    let ways = [-1, 0, 1]
        .into_iter()
        .flat_map(|richer| (0..turns.min(MOST_TURNS)).map(move |turned| (richer, turned)));
    let others: Vec<Vec<Bowl>> = ways
        .map(|(richer, turned)| {
            fill_bowls(kitchen, &with_other_stand_ins(kitchen, order, chapter, richer, turned)).1
        })
        .collect();
    for bowl in bowls {
        let is_drawn = |&section: &usize| {
            let section = chapter.sections.get(section);
            section
                .and_then(|section| chapter.designs.get(section.item))
                .is_some_and(|one| one.drawn)
        };
        if bowl.bags.iter().flat_map(|bag| &bag.sections).all(is_drawn) {
            continue;
        }
        let shade = shade_of(bowl.color);
        let mut range = Range { low: bowl.weigh_out, high: bowl.weigh_out };
        for other in &others {
            let same = other.iter().filter(|other| shade_of(other.color).is_same(shade));
            for other in same {
                range.low = range.low.min(other.weigh_out);
                range.high = range.high.max(other.weigh_out);
            }
        }
        bowl.range = Some(range);
    }
}

#[cfg(test)]
mod tests {
    use std::ops::ControlFlow;

    use crate::{
        document::{read_order, start_kitchen},
        order::{DesignFiles, read_brief},
        plan::{Basis, Effort, OrderPlan, plan_order},
    };

    fn planned(detail: &str, colors: &str) -> OrderPlan {
        let text = format!(
            "title = \"Invented\"\ncustomer = \"Invented\"\ndue = \"2027-03-06T10:00[America/Halifax]\"\n\
             [[item]]\nname = \"plaque\"\ncutter = \"round 80 mm\"\ncount = 24\ndetail = \"{detail}\"\ncolors = {colors}\n"
        );
        let order = read_order(&text).expect("an order");
        let brief = read_brief(order, &DesignFiles::default()).expect("a brief");
        let today = jiff::civil::date(2027, 2, 20);
        let basis = Basis { today, effort: Effort::Quick, seed: 1 };
        plan_order(&start_kitchen(), &brief, &basis, &mut |_| ControlFlow::Continue(()))
    }

    /// What is weighed out of each color, by color.
    fn weighed(detail: &str, colors: &str) -> Vec<(String, f64)> {
        let mut weighed: Vec<_> = planned(detail, colors)
            .icing
            .bowls
            .iter()
            .map(|bowl| (bowl.color.to_hex(), bowl.weigh_out.to_g()))
            .collect();
        weighed.sort_by(|a, b| a.0.cmp(&b.0));
        weighed
    }

    #[test]
    fn a_bowl_without_a_drawing_lies_between_the_plainer_and_the_richer_cookie() {
        let colors = "[\"#fbf7ee\", \"#2f4666\"]";
        let plan = planned("dressed", colors);
        let navy = plan.icing.bowls.iter().find(|bowl| bowl.color.to_hex() == "#2f4666");
        let range = navy.and_then(|bowl| bowl.range).expect("it has a range");
        let of = |detail| weighed(detail, colors)[0].1;
        assert_eq!([range.low.to_g(), range.high.to_g()], [of("simple"), of("detailed")]);
        assert!(range.low.to_g() < of("dressed") && of("dressed") < range.high.to_g());
    }

    #[test]
    fn the_base_is_sure_where_nothing_but_its_dressing_is_open() {
        let plan = planned("dressed", "[\"#fbf7ee\", \"#2f4666\"]");
        let base = plan.icing.bowls.iter().find(|bowl| bowl.color.to_hex() == "#fbf7ee");
        let base = base.expect("there is a base");
        let range = base.range.expect("it has a range");
        assert_eq!([range.low, range.high], [base.weigh_out; 2]);
    }

    #[test]
    fn colors_that_may_change_places_share_their_range() {
        let plan = planned("simple", "[\"#fbf7ee\", \"#2f4666\", \"#9c2b23\"]");
        let ranged = plan.icing.bowls.iter().filter(|bowl| bowl.color.to_hex() != "#fbf7ee");
        for bowl in ranged {
            let range = bowl.range.expect("it has a range");
            assert!(range.low <= bowl.weigh_out && bowl.weigh_out <= range.high);
            assert!(range.low < range.high, "{range:?}");
        }
    }
}
