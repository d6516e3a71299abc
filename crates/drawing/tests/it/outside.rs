//! Pictures nobody here drew keep the law of areas.
//!
//! The sets come from the package registry at pinned versions into the target folder (`cargo xtask test`);
//! without them these tests pass unchecked, which the test command says at its end.
//! `cargo xtask referee` reads many more pictures of more sets and prints what it finds.
#![allow(clippy::disallowed_methods, reason = "the crate is pure, its tests look outside")]

use std::{
    env, fs,
    panic::catch_unwind,
    path::Path,
    time::{Duration, Instant},
};

use drawing::{Error, ReadOptions, import, read};
use quantity::Length;

use crate::{
    fixtures::{FONT, fonts},
    raster::{ColorArea, compare_page},
};

/// The width a maker would cut them.
const WIDTH: Length = Length::mm(80.0);

/// Blending in 8 bits rounds once a layer.
const ROUNDING: u8 = 3;

struct Picture {
    name: String,
    svg: String,
}

/// Up to `n_most` pictures of a set, spread evenly over it, each on a white page that is its cutter shape.
fn pictures(package: &Path, n_most: usize) -> Vec<Picture> {
    let text = fs::read_to_string(package.join("icons.json")).expect("the set is there");
    let set: serde_json::Value = serde_json::from_str(&text).expect("it is JSON");
    let icons = set["icons"].as_object().expect("a map of icons");
    // Sizes a picture does not state are those of the set, or 16 (the format's own start value).
    let size = |icon: &serde_json::Value, side: &str| {
        icon[side].as_f64().or(set[side].as_f64()).unwrap_or(16.0)
    };
    let n_most = n_most.min(icons.len());
    let chosen = (0..n_most).filter_map(|index| icons.iter().nth(index * icons.len() / n_most));
    chosen
        .map(|(name, icon)| {
            let (width, height) = (size(icon, "width"), size(icon, "height"));
            let body = icon["body"].as_str().expect("a picture has a body");
            let svg = format!(
                "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\"><rect id=\"outline\" width=\"{width}\" height=\"{height}\" fill=\"#fff\"/>{body}</svg>"
            );
            Picture { name: name.clone(), svg }
        })
        .collect()
}

/// What reading one picture came to.
enum Outcome {
    Panicked,
    Refused(Error),
    Read { took: Duration, areas: Vec<ColorArea>, has_gradients: bool },
}

fn examine(picture: &Picture) -> Outcome {
    let options = ReadOptions { width: Some(WIDTH), border: Length::mm(3.0) };
    let read_through = || {
        let start = Instant::now();
        let artwork = import(picture.svg.as_bytes(), &fonts())?;
        let drawing = read(&artwork, &options)?;
        Ok((drawing, start.elapsed()))
    };
    match catch_unwind(read_through) {
        Err(_) => Outcome::Panicked,
        Ok(Err(error)) => Outcome::Refused(error),
        Ok(Ok((drawing, took))) => Outcome::Read {
            took,
            areas: compare_page(&picture.svg, FONT, WIDTH, &drawing, ROUNDING),
            has_gradients: picture.svg.contains("Gradient") || picture.svg.contains("filter"),
        },
    }
}

#[test]
fn two_hundred_pictures_nobody_here_drew_keep_the_law_of_areas() {
    let Ok(package) = env::var("SUGARWRIGHT_OPENMOJI") else {
        return;
    };
    let pictures = pictures(Path::new(&package), 200);
    assert_eq!(pictures.len(), 200);
    let (mut n_colors, mut misses) = (0, Vec::new());
    for picture in &pictures {
        match examine(picture) {
            Outcome::Panicked => panic!("{} panicked", picture.name),
            Outcome::Refused(error) => panic!("{} is refused: {error}", picture.name),
            Outcome::Read { areas, .. } => {
                n_colors += areas.len();
                let wrong = areas.into_iter().filter(|area| !area.agrees());
                misses.extend(wrong.map(|area| format!("{}: {area:?}", picture.name)));
            }
        }
    }
    assert!(n_colors > 600, "{n_colors} colors");
    assert!(misses.len() * 100 <= n_colors, "of {n_colors}: {misses:#?}");
}

/// Reads pictures of every set named in `SUGARWRIGHT_PICTURES` (folders, written like a search path) and prints how the law fares.
#[test]
#[allow(clippy::print_stdout)]
fn pictures_of_several_sets_keep_the_law_of_areas() {
    let Ok(packages) = env::var("SUGARWRIGHT_PICTURES") else {
        return;
    };
    let n_most = env::var("SUGARWRIGHT_N_PICTURES").ok().and_then(|text| text.parse().ok());
    let n_most = n_most.unwrap_or(500);
    for package in env::split_paths(&packages) {
        println!("{}", report(&package, n_most));
    }
}

fn report(package: &Path, n_most: usize) -> String {
    let pictures = pictures(package, n_most);
    let mut lines = Vec::new();
    let mut times: Vec<(Duration, &str)> = Vec::new();
    let (mut n_colors, mut n_agreeing, mut n_gradients) = (0, 0, 0);
    for picture in &pictures {
        match examine(picture) {
            Outcome::Panicked => lines.push(format!("  PANIC {}", picture.name)),
            Outcome::Refused(error) => lines.push(format!("  refused {}: {error}", picture.name)),
            Outcome::Read { took, areas, has_gradients } => {
                times.push((took, &picture.name));
                if has_gradients {
                    // Running colors have no area of their own.
                    n_gradients += 1;
                    continue;
                }
                n_colors += areas.len();
                for area in areas {
                    if area.agrees() {
                        n_agreeing += 1;
                        continue;
                    }
                    lines.push(format!(
                        "  miss {} {}: {:.3} mm2, raster {:.3}, edge {:.3}",
                        picture.name,
                        area.color.to_hex(),
                        area.drawing_mm2,
                        area.raster_mm2,
                        area.edge_mm2
                    ));
                }
            }
        }
    }
    times.sort();
    let median = times.get(times.len() / 2).map_or(0.0, |(took, _)| took.as_secs_f64() * 1e3);
    let slowest = times.last().map_or((0.0, ""), |(took, name)| (took.as_secs_f64() * 1e3, name));
    format!(
        "{}: {} pictures, {n_gradients} of them with running colors only timed; {n_agreeing} of {n_colors} colors agree; median {median:.1} ms, slowest {:.0} ms ({})\n{}",
        package.display(),
        pictures.len(),
        slowest.0,
        slowest.1,
        lines.join("\n")
    )
}
