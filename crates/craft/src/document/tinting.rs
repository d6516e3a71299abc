//! A request for gel colors and its answer, format 1, as JSON.

use drawing::Color;
use quantity::Mass;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use tint::{
    Shade,
    dye::{dye, dyes},
    limits::Law,
    palette::{Palette, around, look_alikes},
};

use crate::{
    document::{
        FileError,
        choices::{by_name, check_format, first_format},
        error::{BadValue, from_json},
        kitchen::{GelDocument, color, g, start_kitchen, within},
        plan::write::round,
    },
    icing::shade_of,
    kitchen::Gel,
    tinting::{Dose, Leftover, Measure, Reach, Shelf, Tint, Wanted, reach},
};

/// The number of this format.
const FORMAT: u32 = 1;

/// Most colors of one request.
const MOST_TARGETS: usize = 200;
/// Most gels of one request.
const MOST_GELS: usize = 100;

const LAWS: [(Option<Law>, &str); 5] = [
    (Some(Law::UnitedStates), "us"),
    (Some(Law::EuropeanUnion), "eu"),
    (Some(Law::UnitedKingdom), "uk"),
    (Some(Law::Codex), "codex"),
    (None, "ca"),
];

/// Colors that are wanted, and the gels there are.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "A request for colors")]
pub struct TintRequestDocument {
    /// The format of this file: 1.
    #[serde(default = "first_format")]
    pub format: u32,
    /// The colors that are wanted, at most 200.
    #[serde(default)]
    pub targets: Vec<TargetDocument>,
    /// The gels there are, at most 100, as in a kitchen's `gel`; without them, those of the kitchen beside the request, or of the start kitchen, which are invented.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gels: Option<Vec<GelDocument>>,
    /// A tinted leftover that all targets start from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub start: Option<StartDocument>,
    /// Most gels of one recipe, 1 to 3; without it, 3.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub most_gels: Option<u32>,
    /// Most recipes of one color, 1 to 8; without it, 3.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub alternatives: Option<u32>,
    /// Whose limits hold: us, eu, uk, ca (of which we have none) or codex; without it, none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub jurisdiction: Option<String>,
    /// A palette that is wanted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub palette: Option<PaletteWishDocument>,
}

/// A color that is wanted.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TargetDocument {
    /// What it is called; no two alike.
    pub name: String,
    /// The color, #rrggbb.
    pub color: String,
    /// How much icing is to have it.
    pub icing_g: f64,
}

/// Icing that has a color already.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StartDocument {
    /// Its color, #rrggbb.
    pub color: String,
    /// How much of it goes into each target, the rest being white; without it, all of the target is this icing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mass_g: Option<f64>,
}

/// A palette that is wanted.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PaletteWishDocument {
    /// One or two colors it is built around, #rrggbb, the base first.
    pub around: Vec<String>,
    /// How many shades, 1 to 12, the given ones among them.
    pub n: usize,
}

/// Gels for colors: likely amounts, not sure ones, until each gel was tried.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(title = "Gels for colors")]
pub struct TintAnswerDocument {
    /// The format of this file: 1.
    pub format: u32,
    /// What can be done for each color, in the order they were asked for.
    pub targets: Vec<TargetAnswerDocument>,
    /// Targets that are not one shade but look alike on a cookie, the nearest first.
    pub look_alikes: Vec<LookAlikeDocument>,
    /// The palette, if one was wanted.
    pub palette: Option<PaletteDocument>,
    /// What holds for all of it.
    pub notes: Vec<String>,
}

/// What can be done for a color.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct TargetAnswerDocument {
    /// What it is called.
    pub name: String,
    /// The color, #rrggbb.
    pub color: String,
    /// How much icing is to have it.
    pub icing_g: f64,
    /// Whether the gels are likely to reach it: within 8 (CIEDE2000), which is how well gels are known before they were tried.
    pub reachable: bool,
    /// How far the nearest is from it (CIEDE2000).
    pub difference: f64,
    /// What to do where they are not likely to reach it, or where no gel is needed.
    pub advice: Option<String>,
    /// Recipes, the best first; none where the icing as it is comes nearest.
    pub recipes: Vec<TintRecipeDocument>,
}

