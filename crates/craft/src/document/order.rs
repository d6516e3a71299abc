//! `order.toml`, format 1: what a customer and the maker agreed.

use std::collections::BTreeMap;

use drawing::Color;
use jiff::{ZonedDateTime, civil::Date};
use quantity::Length;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::{
    cutting::{CuttingStyle, UnknownStyle},
    document::{
        FileError,
        choices::{by_name, check_format, first_format},
        error::{BadValue, from_toml},
    },
    order::{
        BaseChoice, Bench, Cutter, CutterUse, Detail, Handover, Item, ItemPicture, Order, Pin,
        Turning,
    },
};

/// The file's name in messages.
const FILE: &str = "order.toml";
/// No order has more cookies.
const MOST_COOKIES: u32 = 10_000;

/// An order.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "order.toml")]
pub struct OrderDocument {
    /// The format of this file: 1.
    #[serde(default = "first_format")]
    pub format: u32,
    /// The occasion.
    pub title: String,
    /// Who it is for.
    pub customer: String,
    /// Whether people and occasion are made up.
    #[serde(default)]
    pub invented: bool,
    /// The one hand-over: date, time and zone (RFC 9557), such as "2027-03-06T10:00[America/Halifax]".
    #[serde(skip_serializing_if = "Option::is_none")]
    pub due: Option<String>,
    /// Several hand-overs, instead of `due`.
    #[serde(default)]
    pub handover: Vec<HandoverEntry>,
    /// What must be on the cookies.
    #[serde(default)]
    pub must_have: Vec<String>,
    /// Whether the customer has confirmed the wording in writing.
    #[serde(default)]
    pub wording_confirmed: bool,
    /// Allergens to keep out.
    #[serde(default)]
    pub avoid: Vec<String>,
    /// The base poured under everything: a color such as "#f5ecd7", or "none".
    /// Without it, the art's own bottom region is the base if it covers at least 90 % of the cookie inside its edge inset;
    /// else the kitchen's base color is poured.
    pub base: Option<String>,
    /// How many colors all drawings together may have, 1 to 24: the nearest are made one, and the plan says which.
    /// Without it, the drawings keep the colors they have.
    pub most_colors: Option<u32>,
    /// How many decorate this order at once, 1 to 3; without it, as many as the kitchen says.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub makers: Option<u32>,
    /// Whether a fan blows on these cookies; without it, as the kitchen says.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fan: Option<bool>,
    /// Sections, by their ids such as "fox/cheek", that are worked wet into what they lie on.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub wet: Vec<String>,
    /// Sections in an order of the maker's own.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub pin: Vec<PinEntry>,
    /// Whether a section may be worked on some cookies first and on the others later, where that saves time.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub split: bool,
    /// How the dough sheets are cut: "one_shape", "mixed", "rows", or "to_measure_1" where scraps are rolled once at most;
    /// without it, as the kitchen says.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cutting: Option<String>,
    /// What is ordered, at least one item.
    #[serde(default)]
    pub item: Vec<ItemEntry>,
}

/// One section is piped before another.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PinEntry {
    /// The id of the earlier one.
    pub first: String,
    /// The id of the later one.
    pub then: String,
}

/// One of several hand-overs.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HandoverEntry {
    /// Date, time and zone (RFC 9557).
    pub at: String,
    /// How many of each item, by the item's name.
    pub counts: BTreeMap<String, u32>,
}

