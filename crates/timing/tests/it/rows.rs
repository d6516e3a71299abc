//! Rows over copies, in one part or two.

use std::ops::ControlFlow;

use crate::documents;
use proptest::prelude::{
    Just, ProptestConfig, Strategy, any, prop, prop_assert, prop_assert_eq, prop_oneof, proptest,
};
use timing::{
    Bag, Crust, Error, Row, RowLag, RowPart, RowProblem, RowSection, RowSequence, SetUp, Violation,
    WetLimit, check_rows, solve_rows,
};

fn solved(problem: &RowProblem, budget: u64, seed: u64) -> Result<RowSequence, Error> {
    solve_rows(problem, budget, seed, &mut |_| ControlFlow::Continue(()))
}

/// Rows of so many ticks on each of four copies, each row 30 ticks of rest after the one before.
fn chain(per_copy: &[i64]) -> RowProblem {
    RowProblem {
        rows: per_copy
            .iter()
            .enumerate()
            .map(|(bag, &per_copy)| Row {
                sections: vec![RowSection { bag, per_copy }],
                copies: 4,
                swap: 0,
                limits: vec![],
                group: Some(0),
            })
            .collect(),
        lags: (1..per_copy.len())
            .map(|to| RowLag { from: (to - 1, 0), to: (to, 0), lag: 30, back: None })
            .collect(),
        bags: (0..per_copy.len()).map(|color| Bag { color, prep: 0 }).collect(),
        set_up: SetUp { same_color: 0, other: 0 },
        windows: None,
        n_workers: 1,
        crust: None,
        may_split: false,
        orders: vec![],
    }
}

#[test]
fn a_row_in_two_parts_lets_the_next_begin_earlier() {
    // Slow, fast, slow. In one part: the fast row waits for the last copy, 40 + 30 - 3 * 2 = 64; the next is 32 behind it.
    let mut problem = chain(&[10, 2, 10]);
    let whole = solved(&problem, 2000, 1).expect("solved");
    assert_eq!(check_rows(&problem, &whole), []);
    assert_eq!((whole.active, whole.bound, whole.parts.len()), (136, 136, 3));
    // Two copies of it at 48, two at 68; the last row from 80 to 120.
    problem.may_split = true;
    // A short look tries parts, too.
    for budget in [2_000, 60_000] {
        let split = solved(&problem, budget, 1).expect("solved");
        assert_eq!(check_rows(&problem, &split), []);
        assert_eq!(split.active, 120);
        assert!(split.parts.len() > 3);
        // Whatever the parts: all of the slow row, then 30 + 2 + 30 + 10 on its last copy.
        assert_eq!(split.bound, 40 + 72);
    }
}

#[test]
fn the_rows_of_an_instance_take_as_long_as_its_jobs() {
    let json = include_str!("../../../../fixtures/timing/sequence_wet.json");
    let problem = documents::row_problem(json);
    let found = solved(&problem, 60_000, 1).expect("solved");
    assert_eq!(check_rows(&problem, &found), []);
    // The optimum that is proved for its jobs.
    assert_eq!((found.active, found.bound), (2791, 2771));
}

#[test]
fn a_split_that_saves_nothing_is_not_made() {
    let mut problem = chain(&[10, 10, 10]);
    problem.may_split = true;
    let found = solved(&problem, 40_000, 1).expect("solved");
    assert_eq!((found.parts.len(), found.active), (3, 120));
}

#[test]
fn a_row_that_is_to_go_first_is_done_on_every_copy_before_the_other_begins() {
    // Four copies of 10 ticks, then 2: one after the other 48, in whichever order where nothing is asked.
    let free = RowProblem { lags: vec![], ..chain(&[10, 2]) };
    for (first, then) in [(0, 1), (1, 0)] {
        let asked = RowProblem { orders: vec![(first, then)], ..free.clone() };
        let found = solved(&asked, 1000, 1).expect("solved");
        assert_eq!((check_rows(&asked, &found), found.active), (vec![], 48));
        assert_eq!(found.parts[0].row, first);
        let other = RowProblem { orders: vec![(then, first)], ..free.clone() };
        assert!(matches!(check_rows(&other, &found)[..], [Violation::Lag { before: 1, after: 0 }]));
    }
    let around = RowProblem { orders: vec![(0, 1), (1, 0)], ..free };
    assert!(matches!(solved(&around, 1000, 1), Err(Error::Cycle { .. })));
}

