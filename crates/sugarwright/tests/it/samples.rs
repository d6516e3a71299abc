//! Both samples, from `sample` to a sound plan.

use std::fs;

use craft::{
    check::check_plan,
    document::{plan::PlanDocument, read_kitchen},
    sample::SAMPLES,
};

use crate::program::{read_plan, run, run_on_threads, scratch};

const FILES: [&str; 5] = ["plan.json", "set.svg", "set.png", "calendar.ics", "shopping.csv"];

/// Writes and plans a sample; returns its plan and the kitchen it was planned for.
fn plan_sample(which: usize) -> (PlanDocument, craft::kitchen::Kitchen) {
    let sample = &SAMPLES[which];
    let folder = scratch();
    let wrote = run(folder.path(), &["sample", "order", "--which", sample.name]);
    assert_eq!(wrote.code, 0, "{}", wrote.aside);
    let planned = run(folder.path(), &["plan", "order", "--out", "plan", "--today", sample.today]);
    assert_eq!(planned.code, 0, "{}", planned.aside);
    assert!(planned.out.contains(sample.title), "{}", planned.out);
    for file in FILES {
        assert!(folder.path().join("plan").join(file).is_file(), "{file}");
    }
    let kitchen = fs::read_to_string(folder.path().join("order/kitchen.toml")).expect("a kitchen");
    (read_plan(&folder.path().join("plan")), read_kitchen(&kitchen).expect("it reads back"))
}

#[test]
fn the_lamp_lighting_set_gets_a_sound_plan() {
    let (plan, kitchen) = plan_sample(0);
    assert_eq!(check_plan(&kitchen, &plan), []);
    assert_eq!(plan.order.count, 30);
    assert_eq!(plan.designs.len(), 4);
    assert_eq!(plan.bowls.len(), 5);
    // Common practice, no source: icing the day before, a night between base and details, packed after a further dry time.
    let first = |activity: &str| {
        plan.days.iter().find(|day| day.activity == activity).map(|day| day.start[..10].to_owned())
    };
    let (icing, base, details, pack) =
        (first("make icing"), first("decorate 1"), first("decorate 2"), first("pack"));
    assert!(
        icing < base && base < details && details < pack && pack.is_some(),
        "{icing:?} {base:?} {details:?} {pack:?}"
    );
}

#[test]
fn the_naming_party_gets_a_sound_plan_across_the_clock_change() {
    let (plan, kitchen) = plan_sample(1);
    assert_eq!(check_plan(&kitchen, &plan), []);
    assert_eq!(plan.order.handovers.len(), 2);
    // Halifax springs forward on 14 March 2027: the offset changes from -04:00 to -03:00 between the two hand-overs.
    let offsets: Vec<&str> =
        plan.order.handovers.iter().map(|handover| &handover.at[19..25]).collect();
    assert_eq!(offsets, ["-04:00", "-03:00"]);
    assert!(plan.designs.iter().any(|design| !design.drawn));
}

#[test]
fn planning_twice_gives_the_same_bytes_on_one_thread_and_on_two() {
    let folder = scratch();
    run(folder.path(), &["sample", "order"]);
    let plan = |n_threads: usize, out: &str| {
        let arguments = ["plan", "order", "--out", out, "--today", SAMPLES[0].today, "--seed", "7"];
        assert_eq!(run_on_threads(folder.path(), n_threads, &arguments).code, 0);
        FILES.map(|file| fs::read(folder.path().join(out).join(file)).expect("written"))
    };
    let (one, two, again) = (plan(1, "a"), plan(2, "b"), plan(2, "c"));
    assert!(one == two && two == again);
}

#[test]
fn every_schema_accepts_what_the_program_writes() {
    let folder = scratch();
    for name in craft::document::SCHEMA_NAMES {
        let answer = run(folder.path(), &["schema", name]);
        assert_eq!(answer.code, 0);
        let schema: serde_json::Value =
            serde_json::from_str(&answer.out).expect("a schema is JSON");
        assert_eq!(schema["$schema"], "https://json-schema.org/draft/2020-12/schema", "{name}");
    }
}
