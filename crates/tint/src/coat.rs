//! How does a coat of this depth look on a baked cookie, against the bowl?
//!
//! A film of depth X that scatters S and absorbs K throws back, over a ground of reflectance R₉,
//! R = (1 - R₉ (a - b coth bSX)) / (a - R₉ + b coth bSX) with a = 1 + K/S and b = √(a² - 1)
//! (P. Kubelka, 1948; the hyperbolic form of the equation of Kubelka and Munk, 1931).
//! The surface is that of [`film`](crate::film).
//!
//! S = 15 per cm as for the strength of dyes ([`dye`](crate::dye)): chosen, not measured; 8 to 40 per cm is possible
//! (common practice, no source).
//! The ground is a pale baked cookie, invented: its reflectance rises from blue to red like that of baked dough,
//! L* 70, a* 7, b* 31 under a surface like that of icing (such values are usual for pale cookies, from memory).
//!
//! So the answer is a warning, not a promise: thin pale coats look darker and yellower than the bowl.
//!
//! # Worked example
//! Without absorption the formula becomes R = (R₉ + (1 - R₉) SX) / (1 + (1 - R₉) SX):
//! over black, a film with SX = 3 throws back 3/4.
//! ```
//! use tint::coat::thrown_back_over;
//!
//! assert!((thrown_back_over(0.0, 0.0, 3.0) - 0.75).abs() < 1e-12);
//! ```

use crate::{
    Shade,
    film::{ICING, shade, thrown_back},
    spectrum::Spectrum,
};

/// Scattering of icing, per millimeter.
const SCATTERING_PER_MM: f64 = 1.5;

/// Returns the share of light a film throws back inside over a ground, from q = K/S and its depth times scattering.
pub fn thrown_back_over(q: f64, ground: f64, scattering_depth: f64) -> f64 {
    let depth = scattering_depth.max(0.0);
    let (q, ground) = (q.max(0.0), ground.clamp(0.0, 1.0));
    let b = (q * (q + 2.0)).sqrt();
    if b * depth > 30.0 {
        // Deeper than light goes and comes back.
        return thrown_back(q);
    }
    // b coth(b depth), which is 1 / depth where b is small; multiplied by the depth so that no depth divides by zero.
    let angle = b * depth;
    let times_depth = if angle < 1e-4 { 1.0 + angle * angle / 3.0 } else { angle / angle.tanh() };
    let a = 1.0 + q;
    (depth - ground * (a * depth - times_depth)) / ((a - ground) * depth + times_depth)
}

/// Returns the share of light a pale baked cookie throws back into the icing that lies on it.
pub fn cookie() -> Spectrum {
    Spectrum::from_fn(|nm| 0.22 + 0.48 / (1.0 + (-(nm - 530.0) / 38.0).exp()))
}

/// Returns how a coat of icing with these q looks on a baked cookie.
pub fn coat_shade(q: &Spectrum, depth_mm: f64) -> Shade {
    over(q, &cookie(), SCATTERING_PER_MM * depth_mm)
}

/// Returns how far a coat on a baked cookie looks from the bowl it came from (CIEDE2000).
pub fn off_the_bowl(q: &Spectrum, depth_mm: f64) -> f64 {
    coat_shade(q, depth_mm).difference(shade(q))
}

fn over(q: &Spectrum, ground: &Spectrum, scattering_depth: f64) -> Shade {
    let mut seen = *q;
    seen.combine(ground, |q, ground| ICING.seen(thrown_back_over(q, ground, scattering_depth)));
    seen.shade()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dye::{dye, plain_icing};

    #[test]
    fn no_depth_is_the_ground_and_much_depth_hides_it() {
        for ground in [0.0, 0.3, 0.9] {
            for q in [0.0, 1e-9, 0.003, 0.25, 4.0, 1e6] {
                assert!((thrown_back_over(q, ground, 0.0) - ground).abs() < 1e-12, "{q} {ground}");
                if q > 0.001 {
                    let deep = thrown_back_over(q, ground, 1e4);
                    assert!((deep - thrown_back(q)).abs() < 1e-9, "{q} {ground}: {deep}");
                }
                let mut before = ground;
                let is_lighter = thrown_back(q) > ground;
                for step in 1..200 {
                    let next = thrown_back_over(q, ground, 0.05 * f64::from(step));
                    let rises = next >= before - 1e-12;
                    let falls = next <= before + 1e-12;
                    assert!(if is_lighter { rises } else { falls }, "{q} {ground} {step}");
                    before = next;
                }
            }
        }
    }

    #[test]
    fn two_films_on_each_other_are_one_film() {
        // The law the formula was found by: the ground of the upper film is the lower one.
        for (q, ground) in [(0.01, 0.4), (0.3, 0.1), (2.0, 0.8)] {
            let lower = thrown_back_over(q, ground, 0.7);
            let both = thrown_back_over(q, lower, 0.5);
            assert!((both - thrown_back_over(q, ground, 1.2)).abs() < 1e-12, "{q} {ground}");
        }
    }

    #[test]
    fn thin_pale_coats_look_darker_and_yellower_and_deep_shades_hide() {
        let white = plain_icing();
        let thin = coat_shade(&white, 1.0);
        let bowl = shade(&white);
        let Shade(thin_lab) = thin;
        let Shade(bowl_lab) = bowl;
        assert!(thin_lab.l < bowl_lab.l && thin_lab.b > bowl_lab.b, "{thin:?} {bowl:?}");
        // Our own earlier computation over another baked cookie, with the same scattering.
        let depths = [1.0, 1.5, 2.0, 3.0];
        let of = |q: &Spectrum| depths.map(|mm| off_the_bowl(q, mm));
        let blue = white.plus(&dye("Blue 1").expect("there is data of it").per_mg, 1.0);
        for (q, earlier) in [(white, [10.7, 7.9, 6.1, 4.1]), (blue, [8.1, 5.1, 3.4, 1.7])] {
            for (off, earlier) in of(&q).into_iter().zip(earlier) {
                assert!((off - earlier).abs() < 0.35, "{off}, earlier {earlier}");
            }
        }
        let red = white.plus(&dye("Red 40").expect("there is data of it").per_mg, 80.0);
        assert!(off_the_bowl(&red, 1.0) < 1.0, "{:?}", of(&red));
    }
}
