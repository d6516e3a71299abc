//! The answer to a request beside ten orders, and the same for eight weeks.

use std::hint::black_box;

use craft::{
    days::OrderWork,
    document::start_kitchen,
    kitchen::Kitchen,
    order::Detail,
    plan::{Basis, Effort, lay_out},
    request::{Wish, plan_wish},
};
use criterion::{Criterion, criterion_group, criterion_main};
use jiff::civil::date;

fn days(criterion: &mut Criterion) {
    let kitchen = Kitchen { week_cap: 1000, ..start_kitchen() };
    let today = date(2027, 6, 1);
    let wish = |ahead: i64, count| {
        let day = today.saturating_add(jiff::Span::new().days(ahead));
        let at = day.at(12, 0, 0, 0).in_tz("America/Halifax").expect("a time");
        Wish { count, detail: Detail::Dressed, at }
    };
    let work = |ahead| plan_wish(&kitchen, &wish(ahead, 24), today, 1).request.work;
    // Two orders a week in the five weeks ahead.
    let works: Vec<OrderWork> = (0..10).map(|at| work(12 + at / 2 * 7 + at % 2)).collect();
    let basis = Basis { today, effort: Effort::Normal, seed: 1 };
    criterion.bench_function("days of 10 orders", |bencher| {
        bencher.iter(|| lay_out(&kitchen, black_box(&works), &basis));
    });
    let week = lay_out(&kitchen, &works, &basis).expect("they are laid out");
    let asked = plan_wish(&kitchen, &wish(19, 48), today, 1).request;
    criterion.bench_function("one request beside 10 orders", |bencher| {
        bencher.iter(|| week.answer(black_box(&asked)));
    });
    criterion.bench_function("the same request on each day of eight weeks", |bencher| {
        bencher.iter(|| week.strip(black_box(&asked)));
    });
    criterion.bench_function("what a request of 48 cookies asks for", |bencher| {
        bencher.iter(|| plan_wish(&kitchen, black_box(&wish(19, 48)), today, 1));
    });
}

criterion_group!(benches, days);
criterion_main!(benches);
