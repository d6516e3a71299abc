//! `work.json`, format 1: what one order asks of the days, kept so that a new day needs no new plan of every order.

use quantity::{Mass, Span};
use serde::{Deserialize, Serialize};

use crate::days::{Activity, Batches, MixedShade, OrderWork, Rest, Step};

/// What one order asks of the days.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct WorkDocument {
    /// The order's title.
    pub title: String,
    /// Its hand-overs, earliest first (RFC 9557).
    pub handovers: Vec<String>,
    /// Cookies that are handed over.
    #[serde(default)]
    pub n_cookies: u32,
    /// Work in the order it is done.
    pub steps: Vec<StepDocument>,
    /// Rests between steps.
    pub rests: Vec<RestDocument>,
    /// Trays its cookies dry on.
    pub n_trays: usize,
    /// When the oldest icing it takes from stock was made: a date.
    #[serde(default)]
    pub oldest_icing: Option<String>,
    /// The last session in which icing is piped.
    #[serde(default)]
    pub last_icing: Option<u32>,
    /// Shades that are mixed for it.
    #[serde(default)]
    pub shades: Vec<ShadeDocument>,
}

/// A shade that is mixed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ShadeDocument {
    /// Its color, such as "#c8553d".
    pub color: String,
    /// How much of it.
    pub mass_g: f64,
    /// The sessions in which it is first and last piped, counted from 1.
    pub sessions: (u32, u32),
}

/// One piece of work.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct StepDocument {
    /// What is done.
    pub activity: String,
    /// How long hands or oven are busy.
    pub duration_s: f64,
    /// What is made in batches.
    #[serde(default)]
    pub batches: Option<BatchesDocument>,
    /// The hand-over before which it must be done, by its place.
    #[serde(default)]
    pub handover: usize,
}

/// What is made in batches: of one recipe, or loads of the oven that bake equally long.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BatchesDocument {
    /// Name of the recipe, or what tells one kind of load from another.
    pub recipe: String,
    /// All of it: grams, or trays.
    pub amount: f64,
    /// The most one batch takes.
    pub most: f64,
    /// Time for one batch.
    pub each_s: f64,
    /// Time beyond that, once for all of them.
    pub once_s: f64,
}

/// Time that must pass between two steps.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RestDocument {
    /// What happens meanwhile, if it has a name.
    pub activity: Option<String>,
    /// The step before, by its place.
    pub after: usize,
    /// The step behind, by its place.
    pub before: usize,
    /// The least time between them.
    pub least_s: f64,
    /// The most time between them.
    pub most_s: Option<f64>,
}

impl From<&OrderWork> for WorkDocument {
    fn from(work: &OrderWork) -> Self {
        Self {
            title: work.title.clone(),
            handovers: work.handovers.iter().map(ToString::to_string).collect(),
            n_cookies: work.n_cookies,
            steps: work
                .steps
                .iter()
                .map(|step| StepDocument {
                    activity: step.activity.name(),
                    duration_s: step.duration.to_seconds(),
                    batches: step.batches.as_ref().map(|batches| BatchesDocument {
                        recipe: batches.recipe.clone(),
                        amount: batches.amount,
                        most: batches.most,
                        each_s: batches.each.to_seconds(),
                        once_s: batches.once.to_seconds(),
                    }),
                    handover: step.handover,
                })
                .collect(),
            rests: work
                .rests
                .iter()
                .map(|rest| RestDocument {
                    activity: rest.activity.map(Activity::name),
                    after: rest.after,
                    before: rest.before,
                    least_s: rest.least.to_seconds(),
                    most_s: rest.most.map(Span::to_seconds),
                })
                .collect(),
            n_trays: work.n_trays,
            oldest_icing: work.oldest_icing.map(|date| date.to_string()),
            last_icing: work.last_icing,
            shades: work
                .shades
                .iter()
                .map(|shade| ShadeDocument {
                    color: shade.color.to_hex(),
                    mass_g: shade.mass.to_g(),
                    sessions: shade.sessions,
                })
                .collect(),
        }
    }
}

impl WorkDocument {
    /// Returns the work as the planner takes it; nothing if it was kept by a version that knew other activities.
    pub fn to_work(&self) -> Option<OrderWork> {
        let n_steps = self.steps.len();
        let steps = self.steps.iter().map(|step| {
            let duration = Span::seconds(step.duration_s);
            let batches = step.batches.as_ref().map(|batches| Batches {
                recipe: batches.recipe.clone(),
                amount: batches.amount,
                most: batches.most,
                each: Span::seconds(batches.each_s),
                once: Span::seconds(batches.once_s),
            });
            Some(Step {
                activity: Activity::by_name(&step.activity)?,
                duration,
                batches,
                handover: step.handover,
                done: None,
                former: None,
            })
        });
        let rests = self.rests.iter().map(|rest| {
            let activity = match &rest.activity {
                Some(name) => Some(Activity::by_name(name)?),
                None => None,
            };
            (rest.after < n_steps && rest.before < n_steps).then_some(Rest {
                activity,
                after: rest.after,
                before: rest.before,
                least: Span::seconds(rest.least_s),
                most: rest.most_s.map(Span::seconds),
            })
        });
        let shades = self.shades.iter().map(|shade| {
            let color = drawing::Color::parse(&shade.color).ok()?;
            Some(MixedShade { color, mass: Mass::g(shade.mass_g), sessions: shade.sessions })
        });
        Some(OrderWork {
            shades: shades.collect::<Option<_>>()?,
            title: self.title.clone(),
            handovers: self.handovers.iter().map(|at| at.parse().ok()).collect::<Option<_>>()?,
            n_cookies: self.n_cookies,
            steps: steps.collect::<Option<_>>()?,
            rests: rests.collect::<Option<_>>()?,
            n_trays: self.n_trays,
            last_icing: self.last_icing,
            oldest_icing: match &self.oldest_icing {
                Some(date) => Some(date.parse().ok()?),
                None => None,
            },
        })
    }
}
