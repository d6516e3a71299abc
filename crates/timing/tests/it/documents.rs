//! Reads the formats `sequence/1` and `calendar/1` and compiles them to the engine's problems.

use std::collections::BTreeMap;

use serde_json::Value;
use timing::{
    Age, Bag, BlockRow, CalendarProblem, EitherOrder, FurtherBag, Hold, Job, Link, LinkKind,
    Precedence, Project, RowLag, RowProblem, RowSection, SequenceProblem, SetUp, Task, WetLimit,
    Work, block_lag, block_row,
};

fn int(value: &Value) -> i64 {
    value.as_i64().expect("a whole number")
}

fn list(value: &Value) -> &[Value] {
    value.as_array().map_or(&[], Vec::as_slice)
}

fn text(value: &Value) -> &str {
    value.as_str().expect("a text")
}

/// A row of an instance: sections of one design that are worked together.
struct Row {
    design: usize,
    sections: Vec<usize>,
    bags: Vec<usize>,
    layout: BlockRow,
}

/// Lays out the rows of a design: what is wet joins its base in a composite row.
fn rows(design: usize, json: &Value, bag_of: &BTreeMap<&str, usize>, swap: i64) -> Vec<Row> {
    let sections = list(&json["sections"]);
    let place = |id: &Value| sections.iter().position(|one| one["id"] == *id).expect("a section");
    let wet: Vec<(usize, usize, i64)> = list(&json["wet"])
        .iter()
        .map(|pair| (place(&pair[0]), place(&pair[1]), int(&pair[2])))
        .collect();
    let row = |base: usize| {
        let together: Vec<usize> = std::iter::once(base)
            .chain(wet.iter().filter(|pair| pair.0 == base).map(|pair| pair.1))
            .collect();
        let within = |section: usize| together.iter().position(|&one| one == section);
        let limits: Vec<WetLimit> = wet
            .iter()
            .filter_map(|&(base, over, most)| {
                Some(WetLimit { base: within(base)?, over: within(over)?, most })
            })
            .collect();
        let worked: Vec<RowSection> = together
            .iter()
            .map(|&section| RowSection {
                bag: bag_of[text(&sections[section]["bag"])],
                per_copy: int(&sections[section]["per_copy"]),
            })
            .collect();
        let layout = block_row(&worked, int(&json["copies"]), swap, &limits);
        assert!(layout.keeps_limits());
        Row { design, sections: together, bags: worked.iter().map(|one| one.bag).collect(), layout }
    };
    (0..sections.len()).filter(|&at| wet.iter().all(|pair| pair.1 != at)).map(row).collect()
}

/// Reads the format `sequence/1` and compiles it.
pub(crate) fn sequence(json: &str) -> SequenceProblem {
    sequence_of(&serde_json::from_str(json).expect("JSON"))
}

/// Compiles the format `sequence/1`.
pub(crate) fn sequence_of(instance: &Value) -> SequenceProblem {
    let bags = list(&instance["bags"]);
    let bag_of: BTreeMap<&str, usize> =
        bags.iter().enumerate().map(|(at, bag)| (text(&bag["id"]), at)).collect();
    let colors: Vec<&str> = bags.iter().map(|bag| text(&bag["color"])).collect();
    let color_of =
        |color: &str| colors.iter().position(|known| *known == color).expect("a known color");
    let designs = list(&instance["designs"]);
    let rows: Vec<Row> = designs
        .iter()
        .enumerate()
        .flat_map(|(at, design)| rows(at, design, &bag_of, int(&instance["wet_swap"])))
        .collect();

    let (precedences, either_orders) = lags(designs, &rows);
    let n_workers = usize::try_from(int(&instance["decorators"])).expect("a number of people");
    SequenceProblem {
        jobs: rows
            .iter()
            .map(|row| Job { duration: row.layout.duration(), bag: row.bags[0] })
            .collect(),
        further_bags: rows
            .iter()
            .enumerate()
            .flat_map(|(job, row)| row.bags[1..].iter().map(move |&bag| FurtherBag { job, bag }))
            .collect(),
        bags: bags
            .iter()
            .map(|bag| Bag { color: color_of(text(&bag["color"])), prep: int(&bag["prep"]) })
            .collect(),
        precedences,
        either_orders,
        set_up: SetUp {
            same_color: int(&instance["switch"]["same_color"]),
            other: int(&instance["switch"]["other"]),
        },
        windows: instance["sessions"].as_array().map(|sessions| windows(sessions)),
        n_workers,
        exclusive: if n_workers > 1 { exclusive(designs.len(), &rows) } else { Vec::new() },
        crust: None,
    }
}

