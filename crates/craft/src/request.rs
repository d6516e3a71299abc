//! What does an order ask for that is a sentence only: so many cookies, as detailed as that one, for that day?
//!
//! It is planned like any other, as round cookies without a drawing in the usual number of colors of their detail.
//! With one more pair of hands only the sessions of decorating are shorter; with plainer cookies, icing and sessions are.
//!
//! Size and colors are start values (common practice, no source).

use std::ops::ControlFlow;

use drawing::Color;
use jiff::{ZonedDateTime, civil::Date};
use quantity::{Money, Span};

use crate::{
    days::{OrderWork, Request, scaled},
    icing::plan_icing,
    kitchen::Kitchen,
    order::{
        BaseChoice, Bench, Brief, Cutter, CutterUse, Detail, Handover, Item, ItemPicture, Order,
        Picture,
    },
    plan::{Basis, Effort, Made, OrderPlan, kitchen_for, passes_in_their_hours, plan_order},
    technique::plan_sections,
};

/// A customer's sentence.
#[derive(Clone, Debug, PartialEq)]
pub struct Wish {
    /// How many cookies, at least one.
    pub count: u32,
    /// How detailed.
    pub detail: Detail,
    /// When they change hands.
    pub at: ZonedDateTime,
}

/// What a wish asks of the days, and what it costs.
#[derive(Clone, Debug)]
pub struct WishPlan {
    /// What is asked of the days.
    pub request: Request,
    /// What the customer would pay.
    pub price: Money,
    /// What that pays an hour of the maker's work.
    pub per_hour: Money,
    /// The maker's work.
    pub hours: Span,
}

/// What a cookie is cut with that nobody has chosen a cutter for.
pub const CUTTER: &str = "round 80 mm";
/// Colors of a set: white first, then what it is decorated in.
const COLORS: [&str; 6] = ["#ffffff", "#2f4666", "#c8553d", "#e3b23c", "#5f8a5b", "#3a2e2a"];

fn n_colors(detail: Detail) -> usize {
    match detail {
        Detail::Plain => 1,
        Detail::Simple => 2,
        Detail::Dressed => 3,
        Detail::Detailed => 4,
        Detail::Elaborate => 6,
    }
}

/// More cookies than this are planned as so many and scaled: laying them all out on dough sheets takes long and says no more.
const MOST_LAID_OUT: u32 = 72;

/// Plans a wish.
pub fn plan_wish(kitchen: &Kitchen, wish: &Wish, today: Date, seed: u64) -> WishPlan {
    if wish.count <= MOST_LAID_OUT {
        return plan_in_full(kitchen, wish, today, seed);
    }
    let part = Wish { count: MOST_LAID_OUT, ..wish.clone() };
    let plan = plan_in_full(kitchen, &part, today, seed);
    let times = f64::from(wish.count) / f64::from(MOST_LAID_OUT);
    let many = |work: &OrderWork| OrderWork { n_cookies: wish.count, ..scaled(work, times) };
    WishPlan {
        request: Request {
            work: many(&plan.request.work),
            helped: plan.request.helped.as_ref().map(many),
            plainer: plan.request.plainer.as_ref().map(many),
        },
        price: plan.price.times(times),
        per_hour: plan.per_hour,
        hours: plan.hours * times,
    }
}

fn plan_in_full(kitchen: &Kitchen, wish: &Wish, today: Date, seed: u64) -> WishPlan {
    let brief = brief_of(wish);
    let basis = Basis { today, effort: Effort::Glance, seed };
    let plan = plan_order(kitchen, &brief, &basis, &mut |_| ControlFlow::Continue(()));
    let more_hands = Kitchen { makers: kitchen.makers + 1, ..kitchen.clone() };
    let helped =
        (kitchen.makers < 3).then(|| with_other_sessions(&more_hands, &brief, &plan, &basis));
    let plainer = wish.detail.richer_by(-1);
    let plainer = (plainer != wish.detail).then(|| {
        let wish = Wish { detail: plainer, ..wish.clone() };
        with_other_sessions(kitchen, &brief_of(&wish), &plan, &basis)
    });
    WishPlan {
        request: Request { work: plan.work, helped, plainer },
        price: plan.price.price,
        per_hour: plan.price.per_hour,
        hours: plan.price.hours,
    }
}

/// The same dough and oven with icing and sessions of another kitchen or brief.
fn with_other_sessions(
    kitchen: &Kitchen,
    brief: &Brief,
    plan: &OrderPlan,
    basis: &Basis,
) -> OrderWork {
    let kitchen = &kitchen_for(kitchen, &brief.order);
    let (mut sections, _) = plan_sections(kitchen, brief);
    plan.dough.cutting.leave_out_extras(&mut sections.designs);
    let (icing, _) = plan_icing(kitchen, &sections, basis.today);
    let made =
        Made { sections: &sections, dough: &plan.dough, baking: &plan.baking, icing: &icing };
    let on_progress = &mut || ControlFlow::Continue(());
    passes_in_their_hours(kitchen, &brief.order, &made, basis, on_progress).1
}

fn brief_of(wish: &Wish) -> Brief {
    let item = Item {
        name: "cookie".to_owned(),
        count: wish.count,
        extras: None,
        picture: ItemPicture::Undrawn {
            cutter: Cutter::parse(CUTTER).expect("a cutter of the shelf"),
            detail: wish.detail,
            colors: COLORS[..n_colors(wish.detail)]
                .iter()
                .filter_map(|color| Color::parse(color).ok())
                .collect(),
        },
        without: Vec::new(),
        baked_frozen_on: None,
        cutter_use: CutterUse::default(),
        note: None,
    };
    let order = Order {
        title: "this request".to_owned(),
        customer: String::new(),
        invented: false,
        handovers: vec![Handover { at: wish.at.clone(), counts: vec![(0, wish.count)] }],
        must_have: Vec::new(),
        wording_confirmed: false,
        avoid: Vec::new(),
        base: BaseChoice::FromArt,
        most_colors: None,
        bench: Bench::default(),
        items: vec![item],
    };
    Brief { order, pictures: vec![Picture::Undrawn] }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::document::start_kitchen;

    #[test]
    fn more_hands_and_plainer_cookies_take_less_time() {
        let kitchen = start_kitchen();
        let at = date(2027, 6, 19).at(16, 0, 0, 0).in_tz("America/Halifax").expect("a time");
        let wish = Wish { count: 24, detail: Detail::Detailed, at };
        let plan = plan_wish(&kitchen, &wish, date(2027, 6, 1), 1);
        let whole = plan.request.work.attended();
        for less in [&plan.request.helped, &plan.request.plainer] {
            let less = less.as_ref().expect("there is such a way").attended();
            assert!(less < whole, "{less:?} {whole:?}");
        }
        assert_eq!(plan.request.work.n_cookies, 24);
    }
}
