//! Empty and full books, too soon, and kitchens without hours.

use jiff::civil::date;

use super::*;
use crate::{document::start_kitchen, kitchen::Kitchen};

const TODAY: Date = date(2027, 6, 1);

/// The usual order with sessions of these minutes.
fn work(title: &str, day: Date, decorate_min: [f64; 2], n_cookies: u32) -> OrderWork {
    let mut work = crate::days::tests::work(title, day, time(16, 0, 0, 0), 900.0);
    for step in &mut work.steps {
        if let Activity::Decorate(session) = step.activity {
            step.duration = Span::minutes(decorate_min[session as usize - 1]);
        }
    }
    OrderWork { n_cookies, ..work }
}

fn week(kitchen: &Kitchen, orders: &[OrderWork]) -> Week {
    Week::plan(kitchen, orders, TODAY, 60_000, 1, &mut || ControlFlow::Continue(()))
        .expect("it can be laid out")
}

fn request(work: OrderWork) -> Request {
    Request { work, helped: None, plainer: None }
}

#[test]
fn an_empty_book_says_yes_with_the_latest_safe_start() {
    let week = week(&start_kitchen(), &[]);
    let answer = week.answer(&request(work("A", date(2027, 6, 19), [120.0, 90.0], 24)));
    assert_eq!((answer.verdict, &answer.because), (Verdict::Yes, &None));
    let begin = answer.begin.expect("a start");
    assert!((date(2027, 6, 10)..date(2027, 6, 18)).contains(&begin.date()), "{begin}");
    // All that is attended lies in the room of the days: 20 + 50 + 20 + 120 + 90 + 25 minutes.
    let taken: f64 = answer.room.iter().map(|room| room.taken.to_minutes()).sum();
    assert!((taken - 325.0).abs() < 1e-6, "{taken}");
    assert!(answer.room.iter().all(|room| room.taken <= room.free && room.free <= room.hours));
    assert!(answer.on_time.expect("replayed").to_one() > 0.5);
}

#[test]
fn too_soon_says_no_with_what_it_needs_alone_and_the_first_day_that_works() {
    let week = week(&start_kitchen(), &[]);
    let answer =
        week.answer(&request(work("A", TODAY.tomorrow().expect("a day"), [120.0, 90.0], 24)));
    let because = answer.because.expect("a reason");
    assert!(because.contains("too few days") && because.contains("packed on"), "{because}");
    let later = answer.tried.iter().find(|one| matches!(one.change, Change::Later { .. }));
    assert!(later.is_some_and(|one| one.begin.is_some()), "{:?}", answer.tried);
    assert_eq!(answer.verdict, Verdict::YesIf);
}

#[test]
fn a_full_book_names_the_fewest_orders_in_the_way_and_what_would_help() {
    let kitchen = Kitchen { week_cap: 1000, ..start_kitchen() };
    let day = date(2027, 6, 8);
    let orders: Vec<OrderWork> =
        ["One", "Two"].into_iter().map(|title| work(title, day, [150.0, 150.0], 30)).collect();
    let week = week(&kitchen, &orders);
    let (_, heads_ups) = week.days();
    let late = heads_ups.iter().filter(|one| one.severity == crate::heads_up::Severity::Stop);
    assert_eq!(late.count(), 0, "{heads_ups:?}");
    let asked = request(work("Seven", day, [165.0, 165.0], 30));
    let answer = week.answer(&asked);
    assert_ne!(answer.verdict, Verdict::Yes);
    let because = answer.because.clone().expect("a reason");
    let named = orders.iter().filter(|order| because.contains(&format!("\"{}\"", order.title)));
    assert!((1..=2).contains(&named.count()), "{because}");
    // What is said to help was placed by the engine; the strip agrees on whether it is a plain yes.
    assert!(answer.tried.iter().any(|one| one.begin.is_some()), "{:?}", answer.tried);
    let strip = week.strip(&asked);
    assert_eq!(strip.len(), DAYS_AHEAD as usize);
    let same = strip.iter().find(|one| one.day == day).expect("the day is among them");
    assert_ne!(same.verdict, Verdict::Yes, "{}", same.words);
    // Far ahead there is nothing in the way.
    assert_eq!(strip.last().map(|one| one.verdict), Some(Verdict::Yes));
}

#[test]
fn the_maker_s_own_limit_counts_the_cookies_of_the_week() {
    let kitchen = start_kitchen();
    let orders = [work("One", date(2027, 6, 16), [60.0, 60.0], 60)];
    let week = week(&kitchen, &orders);
    let answer = week.answer(&request(work("Two", date(2027, 6, 19), [60.0, 60.0], 24)));
    assert_eq!(answer.verdict, Verdict::YesIf);
    assert_eq!(answer.tried[0].change, Change::PastCap { cookies: 84, cap: 72 });
    let next_week = week.answer(&request(work("Two", date(2027, 6, 21), [60.0, 60.0], 24)));
    assert_eq!(next_week.verdict, Verdict::Yes);
}

#[test]
fn a_kitchen_without_hours_or_with_hours_past_its_clocks_answers_all_the_same() {
    let mut kitchen = start_kitchen();
    kitchen.hours = crate::kitchen::Hours::default();
    let nothing = Week::plan(&kitchen, &[], TODAY, 100, 1, &mut || ControlFlow::Continue(()));
    let answer = nothing.expect("nothing to place").answer(&request(work(
        "A",
        date(2027, 6, 19),
        [60.0, 60.0],
        12,
    )));
    assert_eq!(answer.verdict, Verdict::No);
    assert!(answer.because.is_some());
    let asked = [work("A", date(2027, 6, 19), [60.0, 60.0], 12)];
    let refused = Week::plan(&kitchen, &asked, TODAY, 100, 1, &mut || ControlFlow::Continue(()));
    assert!(refused.expect_err("no hours").message.contains("no working hours"));
}
