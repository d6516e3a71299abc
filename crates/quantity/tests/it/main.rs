//! Laws of the quantities.

use proptest::prelude::{any, proptest};

use quantity::{Area, Density, Length, Mass, Money, parse_length, parse_volume};

proptest! {
    #[test]
    fn no_text_makes_the_readers_panic(text in any::<String>()) {
        let _ = parse_length(&text);
        let _ = parse_volume(&text);
    }

    #[test]
    fn a_written_length_is_read_back(mm in 0.0..10_000.0_f64) {
        assert_eq!(parse_length(&format!("{mm} mm")), Ok(Length::mm(mm)));
    }

    #[test]
    fn rounding_up_never_loses_and_gains_less_than_a_step(g in 0.0..1.0e6_f64, step in 0.1..100.0_f64) {
        let rounded = Mass::g(g).round_up_to(Mass::g(step)).to_g();
        assert!(rounded >= g - step * 1e-8 && rounded < g + step * (1.0 + 1e-8));
    }

    #[test]
    fn mass_of_a_slab_scales_with_each_side(a in 1.0..1e4_f64, t in 0.1..50.0_f64, d in 0.5..2.0_f64) {
        let mass = Area::mm2(a) * Length::mm(t) * Density::g_per_ml(d);
        let doubled = Area::mm2(a * 2.0) * Length::mm(t) * Density::g_per_ml(d);
        assert!((doubled / mass - 2.0).abs() < 1e-12);
    }

    #[test]
    fn money_is_rounded_up_to_its_step(minor in 0..1_000_000_i64, step in 1..5_000_i64) {
        let rounded = Money::minor(minor).round_up_to(Money::minor(step)).to_minor();
        assert!(rounded % step == 0 && (minor..minor + step).contains(&rounded));
    }
}
