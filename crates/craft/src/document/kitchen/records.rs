//! What the kitchen measured: records that are kept, and the numbers they move.
//!
//! Records are added and never changed; one that is doubted is set aside.

use jiff::civil::Date;
use quantity::{Length, Mass, Share, Span};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{
    DryingDocument, IcingDocument, KitchenDocument,
    numbers::{mm, within},
};
use crate::{
    consistency::{Test, Thinning, WaterCurve, learn_thinning},
    document::{choices::by_name, error::BadValue},
    drying::{
        Air, Conditions, DryingKnown, Observation, REFERENCE, REFERENCE_DEPTH, State, Times,
        learn_drying,
    },
    learning::{Likely, Seen, Trust, learn},
};

/// A test of icing with water in it. Tests of one bowl on one day share its stiffness.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct WaterTestDocument {
    /// The day.
    pub on: String,
    /// Which bowl.
    pub bowl: String,
    /// Water so far in 100 g of stiff icing, that of gels included.
    pub water_g_per_100_g: f64,
    /// Seconds until it was smooth, or the seconds that were waited.
    pub smooth_s: f64,
    /// Left out: it was smooth after just these seconds. yes: it was smooth when one looked; no: it was not yet.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub answer: Option<String>,
    /// How it was tested; left out: the way of this kitchen. Tests made another way are left aside.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub method: Option<String>,
    /// Whether it counts no more.
    pub set_aside: bool,
}

/// Something seen while icing dried.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct DryingSeenDocument {
    /// The day.
    pub on: String,
    /// What it became: skin, set or dry.
    pub state: String,
    /// Minutes from piping until then, or until one looked.
    pub after_min: f64,
    /// Left out: it was so after just these minutes. yes: it was so when one looked; no: it was not yet.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub answer: Option<String>,
    /// Temperature of the room in degrees Celsius.
    pub celsius: f64,
    /// Relative humidity of the room.
    pub humidity_percent: f64,
    /// Whether a fan blew on it.
    pub fan: bool,
    /// Wet depth; left out: that of a base.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub depth_mm: Option<f64>,
    /// Whether it counts no more.
    pub set_aside: bool,
}

impl Default for DryingSeenDocument {
    fn default() -> Self {
        Self {
            on: String::new(),
            state: String::new(),
            after_min: 0.0,
            answer: None,
            celsius: 20.0,
            humidity_percent: 50.0,
            fan: false,
            depth_mm: None,
            set_aside: false,
        }
    }
}

/// Air expected in the room from a day on, for orders handed over then.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct AirDocument {
    /// The first day.
    pub from: String,
    /// Temperature in degrees Celsius.
    pub celsius: f64,
    /// Relative humidity.
    pub humidity_percent: f64,
}

impl Default for AirDocument {
    fn default() -> Self {
        Self { from: String::new(), celsius: 20.0, humidity_percent: 50.0 }
    }
}

impl AirDocument {
    pub(super) fn convert(self) -> Result<(Date, Air), BadValue> {
        let from = date("from", &self.from)?;
        Ok((from, air("celsius", self.celsius, "humidity_percent", self.humidity_percent)?))
    }
}

/// A number that was measured.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct MeasuredDocument {
    /// The day.
    pub on: String,
    /// Which number: its table and key, such as "icing.base_depth_mm".
    pub rate: String,
    /// What was measured, in the unit of that key.
    pub value: f64,
    /// Whether it counts no more.
    pub set_aside: bool,
}

/// Ways to test a count.
pub(super) const METHODS: [(&str, &str); 3] =
    [("ribbon", "ribbon"), ("knife", "knife"), ("shake", "shake")];

const STATES: [(State, &str); 3] =
    [(State::Skin, "skin"), (State::Set, "set"), (State::Dry, "dry")];

pub(super) fn date(key: &'static str, text: &str) -> Result<Date, BadValue> {
    text.parse().map_err(|_| {
        BadValue::new(key, format!("\"{text}\" is no date; write it like \"2027-03-03\""))
    })
}

pub(in crate::document) fn air(
    celsius_key: &'static str,
    celsius: f64,
    humidity_key: &'static str,
    percent: f64,
) -> Result<Air, BadValue> {
    Ok(Air {
        celsius: within(celsius_key, celsius, 0.0, 45.0)?,
        humidity: Share::percent(within(humidity_key, percent, 0.0, 100.0)?),
    })
}

