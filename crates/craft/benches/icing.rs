//! The chapter on icing, gels aside, of a large set.

use std::hint::black_box;

use craft::{
    document::{read_order, start_kitchen},
    icing::plan_icing,
    order::{DesignFiles, read_brief},
    technique::plan_sections,
};
use criterion::{Criterion, criterion_group, criterion_main};
use drawing::Fonts;

const ORDER: &str = r#"
invented = true
title = "A garden"
customer = "nobody (invented)"
due = "2027-03-06T15:00[America/Halifax]"
"#;

/// Items, each the same drawing: together they have the sections of a large set.
const N_ITEMS: usize = 8;

fn icing(criterion: &mut Criterion) {
    let drawing = include_bytes!("../../../fixtures/drawings/garden_50.svg");
    let artwork = drawing::import(drawing, &Fonts::from_bytes([])).expect("the drawing reads");
    let mut files = DesignFiles::default();
    files.artworks.insert("garden".to_owned(), artwork);
    let item = |n| format!("[[item]]\nname = \"bed {n}\"\ndesign = \"garden\"\ncount = 3\n");
    let items: String = (0..N_ITEMS).map(item).collect();
    let order = read_order(&format!("{ORDER}{items}")).expect("the order reads");
    let brief = read_brief(order, &files).expect("the brief reads");
    let kitchen = start_kitchen();
    let (sections, _) = plan_sections(&kitchen, &brief);
    let today = "2027-02-20".parse().expect("a date");
    let n_sections = sections.sections.len();
    criterion.bench_function(&format!("icing of {n_sections} sections"), |bencher| {
        bencher.iter(|| black_box(plan_icing(&kitchen, black_box(&sections), today)));
    });
}

criterion_group!(benches, icing);
criterion_main!(benches);
