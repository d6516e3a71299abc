//! The visible area of each color equals the pixel count of an independent renderer (resvg 0.49 on tiny-skia)
//! at 20 pixels per millimeter within 0.5 % plus edge pixels.

use drawing::{ReadOptions, import, read};
use quantity::Length;

use crate::{
    fixtures::{DRAWINGS, FONT, SAMPLES, fonts},
    raster::compare_with_raster,
};

#[test]
fn visible_areas_equal_those_of_an_independent_raster() {
    for (name, svg) in DRAWINGS.into_iter().chain(SAMPLES) {
        let artwork = import(svg.as_bytes(), &fonts()).expect("the fixture is readable");
        let options = ReadOptions { width: None, border: Length::mm(3.0) };
        let drawing = read(&artwork, &options).expect("the fixture states its size");
        let areas = compare_with_raster(svg, FONT, &drawing);
        assert!(areas.len() >= 3, "{name} has few colors: {areas:?}");
        for area in &areas {
            assert!(area.agrees(), "{name}, {}: {area:?}", area.color.to_hex());
        }
        let total: f64 = areas.iter().map(|area| area.raster_mm2).sum();
        let off: f64 = areas.iter().map(|area| (area.drawing_mm2 - area.raster_mm2).abs()).sum();
        // Errors at edges have either sign, so all colors together are far nearer than the law asks.
        assert!(off < 0.001 * total, "{name}: {off:.2} of {total:.0} mm2 are off: {areas:#?}");
    }
}
