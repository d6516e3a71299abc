//! In which order is the set piped, and what does each pass wait for?
//!
//! A *row* is one section over all copies of its design.
//! Rows of one drying night are put in order by the engine `timing`: wet neighbors keep a skin apart in either order,
//! a top layer waits until what it lies on is set, wet-on-wet is worked together with its base, in blocks of a few cookies.
//! What lies on a base, and what needs a dry ground, waits for the night; so the layers fix how many sessions there are.
//! Rows from one bag that follow each other without a pause are one *pass*.
//! Where the maker allows it, a row is worked in two parts, first some cookies and later the others, if that saves time.
//! Pieces that are laid on are piped on paper in the first session and dry twice as long as a base.

mod compile;
#[cfg(test)]
mod joint;
mod pace;
mod read;
mod sessions;

use std::ops::ControlFlow;

use quantity::Span;

pub use pace::{piece_time, section_time};

use crate::{
    drying::State,
    heads_up::{HeadsUp, Severity, Subject},
    icing::IcingPlan,
    kitchen::Kitchen,
    technique::Sections,
};

use sessions::Stages;

/// The chapter on passes.
#[derive(Clone, Debug, Default)]
pub struct PassesPlan {
    /// Passes in the order they are worked, session by session.
    pub passes: Vec<Pass>,
    /// The sessions, with a drying night between each two.
    pub sessions: Vec<Session>,
    /// Evaluations the engine used.
    pub evaluations: u64,
}

/// One or more sections from one bag, worked over all copies in a row.
#[derive(Clone, Debug, PartialEq)]
pub struct Pass {
    /// "pass-1" and so on, in the order they are worked.
    pub id: String,
    /// The session it belongs to, by its place.
    pub session: usize,
    /// The bag, by the places of its bowl and of itself in that bowl; nothing for what is not piped.
    pub bag: Option<(usize, usize)>,
    /// Its rows, one after the other without a pause, at least one.
    pub rows: Vec<Row>,
    /// Whether it pipes pieces on paper, to be laid on later.
    pub is_ahead: bool,
    /// Which of the makers works it.
    pub maker: usize,
    /// Start, counted from the start of its session.
    pub start: Span,
    /// End, counted from the start of its session.
    pub end: Span,
    /// What it had to wait for.
    pub waits_for: Vec<Wait>,
}

impl Pass {
    /// Returns its sections, by their places, in the order they are worked.
    pub fn sections(&self) -> impl Iterator<Item = usize> + '_ {
        self.rows.iter().flat_map(|row| row.sections.iter().copied())
    }

    /// Adds something it had to wait for, once.
    fn wait_for(&mut self, wait: Wait) {
        if !self.waits_for.contains(&wait) {
            self.waits_for.push(wait);
        }
    }

    /// Returns how many cookies are worked, over all its rows.
    pub fn copies(&self) -> u32 {
        self.rows.iter().map(|row| row.copies).sum()
    }
}

/// One section over the copies of its design, or some of them, with what is worked wet into it.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// The sections, by their places: the base, then what goes on while it is wet.
    pub sections: Vec<usize>,
    /// The first of its cookies, counted from 0; another row works those before it.
    pub from: u32,
    /// How many cookies.
    pub copies: u32,
    /// Start, counted from the start of its session.
    pub start: Span,
    /// End, counted from the start of its session.
    pub end: Span,
}

/// Something a pass had to wait for.
#[derive(Clone, Debug, PartialEq)]
pub struct Wait {
    /// The earlier pass, by its place.
    pub pass: usize,
    /// The section of that pass that had to be ready.
    pub section: usize,
    /// The section of this pass that waited for it.
    pub waiting: usize,
    /// What it had to become.
    pub kind: State,
    /// The least time between finishing it on a cookie and starting on the same cookie.
    pub lag: Span,
}

/// Decorating in one go.
///
/// A stage is what lies between two drying nights: one session, or several where it is longer than the maker's hours in one go.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Session {
    /// Its stage: 0, 1 and so on.
    pub stage: usize,
    /// The least time between the session before and this one, where both are of one stage.
    pub gap: Span,
    /// From picking up the first bag to putting down the last.
    pub active: Span,
    /// No order of these rows is shorter.
    pub bound: Span,
    /// How often another bag is picked up.
    pub n_bag_changes: usize,
    /// Waiting with nothing to pipe.
    pub idle: Span,
}

