//! Random sessions like those of the fixtures, from a seed.

use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;
use timing::{Bag, Row, RowLag, RowProblem, RowSection, SetUp, WetLimit};

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
        orders: vec![],
    }
}
