//! Photographs made by formula, of cutters and lines whose outline is known, read back at true size.
//!
//! A pinhole camera looks at a plane tilted by 20 degrees; the light is uneven, the rim of the cutter has glare and
//! throws a shadow, the picture is blurred, noisy and saved as JPEG.
//! Sizes: ISO 216 (A4), ANSI/ASME Y14.1 (Letter), ISO/IEC 7810 (ID-1).

use drawing::{
    Error, Fonts, ReadOptions, Region, import,
    photo::{Doubt, LineEdge, PhotoOptions, PhotoOutline, Reference, Subject, outline},
    read,
};
use image::{ExtendedColorType, ImageEncoder, codecs};
use quantity::Length;

/// How far an outline may be off.
const MOST_OFF_MM: f64 = 0.5;

/// A photograph to be made.
#[derive(Clone, Copy)]
struct Scene {
    reference: Reference,
    kind: Kind,
    tilt_degrees: f64,
    turn_degrees: f64,
    /// Bend of the lens.
    bend: f64,
    /// Standard deviation of the noise, of 255.
    noise: f64,
    /// Part of the light missing at one end of the photograph.
    uneven: f64,
    seed: u64,
}

/// What lies on the paper.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Kind {
    /// The rim of a flower of five petals.
    Flower,
    /// The rim of a plaque with round corners.
    Plaque,
    /// A flower drawn with a pen 1.2 mm wide.
    Drawn,
    /// Bare paper.
    Nothing,
}

const PLAIN: Scene = Scene {
    reference: Reference::A4,
    kind: Kind::Flower,
    tilt_degrees: 20.0,
    turn_degrees: 8.0,
    bend: 0.0,
    noise: 3.0,
    uneven: 0.3,
    seed: 1,
};

const WIDTH: usize = 2400;
const HEIGHT: usize = 1800;
const RIM_MM: f64 = 0.9;
const PEN_MM: f64 = 1.2;

impl Scene {
    /// Returns the center of the subject from the center of the reference, mm.
    fn center(&self) -> [f64; 2] {
        if self.reference == Reference::Id1Card { [95.0, 12.0] } else { [14.0, -22.0] }
    }

    /// Returns the signed distance from the outline, negative inside, and the direction seen from the center.
    fn off(&self, [x, y]: [f64; 2]) -> (f64, f64) {
        let [cx, cy] = self.center();
        let (x, y) = (x - cx, y - cy);
        let angle = y.atan2(x);
        if self.kind == Kind::Plaque {
            let (dx, dy) = (x.abs() - 36.0, y.abs() - 22.0);
            let outer = dx.max(0.0).hypot(dy.max(0.0));
            return (outer + dx.max(dy).min(0.0) - 4.0, angle);
        }
        let (radius, slope) = flower(angle);
        let distance = x.hypot(y);
        ((distance - radius) / (slope / distance.max(1.0)).hypot(1.0), angle)
    }

    /// Returns how bright a point of the plane is, red, green and blue from 0 to 1.
    fn color(&self, at: [f64; 2]) -> [f64; 3] {
        let [longer, shorter] = self.reference.sides().map(Length::to_mm);
        let (dx, dy) = (at[0].abs() - longer / 2.0, at[1].abs() - shorter / 2.0);
        let is_card = self.reference == Reference::Id1Card;
        // Corners of a card are round by 3.18 mm (ISO/IEC 7810).
        let round = if is_card { 3.18 } else { 0.0 };
        let past = (dx + round).max(0.0).hypot((dy + round).max(0.0)) - round;
        let on_reference = dx < 0.0 && dy < 0.0 && past <= 0.0;
        let paper = [0.86, 0.85, 0.82];
        let ground = match (is_card, on_reference) {
            (true, true) => [0.16, 0.30, 0.52],
            (false, false) => [0.40, 0.30, 0.22],
            _ => paper,
        };
        if on_reference == is_card || self.kind == Kind::Nothing {
            return ground;
        }
        let (off, angle) = self.off(at);
        if self.kind == Kind::Drawn {
            return if off.abs() < PEN_MM / 2.0 { [0.15, 0.16, 0.25] } else { ground };
        }
        if -RIM_MM < off && off < 0.0 {
            // Dark metal with two places of glare, brighter than paper; on their flanks it matches the paper.
            let glare =
                (angle - 0.8).cos().max(0.0).powi(60) + (angle + 2.1).cos().max(0.0).powi(90);
            let metal = 0.30 + 0.08 * (3.0 * angle).sin() + 0.68 * glare;
            return [metal, metal, 1.02 * metal];
        }
        // The light comes from one side: shadow outside opposite, inside on its own side.
        let side = (angle - 2.5).cos();
        let depth = if off >= 0.0 { side } else { -side }.max(0.0);
        let reach = 7.0 * depth;
        let shadow = if reach > 0.0 {
            0.35 * depth * (1.0 - off.abs() / reach).clamp(0.0, 1.0)
        } else {
            0.0
        };
        ground.map(|light| light * (1.0 - shadow))
    }

