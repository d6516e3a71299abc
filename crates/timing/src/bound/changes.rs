//! How much time must one worker spend on bag changes?
//!
//! A *visit* of a bag is a stretch of work that begins with it, without another bag in between.
//! Preparing a bag begins one visit for free, and so does a job that ends with it; every further visit takes a set-up.
//! The opening of a window only ends visits, since the hand is empty then, and no set-up is shorter there.
//! - A job that begins with a bag and ends with another ends a visit.
//! - Along precedences, a job from another bag between two of this bag ends a visit.
//! - If bags follow each other in a circle (some job of A precedes one of B, some job of B one of C, some of C one of A),
//!   one of them is visited twice.

use crate::{Precedence, SequenceProblem};

/// Returns ticks that the set-ups of one worker take at least, in one window or several.
///
/// `order` lists the jobs so that each comes behind those that precede it.
pub(super) fn least_set_ups(problem: &SequenceProblem, order: &[usize]) -> i64 {
    let bags: Vec<Use> = (0..problem.bags.len()).map(|bag| Use::of(problem, bag)).collect();
    let reached: Vec<Vec<bool>> = bags.iter().map(|one| one.reaches(problem, order)).collect();
    let single: i64 = bags
        .iter()
        .map(|one| {
            let n_visits = one.n_visits(problem, order).max(one.n_left);
            one.set_up * (n_visits - one.n_free).max(0)
        })
        .sum();
    single.max(circle(&bags, reached))
}

/// The cheapest bag of a circle of bags that follow each other; of several circles the dearest.
fn circle(bags: &[Use], mut reached: Vec<Vec<bool>>) -> i64 {
    let plain: Vec<usize> =
        (0..bags.len()).filter(|&bag| bags[bag].n_left == 0 && bags[bag].n_free <= 1).collect();
    for &by in &plain {
        for &from in &plain {
            for &to in &plain {
                reached[from][to] |= reached[from][by] && reached[by][to];
            }
        }
    }
    let on_circle = |a: usize, b: usize| a != b && reached[a][b] && reached[b][a];
    let cheapest = |&a: &usize| {
        let others = plain.iter().filter(|&&b| on_circle(a, b));
        others.map(|&b| bags[b].set_up.min(bags[a].set_up)).min()
    };
    plain.iter().filter_map(cheapest).max().unwrap_or(0)
}

/// How jobs use a bag.
struct Use {
    bag: usize,
    /// The last bag of each job.
    last: Vec<usize>,
    /// The shortest set-up to this bag.
    set_up: i64,
    /// Jobs that begin with it and end with another.
    n_left: i64,
    /// Visits that begin without a set-up: after its preparation, and after jobs that begin with another bag and end with it.
    n_free: i64,
}

impl Use {
    fn of(problem: &SequenceProblem, bag: usize) -> Self {
        let mut last: Vec<usize> = problem.jobs.iter().map(|job| job.bag).collect();
        for further in &problem.further_bags {
            last[further.job] = further.bag;
        }
        let jobs = || problem.jobs.iter().zip(&last);
        let has_mate = problem
            .bags
            .iter()
            .enumerate()
            .any(|(other, one)| other != bag && one.color == problem.bags[bag].color);
        let set_up = problem.set_up.other;
        Self {
            bag,
            set_up: if has_mate { set_up.min(problem.set_up.same_color) } else { set_up },
            n_left: jobs().filter(|(job, last)| job.bag == bag && **last != bag).count() as i64,
            n_free: i64::from(problem.bags[bag].prep > 0)
                + jobs().filter(|(job, last)| job.bag != bag && **last == bag).count() as i64,
            last,
        }
    }

