//! The form of an order: what was typed, as it was typed, and what is wrong with it.

use std::collections::BTreeMap;

use craft::{
    document::{ItemEntry, OrderDocument},
    order::{BriefError, Detail},
};
use jiff::civil::Date;
use store::{DesignId, KitchenStore, StoredOrder};

use super::read::{Parts, SentFile};
use crate::{
    intake::{Intake, IntakeError, NewDrawing},
    web::AppError,
};

/// Rows of an empty form.
const N_ROWS: usize = 3;
/// Rows that are added when asked for.
const N_MORE: usize = 3;
/// More rows are a mistake.
const MOST_ROWS: usize = 60;

/// What was typed.
#[derive(Debug, Default)]
pub(super) struct OrderForm {
    pub(super) title: String,
    pub(super) customer: String,
    pub(super) date: String,
    pub(super) time: String,
    pub(super) must_have: String,
    pub(super) avoid: String,
    pub(super) wording_confirmed: bool,
    pub(super) rows: Vec<ItemRow>,
    wants_more: bool,
}

/// One kind of cookie.
#[derive(Debug, Default)]
pub(super) struct ItemRow {
    pub(super) name: String,
    pub(super) count: String,
    pub(super) width: String,
    pub(super) cutter: String,
    pub(super) detail: String,
    pub(super) colors: String,
    /// A drawing that was sent before: its name and where it is stored.
    pub(super) held: Option<(String, DesignId)>,
    /// The item of the order it changes.
    pub(super) was: Option<usize>,
    files: Vec<SentFile>,
}

/// What is wrong, by the name of the field.
#[derive(Debug, Default)]
pub(super) struct Wrong(BTreeMap<String, String>);

impl Wrong {
    pub(super) fn add(&mut self, field: impl Into<String>, words: impl Into<String>) {
        self.0.entry(field.into()).or_insert(words.into());
    }

    pub(super) fn at(&self, field: &str) -> Option<&str> {
        self.0.get(field).map(String::as_str)
    }

    /// What is wrong at fields, by their names.
    pub(super) fn fields(&self) -> impl Iterator<Item = (&str, &str)> {
        let all = self.0.iter().map(|(field, words)| (field.as_str(), words.as_str()));
        all.filter(|(field, _)| *field != ORDER)
    }

    pub(super) fn is_any(&self) -> bool {
        !self.0.is_empty()
    }

    /// Puts a refusal at the field it is about; `ORDER` takes what has no field.
    pub(super) fn add_refusal(&mut self, form: &OrderForm, refused: &IntakeError) {
        let (field, words) = match refused {
            IntakeError::File(error) => {
                (field_of(form, &error.key), at_the_field(&error.message, &error.key))
            }
            IntakeError::Drawing { name, source } => {
                (row_field(form, "file", |row| row.is_drawn_as(name)), source.to_string())
            }
            IntakeError::DrawingGone { name } => {
                (row_field(form, "file", |row| row.is_drawn_as(name)), refused.to_string())
            }
            IntakeError::Brief(error) => {
                let (item, field, words) = match error {
                    BriefError::NoSize { item, .. } => (
                        item,
                        "width",
                        "the drawing does not say how large it is; write how wide the cookie is, in millimeters"
                            .to_owned(),
                    ),
                    BriefError::Drawing { item, source, .. } => (item, "file", source.to_string()),
                    BriefError::Missing { item, .. } => (item, "file", error.to_string()),
                };
                (row_field(form, field, |row| row.item_name() == *item), words)
            }
            IntakeError::Database(error) => (ORDER.to_owned(), error.to_string()),
        };
        self.add(field, words);
    }
}

/// The field of what has none of its own.
pub(super) const ORDER: &str = "whole";

/// The field of a key of the order's document.
fn field_of(form: &OrderForm, key: &str) -> String {
    let parts: Vec<&str> = key.split('.').collect();
    match parts.as_slice() {
        ["title" | "customer"] => key.to_owned(),
        ["due"] => "date".to_owned(),
        ["item", place, field] => {
            let rows = form.rows.iter().enumerate().filter(|(_, row)| !row.is_blank());
            let row = place.parse().ok().and_then(|place| rows.map(|(row, _)| row).nth(place));
            let field = match *field {
                "width_mm" => "width",
                "design" => "file",
                known @ ("count" | "cutter" | "detail" | "colors" | "name") => known,
                _ => return ORDER.to_owned(),
            };
            row.map_or(ORDER.to_owned(), |row| format!("{field}-{row}"))
        }
        _ => ORDER.to_owned(),
    }
}

