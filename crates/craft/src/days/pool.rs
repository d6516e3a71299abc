//! What orders that need it in the same days make together: dough of one recipe, icing of one recipe, loads of the oven.
//!
//! n batches of a recipe take n times the time of one; two orders of 1.3 and 1.4 batches take 2 + 2 apart and 3 together.
//! Loads that bake equally long are batches of trays, with one heating up for all of them.
//! Each order keeps its own rests behind what is shared, so that dough is never older than it may be for any of them.

use quantity::{Share, Span};
use timing::{Age, Hold, Link, Project};

use super::{Activity, OrderWork, Step, axis::Axis, frame};
use crate::kitchen::Kitchen;

/// Orders that are placed as one, and what they make together.
#[derive(Clone, Debug)]
pub(super) struct Bundle {
    /// The orders, by their places.
    pub(super) members: Vec<usize>,
    /// All steps, each once.
    pub(super) steps: Vec<SharedStep>,
    /// For each member where its own steps stand among them.
    pub(super) places: Vec<Vec<usize>>,
}

/// A step and the orders it is for.
#[derive(Clone, Debug)]
pub(super) struct SharedStep {
    /// The orders, by their places, in the order of the members.
    pub(super) of: Vec<usize>,
    pub(super) step: Step,
}

/// Something that orders make together.
#[derive(Clone, Debug, PartialEq)]
pub struct Pooled {
    /// What is made.
    pub activity: Activity,
    /// The orders, by their places, each with its share of it.
    pub parts: Vec<(usize, Share)>,
    /// Batches less than if each made its own.
    pub n_saved: u32,
    /// Time less.
    pub saved: Span,
}

impl Bundle {
    /// Puts orders together.
    pub(super) fn new(orders: &[OrderWork], group: &Group) -> Self {
        let members = group.members.clone();
        let mut bundle = Self { members, steps: Vec::new(), places: Vec::new() };
        for &order in &bundle.members {
            let steps = orders[order].steps.iter();
            let places =
                steps.map(|step| take(&mut bundle.steps, order, step, group.shares_oven)).collect();
            bundle.places.push(places);
        }
        bundle
    }

    /// Lays them out for the engine.
    pub(super) fn project(&self, kitchen: &Kitchen, axis: &Axis, orders: &[OrderWork]) -> Project {
        let mut whole = Project {
            tasks: self.steps.iter().map(|shared| frame::task(axis, &shared.step)).collect(),
            links: Vec::new(),
            holds: Vec::new(),
            due: 0,
            weight: 1,
            buffer: 0,
            ages: Vec::new(),
            fresh_max: None,
        };
        for (&order, places) in self.members.iter().zip(&self.places) {
            let due = axis.ready_by(&orders[order]);
            let own = frame::project(kitchen, axis, &orders[order], due);
            whole.due = whole.due.max(own.due);
            // What is shared is wanted when those behind it need it.
            for (&place, task) in places.iter().zip(&own.tasks) {
                if self.steps[place].of.len() == 1 {
                    whole.tasks[place].due = Some(task.due.unwrap_or(own.due));
                }
            }
            let at = |place: usize| places[place];
            whole.links.extend(own.links.into_iter().map(|link| Link {
                from: at(link.from),
                to: at(link.to),
                ..link
            }));
            whole.holds.extend(own.holds.into_iter().map(|hold| Hold {
                from: at(hold.from),
                to: at(hold.to),
                ..hold
            }));
            whole.ages.extend(own.ages.into_iter().map(|age| Age { task: at(age.task), ..age }));
        }
        whole
    }

    /// Returns when each step was to start in the days as they stood before; nothing for what was not there or is past.
    pub(super) fn former(&self, axis: &Axis) -> Vec<Option<i64>> {
        let start = |shared: &SharedStep| {
            let former = shared.step.former.as_ref()?;
            Some(axis.minute_of(former.timestamp())).filter(|minute| *minute >= 0)
        };
        self.steps.iter().map(start).collect()
    }

