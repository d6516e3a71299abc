//! How far above their bounds are the orders found for random sessions?

use std::ops::ControlFlow;

use timing::{SetUp, check_rows, solve_rows};

use crate::random::session;

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
fn finer_ticks_prove_as_much() {
    for seed in 0..8 {
        let coarse = session(10, 4, seed);
        let mut fine = coarse.clone();
        for row in &mut fine.rows {
            row.sections.iter_mut().for_each(|section| section.per_copy *= 60);
            row.limits.iter_mut().for_each(|limit| limit.most *= 60);
            row.swap *= 60;
        }
        for lag in &mut fine.lags {
            (lag.lag, lag.back) = (lag.lag * 60, lag.back.map(|back| back * 60));
        }
        fine.bags.iter_mut().for_each(|bag| bag.prep *= 60);
        fine.set_up = SetUp { same_color: 2 * 60, other: 3 * 60 };
        let bound = |problem| {
            let found = solve_rows(problem, 1, 1, &mut |_| ControlFlow::Continue(()));
            found.expect("an order").bound
        };
        assert_eq!(bound(&fine), 60 * bound(&coarse), "seed {seed}");
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
