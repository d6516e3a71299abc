//! The first start: a sample kitchen and sample orders, so that there is something to look at.

use craft::{
    document::{kitchen_toml_with_comments, read_order_document},
    sample::{SAMPLES, Sample},
};
use jiff::civil::Date;
use store::{DatabaseError, EventKind, KitchenStore, NewEvent};

use crate::{
    desk::{Clock, DeskError},
    intake::{Intake, NewDrawing},
};

/// Days of a week: samples move by whole weeks, so that a Saturday stays a Saturday.
const WEEK: i32 = 7;

/// Fills a new database; one that has settings stays as it is.
pub(crate) async fn fill_first(store: &KitchenStore, clock: Clock) -> Result<(), DeskError> {
    if store.settings().await?.is_some() {
        return Ok(());
    }
    let kitchen = kitchen_toml_with_comments();
    let today = clock.today(&craft::document::read_kitchen(&kitchen)?.units.time_zone);
    // The settings come last: a start that was cut off fills the rest at the next one.
    let present = store.open_orders().await?;
    for sample in &SAMPLES {
        if present.iter().all(|row| row.heading.title != sample.title) {
            add_sample(store, sample, today).await?;
        }
    }
    match store.save_settings(&kitchen, None).await {
        Ok(_) | Err(DatabaseError::Stale { .. }) => Ok(()),
        Err(error) => Err(error.into()),
    }
}

async fn add_sample(store: &KitchenStore, sample: &Sample, today: Date) -> Result<(), DeskError> {
    let folder = crate::command::sample::in_memory(sample);
    let mut document = read_order_document(&folder.order)?.moved_by(days_to_move(sample, today));
    for frozen_on in document.item.iter_mut().filter_map(|item| item.baked_frozen_on.as_mut()) {
        // Whole weeks may carry it past today, and what is frozen was baked.
        if frozen_on.parse().is_ok_and(|date: Date| date > today) {
            *frozen_on = today.to_string();
        }
    }
    let mut intake = Intake::new(document);
    for (name, source) in folder.drawings {
        let choices = folder.choices.get(&name).cloned().unwrap_or_default();
        intake.drawings.insert(name, NewDrawing { source, choices, earlier: None });
    }
    let order = intake.store(store).await.map_err(|error| match error {
        crate::intake::IntakeError::Database(error) => DeskError::Database(error),
        // The samples are checked by tests; what went wrong is told all the same.
        other => DeskError::File(craft::document::FileError {
            file: sample.name.to_owned(),
            line: None,
            key: String::new(),
            message: other.to_string(),
        }),
    })?;
    let asked = NewEvent { on: today, what: EventKind::Asked, amount_minor: None };
    store.add_event(&order, &asked).await?;
    Ok(())
}

/// Whole weeks from the sample's day to today, so that its pickup lies as far ahead as it was meant to.
fn days_to_move(sample: &Sample, today: Date) -> i32 {
    let meant: Date = sample.today.parse().expect("the sample's date is checked by a test");
    let days = (today - meant).get_days();
    days.div_euclid(WEEK) * WEEK + if days.rem_euclid(WEEK) == 0 { 0 } else { WEEK }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn samples_move_by_whole_weeks_and_never_too_close() {
        let sample = &SAMPLES[0];
        let meant: Date = sample.today.parse().expect("a date");
        for days in [-40, -7, -1, 0, 1, 6, 7, 400] {
            let moved = days_to_move(sample, meant.saturating_add(jiff::Span::new().days(days)));
            assert_eq!(moved % WEEK, 0, "{days}");
            assert!((0..WEEK).contains(&(moved - days)), "{days}: {moved}");
        }
    }
}
