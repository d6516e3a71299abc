//! What does this order need? All chapters of a plan, each from the narrow inputs it takes.
//!
//! The way of an order goes from left to right with no way back: sections, dough, icing, trays, passes, packing, shopping,
//! label, price; the days of all open orders together come last.
//! The functions here only wire; every formula stands with its chapter.

use std::ops::ControlFlow;

use jiff::civil::Date;
use nesting::Budget;
use quantity::Span;

use crate::{
    baking::{BakingPlan, plan_baking},
    cutting::{CuttingMemory, SheetsSoFar},
    days::{Activity, Days, OrderWork, Week, order_work, plan_days, stretches_of},
    dough::{DoughPlan, plan_dough},
    drying::{Air, speed},
    heads_up::{HeadsUp, Severity, Subject},
    icing::{IcingPlan, likely_ranges, plan_icing},
    kitchen::Kitchen,
    label::{Label, LabelInput, label},
    order::{Brief, Detail, ItemPicture, Order},
    packing::{Packing, pack},
    pantry::{ShoppingLine, Usage, gel_usage, shopping, usage},
    passes::{PassesPlan, Stretches, plan_passes},
    price::{Price, PriceInput, Work, price},
    technique::{Sections, Technique, detail_of, plan_sections},
    tinting::{Tint, plan_tints},
};

/// What a plan is made from besides kitchen and order: same build and same basis, same plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Basis {
    /// The only clock the planner ever sees.
    pub today: Date,
    /// How hard to look for a better answer.
    pub effort: Effort,
    /// Where the engines' chance starts.
    pub seed: u64,
}

/// How hard to look for a better answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Effort {
    /// The first answer at all: enough to say whether an order can be taken.
    Glance,
    /// The first good answer.
    Quick,
    /// A good answer while one waits.
    Normal,
    /// The best answer one can get over a cup of tea.
    Long,
}

impl Effort {
    /// Evaluations of one sequence of passes.
    fn sequence_budget(self) -> u64 {
        match self {
            Self::Glance => 500,
            Self::Quick => 2_000,
            Self::Normal => 60_000,
            Self::Long => 600_000,
        }
    }

    /// Evaluations of one cutting plan.
    pub(crate) fn cutting_budget(self) -> Budget {
        let evaluations = match self {
            Self::Glance => 1,
            Self::Quick => 100_000,
            Self::Normal => 400_000,
            Self::Long => 4_000_000,
        };
        Budget { evaluations }
    }
}

/// A chapter of a plan, named to those who watch it being made.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Chapter {
    /// What is put down in one go.
    Sections,
    /// Sheets and cuts.
    Dough,
    /// Bowls, bags, batch.
    Icing,
    /// Trays and oven loads.
    Baking,
    /// Order of piping.
    Passes,
    /// Shopping, label, packing and price.
    Money,
    /// Which day.
    Days,
}

/// What those who watch a plan being made are told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct News {
    /// What is worked on.
    pub chapter: Chapter,
    /// While sheets are laid out: the best that was found for them so far.
    pub sheets: Option<SheetsSoFar>,
}

impl From<Chapter> for News {
    fn from(chapter: Chapter) -> Self {
        Self { chapter, sheets: None }
    }
}

/// All chapters of one order but its days.
#[derive(Clone, Debug)]
pub struct OrderPlan {
    /// Sections, neighbors, overlaps.
    pub sections: Sections,
    /// Detail of each design, given or measured.
    pub details: Vec<Detail>,
    /// Bowls, bags, batch.
    pub icing: IcingPlan,
    /// How each bowl gets its color, in the order of the bowls.
    pub tints: Vec<Option<Tint>>,
    /// Sheets and cuts.
    pub dough: DoughPlan,
    /// Trays and oven loads.
    pub baking: BakingPlan,
    /// Order of piping.
    pub passes: PassesPlan,
    /// Bags and boxes.
    pub packing: Packing,
    /// What goes into dough and icing.
    pub usage: Vec<Usage>,
    /// What to buy.
    pub shopping: Vec<ShoppingLine>,
    /// The label.
    pub label: Label,
    /// Cost, price, hourly pay.
    pub price: Price,
    /// What it asks of the days.
    pub work: OrderWork,
    /// What the maker must know.
    pub heads_ups: Vec<HeadsUp>,
}

impl OrderPlan {
    /// Evaluations the engines used for this order.
    pub fn evaluations(&self) -> u64 {
        self.passes.evaluations
            + self.dough.cutting.plan.as_ref().map_or(0, |plan| plan.evaluations)
    }
}

