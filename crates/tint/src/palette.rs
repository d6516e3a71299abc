//! Which shades go with this color, and in which can one write on it?
//!
//! Shades are sought in Oklch (B. Ottosson, 2020), where equal steps look about equal: the given colors, lighter and
//! darker steps of them, their neighbors in hue (30° and 60°), the hues between two given ones, the opposite.
//! Each is taken if it is [`APART`] from all before it, so that a palette reads as different shades from an arm's length.
//! That these go together is the old rule of like and opposite hues (common practice, no source).
//!
//! Writing is read by contrast of light: (Y₁ + 0.05) / (Y₂ + 0.05), Y the relative luminance of the lighter and the
//! darker (WCAG 2.2, "contrast ratio"); 4.5 is asked of text (success criterion 1.4.3).
//! Icing is neither blacker than L* 16 nor whiter than when it is plain, so a middle base does not always reach that.
//!
//! # Worked example
//! Black on white has 1.05 / 0.05 = 21.
//! ```
//! use tint::{Shade, palette::contrast};
//!
//! let (black, white) = (Shade::from_srgb([0; 3]), Shade::from_srgb([255; 3]));
//! assert!((contrast(black, white) - 21.0).abs() < 1e-3);
//! ```

use ::palette::{FromColor, IntoColor, Lab, LinSrgb, Oklch, Srgb, white_point::D65};

use crate::{Shade, dye::plain_icing, film::shade};

/// Colors closer than this (CIEDE2000) are easily taken for each other on a cookie (common practice, no source).
pub const APART: f64 = 10.0;

/// Contrast that text asks of its ground: WCAG 2.2, success criterion 1.4.3.
pub const READABLE: f64 = 4.5;

/// L* of the blackest icing that black gel gives (our own computation: 3 g of black gel in 100 g).
const BLACKEST: f64 = 16.0;

/// Most shades of a palette.
pub const MOST_SHADES: usize = 12;

/// Shades that go together.
#[derive(Clone, Debug, PartialEq)]
pub struct Palette {
    /// The given ones first; the first of them is the base. Fewer than wanted where no more are far enough apart.
    pub shades: Vec<Shade>,
    /// One to write with on the base.
    pub lettering: Shade,
    /// Contrast of lettering and base, 1 to 21; below [`READABLE`] where icing cannot do more.
    pub contrast: f64,
}

/// Two colors that are not one shade but look alike.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LookAlike {
    /// Place of the one.
    pub one: usize,
    /// Place of the other.
    pub other: usize,
    /// How far they are apart (CIEDE2000).
    pub difference: f64,
}

/// Returns the contrast ratio of WCAG 2.2, from 1 to 21.
pub fn contrast(one: Shade, other: Shade) -> f64 {
    let light = |shade: Shade| {
        let color = LinSrgb::<f64>::from_color(shade.0);
        let [red, green, blue] =
            [color.red, color.green, color.blue].map(|channel| channel.clamp(0.0, 1.0));
        0.2126 * red + 0.7152 * green + 0.0722 * blue + 0.05
    };
    let (one, other) = (light(one), light(other));
    one.max(other) / one.min(other)
}

/// Finds colors of a set that are not one shade but nearer than [`APART`], the nearest first.
pub fn look_alikes(shades: &[Shade]) -> Vec<LookAlike> {
    let mut found = Vec::new();
    for (one, first) in shades.iter().enumerate() {
        for (other, second) in shades.iter().enumerate().skip(one + 1) {
            let difference = first.difference(*second);
            if difference < APART && !first.is_same(*second) {
                found.push(LookAlike { one, other, difference });
            }
        }
    }
    found.sort_by(|one, other| one.difference.total_cmp(&other.difference));
    found
}

/// Builds a palette of so many shades around a base and, if there is one, a second color.
pub fn around(base: Shade, second: Option<Shade>, n_shades: usize) -> Palette {
    let n_shades = n_shades.clamp(1, MOST_SHADES);
    let second = second.filter(|second| !second.is_same(base));
    let mut shades = vec![base];
    shades.extend(second);
    let lettering = lettering(&shades);
    let contrast = contrast(lettering, base);
    for candidate in candidates(base, second) {
        if shades.len() >= n_shades {
            break;
        }
        let is_apart = |known: &Shade| known.difference(candidate) >= APART;
        if shades.iter().all(is_apart) && is_apart(&lettering) {
            shades.push(candidate);
        }
    }
    Palette { shades, lettering, contrast }
}

