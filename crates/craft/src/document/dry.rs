//! `sugarwright dry`, format 1: the air of a room in, the times until skin, set and dry out.

use quantity::{Length, Span};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{
    FileError, RangeDocument,
    choices::check_format,
    error::{BadValue, from_json},
    kitchen::{DryingSeenDocument, air, within},
    plan::{
        HeadsUpDocument,
        write::{heads_up, round},
    },
};
use crate::{
    drying::{Air, Conditions, State, speed},
    heads_up::HeadsUp,
    kitchen::Kitchen,
    plan::about_the_air,
};

/// The request's name in messages.
const FILE: &str = "dry request";

/// The air icing dries in, and how deep it is.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
#[schemars(title = "dry request")]
pub struct DryRequest {
    /// The format of this request: 1.
    pub format: u32,
    /// Temperature of the room in degrees Celsius.
    pub celsius: f64,
    /// Relative humidity of the room.
    pub humidity_percent: f64,
    /// Whether a fan blows on the cookies.
    pub fan: bool,
    /// Wet depth; left out: a base and a second layer of the kitchen.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub depth_mm: Option<f64>,
    /// What was seen, beside what the kitchen has seen.
    pub seen: Vec<DryingSeenDocument>,
}

impl Default for DryRequest {
    fn default() -> Self {
        Self {
            format: 1,
            celsius: 20.0,
            humidity_percent: 50.0,
            fan: false,
            depth_mm: None,
            seen: Vec::new(),
        }
    }
}

/// When icing is skinned over, set and dry.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(title = "dry answer")]
pub struct DryAnswer {
    /// The format of this answer: 1.
    pub format: u32,
    /// Speed against that at 20 °C and 50 %; 0 where nothing dries.
    pub speed: f64,
    /// For each depth.
    pub depth: Vec<DepthEntry>,
    /// What the maker must know.
    pub heads_ups: Vec<HeadsUpDocument>,
}

/// Times of icing of one depth.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct DepthEntry {
    /// base, layer, or the depth that was asked for.
    pub name: String,
    /// Wet depth.
    pub depth_mm: f64,
    /// Until neighbors keep apart; left out where it does not dry.
    pub skin_min: Option<RangeDocument>,
    /// Until lines and top layers hold.
    pub set_min: Option<RangeDocument>,
    /// Until marker, paint and bagging.
    pub dry_min: Option<RangeDocument>,
}

/// Reads a request.
///
/// # Errors
/// The text is no such request.
pub fn read_dry_request(text: &str) -> Result<DryRequest, FileError> {
    from_json(FILE, text)
}

/// Answers a request, from what was seen in it and in the kitchen.
///
/// # Errors
/// A value makes no sense; the message names it.
pub fn dry(kitchen: &Kitchen, request: &DryRequest) -> Result<DryAnswer, FileError> {
    answer(kitchen, request).map_err(|bad| bad.in_json(FILE))
}

fn answer(kitchen: &Kitchen, request: &DryRequest) -> Result<DryAnswer, BadValue> {
    check_format(request.format)?;
    let air = air("celsius", request.celsius, "humidity_percent", request.humidity_percent)?;
    let mut known = kitchen.drying.known.clone();
    let base = kitchen.icing.base_depth;
    for (place, seen) in request.seen.iter().enumerate() {
        let seen = seen.convert(base).map_err(|bad| bad.within("seen", place))?;
        known.learn(seen.as_slice());
    }
    let depths: Vec<(&str, Length)> = match request.depth_mm {
        Some(depth) => vec![("depth", Length::mm(within("depth_mm", depth, 0.1, 40.0)?))],
        None => vec![("base", base), ("layer", kitchen.icing.layer_depth)],
    };
    let entry = |(name, depth): (&str, Length)| {
        let conditions = Conditions { depth, air, fan: request.fan };
        let minutes = |state: State| {
            let time = known.time(state, &conditions)?;
            Some(RangeDocument::of(time.map(Span::to_minutes), 1))
        };
        DepthEntry {
            name: name.to_owned(),
            depth_mm: round(depth.to_mm(), 2),
            skin_min: minutes(State::Skin),
            set_min: minutes(State::Set),
            dry_min: minutes(State::Dry),
        }
    };
    Ok(DryAnswer {
        format: 1,
        speed: round(speed(&air), 3),
        depth: depths.into_iter().map(entry).collect(),
        heads_ups: told(&air).iter().map(heads_up).collect(),
    })
}

fn told(air: &Air) -> Vec<HeadsUp> {
    about_the_air(air).into_iter().collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::start_kitchen;

    fn answered(text: &str) -> DryAnswer {
        let request = read_dry_request(text).expect("a request");
        dry(&start_kitchen(), &request).expect("an answer")
    }

    #[test]
    fn times_follow_air_depth_fan_and_what_was_seen() {
        let likely = |text: &str| {
            let answer = answered(text);
            let first = &answer.depth[0];
            let range = |range: &Option<RangeDocument>| range.as_ref().map(|range| range.likely);
            [range(&first.skin_min), range(&first.set_min), range(&first.dry_min)]
        };
        assert_eq!(likely("{}"), [Some(15.0), Some(75.0), Some(720.0)]);
        assert_eq!(likely(r#"{"fan": true}"#), [Some(9.0), Some(45.0), Some(720.0)]);
        assert_eq!(likely(r#"{"depth_mm": 1.1}"#), [Some(7.5), Some(37.5), Some(360.0)]);
        assert_eq!(likely(r#"{"humidity_percent": 100}"#), [None; 3]);
        let [skin, set, _] = likely(
            r#"{"seen": [{"on": "2027-03-01", "state": "skin", "after_min": 30},
                {"on": "2027-03-01", "state": "skin", "after_min": 30}]}"#,
        );
        assert!(skin.is_some_and(|skin| (22.0..29.0).contains(&skin)) && set == Some(75.0));
        assert_eq!(answered(r#"{"humidity_percent": 90}"#).heads_ups[0].severity, "stop");
    }

    #[test]
    fn air_that_cannot_be_is_refused_by_name() {
        let refused = |text: &str| {
            let request = read_dry_request(text).expect("a request");
            dry(&start_kitchen(), &request).expect_err("refused").to_string()
        };
        assert_eq!(
            refused(r#"{"celsius": 90}"#),
            "dry request: celsius: 90 is outside 0 to 45; correct it"
        );
        assert!(refused(r#"{"humidity_percent": -1}"#).contains("humidity_percent"));
        assert!(refused(r#"{"seen": [{"on": "2027-03-01", "state": "hard"}]}"#).contains("seen"));
    }
}
