//! Both samples: no icing is lost on the way from drawing to sections, and no heads-up points at nothing.

use std::{collections::BTreeMap, ops::ControlFlow};

use craft::{
    heads_up::Subject,
    order::Picture,
    plan::{Basis, Effort, OrderPlan, plan_order, plan_week},
    sample::{SAMPLES, Sample},
    technique::{Onto, Technique, plan_sections},
};
use drawing::Color;

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

#[test]
fn two_orders_share_the_days_without_doing_two_things_at_once() {
    let (one, other) = (planned(&SAMPLES[0]), planned(&SAMPLES[1]));
    let (days, heads_ups) = plan_week(
        &kitchen(),
        &[one.work.clone(), other.work.clone()],
        &basis(&SAMPLES[0]),
        &mut |_| ControlFlow::Continue(()),
    );
    assert_eq!(heads_ups, []);
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
