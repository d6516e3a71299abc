//! Colors against published values and an independent library.

mod calibration;

use tint::{Shade, film::thrown_back, spectrum::Spectrum};

/// 34 pairs with their CIEDE2000: Sharma, Wu, Dalal, "The CIEDE2000 color-difference formula: implementation notes,
/// supplementary test data, and mathematical observations", Color Research and Application 30(1), 2005, table 1.
const PAIRS: &str = include_str!("../../../../fixtures/color/ciede2000_pairs.csv");

#[test]
fn the_published_ciede2000_pairs_are_met_in_both_directions() {
    let mut n_pairs = 0;
    for record in
        csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(PAIRS.as_bytes()).records()
    {
        let record = record.expect("a record");
        let row: Vec<f64> = record.iter().filter_map(|field| field.parse().ok()).collect();
        let [_, l1, a1, b1, l2, a2, b2, published, _] = row[..] else {
            panic!("nine numbers in {record:?}")
        };
        let (one, other) = (Shade::from_lab(l1, a1, b1), Shade::from_lab(l2, a2, b2));
        for difference in [one.difference(other), other.difference(one)] {
            assert!((difference - published).abs() < 1e-4, "{record:?}: {difference}");
        }
        n_pairs += 1;
    }
    assert_eq!(n_pairs, 34);
}

#[test]
fn srgb_primaries_have_their_known_lab_values() {
    // CIELAB (D65) of the sRGB primaries, as computed by any implementation of IEC 61966-2-1: red 53.24 80.09 67.20.
    let red = Shade::from_srgb([255, 0, 0]);
    assert!((red.lightness() - 53.24).abs() < 0.01);
    assert!((red.chroma() - 80.0925_f64.hypot(67.2032)).abs() < 0.02);
}

/// 200 reflectances with the Lab of their whole curves by an independent library (`fixtures/color/spectra.py`).
const SPECTRA: &str = include_str!("../../../../fixtures/color/spectra.csv");

#[test]
fn bands_of_ten_nanometers_give_the_shades_of_whole_curves() {
    let mut n_spectra = 0;
    for record in csv::Reader::from_reader(SPECTRA.as_bytes()).records() {
        let record = record.expect("a record");
        let row: Vec<f64> = record.iter().filter_map(|field| field.parse().ok()).collect();
        let (lab, bands) = row.split_at(3);
        assert_eq!(bands.len(), 36);
        let reflectance = Spectrum::from_fn(|nm| bands[((nm - 380.0) / 10.0) as usize]);
        let difference = reflectance.shade().difference(Shade::from_lab(lab[0], lab[1], lab[2]));
        assert!(difference < 0.05, "{record:?}: {difference}");
        n_spectra += 1;
    }
    assert_eq!(n_spectra, 200);
}

/// The 24 patches of the ColorChecker (`fixtures/color/colorchecker.py`).
const PATCHES: &str = include_str!("../../../../fixtures/color/colorchecker.csv");

#[test]
fn the_patches_of_the_colorchecker_have_their_shades() {
    let mut n_patches = 0;
    for record in csv::Reader::from_reader(PATCHES.as_bytes()).records() {
        let record = record.expect("a record");
        let row: Vec<f64> = record.iter().filter_map(|field| field.parse().ok()).collect();
        let [red, green, blue, l, a, b, seen_l, seen_a, seen_b, ref bands @ ..] = row[..] else {
            panic!("numbers in {record:?}")
        };
        let srgb = Shade::from_srgb([red, green, blue].map(|channel| channel as u8));
        let published = srgb.difference(Shade::from_lab(l, a, b));
        // Eight bits a channel; cyan lies outside of sRGB.
        let is_cut = [red, green, blue].contains(&0.0);
        assert!(published < if is_cut { 4.0 } else { 0.6 }, "{record:?}: {published}");
        let reflectance = Spectrum::from_fn(|nm| bands[((nm - 380.0) / 10.0) as usize]);
        let off = reflectance.shade().difference(Shade::from_lab(seen_l, seen_a, seen_b));
        assert!(off < 0.2, "{record:?}: {off}");
        n_patches += 1;
    }
    assert_eq!(n_patches, 24);
}

#[test]
fn more_dye_never_throws_more_light_back() {
    let steps = (0..2000).map(|step| f64::from(step) * 0.01);
    let thrown: Vec<f64> = steps.map(thrown_back).collect();
    assert!(thrown.windows(2).all(|pair| pair[1] < pair[0]));
}
