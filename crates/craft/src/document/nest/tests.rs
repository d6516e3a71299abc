use serde_json::{Value, json};

use super::*;
use crate::document::{schema, ticks::changes};

/// A clock that stands still: what is sought in iterations does not look at it.
fn answer_of(text: &str) -> Result<NestAnswer, FileError> {
    nest(&read_nest_request(text)?, 2, &mut || 0.0)
}

fn answered(request: &Value) -> NestAnswer {
    answer_of(&request.to_string()).expect("an answer")
}

fn refused(request: &Value) -> String {
    answer_of(&request.to_string()).expect_err("it cannot be answered").to_string()
}

/// Squares of 50 mm, of which a sheet takes 4 x 5.
fn squares(n: usize) -> Value {
    json!({
        "sheet": {"width_mm": 214.5, "length_mm": 266.5},
        "gap_mm": 2, "edge_margin_mm": 4,
        "items": [{"outline": [[0, 0], [50, 0], [50, 50], [0, 50]], "qty": n, "rotation": "quarter"}],
        "budget": {"iterations": 50000}, "seed": 1
    })
}

fn n_placed(answer: &NestAnswer) -> usize {
    answer.sheets.iter().map(|sheet| sheet.placements.len()).sum()
}

#[test]
fn squares_come_on_the_sheets_strips_and_trays_their_closed_form_says() {
    // (214.5 - 8 + 2) / 52 = 4 in a row, (266.5 - 8 + 2) / 52 = 5 rows.
    let answer = answered(&squares(41));
    assert_eq!((answer.n_fresh, n_placed(&answer), answer.n_rerolled), (3, 41, 0));
    assert_eq!(answer.fresh_area_mm2, 3.0 * 214.5 * 266.5);
    assert_eq!(answer.dough_use, (41.0 * 2500.0 / answer.fresh_area_mm2 * 1e6).round() / 1e6);
    assert!(answer.area_bound < answer.fresh_area_mm2 && answer.area_bound > 41.0 * 2500.0);
    // 41 disks of the same area, 1 mm larger all around, over 208.5 x 260.5 mm: 2.02 sheets.
    assert_eq!((answer.sheets_bound, answer.length_mm, answer.rerolls), (Some(3), None, Some(0)));
    assert!(!answer.trail.is_empty() && answer.heads_ups.is_empty());

    let mut strip = squares(20);
    strip["mode"] = json!("strip");
    let answer = answered(&strip);
    // Five rows: 5 x 52 - 2 + 8 mm.
    let length_mm = answer.length_mm.expect("a strip has a length");
    assert!((266.0 - 0.001..266.1).contains(&length_mm), "{length_mm}");
    assert_eq!((answer.sheets.len(), n_placed(&answer), answer.n_fresh), (1, 20, 1));
    assert_eq!(answer.trail.last().map(|last| last.fresh_area_mm2), Some(answer.fresh_area_mm2));
    assert!(answer.trail.windows(2).all(|pair| pair[1].fresh_area_mm2 < pair[0].fresh_area_mm2));
    assert!(answer.area_bound < answer.fresh_area_mm2);
    // A strip needs no length.
    strip["sheet"] = json!({"width_mm": 214.5});
    assert_eq!(answered(&strip).length_mm, Some(length_mm));

    let mut trays = squares(41);
    trays["mode"] = json!("trays");
    let answer = answered(&trays);
    assert_eq!((answer.n_fresh, answer.trays_in_rows, n_placed(&answer)), (3, Some(3), 41));
    let least = |at: fn(&NestPlacement) -> f64| {
        let all = answer.sheets.iter().flat_map(|tray| &tray.placements);
        all.map(at).fold(f64::MAX, f64::min)
    };
    // The margin is kept on the tray as it was given.
    assert_eq!((least(|one| one.x_mm), least(|one| one.y_mm)), (4.0, 4.0));
    assert_eq!(answer.sheets[0].width_mm, 214.5);
}