/// Steps of lightness, the mildest first.
const STEPS: [f64; 11] = [0.0, 0.12, -0.12, 0.24, -0.24, 0.36, -0.36, 0.48, -0.48, 0.6, -0.6];

/// Chroma of companions of a base that is nearly gray: muted, but to be told from it (common practice, no source).
const LEAST_CHROMA: f64 = 0.05;

/// Lightness of shades that can be mixed well.
const LIGHTNESS: [f64; 2] = [0.32, 0.95];

/// Returns shades that may go with the given ones, the likeliest first.
fn candidates(base: Shade, second: Option<Shade>) -> impl Iterator<Item = Shade> {
    let base = oklch(base);
    let hues = match second.map(oklch) {
        Some(second) => {
            let way = (second.hue - base.hue).into_degrees();
            let between = |share: f64| {
                (
                    way * share,
                    base.l + share * (second.l - base.l),
                    base.chroma + share * (second.chroma - base.chroma),
                )
            };
            [1.0, 0.0, 0.5, 0.25, 0.75, -0.25, 1.25].map(between).to_vec()
        }
        None => [0.0, 30.0, -30.0, 180.0, 60.0, -60.0, 150.0]
            .map(|turn| {
                (
                    turn,
                    base.l,
                    if turn == 0.0 { base.chroma } else { base.chroma.max(LEAST_CHROMA) },
                )
            })
            .to_vec(),
    };
    // Far hues come after mild steps of near ones.
    let mut places: Vec<(usize, usize)> =
        (0..STEPS.len()).flat_map(|step| (0..hues.len()).map(move |hue| (step, hue))).collect();
    places.sort_by_key(|(step, hue)| step + hue);
    places.into_iter().filter_map(move |(step, hue)| {
        let (turn, l, chroma) = *hues.get(hue)?;
        let l = (l + STEPS.get(step)?).clamp(LIGHTNESS[0], LIGHTNESS[1]);
        // Very pale and very deep shades of one hue hold less color.
        Some(shown(Oklch::new(l, chroma * (1.0 - 0.8 * STEPS.get(step)?.abs()), base.hue + turn)))
    })
}

/// Returns the shade to write with on the first of some shades: of its hue, as little darker or lighter as can be read
/// and told from the others.
fn lettering(shades: &[Shade]) -> Shade {
    let base = shades.first().copied().unwrap_or(Shade::from_srgb([255; 3]));
    let Oklch { l, chroma, hue, .. } = oklch(base);
    let lightest = shade(&plain_icing()).lightness();
    let mut steps: Vec<Shade> = (0..=100)
        .map(|step| shown(Oklch::new(f64::from(step) / 100.0, chroma.min(0.09), hue)))
        .filter(|shade| (BLACKEST..=lightest).contains(&shade.lightness()))
        .collect();
    steps.sort_by(|one, other| (oklch(*one).l - l).abs().total_cmp(&(oklch(*other).l - l).abs()));
    let is_apart = |step: &Shade| shades.iter().all(|known| known.difference(*step) >= APART);
    let readable = steps.iter().find(|step| contrast(**step, base) >= READABLE && is_apart(step));
    let best = || {
        steps.iter().max_by(|one, other| contrast(**one, base).total_cmp(&contrast(**other, base)))
    };
    readable.or_else(best).copied().unwrap_or(Shade::from_srgb([0; 3]))
}

fn oklch(shade: Shade) -> Oklch<f64> {
    let color: Srgb<f64> = shade.0.into_color();
    color.into_color()
}

