//! From a stored order to what the planner takes.

use std::collections::BTreeMap;

use craft::{
    days::Activity,
    document::{FileError, read_choices, read_order},
    order::{Brief, BriefError, DesignFiles, read_brief},
};
use jiff::civil::Date;
use store::{DatabaseError, Design, EventKind, KitchenStore, OrderEvent, StoredOrder};

use super::key::plan_key;

/// Everything one order's own chapters are made from, besides the kitchen.
#[derive(Clone, Debug)]
pub(crate) struct OrderInputs {
    pub(crate) order: StoredOrder,
    /// The day the order was asked for, which decides on short notice.
    pub(crate) asked_on: Date,
    /// Key of its chapters.
    pub(crate) key: String,
}

/// Why an order cannot be planned, in a sentence for its page.
#[derive(Debug, thiserror::Error)]
pub(crate) enum InputError {
    #[error(transparent)]
    File(#[from] FileError),
    #[error(transparent)]
    Brief(#[from] BriefError),
    #[error("the drawing \"{name}\" cannot be read: {source}")]
    Artwork { name: String, source: drawing::document::DocumentError },
    #[error(transparent)]
    Database(#[from] DatabaseError),
}

impl OrderInputs {
    pub(crate) fn new(kitchen: &str, order: StoredOrder, today: Date) -> Self {
        let asked_on = asked_on(&order.events).unwrap_or(today);
        let key = plan_key(kitchen, &order, asked_on);
        Self { order, asked_on, key }
    }

    /// Returns what of its work is done, and when.
    pub(crate) fn done(&self) -> Vec<(Activity, Date)> {
        let mut session = 0;
        let done = self.order.events.iter().filter_map(|event| {
            session += u32::from(event.what == EventKind::Decorated);
            let activities = [
                Activity::MakeDough,
                Activity::Cut,
                Activity::Bake,
                Activity::MakeIcing,
                Activity::Decorate(session),
                Activity::Pack,
            ];
            let done = activities.into_iter().find(|one| done_kind(*one) == Some(event.what))?;
            Some((done, event.on))
        });
        done.collect()
    }

    /// Reads the order's designs and puts them together with the order.
    pub(crate) async fn brief(&self, store: &KitchenStore) -> Result<Brief, InputError> {
        let mut designs = BTreeMap::new();
        for (name, id) in &self.order.designs {
            if let Some(design) = store.design(id).await? {
                designs.insert(name.clone(), design);
            }
        }
        let mut brief = brief_of(&self.order.brief, &designs)?;
        brief.order.wording_confirmed |= is_wording_confirmed(&self.order.events);
        Ok(brief)
    }
}

/// Reads an order with its designs.
pub(crate) fn brief_of(
    order: &str,
    designs: &BTreeMap<String, Design>,
) -> Result<Brief, InputError> {
    let order = read_order(order)?;
    let mut files = DesignFiles::default();
    for (name, design) in designs {
        let artwork = drawing::document::read_artwork(&design.artwork)
            .map_err(|source| InputError::Artwork { name: name.clone(), source })?;
        files.artworks.insert(name.clone(), artwork);
        if !design.choices.is_empty() {
            let choices = read_choices(&design.choices, &format!("designs/{name}.toml"))?;
            files.choices.insert(name.clone(), choices);
        }
    }
    Ok(read_brief(order, &files)?)
}

/// Returns what is noted when work is done; nothing for what needs no note.
pub(crate) fn done_kind(activity: Activity) -> Option<EventKind> {
    match activity {
        Activity::MakeDough => Some(EventKind::DoughMade),
        Activity::Cut => Some(EventKind::CookiesCut),
        Activity::Bake => Some(EventKind::CookiesBaked),
        Activity::MakeIcing => Some(EventKind::IcingMade),
        Activity::Decorate(_) => Some(EventKind::Decorated),
        Activity::Pack => Some(EventKind::Packed),
        _ => None,
    }
}

/// Whether the customer's confirmation was noted on the order's page.
pub(crate) fn is_wording_confirmed(events: &[OrderEvent]) -> bool {
    events.iter().any(|event| event.what == EventKind::WordingConfirmed)
}

/// The day an order was asked for.
fn asked_on(events: &[OrderEvent]) -> Option<Date> {
    events.iter().find(|event| event.what == EventKind::Asked).map(|event| event.on)
}

/// Returns the orders whose work lies ahead, the next hand-over first.
pub(crate) async fn open_inputs(
    store: &KitchenStore,
    kitchen: &str,
    today: Date,
) -> Result<Vec<OrderInputs>, DatabaseError> {
    let mut inputs = Vec::new();
    for row in store.open_orders().await? {
        // An order that should have been handed over already has no days ahead.
        if row.heading.first_handover.date() < today {
            continue;
        }
        let order = store.order(&row.id).await?;
        inputs.extend(order.map(|order| OrderInputs::new(kitchen, order, today)));
    }
    Ok(inputs)
}