/// One item: a drawn design, or a cutter with a detail level and colors.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ItemEntry {
    /// Its name, unique in the order; without it, the design's.
    pub name: Option<String>,
    /// How many are handed over.
    pub count: u32,
    /// How many are made beyond that; without it, 1 up to 12, then 10 % (common practice, no source).
    pub extras: Option<u32>,
    /// The drawing: the name of its file in `designs/`, without its ending.
    pub design: Option<String>,
    /// Width of the cutter shape's box; without it, the drawing's own physical size.
    pub width_mm: Option<f64>,
    /// Border around the silhouette where the drawing has no element named "outline"; without it, 3 mm.
    pub border_mm: Option<f64>,
    /// In how many bands of one color each gradient of the drawing comes, 2 to 4; without it, a gradient is one color.
    pub gradient_bands: Option<u32>,
    /// Instead of a drawing: a shape of the shelf and its size, such as "round 82 mm", "plaque 90 x 60 mm", "heart 3.25 in".
    pub cutter: Option<String>,
    /// Without a drawing: plain, simple, dressed, detailed or elaborate.
    pub detail: Option<String>,
    /// Without a drawing: its colors, the base first.
    #[serde(default)]
    pub colors: Vec<String>,
    /// Allergens this item must be made without.
    #[serde(default)]
    pub without: Vec<String>,
    /// The day its cookies were baked and frozen, if they already were: "2027-02-19".
    pub baked_frozen_on: Option<String>,
    /// How its cutter may be turned on the dough: "free", "quarter" or "fixed", as a stamped or rolled-in pattern asks for; without it, free.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub turning: Option<String>,
    /// Whether its cutter may be turned over, which cuts it as in a mirror: for shapes that are the same from behind, or are iced on the underside.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub turn_over: bool,
    /// Whether its cookies are cut from fresh and frozen sheets only, never from scraps rolled again.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub fresh_dough: bool,
    /// The maker's own note.
    pub note: Option<String>,
}

/// Reads an order.
///
/// # Errors
/// The text is no such document, or a value makes no sense; the message names line and key.
pub fn read_order(text: &str) -> Result<Order, FileError> {
    convert(read_order_document(text)?).map_err(|bad| bad.in_file(FILE, text))
}

/// Reads an order as its document, its values unchecked.
///
/// # Errors
/// The text is no such document.
pub fn read_order_document(text: &str) -> Result<OrderDocument, FileError> {
    from_toml(FILE, text)
}

impl OrderDocument {
    /// Writes the order as the text of an `order.toml`.
    pub fn to_toml(&self) -> String {
        toml::to_string(self).expect("plain structs with text keys are TOML")
    }

    /// Takes over what the maker wants at the bench, and how many colors, from an order.
    pub fn with_bench_of(mut self, order: &Order) -> Self {
        let number = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        self.makers = order.bench.makers.map(number);
        self.fan = order.bench.fan;
        self.most_colors = order.most_colors.map(number);
        self.wet.clone_from(&order.bench.wet);
        let pins = order.bench.pins.iter().cloned();
        self.pin = pins.map(|Pin { first, then }| PinEntry { first, then }).collect();
        self.split = order.bench.split;
        self.cutting = order.bench.cutting.map(|style| style.to_string());
        self
    }

    /// Moves every date of the order by so many days, wall-clock times staying as they are.
    ///
    /// A date that cannot be read, or would leave the calendar, stays.
    pub fn moved_by(mut self, days: i32) -> Self {
        let moved = |text: &mut String| {
            let day = text.get(..10).and_then(|date| date.parse::<Date>().ok());
            let day = day.and_then(|day| day.checked_add(jiff::Span::new().days(days)).ok());
            if let (Some(day), Some(rest)) = (day, text.get(10..)) {
                *text = format!("{day}{rest}");
            }
        };
        self.due.iter_mut().for_each(moved);
        self.handover.iter_mut().map(|handover| &mut handover.at).for_each(moved);
        self.item.iter_mut().filter_map(|item| item.baked_frozen_on.as_mut()).for_each(moved);
        self
    }
}

fn convert(document: OrderDocument) -> Result<Order, BadValue> {
    check_format(document.format)?;
    for (key, value) in [("title", &document.title), ("customer", &document.customer)] {
        if value.trim().is_empty() {
            return Err(BadValue::new(key, "is empty; write at least a word"));
        }
    }
    if document.item.is_empty() {
        return Err(BadValue::new("item", "the order has no items; add an [[item]]"));
    }
    let items = document
        .item
        .into_iter()
        .enumerate()
        .map(|(place, item)| convert_item(item).map_err(|bad| bad.within("item", place)))
        .collect::<Result<Vec<_>, _>>()?;
    for (place, item) in items.iter().enumerate() {
        if items[..place].iter().any(|earlier| earlier.name == item.name) {
            let message =
                format!("two items are named \"{}\"; give one of them another name", item.name);
            return Err(BadValue::new("name", message).within("item", place));
        }
    }
    let n_cookies = items.iter().map(Item::baked).fold(0, u32::saturating_add);
    if n_cookies > MOST_COOKIES {
        return Err(BadValue::new(
            "item",
            format!("{n_cookies} cookies are more than {MOST_COOKIES}; split the order"),
        ));
    }
    let handovers = convert_handovers(document.due, document.handover, &items)?;
    Ok(Order {
        title: document.title,
        customer: document.customer,
        invented: document.invented,
        handovers,
        must_have: document.must_have,
        wording_confirmed: document.wording_confirmed,
        avoid: document.avoid,
        base: match document.base.as_deref() {
            None => BaseChoice::FromArt,
            Some("none") => BaseChoice::None,
            Some(color) => BaseChoice::Color(color_of("base", color)?),
        },
        most_colors: most_colors(document.most_colors)?,
        bench: Bench {
            makers: makers(document.makers)?,
            fan: document.fan,
            wet: document.wet,
            pins: document
                .pin
                .into_iter()
                .map(|PinEntry { first, then }| Pin { first, then })
                .collect(),
            split: document.split,
            cutting: document.cutting.as_deref().map(cutting).transpose()?,
        },
        items,
    })
}