/// Reads what was seen at a time.
pub(in crate::document) fn seen(answer: Option<&str>, time: Span) -> Result<Seen, BadValue> {
    match answer {
        None => Ok(Seen::After(time)),
        Some("yes") => Ok(Seen::By(time)),
        Some("no") => Ok(Seen::NotBy(time)),
        Some(other) => Err(BadValue::new(
            "answer",
            format!("\"{other}\" is no answer; write yes or no, or leave it out"),
        )),
    }
}

impl WaterTestDocument {
    /// Nothing for a test that is set aside or was made another way.
    fn convert(&self, method: &str) -> Result<Option<Test>, BadValue> {
        let on = date("on", &self.on)?;
        let water = Mass::g(within("water_g_per_100_g", self.water_g_per_100_g, 0.0, 40.0)?);
        let time = Span::seconds(within("smooth_s", self.smooth_s, 1.0, 300.0)?);
        let seen = seen(self.answer.as_deref(), time)?;
        let own = self.method.as_deref().unwrap_or(method);
        by_name("method", own, &METHODS)?;
        let is_kept = !self.set_aside && own == method;
        Ok(is_kept.then(|| Test { bowl: format!("{on} {}", self.bowl), water, seen }))
    }
}

impl DryingSeenDocument {
    /// Nothing for what is set aside.
    pub(in crate::document) fn convert(
        &self,
        base: Length,
    ) -> Result<Option<Observation>, BadValue> {
        date("on", &self.on)?;
        let depth = match self.depth_mm {
            Some(depth) => mm("depth_mm", depth, 0.1, 40.0)?,
            None => base,
        };
        let time = Span::minutes(within("after_min", self.after_min, 1.0, 10_080.0)?);
        let observation = Observation {
            state: by_name("state", &self.state, &STATES)?,
            conditions: Conditions {
                depth,
                air: air("celsius", self.celsius, "humidity_percent", self.humidity_percent)?,
                fan: self.fan,
            },
            seen: seen(self.answer.as_deref(), time)?,
        };
        Ok((!self.set_aside).then_some(observation))
    }
}

/// Reads the tests that count.
pub(super) fn water_tests(document: &KitchenDocument) -> Result<Vec<Test>, BadValue> {
    let method = document.counts.method.as_str();
    kept("water_test", &document.water_test, |test| test.convert(method))
}

/// Reads the observations that count.
pub(super) fn drying_seen(document: &KitchenDocument) -> Result<Vec<Observation>, BadValue> {
    let base = Length::mm(document.icing.base_depth_mm);
    kept("drying_seen", &document.drying_seen, |seen| seen.convert(base))
}

fn kept<D, T>(
    table: &'static str,
    documents: &[D],
    convert: impl Fn(&D) -> Result<Option<T>, BadValue>,
) -> Result<Vec<T>, BadValue> {
    let one = |(place, document)| convert(document).map_err(|bad| bad.within(table, place));
    documents.iter().enumerate().map(one).filter_map(Result::transpose).collect()
}

/// A number of the kitchen that is learned.
struct Rate {
    key: &'static str,
    words: &'static str,
    unit: &'static str,
    /// How it is measured.
    how: &'static str,
    /// What it moves.
    moves: &'static str,
    trust: Trust,
}

const fn trust(worth: u32, percent: f64) -> Trust {
    Trust { worth, scatter: Share::percent(percent) }
}