/// Two people never hold the same cookie: of the rows of one design, no two at the same time.
fn exclusive(n_designs: usize, rows: &[Row]) -> Vec<Vec<usize>> {
    let of = |design| (0..rows.len()).filter(move |&row| rows[row].design == design).collect();
    (0..n_designs).map(of).collect()
}

fn windows(json: &[Value]) -> Vec<(i64, i64)> {
    json.iter().map(|window| (int(&window[0]), int(&window[1]))).collect()
}

/// The lags between rows, in a fixed order and in whichever order.
fn lags(designs: &[Value], rows: &[Row]) -> (Vec<Precedence>, Vec<EitherOrder>) {
    let (mut precedences, mut either_orders) = (Vec::new(), Vec::new());
    for (design, json) in designs.iter().enumerate() {
        // The row of a section, and its place in the row.
        let find = |id: &Value| {
            let sections = list(&json["sections"]);
            let section = sections.iter().position(|one| one["id"] == *id).expect("a section");
            rows.iter()
                .enumerate()
                .filter(|(_, row)| row.design == design)
                .find_map(|(at, row)| {
                    Some((at, row.sections.iter().position(|&one| one == section)?))
                })
                .expect("a row")
        };
        let lag = |a: (usize, usize), b: (usize, usize), lag: &Value| {
            block_lag((&rows[a.0].layout, a.1), (&rows[b.0].layout, b.1), int(lag))
        };
        for arc in list(&json["overlay"]) {
            let (a, b) = (find(&arc[0]), find(&arc[1]));
            precedences.push(Precedence { before: a.0, after: b.0, lag: lag(a, b, &arc[2]) });
        }
        for pair in list(&json["adjacent"]) {
            let (a, b) = (find(&pair[0]), find(&pair[1]));
            either_orders.push(EitherOrder {
                a: a.0,
                b: b.0,
                lag_ab: lag(a, b, &pair[2]),
                lag_ba: lag(b, a, &pair[2]),
            });
        }
    }
    (precedences, either_orders)
}

