//! Weeks with several orders, nights of clock changes, odd pickups.

use std::ops::ControlFlow;

use jiff::{
    ToSpan, ZonedDateTime,
    civil::{Date, Time, Weekday, date, time},
};
use quantity::{Mass, Span};

use super::{Activity, Batches, DayEntry, Days, MixedShade, OrderWork, Rest, Step, Week};
use crate::{
    document::start_kitchen,
    heads_up::Severity,
    kitchen::{Hours, Kitchen, WeeklyHours},
};

const WEEK: [Weekday; 7] = [
    Weekday::Sunday,
    Weekday::Monday,
    Weekday::Tuesday,
    Weekday::Wednesday,
    Weekday::Thursday,
    Weekday::Friday,
    Weekday::Saturday,
];

/// Dough, cut, bake, icing, a session, a night, another session, a night, packing.
pub(super) fn work(title: &str, day: Date, at: Time, dough_g: f64) -> OrderWork {
    let batches = |recipe: &str, mass: f64, most: f64, each: f64| Batches {
        recipe: recipe.to_owned(),
        amount: mass,
        most,
        each: Span::minutes(each),
        once: Span::ZERO,
    };
    let dough = batches("dough", dough_g, 1000.0, 20.0);
    let made = Span::minutes(20.0) * f64::from(dough.n());
    let step = |activity, minutes| Step {
        activity,
        duration: Span::minutes(minutes),
        batches: None,
        handover: 0,
        done: None,
        former: None,
    };
    let rest = |activity, after, before, hours, most: Option<f64>| Rest {
        activity,
        after,
        before,
        least: Span::hours(hours),
        most: most.map(Span::hours),
    };
    OrderWork {
        title: title.to_owned(),
        handovers: vec![day.to_datetime(at).in_tz("America/Halifax").expect("a time")],
        n_cookies: 24,
        steps: vec![
            Step {
                activity: Activity::MakeDough,
                duration: made,
                batches: Some(dough),
                handover: 0,
                done: None,
                former: None,
            },
            step(Activity::Cut, 50.0),
            step(Activity::Bake, 50.0),
            step(Activity::MakeIcing, 20.0),
            step(Activity::Decorate(1), 80.0),
            step(Activity::Decorate(2), 60.0),
            step(Activity::Pack, 25.0),
        ],
        rests: vec![
            rest(Some(Activity::ChillDough), 0, 1, 2.0, Some(48.0)),
            rest(Some(Activity::ChillCut), 1, 2, 0.25, Some(24.0)),
            rest(Some(Activity::Cool), 2, 4, 2.0, Some(168.0)),
            rest(None, 3, 4, 0.5, Some(72.0)),
            rest(Some(Activity::Dry), 4, 5, 12.0, None),
            rest(Some(Activity::Dry), 5, 6, 12.0, None),
        ],
        n_trays: 1,
        oldest_icing: None,
        last_icing: None,
        shades: Vec::new(),
    }
}

fn week(kitchen: &Kitchen, orders: &[OrderWork], today: Date) -> Week {
    Week::plan(kitchen, orders, today, 20_000, 1, &mut || ControlFlow::Continue(()))
        .expect("it can be laid out")
}

const NOON: Time = time(12, 0, 0, 0);

