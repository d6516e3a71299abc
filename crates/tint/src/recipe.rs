//! Which gels, and how much of each, give this shade?
//!
//! A gel is what one gram of it adds to q = K/S of 100 g of icing (see [`film`](crate::film)).
//! For one, two or three gels the amounts are sought that bring the shade nearest to the target, by least squares in
//! lightness, chroma and hue, each weighted as CIEDE2000 weights it there; then CIEDE2000 itself is taken.
//! All single gels are tried, every pair of them, and a third gel beside the best pairs.
//!
//! Recipes are compared by difference + ½ for each gel beyond the first + 0.35 for each gram of gel in 100 g: a gel
//! more must earn its bottle, and much gel thins icing and tastes (common practice, no source).

use ::palette::Lab;

use crate::{
    Shade,
    dye::Dye,
    film::{ICING, reflectance, shade, thrown_back},
    least_squares::minimize,
    spectrum::Spectrum,
};

/// A gel color.
#[derive(Clone, Debug, PartialEq)]
pub struct Gel {
    /// Its name.
    pub name: String,
    /// q = K/S that 1 g adds to 100 g of icing.
    pub per_gram: Spectrum,
}

impl Gel {
    /// Makes a gel of dyes, each with its milligrams in a gram of gel.
    pub fn of_dyes<'a>(name: &str, dyes: impl IntoIterator<Item = (&'a Dye, f64)>) -> Self {
        let nothing = Spectrum::from_fn(|_| 0.0);
        let sum = |sum: Spectrum, (dye, mg): (&Dye, f64)| sum.plus(&dye.per_mg, mg);
        Self { name: name.to_owned(), per_gram: dyes.into_iter().fold(nothing, sum) }
    }
}

/// A shade that is wanted.
#[derive(Clone, Debug)]
pub struct Wish<'a> {
    /// q = K/S of the icing before any gel: plain, or a tinted leftover.
    pub base: Spectrum,
    /// The shade.
    pub target: Shade,
    /// Gels at hand.
    pub gels: &'a [Gel],
    /// Most gels of one recipe, 1 to 3.
    pub most_gels: usize,
    /// Most grams of gel in 100 g of icing.
    pub most_grams: f64,
}

/// Amounts of gels and the shade they give.
#[derive(Clone, Debug, PartialEq)]
pub struct Recipe {
    /// Place of each gel, with its grams for 100 g of icing.
    pub grams: Vec<(usize, f64)>,
    /// The shade expected.
    pub shade: Shade,
    /// How far it is from the shade wanted (CIEDE2000).
    pub difference: f64,
}

/// Cost of each gel beyond the first, in units of CIEDE2000.
const COST_OF_A_GEL: f64 = 0.5;

/// Cost of a gram of gel in 100 g of icing, in units of CIEDE2000.
const COST_OF_A_GRAM: f64 = 0.35;

/// Least amount tried, in grams for 100 g: below it nothing is seen.
const LEAST_GRAMS: f64 = 1e-4;

/// Pairs that a third gel is tried beside.
const N_BEST_PAIRS: usize = 14;

/// Shares of the single amount a second or third gel begins with.
const STARTS: [f64; 4] = [0.003, 0.03, 0.2, 0.7];

impl Recipe {
    /// Returns all grams of gel in 100 g of icing.
    pub fn total_grams(&self) -> f64 {
        self.grams.iter().map(|(_, grams)| grams).sum()
    }

    /// Returns what recipes are compared by.
    pub fn cost(&self) -> f64 {
        self.difference
            + COST_OF_A_GEL * self.grams.len().saturating_sub(1) as f64
            + COST_OF_A_GRAM * self.total_grams()
    }
}

/// Returns q = K/S of icing with so many grams of each gel in 100 g.
pub fn mixed(base: &Spectrum, gels: &[Gel], grams: &[(usize, f64)]) -> Spectrum {
    let gel = |(place, grams): &(usize, f64)| Some((gels.get(*place)?, *grams));
    grams.iter().filter_map(gel).fold(*base, |mixed, (gel, grams)| mixed.plus(&gel.per_gram, grams))
}

