//! `sugarwright settle`, format 1: readings of a bowl in, the next dose of water out.

use jiff::civil::Date;
use quantity::{Mass, Span};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{
    FileError, RangeDocument,
    choices::check_format,
    error::{BadValue, from_json},
    kitchen::{WaterTestDocument, seen, within},
    plan::{
        HeadsUpDocument,
        write::{heads_up, round},
    },
};
use crate::{
    consistency::{
        Advice, Content, DROP, GEL_WATER, MakeUp, TEASPOON, Test, Thinning, advise, contradictions,
        learn_thinning, mix,
    },
    heads_up::{HeadsUp, Severity, Subject},
    kitchen::Kitchen,
    learning::Seen,
};

/// The request's name in messages.
const FILE: &str = "settle request";

/// Readings of one bowl.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
#[schemars(title = "settle request")]
pub struct SettleRequest {
    /// The format of this request: 1.
    pub format: u32,
    /// Name of the bowl.
    pub bowl: String,
    /// The count it should have, in seconds.
    pub target_s: f64,
    /// Icing in the bowl before any water, gel aside.
    pub stiff_g: f64,
    /// Gel in it; a part of that is water.
    pub gel_g: f64,
    /// What was read so far, in the order it was read.
    pub reading: Vec<ReadingEntry>,
    /// Tests of earlier bowls, beside those of the kitchen.
    pub earlier: Vec<EarlierEntry>,
    /// The count of another icing at hand, to reach the target by mixing both.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mix_with_s: Option<f64>,
}

impl Default for SettleRequest {
    fn default() -> Self {
        Self {
            format: 1,
            bowl: "bowl".to_owned(),
            target_s: 13.0,
            stiff_g: 100.0,
            gel_g: 0.0,
            reading: Vec::new(),
            earlier: Vec::new(),
            mix_with_s: None,
        }
    }
}

/// One reading.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct ReadingEntry {
    /// Water added so far, all steps together.
    pub water_g: f64,
    /// Seconds until it was smooth, or the seconds that were waited.
    pub smooth_s: f64,
    /// Left out: it was smooth after just these seconds. yes: it was smooth when one looked; no: it was not yet.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub answer: Option<String>,
}

/// A test of an earlier bowl.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct EarlierEntry {
    /// Which bowl; tests of one bowl share its stiffness.
    pub bowl: String,
    /// Water in 100 g of stiff icing.
    pub water_g_per_100_g: f64,
    /// Seconds until it was smooth, or the seconds that were waited.
    pub smooth_s: f64,
    /// Left out: it was smooth after just these seconds. yes: it was smooth when one looked; no: it was not yet.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub answer: Option<String>,
}

/// What to do with the bowl.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(title = "settle answer")]
pub struct SettleAnswer {
    /// The format of this answer: 1.
    pub format: u32,
    /// ready, thin, thicken, or test where the readings contradict each other.
    pub state: String,
    /// What to do, in a sentence or two.
    pub say: String,
    /// What to do after that, and before the next reading.
    pub then: String,
    /// The count it has now, in seconds.
    pub now_s: RangeDocument,
    /// All the water it still takes.
    pub water_g: Option<RangeDocument>,
    /// What goes in first.
    pub first: Option<StepEntry>,
    /// Stiff icing that brings it back, where it is too thin.
    pub stiff_icing_g: Option<f64>,
    /// Powdered sugar that brings it back instead.
    pub sugar_g: Option<f64>,
    /// How this bowl and the other icing are mixed, where both were given and the target lies between them.
    pub mix: Option<MixEntry>,
    /// By how much ln(count) falls for each gram of water in 100 g of stiff icing, from all tests.
    pub fall_per_gram: RangeDocument,
    /// Tests that were learned from, readings included.
    pub n_tests: usize,
    /// What the maker must know, the worst first.
    pub heads_ups: Vec<HeadsUpDocument>,
}

/// A step of water.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct StepEntry {
    /// Its mass.
    pub water_g: f64,
    /// The same in drops of 0.05 g.
    pub drops: u32,
    /// The same in teaspoons of 4.93 ml.
    pub teaspoons: f64,
    /// The count after it, in seconds.
    pub expected_s: RangeDocument,
}