#[test]
fn orders_of_the_same_days_share_dough_where_that_saves_a_batch() {
    let kitchen = start_kitchen();
    let day = date(2027, 6, 18);
    // 1.3 and 1.4 batches: four apart, three together.
    let orders =
        [work("One", day, NOON, 1300.0), work("Two", day.saturating_add(2.days()), NOON, 1400.0)];
    let (days, heads_ups) = week(&kitchen, &orders, date(2027, 6, 1)).days();
    let [pooled] = &days.pooled[..] else {
        panic!("one thing is made together: {:?}", days.pooled)
    };
    assert_eq!((pooled.activity, pooled.n_saved), (Activity::MakeDough, 1));
    assert_eq!(pooled.saved, Span::minutes(20.0));
    let dough: Vec<_> =
        days.entries.iter().filter(|entry| entry.activity == Activity::MakeDough).collect();
    let [dough] = dough[..] else { panic!("dough is made once: {dough:?}") };
    assert_eq!(dough.end.duration_since(&dough.start).as_secs(), 60 * 60);
    assert_eq!((dough.order, &dough.with[..]), (0, &[1][..]));
    // Nobody's dough waits longer than 48 hours, and both are packed in time.
    for order in 0..2 {
        let cut =
            days.entries.iter().find(|one| one.order == order && one.activity == Activity::Cut);
        let waits = cut.expect("it is cut").start.duration_since(&dough.end);
        assert!((2 * 3600..=48 * 3600).contains(&waits.as_secs()), "{waits:?}");
    }
    assert!(heads_ups.iter().all(|one| one.severity < Severity::Stop), "{heads_ups:?}");
    let told = heads_ups.iter().find(|one| one.message.contains("made together")).expect("told");
    let hint = told.hint.as_deref().unwrap_or_default();
    assert!(hint.contains("48 % of it is for \"One\"") && hint.contains("52 %"), "{told:?}");
    // Whole batches have nothing to share, and weeks apart nobody shares.
    for (mass, later) in [(1000.0, 2), (1400.0, 20)] {
        let orders = [
            work("One", day, NOON, 1000.0),
            work("Two", day.saturating_add(later.days()), NOON, mass),
        ];
        assert_eq!(week(&kitchen, &orders, date(2027, 6, 1)).days().0.pooled, []);
    }
}

#[test]
fn shades_that_several_orders_need_within_days_are_mixed_once() {
    let kitchen = start_kitchen();
    let day = date(2027, 6, 18);
    let shade = |hex: &str, grams: f64, session: u32| MixedShade {
        color: drawing::Color::parse(hex).expect("a color"),
        mass: Mass::g(grams),
        sessions: (session, session),
    };
    // Icing of a third of a batch each: it is made together.
    let order = |title: &str, later: i64, shades| {
        let mut work = work(title, day.saturating_add(later.days()), NOON, 1000.0);
        work.steps[3].batches = Some(Batches {
            recipe: "icing".to_owned(),
            amount: 350.0,
            most: 1000.0,
            each: Span::minutes(20.0),
            once: Span::ZERO,
        });
        OrderWork { shades, ..work }
    };
    // Two reds that pass for one, whites that need no mixing, and a blue of one order alone.
    let one = order("One", 0, vec![shade("#c8553d", 92.0, 1), shade("#ffffff", 300.0, 1)]);
    let two = |later, red| {
        let blue = shade("#2f4666", 40.0, 2);
        order("Two", later, vec![shade(red, 61.0, 1), shade("#ffffff", 200.0, 1), blue])
    };
    let told = |orders: &[OrderWork]| {
        let (_, heads_ups) = week(&kitchen, orders, date(2027, 6, 1)).days();
        heads_ups.into_iter().find(|one| one.message.contains("in one bowl"))
    };
    let found = told(&[one.clone(), two(1, "#c8563e")]).expect("told");
    assert!(found.message.contains("92 g for \"One\" and 61 g for \"Two\""), "{found:?}");
    assert!(found.message.contains("about 8 minutes"), "{found:?}");
    assert_eq!(found.message.matches(" for \"").count(), 2, "no white, no blue: {found:?}");
    assert_eq!(told(&[one.clone(), two(1, "#8a2f20")]), None, "another red");
    assert_eq!(told(&[one, two(20, "#c8553d")]), None, "icing does not keep that long");
}