#[test]
fn placements_rotate_about_the_outlines_own_origin_and_then_move() {
    // A rectangle far from its origin, on a sheet that takes it only when it is turned.
    let request = json!({
        "sheet": {"width_mm": 30, "length_mm": 100}, "gap_mm": 2,
        "items": [{"outline": [[200, 100], [280, 100], [280, 110], [200, 110]], "qty": 2, "rotation": [90]}]
    });
    let answer = answered(&request);
    assert_eq!((answer.n_fresh, n_placed(&answer)), (1, 2));
    for one in &answer.sheets[0].placements {
        assert_eq!((one.item, one.rotation_deg, one.mirrored), (0, 90.0, false));
        // x' = -y + x_mm and y' = x + y_mm at 90 degrees.
        let xs = [-110.0 + one.x_mm, -100.0 + one.x_mm];
        let ys = [200.0 + one.y_mm, 280.0 + one.y_mm];
        assert!(xs[0] >= -1e-3 && xs[1] <= 30.0 + 1e-3, "{xs:?}");
        assert!(ys[0] >= -1e-3 && ys[1] <= 100.0 + 1e-3, "{ys:?}");
    }
}

/// Twelve cookies whose dough is a little more than most of a sheet.
fn shelf() -> Value {
    json!({
        "format": "nest/1", "name": "a small order", "mode": "sheets",
        "sheet": {"width_mm": 230, "length_mm": 330},
        "gap_mm": 2, "edge_margin_mm": 3,
        "items": [
            {"outline": "heart 80 mm", "qty": 6, "rotation": "free"},
            {"outline": "star 85 mm", "qty": 6, "rotation": [0, 36, 72.5], "mirror": true, "fresh_only": true},
            {"name": "small ones", "outline": "round 40 mm", "qty": 6}
        ],
        "rerolls": {"max": 2, "loss_share": 0.015},
        "budget": {"iterations": 300000}, "seed": 3
    })
}

#[test]
fn with_rerolls_least_dough_is_sought_and_other_numbers_of_rerolls_are_told() {
    let answer = answered(&shelf());
    assert!(answer.n_rerolled > 0 && !answer.others.is_empty(), "{answer:?}");
    let scraps = answer.sheets.iter().filter(|sheet| sheet.round > 0);
    assert!(scraps.flat_map(|sheet| &sheet.placements).all(|one| one.item != 1));
    for other in &answer.others {
        assert!(other.fresh_area_mm2 > answer.fresh_area_mm2, "least dough comes first");
        assert!(other.area_bound <= other.fresh_area_mm2);
    }
    let sheets = || answer.sheets.iter().filter(|sheet| sheet.round == 0);
    let fresh: f64 = sheets().map(|sheet| sheet.width_mm * sheet.length_mm).sum();
    assert!((fresh - answer.fresh_area_mm2).abs() < 0.01);
    // Where a rolling is worth any dough, the fewest rollings come first.
    let mut few = shelf();
    few["rerolls"]["rolling_mm2"] = json!(1e6);
    let answer = answered(&few);
    assert!(answer.others.iter().all(|other| other.fresh_area_mm2 < answer.fresh_area_mm2));
    // Whole sheets on demand.
    let mut whole = shelf();
    whole["whole_sheets"] = json!(true);
    let answer = answered(&whole);
    assert_eq!(answer.fresh_area_mm2, answer.n_fresh as f64 * 230.0 * 330.0);
    assert!(answer.others.is_empty());
}

#[test]
fn stock_comes_first_and_optional_pieces_cost_no_sheet() {
    let mut request = squares(38);
    request["stock"] = json!([{"width_mm": 214.5, "length_mm": 110.5}]);
    request["items"][0]["n_optional"] = json!(9);
    let answer = answered(&request);
    // 8 from the stock; 30 are two fresh sheets with room for 10 more.
    assert_eq!((answer.n_stock, answer.n_fresh, n_placed(&answer)), (1, 2, 47));
    assert_eq!(answer.unplaced_optional, [0]);
    assert!(answer.sheets[0].from_stock);
    let mut strip = request.clone();
    strip["mode"] = json!("strip");
    let answer = answered(&strip);
    assert_eq!(answer.unplaced_optional, [9]);
    let words = "In mode strip these are left out of account: stock, n_optional.";
    assert_eq!(answer.heads_ups[0].message, words);
}

#[test]
fn the_same_request_gets_the_same_answer_on_any_number_of_threads() {
    for mode in ["sheets", "strip", "trays"] {
        let mut request = shelf();
        request["mode"] = json!(mode);
        let request = read_nest_request(&request.to_string()).expect("a request");
        let on = |n_threads| nest(&request, n_threads, &mut || 0.0).expect("an answer");
        assert_eq!(on(1), on(2), "{mode}");
    }
}

