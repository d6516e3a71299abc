//! A whole plan of each sample, files included, without the disk.

use std::{hint::black_box, ops::ControlFlow, path::Path};

use craft::{
    plan::{Basis, Effort},
    sample::SAMPLES,
};
use criterion::{Criterion, criterion_group, criterion_main};
use sugarwright::{Inputs, command::sample::in_memory};

fn plans(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("plan");
    group.sample_size(10);
    for sample in &SAMPLES {
        group.bench_function(sample.name, |bencher| {
            bencher.iter(|| {
                let folder = Path::new(sample.name);
                let basis = Basis {
                    today: sample.today.parse().expect("a date"),
                    effort: Effort::Normal,
                    seed: 1,
                };
                let inputs = Inputs::from_folders(&[(in_memory(sample), folder.to_path_buf())])
                    .expect("readable");
                let planned = inputs
                    .plan(folder, &basis, &mut |_| ControlFlow::Continue(()))
                    .expect("a plan");
                black_box(planned.files().expect("files"))
            });
        });
    }
    group.finish();
}

criterion_group!(benches, plans);
criterion_main!(benches);