/// Gels for a color.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct TintRecipeDocument {
    /// What goes in, the most first.
    pub gels: Vec<GelDoseDocument>,
    /// All gel that goes in; about half of it is water and glycerin. Source: common practice, no source.
    pub gel_g: f64,
    /// The color it is likely to have, #rrggbb.
    pub expected: String,
    /// The color it is likely to have tomorrow, #rrggbb.
    pub tomorrow: String,
    /// How far the expected one is from the color wanted (CIEDE2000); below 2 one hardly sees it.
    pub difference: f64,
    /// What the gel costs, in minor units of the currency of its prices.
    pub cost_minor: i64,
    /// What to mind, limits of the law among it.
    pub cautions: Vec<String>,
    /// What the label must say of its dyes where the jurisdiction asks for it.
    pub label: Vec<String>,
}

/// One gel of a recipe.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct GelDoseDocument {
    /// Its name.
    pub gel: String,
    /// How much of it.
    pub mass_g: f64,
    /// How many drops that are; nothing where it is too little to count.
    pub drops: Option<u32>,
    /// How much to take of one part of gel mixed with fifty of icing, where it is too little to count.
    pub mix_g: Option<f64>,
}

/// Two colors that look alike.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct LookAlikeDocument {
    /// One of them.
    pub one: String,
    /// The other.
    pub other: String,
    /// How far they are apart (CIEDE2000); from 10 on they read as different.
    pub difference: f64,
}

/// Shades that go together.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PaletteDocument {
    /// The shades, #rrggbb, the given ones first; fewer than wanted where no more are far enough apart.
    pub shades: Vec<String>,
    /// A color to write with on the first of them, #rrggbb.
    pub lettering: String,
    /// Contrast of lettering and base (WCAG 2.2), 1 to 21; text asks for 4.5.
    pub contrast: f64,
}

/// A request that can be answered.
#[derive(Clone, Debug)]
pub struct TintRequest {
    targets: Vec<(String, Wanted)>,
    gels: Vec<Gel>,
    gels_are_invented: bool,
    law: Option<Law>,
    has_no_limits: bool,
    palette: Option<(Color, Option<Color>, usize)>,
}

/// Reads a request; `file` names it in messages, `gels` are those of the kitchen, if there is one.
///
/// # Errors
/// The text is no such document, or a value cannot be; the message names its place, such as `gels[2].drop_g`.
pub fn read_tint_request(
    text: &str,
    file: &str,
    gels: Option<&[Gel]>,
) -> Result<TintRequest, FileError> {
    let document: TintRequestDocument = from_json(file, text)?;
    convert(document, gels).map_err(|bad| bad.in_json(file))
}

fn convert(document: TintRequestDocument, own: Option<&[Gel]>) -> Result<TintRequest, BadValue> {
    check_format(document.format)?;
    let gels_are_invented = document.gels.is_none() && own.is_none();
    let gels = match document.gels {
        Some(gels) => at_most("gels", gels, MOST_GELS)?
            .into_iter()
            .enumerate()
            .map(|(place, gel)| known_gel(gel).map_err(|bad| bad.within("gels", place)))
            .collect::<Result<_, _>>()?,
        None => own.map_or_else(|| start_kitchen().gels, <[Gel]>::to_vec),
    };
    let law = match &document.jurisdiction {
        Some(name) => by_name("jurisdiction", name, &LAWS)?,
        None => None,
    };
    let most_gels = count("most_gels", document.most_gels, 3, 3)?;
    let n_ways = count("alternatives", document.alternatives, 3, 8)?;
    let start = document.start.map(leftover).transpose().map_err(|bad| bad.under("start"))?;
    let targets = at_most("targets", document.targets, MOST_TARGETS)?;
    let mut wanted: Vec<(String, Wanted)> = Vec::new();
    for (place, target) in targets.into_iter().enumerate() {
        let one = target_of(&target, &wanted).map_err(|bad| bad.within("targets", place))?;
        let (color, icing) = one;
        let start =
            start.map(|(color, mass)| Leftover { color, mass: mass.unwrap_or(icing).min(icing) });
        wanted.push((target.name, Wanted { color, icing, start, most_gels, n_ways, law }));
    }
    let palette =
        document.palette.map(palette_of).transpose().map_err(|bad| bad.under("palette"))?;
    if wanted.is_empty() && palette.is_none() {
        return Err(BadValue::new("targets", "nothing is asked for; give a target or a palette"));
    }
    Ok(TintRequest {
        targets: wanted,
        gels,
        gels_are_invented,
        law,
        has_no_limits: document.jurisdiction.is_some() && law.is_none(),
        palette,
    })
}