/// Plans one order; it never fails for want of a good answer, what is wrong is a heads-up.
///
/// `on_progress` hears what is worked on, and may stop the search for better answers; the plan is whole all the same.
pub fn plan_order(
    kitchen: &Kitchen,
    brief: &Brief,
    basis: &Basis,
    on_progress: &mut dyn FnMut(News) -> ControlFlow<()>,
) -> OrderPlan {
    plan_order_again(kitchen, brief, basis, &CuttingMemory::default(), on_progress)
}

/// As [`plan_order`], the same plan, without searching again for layouts of sheets that are in the memory.
pub fn plan_order_again(
    kitchen: &Kitchen,
    brief: &Brief,
    basis: &Basis,
    memory: &CuttingMemory,
    on_progress: &mut dyn FnMut(News) -> ControlFlow<()>,
) -> OrderPlan {
    let order = &brief.order;
    let kitchen = &kitchen_for(kitchen, order);
    let mut heads_ups = before_work(kitchen, order);
    // Only an engine in search of a better answer can stop; a chapter's start is just told.
    let _ = on_progress(Chapter::Sections.into());
    let (mut sections, found) = plan_sections(kitchen, brief);
    heads_ups.extend(found);
    heads_ups.extend(wording(order, &sections));
    let details = details(order, &sections);

    let designs = &sections.designs;
    let (dough, found) = plan_dough(kitchen, order, designs, basis, memory, &mut |sheets| {
        on_progress(News { chapter: Chapter::Dough, sheets })
    });
    heads_ups.extend(found);
    dough.cutting.leave_out_extras(&mut sections.designs);

    let _ = on_progress(Chapter::Icing.into());
    let (mut icing, found) = plan_icing(kitchen, &sections, basis.today);
    likely_ranges(kitchen, order, &sections, &mut icing.bowls);
    heads_ups.extend(found);
    let (tints, found) = plan_tints(kitchen, &sections, &icing);
    heads_ups.extend(found);

    let designs = &sections.designs;
    let _ = on_progress(Chapter::Baking.into());
    let (baking, found) = plan_baking(kitchen, order, designs, &dough.raw_cookie);
    heads_ups.extend(found);

    let chapters = Made { sections: &sections, dough: &dough, baking: &baking, icing: &icing };
    let (passes, work, found) =
        passes_in_their_hours(kitchen, order, &chapters, basis, &mut || {
            on_progress(Chapter::Passes.into())
        });
    heads_ups.extend(found);

    let _ = on_progress(Chapter::Money.into());
    let (packing, found) = pack(kitchen, designs);
    heads_ups.extend(found);
    let usage = usage(dough.parts.iter().chain(&icing.batch.parts).cloned());
    let (shopping, found) = shopping(kitchen, &usage, &gel_usage(&tints), &packing);
    heads_ups.extend(found);
    let input = LabelInput {
        order,
        usage: &on_the_cookies(kitchen, &dough, &icing),
        icing: &icing,
        tints: &tints,
        designs,
        baked_cookie: &baking.baked_cookie,
        icing_on_cookie: &iced_mass(&sections, &icing),
    };
    let (label, found) = label(kitchen, &input);
    heads_ups.extend(found);
    let input = PriceInput {
        order,
        designs,
        details: &details,
        shopping: &shopping,
        oven_time: baking.oven_time,
        work: &hours(kitchen, &work),
        today: basis.today,
    };
    let (price, found) = price(kitchen, &input);
    heads_ups.extend(found);

    heads_ups.sort_by_key(|heads_up| std::cmp::Reverse(heads_up.severity));
    OrderPlan {
        details,
        icing,
        tints,
        dough,
        baking,
        passes,
        packing,
        usage,
        shopping,
        label,
        price,
        work,
        heads_ups,
        sections,
    }
}

/// What passes and their hours are planned from.
pub(crate) struct Made<'a> {
    pub(crate) sections: &'a Sections,
    pub(crate) dough: &'a DoughPlan,
    pub(crate) baking: &'a BakingPlan,
    pub(crate) icing: &'a IcingPlan,
}