#[test]
fn orders_of_the_same_days_bake_together_where_that_saves_a_load() {
    let kitchen = start_kitchen();
    let day = date(2027, 6, 18);
    // Three trays each, two to a load: 10 minutes to heat up, loads of 12 minutes, 2 to change them.
    let baked = |title: &str, later: i64, n_trays: f64| {
        let mut work = work(title, day.saturating_add(later.days()), NOON, 1000.0);
        let loads = Batches {
            recipe: "720 s in the oven".to_owned(),
            amount: n_trays,
            most: 2.0,
            each: Span::minutes(14.0),
            once: Span::minutes(8.0),
        };
        work.steps[2].duration = loads.duration();
        work.steps[2].batches = Some(loads);
        work
    };
    let orders = [baked("One", 0, 3.0), baked("Two", 2, 3.0)];
    let (days, heads_ups) = week(&kitchen, &orders, date(2027, 6, 1)).days();
    let bakes: Vec<_> =
        days.entries.iter().filter(|entry| entry.activity == Activity::Bake).collect();
    let [bake] = bakes[..] else { panic!("they bake once: {bakes:?}") };
    assert_eq!((bake.order, &bake.with[..]), (0, &[1][..]));
    // 10 + 12 + 2 + 12 + 2 + 12 minutes instead of twice 10 + 12 + 2 + 12.
    assert_eq!(bake.end.duration_since(&bake.start).as_secs(), 50 * 60);
    let pooled = days.pooled.iter().find(|one| one.activity == Activity::Bake).expect("pooled");
    assert_eq!((pooled.n_saved, pooled.saved), (1, Span::minutes(22.0)));
    // Each order's cookies are cut before, and are at their best when they are handed over.
    for order in 0..2 {
        let of = |activity| {
            days.entries.iter().find(|one| one.order == order && one.activity == activity)
        };
        assert!(of(Activity::Cut).expect("it is cut").end.timestamp() <= bake.start.timestamp());
        let session = of(Activity::Decorate(1)).expect("it is iced");
        let waits = session.start.duration_since(&bake.end).as_secs();
        assert!((2 * 3600..=168 * 3600).contains(&waits), "{waits}");
    }
    let told = heads_ups.iter().find(|one| one.message.contains("are baked together"));
    assert!(told.expect("told").message.contains("1 load less, which saves 22 minutes"));
    // Full loads have nothing to share.
    let full = [baked("One", 0, 4.0), baked("Two", 2, 2.0)];
    assert_eq!(week(&kitchen, &full, date(2027, 6, 1)).days().0.pooled, []);
}

/// What is done when, without setting up and washing up, which follow from it.
fn told(days: &Days) -> Vec<(usize, Activity, ZonedDateTime)> {
    let is_own = |entry: &&DayEntry| !matches!(entry.activity, Activity::SetUp | Activity::WashUp);
    let entries = days.entries.iter().filter(is_own);
    entries.map(|entry| (entry.order, entry.activity, entry.start.clone())).collect()
}

/// The same orders, to be kept where they were told to be.
fn kept(orders: &[OrderWork], days: &Days) -> Vec<OrderWork> {
    let mut orders = orders.to_vec();
    for entry in &days.entries {
        orders[entry.order].keep_at(entry.activity, &entry.start);
    }
    orders
}

#[test]
fn what_was_told_stays_when_an_order_comes_in_or_an_evening_is_lost() {
    let mut kitchen = start_kitchen();
    let today = date(2027, 6, 1);
    let orders = [
        work("One", date(2027, 6, 18), NOON, 900.0),
        work("Two", date(2027, 6, 19), NOON, 900.0),
        work("Three", date(2027, 6, 25), NOON, 900.0),
    ];
    let (before, _) = week(&kitchen, &orders, today).days();
    // Nothing new: nothing moves, whatever the search would find.
    let same = kept(&orders, &before);
    assert_eq!(told(&week(&kitchen, &same, today).days().0), told(&before));
    // One more order of the same days: the others stay where they were told to be.
    let mut more = same.clone();
    more.push(work("Four", date(2027, 6, 18), NOON, 900.0));
    let (after, heads_ups) = week(&kitchen, &more, today).days();
    assert!(heads_ups.iter().all(|one| one.severity < Severity::Stop), "{heads_ups:?}");
    let others: Vec<_> = told(&after).into_iter().filter(|one| one.0 < 3).collect();
    let moved = told(&before).iter().filter(|one| !others.contains(one)).count();
    let anew = told(&week(&kitchen, &[&orders[..], &more[3..]].concat(), today).days().0);
    let moved_anew = told(&before).iter().filter(|one| !anew.contains(one)).count();
    assert!(moved < moved_anew && moved <= 4, "{moved} pieces of work moved, {moved_anew} anew");
    // The evening of a session is lost: it finds another, what is not behind it stays.
    let session =
        before.entries.iter().find(|one| one.order == 0 && one.activity == Activity::Decorate(2));
    let lost = session.expect("it is placed").start.date();
    kitchen.hours.days_off.push(lost);
    let (after, heads_ups) = week(&kitchen, &same, today).days();
    assert!(heads_ups.iter().all(|one| one.severity < Severity::Stop), "{heads_ups:?}");
    assert!(after.entries.iter().all(|one| !one.attended || one.start.date() != lost));
    let (after, before) = (told(&after), told(&before));
    let far: Vec<_> = before.iter().filter(|one| one.0 == 2).collect();
    assert!(far.iter().all(|one| after.contains(one)), "a week later nothing moves");
    let moved = before.iter().filter(|one| !after.contains(one)).count();
    assert!(0 < moved && moved <= before.len() / 2, "{moved} of {}", before.len());
}

