use std::collections::BTreeMap;

use jiff::civil::date;

use super::*;
use crate::{
    check::check_plan,
    document::{plan::Written, plan::write_plan, read_order, start_kitchen},
    order::{Brief, DesignFiles, read_brief},
    plan::{OrderPlan, plan_order_again},
};

/// Discs and tents, which lie badly in rows, so many of each.
fn brief(count: u32, keys: &str) -> Brief {
    let art = |outline: &str| {
        let svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"80mm\" height=\"80mm\" viewBox=\"0 0 80 80\">{outline}</svg>"
        );
        drawing::import(svg.as_bytes(), &drawing::Fonts::default()).expect("a drawing")
    };
    let files = DesignFiles {
        artworks: BTreeMap::from([
            (
                "disc".to_owned(),
                art(
                    "<circle id=\"outline\" cx=\"40\" cy=\"40\" r=\"40\" fill=\"none\"/><circle id=\"base\" cx=\"40\" cy=\"40\" r=\"38\" fill=\"#f7f3ea\"/>",
                ),
            ),
            (
                "tent".to_owned(),
                art(
                    "<path id=\"outline\" d=\"M0 60 H70 L35 0 Z\" fill=\"none\"/><path id=\"base\" d=\"M6 57 H64 L35 7 Z\" fill=\"#f7f3ea\"/>",
                ),
            ),
        ]),
        ..DesignFiles::default()
    };
    let item = |design: &str| format!("[[item]]\ndesign = \"{design}\"\ncount = {count}\n");
    let text = format!(
        "title = \"Discs and tents\"\ncustomer = \"nobody (invented)\"\ndue = \"2027-06-19T16:00[America/Halifax]\"\n{keys}\n{}{}",
        item("disc"),
        item("tent")
    );
    read_brief(read_order(&text).expect("an order"), &files).expect("a brief")
}

fn basis(effort: Effort) -> Basis {
    Basis { today: date(2027, 6, 1), effort, seed: 1 }
}

fn cut(keys: &str, effort: Effort, memory: &CuttingMemory) -> Cutting {
    let (kitchen, brief) = (start_kitchen(), brief(18, keys));
    let on_progress = &mut |_| ControlFlow::Continue(());
    let plan = plan_order_again(&kitchen, &brief, &basis(effort), memory, on_progress);
    let document = write_plan(&Written {
        kitchen: &kitchen,
        order: &brief.order,
        plan: &plan,
        basis: &basis(effort),
        inputs_sha256: "",
    });
    assert_eq!(check_plan(&kitchen, &document), [], "{keys}");
    plan.dough.cutting
}

#[test]
fn every_way_to_cut_is_offered_and_can_be_taken() {
    let memory = CuttingMemory::default();
    let usual = cut("", Effort::Normal, &memory);
    assert_eq!(usual.style, Some(CuttingStyle::OneShape));
    let of =
        |wanted: fn(CuttingStyle) -> bool| usual.ways.iter().find(|way| wanted(way.style)).copied();
    let whole = usual.ways[0];
    let measured = of(|style| matches!(style, CuttingStyle::ToMeasure(_))).expect("measured");
    let rows = of(|style| style == CuttingStyle::Rows).expect("rows");
    assert_eq!(whole.style, CuttingStyle::OneShape, "what is taken comes first");
    assert!(measured.mass < whole.mass, "the last sheet is no larger than it must be");
    assert!(rows.n_rerolled == 0 && rows.mass >= whole.mass);
    for way in &usual.ways[1..] {
        let taken = cut(&format!("cutting = \"{}\"", way.style), Effort::Normal, &memory);
        assert_eq!(taken.style, Some(way.style));
        assert_eq!(taken.n_cut(), usual.n_cut(), "{}", way.style);
        assert_eq!(
            (taken.ways[0], taken.n_fresh(), taken.n_rerolled()),
            (*way, way.n_fresh, way.n_rerolled)
        );
    }
}

/// The outlines and placements of a cutting: round, design, rotation, mirrored.
fn cuts(cutting: &Cutting) -> Vec<(usize, usize, f64, bool)> {
    let plan = cutting.plan.as_ref().expect("a plan");
    let of = |sheet: &CutSheet| -> Vec<_> {
        let cut = |one: &nesting::Placement| {
            (sheet.round, cutting.designs[one.piece], one.rotation_deg, one.mirrored)
        };
        sheet.placements.iter().map(cut).collect()
    };
    plan.sheets.iter().flat_map(of).collect()
}

