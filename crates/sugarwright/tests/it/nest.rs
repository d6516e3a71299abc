//! Laying pieces out from the command line, and what shapely says of it.

use std::{
    env, fs,
    io::Write,
    path::Path,
    process::{Command, Stdio},
};

use craft::document::nest::NestAnswer;
use serde_json::{Value, json};

use crate::program::{run, scratch};

fn answered(text: &str) -> NestAnswer {
    serde_json::from_str(text).expect("an answer")
}

#[test]
fn trays_take_what_their_closed_form_says_and_one_more_where_a_square_turns() {
    let folder = scratch();
    let n_trays = |side_in: f64, n: usize, rotation: &str| {
        let side = side_in * 25.4;
        let request = json!({
            "mode": "trays", "sheet": {"width_mm": 16.5 * 25.4, "length_mm": 11.5 * 25.4},
            "gap_mm": 25.4, "edge_margin_mm": 0, "budget": {"iterations": 3_000_000}, "seed": 1,
            "items": [{"outline": [[0, 0], [side, 0], [side, side], [0, side]], "qty": n, "rotation": rotation}]
        });
        fs::write(folder.path().join("trays.json"), request.to_string()).expect("it is written");
        let answer = run(folder.path(), &["nest", "trays.json"]);
        assert_eq!(answer.code, 0, "{}", answer.aside);
        answered(&answer.out).n_fresh
    };
    // floor(17.5 / (s + 1)) x floor(12.5 / (s + 1)).
    for (side, n) in [(3.5, 6), (3.2, 8), (3.1, 12)] {
        assert_eq!((n_trays(side, n, "quarter"), n_trays(side, n, "free")), (1, 1), "{side} in");
        assert_eq!(n_trays(side, n + 1, "quarter"), 2, "{side} in");
    }
    assert_eq!(n_trays(3.5, 7, "free"), 1);
}

#[test]
fn a_request_is_read_from_the_standard_input_and_seconds_end_the_search() {
    let request = json!({
        "sheet": {"width_mm": 230, "length_mm": 330}, "gap_mm": 2, "edge_margin_mm": 3,
        "items": [{"outline": "heart 80 mm", "qty": 8}, {"outline": "star 70 mm", "qty": 8}],
        "rerolls": {"max": 1}, "budget": {"seconds": 0.5}
    });
    let mut program = Command::new(env!("CARGO_BIN_EXE_sugarwright"))
        .args(["nest", "-"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("the program starts");
    let mut input = program.stdin.take().expect("it listens");
    input.write_all(request.to_string().as_bytes()).expect("it reads");
    drop(input);
    let output = program.wait_with_output().expect("it ends");
    assert!(output.status.success());
    let answer = answered(&String::from_utf8(output.stdout).expect("text"));
    assert!(answer.timings.first_plan_s <= answer.timings.total_s);
    assert!(answer.iterations > 0 && answer.fresh_area_mm2 >= answer.area_bound);
    let n: usize = answer.sheets.iter().map(|sheet| sheet.placements.len()).sum();
    assert_eq!(n, 16);
}

/// A chance of our own, so that the hundred requests stay the same.
struct Chance(u64);

impl Chance {
    /// From 0 up to but not 1.
    fn share(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn below(&mut self, n: usize) -> usize {
        (self.share() * n as f64) as usize
    }
}

/// Stars of 3 to 11 corners around an origin off their middle, asked for in all ways there are.
fn request(chance: &mut Chance, number: usize) -> Value {
    let items: Vec<Value> = (0..1 + chance.below(4))
        .map(|_| {
            let n = 3 + chance.below(9);
            let off = [chance.share() * 40.0, chance.share() * 40.0];
            let outline: Vec<[f64; 2]> = (0..n)
                .map(|i| {
                    let radius = 12.0 + 28.0 * chance.share();
                    let (sin, cos) = (i as f64 / n as f64 * std::f64::consts::TAU).sin_cos();
                    [off[0] + radius * cos, off[1] + radius * sin]
                })
                .collect();
            let rotation = match chance.below(4) {
                0 => json!("free"),
                1 => json!("quarter"),
                2 => json!("fixed"),
                _ => json!([0.0, 77.5, 180.0, 300.0 * chance.share()]),
            };
            json!({
                "outline": outline, "qty": 1 + chance.below(8), "rotation": rotation,
                "mirror": chance.below(2) == 1, "fresh_only": chance.below(4) == 0, "n_optional": chance.below(3)
            })
        })
        .collect();
    let modes = ["sheets", "strip", "sheets", "trays"];
    json!({
        "mode": modes[number % 4],
        "sheet": {"width_mm": 180.0 + 80.0 * chance.share(), "length_mm": 220.0 + 90.0 * chance.share()},
        "gap_mm": 6.0 * chance.share(), "edge_margin_mm": 8.0 * chance.share(),
        "rerolls": {"max": chance.below(3), "loss_share": 0.02},
        "items": items, "budget": {"iterations": 20_000}, "seed": number
    })
}

fn judge(python: &str, folder: &Path) -> (bool, String) {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/../../fixtures/nesting/judge.py");
    let judged = Command::new(python).arg(script).arg(folder).output().expect("Python starts");
    let said = [judged.stdout, judged.stderr].concat();
    (judged.status.success(), String::from_utf8_lossy(&said).into_owned())
}

#[test]
fn shapely_agrees_with_a_hundred_layouts_and_not_with_one_that_was_spoiled() {
    let Ok(python) = env::var("SUGARWRIGHT_OUTSIDE_PYTHON") else {
        return;
    };
    let folder = scratch();
    let at = |name: &str, number: usize| folder.path().join(format!("{name}-{number:03}.json"));
    let mut chance = Chance(20_261_126);
    for number in 0..100 {
        fs::write(at("request", number), request(&mut chance, number).to_string())
            .expect("written");
        let answer = run(folder.path(), &["nest", &format!("request-{number:03}.json")]);
        assert_eq!(answer.code, 0, "{number}: {}", answer.aside);
        fs::write(at("answer", number), answer.out).expect("written");
    }
    let (is_sound, said) = judge(&python, folder.path());
    assert!(is_sound, "{said}");
    assert_eq!(said.lines().count(), 100, "{said}");

    let text = fs::read_to_string(at("answer", 50)).expect("an answer");
    let mut spoiled = answered(&text);
    spoiled.sheets[0].placements[0].x_mm += 500.0;
    let text = serde_json::to_string(&spoiled).expect("JSON");
    fs::write(at("answer", 50), text).expect("written");
    let (is_sound, said) = judge(&python, folder.path());
    assert!(!is_sound && said.contains("request-050.json"), "{said}");
}