fn at_most<T>(key: &'static str, list: Vec<T>, most: usize) -> Result<Vec<T>, BadValue> {
    if list.len() > most {
        return Err(BadValue::new(
            key,
            format!("{} are too many; ask for {most} at once", list.len()),
        ));
    }
    Ok(list)
}

fn count(
    key: &'static str,
    value: Option<u32>,
    usual: usize,
    most: u32,
) -> Result<usize, BadValue> {
    match value {
        None => Ok(usual),
        Some(n) if (1..=most).contains(&n) => Ok(n as usize),
        Some(n) => Err(BadValue::new(key, format!("{n} is outside 1 to {most}; correct it"))),
    }
}

/// Reads a gel, and refuses one that can color nothing here.
fn known_gel(document: GelDocument) -> Result<Gel, BadValue> {
    let is_without_price = document.pack_g == 0.0 && document.price_minor == 0;
    // What a gel costs need not be told.
    let pack_g = if is_without_price { 1.0 } else { document.pack_g };
    let gel = GelDocument { pack_g, ..document }.convert()?;
    let known = || dyes().map(|dye| dye.name.as_str()).collect::<Vec<_>>().join(", ");
    let is_unknown = |name: &&String| is_dye_like(name) && dye(name).is_none();
    if let Some(name) = gel.contains.iter().find(is_unknown) {
        let message = format!("\"{name}\" is no dye we know; those we know are {}", known());
        return Err(BadValue::new("contains", message));
    }
    if !gel.contains.iter().any(|name| dye(name).is_some()) {
        let message = format!("it names no dye; write what the label says, such as {}", known());
        return Err(BadValue::new("contains", message));
    }
    Ok(gel)
}

/// Tells whether a part of a gel is named like a dye: "Red 40", "E129". Whites, E170 to E175, are no dyes.
fn is_dye_like(name: &str) -> bool {
    let name = name.trim();
    let is_number = |text: &str| !text.is_empty() && text.chars().all(|one| one.is_ascii_digit());
    let european = name.strip_prefix(['E', 'e']).filter(|rest| is_number(rest));
    if let Some(number) = european {
        return number.len() == 3 && number.starts_with('1') && !number.starts_with("17");
    }
    name.split_once(' ').is_some_and(|(hue, number)| {
        let hues = ["red", "yellow", "blue", "green", "orange", "violet"];
        hues.iter().any(|known| hue.eq_ignore_ascii_case(known)) && is_number(number)
    })
}

fn leftover(start: StartDocument) -> Result<(Color, Option<Mass>), BadValue> {
    let mass = start.mass_g.map(|mass| g("mass_g", mass, 0.1, 1e5)).transpose()?;
    Ok((color("color", &start.color)?, mass))
}

fn target_of(
    target: &TargetDocument,
    earlier: &[(String, Wanted)],
) -> Result<(Color, Mass), BadValue> {
    let name = target.name.trim();
    if name.is_empty() || name.len() > 200 {
        return Err(BadValue::new("name", "a target needs a name of at most 200 letters"));
    }
    if earlier.iter().any(|(known, _)| *known == target.name) {
        return Err(BadValue::new(
            "name",
            format!("there is another target \"{name}\"; rename one"),
        ));
    }
    Ok((color("color", &target.color)?, g("icing_g", target.icing_g, 1.0, 1e5)?))
}

fn palette_of(wish: PaletteWishDocument) -> Result<(Color, Option<Color>, usize), BadValue> {
    let colors: Vec<Color> =
        wish.around.iter().map(|text| color("around", text)).collect::<Result<_, _>>()?;
    let (base, second) = match colors[..] {
        [base] => (base, None),
        [base, second] => (base, Some(second)),
        _ => return Err(BadValue::new("around", "give one color or two")),
    };
    let n = within("n", wish.n as f64, 1.0, tint::palette::MOST_SHADES as f64)? as usize;
    Ok((base, second, n))
}