/// Plans passes and the hours they lie in, which depend on each other, until nothing moves.
///
/// Layers fix the drying nights between stages, days choose the hours of a stage that is too long for one evening, and its passes
/// are put in order again inside those.
/// A stage that has its hours keeps them, so there are no more rounds than stages.
pub(crate) fn passes_in_their_hours(
    kitchen: &Kitchen,
    order: &Order,
    made: &Made<'_>,
    basis: &Basis,
    on_progress: &mut dyn FnMut() -> ControlFlow<()>,
) -> (PassesPlan, OrderWork, Vec<HeadsUp>) {
    let Made { sections, dough, baking, icing } = *made;
    let designs = &sections.designs;
    let mut hours: Vec<Stretches> = Vec::new();
    loop {
        let budget = basis.effort.sequence_budget();
        let (passes, found) =
            plan_passes(kitchen, sections, icing, &hours, budget, basis.seed, on_progress);
        let work = order_work(kitchen, order, designs, dough, baking, icing, &passes);
        let cut = stretches_of(kitchen, &work, basis.today);
        let known = hours.clone();
        for (session, stretches) in cut {
            let Some(stage) = passes.sessions.get(session).map(|session| session.stage) else {
                continue;
            };
            hours.resize(hours.len().max(stage + 1), Stretches::new());
            if hours[stage].is_empty() {
                hours[stage] = stretches;
            }
        }
        if hours == known {
            return (passes, work, found);
        }
    }
}

/// Returns the kitchen as it is for an order: the air of its days, and what its maker wants at the bench.
pub(crate) fn kitchen_for(kitchen: &Kitchen, order: &Order) -> Kitchen {
    let mut drying = kitchen.drying.on(order.first_handover().at.date());
    drying.fan = order.bench.fan.unwrap_or(drying.fan);
    let makers = order.bench.makers.unwrap_or(kitchen.makers);
    Kitchen { drying, makers, ..kitchen.clone() }
}

/// Plans the days of all open orders together, from what each asks of them ([`OrderPlan::work`]).
pub fn plan_week(
    kitchen: &Kitchen,
    works: &[OrderWork],
    basis: &Basis,
    on_progress: &mut dyn FnMut(News) -> ControlFlow<()>,
) -> (Days, Vec<HeadsUp>) {
    let Basis { today, effort, seed } = *basis;
    plan_days(kitchen, works, today, effort.sequence_budget(), seed, &mut || {
        on_progress(Chapter::Days.into())
    })
}

/// Lays out the same days, to be asked whether one more order fits.
///
/// # Errors
/// The days cannot be laid out; the heads-up says why.
pub fn lay_out(kitchen: &Kitchen, works: &[OrderWork], basis: &Basis) -> Result<Week, HeadsUp> {
    let Basis { today, effort, seed } = *basis;
    let on_progress = &mut || ControlFlow::Continue(());
    Week::plan(kitchen, works, today, effort.sequence_budget(), seed, on_progress)
}

/// What goes into dough and icing, icing from stock included: it counts as made by the same recipe, and the label says so.
fn on_the_cookies(kitchen: &Kitchen, dough: &DoughPlan, icing: &IcingPlan) -> Vec<Usage> {
    let from_stock = icing.bowls.iter().map(|bowl| bowl.from_stock).sum();
    let stock = kitchen.recipe(&kitchen.icing.recipe).map(|recipe| recipe.scaled_to(from_stock));
    usage(dough.parts.iter().chain(&icing.batch.parts).cloned().chain(stock.unwrap_or_default()))
}

/// Icing on one cookie of each design.
fn iced_mass(sections: &Sections, icing: &IcingPlan) -> Vec<quantity::Mass> {
    sections
        .designs
        .iter()
        .map(|design| icing.on_cookie[design.sections.clone()].iter().copied().sum())
        .collect()
}

fn details(order: &Order, chapter: &Sections) -> Vec<Detail> {
    order
        .items
        .iter()
        .zip(&chapter.designs)
        .map(|(item, design)| match &item.picture {
            ItemPicture::Undrawn { detail, .. } => *detail,
            ItemPicture::Drawn { .. } => detail_of(&chapter.sections[design.sections.clone()]),
        })
        .collect()
}

/// The maker's hours, from the steps of the days and what is said and drawn before them.
fn hours(kitchen: &Kitchen, work: &OrderWork) -> Vec<Work> {
    let total = |wanted: &dyn Fn(Activity) -> bool| -> Span {
        work.steps.iter().filter(|step| wanted(step.activity)).map(|step| step.duration).sum()
    };
    vec![
        Work {
            name: "dough, cutting, baking",
            time: total(&|a| matches!(a, Activity::MakeDough | Activity::Cut)),
        },
        Work {
            name: "icing and decorating",
            // Everybody at the table is paid.
            time: total(&|a| a == Activity::MakeIcing)
                + total(&|a| matches!(a, Activity::Decorate(_))) * kitchen.makers.max(1) as f64,
        },
        Work { name: "packing", time: total(&|a| a == Activity::Pack) },
        Work {
            name: "setting up and washing up",
            time: (kitchen.pace.set_up + kitchen.pace.wash_up) * work.n_stretches() as f64,
        },
        Work { name: "messages and design", time: kitchen.pace.messages },
    ]
}