/// Returns the best recipes, the best first, no two of the same gels; none at all if the base comes nearest.
pub fn recipes(wish: &Wish<'_>, n_recipes: usize) -> Vec<Recipe> {
    let search = Search::new(wish);
    let singles: Vec<Recipe> = (0..wish.gels.len()).map(|gel| search.single(gel)).collect();
    let mut found = singles.clone();
    if wish.most_gels >= 2 {
        let mut pairs: Vec<Recipe> = Vec::new();
        for (place, one) in singles.iter().enumerate() {
            for other in singles.iter().skip(place + 1) {
                pairs.push(search.pair(one, other));
            }
        }
        pairs.sort_by(|one, other| one.difference.total_cmp(&other.difference));
        if wish.most_gels >= 3 {
            for pair in pairs.iter().take(N_BEST_PAIRS) {
                let thirds = singles.iter().filter(|third| !shares_gel(pair, third));
                found.extend(thirds.map(|third| search.triple(pair, third)));
            }
        }
        found.extend(pairs);
    }
    found.sort_by(|one, other| one.cost().total_cmp(&other.cost()));
    let mut kept: Vec<Recipe> = Vec::new();
    let plain = shade(&wish.base).difference(wish.target);
    for recipe in found.into_iter().filter(|recipe| recipe.cost() < plain) {
        let is_new = kept.iter().all(|known| gels_of(known) != gels_of(&recipe));
        if is_new && kept.len() < n_recipes {
            kept.push(recipe);
        }
    }
    kept
}

fn gels_of(recipe: &Recipe) -> Vec<usize> {
    let mut gels: Vec<usize> = recipe.grams.iter().map(|(gel, _)| *gel).collect();
    gels.sort_unstable();
    gels
}

fn shares_gel(one: &Recipe, other: &Recipe) -> bool {
    one.grams.iter().any(|(gel, _)| other.grams.iter().any(|(known, _)| known == gel))
}

struct Search<'a> {
    wish: &'a Wish<'a>,
    /// Rows that turn a difference in Lab into one in lightness, chroma and hue as they are seen near the target.
    weights: [[f64; 3]; 3],
}

impl<'a> Search<'a> {
    fn new(wish: &'a Wish<'a>) -> Self {
        let Shade(Lab { l, a, b, .. }) = wish.target;
        let chroma = a.hypot(b);
        let (along, aside) = if chroma > 1.0 { (a / chroma, b / chroma) } else { (1.0, 0.0) };
        // CIE 142-2001: how large a step in lightness, chroma and hue looks, without the turn in blue.
        let square = (l - 50.0) * (l - 50.0);
        let in_lightness = 1.0 + 0.015 * square / (20.0 + square).sqrt();
        let (in_chroma, in_hue) = (1.0 + 0.045 * chroma, 1.0 + 0.015 * chroma);
        let weights = [
            [1.0 / in_lightness, 0.0, 0.0],
            [0.0, along / in_chroma, aside / in_chroma],
            [0.0, -aside / in_hue, along / in_hue],
        ];
        Self { wish, weights }
    }

    fn single(&self, gel: usize) -> Recipe {
        let starts = (0..24).map(|step| {
            let share = f64::from(step) / 23.0;
            [(LEAST_GRAMS.ln() * (1.0 - share) + self.wish.most_grams.ln() * share).exp()]
        });
        self.best([gel], starts)
    }

    fn pair(&self, one: &Recipe, other: &Recipe) -> Recipe {
        let (a, b) = (first(one), first(other));
        let starts =
            STARTS.iter().flat_map(|share| [[0.9 * a.1, share * b.1], [share * a.1, 0.9 * b.1]]);
        self.best([a.0, b.0], starts)
    }

    fn triple(&self, pair: &Recipe, third: &Recipe) -> Recipe {
        let (Some(&a), Some(&b)) = (pair.grams.first(), pair.grams.get(1)) else {
            return pair.clone();
        };
        let c = first(third);
        self.best([a.0, b.0, c.0], STARTS.iter().map(|share| [a.1, b.1, share * c.1]))
    }