/// Numbers that are learned from plain measurements. How much a start value is worth and how far a record scatters:
/// common practice, no source.
const RATES: [Rate; 11] = [
    Rate {
        key: "icing.base_depth_mm",
        words: "wet depth of a base flood",
        unit: "mm",
        how: "Weigh a cookie before and after its base: grams, divided by cm² of base and by the density, times 10.",
        moves: "grams of every base, and how long it dries",
        trust: trust(2, 15.0),
    },
    Rate {
        key: "icing.layer_depth_mm",
        words: "wet depth of a second layer",
        unit: "mm",
        how: "Weigh a cookie before and after the layer, as for a base.",
        moves: "grams of what is flooded on a base, and how long it dries",
        trust: trust(2, 15.0),
    },
    Rate {
        key: "icing.bead_mm",
        words: "bead that holds a flood",
        unit: "mm",
        how: "Pipe a line on paper with the tip you outline with, and measure its width.",
        moves: "grams of every flood with much edge",
        trust: trust(2, 20.0),
    },
    Rate {
        key: "icing.density_g_per_ml",
        words: "density of the icing",
        unit: "g/ml",
        how: "Fill a 60 ml cup level, weigh what is in it, and divide by 60.",
        moves: "grams of every color",
        trust: trust(3, 4.0),
    },
    Rate {
        key: "icing.left_per_bag_g",
        words: "what stays in a piping bag",
        unit: "g",
        how: "Weigh an emptied bag and take off a clean one with its tip.",
        moves: "grams of every color, the more the more bags it takes",
        trust: trust(2, 40.0),
    },
    Rate {
        key: "icing.left_per_bowl_g",
        words: "what stays in a bowl",
        unit: "g",
        how: "Weigh an emptied bowl and take off the clean one.",
        moves: "grams of every color",
        trust: trust(2, 40.0),
    },
    Rate {
        key: "dough.density_g_per_ml",
        words: "density of the rolled dough",
        unit: "g/ml",
        how: "Weigh one cut cookie: grams, divided by its cm² and by the thickness in cm.",
        moves: "grams of dough",
        trust: trust(3, 4.0),
    },
    Rate {
        key: "pace.handling_s",
        words: "taking up and putting down a cookie",
        unit: "s",
        how: "Time ten cookies and divide by ten.",
        moves: "minutes of every pass",
        trust: trust(3, 30.0),
    },
    Rate {
        key: "pace.tint_min",
        words: "tinting, thinning and bagging a color",
        unit: "min",
        how: "Time one color from the white icing to the filled bag.",
        moves: "minutes before each color is first used",
        trust: trust(3, 30.0),
    },
    Rate {
        key: "pace.pack_s",
        words: "packing a cookie",
        unit: "s",
        how: "Time ten cookies and divide by ten.",
        moves: "minutes of packing",
        trust: trust(3, 30.0),
    },
    Rate {
        key: "dough.cut_s",
        words: "cutting a cookie and laying it on a tray",
        unit: "s",
        how: "Time a sheet of dough and divide by its cookies.",
        moves: "minutes of cutting",
        trust: trust(3, 30.0),
    },
];

/// The place of a learned number in the document.
fn slot<'a>(document: &'a mut KitchenDocument, key: &str) -> Option<&'a mut f64> {
    let KitchenDocument { icing, dough, pace, .. } = document;
    Some(match key {
        "icing.base_depth_mm" => &mut icing.base_depth_mm,
        "icing.layer_depth_mm" => &mut icing.layer_depth_mm,
        "icing.bead_mm" => &mut icing.bead_mm,
        "icing.density_g_per_ml" => &mut icing.density_g_per_ml,
        "icing.left_per_bag_g" => &mut icing.left_per_bag_g,
        "icing.left_per_bowl_g" => &mut icing.left_per_bowl_g,
        "dough.density_g_per_ml" => &mut dough.density_g_per_ml,
        "dough.cut_s" => &mut dough.cut_s,
        "pace.handling_s" => &mut pace.handling_s,
        "pace.tint_min" => &mut pace.tint_min,
        "pace.pack_s" => &mut pace.pack_s,
        _ => return None,
    })
}

/// What is known of a learned number.
#[derive(Clone, Debug, PartialEq)]
pub struct KnownRate {
    /// Its table and key in `kitchen.toml`; for drying and water the table of its records.
    pub key: &'static str,
    /// What it is.
    pub words: String,
    /// Its unit; empty for a ratio.
    pub unit: &'static str,
    /// What it was before any record.
    pub start: f64,
    /// What it is now, with 90 % of its probability between the ends.
    pub now: Likely<f64>,
    /// How many records count.
    pub n_records: usize,
    /// How it is measured.
    pub how: &'static str,
    /// What it moves.
    pub moves: &'static str,
}

fn records_of<'a>(
    document: &'a KitchenDocument,
    key: &'a str,
) -> impl Iterator<Item = f64> + use<'a> {
    let counts = move |one: &&MeasuredDocument| one.rate == key && !one.set_aside;
    document.measured.iter().filter(counts).map(|one| one.value)
}

/// A record may be so many times its start value, or such a part of it (common practice, no source).
const FARTHEST: f64 = 5.0;