#[test]
fn lags_from_start_to_start_are_told_of_parts_that_share_copies() {
    let problem = chain(&[10, 4]);
    let part = |row, from, to| RowPart { row, from, to, start: 0, end: 0, worker: 0 };
    let lag = |first, second| problem.start_lag(&problem.lags[0], &first, &second);
    // By hand: copy 3 is done at 40, rests 30, and is begun 12 after the start of the second row.
    assert_eq!(lag(part(0, 0, 4), part(1, 0, 4)), Some(58));
    // Of copies 2 and 3 only: done at 20, rest 30, begun 4 after the start.
    assert_eq!(lag(part(0, 2, 4), part(1, 2, 4)), Some(46));
    assert_eq!(lag(part(0, 0, 2), part(1, 2, 4)), None);
    assert_eq!(lag(part(1, 0, 4), part(0, 0, 4)), None);
}

#[test]
fn each_broken_order_of_rows_is_found() {
    let mut problem = chain(&[10, 2, 10]);
    problem.may_split = true;
    problem.bags[1].prep = 5;
    problem.crust = Some(Crust { after: 15, wipe: 1 });
    let sound = solved(&problem, 60_000, 1).expect("solved");
    assert_eq!(check_rows(&problem, &sound), []);
    let breaks = |change: &dyn Fn(&mut RowSequence), expected: &dyn Fn(&Violation) -> bool| {
        let mut broken = sound.clone();
        change(&mut broken);
        let found = check_rows(&problem, &broken);
        assert!(found.iter().any(expected), "{found:?}");
    };
    let last = sound.parts.len() - 1;
    breaks(&|s| s.parts[last].to -= 1, &|v| matches!(v, Violation::Parts { .. }));
    breaks(&|s| s.parts[last].end += 1, &|v| matches!(v, Violation::Parts { .. }));
    breaks(&|s| s.parts.truncate(last), &|v| matches!(v, Violation::Parts { .. }));
    breaks(&|s| s.parts[0].row = 9, &|v| *v == Violation::WrongLength);
    breaks(
        &|s| {
            (s.parts[last].start, s.parts[last].end) =
                (s.parts[last].start - 9, s.parts[last].end - 9)
        },
        &|v| matches!(v, Violation::Lag { .. }),
    );
    breaks(&|s| s.prep_starts[1] = None, &|v| matches!(v, Violation::Preparation { bag: 1 }));
    breaks(&|s| s.active -= 1, &|v| *v == Violation::Figure { name: "active" });
    breaks(&|s| s.n_wipes += 1, &|v| *v == Violation::Figure { name: "wipes" });
    breaks(&|s| s.bound = s.active + 1, &|v| *v == Violation::Figure { name: "bound" });
    // Split, where it may not be.
    let whole = RowProblem { may_split: false, ..problem.clone() };
    assert!(check_rows(&whole, &sound).iter().any(|v| matches!(v, Violation::Parts { .. })));
}

#[test]
fn what_is_no_row_problem_is_refused_by_name() {
    let refuses = |change: &dyn Fn(&mut RowProblem), expected: Error| {
        let mut problem = chain(&[10, 2]);
        change(&mut problem);
        assert_eq!(solved(&problem, 10, 1), Err(expected));
    };
    let unknown = |what, index, n| Error::Unknown { what, index, n };
    refuses(&|p| p.rows[0].sections.clear(), unknown("section", 0, 0));
    refuses(&|p| p.lags[0].to = (2, 0), unknown("row", 2, 2));
    refuses(&|p| p.lags[0].to = (1, 1), unknown("section", 1, 1));
    refuses(&|p| p.rows[0].sections[0].bag = 2, unknown("bag", 2, 2));
    refuses(&|p| p.lags[0].to = (0, 0), Error::Cycle { what: "rows", members: vec![0] });
    refuses(&|p| p.orders.push((0, 2)), unknown("row", 2, 2));
    let most = 1 << 40;
    let copies = Error::OutOfRange { what: "copies of row", index: 1, value: -1, least: 0, most };
    refuses(&|p| p.rows[1].copies = -1, copies);
}