#[test]
fn cookies_are_baked_ahead_and_frozen_where_nothing_else_is_in_time() {
    let mut kitchen = start_kitchen();
    let today = date(2027, 6, 1);
    // Baking is possible in the first days only; the evenings before the hand-over are enough for the rest.
    let order = work("One", date(2027, 6, 18), NOON, 900.0);
    kitchen.hours = Hours::default();
    let evening = |day: i8| crate::kitchen::DatedHours {
        date: date(2027, 6, day),
        from: time(18, 0, 0, 0),
        to: time(21, 0, 0, 0),
    };
    kitchen.hours.dated = [2, 3, 15, 16, 17].map(evening).to_vec();
    let (days, heads_ups) = week(&kitchen, std::slice::from_ref(&order), today).days();
    assert!(heads_ups.iter().all(|one| one.severity < Severity::Stop), "{heads_ups:?}");
    let told = heads_ups.iter().find(|one| one.message.contains("frozen plain")).expect("told");
    assert!(told.message.contains("3 June"), "{told:?}");
    let frozen = days.entries.iter().find(|one| one.activity == Activity::Freeze);
    let frozen = frozen.expect("they lie in the freezer");
    assert_eq!(frozen.start.date(), date(2027, 6, 3));
    assert!(frozen.end.date() >= date(2027, 6, 15), "{frozen:?}");
    // With evenings in the week before, nothing goes into the freezer.
    kitchen.hours.dated = [12, 13, 14, 15, 16, 17].map(evening).to_vec();
    let (days, heads_ups) = week(&kitchen, std::slice::from_ref(&order), today).days();
    assert!(heads_ups.is_empty(), "{heads_ups:?}");
    assert!(days.entries.iter().all(|one| one.activity != Activity::Freeze));
}

#[test]
fn what_is_iced_soon_after_the_oven_is_not_told_to_be_frozen() {
    let kitchen = start_kitchen();
    let ahead = work("One", date(2027, 6, 18), NOON, 1000.0).baked_ahead().expect("it is baked");
    // Three days are left, so that nothing can lie in the freezer for long.
    let (days, heads_ups) = week(&kitchen, &[ahead], date(2027, 6, 15)).days();
    let of = |activity| days.entries.iter().find(|one| one.activity == activity);
    let baked = of(Activity::Bake).expect("it bakes");
    let iced = of(Activity::Decorate(1)).expect("it is iced");
    assert!(iced.start.duration_since(&baked.end).as_hours() <= 48);
    assert_eq!(of(Activity::Freeze), None);
    let cool = of(Activity::Cool).expect("it cools");
    assert_eq!(cool.end.duration_since(&baked.end).as_secs(), 2 * 3600);
    assert!(heads_ups.iter().all(|one| !one.message.contains("frozen")), "{heads_ups:?}");
}