    /// Returns the points of the true outline.
    fn truth(&self) -> Vec<[f64; 2]> {
        let n = 1440;
        let angles = (0..n).map(|step| std::f64::consts::TAU * f64::from(step) / f64::from(n));
        if self.kind != Kind::Plaque {
            return angles
                .map(|angle| [flower(angle).0 * angle.cos(), flower(angle).0 * angle.sin()])
                .collect();
        }
        let corner = |angle: f64| {
            let (sx, sy) = (angle.cos().signum(), angle.sin().signum());
            [36.0 * sx + 4.0 * angle.cos(), 22.0 * sy + 4.0 * angle.sin()]
        };
        angles.map(|angle| corner(angle + 1e-9)).collect()
    }

    /// Takes the photograph.
    fn shoot(&self) -> Vec<u8> {
        let (middle_x, middle_y) = (WIDTH as f64 / 2.0, HEIGHT as f64 / 2.0);
        let half_diagonal = middle_x.hypot(middle_y);
        let focal = 1.15 * WIDTH as f64;
        let far = if self.reference == Reference::Id1Card { 350.0 } else { 460.0 };
        let look = if self.reference == Reference::Id1Card { [48.0, 5.0] } else { [0.0, 0.0] };
        let (sin, cos) = self.tilt_degrees.to_radians().sin_cos();
        let (turn_sin, turn_cos) = self.turn_degrees.to_radians().sin_cos();
        let across = [turn_cos, turn_sin * cos, turn_sin * sin];
        let down = [-turn_sin, turn_cos * cos, turn_cos * sin];
        let normal = [0.0, -sin, cos];
        let dot = |a: [f64; 3], b: [f64; 3]| a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
        let to_plane = |x: f64, y: f64| {
            let (dx, dy) = ((x - middle_x) / half_diagonal, (y - middle_y) / half_diagonal);
            let factor = (1.0 + self.bend * (dx * dx + dy * dy)) * half_diagonal / focal;
            let ray = [dx * factor, dy * factor, 1.0];
            let way = far * normal[2] / dot(ray, normal);
            let hit = [way * ray[0], way * ray[1], way * ray[2] - far];
            [dot(hit, across) + look[0], dot(hit, down) + look[1]]
        };
        let mut channels = vec![[0.0; 3]; WIDTH * HEIGHT];
        for y in 0..HEIGHT {
            for x in 0..WIDTH {
                let mut sum = [0.0; 3];
                for (sx, sy) in [(0.25, 0.25), (0.75, 0.25), (0.25, 0.75), (0.75, 0.75)] {
                    let color = self.color(to_plane(x as f64 + sx, y as f64 + sy));
                    sum = [0, 1, 2].map(|channel| sum[channel] + color[channel] / 4.0);
                }
                let (u, v) = (x as f64 / WIDTH as f64, y as f64 / HEIGHT as f64);
                let light = 1.0 - self.uneven * (0.7 * u + 0.3 * v * v);
                channels[y * WIDTH + x] = sum.map(|value| value * light);
            }
        }
        let blurred = blur(&blur(&channels, 1), WIDTH);
        let mut chance = self.seed;
        let mut noise = || {
            // Four uniform numbers have a variance of a third; their sum is nearly normal.
            let mut sum = 0.0;
            for _ in 0..4 {
                chance = chance
                    .wrapping_mul(6_364_136_223_846_793_005)
                    .wrapping_add(1_442_695_040_888_963_407);
                sum += (chance >> 40) as f64 / (1_u64 << 24) as f64 - 0.5;
            }
            sum * self.noise * 3.0_f64.sqrt()
        };
        let rgb: Vec<u8> = blurred
            .iter()
            .flat_map(|color| {
                color.map(|value| (255.0 * value + noise()).round().clamp(0.0, 255.0) as u8)
            })
            .collect();
        let mut jpeg = Vec::new();
        codecs::jpeg::JpegEncoder::new_with_quality(&mut jpeg, 90)
            .write_image(&rgb, WIDTH as u32, HEIGHT as u32, ExtendedColorType::Rgb8)
            .expect("memory takes every byte");
        jpeg
    }

