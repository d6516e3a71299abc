//! The trade from end to end: samples, facts of the trade, laws.

mod doable;
mod laws;
mod samples;

use craft::{
    document::{read_choices, read_order, start_kitchen},
    order::{Brief, DesignFiles, read_brief},
    sample::Sample,
};
use drawing::Fonts;

/// The font the program brings along.
const FONT: &[u8] = include_bytes!("../../../sugarwright/assets/font/Quicksand-Bold.ttf");

/// Reads a sample as the program does.
fn brief_of(sample: &Sample) -> Brief {
    let fonts = Fonts::from_bytes([FONT.to_vec()]);
    let mut files = DesignFiles::default();
    let mut order = None;
    for (path, text) in sample.files {
        match path.rsplit_once('.') {
            _ if *path == "order.toml" => order = Some(read_order(text).expect("the order reads")),
            Some((name, "svg")) => {
                let artwork = drawing::import(text.as_bytes(), &fonts).expect("the drawing reads");
                files.artworks.insert(name.trim_start_matches("designs/").to_owned(), artwork);
            }
            Some((name, _)) => {
                let choices = read_choices(text, path).expect("the choices read");
                files.choices.insert(name.trim_start_matches("designs/").to_owned(), choices);
            }
            None => {}
        }
    }
    read_brief(order.expect("there is an order"), &files).expect("the drawings read")
}

/// The built-in kitchen.
fn kitchen() -> craft::kitchen::Kitchen {
    start_kitchen()
}
