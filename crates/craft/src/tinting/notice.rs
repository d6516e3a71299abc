//! What the maker is told about colors.

use tint::{
    Shade,
    coat::off_the_bowl,
    film::shade,
    limits::{Breach, Law, breaches},
    palette::look_alikes,
    recipe::Recipe,
    spectrum::Spectrum,
};

use crate::{
    heads_up::{HeadsUp, Severity, Subject},
    icing::{Bowl, IcingPlan, shade_of},
    kitchen::{Jurisdiction, Kitchen},
    technique::{Onto, Sections, Technique},
    tinting::shelf::Shelf,
};

/// Beyond this difference (CIEDE2000) gels are not likely to reach a color: what a gel does is known to about half of it
/// before it was measured (our own simulation of strength, shift and tail).
pub(super) const OUT_OF_REACH: f64 = 8.0;

/// Gel in 100 g of icing from which a color is left to deepen over night, in grams (common practice, no source).
const MUCH_GEL: f64 = 0.8;

/// Share of its mass that icing loses as it dries: 12 to 15 % (common practice, no source).
const WATER_LOST: f64 = 0.135;

/// A coat that looks so far from its bowl (CIEDE2000) is told (common practice, no source).
const SHINES_THROUGH: f64 = 6.5;

/// Shades lighter than this show what bleeds into them (common practice, no source).
const PALE: f64 = 75.0;

/// Pairs of colors that are named; more are only counted.
const N_NAMED: usize = 3;

/// What is to be said of a color, before it is said of which.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Caution {
    severity: Severity,
    pub(super) message: String,
    pub(super) hint: String,
}

impl Caution {
    fn new(severity: Severity, message: impl Into<String>, hint: impl Into<String>) -> Self {
        Self { severity, message: message.into(), hint: hint.into() }
    }

    pub(super) fn about(self, subject: Subject) -> HeadsUp {
        HeadsUp::new(self.severity, subject, self.message).hint(self.hint)
    }
}

/// Returns whose limits hold; nothing where we have none.
pub fn law(jurisdiction: Jurisdiction) -> Option<Law> {
    match jurisdiction {
        Jurisdiction::UnitedStates => Some(Law::UnitedStates),
        Jurisdiction::EuropeanUnion => Some(Law::EuropeanUnion),
        Jurisdiction::UnitedKingdom => Some(Law::UnitedKingdom),
        Jurisdiction::Canada => None,
    }
}

/// Says that gels do not reach a color, and the way round.
pub(super) fn out_of_reach(target: Shade, difference: f64) -> Option<Caution> {
    if difference <= OUT_OF_REACH {
        return None;
    }
    let is_red = target.chroma() > 20.0 && (target.hue() < 50.0 || target.hue() > 340.0);
    let hint = if target.lightness() < 30.0 && target.chroma() < 12.0 {
        "Start from brown or cocoa, add black, mix it a day ahead so that it deepens, and paint the last step when it is dry."
    } else if is_red {
        "Start from pink, add red, mix it a day ahead so that it deepens, and paint the last step when it is dry."
    } else {
        "Take a shade a little duller, a gel nearer to it, or mix it a day ahead so that it deepens."
    };
    let message = "The gels of this kitchen are not likely to reach this color.";
    Some(Caution::new(Severity::Caution, message, hint))
}

/// Says what of a recipe takes care: much gel, limits of the law.
pub(super) fn about(shelf: &Shelf<'_>, law: Option<Law>, recipe: &Recipe) -> Vec<Caution> {
    let mut found = Vec::new();
    if recipe.total_grams() > MUCH_GEL {
        found.push(Caution::new(
            Severity::Note,
            "This color takes much gel.",
            "Mix it a day ahead, one step lighter: it deepens over night; beside pale sections let it crust first, or it bleeds.",
        ));
    }
    let Some(law) = law else { return found };
    found.extend(breaches(law, &dyes_as_sold(shelf, recipe)).iter().map(limited));
    found
}

/// Returns the milligrams of each dye in a kilogram of the dried icing.
fn dyes_as_sold(shelf: &Shelf<'_>, recipe: &Recipe) -> Vec<(&'static str, f64)> {
    let mut dyes: Vec<(&'static str, f64)> = Vec::new();
    for &(place, grams) in &recipe.grams {
        for (dye, mg) in shelf.bottles.get(place).into_iter().flat_map(|bottle| &bottle.dyes) {
            let mg_per_kg = 10.0 * grams * mg / (1.0 - WATER_LOST);
            match dyes.iter_mut().find(|(name, _)| *name == dye.name) {
                Some((_, sum)) => *sum += mg_per_kg,
                None => dyes.push((&dye.name, mg_per_kg)),
            }
        }
    }
    dyes
}

fn limited(breach: &Breach) -> Caution {
    let Breach { dye, mg_per_kg, most, since, note, source, is_verified } = breach;
    let unsure = if *is_verified { "" } else { "; not checked, so read the law itself" };
    let note = if note.is_empty() { String::new() } else { format!(", {note}") };
    match (dye, most) {
        (dye, Some(most)) => Caution::new(
            Severity::Caution,
            format!(
                "Dried, this color likely holds {mg_per_kg:.0} mg/kg of {}; {most:.0} are allowed ({source}{unsure}).",
                dye.as_deref().unwrap_or("limited dyes together"),
            ),
            "Take a paler shade or colors without such a limit, and ask the maker of the gel how much dye is in it.",
        ),
        (dye, None) => Caution::new(
            Severity::Caution,
            format!(
                "{} is not permitted in icing{}{note} ({source}{unsure}).",
                dye.as_deref().unwrap_or("A dye of it"),
                if since.is_empty() { String::new() } else { format!(" from {since} on") },
            ),
            "Take another gel.",
        ),
    }
}

/// One bowl with the gel in it.
pub(super) struct Tinted<'a> {
    pub(super) bowl: &'a Bowl,
    /// q = K/S as mixed.
    pub(super) mixed: Spectrum,
    /// Grams of gel in 100 g of it.
    pub(super) grams: f64,
}