    /// Walks to the nearest shade from the best of some starts, in grams.
    fn best<const N: usize>(
        &self,
        gels: [usize; N],
        starts: impl Iterator<Item = [f64; N]>,
    ) -> Recipe {
        let most = self.wish.most_grams;
        let logarithms = |grams: [f64; N]| grams.map(|grams| grams.clamp(LEAST_GRAMS, most).ln());
        let squares = |at: &[f64; N]| {
            let (r, _) = self.residuals(&gels, at);
            r.iter().map(|r| r * r).sum::<f64>()
        };
        let start = starts
            .map(logarithms)
            .min_by(|one, other| squares(one).total_cmp(&squares(other)))
            .unwrap_or([most.ln(); N]);
        let (at, _) = minimize(start, |at| self.residuals(&gels, at));
        let grams: Vec<(usize, f64)> =
            gels.into_iter().zip(at.map(|at| at.exp().clamp(LEAST_GRAMS, most))).collect();
        let shade = shade(&mixed(&self.wish.base, self.wish.gels, &grams));
        Recipe { grams, shade, difference: shade.difference(self.wish.target) }
    }

    /// Differences from the target and from the amount allowed, with how they change with the logarithm of each amount.
    fn residuals<const N: usize>(
        &self,
        gels: &[usize; N],
        logarithms: &[f64; N],
    ) -> ([f64; 4], [[f64; N]; 4]) {
        let grams = logarithms.map(|at| at.clamp(-30.0, 10.0).exp());
        let per_gram = gels.map(|gel| self.wish.gels.get(gel).map(|gel| gel.per_gram));
        let q = per_gram
            .iter()
            .zip(grams)
            .filter_map(|(per_gram, grams)| Some((per_gram.as_ref()?, grams)))
            .fold(self.wish.base, |q, (per_gram, grams)| q.plus(per_gram, grams));
        // How much less light each band throws back for a little more q: dR/dq = 1 - (1 + q) / √(q² + 2q).
        let slope = q.map(|q| {
            let root = (q * (q + 2.0)).sqrt().max(1e-12);
            ICING.slope(thrown_back(q)) * (1.0 - (1.0 + q) / root)
        });
        let xyz = reflectance(&q).xyz();
        let lab = lab(xyz);
        let Shade(target) = self.wish.target;
        let off = [lab[0] - target.l, lab[1] - target.a, lab[2] - target.b];
        let mut r = [0.0; 4];
        let mut slopes = [[0.0; N]; 4];
        for (r, weights) in r.iter_mut().zip(self.weights) {
            *r = dot(weights, off);
        }
        for (column, (per_gram, grams)) in per_gram.iter().zip(grams).enumerate() {
            let Some(per_gram) = per_gram else { continue };
            let change = per_gram.times(&slope).xyz().map(|value| value * grams);
            let change = lab_slope(xyz, change);
            for (row, weights) in slopes.iter_mut().zip(self.weights) {
                row[column] = dot(weights, change);
            }
        }
        // Beyond the amount allowed, the excess counts as a difference.
        const STEEP: f64 = 30.0;
        let total: f64 = grams.iter().sum();
        if total > self.wish.most_grams {
            r[3] = STEEP * (total / self.wish.most_grams - 1.0);
            slopes[3] = grams.map(|grams| STEEP * grams / self.wish.most_grams);
        }
        (r, slopes)
    }
}

fn first(recipe: &Recipe) -> (usize, f64) {
    recipe.grams.first().copied().unwrap_or_default()
}

fn dot(one: [f64; 3], other: [f64; 3]) -> f64 {
    one.iter().zip(other).map(|(one, other)| one * other).sum()
}

/// White of daylight: CIE 15, D65 and the 2° observer.
const WHITE: [f64; 3] = [95.047, 100.0, 108.883];

/// The cube root of CIELAB with its straight beginning (CIE 15, 8.2.1), and its slope.
fn root(share: f64) -> (f64, f64) {
    const KNEE: f64 = 216.0 / 24389.0;
    const RISE: f64 = 24389.0 / 27.0 / 116.0;
    if share > KNEE {
        let root = share.cbrt();
        (root, 1.0 / (3.0 * root * root))
    } else {
        (RISE * share + 16.0 / 116.0, RISE)
    }
}