#[test]
fn each_part_is_packed_by_the_evening_before_its_own_hand_over() {
    let kitchen = start_kitchen();
    let today = date(2027, 6, 1);
    let mut order = work("One", date(2027, 6, 18), NOON, 900.0);
    order.handovers.push(order.handovers[0].saturating_add(4.days()));
    let packed = order.steps.len() - 1;
    order.steps.push(Step { handover: 1, ..order.steps[packed].clone() });
    let rest = order.rests.iter().find(|rest| rest.before == packed).expect("it dries").clone();
    order.rests.push(Rest { activity: None, before: packed + 1, ..rest });
    let (days, heads_ups) = week(&kitchen, std::slice::from_ref(&order), today).days();
    assert!(heads_ups.iter().all(|one| one.severity < Severity::Caution), "{heads_ups:?}");
    let packed: Vec<Date> = days
        .entries
        .iter()
        .filter(|one| one.activity == Activity::Pack)
        .map(|one| one.end.date())
        .collect();
    assert!(packed.iter().any(|day| *day <= date(2027, 6, 17)), "{packed:?}");
    assert!(packed.iter().all(|day| *day <= date(2027, 6, 21)), "{packed:?}");
    // Noted once, the first part is packed; noted again, the second.
    let n_done = |work: &OrderWork| {
        work.steps.iter().filter(|one| one.activity == Activity::Pack && one.done.is_some()).count()
    };
    for n in 1..=2 {
        order.mark_done(Activity::Pack, date(2027, 6, 17));
        assert_eq!(n_done(&order), n);
    }
}

/// Every entry lies in the hours of its day by the wall clock, and the order is packed the day before.
fn check_days(kitchen: &Kitchen, order: &OrderWork, today: Date) {
    let week = week(kitchen, std::slice::from_ref(order), today);
    let (days, heads_ups) = week.days();
    assert!(heads_ups.iter().all(|one| one.severity < Severity::Stop), "{heads_ups:?}");
    let hands_on =
        days.entries.iter().filter(|entry| entry.attended && entry.activity != Activity::HandOver);
    for entry in hands_on.clone() {
        let (start, end) = (entry.start.time(), entry.end.time());
        let hours = kitchen.hours.on(entry.start.date());
        assert!(hours.iter().any(|&(from, to)| from <= start && end <= to), "{entry:?}");
    }
    let packed = hands_on.map(|entry| &entry.end).max().expect("it is packed");
    assert!(packed.date() < order.handovers[0].date(), "{packed}");
    let dry = |number| {
        let of = |activity| days.entries.iter().find(|one| one.activity == activity);
        let before = of(Activity::Decorate(number)).expect("a session");
        let after = of(Activity::Decorate(number + 1)).or_else(|| of(Activity::Pack));
        after.expect("what follows").start.duration_since(&before.end).as_hours()
    };
    assert!(dry(1) >= 12 && dry(2) >= 12);
}

#[test]
fn nights_of_clock_changes_leap_days_and_pickups_after_midnight_are_planned_right() {
    let kitchen = start_kitchen();
    let midnight = time(0, 30, 0, 0);
    for (day, at, today) in [
        // Clocks go forward on 14 March 2027 and back on 7 November 2027 in Halifax (IANA time zone database).
        (date(2027, 3, 15), NOON, date(2027, 3, 1)),
        (date(2027, 11, 8), NOON, date(2027, 10, 25)),
        (date(2028, 2, 29), NOON, date(2028, 2, 14)),
        (date(2028, 3, 1), NOON, date(2028, 2, 14)),
        (date(2027, 6, 19), midnight, date(2027, 6, 1)),
        (date(2027, 3, 14), midnight, date(2027, 3, 1)),
    ] {
        check_days(&kitchen, &work("One", day, at, 900.0), today);
    }
    // A night in which the clocks go forward is an hour shorter, and the icing still dries twelve.
    let late = Kitchen {
        hours: Hours {
            weekly: WEEK
                .map(|day| WeeklyHours { day, from: time(9, 0, 0, 0), to: time(23, 0, 0, 0) })
                .to_vec(),
            ..Hours::default()
        },
        ..kitchen
    };
    check_days(&late, &work("One", date(2027, 3, 15), NOON, 900.0), date(2027, 3, 1));
}

