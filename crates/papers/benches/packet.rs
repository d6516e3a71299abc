//! How long a kitchen packet takes.

#[path = "../tests/it/samples.rs"]
mod samples;

use craft::{document::start_kitchen, kitchen::Paper};
use criterion::{Criterion, criterion_group, criterion_main};
use papers::packet::{packet, templates};

fn packets(criterion: &mut Criterion) {
    let kitchen = start_kitchen();
    let mut group = criterion.benchmark_group("packet");
    group.sample_size(10);
    for (name, plan) in samples::planned_samples() {
        group.bench_function(name, |bencher| {
            bencher.iter(|| packet(&plan, &kitchen, Paper::A4).expect("a packet"));
        });
    }
    let plan = samples::planned_sample();
    group.bench_function("templates alone", |bencher| {
        bencher.iter(|| templates(&plan, &kitchen, Paper::A4).expect("templates"));
    });
    group.finish();
}

criterion_group!(benches, packets);
criterion_main!(benches);