/// Stretches of working time, from the opening of the first.
pub type Stretches = Vec<(Span, Span)>;

/// Plans sessions and passes.
///
/// `hours` holds, by stage, the stretches its work must lie in, each of them a session; a stage without any is one session.
/// `budget` counts evaluations for each stage; the same seed and budget give the same plan.
pub fn plan_passes(
    kitchen: &Kitchen,
    chapter: &Sections,
    icing: &IcingPlan,
    hours: &[Stretches],
    budget: u64,
    seed: u64,
    on_progress: &mut dyn FnMut() -> ControlFlow<()>,
) -> (PassesPlan, Vec<HeadsUp>) {
    let mut plan = PassesPlan::default();
    let mut heads_ups = Vec::new();
    let stages = Stages::assign(chapter);
    heads_ups.extend(pins_against_nights(chapter, &stages.on_cookie));
    for stage in 0..stages.n() {
        let mut compiled = compile::compile(kitchen, chapter, icing, &stages, stage);
        compiled.problem.windows =
            hours.get(stage).and_then(|stretches| compile::windows(stretches));
        let mut solve = |compiled: &compile::Compiled| {
            timing::solve_rows(&compiled.problem, budget, seed, &mut |_| on_progress())
        };
        let mut solved = solve(&compiled);
        if compiled.problem.windows.is_some() && solved.is_err() {
            // A row is longer than every stretch, or all are too short: the days break the session where they must.
            compiled.problem.windows = None;
            solved = solve(&compiled);
        }
        match solved {
            Ok(sequence) => {
                plan.evaluations += sequence.evaluations;
                read::append_stage(&mut plan, stage, &compiled, &sequence);
            }
            // Layers and neighbors cannot contradict each other; only the maker's own choices could.
            Err(error) => {
                heads_ups.push(contradiction(chapter, &compiled, &error));
                let without = Sections { pins: Vec::new(), ..chapter.clone() };
                let compiled = compile::compile(kitchen, &without, icing, &stages, stage);
                if let Ok(sequence) = solve(&compiled) {
                    plan.evaluations += sequence.evaluations;
                    read::append_stage(&mut plan, stage, &compiled, &sequence);
                }
            }
        }
    }
    read::count_bag_changes(&mut plan);
    read::wait_for_nights(&mut plan, chapter, kitchen);
    (plan, heads_ups)
}

/// Returns how long pieces piped on paper dry before they are laid on: from below no air comes to them
/// (24 to 48 h where a base takes 12; common practice, no source).
pub(crate) fn pieces_dry(kitchen: &Kitchen) -> Span {
    kitchen.drying.wait(State::Dry, kitchen.icing.base_depth) * 2.0
}

/// Says which sections of the maker's own order cannot come first, since a drying night lies before them.
fn pins_against_nights(chapter: &Sections, stage_of: &[Option<usize>]) -> Vec<HeadsUp> {
    let backward = chapter.pins.iter().filter(|(first, then)| stage_of[*first] > stage_of[*then]);
    backward
        .map(|&(first, then)| {
            let (first, then) = (&chapter.sections[first].id, &chapter.sections[then].id);
            let message = format!(
                "\"{first}\" cannot be piped before \"{then}\": a drying night lies before it, and none before the other."
            );
            HeadsUp::new(Severity::Caution, Subject::Section(first.clone()), message)
                .hint("Take that order back under \"What if\".")
        })
        .collect()
}

/// Says which sections wait for each other.
fn contradiction(
    chapter: &Sections,
    compiled: &compile::Compiled,
    error: &timing::Error,
) -> HeadsUp {
    let message = match error {
        timing::Error::Cycle { members, .. } => {
            let rows = members.iter().filter_map(|&job| compiled.rows.get(job));
            let ids: Vec<String> = rows
                .filter_map(|row| Some(chapter.sections.get(*row.sections.first()?)?.id.clone()))
                .collect();
            format!(
                "The order of piping contradicts itself: {} wait for each other.",
                ids.join(" and ")
            )
        }
        error => format!("The order of piping cannot be planned: {error}."),
    };
    HeadsUp::new(Severity::Stop, Subject::Order, message)
        .hint("Take back what is to be piped first, or the choices of technique and ground for these designs.")
}