/// Puts what was measured in the place of start values.
pub(super) fn apply(document: &mut KitchenDocument) -> Result<(), BadValue> {
    for (place, one) in document.measured.clone().iter().enumerate() {
        let bad = |bad: BadValue| bad.within("measured", place);
        date("on", &one.on).map_err(bad)?;
        if !RATES.iter().any(|rate| rate.key == one.rate) {
            let known: Vec<&str> = RATES.iter().map(|rate| rate.key).collect();
            let words = format!("\"{}\" is not learned; known are {}", one.rate, known.join(", "));
            return Err(bad(BadValue::new("rate", words)));
        }
        let start = slot(document, &one.rate).map_or(one.value, |slot| *slot);
        let limits = (start / FARTHEST, start * FARTHEST);
        if !(limits.0..=limits.1).contains(&one.value) {
            let words = format!(
                "{} is far from the {start} it starts with; write {:.3} to {:.3}, or correct the start",
                one.value, limits.0, limits.1
            );
            return Err(bad(BadValue::new("value", words)));
        }
    }
    for rate in &RATES {
        let records: Vec<f64> = records_of(document, rate.key).collect();
        if let Some(slot) = slot(document, rate.key).filter(|_| !records.is_empty()) {
            *slot = learn(*slot, rate.trust, &records).likely;
        }
    }
    Ok(())
}

/// Returns every number the kitchen learns, with what is known of it.
///
/// # Errors
/// A record makes no sense.
pub(super) fn known_rates(document: &KitchenDocument) -> Result<Vec<KnownRate>, BadValue> {
    let mut starts = document.clone();
    let mut learned = document.clone();
    apply(&mut learned)?;
    let mut known: Vec<KnownRate> = RATES
        .iter()
        .filter_map(|rate| {
            let records: Vec<f64> = records_of(document, rate.key).collect();
            let start = *slot(&mut starts, rate.key)?;
            Some(KnownRate {
                key: rate.key,
                words: rate.words.to_owned(),
                unit: rate.unit,
                start,
                now: learn(start, rate.trust, &records),
                n_records: records.len(),
                how: rate.how,
                moves: rate.moves,
            })
        })
        .collect();
    known.extend(known_drying(&document.drying, &drying_seen(&learned)?));
    known.push(known_fall(&document.icing, &water_tests(document)?));
    Ok(known)
}

fn known_drying(drying: &DryingDocument, seen: &[Observation]) -> Vec<KnownRate> {
    let start = start_times(drying);
    let (before, after) = (learn_drying(&start, &[]), learn_drying(&start, seen));
    let usual = Conditions { depth: REFERENCE_DEPTH, air: REFERENCE, fan: false };
    let unit = |state| if state == State::Dry { "h" } else { "min" };
    let time = |known: &DryingKnown, state| {
        let convert = if state == State::Dry { Span::to_hours } else { Span::to_minutes };
        Some(known.time(state, &usual)?.map(convert))
    };
    let mut known: Vec<KnownRate> = State::ALL
        .into_iter()
        .filter_map(|state| {
            Some(KnownRate {
                key: "drying_seen",
                words: format!("time until a base is {}, 2.2 mm deep at 20 °C and 50 %", spoken(state)),
                unit: unit(state),
                start: time(&before, state)?.likely,
                now: time(&after, state)?,
                n_records: seen.iter().filter(|one| one.state == state).count(),
                how: "Touch a cookie, or look whether it still shines, and note the time, the air and the fan.",
                moves: "the waits between passes and the nights",
            })
        })
        .collect();
    known.push(KnownRate {
        key: "drying_seen",
        words: "what a fan makes of skin and set".to_owned(),
        unit: "",
        start: drying.fan_share,
        now: after.fan().map(Share::to_one),
        n_records: seen.iter().filter(|one| one.conditions.fan).count(),
        how: "Note times with and without the fan.",
        moves: "the waits between passes when a fan is on",
    });
    known
}

fn spoken(state: State) -> &'static str {
    match state {
        State::Skin => "skinned over",
        State::Set => "set",
        State::Dry => "dry",
    }
}

fn known_fall(icing: &IcingDocument, tests: &[Test]) -> KnownRate {
    let known: Thinning = learn_thinning(start_curve(icing), tests);
    KnownRate {
        key: "water_test",
        words: "how much of its count icing loses with a gram of water in 100 g".to_owned(),
        unit: "%",
        start: percent(icing.water_per_gram),
        now: known.fall().map(percent),
        n_records: tests.len(),
        how: "Thin a bowl on the page of that name and keep its readings.",
        moves: "water of every bowl and bag",
    }
}

/// What of a count is lost as its logarithm falls by this.
fn percent(fall: f64) -> f64 {
    100.0 * (1.0 - (-fall).exp())
}

pub(super) fn start_curve(icing: &IcingDocument) -> WaterCurve {
    WaterCurve { ln_stiff: icing.water_ln_stiff, per_gram: icing.water_per_gram }
}