#[test]
fn a_maker_without_free_days_and_one_whose_week_starts_on_sunday_are_planned() {
    let every_day = |from, to| Hours {
        weekly: WEEK.map(|day| WeeklyHours { day, from, to }).to_vec(),
        ..Hours::default()
    };
    let kitchen =
        Kitchen { hours: every_day(time(6, 0, 0, 0), time(9, 30, 0, 0)), ..start_kitchen() };
    check_days(&kitchen, &work("One", date(2027, 6, 20), NOON, 900.0), date(2027, 6, 6));
    // Only Sundays: one stretch a week.
    let sundays = Hours {
        weekly: vec![WeeklyHours {
            day: Weekday::Sunday,
            from: time(8, 0, 0, 0),
            to: time(20, 0, 0, 0),
        }],
        ..Hours::default()
    };
    let kitchen = Kitchen { hours: sundays, ..start_kitchen() };
    let mut order = work("One", date(2027, 7, 4), NOON, 900.0);
    order.rests[3].most = None;
    check_days(&kitchen, &order, date(2027, 6, 1));
}

#[test]
fn a_due_time_in_the_past_or_work_longer_than_any_hours_ends_in_a_heads_up() {
    let kitchen = start_kitchen();
    let today = date(2027, 6, 10);
    let (_, heads_ups) =
        week(&kitchen, &[work("Past", date(2027, 6, 9), NOON, 900.0)], today).days();
    assert!(heads_ups.iter().any(|one| one.message.contains("not packed by the evening before")));
    let mut long = work("Long", date(2027, 7, 9), NOON, 900.0);
    long.steps[2].duration = Span::hours(20.0);
    let (days, _) = week(&kitchen, &[long], today).days();
    assert!(days.entries.iter().filter(|one| one.activity == Activity::Bake).count() > 1);
    // Nothing ever dries: a heads-up, and no endless loop.
    let mut wet = work("Wet", date(2027, 7, 9), NOON, 900.0);
    wet.rests[4].least = Span::hours(24.0 * 365.0);
    let told = Week::plan(&kitchen, &[wet], today, 100, 1, &mut || ControlFlow::Continue(()))
        .map(|week| week.days().1);
    let late = match told {
        Ok(heads_ups) => heads_ups.iter().any(|one| one.severity == Severity::Stop),
        Err(heads_up) => heads_up.severity == Severity::Stop,
    };
    assert!(late);
}

#[test]
fn what_is_done_stays_done_and_what_follows_keeps_its_rests() {
    let kitchen = start_kitchen();
    let today = date(2027, 6, 10);
    let mut order = work("One", date(2027, 6, 13), NOON, 900.0);
    // Begun today it would never be in time.
    let (_, heads_ups) = week(&kitchen, std::slice::from_ref(&order), today).days();
    assert!(heads_ups.iter().any(|one| one.severity == Severity::Stop));
    order.mark_done(Activity::Decorate(1), date(2027, 6, 9));
    let (days, heads_ups) = week(&kitchen, std::slice::from_ref(&order), today).days();
    assert!(heads_ups.iter().all(|one| one.severity < Severity::Stop), "{heads_ups:?}");
    let left: Vec<Activity> = days
        .entries
        .iter()
        .filter(|one| one.attended && !matches!(one.activity, Activity::SetUp | Activity::WashUp))
        .map(|one| one.activity)
        .collect();
    assert_eq!(left, [Activity::Decorate(2), Activity::Pack, Activity::HandOver]);
    // Decorated today, the icing dries from this evening on.
    order.mark_done(Activity::Decorate(2), today);
    let (days, _) = week(&kitchen, std::slice::from_ref(&order), today).days();
    let pack = days.entries.iter().find(|one| one.activity == Activity::Pack).expect("packed");
    assert!(pack.start.date() > today && pack.start.date() < date(2027, 6, 13), "{}", pack.start);
    // Old dough is no reason to lose all days.
    let mut stale = work("Two", date(2027, 6, 30), NOON, 900.0);
    stale.mark_done(Activity::MakeDough, date(2027, 5, 1));
    let (days, heads_ups) = week(&kitchen, &[stale], today).days();
    assert!(heads_ups.iter().all(|one| one.severity < Severity::Stop), "{heads_ups:?}");
    assert!(days.entries.iter().all(|one| one.activity != Activity::MakeDough));
}