/// A message stands at its field, so that the key before it says nothing new.
fn at_the_field(message: &str, key: &str) -> String {
    let last = key.rsplit('.').next().unwrap_or(key);
    match message.split_once(&format!("{last}: ")) {
        Some((_, words)) if !key.is_empty() => words.to_owned(),
        _ => message.to_owned(),
    }
}

fn row_field(form: &OrderForm, field: &str, is_meant: impl Fn(&ItemRow) -> bool) -> String {
    let row = form.rows.iter().position(is_meant);
    row.map_or(ORDER.to_owned(), |row| format!("{field}-{row}"))
}

impl ItemRow {
    fn is_blank(&self) -> bool {
        self.held.is_none()
            && self.files.is_empty()
            && [&self.name, &self.count, &self.cutter].iter().all(|text| text.trim().is_empty())
    }

    fn is_drawn_as(&self, design: &str) -> bool {
        self.held.as_ref().is_some_and(|(name, _)| name == design)
            || self.files.iter().any(|file| stem(&file.name) == design)
    }

    /// The name its item gets in the order.
    fn item_name(&self) -> String {
        match (self.name.trim(), &self.held) {
            ("", Some((name, _))) => name.clone(),
            ("", None) => self.cutter.trim().to_owned(),
            (name, _) => name.to_owned(),
        }
    }
}

impl OrderForm {
    /// The form before anything is typed: two weeks ahead is a date one can still say yes to.
    pub(super) fn empty(today: Date) -> Self {
        let date = today.saturating_add(jiff::Span::new().weeks(3));
        Self {
            date: date.to_string(),
            time: "10:00".to_owned(),
            rows: blank_rows(N_ROWS),
            ..Self::default()
        }
    }

    /// The form of an order that is there.
    pub(super) fn of(document: &OrderDocument, order: &StoredOrder) -> Self {
        let first = order.heading.first_handover;
        let mut rows: Vec<ItemRow> = document
            .item
            .iter()
            .enumerate()
            .map(|(place, item)| ItemRow {
                name: item.name.clone().unwrap_or_default(),
                count: item.count.to_string(),
                width: item.width_mm.map(|mm| mm.to_string()).unwrap_or_default(),
                cutter: item.cutter.clone().unwrap_or_default(),
                detail: item.detail.clone().unwrap_or_default(),
                colors: item.colors.join(", "),
                held: item
                    .design
                    .as_ref()
                    .and_then(|name| Some((name.clone(), order.designs.get(name)?.clone()))),
                was: Some(place),
                files: Vec::new(),
            })
            .collect();
        rows.extend(blank_rows(1));
        Self {
            title: document.title.clone(),
            customer: document.customer.clone(),
            date: first.date().to_string(),
            time: first.time().strftime("%H:%M").to_string(),
            must_have: document.must_have.join(", "),
            avoid: document.avoid.join(", "),
            wording_confirmed: document.wording_confirmed,
            rows,
            wants_more: false,
        }
    }

    /// The form as it was sent.
    pub(super) fn read(mut parts: Parts) -> Self {
        let text = |parts: &Parts, field: &str| parts.text(field).to_owned();
        let n_rows = (0..MOST_ROWS).take_while(|row| parts.has(&format!("count-{row}"))).count();
        let mut rows: Vec<ItemRow> = (0..n_rows)
            .map(|row| {
                let of = |field: &str| text(&parts, &format!("{field}-{row}"));
                let held = DesignId::parse(&of("held")).map(|id| (of("held-name"), id));
                ItemRow {
                    name: of("name"),
                    count: of("count"),
                    width: of("width"),
                    cutter: of("cutter"),
                    detail: of("detail"),
                    colors: of("colors"),
                    held,
                    was: of("was").parse().ok(),
                    files: Vec::new(),
                }
            })
            .collect();
        for file in std::mem::take(&mut parts.files) {
            let row = file.field.strip_prefix("file-").and_then(|row| row.parse::<usize>().ok());
            if let Some(row) = row.and_then(|row| rows.get_mut(row)) {
                row.files.push(file);
            }
        }
        Self {
            title: text(&parts, "title"),
            customer: text(&parts, "customer"),
            date: text(&parts, "date"),
            time: text(&parts, "time"),
            must_have: text(&parts, "must_have"),
            avoid: text(&parts, "avoid"),
            wording_confirmed: parts.has("wording_confirmed"),
            rows: several_files(rows),
            wants_more: parts.has("more"),
        }
    }