fn most_colors(most: Option<u32>) -> Result<Option<usize>, BadValue> {
    match most {
        Some(most @ 1..=24) => Ok(Some(most as usize)),
        None => Ok(None),
        Some(most) => Err(BadValue::new(
            "most_colors",
            format!("{most} is outside 1 to 24; correct it, or leave it out to keep all colors"),
        )),
    }
}

fn cutting(style: &str) -> Result<CuttingStyle, BadValue> {
    style.parse().map_err(|UnknownStyle| {
        BadValue::new(
            "cutting",
            format!(
                "\"{style}\" is no way to cut; write one_shape, mixed, rows or to_measure_ and how often scraps are rolled, such as to_measure_1"
            ),
        )
    })
}

fn makers(makers: Option<u32>) -> Result<Option<usize>, BadValue> {
    match makers {
        Some(makers @ 1..=3) => Ok(Some(makers as usize)),
        None => Ok(None),
        Some(makers) => Err(BadValue::new(
            "makers",
            format!(
                "{makers} is outside 1 to 3; correct it, or leave it out for the kitchen's number"
            ),
        )),
    }
}

fn convert_item(item: ItemEntry) -> Result<Item, BadValue> {
    if item.count == 0 {
        return Err(BadValue::new("count", "is 0; order at least one, or remove the item"));
    }
    let size = |key: &'static str, value: Option<f64>, least: f64, most: f64| match value {
        None => Ok(None),
        Some(mm) if (least..=most).contains(&mm) => Ok(Some(Length::mm(mm))),
        Some(mm) => {
            Err(BadValue::new(key, format!("{mm} mm is outside {least} to {most} mm; correct it")))
        }
    };
    let width = size("width_mm", item.width_mm, 10.0, 1000.0)?;
    let border = size("border_mm", item.border_mm, 0.0, 30.0)?;
    let gradient_bands = match item.gradient_bands {
        None => None,
        Some(n_bands @ 2..=4) => Some(n_bands as usize),
        Some(n_bands) => {
            return Err(BadValue::new(
                "gradient_bands",
                format!("{n_bands} is outside 2 to 4; correct it, or leave it out for one color"),
            ));
        }
    };
    let (name, picture) = match (item.design, item.cutter) {
        (Some(_), Some(_)) => {
            return Err(BadValue::new(
                "cutter",
                "the item has both a design and a cutter; keep one of them",
            ));
        }
        (None, None) => {
            return Err(BadValue::new(
                "design",
                "the item has neither a design nor a cutter; add one of them",
            ));
        }
        (Some(design), None) => {
            (design.clone(), ItemPicture::Drawn { design, width, border, gradient_bands })
        }
        (None, Some(text)) => {
            let cutter =
                Cutter::parse(&text).map_err(|error| BadValue::new("cutter", error.to_string()))?;
            let detail = item.detail.ok_or_else(|| {
                BadValue::new("detail", "an item without a drawing needs one of plain, simple, dressed, detailed, elaborate")
            })?;
            let detail = by_name("detail", &detail, &Detail::NAMES)?;
            if item.colors.is_empty() {
                return Err(BadValue::new(
                    "colors",
                    "an item without a drawing needs its colors; the base comes first",
                ));
            }
            let colors = item
                .colors
                .iter()
                .map(|color| color_of("colors", color))
                .collect::<Result<_, _>>()?;
            (text, ItemPicture::Undrawn { cutter, detail, colors })
        }
    };
    let baked_frozen_on = match item.baked_frozen_on {
        None => None,
        Some(text) => Some(text.parse::<Date>().map_err(|_| {
            BadValue::new(
                "baked_frozen_on",
                format!("\"{text}\" is no date; write it like \"2027-02-19\""),
            )
        })?),
    };
    Ok(Item {
        name: item.name.unwrap_or(name),
        count: item.count,
        extras: item.extras,
        picture,
        without: item.without,
        baked_frozen_on,
        cutter_use: CutterUse {
            turning: match item.turning {
                None => Turning::Free,
                Some(name) => by_name("turning", &name, &Turning::NAMES)?,
            },
            turn_over: item.turn_over,
            fresh_dough: item.fresh_dough,
        },
        note: item.note,
    })
}

