//! Draws swatches: each dye in growing amounts, and colors beside what gels make of them.
//!
//! `cargo run --release -p tint --example swatches -- swatches.svg`
#![allow(clippy::disallowed_methods)] // An example is a program of its own: it reads its argument and writes its file.

use std::fmt::Write;

use tint::{
    Shade,
    dye::{dye, dyes, plain_icing},
    film::shade,
    palette::around,
    recipe::{Gel, Wish, recipes},
};

/// Milligrams of dye in 100 g of icing.
const LADDER: [f64; 8] = [0.1, 0.3, 1.0, 3.0, 10.0, 30.0, 100.0, 300.0];

/// Gels with their dyes in milligrams for a gram (invented; strengths are common practice, no source).
const SHELF: [(&str, &[(&str, f64)]); 11] = [
    ("lemon", &[("Yellow 5", 60.0)]),
    ("gold", &[("Yellow 5", 45.0), ("Yellow 6", 15.0)]),
    ("orange", &[("Yellow 6", 60.0)]),
    ("red", &[("Red 40", 60.0)]),
    ("rose", &[("Red 3", 40.0)]),
    ("violet", &[("Red 3", 25.0), ("Blue 1", 10.0)]),
    ("royal", &[("Blue 1", 40.0), ("Red 3", 10.0)]),
    ("sky", &[("Blue 1", 40.0)]),
    ("leaf", &[("Yellow 5", 45.0), ("Blue 1", 12.0)]),
    ("brown", &[("Red 40", 30.0), ("Yellow 5", 30.0), ("Blue 1", 8.0)]),
    ("black", &[("Red 40", 40.0), ("Yellow 5", 20.0), ("Blue 1", 30.0)]),
];

/// Colors a maker is asked for (common practice, no source).
const TARGETS: [(&str, u32); 22] = [
    ("sky blue", 0x87ceeb),
    ("baby blue", 0xbfe0f2),
    ("navy", 0x1f2a4d),
    ("royal blue", 0x2b4ba0),
    ("teal", 0x1e8080),
    ("forest green", 0x2d5a34),
    ("sage", 0xa9b79a),
    ("blush", 0xf3cfc9),
    ("dusty rose", 0xc9929a),
    ("true red", 0xc8202b),
    ("burgundy", 0x6b1a2b),
    ("ivory", 0xf7efdc),
    ("mustard", 0xd6a324),
    ("golden yellow", 0xf5c23b),
    ("terracotta", 0xc4633f),
    ("rust", 0xa2452a),
    ("lavender", 0xc7b6e2),
    ("purple", 0x6a3d9a),
    ("gray", 0x9a9a9a),
    ("charcoal", 0x4a4a4c),
    ("black", 0x1e1c1d),
    ("chocolate", 0x5a3825),
];

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let path = std::env::args().nth(1).ok_or("name the file to write, such as swatches.svg")?;
    Ok(std::fs::write(path, drawing()?)?)
}

fn drawing() -> Result<String, std::fmt::Error> {
    let mut svg = String::from(
        r##"<svg xmlns="http://www.w3.org/2000/svg" width="1180" height="1010" font-family="sans-serif" font-size="12"><rect width="100%" height="100%" fill="#fff"/>"##,
    );
    for (column, mg) in LADDER.iter().enumerate() {
        let x = 130 + 52 * column;
        write!(svg, r##"<text x="{x}" y="20">{mg} mg</text>"##)?;
    }
    for (row, dye) in dyes().enumerate() {
        let y = 28 + 36 * row;
        write!(svg, r##"<text x="10" y="{}">{}</text>"##, y + 22, dye.name)?;
        for (column, mg) in LADDER.iter().enumerate() {
            let found = shade(&plain_icing().plus(&dye.per_mg, *mg));
            swatch(&mut svg, [130 + 52 * column, y], 50, found)?;
        }
    }
    let gel = |(name, dyes): &(&str, &[(&str, f64)])| {
        Gel::of_dyes(name, dyes.iter().filter_map(|&(name, mg)| Some((dye(name)?, mg))))
    };
    let gels: Vec<Gel> = SHELF.iter().map(gel).collect();
    write!(svg, r##"<text x="700" y="20">wanted | mixed</text>"##)?;
    for (row, (name, hex)) in TARGETS.into_iter().enumerate() {
        let y = 28 + 36 * row;
        let target = of_hex(hex);
        let wish = Wish { base: plain_icing(), target, gels: &gels, most_gels: 3, most_grams: 3.0 };
        let best = recipes(&wish, 1).pop();
        let (found, words) = match &best {
            Some(recipe) => {
                let dose = |&(place, grams): &(usize, f64)| {
                    format!("{grams:.3} g {}", gels.get(place).map_or("", |gel| &gel.name))
                };
                let doses: Vec<String> = recipe.grams.iter().map(dose).collect();
                (recipe.shade, format!("{:.1}: {}", recipe.difference, doses.join(" + ")))
            }
            None => (shade(&plain_icing()), "plain".to_owned()),
        };
        write!(svg, r##"<text x="600" y="{}">{name}</text>"##, y + 22)?;
        swatch(&mut svg, [700, y], 60, target)?;
        swatch(&mut svg, [760, y], 60, found)?;
        write!(svg, r##"<text x="830" y="{}">{words}</text>"##, y + 22)?;
    }
    for (row, (base, second)) in
        [(0xc9929a, None), (0x87ceeb, Some(0xf5c23b)), (0x2d5a34, Some(0xc8202b)), (0xf7efdc, None)]
            .into_iter()
            .enumerate()
    {
        let palette = around(of_hex(base), second.map(of_hex), 6);
        let y = 840 + 40 * row;
        for (column, found) in palette.shades.iter().enumerate() {
            swatch(&mut svg, [130 + 90 * column, y], 88, *found)?;
        }
        let [red, green, blue] = palette.lettering.to_srgb();
        write!(
            svg,
            r##"<text x="140" y="{}" font-size="18" fill="rgb({red},{green},{blue})">Ada {:.1}</text>"##,
            y + 24,
            palette.contrast
        )?;
    }
    Ok(svg + "</svg>\n")
}

fn swatch(svg: &mut String, [x, y]: [usize; 2], width: usize, of: Shade) -> std::fmt::Result {
    let [red, green, blue] = of.to_srgb();
    write!(
        svg,
        r##"<rect x="{x}" y="{y}" width="{width}" height="34" fill="rgb({red},{green},{blue})"/>"##
    )
}

fn of_hex(hex: u32) -> Shade {
    let [_, red, green, blue] = hex.to_be_bytes();
    Shade::from_srgb([red, green, blue])
}