#[test]
fn seconds_end_the_search_by_the_clock_and_a_plan_is_made_in_any_case() {
    for mode in ["sheets", "strip", "trays"] {
        for seconds in [0.0, 2.0] {
            let mut request = shelf();
            request["mode"] = json!(mode);
            request["budget"] = json!({"seconds": seconds});
            // Each look at the clock is a tenth of a second later than the one before.
            let mut looks = 0;
            let mut clock = || {
                looks += 1;
                f64::from(looks) / 10.0
            };
            let request = read_nest_request(&request.to_string()).expect("a request");
            let answer = nest(&request, 1, &mut clock).expect("an answer");
            assert_eq!(n_placed(&answer), 18, "{mode}");
            assert!(answer.timings.first_plan_s <= answer.timings.total_s);
        }
    }
}

#[test]
fn requests_come_back_as_they_went_in_and_use_only_keys_of_the_schema() {
    let schema = schema("nest-request").expect("a schema");
    let request = read_nest_request(&shelf().to_string()).expect("a request");
    let written = serde_json::to_string(&request).expect("JSON");
    assert_eq!(read_nest_request(&written), Ok(request));
    for key in shelf().as_object().expect("a table").keys() {
        assert!(schema["properties"][key].is_object(), "{key}");
    }
    let answer = answered(&squares(3));
    let written = serde_json::to_string(&answer).expect("JSON");
    assert_eq!(serde_json::from_str::<NestAnswer>(&written).expect("it reads back"), answer);
}

/// One item with an outline, asked for once.
fn with(outline: Value) -> Value {
    let mut request = squares(1);
    request["items"][0]["outline"] = outline;
    request
}

#[test]
fn outlines_are_mended_with_a_heads_up_or_refused_by_item() {
    for (outline, words) in [
        // Doubled corners, also where the outline closes.
        (
            json!([[0, 0], [50, 0], [50, 0], [50, 50], [0, 50], [0, 0]]),
            "2 corners doubled left out",
        ),
        (json!([[0, 0], [50, 0], [50, 90], [50, 50], [0, 50]]), "1 corner of spikes without width"),
    ] {
        let answer = answered(&with(outline));
        assert_eq!(n_placed(&answer), 1);
        let message = &answer.heads_ups[0].message;
        assert!(message.contains(words) && message.contains("items[0]"), "{message}");
    }
    // Clockwise or not is all the same.
    let answer = answered(&with(json!([[0, 50], [50, 50], [50, 0], [0, 0]])));
    assert_eq!((n_placed(&answer), answer.heads_ups.len()), (1, 0));
    for (outline, words) in [
        (json!([[0, 0], [50, 70], [50, 0], [0, 50]]), "crosses itself"),
        // What it encloses on one side it loses on the other.
        (json!([[0, 0], [50, 50], [50, 0], [0, 50]]), "encloses no area"),
        (
            json!([[0, 0], [25, 0], [25, 25], [50, 25], [50, 50], [25, 50], [25, 25], [0, 25]]),
            "touches itself",
        ),
        (json!([[0, 0], [100, 0], [50, 0.2]]), "is thinner than any cutter"),
        // Nothing but a spike.
        (json!([[0, 0], [100, 0], [50, 0.001]]), "has fewer than three corners"),
        (json!([[0, 0], [50, 0]]), "has fewer than three corners"),
        (json!([]), "has fewer than three corners"),
        (json!([[0, 0], [1e300, 0], [50, 50]]), "has a coordinate that is no length"),
        (
            json!([[0, 0], [150, 0], [150, 300], [0, 300]]),
            "is 150.00 x 300.00 mm and does not fit between",
        ),
        (json!("heart"), "heart"),
        (json!("hart 80 mm"), "hart"),
    ] {
        let said = refused(&with(outline));
        assert!(said.contains(words) && said.contains("items[0].outline"), "{said}");
    }
}