fn convert_handovers(
    due: Option<String>,
    entries: Vec<HandoverEntry>,
    items: &[Item],
) -> Result<Vec<Handover>, BadValue> {
    let mut handovers = match (due, entries) {
        (Some(_), entries) if !entries.is_empty() => {
            return Err(BadValue::new(
                "due",
                "the order has both due and [[handover]]; keep one of them",
            ));
        }
        (None, entries) if entries.is_empty() => {
            return Err(BadValue::new(
                "due",
                "is missing; add due = \"2027-03-06T10:00[America/Halifax]\", or [[handover]] tables",
            ));
        }
        (Some(due), _) => {
            let counts =
                items.iter().enumerate().map(|(place, item)| (place, item.count)).collect();
            vec![Handover { at: moment("due", &due)?, counts }]
        }
        (None, entries) => entries
            .into_iter()
            .enumerate()
            .map(|(place, entry)| {
                convert_handover(entry, items).map_err(|bad| bad.within("handover", place))
            })
            .collect::<Result<Vec<_>, _>>()?,
    };
    for (place, item) in items.iter().enumerate() {
        let given: u32 = handovers
            .iter()
            .flat_map(|handover| &handover.counts)
            .filter(|(counted, _)| *counted == place)
            .fold(0, |sum, (_, count)| sum.saturating_add(*count));
        if given != item.count {
            let message = format!(
                "hand-overs give {given} of \"{}\", of which {} are ordered; make them equal",
                item.name, item.count
            );
            return Err(BadValue::new("counts", message).within("handover", 0));
        }
    }
    handovers.sort_by_key(|handover| handover.at.timestamp());
    Ok(handovers)
}

fn convert_handover(entry: HandoverEntry, items: &[Item]) -> Result<Handover, BadValue> {
    let at = moment("at", &entry.at)?;
    let counts = entry
        .counts
        .into_iter()
        .map(|(name, count)| {
            items.iter().position(|item| item.name == name).map(|place| (place, count)).ok_or_else(
                || {
                    let known: Vec<&str> = items.iter().map(|item| item.name.as_str()).collect();
                    BadValue::new(
                        "counts",
                        format!("no item is named \"{name}\"; there are {}", known.join(", ")),
                    )
                },
            )
        })
        .collect::<Result<_, _>>()?;
    Ok(Handover { at, counts })
}

/// Reads date, time and zone; a wall-clock time that a clock change skips is refused.
fn moment(key: &'static str, text: &str) -> Result<ZonedDateTime, BadValue> {
    let like = "write it like \"2027-03-06T10:00[America/Halifax]\"";
    let at: ZonedDateTime = text.parse().map_err(|error| {
        BadValue::new(key, format!("\"{text}\" is no date, time and zone ({error}); {like}"))
    })?;
    // In the gap of a clock change the reader moves the time; a promise must be a time that exists.
    let written = text.split(['[', '+', 'Z']).next().unwrap_or_default();
    let shown = at.datetime().to_string();
    if written.len() >= 16
        && !shown.starts_with(&written[..16.min(written.len())])
        && !written[10..].contains('-')
    {
        return Err(BadValue::new(
            key,
            format!("\"{text}\" is skipped by a clock change; choose a time that exists"),
        ));
    }
    Ok(at)
}

