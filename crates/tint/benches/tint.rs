//! The search for gels that give a shade, over shelves of two sizes.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use tint::{
    Shade,
    dye::{dye, plain_icing},
    recipe::{Gel, Wish, recipes},
};

/// Gels of a shelf: their dyes with milligrams in a gram of gel (invented; strengths are common practice, no source).
const SHELF: [(&str, &[(&str, f64)]); 20] = [
    ("lemon", &[("Yellow 5", 60.0)]),
    ("gold", &[("Yellow 5", 45.0), ("Yellow 6", 15.0)]),
    ("orange", &[("Yellow 6", 60.0)]),
    ("red", &[("Red 40", 60.0)]),
    ("rose", &[("Red 3", 40.0)]),
    ("wine", &[("Red 40", 50.0), ("Blue 1", 6.0)]),
    ("violet", &[("Red 3", 25.0), ("Blue 1", 10.0)]),
    ("royal", &[("Blue 1", 40.0), ("Red 3", 10.0)]),
    ("sky", &[("Blue 1", 40.0)]),
    ("leaf", &[("Yellow 5", 45.0), ("Blue 1", 12.0)]),
    ("brown", &[("Red 40", 30.0), ("Yellow 5", 30.0), ("Blue 1", 8.0)]),
    ("black", &[("Red 40", 40.0), ("Yellow 5", 20.0), ("Blue 1", 30.0)]),
    ("navy", &[("Blue 1", 40.0), ("Red 40", 18.0)]),
    ("teal", &[("Blue 1", 35.0), ("Yellow 5", 12.0)]),
    ("avocado", &[("Yellow 5", 40.0), ("Blue 1", 4.0), ("Red 40", 6.0)]),
    ("ivory", &[("Yellow 6", 8.0), ("Yellow 5", 12.0)]),
    ("peach", &[("Yellow 6", 25.0), ("Red 40", 8.0)]),
    ("coal", &[("Carbon", 60.0)]),
    ("indigo", &[("Blue 2", 60.0)]),
    ("curcuma", &[("Curcumin", 40.0)]),
];

/// Shades of every kind: pastel, middle, earth, strong and out of reach.
const TARGETS: [[u8; 3]; 8] = [
    [191, 224, 242],
    [169, 183, 154],
    [201, 146, 154],
    [196, 99, 63],
    [30, 128, 128],
    [200, 32, 43],
    [106, 61, 154],
    [30, 28, 29],
];

fn shelf(n_gels: usize) -> Vec<Gel> {
    let gel = |(name, dyes): &(&str, &[(&str, f64)])| {
        let dyes = dyes.iter().filter_map(|&(name, mg)| Some((dye(name)?, mg)));
        Gel::of_dyes(name, dyes)
    };
    SHELF.iter().take(n_gels).map(gel).collect()
}

/// One round searches all targets, so that easy and hard ones count alike; divide by eight for one search.
fn search(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("recipes of 8 shades");
    for n_gels in [12, 20] {
        let gels = shelf(n_gels);
        group.bench_function(format!("{n_gels} gels"), |bencher| {
            bencher.iter(|| {
                for target in TARGETS {
                    let target = Shade::from_srgb(target);
                    let base = plain_icing();
                    let wish = Wish { base, target, gels: &gels, most_gels: 3, most_grams: 2.0 };
                    black_box(recipes(&wish, 3));
                }
            });
        });
    }
    group.finish();
}

criterion_group!(benches, search);
criterion_main!(benches);
