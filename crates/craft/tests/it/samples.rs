//! Both samples: no icing is lost on the way from drawing to sections, and no heads-up points at nothing.

use std::{
    collections::{BTreeMap, BTreeSet},
    ops::ControlFlow,
};

use craft::{
    days::{Activity, Days},
    heads_up::{Severity, Subject},
    kitchen::IcingStock,
    order::Picture,
    plan::{Basis, Effort, OrderPlan, plan_order, plan_week},
    sample::{SAMPLES, Sample},
    technique::{Onto, Technique, plan_sections},
};
use drawing::Color;
use quantity::Mass;

use crate::{brief_of, kitchen};

fn basis(sample: &Sample) -> Basis {
    Basis { today: sample.today.parse().expect("a date"), effort: Effort::Quick, seed: 1 }
}

fn planned(sample: &Sample) -> OrderPlan {
    plan_order(&kitchen(), &brief_of(sample), &basis(sample), &mut |_| ControlFlow::Continue(()))
}

#[test]
fn sections_keep_the_visible_area_of_each_color() {
    for sample in &SAMPLES {
        let brief = brief_of(sample);
        let (chapter, _) = plan_sections(&kitchen(), &brief);
        for (design, picture) in chapter.designs.iter().zip(&brief.pictures) {
            let Picture::Drawn { drawing, .. } = picture else { continue };
            let mut areas: BTreeMap<Color, (f64, f64)> = BTreeMap::new();
            for shape in &drawing.shapes {
                areas.entry(shape.color).or_default().0 += shape.visible.area().to_mm2();
            }
            for section in &chapter.sections[design.sections.clone()] {
                areas.entry(section.color).or_default().1 += section.visible_area.to_mm2();
            }
            for (color, (drawn, planned)) in areas {
                // Specks under half a square millimeter are no sections.
                assert!(
                    (drawn - planned).abs() < 1.0,
                    "{} {}: {drawn} {planned}",
                    design.id,
                    color.to_hex()
                );
            }
        }
    }
}

#[test]
fn every_layer_lies_on_the_one_beneath() {
    for sample in &SAMPLES {
        let (chapter, _) = plan_sections(&kitchen(), &brief_of(sample));
        for (place, section) in chapter.sections.iter().enumerate() {
            let beneath = chapter.overlaps.iter().filter(|overlap| overlap.top == place);
            let highest = beneath.map(|overlap| chapter.sections[overlap.under].layer).max();
            assert_eq!(section.layer, highest.map_or(1, |layer| layer + 1), "{}", section.id);
            assert_eq!(section.onto == Onto::Cookie, section.layer == 1, "{}", section.id);
        }
    }
}

#[test]
fn the_word_is_lettering_and_waits_for_its_confirmation() {
    let plan = planned(&SAMPLES[0]);
    let word =
        plan.sections.sections.iter().find(|section| section.id == "plaque/word").expect("a word");
    assert_eq!(word.technique, Technique::Lettering);
    assert!(plan.heads_ups.iter().any(|one| one.subject == Subject::Section("plaque/word".into())));
}

/// Whole days from the making of an order's icing to the last piping of it.
fn icing_age(days: &Days, order: usize) -> i32 {
    let last = |wanted: fn(Activity) -> bool| {
        let entries = days.entries.iter().filter(|entry| entry.order == order);
        entries.filter(|entry| wanted(entry.activity)).map(|entry| entry.end.date()).max()
    };
    let made = last(|activity| activity == Activity::MakeIcing).expect("icing is made");
    let used = last(|activity| matches!(activity, Activity::Decorate(_))).expect("it is used");
    made.until(used).expect("both are dates").get_days()
}

#[test]
fn icing_in_stock_that_is_good_today_and_too_old_in_the_end_is_told() {
    let sample = &SAMPLES[0];
    let mut kitchen = kitchen();
    let basis = basis(sample);
    kitchen.icing_stock.push(IcingStock {
        color: Color::parse("#ffffff").expect("a color"),
        mass: Mass::g(50.0),
        made_on: basis.today,
        allergens: BTreeSet::from(["egg".to_owned()]),
    });
    let on_progress = &mut |_| ControlFlow::Continue(());
    let plan = plan_order(&kitchen, &brief_of(sample), &basis, on_progress);
    assert_eq!(plan.work.oldest_icing, Some(basis.today));
    assert!(plan.heads_ups.iter().all(|one| !one.message.contains("not counted on")));
    let works = std::slice::from_ref(&plan.work);
    let (days, heads_ups) = plan_week(&kitchen, works, &basis, on_progress);
    let used = days.entries.iter().filter(|entry| matches!(entry.activity, Activity::Decorate(_)));
    let last = used.map(|entry| entry.end.date()).max().expect("it is piped");
    let age = basis.today.until(last).expect("both are dates").get_days();
    let told = heads_ups.iter().any(|one| one.message.contains("the icing in stock made on"));
    assert_eq!(told, age > 3, "{age} days: {heads_ups:?}");
    assert!(age > 3, "the sample is planned long enough ahead to show it");
}

#[test]
fn two_orders_share_the_days_without_doing_two_things_at_once() {
    let (one, other) = (planned(&SAMPLES[0]), planned(&SAMPLES[1]));
    let (days, heads_ups) = plan_week(
        &kitchen(),
        &[one.work.clone(), other.work.clone()],
        &basis(&SAMPLES[0]),
        &mut |_| ControlFlow::Continue(()),
    );
    // Nothing is late; icing that gets too old between its making and its last session is told, and no other.
    let old: Vec<usize> = (0..2).filter(|&order| icing_age(&days, order) > 3).collect();
    let told = |order: &&usize| {
        let title = &[&one.work, &other.work][**order].title;
        let start = format!("\"{title}\": the icing made on ");
        heads_ups.iter().filter(|one| one.message.starts_with(&start)).count() == 1
    };
    // A note may say that cookies are older than a week.
    let n_told = heads_ups.iter().filter(|one| one.severity > Severity::Note).count();
    assert_eq!(old.iter().filter(told).count(), n_told, "{old:?} {heads_ups:?}");
    assert_eq!(old.len(), n_told);
    let mut attended: Vec<_> =
        days.entries.iter().filter(|entry| entry.attended && entry.start != entry.end).collect();
    attended.sort_by_key(|entry| entry.start.timestamp());
    assert!(
        attended.iter().any(|entry| entry.order == 0)
            && attended.iter().any(|entry| entry.order == 1)
    );
    for pair in attended.windows(2) {
        assert!(pair[0].end.timestamp() <= pair[1].start.timestamp(), "{pair:?}");
    }
}
