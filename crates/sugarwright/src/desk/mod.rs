//! The desk: between what is stored and what is planned.
//!
//! The store keeps orders, designs and settings; the planner takes briefs and kitchens; pages show plan documents.
//! A plan is there or missing by its key, the digest of everything it is made from, so that nothing is ever out of date
//! without anyone noticing, and nothing has to be marked as such.

mod ask;
mod clock;
mod first;
mod inputs;
mod key;
mod planner;
mod shown;
mod view;

use std::sync::Arc;

use craft::{document::read_kitchen, kitchen::Kitchen};
use store::{DatabaseError, KitchenStore, Settings};

pub(crate) use ask::Asked;
pub(crate) use clock::Clock;
pub(crate) use first::fill_first;
pub(crate) use inputs::{InputError, OrderInputs, done_kind, open_inputs};
pub(crate) use planner::{Planner, Progress, SEED, Told, key_of_week};
pub(crate) use shown::{Glance, Shown};
pub(crate) use view::{OrderView, PlanShown, kept_key};

/// Everything the pages work with.
#[derive(Clone, Debug)]
pub(crate) struct Desk {
    pub(crate) store: KitchenStore,
    pub(crate) planner: Planner,
    pub(crate) shown: Arc<Shown>,
    pub(crate) clock: Clock,
}

/// The kitchen as it is stored and as it is read.
#[derive(Clone, Debug)]
pub(crate) struct KitchenSettings {
    pub(crate) settings: Settings,
    pub(crate) kitchen: Kitchen,
}

/// Why the desk could not do what was asked.
#[derive(Debug, thiserror::Error)]
pub(crate) enum DeskError {
    /// The database refused.
    #[error(transparent)]
    Database(#[from] DatabaseError),
    /// What is stored can no longer be read.
    #[error("what is stored cannot be read: {0}")]
    File(#[from] craft::document::FileError),
    /// A stored document is damaged.
    #[error("a stored plan cannot be read: {0}")]
    Json(#[from] serde_json::Error),
    /// The first start did not finish.
    #[error("the kitchen has no settings; start sugarwright again")]
    NoSettings,
}

impl Desk {
    /// Reads the kitchen.
    pub(crate) async fn kitchen(&self) -> Result<KitchenSettings, DeskError> {
        kitchen(&self.store).await
    }

    /// Returns today's date where the kitchen stands.
    pub(crate) fn today(&self, kitchen: &Kitchen) -> jiff::civil::Date {
        self.clock.today(&kitchen.units.time_zone)
    }
}

/// Reads the kitchen.
pub(crate) async fn kitchen(store: &KitchenStore) -> Result<KitchenSettings, DeskError> {
    let settings = store.settings().await?.ok_or(DeskError::NoSettings)?;
    let kitchen = read_kitchen(&settings.text)?;
    Ok(KitchenSettings { settings, kitchen })
}