    fn options(&self) -> PhotoOptions {
        let subject = match self.kind {
            Kind::Drawn => Subject::DrawnLine(LineEdge::Middle),
            _ => Subject::Cutter,
        };
        PhotoOptions {
            reference: self.reference,
            subject,
            corners: None,
            with_lens: self.bend != 0.0,
            longest: None,
        }
    }
}

/// Returns the radius of the flower in a direction, and how it changes.
fn flower(angle: f64) -> (f64, f64) {
    let radius = 32.0 + 5.0 * (5.0 * angle).cos() + 2.0 * angle.sin();
    (radius, -25.0 * (5.0 * angle).sin() + 2.0 * angle.cos())
}

/// Blurs along pixels a step apart with the weights 1, 4, 6, 4, 1: a standard deviation of one pixel.
fn blur(colors: &[[f64; 3]], step: usize) -> Vec<[f64; 3]> {
    let at = |index: usize, by: usize| {
        colors[(index + by * step).saturating_sub(2 * step).min(colors.len() - 1)]
    };
    (0..colors.len())
        .map(|index| {
            let mut sum = [0.0; 3];
            for (by, weight) in [1.0, 4.0, 6.0, 4.0, 1.0].into_iter().enumerate() {
                let color = at(index, by);
                sum = [0, 1, 2].map(|channel| sum[channel] + weight * color[channel] / 16.0);
            }
            sum
        })
        .collect()
}

/// Distances between two closed lines, either way, the largest last.
fn apart(one: &[[f64; 2]], other: &[[f64; 2]]) -> Vec<f64> {
    let to_line = |[x, y]: [f64; 2], line: &[[f64; 2]]| {
        let ends = line.iter().cycle().skip(1);
        let distances = line.iter().zip(ends).map(|(from, to)| {
            let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
            let length2 = (dx * dx + dy * dy).max(1e-12);
            let t = (((x - from[0]) * dx + (y - from[1]) * dy) / length2).clamp(0.0, 1.0);
            (x - from[0] - t * dx).hypot(y - from[1] - t * dy)
        });
        distances.fold(f64::INFINITY, f64::min)
    };
    let there = one.iter().map(|&point| to_line(point, other));
    let back = other.iter().map(|&point| to_line(point, one));
    let mut apart: Vec<f64> = there.chain(back).collect();
    apart.sort_by(f64::total_cmp);
    apart
}

fn center_of_area(ring: &[[f64; 2]]) -> [f64; 2] {
    let ends = ring.iter().cycle().skip(1);
    let mut sums = [0.0; 3];
    for ([x0, y0], [x1, y1]) in ring.iter().zip(ends) {
        let cross = x0 * y1 - x1 * y0;
        for (sum, part) in sums.iter_mut().zip([(x0 + x1) * cross, (y0 + y1) * cross, 3.0 * cross])
        {
            *sum += part;
        }
    }
    [sums[0] / sums[2], sums[1] / sums[2]]
}