/// What every maker is told before any work.
fn before_work(kitchen: &Kitchen, order: &Order) -> Vec<HeadsUp> {
    let mut heads_ups = vec![
        HeadsUp::new(
            Severity::Note,
            Subject::Dough,
            "Raw dough is not for tasting: flour and eggs are raw foods (CDC, Raw Flour and Dough).",
        )
        .hint("Wash hands, tools and phone between raw dough and icing, and do not bake for others when ill."),
        HeadsUp::new(
            Severity::Note,
            Subject::Order,
            "Whether food made at home may be sold and shipped is decided where you live.",
        )
        .hint("Check your local rules; this is not legal advice."),
    ];
    for item in &order.items {
        if let Some(date) = item.baked_frozen_on {
            heads_ups.push(
                HeadsUp::new(
                    Severity::Note,
                    Subject::Item(item.name.clone()),
                    format!("These cookies were baked and frozen on {}: no dough, no tray and no oven are planned for them.", date.strftime("%-d %B %Y")),
                )
                .hint("Let them thaw in their closed box before icing; naked cookies keep about 60 days in the freezer."),
            );
        }
    }
    heads_ups.extend(about_the_air(&kitchen.drying.air));
    if order.count() > kitchen.week_cap {
        heads_ups.push(
            HeadsUp::new(
                Severity::Caution,
                Subject::Order,
                format!(
                    "{} cookies are more than the {} of a week that suits this kitchen.",
                    order.count(),
                    kitchen.week_cap
                ),
            )
            .hint("Spread the work over two weeks with frozen dough and frozen cookies, or find a helper."),
        );
    }
    if order.handovers.len() > 1 {
        heads_ups.push(HeadsUp::new(
            Severity::Note,
            Subject::Days,
            "There are several hand-overs: everything is iced before the first one, and each part is packed by the evening before its own.",
        ));
    }
    heads_ups
}

/// Below this part of the usual speed the waits of a plan are worth a word (common practice, no source).
const SLOW: f64 = 0.7;

/// Below this part of the usual speed no wait is long enough to count on (common practice, no source).
const HARDLY: f64 = 0.15;

/// Says where the air of the room lets icing dry slowly or not at all.
pub(crate) fn about_the_air(air: &Air) -> Option<HeadsUp> {
    let speed = speed(air);
    let room = format!("{:.0} °C and {:.0} %", air.celsius, air.humidity.to_percent());
    let (severity, message) = if speed < HARDLY {
        (Severity::Stop, format!("At {room} icing hardly dries, however long it waits."))
    } else if speed < SLOW {
        let slower = 1.0 / speed;
        let message = format!(
            "At {room} icing dries {slower:.1} times as slowly as at 20 °C and 50 %; all waits are planned so."
        );
        (Severity::Note, message)
    } else {
        return None;
    };
    Some(HeadsUp::new(severity, Subject::Days, message).hint(
        "Dry the air to about 50 % with a dehumidifier or air conditioning and set a fan on the cookies; an oven or a heater makes fat bleed into the icing.",
    ))
}

/// Wording nobody confirmed in writing must not be piped.
fn wording(order: &Order, chapter: &Sections) -> Vec<HeadsUp> {
    if order.wording_confirmed {
        return Vec::new();
    }
    chapter
        .sections
        .iter()
        .filter(|section| section.technique == Technique::Lettering)
        .map(|section| {
            HeadsUp::new(
                Severity::Stop,
                Subject::Section(section.id.clone()),
                "The wording is not confirmed in writing.",
            )
            .hint("Ask the customer before this is piped, and note in the order that the wording is confirmed.")
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use quantity::Share;

    use super::*;

    #[test]
    fn air_too_humid_to_dry_in_stops_and_slow_air_is_told() {
        let told = |celsius: f64, percent: f64| {
            let air = Air { celsius, humidity: Share::percent(percent) };
            about_the_air(&air).map(|one| (one.severity, one.message))
        };
        assert_eq!(told(20.0, 50.0), None);
        assert_eq!(told(25.0, 45.0), None);
        // (0.85 - 0.70) / (0.85 - 0.50) = 0.43 of the usual speed.
        let slow = "At 20 °C and 70 % icing dries 2.3 times as slowly as at 20 °C and 50 %; all waits are planned so.";
        assert_eq!(told(20.0, 70.0), Some((Severity::Note, slow.to_owned())));
        let (severity, _) = told(28.0, 90.0).expect("nothing dries there");
        assert_eq!(severity, Severity::Stop);
    }
}