fn row_problem() -> impl Strategy<Value = RowProblem> {
    let section = (0..4_usize, 1..15_i64);
    let row = (prop::collection::vec(section, 1..3), 0..2_usize, 5..60_i64, any::<bool>());
    let lag =
        (any::<prop::sample::Index>(), any::<prop::sample::Index>(), 0..60_i64, any::<bool>());
    let windows = prop_oneof![
        Just(None),
        Just(Some((0..12).map(|day| (day * 400, day * 400 + 250)).collect::<Vec<_>>()))
    ];
    let crust = prop::option::of((0..60_i64, 0..8_i64));
    (
        prop::collection::vec(row, 1..6),
        prop::collection::vec(lag, 0..6),
        prop::collection::vec((0..3_usize, 0..12_i64), 4),
        (prop::collection::vec(0..9_i64, 2), 1..=3_usize, windows, crust, any::<bool>()),
    )
        .prop_map(|(rows, lags, bags, (copies, n_workers, windows, crust, may_split))| {
            let rows: Vec<Row> = rows
                .into_iter()
                .map(|(sections, group, most, is_grouped)| Row {
                    limits: (1..sections.len())
                        .map(|over| WetLimit { base: 0, over, most })
                        .collect(),
                    sections: sections
                        .into_iter()
                        .map(|(bag, per_copy)| RowSection { bag, per_copy })
                        .collect(),
                    copies: copies[group],
                    swap: 2,
                    group: is_grouped.then_some(group),
                })
                .collect();
            let lags = lags.into_iter().filter_map(|(a, b, lag, fixed)| {
                let (a, b) = (a.index(rows.len()), b.index(rows.len()));
                let (a, b) = (a.min(b), a.max(b));
                let last = rows[a].sections.len() - 1;
                let back = (!fixed).then_some(lag / 2);
                (a != b).then_some(RowLag { from: (a, last), to: (b, 0), lag, back })
            });
            RowProblem {
                lags: lags.collect(),
                bags: bags.into_iter().map(|(color, prep)| Bag { color, prep }).collect(),
                set_up: SetUp { same_color: 2, other: 5 },
                windows,
                n_workers,
                crust: crust.map(|(after, wipe)| Crust { after, wipe }),
                may_split,
                orders: vec![],
                rows,
            }
        })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 100, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_order_of_rows_is_sound_and_found_again(problem in row_problem(), seed in any::<u64>()) {
        match solved(&problem, 30_000, seed) {
            Ok(found) => {
                prop_assert_eq!(check_rows(&problem, &found), []);
                let again = solved(&problem, 30_000, seed);
                prop_assert_eq!(Ok(&found), again.as_ref());
                // Two parts at once, a copy too few, a wipe too many: each is found.
                if let [first, .., last] = found.parts[..] {
                    let mut broken = found.clone();
                    let end = broken.parts.len() - 1;
                    let length = last.end - last.start;
                    broken.parts[end] = RowPart {
                        start: first.start,
                        end: first.start + length,
                        worker: first.worker,
                        ..last
                    };
                    let overlap = |one: &Violation| matches!(one, Violation::Overlap { .. });
                    let takes_time = first.end > first.start && length > 0;
                    prop_assert!(!takes_time || check_rows(&problem, &broken).iter().any(overlap));
                }
                let mut broken = found.clone();
                broken.parts[0].to -= 1;
                prop_assert!(!check_rows(&problem, &broken).is_empty());
                broken = found.clone();
                broken.n_wipes += 1;
                let figure = Violation::Figure { name: "wipes" };
                prop_assert!(check_rows(&problem, &broken).contains(&figure));
                let early = solved(&problem, 500, seed);
                prop_assert!(early.is_ok_and(|early| early.active >= found.active));
                // What may be split may also not be.
                let whole = RowProblem { may_split: false, ..problem };
                let whole = solved(&whole, 2000, seed);
                prop_assert!(whole.is_ok_and(|whole| found.bound <= whole.active));
            }
            Err(error) => {
                let is_full = matches!(error, Error::Full { .. } | Error::TooLong { .. });
                prop_assert!(is_full && problem.windows.is_some());
            }
        }
    }
}