/// How far the outline is off at most, and 95 % of it, whichever way the sheet was taken.
fn off_mm(found: &PhotoOutline, scene: &Scene) -> [f64; 2] {
    let ring: Vec<[f64; 2]> = found.outline.rings().next().expect("it has a ring").to_vec();
    let mut truth = scene.truth();
    let mut best = [f64::INFINITY; 2];
    for _ in 0..4 {
        truth = truth.into_iter().map(|[x, y]| [-y, x]).collect();
        // Where on the paper it lay does not matter.
        let (here, there) = (center_of_area(&truth), center_of_area(&ring));
        let moved: Vec<[f64; 2]> =
            truth.iter().map(|[x, y]| [x - here[0] + there[0], y - here[1] + there[1]]).collect();
        let apart = apart(&moved, &ring);
        let most = apart.last().copied().unwrap_or(f64::INFINITY);
        if most < best[0] {
            best = [most, apart[apart.len() * 95 / 100]];
        }
    }
    best
}

#[allow(clippy::print_stdout)]
fn check(name: &str, scene: Scene) {
    let found =
        outline(&scene.shoot(), &scene.options()).unwrap_or_else(|error| panic!("{name}: {error}"));
    let [most, usual] = off_mm(&found, &scene);
    let said = found.uncertainty.to_mm();
    println!("{name}: {most:.2} mm off, 95 % of it {usual:.2} mm, said to be within {said:.2} mm");
    assert!(most <= MOST_OFF_MM, "{name}: {most:.3} mm");
    assert!(usual <= said, "{name}: 95 % is within {usual:.3} mm, not {said:.3} mm");
    assert_eq!((found.outline.rings().count(), found.doubt), (1, None), "{name}");
}

#[test]
fn a_cutter_on_a_sheet_of_a4_is_found_within_half_a_millimeter() {
    check("A4, flower", PLAIN);
    check("A4, plaque", Scene { kind: Kind::Plaque, turn_degrees: -12.0, seed: 2, ..PLAIN });
}

#[test]
fn a_cutter_on_a_sheet_of_letter_is_found_within_half_a_millimeter() {
    let letter = Scene { reference: Reference::Letter, ..PLAIN };
    check("Letter, flower", Scene { turn_degrees: 4.0, seed: 3, ..letter });
    check("Letter, plaque", Scene { kind: Kind::Plaque, noise: 5.0, seed: 4, ..letter });
}

#[test]
fn a_cutter_beside_a_card_is_found_within_half_a_millimeter() {
    let card = Scene { reference: Reference::Id1Card, uneven: 0.2, ..PLAIN };
    check("card, flower", Scene { turn_degrees: 3.0, seed: 5, ..card });
    check("card, plaque", Scene { kind: Kind::Plaque, turn_degrees: -5.0, seed: 6, ..card });
}

#[test]
fn the_bend_of_a_lens_is_taken_out() {
    check("A4, bent", Scene { bend: 0.06, seed: 7, ..PLAIN });
}

#[test]
fn a_drawn_line_is_followed_along_the_edge_asked_for() {
    let scene = Scene { kind: Kind::Drawn, seed: 8, ..PLAIN };
    check("A4, drawn", scene);
    let photograph = scene.shoot();
    let area = |edge| {
        let options = PhotoOptions { subject: Subject::DrawnLine(edge), ..scene.options() };
        outline(&photograph, &options).expect("the line is found").outline
    };
    let [outer, inner] = [LineEdge::Outer, LineEdge::Inner].map(area);
    let line = (outer.area() - inner.area()).to_mm2()
        / ((outer.edge_length() + inner.edge_length()).to_mm() / 2.0);
    assert!((line - PEN_MM).abs() < 0.25, "the pen is {line:.3} mm wide");
}

