//! Pictures as pixels.

use papers::{Error, picture::to_png};
use resvg::tiny_skia::Pixmap;

use crate::samples::FONT;

/// A black square of 8 mm in a frame of 20 x 10 mm.
const SQUARE: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" width="20mm" height="10mm" viewBox="0 0 20 10"><rect x="1" y="1" width="8" height="8"/></svg>"#;

#[test]
fn a_millimeter_has_as_many_pixels_as_asked() {
    for px_per_mm in [1.0, 6.0, 7.5] {
        let png = to_png(SQUARE, px_per_mm, &[]).expect("a picture");
        // PNG specification (third edition), 11.3.4.3: pixels in a meter, across and down, and that it is a meter.
        let at = png.windows(4).position(|four| four == b"pHYs").expect("it says how large it is");
        let per_meter = ((px_per_mm * 1000.0) as u32).to_be_bytes();
        assert_eq!(&png[at + 4..at + 13], [&per_meter[..], &per_meter[..], &[1]].concat());
        let pixels = Pixmap::decode_png(&png).expect("a PNG");
        let expected = ((20.0 * px_per_mm).round(), (10.0 * px_per_mm).round());
        assert_eq!((f64::from(pixels.width()), f64::from(pixels.height())), expected);
        // Closed form: the square covers 64 mm².
        let covered: f64 =
            pixels.pixels().iter().map(|pixel| f64::from(pixel.alpha()) / 255.0).sum();
        assert!((covered / px_per_mm.powi(2) - 64.0).abs() < 0.1, "{covered}");
    }
}

#[test]
fn words_are_set_in_the_given_font_only() {
    let words = r#"<svg xmlns="http://www.w3.org/2000/svg" width="20mm" height="10mm" viewBox="0 0 20 10"><text x="1" y="8" font-family="Quicksand" font-weight="700" font-size="6">sugar</text></svg>"#;
    let ink = |fonts: &[&[u8]]| {
        let png = to_png(words, 4.0, fonts).expect("a picture");
        let pixels = Pixmap::decode_png(&png).expect("a PNG");
        pixels.pixels().iter().filter(|pixel| pixel.alpha() > 0).count()
    };
    assert!(ink(&[FONT]) > 100);
    assert_eq!(ink(&[]), 0);
    assert_eq!(ink(&[b"no font"]), 0);
}

#[test]
fn what_cannot_be_drawn_is_refused_in_words() {
    let told = |svg: &str, px_per_mm: f64| {
        to_png(svg, px_per_mm, &[]).map(|png| png.len()).expect_err("refused").to_string()
    };
    for px_per_mm in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert!(matches!(to_png(SQUARE, px_per_mm, &[]), Err(Error::Resolution { .. })));
    }
    assert_eq!(
        told(SQUARE, 1000.0),
        "a picture of 20000 x 10000 pixels is over the limit of 67108864 pixels; take fewer pixels a millimeter"
    );
    assert!(matches!(to_png(SQUARE, 1e300, &[]), Err(Error::TooLarge { .. })));
    for text in ["", "no picture", "<html/>"] {
        assert!(told(text, 6.0).starts_with("the picture is no SVG that can be drawn: "), "{text}");
    }
}

#[test]
fn nothing_outside_of_the_picture_is_read() {
    let linked = r#"<svg xmlns="http://www.w3.org/2000/svg" width="20mm" height="10mm"><image href="Cargo.toml" width="9" height="9"/><image href="data:image/png;base64,AAAA" width="9" height="9"/></svg>"#;
    let png = to_png(linked, 2.0, &[]).expect("a picture of nothing");
    let pixels = Pixmap::decode_png(&png).expect("a PNG");
    assert!(pixels.pixels().iter().all(|pixel| pixel.alpha() == 0));
}