/// Two icings mixed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct MixEntry {
    /// Of this bowl's icing in 100 g of the mix.
    pub this_g: f64,
    /// Of the other icing in 100 g of the mix.
    pub other_g: f64,
}

/// Reads a request.
///
/// # Errors
/// The text is no such request.
pub fn read_settle_request(text: &str) -> Result<SettleRequest, FileError> {
    from_json(FILE, text)
}

/// Answers a request, from its readings and the tests of the kitchen.
///
/// # Errors
/// A value makes no sense; the message names it.
pub fn settle(kitchen: &Kitchen, request: &SettleRequest) -> Result<SettleAnswer, FileError> {
    answer(kitchen, request).map_err(|bad| bad.in_json(FILE))
}

fn answer(kitchen: &Kitchen, request: &SettleRequest) -> Result<SettleAnswer, BadValue> {
    check_format(request.format)?;
    let target = count("target_s", request.target_s)?;
    let stiff = Mass::g(within("stiff_g", request.stiff_g, 1.0, 50_000.0)?);
    let most_gel = request.stiff_g * 0.2;
    let of_gel = Mass::g(within("gel_g", request.gel_g, 0.0, most_gel)?) * GEL_WATER.to_one();
    let readings = readings(request, stiff, of_gel)?;
    let mut tests = kitchen.water_tests.clone();
    for (place, entry) in request.earlier.iter().enumerate() {
        tests.push(earlier(entry).map_err(|bad| bad.within("earlier", place))?);
    }
    // Today's bowl is none of earlier days, whatever its name.
    let bowl = format!("now {}", request.bowl);
    tests.extend(readings.iter().map(|&(content, seen)| Test {
        bowl: bowl.clone(),
        water: content.per_100_g(),
        seen,
    }));
    let thinning = learn_thinning(kitchen.icing.water_start, &tests);
    let content = readings.last().map_or(Content { stiff, water: of_gel }, |(content, _)| *content);
    let advice = advise(&thinning, &bowl, content, target, make_up(kitchen));
    let now = thinning.count(&bowl, content.per_100_g());
    let other = match request.mix_with_s {
        Some(seconds) => Some(count("mix_with_s", seconds)?),
        None => None,
    };
    let mut answer = SettleAnswer {
        format: 1,
        state: String::new(),
        say: String::new(),
        then: String::new(),
        now_s: RangeDocument::of(now.map(Span::to_seconds), 1),
        water_g: None,
        first: None,
        stiff_icing_g: None,
        sugar_g: None,
        mix: other.and_then(|other| mixed(&thinning, now.likely, other, target)),
        fall_per_gram: RangeDocument::of(thinning.fall(), 3),
        n_tests: tests.len(),
        heads_ups: told(&readings, target).iter().map(heads_up).collect(),
    };
    if is_contradicted(&readings) {
        answer.state = "test".to_owned();
        answer.say = "It took longer after more water, so no more goes in now.".to_owned();
        answer.then = TEST_AGAIN.to_owned();
    } else {
        say(&mut answer, &advice, &thinning, &bowl, content);
    }
    if let Some(mix) = &answer.mix {
        answer.say += &format!(
            " Or mix both icings: {:.0} g of this one and {:.0} g of the other make 100 g.",
            mix.this_g, mix.other_g
        );
    }
    Ok(answer)
}

/// Returns the readings of a request as tests for the kitchen to keep.
pub fn tests_to_keep(request: &SettleRequest, on: Date, method: &str) -> Vec<WaterTestDocument> {
    let of_gel = request.gel_g * GEL_WATER.to_one();
    let test = |entry: &ReadingEntry| WaterTestDocument {
        on: on.to_string(),
        bowl: request.bowl.clone(),
        water_g_per_100_g: round((entry.water_g + of_gel) / request.stiff_g * 100.0, 2),
        smooth_s: entry.smooth_s,
        answer: entry.answer.clone(),
        method: Some(method.to_owned()),
        set_aside: false,
    };
    request.reading.iter().map(test).collect()
}

/// What is done between two readings.
const TEST_AGAIN: &str =
    "Stir slowly, let it rest 10 to 15 minutes, pop the bubbles, and test again.";