#[test]
fn a_ruler_confirms_a_scale_or_corrects_it() {
    let photograph = PLAIN.shoot();
    let plain = outline(&photograph, &PLAIN.options()).expect("the cutter is found");
    let with = |longest: Length| {
        outline(&photograph, &PhotoOptions { longest: Some(longest), ..PLAIN.options() })
    };
    let truth = PLAIN.truth();
    let longest = truth
        .iter()
        .flat_map(|one| truth.iter().map(move |other| (one[0] - other[0]).hypot(one[1] - other[1])))
        .fold(0.0, f64::max);
    let confirmed = with(Length::mm(longest)).expect("the ruler agrees");
    assert_eq!(confirmed.outline, plain.outline);
    let ruler = confirmed.ruler.expect("it was asked");
    assert!((ruler.seen.to_mm() - longest).abs() < MOST_OFF_MM && ruler.scale == 1.0);
    let corrected = with(Length::mm(0.95 * longest)).expect("the ruler corrects");
    let ratio = corrected.outline.area() / plain.outline.area();
    assert!((ratio / 0.95_f64.powi(2) - 1.0).abs() < 0.02, "{ratio}");
    assert!(matches!(with(Length::mm(2.0 * longest)), Err(Error::RulerDisagrees { .. })));
}

#[test]
fn corners_may_be_marked_roughly_and_the_outline_is_artwork_like_any_other() {
    let photograph = PLAIN.shoot();
    let found = outline(&photograph, &PLAIN.options()).expect("the cutter is found");
    let rough = found.corners.map(|[x, y]| [x + 6.0, y - 5.0]);
    let marked = PhotoOptions { corners: Some(rough), ..PLAIN.options() };
    let again = outline(&photograph, &marked).expect("the corners are marked");
    assert!(off_mm(&again, &PLAIN)[0] <= MOST_OFF_MM);
    let artwork = import(again.to_svg().as_bytes(), &Fonts::none()).expect("a drawing");
    let options = ReadOptions { width: None, border: Length::ZERO };
    let drawing = read(&artwork, &options).expect("the artwork states its size");
    let bounds = again.outline.bounds().expect("it is not empty");
    assert!((drawing.width.to_mm() - bounds.width().to_mm()).abs() < 0.01);
    let crossed = [rough[0], rough[2], rough[1], rough[3]];
    let wrong = PhotoOptions { corners: Some(crossed), ..PLAIN.options() };
    assert!(matches!(outline(&photograph, &wrong), Err(Error::BadCorners { .. })));
}

#[test]
fn another_sheet_than_was_said_is_doubted() {
    for (reference, taken_for) in
        [(Reference::A4, Reference::Letter), (Reference::Letter, Reference::A4)]
    {
        let scene = Scene { reference, ..PLAIN };
        let options = PhotoOptions { reference: taken_for, ..scene.options() };
        let found = outline(&scene.shoot(), &options).expect("a sheet is found");
        let Some(Doubt::OtherProportion { seen, .. }) = found.doubt else {
            panic!("{:?}", found.doubt)
        };
        let [longer, shorter] = reference.sides();
        assert!((seen / (longer / shorter) - 1.0).abs() < 0.04, "{seen}");
    }
}

#[test]
fn a_photograph_without_a_sheet_or_without_a_cutter_is_refused_with_a_sentence() {
    let bare = Scene { kind: Kind::Nothing, ..PLAIN };
    assert!(matches!(outline(&bare.shoot(), &bare.options()), Err(Error::NoSubject { .. })));
    let mut gray = Vec::new();
    codecs::jpeg::JpegEncoder::new(&mut gray)
        .write_image(&[128; 300 * 200 * 3], 300, 200, ExtendedColorType::Rgb8)
        .expect("memory takes every byte");
    assert!(matches!(outline(&gray, &PLAIN.options()), Err(Error::NoReference { .. })));
    assert!(matches!(outline(b"GIF89a", &PLAIN.options()), Err(Error::NotPicture)));
}

#[test]
fn same_photograph_same_outline() {
    let photograph = PLAIN.shoot();
    let outlines: Vec<Region> = (0..2)
        .map(|_| outline(&photograph, &PLAIN.options()).expect("the cutter is found").outline)
        .collect();
    assert_eq!(outlines[0].path_d(), outlines[1].path_d());
}