#[test]
fn what_a_cutter_may_do_is_heeded() {
    let memory = CuttingMemory::default();
    let of = |tents: &str| {
        let mut brief = brief(18, "cutting = \"to_measure_2\"");
        let text = format!(
            "title = \"a\"\ncustomer = \"b\"\ndue = \"2027-06-19T16:00[America/Halifax]\"\n[[item]]\ndesign = \"tent\"\ncount = 18\n{tents}"
        );
        brief.order.items[1].cutter_use = read_order(&text).expect("an order").items[0].cutter_use;
        let on_progress = &mut |_| ControlFlow::Continue(());
        let plan =
            plan_order_again(&start_kitchen(), &brief, &basis(Effort::Quick), &memory, on_progress);
        cuts(&plan.dough.cutting)
    };
    let tents = |cuts: &[(usize, usize, f64, bool)]| -> Vec<_> {
        cuts.iter().copied().filter(|cut| cut.1 == 1).collect()
    };
    assert!(tents(&of("")).iter().any(|cut| cut.2 != 0.0), "else the next says nothing");
    assert!(tents(&of("turning = \"fixed\"\n")).iter().all(|cut| cut.2 == 0.0 && !cut.3));
    let quarters = tents(&of("turning = \"quarter\"\n"));
    assert!(quarters.iter().all(|cut| cut.2.rem_euclid(90.0) == 0.0), "{quarters:?}");
    let fresh = of("fresh_dough = true\n");
    assert_eq!(tents(&fresh).len(), 20);
    assert!(tents(&fresh).iter().all(|cut| cut.0 == 0));
    let error = read_order(
        "title = \"a\"\ncustomer = \"b\"\ndue = \"2027-06-19T16:00[America/Halifax]\"\n[[item]]\ndesign = \"a\"\ncount = 1\nturning = \"twice\"\n",
    );
    let words = error.expect_err("no such turning").to_string();
    assert!(words.contains("turning") && words.contains("free, quarter, fixed"), "{words}");
}

#[test]
fn extras_that_would_cost_dough_are_left_out_where_the_kitchen_says_so() {
    let mut kitchen = start_kitchen();
    // Discs of 80 mm: (250 - 6 + 2) / 82 = 3 in each of (350 - 6 + 2) / 82 = 4 rows, and twelve are ordered.
    kitchen.dough.rerolls_max = 0;
    let mut brief = brief(6, "cutting = \"rows\"");
    let plan = |kitchen: &Kitchen, brief: &Brief| {
        let basis = basis(Effort::Quick);
        let memory = CuttingMemory::default();
        let on_progress = &mut |_| ControlFlow::Continue(());
        let plan = plan_order_again(kitchen, brief, &basis, &memory, on_progress);
        let document = write_plan(&Written {
            kitchen,
            order: &brief.order,
            plan: &plan,
            basis: &basis,
            inputs_sha256: "",
        });
        assert_eq!(check_plan(kitchen, &document), []);
        plan
    };
    brief.order.items.truncate(1);
    brief.order.items[0].count = 12;
    brief.order.handovers[0].counts = vec![(0, 12)];
    let with = plan(&kitchen, &brief);
    kitchen.dough.extras_if_free = true;
    let without = plan(&kitchen, &brief);
    let told = |plan: &OrderPlan| {
        let cutting = &plan.dough.cutting;
        (cutting.n_fresh(), cutting.n_cut(), plan.sections.designs[0].extras)
    };
    assert_eq!((told(&with), told(&without)), ((2, 13, 1), (1, 12, 0)));
    let iced = |plan: &OrderPlan| plan.icing.bowls[0].on_cookies;
    assert!((iced(&with) / iced(&without) - 13.0 / 12.0).abs() < 1e-9);
    let is_told = |plan: &OrderPlan| {
        plan.heads_ups.iter().any(|one| one.message.contains("extra is left out"))
    };
    assert!(is_told(&without) && !is_told(&with));
}

#[test]
fn what_was_laid_out_before_is_not_searched_again() {
    let memory = CuttingMemory::default();
    let (kitchen, brief) = (start_kitchen(), brief(18, ""));
    let mut count = 0;
    let mut plan = |brief: &Brief| {
        count = 0;
        let on_progress = &mut |news: crate::plan::News| {
            count += usize::from(news.sheets.is_some());
            ControlFlow::Continue(())
        };
        let basis = basis(Effort::Quick);
        let plan = plan_order_again(&kitchen, brief, &basis, &memory, on_progress);
        (plan.dough.cutting.plan, count)
    };
    let (first, n_first) = plan(&brief);
    let (again, n_again) = plan(&brief);
    assert!(n_first > 0 && n_again == 0, "{n_first}, {n_again}");
    assert_eq!(first, again);
    let mut more = brief.clone();
    more.order.items[0].count += 6;
    assert!(plan(&more).1 > 0);
}

#[test]
fn who_ends_the_search_gets_the_plan_found_so_far_and_nothing_is_remembered_of_it() {
    let memory = CuttingMemory::default();
    let (kitchen, brief) = (start_kitchen(), brief(18, ""));
    let plan = plan_order_again(&kitchen, &brief, &basis(Effort::Normal), &memory, &mut |_| {
        ControlFlow::Break(())
    });
    let cutting = plan.dough.cutting;
    assert_eq!((cutting.n_cut(), cutting.ways.len()), (40, 1));
    assert_eq!(memory.0.lock().expect("a lock").len(), 0);
}

#[test]
fn ways_are_read_as_they_are_written_and_others_are_refused() {
    for style in [
        CuttingStyle::OneShape,
        CuttingStyle::Mixed,
        CuttingStyle::ToMeasure(2),
        CuttingStyle::Rows,
    ] {
        assert_eq!(style.to_string().parse(), Ok(style));
    }
    for text in ["", "to_measure_", "to_measure_10", "to_measure_-1", "Rows"] {
        assert_eq!(text.parse::<CuttingStyle>(), Err(UnknownStyle), "{text}");
    }
    let error = read_order(
        "title = \"a\"\ncustomer = \"b\"\ndue = \"2027-06-19T16:00[America/Halifax]\"\ncutting = \"thin\"\n[[item]]\ndesign = \"a\"\ncount = 1\n",
    );
    let words = error.expect_err("no such way").to_string();
    assert!(words.contains("\"thin\" is no way to cut"), "{words}");
}