/// More sugar than this part of the icing no longer mends a bowl (common practice, no source).
const MOST_SUGAR: f64 = 0.08;

/// Whether the last count is longer than the one before, after more water.
fn is_contradicted(readings: &[(Content, Seen)]) -> bool {
    let counts = counts(readings);
    contradictions(&counts).last().is_some_and(|place| *place + 1 == counts.len())
}

/// Water and count of the readings that are counts.
fn counts(readings: &[(Content, Seen)]) -> Vec<(Mass, Span)> {
    let count = |(content, seen): &(Content, Seen)| match seen {
        Seen::After(count) => Some((content.water, *count)),
        Seen::By(_) | Seen::NotBy(_) => None,
    };
    readings.iter().filter_map(count).collect()
}

/// Words and amounts of an advice.
fn say(
    answer: &mut SettleAnswer,
    advice: &Advice,
    thinning: &Thinning,
    bowl: &str,
    content: Content,
) {
    match *advice {
        Advice::Ready => {
            answer.state = "ready".to_owned();
            answer.say = "It is ready: bag it.".to_owned();
            answer.then = "Cover what waits with film on its surface.".to_owned();
        }
        Advice::Thin { water, first } => {
            let first = Mass::g((first.to_g() * 10.0).floor() / 10.0).max(DROP);
            let after = Content { water: content.water + first, ..content };
            let expected = thinning.count(bowl, after.per_100_g());
            let step = StepEntry {
                water_g: round(first.to_g(), 2),
                drops: (first / DROP).round() as u32,
                teaspoons: round(first / TEASPOON, 2),
                expected_s: RangeDocument::of(expected.map(Span::to_seconds), 1),
            };
            answer.state = "thin".to_owned();
            answer.say = format!(
                "Add {} of water. After that it is likely at {:.0} seconds. It still takes about {} altogether, between {} and {}.",
                measured(first),
                expected.likely.to_seconds(),
                grams(water.likely),
                grams(water.low),
                grams(water.high),
            );
            answer.then = TEST_AGAIN.to_owned();
            answer.water_g = Some(RangeDocument::of(water.map(Mass::to_g), 1));
            answer.first = Some(step);
        }
        Advice::Thicken { stiff, sugar } => {
            let by_sugar = format!("{} of sifted powdered sugar", grams(sugar));
            answer.state = "thicken".to_owned();
            answer.say = match stiff {
                _ if sugar > content.stiff * MOST_SUGAR => {
                    "It is far too thin to mend. Weigh this color out anew, and keep this bowl for thinner work.".to_owned()
                }
                Some(stiff) => format!(
                    "It is too thin. Stir in {} of stiff icing of the same color, or {by_sugar}.",
                    grams(stiff)
                ),
                None => format!("It is too thin. Stir in {by_sugar}."),
            };
            answer.then = TEST_AGAIN.to_owned();
            answer.stiff_icing_g = stiff.map(|stiff| round(stiff.to_g(), 1));
            answer.sugar_g = Some(round(sugar.to_g(), 1));
        }
    }
}

/// Grams with as many digits as a kitchen scale shows.
fn grams(mass: Mass) -> String {
    let g = mass.to_g();
    if g < 10.0 { format!("{g:.1} g") } else { format!("{g:.0} g") }
}

/// Below this a step is counted in drops, not in parts of a teaspoon.
const BY_DROPS: Mass = Mass::g(1.2);

/// A step as it is measured without a scale, with its grams.
fn measured(water: Mass) -> String {
    if water < BY_DROPS {
        let drops = (water / DROP).round();
        let word = if drops > 1.0 { "drops" } else { "drop" };
        return format!("{} ({drops:.0} {word})", grams(water));
    }
    // Rounded down: water goes in and not out.
    let quarters = (water / TEASPOON * 4.0).floor() as u64;
    let (whole, part) = (quarters / 4, ["", "¼", "½", "¾"][(quarters % 4) as usize]);
    let spoons = match (whole, part) {
        (0, "") => "a scant ¼".to_owned(),
        (0, part) => part.to_owned(),
        (whole, "") => whole.to_string(),
        (whole, part) => format!("{whole} {part}"),
    };
    format!("{} ({spoons} tsp)", grams(water))
}

