//! How strongly do the dyes of gels absorb?
//!
//! One milligram of dye in 100 g of icing adds q(λ) = 2 ln 10 · E · ρ · 10⁻³ / S · form(λ), where E is the absorbance
//! of 1 % in 1 cm at the peak (E1%), ρ = 1.35 g/cm³ the density of icing and S = 15 per cm its scattering.
//!
//! Peaks and their heights: purity criteria of Directive 95/45/EC (codified as 2008/128/EC).
//! Forms: sums of Gauss curves fitted by us to curves of PhotochemCAD (M. Taniguchi and J. S. Lindsey) for erythrosine,
//! carmoisine, quinoline yellow, curcumin, betanin, and of dyes with the same chromophore for Yellow 6, Ponceau 4R,
//! Blue 1, Green 3 and norbixin; Red 40 from two teaching data sets; the others from memory.
//!
//! They are priors: what a gel really does, samples of it tell (see [`calibrate`](crate::calibrate)).
//! Deep shades hang on the tails of the bands, which are known worst.

use std::sync::LazyLock;

use crate::spectrum::{N_BANDS, Spectrum};

/// A dye, or another coloring matter.
#[derive(Clone, Debug, PartialEq)]
pub struct Dye {
    /// Its usual name in the trade: "Red 40".
    pub name: String,
    /// Its number in the European Union: "E129", or nothing.
    pub number: String,
    /// q = K/S that 1 mg adds to 100 g of icing.
    pub per_mg: Spectrum,
}

/// Name of the row of icing without any dye.
const PLAIN: &str = "plain";

static ROWS: LazyLock<Vec<Dye>> = LazyLock::new(|| {
    let lines = include_str!("../data/dyes.csv").lines();
    lines.filter(|line| !line.starts_with('#')).skip(1).filter_map(row).collect()
});

/// Reads one line of the data; a line that is none is left out, which a test would notice.
fn row(line: &str) -> Option<Dye> {
    let mut cells = line.split(',');
    let (name, number) = (cells.next()?.to_owned(), cells.next()?.to_owned());
    let bands: Vec<f64> = cells.map(str::parse).collect::<Result<_, _>>().ok()?;
    let bands: [f64; N_BANDS] = bands.try_into().ok()?;
    let place = |nm: f64| ((nm - 380.0) / 10.0).round() as usize;
    let per_mg = Spectrum::from_fn(|nm| bands.get(place(nm)).copied().unwrap_or_default());
    Some(Dye { name, number, per_mg })
}

/// Returns every dye there is data of.
pub fn dyes() -> impl Iterator<Item = &'static Dye> {
    ROWS.iter().filter(|dye| dye.name != PLAIN)
}

/// Finds a dye by its name or its European number, whatever the case.
pub fn dye(name: &str) -> Option<&'static Dye> {
    let is_meant = |own: &str| own.eq_ignore_ascii_case(name.trim());
    dyes().find(|dye| is_meant(&dye.name) || is_meant(&dye.number))
}

/// Returns q of icing without any dye.
pub fn plain_icing() -> Spectrum {
    let plain = ROWS.iter().find(|row| row.name == PLAIN);
    plain.map_or(Spectrum::from_fn(|_| 0.0), |plain| plain.per_mg)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_line_of_the_data_is_a_dye() {
        assert_eq!((dyes().count(), ROWS.len()), (21, 22));
        assert_eq!(dye(" red 40").map(|dye| dye.number.as_str()), Some("E129"));
        assert_eq!(dye("e133").map(|dye| dye.name.as_str()), Some("Blue 1"));
        assert_eq!(dye("plain"), None);
    }

    #[test]
    fn peaks_stand_where_and_as_high_as_the_purity_criteria_say() {
        // Directive 95/45/EC: wavelength of the peak in nanometers and E1%.
        for (name, nm, e1) in [
            ("E102", 426.0, 530.0),
            ("E104", 411.0, 865.0),
            ("E110", 485.0, 555.0),
            ("E122", 516.0, 510.0),
            ("E124", 505.0, 430.0),
            ("E127", 526.0, 1100.0),
            ("E129", 504.0, 540.0),
            ("E132", 610.0, 480.0),
            ("E133", 630.0, 1630.0),
            ("E151", 570.0, 530.0),
            ("E155", 460.0, 403.0),
            ("E100", 426.0, 1607.0),
            ("E162", 535.0, 1120.0),
        ] {
            let bands = dye(name).expect("there is data of it").per_mg;
            let peak = bands.peak();
            let at = bands.bands().iter().position(|&band| band == peak).expect("it has a peak");
            let found_nm = 380.0 + 10.0 * at as f64;
            assert!((found_nm - nm).abs() <= 10.0, "{name}: {found_nm} nm");
            // A band of 10 nm cuts the narrowest peak, that of E127, by 6 %.
            let found_e1 = peak * 15.0 / (2.0 * std::f64::consts::LN_10 * 1.35e-3);
            assert!((found_e1 / e1 - 1.0).abs() < 0.06, "{name}: {found_e1}");
        }
    }

    #[test]
    fn icing_without_dye_is_nearly_white() {
        let plain = crate::film::shade(&plain_icing());
        assert!(plain.lightness() > 90.0 && plain.chroma() < 8.0, "{plain:?}");
    }
}