/// Reads the format `sequence/1` as rows.
#[allow(dead_code, reason = "the benchmarks need no rows")]
pub(crate) fn row_problem(json: &str) -> RowProblem {
    let instance: Value = serde_json::from_str(json).expect("JSON");
    let compiled = sequence(json);
    let place = |sections: &Value, id: &Value| {
        list(sections).iter().position(|one| one["id"] == *id).expect("a section")
    };
    let bag_of = |id: &Value| {
        list(&instance["bags"]).iter().position(|bag| bag["id"] == *id).expect("a bag")
    };
    let (mut rows, mut lags) = (Vec::new(), Vec::new());
    for (group, design) in list(&instance["designs"]).iter().enumerate() {
        let wet: Vec<(usize, usize, i64)> = list(&design["wet"])
            .iter()
            .map(|pair| {
                let at = |one: usize| place(&design["sections"], &pair[one]);
                (at(0), at(1), int(&pair[2]))
            })
            .collect();
        // For each section the row and its place in it.
        let mut place_of = BTreeMap::new();
        let sections = list(&design["sections"]);
        let bases = (0..sections.len()).filter(|&at| wet.iter().all(|pair| pair.1 != at));
        for base in bases {
            let over = wet.iter().filter(|pair| pair.0 == base);
            let limit = |(at, pair): (usize, &(usize, usize, i64))| WetLimit {
                base: 0,
                over: at + 1,
                most: pair.2,
            };
            let together: Vec<usize> =
                std::iter::once(base).chain(over.clone().map(|pair| pair.1)).collect();
            for (at, &section) in together.iter().enumerate() {
                place_of.insert(section, (rows.len(), at));
            }
            let worked = |&section: &usize| RowSection {
                bag: bag_of(&sections[section]["bag"]),
                per_copy: int(&sections[section]["per_copy"]),
            };
            rows.push(timing::Row {
                sections: together.iter().map(worked).collect(),
                copies: int(&design["copies"]),
                swap: int(&instance["wet_swap"]),
                limits: over.enumerate().map(limit).collect(),
                group: Some(group),
            });
        }
        for (kind, is_fixed) in [("overlay", true), ("adjacent", false)] {
            lags.extend(list(&design[kind]).iter().map(|pair| {
                let at = |one: usize| place_of[&place(&design["sections"], &pair[one])];
                let lag = int(&pair[2]);
                RowLag { from: at(0), to: at(1), lag, back: (!is_fixed).then_some(lag) }
            }));
        }
    }
    RowProblem {
        rows,
        lags,
        bags: compiled.bags,
        set_up: compiled.set_up,
        windows: None,
        n_workers: 1,
        crust: None,
        may_split: false,
        orders: vec![],
    }
}

/// Reads the format `calendar/1`.
pub(crate) fn calendar(json: &str) -> CalendarProblem {
    calendar_of(&serde_json::from_str(json).expect("JSON"))
}

/// Compiles the format `calendar/1`.
pub(crate) fn calendar_of(instance: &Value) -> CalendarProblem {
    let resources = instance["resources"].as_object().expect("resources");
    let names: Vec<&String> = resources.keys().collect();
    let resource =
        |name: &str| names.iter().position(|known| *known == name).expect("a known resource");
    let projects = list(&instance["orders"])
        .iter()
        .map(|order| {
            let tasks = list(&order["tasks"]);
            let task =
                |id: &Value| tasks.iter().position(|task| task["id"] == *id).expect("a known task");
            Project {
                tasks: tasks
                    .iter()
                    .map(|task| Task {
                        duration: int(&task["dur"]),
                        work: match text(&task["kind"]) {
                            "supervised" => Work::Supervised,
                            _ => Work::Attended { breakable: task["breakable"] == true },
                        },
                        uses: task["use"]
                            .as_object()
                            .expect("uses")
                            .iter()
                            .map(|(name, n)| (resource(name), int(n)))
                            .collect(),
                        due: None,
                        fixed: None,
                    })
                    .collect(),
                links: list(&order["links"])
                    .iter()
                    .map(|link| Link {
                        from: task(&link[0]),
                        to: task(&link[1]),
                        kind: match text(&link[2]) {
                            "SS" => LinkKind::StartStart,
                            "FF" => LinkKind::FinishFinish,
                            _ => LinkKind::FinishStart,
                        },
                        min: int(&link[3]),
                        max: link[4].as_i64(),
                    })
                    .collect(),
                holds: list(&order["hold"])
                    .iter()
                    .map(|hold| Hold {
                        resource: resource(text(&hold["res"])),
                        quantity: int(&hold["qty"]),
                        from: task(&hold["from"]),
                        to: task(&hold["to"]),
                    })
                    .collect(),
                due: int(&order["due"]),
                weight: int(&order["weight"]),
                buffer: int(&order["buffer"]),
                ages: vec![Age { task: task(&"bake".into()), due: int(&order["due"]) }],
                fresh_max: order["fresh_max"].as_i64(),
            }
        })
        .collect();
    CalendarProblem {
        projects,
        windows: windows(list(&instance["windows"])),
        capacities: names.iter().map(|name| int(&resources[*name])).collect(),
        earliest: 0,
        ..CalendarProblem::default()
    }
}
