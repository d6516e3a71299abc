//! From what orders ask of the days to the engine's problem.

use timing::{Age, CalendarProblem, Hold, Link, LinkKind, Project, Task, Work};

use crate::{
    days::{
        Activity, OrderWork, Step,
        axis::{Axis, minutes},
        pool::Bundle,
    },
    kitchen::Kitchen,
};

/// Places of the resources among the problem's capacities.
pub(super) const OVEN: usize = 0;
pub(super) const MIXER: usize = 1;
pub(super) const TRAYS: usize = 2;

/// Lays all orders out for the engine, bundle by bundle.
pub(super) fn problem(
    kitchen: &Kitchen,
    axis: &Axis,
    orders: &[OrderWork],
    bundles: &[Bundle],
) -> CalendarProblem {
    CalendarProblem {
        projects: bundles.iter().map(|one| one.project(kitchen, axis, orders)).collect(),
        windows: axis.windows.clone(),
        // A load fills the oven, however many trays that are.
        capacities: vec![1, 1, n_trays(kitchen)],
        former: bundles.iter().map(|one| one.former(axis)).collect(),
        move_cost: MOVE_COST,
        ..CalendarProblem::default()
    }
}

/// A piece of work that was told moves only where that makes cookies fresher by so many minutes (common practice, no source).
const MOVE_COST: i64 = 6 * 60;

fn n_trays(kitchen: &Kitchen) -> i64 {
    kitchen.trays.iter().map(|tray| i64::from(tray.owned)).sum::<i64>().max(1)
}

/// Lays out one order that is to be packed by a minute; what is handed over later is packed by its own evening.
pub(super) fn project(kitchen: &Kitchen, axis: &Axis, order: &OrderWork, due: i64) -> Project {
    let links = order
        .rests
        .iter()
        .map(|rest| Link {
            from: rest.after,
            to: rest.before,
            kind: LinkKind::FinishStart,
            min: minutes(rest.least),
            // What is done is as old as it is.
            max: rest.most.filter(|_| !is_done(order, rest.after)).map(minutes),
        })
        .collect();
    let place = |wanted: &dyn Fn(Activity) -> bool| {
        order.steps.iter().position(|step| wanted(step.activity))
    };
    // Cookies dry on the trays from the first icing until they are packed.
    let first_icing = place(&|activity| matches!(activity, Activity::Decorate(_)));
    let packing = order.steps.iter().rposition(|step| step.activity == Activity::Pack);
    let holds = match (first_icing, packing) {
        (Some(from), Some(to)) => {
            let quantity = (order.n_trays as i64).clamp(0, n_trays(kitchen));
            vec![Hold { resource: TRAYS, quantity, from, to }]
        }
        _ => Vec::new(),
    };
    let done_by = |step: &Step| if step.handover > 0 { axis.done_by(order, step) } else { due };
    let last = order.steps.iter().map(done_by).fold(due, i64::max);
    let due_task = |step: &Step| {
        let own = done_by(step);
        Task { due: (own < last).then_some(own), ..task(axis, step) }
    };
    Project {
        tasks: order.steps.iter().map(due_task).collect(),
        links,
        holds,
        due: last,
        weight: 1,
        buffer: 0,
        ages: place(&|activity| activity == Activity::Bake)
            .map(|task| Age { task, due })
            .into_iter()
            .collect(),
        fresh_max: None,
    }
}

fn is_done(order: &OrderWork, step: usize) -> bool {
    order.steps.get(step).is_some_and(|step| step.done.is_some())
}

pub(super) fn task(axis: &Axis, step: &Step) -> Task {
    let (activity, duration) = (step.activity, minutes(step.duration));
    let fits = duration <= axis.longest_window();
    Task {
        duration,
        work: match activity {
            // More loads than fit an evening go on the next day, like other long work.
            Activity::Bake if fits => Work::Supervised,
            Activity::Temper => Work::Unattended,
            // What fits an evening is done in one; only longer work goes on the next day.
            _ => Work::Attended { breakable: !fits },
        },
        uses: match activity {
            Activity::Bake => vec![(OVEN, 1)],
            Activity::MakeDough | Activity::MakeIcing => vec![(MIXER, 1)],
            _ => Vec::new(),
        },
        due: None,
        // Only its end matters to what follows.
        fixed: step.done.and_then(|day| axis.done_at(day, activity)).map(|at| (at, at)),
    }
}