    /// Whether more rows were asked for instead of saving.
    pub(super) fn wants_more(&self) -> bool {
        self.wants_more
    }

    /// Puts what was typed into an order that keeps whatever the form has no field for.
    pub(super) fn to_intake(&self, base: OrderDocument, time_zone: &str) -> (Intake, Wrong) {
        let mut wrong = Wrong::default();
        let mut order = OrderDocument {
            format: 1,
            title: self.title.trim().to_owned(),
            customer: self.customer.trim().to_owned(),
            must_have: listed(&self.must_have),
            avoid: listed(&self.avoid),
            wording_confirmed: self.wording_confirmed,
            item: Vec::new(),
            ..base.clone()
        };
        for (field, words, value) in [
            ("title", "Say what the cookies are for.", &order.title),
            ("customer", "Say who they are for.", &order.customer),
        ] {
            if value.is_empty() {
                wrong.add(field, words);
            }
        }
        if base.handover.is_empty() {
            order.due = Some(self.due(time_zone, &mut wrong));
        }
        let mut intake = Intake::new(order);
        for (place, row) in self.rows.iter().enumerate().filter(|(_, row)| !row.is_blank()) {
            let was = row.was.and_then(|was| base.item.get(was)).cloned();
            let entry = row.entry(place, was.unwrap_or_default(), &mut wrong, &mut intake);
            intake.order.item.push(entry);
        }
        if intake.order.item.is_empty() {
            wrong.add(
                "count-0",
                "Write down at least one kind of cookie: how many, and its drawing or cutter.",
            );
        }
        (intake, wrong)
    }

    fn due(&self, time_zone: &str, wrong: &mut Wrong) -> String {
        let (date, time) = (self.date.trim(), self.time.trim());
        if date.parse::<Date>().is_err() {
            wrong.add("date", "Write the day of the pickup like 2027-03-06.");
        }
        let is_time = format!("{time}:00").parse::<jiff::civil::Time>().is_ok();
        if !is_time {
            wrong.add("time", "Write the time of the pickup like 10:00.");
        }
        format!("{date}T{time}[{time_zone}]")
    }

    /// Stores the drawings that were sent, so that they need not be sent again if something else is wrong.
    ///
    /// Nothing if one could not be read; it is told at its field.
    pub(super) async fn hold(
        &mut self,
        mut intake: Intake,
        store: &KitchenStore,
        wrong: &mut Wrong,
    ) -> Result<Option<Intake>, AppError> {
        let stored = intake.store_drawings(store).await;
        for row in &mut self.rows {
            if let Some(file) = row.files.first()
                && let Some(id) = intake.stored.get(&stem(&file.name))
            {
                row.held = Some((stem(&file.name), id.clone()));
                row.files.clear();
            }
        }
        if self.wants_more {
            let n_more = N_MORE.min(MOST_ROWS.saturating_sub(self.rows.len()));
            self.rows.extend(blank_rows(n_more));
        }
        match stored {
            Ok(()) => Ok(Some(intake)),
            Err(IntakeError::Database(error)) => Err(error.into()),
            Err(refused) => {
                wrong.add_refusal(self, &refused);
                for row in &mut self.rows {
                    row.files.clear();
                }
                Ok(None)
            }
        }
    }
}