    /// Returns the spans of a member's own steps.
    pub(super) fn spans_of(&self, member: usize, spans: &[timing::Span]) -> Vec<timing::Span> {
        let place = |&place: &usize| spans.get(place).cloned().unwrap_or_default();
        self.places[member].iter().map(place).collect()
    }

    /// Returns what is made together.
    pub(super) fn pooled(&self, orders: &[OrderWork]) -> Vec<Pooled> {
        let shared = self.steps.iter().filter(|shared| shared.of.len() > 1);
        shared
            .map(|shared| {
                let alone = |&order: &usize| {
                    let steps = orders[order].steps.iter();
                    let step = steps.filter(|step| step.activity == shared.step.activity);
                    step.filter_map(|step| step.batches.clone()).next()
                };
                let parts: Vec<(usize, Batches)> =
                    shared.of.iter().filter_map(|order| Some((*order, alone(order)?))).collect();
                let apart: u32 = parts.iter().map(|(_, batches)| batches.n()).sum();
                let time_apart: Span = parts.iter().map(|(_, batches)| batches.duration()).sum();
                let together = shared.step.batches.as_ref();
                let time = together.map_or(Span::ZERO, Batches::duration);
                let whole = together.map_or(0.0, |one| one.amount).max(f64::MIN_POSITIVE);
                let share =
                    |(order, one): (usize, Batches)| (order, Share::of_one(one.amount / whole));
                Pooled {
                    activity: shared.step.activity,
                    n_saved: apart.saturating_sub(together.map_or(0, Batches::n)),
                    saved: time_apart - time,
                    parts: parts.into_iter().map(share).collect(),
                }
            })
            .collect()
    }
}

/// Orders that are to be placed as one.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Group {
    /// The orders, by their places.
    pub(super) members: Vec<usize>,
    /// Whether they bake together, too.
    pub(super) shares_oven: bool,
}

/// Adds a step of an order, to what others make of the same recipe if there is such.
fn take(steps: &mut Vec<SharedStep>, order: usize, step: &Step, shares_oven: bool) -> usize {
    let recipe = |step: &Step| {
        let batches = step.batches.as_ref().filter(|_| step.done.is_none());
        batches.map(|one| one.recipe.clone())
    };
    let same = steps.iter().position(|shared| {
        shared.step.activity == step.activity
            && (shares_oven || step.activity != Activity::Bake)
            && recipe(step).is_some()
            && recipe(&shared.step) == recipe(step)
            && !shared.of.contains(&order)
    });
    let Some(at) = same else {
        steps.push(SharedStep { of: vec![order], step: step.clone() });
        return steps.len() - 1;
    };
    let shared = &mut steps[at];
    shared.of.push(order);
    if let (Some(whole), Some(more)) = (&mut shared.step.batches, &step.batches) {
        whole.amount += more.amount;
        shared.step.duration = whole.duration();
    }
    at
}

/// What is made in batches: of one recipe, or loads of the oven that bake equally long.
#[derive(Clone, Debug, PartialEq)]
pub struct Batches {
    /// Name of the recipe, or what tells one kind of load from another.
    pub recipe: String,
    /// All of it: grams, or trays.
    pub amount: f64,
    /// The most one batch takes.
    pub most: f64,
    /// Time for one batch.
    pub each: Span,
    /// Time beyond that, once for all of them.
    pub once: Span,
}

impl Batches {
    /// Returns how many batches that are.
    pub fn n(&self) -> u32 {
        // The cast keeps within the range of the integer; an amount that fits exactly is no batch more.
        (self.amount / self.most.max(1.0) - 1e-9).ceil().clamp(0.0, 1e6) as u32
    }

    /// Returns the time for all of them.
    pub fn duration(&self) -> Span {
        self.once + self.each * f64::from(self.n())
    }
}
