//! The sample orders, planned quickly.

use std::ops::ControlFlow;

use craft::{
    document::{read_choices, read_order, start_kitchen},
    kitchen::Kitchen,
    order::{DesignFiles, read_brief},
    plan::{Basis, Effort, OrderPlan, plan_order},
    sample::{SAMPLES, Sample},
};
use drawing::Fonts;

/// The bundled font.
pub(crate) const FONT: &[u8] =
    include_bytes!("../../../sugarwright/assets/font/Quicksand-Bold.ttf");

/// Plans every sample order for a kitchen that has measured nothing yet.
pub(crate) fn planned_samples() -> Vec<(&'static str, Kitchen, OrderPlan)> {
    SAMPLES.iter().map(|sample| (sample.name, start_kitchen(), planned(sample))).collect()
}

/// Plans the first sample order.
pub(crate) fn planned_sample() -> OrderPlan {
    planned(&SAMPLES[0])
}

fn planned(sample: &Sample) -> OrderPlan {
    let mut files = DesignFiles::default();
    let mut order = None;
    for (path, text) in sample.files {
        let design = path.strip_prefix("designs/").and_then(|file| file.rsplit_once('.'));
        match (*path, design) {
            ("order.toml", _) => order = Some(read_order(text).expect("the sample's order reads")),
            (_, Some((name, "svg"))) => {
                files.svgs.insert(name.to_owned(), text.as_bytes().to_vec());
            }
            (_, Some((name, "toml"))) => {
                let choices = read_choices(text, path).expect("the sample's choices read");
                files.choices.insert(name.to_owned(), choices);
            }
            _ => {}
        }
    }
    let order = order.expect("a sample has an order");
    let fonts = Fonts::from_bytes([FONT.to_vec()]);
    let brief = read_brief(order, &files, &fonts).expect("the sample's drawings read");
    let today = sample.today.parse().expect("a date");
    let basis = Basis { today, effort: Effort::Quick, seed: 1 };
    plan_order(&start_kitchen(), &brief, &basis, &mut |_| ControlFlow::Continue(()))
}