fn mixed(thinning: &Thinning, now: Span, other: Span, target: Span) -> Option<MixEntry> {
    let (thick, thin) = if now > other { (now, other) } else { (other, now) };
    let of_thick = mix(thinning.curve(), thick, thin, target)?.to_percent();
    let this = if now > other { of_thick } else { 100.0 - of_thick };
    Some(MixEntry { this_g: round(this, 0), other_g: round(100.0 - this, 0) })
}

fn readings(
    request: &SettleRequest,
    stiff: Mass,
    of_gel: Mass,
) -> Result<Vec<(Content, Seen)>, BadValue> {
    let mut so_far = 0.0;
    let one = |(place, entry): (usize, &ReadingEntry)| {
        let bad = |bad: BadValue| bad.within("reading", place);
        let most = 0.4 * request.stiff_g;
        let water = within("water_g", entry.water_g, 0.0, most).map_err(bad)?;
        if water < so_far {
            let words = format!(
                "{water} g are less than the {so_far} g before; give all water so far, in the order of the readings"
            );
            return Err(bad(BadValue::new("water_g", words)));
        }
        so_far = water;
        let time = count("smooth_s", entry.smooth_s).map_err(bad)?;
        let seen = seen(entry.answer.as_deref(), time).map_err(bad)?;
        Ok((Content { stiff, water: Mass::g(water) + of_gel }, seen))
    };
    request.reading.iter().enumerate().map(one).collect()
}

fn earlier(entry: &EarlierEntry) -> Result<Test, BadValue> {
    Ok(Test {
        bowl: format!("earlier {}", entry.bowl),
        water: Mass::g(within("water_g_per_100_g", entry.water_g_per_100_g, 0.0, 40.0)?),
        seen: seen(entry.answer.as_deref(), count("smooth_s", entry.smooth_s)?)?,
    })
}

fn count(key: &'static str, seconds: f64) -> Result<Span, BadValue> {
    within(key, seconds, 1.0, 300.0).map(Span::seconds)
}

/// Sugar and water in 100 g of the kitchen's icing.
fn make_up(kitchen: &Kitchen) -> MakeUp {
    let parts = kitchen
        .recipe(&kitchen.icing.recipe)
        .map(|recipe| recipe.scaled_to(Mass::g(100.0)))
        .unwrap_or_default();
    let of = |word: &str| -> Mass {
        parts.iter().filter(|part| part.ingredient.contains(word)).map(|part| part.mass).sum()
    };
    MakeUp { sugar: of("sugar"), water: of("water") }
}

/// Counts the line holds for.
const HOLDS_S: std::ops::RangeInclusive<f64> = 4.0..=40.0;