fn color_of(key: &'static str, text: &str) -> Result<Color, BadValue> {
    Color::parse(text).map_err(|_| {
        BadValue::new(key, format!("\"{text}\" is no color; write it like \"#f5ecd7\""))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    const ORDER: &str = r##"title = "Test"
customer = "nobody"
due = "2027-03-06T10:00[America/Halifax]"
base = "#ffffff"

[[item]]
design = "gull"
count = 6

[[item]]
cutter = "round 82 mm"
detail = "simple"
colors = ["#ffffff", "#2b4ba0"]
count = 12
"##;

    fn refusal(from: &str, to: &str) -> String {
        assert!(ORDER.contains(from), "{from}");
        read_order(&ORDER.replacen(from, to, 1)).expect_err("refused").to_string()
    }

    #[test]
    fn an_order_is_read_with_its_items() {
        let order = read_order(ORDER).expect("an order");
        assert_eq!(order.count(), 18);
        assert_eq!(
            order.items.iter().map(|item| item.name.as_str()).collect::<Vec<_>>(),
            ["gull", "round 82 mm"]
        );
        assert_eq!(order.items[1].baked(), 13);
        assert_eq!(
            order.first_handover().at.to_string(),
            "2027-03-06T10:00:00-04:00[America/Halifax]"
        );
        assert_eq!(order.first_handover().counts, [(0, 6), (1, 12)]);
    }

    #[test]
    fn each_mistake_is_named_with_line_key_and_what_to_do() {
        assert_eq!(
            refusal("count = 6", "cuont = 6"),
            "order.toml line 8: unknown key \"cuont\"; did you mean \"count\"?"
        );
        assert_eq!(
            refusal("count = 6", "count = 0"),
            "order.toml line 8: item.count: is 0; order at least one, or remove the item"
        );
        assert_eq!(
            refusal("title = \"Test\"\n", ""),
            "order.toml line 1: the key \"title\" is missing; add it"
        );
        assert_eq!(
            refusal("design = \"gull\"", "name = \"gull\""),
            "order.toml line 6: item.design: the item has neither a design nor a cutter; add one of them"
        );
        assert_eq!(
            refusal("#ffffff\"\n\n", "white\"\n\n"),
            "order.toml line 4: base: \"white\" is no color; write it like \"#f5ecd7\""
        );
        assert_eq!(
            refusal("\"simple\"", "\"fancy\""),
            "order.toml line 12: item 2: detail: \"fancy\" is not possible here; write one of plain, simple, dressed, detailed, elaborate"
        );
        assert_eq!(
            refusal("count = 12", "count = 12000"),
            "order.toml: item: 13207 cookies are more than 10000; split the order"
        );
        assert!(
            refusal("round 82 mm", "blob 82 mm")
                .starts_with("order.toml line 11: item 2: cutter: ")
        );
        assert!(
            refusal("2027-03-06", "2027-02-31")
                .starts_with("order.toml line 3: due: \"2027-02-31T10:00")
        );
        assert!(refusal("Halifax", "Nowhere").starts_with("order.toml line 3: due: "));
        // Halifax skips 02:00 to 03:00 on 14 March 2027.
        assert!(
            refusal("2027-03-06T10:00", "2027-03-14T02:30").contains("skipped by a clock change")
        );
    }

    #[test]
    fn hand_overs_must_give_what_is_ordered() {
        let handover = |at: &str, gulls: u32, rounds: u32| {
            format!(
                "[[handover]]\nat = \"{at}[America/Halifax]\"\ncounts = {{ gull = {gulls}, \"round 82 mm\" = {rounds} }}\n"
            )
        };
        let start = ORDER.replace("due = \"2027-03-06T10:00[America/Halifax]\"\n", "");
        let two = |a: String, b: String| read_order(&format!("{start}{a}{b}"));
        let order = two(handover("2027-03-14T09:00", 2, 12), handover("2027-03-12T17:30", 4, 0))
            .expect("an order");
        assert_eq!(
            order.first_handover().at.to_string(),
            "2027-03-12T17:30:00-04:00[America/Halifax]"
        );

        let error = two(handover("2027-03-14T09:00", 2, 12), handover("2027-03-12T17:30", 3, 0))
            .expect_err("refused");
        assert_eq!(
            error.to_string(),
            "order.toml line 16: handover.counts: hand-overs give 5 of \"gull\", of which 6 are ordered; make them equal"
        );
        let error = read_order(&format!("{ORDER}{}", handover("2027-03-14T09:00", 2, 12)))
            .expect_err("refused");
        assert!(error.to_string().contains("both due and [[handover]]"), "{error}");
    }
}