fn lab(xyz: [f64; 3]) -> [f64; 3] {
    let [x, y, z] = [0, 1, 2].map(|axis: usize| root(xyz[axis] / WHITE[axis]).0);
    [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
}

/// Returns how Lab changes with a change of XYZ.
fn lab_slope(xyz: [f64; 3], change: [f64; 3]) -> [f64; 3] {
    let [x, y, z] =
        [0, 1, 2].map(|axis: usize| root(xyz[axis] / WHITE[axis]).1 * change[axis] / WHITE[axis]);
    [116.0 * y, 500.0 * (x - y), 200.0 * (y - z)]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dye::{dye, plain_icing};

    fn gel(name: &str, dyes: &[(&str, f64)]) -> Gel {
        let dyes = dyes.iter().map(|&(name, mg)| (dye(name).expect("there is data of it"), mg));
        Gel::of_dyes(name, dyes)
    }

    fn shelf() -> Vec<Gel> {
        vec![
            gel("yellow", &[("Yellow 5", 60.0)]),
            gel("red", &[("Red 40", 60.0)]),
            gel("blue", &[("Blue 1", 40.0)]),
            gel("pink", &[("Red 3", 40.0)]),
            gel("orange", &[("Yellow 6", 60.0)]),
            gel("black", &[("Red 40", 40.0), ("Yellow 5", 20.0), ("Blue 1", 30.0)]),
        ]
    }

    fn wish(target: Shade, gels: &[Gel]) -> Wish<'_> {
        Wish { base: plain_icing(), target, gels, most_gels: 3, most_grams: 2.0 }
    }

    #[test]
    fn the_slopes_are_those_of_small_steps() {
        let gels = shelf();
        let wish = wish(Shade::from_srgb([120, 90, 60]), &gels);
        let search = Search::new(&wish);
        // The last total lies beyond the amount allowed.
        for at in [[-3.0, -2.0, -4.0], [0.0_f64, 0.5, -1.0]] {
            let (_, slopes) = search.residuals(&[0, 1, 2], &at);
            for column in 0..3 {
                let moved = |by: f64| {
                    let mut at = at;
                    at[column] += by;
                    search.residuals(&[0, 1, 2], &at).0
                };
                let (ahead, back) = (moved(1e-5), moved(-1e-5));
                for row in 0..4 {
                    let slope = (ahead[row] - back[row]) / 2e-5;
                    let off = (slopes[row][column] - slope).abs();
                    assert!(off < 1e-4 * (1.0 + slope.abs()), "{row} {column}: {off}");
                }
            }
        }
    }

    #[test]
    fn a_shade_that_was_mixed_is_found_again() {
        let gels = shelf();
        for grams in [
            vec![(1, 0.02)],
            vec![(0, 0.3), (2, 0.01)],
            vec![(0, 0.1), (1, 0.05), (5, 0.02)],
            vec![(3, 0.4), (2, 0.05)],
            vec![(5, 1.5)],
        ] {
            let target = shade(&mixed(&plain_icing(), &gels, &grams));
            let found = recipes(&wish(target, &gels), 3);
            let best = found.iter().map(|recipe| recipe.difference).fold(f64::INFINITY, f64::min);
            assert!(best < 0.3, "{grams:?}: {found:?}");
        }
    }

    #[test]
    fn alternatives_differ_in_their_gels_and_stay_within_the_limits() {
        let gels = shelf();
        let found = recipes(&wish(Shade::from_srgb([196, 99, 63]), &gels), 4);
        assert_eq!(found.len(), 4);
        for (place, recipe) in found.iter().enumerate() {
            assert!(recipe.total_grams() < 2.05 && recipe.grams.len() <= 3, "{recipe:?}");
            assert!(found.iter().take(place).all(|other| gels_of(other) != gels_of(recipe)));
            assert!(found.iter().take(place).all(|other| other.cost() <= recipe.cost()));
        }
    }

    #[test]
    fn more_gel_than_allowed_is_never_asked_for_however_dark_the_wish() {
        let gels = shelf();
        let found = recipes(&wish(Shade::from_srgb([0, 0, 0]), &gels), 1);
        let best = found.first().expect("black gel comes nearer than plain icing");
        assert!(best.difference > 2.0 && best.total_grams() < 2.05, "{best:?}");
    }

    #[test]
    fn plain_icing_needs_no_gel() {
        let gels = shelf();
        assert_eq!(recipes(&wish(shade(&plain_icing()), &gels), 3), []);
        assert_eq!(recipes(&wish(Shade::from_srgb([200, 0, 0]), &[]), 3), []);
    }
}