#[test]
fn very_many_corners_and_copies_are_laid_out_or_refused_in_words() {
    let circle: Vec<[f64; 2]> = (0..5_000)
        .map(|i| (f64::from(i) / 5_000.0 * std::f64::consts::TAU).sin_cos())
        .map(|(sin, cos)| [25.0 * cos, 25.0 * sin])
        .collect();
    let mut request = with(json!(circle));
    request["items"][0]["qty"] = json!(14);
    assert_eq!(answered(&request).n_fresh, 1);
    let many: Vec<[f64; 2]> = (0..5).flat_map(|_| circle.clone()).collect();
    assert!(refused(&with(json!(many))).contains("25000 corners are more than 20000"));

    let nothing = answered(&squares(0));
    assert_eq!((nothing.n_fresh, nothing.sheets.len(), nothing.area_bound), (0, 0, 0.0));
    for mode in ["strip", "trays"] {
        let mut request = squares(0);
        request["mode"] = json!(mode);
        assert_eq!((answered(&request).n_fresh, n_placed(&answered(&request))), (0, 0), "{mode}");
    }
    let said = refused(&squares(10_001));
    assert!(said.contains("items: 10001 pieces are more than the 10000"), "{said}");
}

#[test]
fn every_wrong_value_is_refused_at_its_key() {
    let set = |path: &str, value: Value| {
        let text = changes::set(squares(3), path, value);
        answer_of(&text).expect_err("refused").to_string()
    };
    for (path, value, words) in [
        ("/gap_mm", json!(-1), "gap_mm: -1 is outside 0 to 100"),
        ("/gap_mm", json!(1e30), "gap_mm: 1000000000000000000000000000000 is outside 0 to 100"),
        ("/edge_margin_mm", json!(-0.5), "edge_margin_mm: -0.5 is outside"),
        (
            "/sheet",
            json!({"width_mm": 0, "length_mm": 9}),
            "sheet.width_mm: 0 is outside 1 to 5000",
        ),
        ("/sheet", json!({"width_mm": 100}), "sheet.length_mm: it is missing"),
        ("/mode", json!("sheet"), "did you mean \"sheets\"?"),
        ("/mode", json!("oven"), "write one of sheets, strip, trays"),
        ("/items", json!([]), "items: there is no item"),
        ("/items/0/qty", json!(u64::MAX), "items[0].qty"),
        ("/items/0/qty", json!(-1), "line 1"),
        ("/items/0/qty", json!(1.5), "line 1"),
        (
            "/items/0/rotation",
            json!("fre"),
            "items[0].rotation: \"fre\" is not possible here; did you mean \"free\"?",
        ),
        ("/items/0/rotation", json!([]), "items[0].rotation: the angles are none"),
        ("/items/0/rotation", json!([1e9]), "items[0].rotation: the angles are no numbers"),
        ("/items/0/rotation", json!(7), "a rotation is \"free\", \"quarter\", \"fixed\" or a list"),
        ("/items/0/outline", json!([[1, 2, 3]]), "an outline is a list of corners"),
        ("/items/0/outlin", json!(1), "did you mean \"outline\"?"),
        ("/rerolls", json!({"max": 99}), "rerolls.max: 99 is outside 0 to 10"),
        (
            "/rerolls",
            json!({"max": 1, "loss_share": 1.0}),
            "rerolls.loss_share: 1 is outside 0 to 0.9",
        ),
        ("/stock", json!([{"width_mm": 9, "length_mm": 1e9}]), "stock[0].length_mm"),
        ("/budget", json!({"seconds": -1}), "budget.seconds: -1 is outside"),
        (
            "/budget",
            json!({"seconds": 1, "iterations": 1}),
            "budget.seconds: iterations are given too",
        ),
        ("/format", json!("sequence/1"), "this command reads \"nest/1\""),
    ] {
        let said = set(path, value);
        assert!(said.contains(words), "{path}: {said}");
    }
    // Numbers that no file can hold are refused by the line they stand in.
    let huge = squares(1).to_string().replacen("214.5", "1e999", 1);
    assert!(answer_of(&huge).expect_err("refused").to_string().contains("line 1"));
    let none = squares(1).to_string().replacen("214.5", "NaN", 1);
    assert!(answer_of(&none).expect_err("refused").to_string().contains("line 1"));
}

#[test]
fn no_odd_value_anywhere_makes_it_panic() {
    let mut request = shelf();
    request["budget"] = json!({"iterations": 200});
    request["stock"] = json!([{"width_mm": 100, "length_mm": 100, "qty": 1}]);
    for text in changes::all(&request) {
        // A million pieces are refused, a few seconds are not waited for.
        if let Ok(answer) = answer_of(&text) {
            assert!(answer.dough_use <= 1.0, "{text}");
        }
    }
}