pub(super) fn start_times(drying: &DryingDocument) -> Times {
    Times {
        skin: Span::minutes(drying.skin_min),
        set: Span::minutes(drying.set_min),
        dry: Span::hours(drying.dry_h),
        fan: Share::of_one(drying.fan_share),
    }
}

#[cfg(test)]
mod tests {
    use crate::document::{read_kitchen, read_kitchen_document};

    #[test]
    fn records_move_their_number_and_nothing_else() {
        let text =
            "[[measured]]\non = \"2027-03-01\"\nrate = \"icing.left_per_bag_g\"\nvalue = 14\n";
        let mut expected = read_kitchen("").expect("the start kitchen");
        let kitchen = read_kitchen(text).expect("a kitchen");
        // The start value counts as two records: (2 ln 10 + ln 14) / 3.
        let learned = kitchen.icing.left_per_bag;
        assert!((learned.to_g() - (1400.0_f64).powf(1.0 / 3.0)).abs() < 1e-9);
        expected.icing.left_per_bag = learned;
        assert_eq!(kitchen, expected);
        let aside = read_kitchen(&format!("{text}set_aside = true\n")).expect("a kitchen");
        assert_eq!(aside, read_kitchen("").expect("the start kitchen"));
    }

    #[test]
    fn every_number_that_is_learned_has_a_place_and_words() {
        let start = read_kitchen_document("").expect("the start kitchen");
        let known = start.known_rates().expect("no record is wrong");
        // Eleven plain numbers, three drying times, the fan, the water.
        assert_eq!(known.len(), 16);
        for rate in known {
            assert!(!rate.words.is_empty() && !rate.how.is_empty() && !rate.moves.is_empty());
            assert!((rate.now.likely / rate.start - 1.0).abs() < 1e-9, "{rate:?}");
            assert!(rate.now.low < rate.start && rate.start < rate.now.high, "{rate:?}");
        }
    }

    #[test]
    fn tests_made_another_way_are_left_aside() {
        let test = "[[water_test]]\non = \"2027-03-01\"\nbowl = \"red\"\nwater_g_per_100_g = 4\nsmooth_s = 20\n";
        let n_tests = |text: &str| read_kitchen(text).expect("a kitchen").water_tests.len();
        assert_eq!(n_tests(test), 1);
        assert_eq!(n_tests(&format!("{test}method = \"knife\"\n")), 0);
        assert_eq!(n_tests(&format!("[counts]\nmethod = \"knife\"\n{test}")), 1);
    }

    #[test]
    fn an_order_is_planned_in_the_air_of_its_days() {
        let air = |from: &str, percent: u32| {
            format!("[[air]]\nfrom = \"{from}\"\nhumidity_percent = {percent}\n")
        };
        let text = [air("2027-06-01", 70), air("2027-10-01", 40)].concat();
        let drying = read_kitchen(&text).expect("a kitchen").drying;
        let percent =
            |day: &str| drying.on(day.parse().expect("a date")).air.humidity.to_percent().round();
        assert_eq!(percent("2027-05-31"), 50.0);
        assert_eq!(percent("2027-06-01"), 70.0);
        assert_eq!(percent("2027-12-24"), 40.0);
    }

    #[test]
    fn records_that_make_no_sense_are_named() {
        let refusal = |text: &str| read_kitchen(text).expect_err("refused").to_string();
        let measured = "[[measured]]\non = \"2027-03-01\"\n";
        assert!(refusal(&format!("{measured}rate = \"icing.taste\"\nvalue = 3\n"))
            .starts_with("kitchen.toml line 3: measured.rate: \"icing.taste\" is not learned; known are icing.base_depth_mm"));
        assert_eq!(
            refusal(&format!("{measured}rate = \"icing.bead_mm\"\nvalue = -1\n")),
            "kitchen.toml line 4: measured.value: -1 is far from the 1.5 it starts with; write 0.300 to 7.500, or correct the start"
        );
        let seen = "[[drying_seen]]\non = \"2027-03-01\"\nstate = \"skin\"\nafter_min = 20\n";
        assert!(refusal(&format!("{seen}answer = \"maybe\"\n")).contains("write yes or no"));
        assert!(
            refusal(&format!("{seen}celsius = 80\n")).contains("celsius: 80 is outside 0 to 45")
        );
        assert!(refusal("[[air]]\nfrom = \"June\"\n").contains("\"June\" is no date"));
    }
}
