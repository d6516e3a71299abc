//! Artwork that was kept as a document reads as on the day it came in.

use drawing::{
    ReadOptions,
    document::{read_artwork, write_artwork},
    import, read,
};
use quantity::Length;

use crate::fixtures::{DRAWINGS, SAMPLES, fonts};

#[test]
fn kept_artwork_gives_the_same_drawing_as_its_source() {
    let options = ReadOptions { width: Some(Length::mm(80.0)), border: Length::mm(3.0) };
    for (name, svg) in DRAWINGS.into_iter().chain(SAMPLES) {
        let artwork = import(svg.as_bytes(), &fonts()).expect("the fixture is readable");
        let kept = write_artwork(&artwork);
        let again = read_artwork(&kept).expect("what was written is readable");
        assert_eq!(write_artwork(&again), kept, "{name}");
        assert_eq!(again.notes(), artwork.notes(), "{name}");
        assert_eq!(again.physical_width(), artwork.physical_width(), "{name}");
        assert_eq!(read(&again, &options), read(&artwork, &options), "{name}");
    }
}

#[test]
fn damaged_artwork_is_refused_in_words() {
    let svg = DRAWINGS[0].1;
    let artwork = import(svg.as_bytes(), &fonts()).expect("the fixture is readable");
    let kept = write_artwork(&artwork);
    let told = |text: &str| read_artwork(text).map(|_| ()).expect_err("refused").to_string();
    assert!(told("").starts_with("the kept artwork is damaged"));
    assert_eq!(
        told(&kept.replace("\"format\":1", "\"format\":2")),
        "the kept artwork has format 2, this version reads format 1"
    );
    // A clip that builds upon itself, or upon one that is not there, would never end.
    for place in [0, 99] {
        let clips = format!("\"clips\":[{{\"parent\":{place},\"shapes\":[]}}],\"notes\"");
        let (before, rest) = kept.split_once("\"clips\":").expect("there is a list of clips");
        let (_, after) = rest.split_once("\"notes\"").expect("there are notes");
        assert_eq!(
            told(&format!("{before}{clips}{after}")),
            "the kept artwork is damaged: a clip cannot be read"
        );
    }
}