    /// The most visits that follow each other along precedences.
    fn n_visits(&self, problem: &SequenceProblem, order: &[usize]) -> i64 {
        // For each job the most visits along a way to it: with the bag still in the hand, and with another.
        let mut held = vec![0; problem.jobs.len()];
        let mut gone = vec![0; problem.jobs.len()];
        let mut most = 0;
        for &job in order {
            let before = || before(problem, job);
            let was_held = before().map(|one| held[one.before]).max().unwrap_or(0);
            let was_gone = before().map(|one| gone[one.before]).max().unwrap_or(0);
            if problem.jobs[job].bag != self.bag {
                gone[job] = i64::max(was_held, was_gone);
                continue;
            }
            let n_visits = i64::max(was_held, was_gone + 1);
            most = most.max(n_visits);
            let stays = self.last[job] == self.bag;
            *(if stays { &mut held[job] } else { &mut gone[job] }) = n_visits;
        }
        most
    }

    /// For each bag whether some job of it comes behind some job of this one.
    fn reaches(&self, problem: &SequenceProblem, order: &[usize]) -> Vec<bool> {
        let mut is_behind = vec![false; problem.jobs.len()];
        let mut reached = vec![false; problem.bags.len()];
        for &job in order {
            let own = |job: usize| problem.jobs[job].bag == self.bag;
            is_behind[job] =
                before(problem, job).any(|one| is_behind[one.before] || own(one.before));
            reached[problem.jobs[job].bag] |= is_behind[job];
        }
        reached
    }
}

fn before(problem: &SequenceProblem, job: usize) -> impl Iterator<Item = &Precedence> {
    problem.precedences.iter().filter(move |one| one.after == job)
}

#[cfg(test)]
mod tests {
    use super::least_set_ups;
    use crate::{Bag, FurtherBag, Job, Precedence, SequenceProblem, SetUp};

    fn check(bags: &[usize], arcs: &[(usize, usize)], further: &[(usize, usize)], expected: i64) {
        let problem = SequenceProblem {
            jobs: bags.iter().map(|&bag| Job { duration: 1, bag }).collect(),
            further_bags: further.iter().map(|&(job, bag)| FurtherBag { job, bag }).collect(),
            bags: [0, 0, 2, 3].map(|color| Bag { color, prep: 1 }).to_vec(),
            precedences: arcs
                .iter()
                .map(|&(before, after)| Precedence { before, after, lag: 1 })
                .collect(),
            either_orders: vec![],
            set_up: SetUp { same_color: 5, other: 10 },
            windows: None,
            n_workers: 1,
            exclusive: vec![],
            crust: None,
        };
        let order: Vec<usize> = (0..bags.len()).collect();
        assert_eq!(least_set_ups(&problem, &order), expected);
    }

    #[test]
    fn every_visit_after_the_first_takes_a_set_up() {
        check(&[2, 2, 3, 3], &[(0, 2), (1, 3)], &[], 0);
        // Bag 2, then 3, then 2 again.
        check(&[2, 3, 2, 3], &[(0, 1), (1, 2)], &[], 10);
        check(&[2, 3, 2, 3], &[(0, 1), (1, 2), (2, 3)], &[], 20);
        // A bag with a mate of its color is taken up faster.
        check(&[0, 3, 0, 1], &[(0, 1), (1, 2)], &[], 5);
        // Neither bag is visited twice along one way, but one of them must be.
        check(&[2, 3, 3, 2], &[(0, 1), (2, 3)], &[], 10);
        // The same with three bags, of which bag 0 is the cheapest to take up again; and a way that is no circle.
        check(&[0, 2, 2, 3, 3, 0], &[(0, 1), (2, 3), (4, 5)], &[], 5);
        check(&[0, 2, 2, 3, 0, 3], &[(0, 1), (2, 3), (4, 5)], &[], 0);
        // Both jobs leave bag 2 for bag 3, so that it is taken up twice.
        check(&[2, 2, 3, 3], &[], &[(0, 3), (1, 3)], 10);
        // One of them comes back to it.
        check(&[2, 2, 3, 3], &[], &[(0, 3), (1, 3), (2, 2)], 0);
    }
}
