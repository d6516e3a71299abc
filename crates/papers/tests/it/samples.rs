//! The sample orders, planned quickly.

use std::ops::ControlFlow;

use craft::{
    document::{
        plan::{PlanDocument, Written, write_plan, write_week},
        read_choices, read_order, start_kitchen,
    },
    order::{DesignFiles, read_brief},
    plan::{Basis, Effort, plan_order, plan_week},
    sample::{SAMPLES, Sample},
};
use drawing::Fonts;

/// The bundled font.
pub(crate) const FONT: &[u8] =
    include_bytes!("../../../sugarwright/assets/font/Quicksand-Bold.ttf");

/// Plans every sample order for a kitchen that has measured nothing yet.
pub(crate) fn planned_samples() -> Vec<(&'static str, PlanDocument)> {
    SAMPLES.iter().map(|sample| (sample.name, planned(sample))).collect()
}

/// Plans the first sample order.
pub(crate) fn planned_sample() -> PlanDocument {
    planned(&SAMPLES[0])
}

fn planned(sample: &Sample) -> PlanDocument {
    let fonts = Fonts::from_bytes([FONT.to_vec()]);
    let mut files = DesignFiles::default();
    let mut order = None;
    for (path, text) in sample.files {
        let design = path.strip_prefix("designs/").and_then(|file| file.rsplit_once('.'));
        match (*path, design) {
            ("order.toml", _) => order = Some(read_order(text).expect("the sample's order reads")),
            (_, Some((name, "svg"))) => {
                let artwork = drawing::import(text.as_bytes(), &fonts).expect("the drawing reads");
                files.artworks.insert(name.to_owned(), artwork);
            }
            (_, Some((name, "toml"))) => {
                let choices = read_choices(text, path).expect("the sample's choices read");
                files.choices.insert(name.to_owned(), choices);
            }
            _ => {}
        }
    }
    let order = order.expect("a sample has an order");
    let brief = read_brief(order, &files).expect("the sample's drawings read");
    let today = sample.today.parse().expect("a date");
    let basis = Basis { today, effort: Effort::Quick, seed: 1 };
    let kitchen = start_kitchen();
    let on_progress = &mut |_| ControlFlow::Continue(());
    let plan = plan_order(&kitchen, &brief, &basis, on_progress);
    let (days, heads_ups) =
        plan_week(&kitchen, std::slice::from_ref(&plan.work), &basis, on_progress);
    let order = &brief.order;
    let written =
        Written { kitchen: &kitchen, order, plan: &plan, basis: &basis, inputs_sha256: "" };
    write_plan(&written).with_week(&write_week(&[&order.title], &days, &heads_ups, today), 0)
}