impl ItemRow {
    /// The item of this row; `was` keeps what the form has no field for.
    fn entry(
        &self,
        row: usize,
        was: ItemEntry,
        wrong: &mut Wrong,
        intake: &mut Intake,
    ) -> ItemEntry {
        let count = self.count.trim().parse().unwrap_or_else(|_| {
            wrong.add(format!("count-{row}"), "Write how many as a whole number, such as 12.");
            0
        });
        let width_mm = match self.width.trim() {
            "" => None,
            text => quantity::parse_length(text)
                .or_else(|_| quantity::parse_length(&format!("{text} mm")))
                .map(|width| Some(width.to_mm()))
                .unwrap_or_else(|_| {
                    wrong.add(format!("width-{row}"), "Write the width like 76, 7.6 cm or 3 in.");
                    None
                }),
        };
        let mut design = self.held.as_ref().map(|(name, _)| name.clone());
        if let Some((name, id)) = &self.held {
            intake.stored.insert(name.clone(), id.clone());
        }
        if let Some(file) = self.files.first() {
            let name = stem(&file.name);
            let drawing = NewDrawing {
                source: file.content.clone(),
                choices: String::new(),
                earlier: self.held.as_ref().map(|(_, id)| id.clone()),
            };
            intake.stored.remove(&name);
            intake.drawings.insert(name.clone(), drawing);
            design = Some(name);
        }
        let name = Some(self.name.trim().to_owned()).filter(|name| !name.is_empty());
        let common = ItemEntry { name, count, ..was };
        if design.is_some() {
            let [detail, cutter] = [None, None];
            ItemEntry { design, width_mm, cutter, detail, colors: Vec::new(), ..common }
        } else {
            let cutter = Some(self.cutter.trim().to_owned()).filter(|cutter| !cutter.is_empty());
            if cutter.is_none() {
                wrong.add(
                    format!("cutter-{row}"),
                    "Choose a drawing, or write the cutter like \"round 82 mm\" or \"heart 3.25 in\".",
                );
            }
            let detail = match self.detail.as_str() {
                "" => Detail::Simple.name().to_owned(),
                detail => detail.to_owned(),
            };
            let colors = match listed(&self.colors) {
                colors if colors.is_empty() => vec!["#ffffff".to_owned()],
                colors => colors,
            };
            ItemEntry {
                design: None,
                width_mm: None,
                cutter,
                detail: Some(detail),
                colors,
                ..common
            }
        }
    }
}

fn blank_rows(n: usize) -> Vec<ItemRow> {
    std::iter::repeat_with(ItemRow::default).take(n).collect()
}

/// A row with several files becomes as many rows, each with the row's count.
fn several_files(rows: Vec<ItemRow>) -> Vec<ItemRow> {
    let mut spread = Vec::new();
    for mut row in rows {
        let more: Vec<SentFile> = row.files.drain(1.min(row.files.len())..).collect();
        let (count, width) = (row.count.clone(), row.width.clone());
        spread.push(row);
        spread.extend(more.into_iter().map(|file| ItemRow {
            count: count.clone(),
            width: width.clone(),
            files: vec![file],
            ..ItemRow::default()
        }));
    }
    spread
}

/// "nuts, sesame" as its parts.
fn listed(text: &str) -> Vec<String> {
    let parts = text.split([',', ';', '\n']).map(str::trim);
    parts.filter(|part| !part.is_empty()).map(str::to_owned).collect()
}

/// The name of a design: its file's, without folders and ending.
fn stem(file: &str) -> String {
    let name = file.rsplit(['/', '\\']).next().unwrap_or(file);
    let stem = name.rsplit_once('.').map_or(name, |(stem, _)| stem).trim();
    if stem.is_empty() { "drawing".to_owned() } else { stem.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn several_files_in_a_row_become_rows_with_its_count() {
        let file =
            |name: &str| SentFile { field: String::new(), name: name.into(), content: vec![] };
        let row = ItemRow {
            count: "6".into(),
            files: vec![file("a.svg"), file("b.svg")],
            ..ItemRow::default()
        };
        let rows = several_files(vec![row, ItemRow::default()]);
        let told: Vec<(usize, &str)> =
            rows.iter().map(|row| (row.files.len(), row.count.as_str())).collect();
        assert_eq!(told, [(1, "6"), (1, "6"), (0, "")]);
    }

    #[test]
    fn a_message_stands_at_the_field_it_is_about() {
        let row = |cutter: &str| ItemRow {
            cutter: cutter.into(),
            count: "1".into(),
            ..ItemRow::default()
        };
        let form = OrderForm {
            rows: vec![row("round 82 mm"), ItemRow::default(), row("blob")],
            ..OrderForm::default()
        };
        assert_eq!(field_of(&form, "title"), "title");
        assert_eq!(field_of(&form, "due"), "date");
        // The blank row between them is no item.
        assert_eq!(field_of(&form, "item.1.cutter"), "cutter-2");
        assert_eq!(field_of(&form, "item.7.cutter"), ORDER);
        assert_eq!(at_the_field("item 2: cutter: is odd", "item.1.cutter"), "is odd");
        assert_eq!(stem("C:\\art\\Red fox.v2.svg"), "Red fox.v2");
    }
}