fn told(readings: &[(Content, Seen)], target: Span) -> Vec<HeadsUp> {
    let mut told = Vec::new();
    let mut tell = |severity, message: String, hint: &str| {
        told.push(HeadsUp::new(severity, Subject::Icing, message).hint(hint));
    };
    let counts = counts(readings);
    for place in contradictions(&counts) {
        let (before, after) = (counts[place - 1].1.to_seconds(), counts[place].1.to_seconds());
        tell(
            Severity::Caution,
            format!("It took longer after more water: {before:.0} s, then {after:.0} s."),
            "Scrape the bowl, stir slowly, let it rest 10 minutes, and test again before any more water goes in.",
        );
    }
    if readings.is_empty() {
        tell(
            Severity::Note,
            "Nothing was read yet, so this is what icing of this kitchen usually takes.".to_owned(),
            "Test it once before any water goes in; that makes the dose much surer.",
        );
    }
    if !HOLDS_S.contains(&target.to_seconds()) {
        tell(
            Severity::Note,
            format!(
                "Counts are only read from 4 to 40 s; {:.0} s is a guess.",
                target.to_seconds()
            ),
            "Icing for stiff work has no count: take it as it comes from the mixer.",
        );
    }
    told
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::start_kitchen;

    fn answered(text: &str) -> SettleAnswer {
        let request = read_settle_request(text).expect("a request");
        settle(&start_kitchen(), &request).expect("an answer")
    }

    fn refused(text: &str) -> String {
        read_settle_request(text)
            .and_then(|request| settle(&start_kitchen(), &request))
            .expect_err("refused")
            .to_string()
    }

    #[test]
    fn a_bowl_at_25_s_gets_its_first_dose_and_is_ready_after_the_second() {
        let first = answered(
            r#"{"target_s": 12, "stiff_g": 300, "reading": [{"water_g": 0, "smooth_s": 25}]}"#,
        );
        assert_eq!(first.state, "thin");
        assert!(first.say.starts_with("Add 7.") && first.say.contains("tsp"), "{}", first.say);
        let ready = answered(
            r#"{"target_s": 12, "stiff_g": 300, "reading": [
                {"water_g": 0, "smooth_s": 25}, {"water_g": 7.4, "smooth_s": 14.5},
                {"water_g": 9.5, "smooth_s": 12}]}"#,
        );
        assert_eq!((ready.state.as_str(), ready.water_g), ("ready", None));
    }

    #[test]
    fn the_water_of_gels_counts() {
        let dose = |gel_g: f64| {
            let text = format!(
                r#"{{"target_s": 12, "stiff_g": 300, "gel_g": {gel_g}, "earlier": [
                    {{"bowl": "a", "water_g_per_100_g": 0, "smooth_s": 40}}]}}"#
            );
            answered(&text).water_g.expect("it is thick").likely
        };
        assert!((dose(0.0) - dose(5.0) - 2.0).abs() < 0.11, "{} {}", dose(0.0), dose(5.0));
    }

    #[test]
    fn two_icings_make_the_one_between() {
        let found = answered(
            r#"{"target_s": 13, "mix_with_s": 9, "reading": [{"water_g": 0, "smooth_s": 20},
                {"water_g": 0, "smooth_s": 20}, {"water_g": 0, "smooth_s": 20}]}"#,
        );
        let mix = found.mix.expect("it lies between");
        assert!((40.0..55.0).contains(&mix.this_g) && mix.this_g + mix.other_g == 100.0, "{mix:?}");
    }

    #[test]
    fn what_cannot_be_is_refused_by_name_and_what_is_odd_is_told() {
        assert_eq!(
            refused(r#"{"target_s": -3}"#),
            "settle request: target_s: -3 is outside 1 to 300; correct it"
        );
        assert_eq!(
            refused(
                r#"{"reading": [{"water_g": 3, "smooth_s": 20}, {"water_g": 2, "smooth_s": 20}]}"#
            ),
            "settle request: reading[1].water_g: 2 g are less than the 3 g before; give all water so far, in the order of the readings"
        );
        assert!(
            refused(r#"{"reading": [{"smooth_s": 20, "answer": "maybe"}]}"#).contains("answer")
        );
        assert!(refused(r#"{"stif_g": 3}"#).contains("did you mean \"stiff_g\""));
        assert!(refused("{").starts_with("settle request line 1"));
        let odd = answered(
            r#"{"reading": [{"water_g": 0, "smooth_s": 15}, {"water_g": 2, "smooth_s": 30}]}"#,
        );
        assert!(odd.heads_ups[0].message.starts_with("It took longer after more water"));
        assert_eq!((odd.state.as_str(), &odd.first), ("test", &None));
        let soup = answered(
            r#"{"target_s": 22, "reading": [{"water_g": 9, "smooth_s": 3}, {"water_g": 9, "smooth_s": 3}]}"#,
        );
        assert!(soup.say.starts_with("It is far too thin to mend"), "{}", soup.say);
        assert!(answered("{}").heads_ups[0].message.starts_with("Nothing was read"));
    }

    #[test]
    fn amounts_are_told_in_what_a_kitchen_has() {
        for (grams, words) in [
            (0.05, "0.1 g (1 drop)"),
            (0.5, "0.5 g (10 drops)"),
            (1.23, "1.2 g (a scant ¼ tsp)"),
            (2.5, "2.5 g (½ tsp)"),
            (7.4, "7.4 g (1 ½ tsp)"),
            (14.8, "15 g (3 tsp)"),
        ] {
            assert_eq!(measured(Mass::g(grams)), words);
        }
    }
}
