//! Random sessions like those of the fixtures, from a seed.

use std::ops::ControlFlow;

use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;
use timing::{Bag, Row, RowLag, RowProblem, RowSection, SetUp, WetLimit, check_rows, solve_rows};

/// Draws a session of `n` rows: designs of three to nine sections each, most flooded before they are detailed,
/// some sections wet in others, neighbors that dry before each other, bags of few colors in two consistencies.
///
/// One tick is ten seconds or so: 1 to 12 on a copy, 60 to 120 of rest on an overlay, 30 between neighbors.
pub(crate) fn session(n: usize, most_copies: i64, seed: u64) -> RowProblem {
    let mut chance = Xoshiro256PlusPlus::seed_from_u64(seed);
    let n_colors = 2 + n / 8;
    let bags: Vec<Bag> = (0..2 * n_colors)
        .map(|bag| Bag { color: bag / 2, prep: chance.random_range(15..40) })
        .collect();
    let (mut rows, mut lags): (Vec<Row>, Vec<RowLag>) = (Vec::new(), Vec::new());
    let mut group = 0;
    while rows.len() < n {
        let first = rows.len();
        let copies = chance.random_range(most_copies.div_euclid(3)..=most_copies);
        let n_rows = chance.random_range(3..10).min(n - first);
        for at in 0..n_rows {
            let color = chance.random_range(0..n_colors);
            // Outlines and details are stiff, floods are not.
            let is_flood = at < n_rows.div_ceil(2);
            let mut sections = vec![RowSection {
                bag: 2 * color + usize::from(is_flood),
                per_copy: chance.random_range(1..13),
            }];
            let mut limits = Vec::new();
            if is_flood && chance.random_range(0..6) == 0 {
                let color = chance.random_range(0..n_colors);
                sections
                    .push(RowSection { bag: 2 * color + 1, per_copy: chance.random_range(1..4) });
                limits.push(WetLimit { base: 0, over: 1, most: chance.random_range(12..40) });
            }
            rows.push(Row { sections, copies, swap: 2, limits, group: Some(group) });
            let here = (first + at, 0);
            if !is_flood {
                // Onto one or two floods.
                let n_floods = n_rows.div_ceil(2);
                for _ in 0..chance.random_range(1..3) {
                    let under = (first + chance.random_range(0..n_floods), 0);
                    let lag = chance.random_range(60..120);
                    lags.push(RowLag { from: under, to: here, lag, back: None });
                }
            } else if at > 0 && chance.random_range(0..3) > 0 {
                let beside = (first + chance.random_range(0..at), 0);
                lags.push(RowLag { from: beside, to: here, lag: 30, back: Some(30) });
            }
        }
        group += 1;
    }
    RowProblem {
        rows,
        lags,
        bags,
        set_up: SetUp { same_color: 2, other: 3 },
        windows: None,
        n_workers: 1,
        crust: None,
        may_split: false,
    }
}

/// Returns how far the best order of a session is above its bound, in thousandths of it.
fn gap(n: usize, most_copies: i64, seed: u64) -> i64 {
    let problem = session(n, most_copies, seed);
    let found = solve_rows(&problem, 50_000, 1, &mut |_| ControlFlow::Continue(()));
    let found = found.expect("an order");
    assert_eq!(check_rows(&problem, &found), [], "{n} rows, {most_copies} copies, seed {seed}");
    1000 * (found.active - found.bound) / found.bound
}

#[test]
fn sessions_of_ten_rows_are_proved_optimal() {
    for most_copies in [4, 8, 12] {
        for seed in 0..8 {
            assert_eq!(gap(10, most_copies, seed), 0, "{most_copies} copies, seed {seed}");
        }
    }
}

#[test]
fn sessions_of_up_to_fifty_rows_are_proved_to_a_hundredth() {
    for n in [20, 35, 50] {
        for most_copies in [4, 8, 12] {
            for seed in 0..2 {
                assert!(
                    gap(n, most_copies, seed) < 10,
                    "{n} rows, {most_copies} copies, seed {seed}"
                );
            }
        }
    }
}