/// Names deep bowls that are piped beside or onto pale ones, each pair once.
pub(super) fn bleeding(
    sections: &Sections,
    icing: &IcingPlan,
    bowls: &[Tinted<'_>],
) -> Vec<HeadsUp> {
    let beside = sections.neighbors.iter().map(|pair| (pair.a, pair.b));
    let onto = sections.overlaps.iter().map(|pair| (pair.top, pair.under));
    let mut pairs: Vec<(usize, usize)> = Vec::new();
    for (one, other) in beside.chain(onto) {
        let bowl_of = |section| icing.bag_of(section).map(|(bowl, _)| bowl);
        let (Some(one), Some(other)) = (bowl_of(one), bowl_of(other)) else { continue };
        for (deep, pale) in [(one, other), (other, one)] {
            let (Some(from), Some(into)) = (bowls.get(deep), bowls.get(pale)) else { continue };
            let is_deep = from.grams > MUCH_GEL;
            if is_deep && shade(&into.mixed).lightness() > PALE && !pairs.contains(&(deep, pale)) {
                pairs.push((deep, pale));
            }
        }
    }
    pairs.sort_unstable();
    let name = |place: usize| bowls.get(place).map_or("", |one| one.bowl.id.as_str());
    let spoken = |name: &str| name.replace('-', " ");
    let mut found: Vec<HeadsUp> = Vec::new();
    for pair in pairs.chunk_by(|one, other| one.0 == other.0) {
        let Some(&(deep, _)) = pair.first() else { continue };
        let pale: Vec<&str> = pair.iter().map(|&(_, pale)| name(pale)).collect();
        found.push(
            HeadsUp::new(
                Severity::Caution,
                Subject::Bowl(name(deep).to_owned()),
                format!(
                    "So much gel may bleed from {} into {}.",
                    spoken(name(deep)),
                    spoken(&listed(&pale))
                ),
            )
            .hint("Let the deep one crust before a pale one touches it, take less gel and let it deepen over night, and dry them in dry, moving air."),
        );
    }
    found
}

/// Names bowls whose colors are not one shade but are easily taken for each other.
pub(super) fn alike(bowls: &[Bowl]) -> Option<HeadsUp> {
    let shades: Vec<Shade> = bowls.iter().map(|bowl| shade_of(bowl.color)).collect();
    let pairs = look_alikes(&shades);
    let name = |place: usize| bowls.get(place).map_or("", |bowl| bowl.id.as_str());
    let named: Vec<String> = pairs
        .iter()
        .take(N_NAMED)
        .map(|pair| format!("{} and {}", name(pair.one), name(pair.other)))
        .collect();
    let more = match pairs.len().saturating_sub(N_NAMED) {
        0 => String::new(),
        1 => ", and one pair more".to_owned(),
        n => format!(", and {n} pairs more"),
    };
    (!pairs.is_empty()).then(|| {
        HeadsUp::new(
            Severity::Note,
            Subject::Order,
            format!("Bowls that are easily taken for each other: {}{more}.", named.join(", ")),
        )
        .hint("Write their names on bowls and bags, bring the colors further apart, or make them one color.")
    })
}

/// Says that a base flood is so thin that the cookie shines through, and how deep it would hide it.
pub(super) fn thin_coat(
    kitchen: &Kitchen,
    sections: &Sections,
    one: &Tinted<'_>,
) -> Option<HeadsUp> {
    let piped = one.bowl.bags.iter().flat_map(|bag| &bag.sections);
    let is_on_cookie = piped
        .filter_map(|&place| sections.sections.get(place))
        .any(|section| section.technique == Technique::Flood && section.onto == Onto::Cookie);
    let depth_mm = kitchen.icing.base_depth.to_mm();
    if !is_on_cookie || off_the_bowl(&one.mixed, depth_mm) <= SHINES_THROUGH {
        return None;
    }
    let deeper = (1..=20).map(|step| depth_mm + 0.1 * f64::from(step));
    let hidden = deeper.into_iter().find(|mm| off_the_bowl(&one.mixed, *mm) <= SHINES_THROUGH);
    let hint = match hidden {
        Some(mm) => format!("Flood it {mm:.1} mm deep, or in two coats."),
        None => "Flood it in two coats.".to_owned(),
    };
    Some(
        HeadsUp::new(
            Severity::Note,
            Subject::Bowl(one.bowl.id.clone()),
            format!("At {depth_mm:.1} mm the cookie shines through this pale icing: it looks darker and yellower than in the bowl."),
        )
        .hint(hint),
    )
}

fn listed(names: &[&str]) -> String {
    match names {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}