/// Finds gels for what was asked.
pub fn answer_tints(request: &TintRequest) -> TintAnswerDocument {
    let shelf = Shelf::of(&request.gels);
    let targets = request.targets.iter().map(|(name, wanted)| {
        let found = reach(&shelf, wanted);
        target_answer(&shelf, name, wanted, &found)
    });
    let shades: Vec<Shade> =
        request.targets.iter().map(|(_, wanted)| shade_of(wanted.color)).collect();
    let name =
        |place: usize| request.targets.get(place).map(|(name, _)| name.clone()).unwrap_or_default();
    let alike = look_alikes(&shades).into_iter().map(|pair| LookAlikeDocument {
        one: name(pair.one),
        other: name(pair.other),
        difference: round(pair.difference, 1),
    });
    let palette = request.palette.map(|(base, second, n)| {
        let Palette { shades, lettering, contrast } =
            around(shade_of(base), second.map(shade_of), n);
        PaletteDocument {
            shades: shades.into_iter().map(hex).collect(),
            lettering: hex(lettering),
            contrast: round(contrast, 2),
        }
    });
    let notes = [
        (!request.targets.is_empty()).then_some(
            "How strong gels are is a guess until they were tried: begin with two thirds, look again after ten minutes.",
        ),
        request.gels_are_invented.then_some("The gels are those of the start kitchen, which are invented."),
        request.has_no_limits.then_some("We have no limits of this jurisdiction; look them up."),
        request.law.map(|_| "Limits are a help, not legal advice; the law itself and the local office decide."),
    ];
    TintAnswerDocument {
        format: FORMAT,
        targets: targets.collect(),
        look_alikes: alike.collect(),
        palette,
        notes: notes.into_iter().flatten().map(str::to_owned).collect(),
    }
}

fn target_answer(
    shelf: &Shelf<'_>,
    name: &str,
    wanted: &Wanted,
    found: &Reach,
) -> TargetAnswerDocument {
    let needs_none = found.ways.is_empty() && found.way_round.is_none();
    let none = "It needs no gel: the icing as it is comes as near as these gels.";
    TargetAnswerDocument {
        name: name.to_owned(),
        color: wanted.color.to_hex(),
        icing_g: round(wanted.icing.to_g(), 1),
        reachable: found.way_round.is_none(),
        difference: round(found.difference, 1),
        advice: found.way_round.clone().or(needs_none.then(|| none.to_owned())),
        recipes: found.ways.iter().map(|tint| recipe(shelf, wanted.law, tint)).collect(),
    }
}

fn recipe(shelf: &Shelf<'_>, law: Option<Law>, tint: &Tint) -> TintRecipeDocument {
    TintRecipeDocument {
        gels: tint.doses.iter().map(dose).collect(),
        gel_g: round(tint.gel.to_g(), 3),
        expected: tint.expected.to_hex(),
        tomorrow: tint.tomorrow.to_hex(),
        difference: round(tint.difference, 1),
        cost_minor: tint.cost.to_minor(),
        cautions: tint.cautions.clone(),
        label: shelf.label_words(law, tint),
    }
}

fn dose(dose: &Dose) -> GelDoseDocument {
    let (drops, mix_g) = match dose.measure {
        Measure::Drops(drops) => (Some(drops), None),
        Measure::Mix(mass) => (None, Some(round(mass.to_g(), 2))),
    };
    GelDoseDocument { gel: dose.gel.clone(), mass_g: round(dose.mass.to_g(), 3), drops, mix_g }
}

fn hex(shade: Shade) -> String {
    let [red, green, blue] = shade.to_srgb();
    Color { red, green, blue }.to_hex()
}

#[cfg(test)]
mod tests {
    use super::*;

    const GEL: &str = r##"{"name": "red", "swatch": "#c8202b", "drop_g": 0.04, "contains": ["water", "Red 40"]}"##;

    fn answered(text: &str) -> TintAnswerDocument {
        answer_tints(&read_tint_request(text, "request.json", None).expect("it can be answered"))
    }

    fn refused(text: &str) -> String {
        read_tint_request(text, "request.json", None)
            .expect_err("it cannot be answered")
            .to_string()
    }

