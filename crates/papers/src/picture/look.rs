//! What the finished cookie will look like: icing with soft shading along its edges, for showing a customer.
//!
//! The light comes from the upper left.
//! Icing stands above what it lies on and slopes down to its edge, so that the slope toward the light is paler and the
//! one away from it darker; bands of thin paint laid over each other, each narrower than the last, give the slope.
//! No filter is used, so every viewer shows the same.

use drawing::{Color, Region};

use super::{
    cookie::shown,
    design::framed,
    drawn::DrawnDesign,
    palette::{INK, color_of},
    svg::{Element, plain},
};
use crate::words::spoken;

/// Toward the light, of length 1.
const LIGHT: [f64; 2] = [-0.6, -0.8];
/// Bands of one slope.
const N_BANDS: u32 = 6;
/// Opacity of one band.
const BAND: f64 = 0.055;
/// Widest slope of a flood.
const WIDEST_SLOPE: f64 = 2.4;
/// A slope takes this share of the mean width of what is piped.
const SLOPE_SHARE: f64 = 0.32;

/// Draws a design at true size with everything on it as icing that catches the light.
pub fn icing_look(drawn: &DrawnDesign) -> String {
    let cookie = drawn.cookie("look");
    let sections = drawn.sections.iter().enumerate().filter_map(|(place, section)| {
        let region = Region::from_path_d(shown(section)).filter(|region| !region.is_empty())?;
        (section.technique != "naked")
            .then(|| relief(&cookie.section_id(place), &region, color_of(&section.color)))
    });
    let content = cookie.naked().with(sections);
    framed(&cookie, &spoken(&drawn.design.id), content)
}

/// Draws a region, known in the picture by `id`, as icing of this color.
fn relief(id: &str, region: &Region, color: Color) -> Element {
    let mean_width = 2.0 * region.area().to_mm2() / region.edge_length().to_mm().max(1e-9);
    let slope = (mean_width * SLOPE_SHARE).clamp(0.15, WIDEST_SLOPE);
    let clip = format!("{id}-clip");
    let inside = Element::new("clipPath").set("id", clip.clone()).with([Element::reference(id)]);
    let shadow = (1..=2).map(|step| {
        let away = LIGHT.map(|axis| -axis * slope * 0.22 * f64::from(step));
        Element::reference(id).fill(INK).set("fill-opacity", 0.12).moved(away)
    });
    let bands = |paint: Color, toward: f64| {
        (1..=N_BANDS).map(move |band| {
            let share = f64::from(band) / f64::from(N_BANDS);
            let away = LIGHT.map(|axis| axis * toward * slope * 0.35 * share);
            Element::reference(id)
                .set("fill", "none")
                .stroke(paint, 2.0 * slope * share)
                .set("stroke-opacity", plain(BAND * opacity_on(color, paint)))
                .set("stroke-linejoin", "round")
                .moved(away)
        })
    };
    // A band moved away from the light shows on the slope toward it only, and the other way around.
    let slopes = bands(Color::WHITE, -1.0).chain(bands(INK, 1.0));
    let shine = Element::path(lit_edges(region, slope))
        .set("fill", "none")
        .stroke(Color::WHITE, slope * 0.28)
        .set("stroke-opacity", 0.5)
        .set("stroke-linecap", "round")
        .set("stroke-linejoin", "round");
    let top = Element::group(slopes).with([shine]).set("clip-path", format!("url(#{clip})"));
    Element::group(shadow).with([inside, Element::reference(id).fill(color), top])
}

/// Pale paint shows less than dark paint on pale icing, and far more on dark icing.
fn opacity_on(icing: Color, paint: Color) -> f64 {
    if paint != Color::WHITE {
        return 0.9;
    }
    // Luma by Rec. ITU-R BT.709, 0 to 1.
    let Color { red, green, blue } = icing;
    let [red, green, blue] = [red, green, blue].map(|channel| f64::from(channel) / 255.0);
    let luma = 0.2126 * red + 0.7152 * green + 0.0722 * blue;
    0.3 + 1.2 * luma
}

/// Path data of where the top of the slope faces the light.
fn lit_edges(region: &Region, slope: f64) -> String {
    let top = region.inset(quantity::Length::mm(slope));
    let mut data = String::new();
    for ring in top.rings() {
        let mut is_drawn = false;
        let ends = ring.iter().skip(1).chain(ring.first());
        for (&[x0, y0], &[x1, y1]) in ring.iter().zip(ends) {
            let (dx, dy) = (x1 - x0, y1 - y0);
            // The region lies on the right hand of the walk, so that its outward normal is (dy, -dx).
            let facing = (dy * LIGHT[0] - dx * LIGHT[1]) / dx.hypot(dy).max(1e-9);
            if facing < LEAST_FACING {
                is_drawn = false;
                continue;
            }
            if !is_drawn {
                data += &format!("M{} {}", plain(x0), plain(y0));
            }
            data += &format!("L{} {}", plain(x1), plain(y1));
            is_drawn = true;
        }
    }
    data
}

/// Cosine between the light and an edge that shines: 30 degrees.
const LEAST_FACING: f64 = 0.866;

#[cfg(test)]
mod tests {
    use drawing::region::FillRule;

    use super::{super::drawn::tests::plaque, *};

    #[test]
    fn only_edges_toward_the_light_shine() {
        let ring = (0..72).map(|i| {
            let angle = f64::from(i) * std::f64::consts::TAU / 72.0;
            [20.0 * angle.cos(), 20.0 * angle.sin()]
        });
        let disk = Region::from_rings(&[ring.collect()], FillRule::NonZero);
        let data = lit_edges(&disk, 2.0);
        assert!(!data.is_empty());
        for point in data.split(['M', 'L']).filter(|text| !text.is_empty()) {
            let (x, y) = point.split_once(' ').expect("a point");
            let [x, y]: [f64; 2] = [x, y].map(|text| text.parse().expect("a number"));
            assert!(x < 1.0 && y < 1.0, "{point}");
            assert!((x.hypot(y) - 18.0).abs() < 0.1, "{point}");
        }
    }

    #[test]
    fn every_section_stands_out_and_no_filter_is_used() {
        let look = icing_look(&plaque());
        assert_eq!(look.matches("<clipPath").count(), 3);
        assert!(!look.contains("filter") && look.contains(r#"width="60mm""#), "{look}");
    }
}