/// Returns a color as 8 bits show it, with less chroma where they cannot.
fn shown(color: Oklch<f64>) -> Shade {
    let fits = |color: &Oklch<f64>| {
        let Srgb { red, green, blue, .. } = Srgb::<f64>::from_color(*color);
        [red, green, blue].iter().all(|channel| (-1e-3..=1.001).contains(channel))
    };
    let mut paler = color;
    for _ in 0..40 {
        if fits(&paler) {
            break;
        }
        paler.chroma *= 0.93;
    }
    let lab: Lab<D65, f64> = Srgb::<f64>::from_color(paler).into_color();
    Shade::from_srgb(Shade(lab).to_srgb())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hex(hex: u32) -> Shade {
        let [_, red, green, blue] = hex.to_be_bytes();
        Shade::from_srgb([red, green, blue])
    }

    #[test]
    fn primaries_have_their_known_oklch() {
        // B. Ottosson's Oklab, worked out once with the matrices of CSS Color 4.
        for (color, l, chroma, hue) in
            [(0xff0000, 0.62796, 0.25768, 29.234), (0x0000ff, 0.45201, 0.31321, 264.052)]
        {
            let found = oklch(hex(color));
            assert!((found.l - l).abs() < 1e-3 && (found.chroma - chroma).abs() < 1e-3);
            assert!((found.hue.into_positive_degrees() - hue).abs() < 0.1, "{found:?}");
        }
    }

    #[test]
    fn contrast_has_the_published_values() {
        // WCAG 2.2 techniques and their common examples: #767676 on white is the lightest gray of 4.5, #777777 is not.
        assert!(contrast(hex(0x767676), hex(0xffffff)) >= 4.5);
        assert!(contrast(hex(0x777777), hex(0xffffff)) < 4.5);
        assert!((contrast(hex(0xff0000), hex(0xffffff)) - 3.998).abs() < 0.001);
        assert_eq!(contrast(hex(0x123456), hex(0x123456)), 1.0);
    }

    #[test]
    fn palettes_hold_together_and_their_shades_are_told_apart() {
        let bases =
            [0xc9929a, 0x87ceeb, 0x2d5a34, 0xf7efdc, 0xc8202b, 0x1e1c1d, 0x9a9a9a, 0xf5c23b];
        for base in bases {
            for second in [None, Some(hex(0x6a3d9a)), Some(hex(0xa9b79a))] {
                let palette = around(hex(base), second, 6);
                assert_eq!(palette.shades.len(), 6, "#{base:06x} {second:?}: {palette:?}");
                assert_eq!(palette.shades[0], hex(base));
                assert!(second.is_none_or(|second| palette.shades[1] == second));
                let mut all = palette.shades.clone();
                all.push(palette.lettering);
                let given = if second.is_some() { 2 } else { 1 };
                let alike: Vec<LookAlike> =
                    look_alikes(&all).into_iter().filter(|pair| pair.other >= given).collect();
                assert!(alike.is_empty(), "#{base:06x}: {alike:?}");
                assert!(
                    palette.contrast >= READABLE || palette.shades[0].lightness() > 40.0,
                    "#{base:06x}: {}",
                    palette.contrast
                );
            }
        }
    }

    #[test]
    fn writing_on_a_middle_base_is_as_readable_as_icing_allows() {
        let gray = hex(0x7f7f7f);
        let palette = around(gray, None, 3);
        let reachable = |l: f64| contrast(Shade::from_lab(l, 0.0, 0.0), gray);
        let most = reachable(BLACKEST).max(reachable(shade(&plain_icing()).lightness()));
        assert!(palette.contrast <= most + 0.05 && palette.contrast > most - 0.25, "{palette:?}");
    }

    #[test]
    fn a_palette_of_nothing_or_too_much_is_still_one() {
        assert_eq!(around(hex(0xffffff), None, 0).shades.len(), 1);
        let many = around(hex(0xc8202b), Some(hex(0xc8202b)), 1000);
        assert!(many.shades.len() <= MOST_SHADES && many.shades.len() > 5, "{many:?}");
    }

    #[test]
    fn colors_that_look_alike_are_found_and_one_shade_is_not_told() {
        let shades = [0xf3cfc9, 0xf3cfca, 0xeebfb8, 0x2d5a34].map(hex);
        let found = look_alikes(&shades);
        let pairs: Vec<(usize, usize)> = found.iter().map(|pair| (pair.one, pair.other)).collect();
        assert!(
            pairs.contains(&(0, 2)) && pairs.contains(&(1, 2)) && pairs.len() == 2,
            "{found:?}"
        );
        assert!(found.iter().all(|pair| (2.0..APART).contains(&pair.difference)));
    }
}