    #[test]
    fn bad_input_is_refused_with_its_place() {
        let target = |rest: &str| {
            format!(
                r##"{{"targets": [{{"name": "a", "color": "#c8202b", "icing_g": 100}}, {rest}]}}"##
            )
        };
        let gels = |gel: &str| {
            format!(
                r##"{{"targets": [{{"name": "a", "color": "#c8202b", "icing_g": 100}}], "gels": [{GEL}, {GEL}, {gel}]}}"##
            )
        };
        for (text, words) in [
            (target(r##"{"name": "b", "color": "#c8202", "icing_g": 100}"##), "targets[1].color: "),
            (
                target(r##"{"name": "b", "color": "#c8202b", "icing_g": -5}"##),
                "targets[1].icing_g: -5 is outside",
            ),
            (
                target(r##"{"name": "a", "color": "#c8202b", "icing_g": 5}"##),
                "targets[1].name: there is another",
            ),
            (gels(&GEL.replace("0.04", "0")), "gels[2].drop_g: 0 is outside"),
            (gels(&GEL.replace("Red 40", "sugar")), "gels[2].contains: it names no dye"),
            (
                gels(&GEL.replace("Red 40", "Red 99")),
                "gels[2].contains: \"Red 99\" is no dye we know",
            ),
            (
                gels(&GEL.replace(
                    "\"drop_g\"",
                    "\"sample\": [{\"g_per_100_g\": -1, \"seen\": \"#ffffff\"}], \"drop_g\"",
                )),
                "gels[2].sample[0].g_per_100_g: -1 is outside",
            ),
            (
                r##"{"palette": {"around": [], "n": 3}}"##.into(),
                "palette.around: give one color or two",
            ),
            (r##"{"palette": {"around": ["#ffffff"], "n": 0}}"##.into(), "palette.n: 0 is outside"),
            (r##"{"targets": [], "start": {"color": "pink"}}"##.into(), "start.color: "),
            (r##"{"jurisdiction": "mars"}"##.into(), "jurisdiction: \"mars\" is not possible here"),
            (r##"{"format": 2}"##.into(), "format: 2 is unknown"),
            ("{}".into(), "targets: nothing is asked for"),
            (
                "{\n\"target\": []}".into(),
                "line 2: unknown key \"target\"; did you mean \"targets\"?",
            ),
            ("nonsense".into(), "line 1: "),
            (String::new(), "line 1: "),
        ] {
            let message = refused(&text);
            assert!(message.contains(words), "{words}: {message}");
            assert!(
                message.starts_with("request.json") && message.lines().count() == 1,
                "{message}"
            );
        }
    }

    #[test]
    fn colors_are_answered_with_recipes_limits_label_and_look_alikes() {
        let answer = answered(
            r##"{"targets": [
                {"name": "pink", "color": "#f3cfc9", "icing_g": 200},
                {"name": "rose", "color": "#eebfb8", "icing_g": 300},
                {"name": "red", "color": "#c8202b", "icing_g": 100},
                {"name": "neon", "color": "#00ff00", "icing_g": 100},
                {"name": "plain", "color": "#fbf7ee", "icing_g": 100}
            ], "jurisdiction": "eu", "alternatives": 2}"##,
        );
        let [pink, rose, red, neon, plain] = &answer.targets[..] else { panic!("{answer:?}") };
        for near in [pink, rose] {
            assert!(near.reachable && near.difference < 3.0 && near.advice.is_none(), "{near:?}");
            assert!((1..=2).contains(&near.recipes.len()));
        }
        let best = &red.recipes[0];
        assert!(best.cautions.iter().any(|words| words.contains("500 are allowed")), "{best:?}");
        assert!(
            best.label.iter().any(|words| words.contains("activity and attention")),
            "{best:?}"
        );
        let all: f64 = best.gels.iter().map(|dose| dose.mass_g).sum();
        assert!((all - best.gel_g).abs() < 0.002 && best.cost_minor > 0);
        assert!(!neon.reachable && neon.advice.is_some(), "{neon:?}");
        assert!(plain.reachable && plain.recipes.is_empty() && plain.advice.is_some(), "{plain:?}");
        let pairs: Vec<(&str, &str)> = answer
            .look_alikes
            .iter()
            .map(|pair| (pair.one.as_str(), pair.other.as_str()))
            .collect();
        assert_eq!(pairs, [("pink", "rose")]);
    }

    #[test]
    fn a_start_saves_gel_and_a_palette_reads_as_different_shades() {
        let with = |start: &str| {
            let text = format!(
                r##"{{"targets": [{{"name": "rose", "color": "#d68c7d", "icing_g": 100}}]{start}, "gels": [{GEL}],
                "palette": {{"around": ["#d68c7d"], "n": 5}}}}"##
            );
            answered(&text)
        };
        let (fresh, started) = (with(""), with(r##", "start": {"color": "#e6aa9f"}"##));
        let gel = |answer: &TintAnswerDocument| answer.targets[0].recipes[0].gel_g;
        assert!(gel(&started) < 0.8 * gel(&fresh), "{started:?}");
        let palette = fresh.palette.expect("it was wanted");
        assert!(palette.shades.len() == 5 && palette.shades[0] == "#d68c7d", "{palette:?}");
        assert!(palette.contrast >= 4.5);
    }
}
