//! Laws on random input.

use craft::{
    document::{read_choices, read_kitchen, read_order},
    icing::plan_icing,
    order::Detail,
    technique::plan_sections,
};
use proptest::prelude::{Just, ProptestConfig, Strategy, any, prop_oneof, proptest};
use quantity::Mass;

use crate::kitchen;

fn detail() -> impl Strategy<Value = Detail> {
    prop_oneof![
        Just(Detail::Plain),
        Just(Detail::Simple),
        Just(Detail::Dressed),
        Just(Detail::Detailed),
        Just(Detail::Elaborate)
    ]
}

/// An order of one undrawn item.
fn order_text(count: u32, width_mm: u32, detail: Detail) -> String {
    format!(
        "title = \"t\"\ncustomer = \"c\"\ndue = \"2027-03-06T10:00[America/Halifax]\"\n[[item]]\ncutter = \"round {width_mm} mm\"\n\
         detail = \"{}\"\ncolors = [\"#ffffff\", \"#2b4ba0\", \"#c8202b\"]\ncount = {count}\n",
        detail.name()
    )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_text_makes_a_reader_panic(text in any::<String>()) {
        let _ = read_order(&text);
        let _ = read_kitchen(&text);
        let _ = read_choices(&text, "designs/a.toml");
    }

    #[test]
    fn more_icing_is_made_than_lies_on_cookies_and_more_cookies_never_need_less(
        count in 1..200_u32,
        width_mm in 30..150_u32,
        detail in detail(),
    ) {
        let made = |count: u32| -> Mass {
            let order = read_order(&order_text(count, width_mm, detail)).expect("an order");
            let brief = craft::order::read_brief(order, &Default::default()).expect("a brief");
            let (chapter, _) = plan_sections(&kitchen(), &brief);
            let (icing, _) = plan_icing(&kitchen(), &chapter, jiff::civil::date(2027, 3, 2));
            for bowl in &icing.bowls {
                assert!(bowl.weigh_out + bowl.water > bowl.on_cookies, "{bowl:?}");
            }
            icing.batch.total
        };
        assert!(made(count) <= made(count + 10) + Mass::g(1e-6));
    }
}
