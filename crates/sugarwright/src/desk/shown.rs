//! Plan documents that are looked at, read once and held while they are.

use std::sync::{Arc, Mutex, PoisonError};

use craft::document::plan::{PlanDocument, WeekDocument};
use serde::{Deserialize, Serialize};
use store::KitchenStore;

use super::{
    DeskError,
    planner::{GLANCE, PLAN, WEEK},
};

/// Plans held in memory; one is about a megabyte.
const N_HELD: usize = 8;

/// What the list of orders shows of a plan.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct Glance {
    pub(crate) designs: Vec<GlanceDesign>,
    pub(crate) price_minor: i64,
    pub(crate) per_hour_minor: i64,
    pub(crate) hours: f64,
}

/// One design in the list of orders.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct GlanceDesign {
    pub(crate) id: String,
    pub(crate) count: u32,
    pub(crate) width_mm: f64,
    pub(crate) height_mm: f64,
}

impl From<&PlanDocument> for Glance {
    fn from(plan: &PlanDocument) -> Self {
        Self {
            designs: plan
                .designs
                .iter()
                .map(|design| GlanceDesign {
                    id: design.id.clone(),
                    count: design.count,
                    width_mm: design.width_mm,
                    height_mm: design.height_mm,
                })
                .collect(),
            price_minor: plan.price.price_minor,
            per_hour_minor: plan.price.per_hour_minor,
            hours: plan.price.hours,
        }
    }
}

/// Plans and days by key.
#[derive(Debug, Default)]
pub(crate) struct Shown {
    plans: Held<PlanDocument>,
    weeks: Held<WeekDocument>,
    glances: Held<Glance>,
}

/// Documents by key, the last one used at the end.
#[derive(Debug)]
struct Held<T>(Mutex<Vec<(String, Arc<T>)>>);

impl<T> Default for Held<T> {
    fn default() -> Self {
        Self(Mutex::default())
    }
}

impl<T: serde::de::DeserializeOwned> Held<T> {
    async fn get(
        &self,
        store: &KitchenStore,
        chapter: &str,
        key: &str,
        n_held: usize,
    ) -> Result<Option<Arc<T>>, DeskError> {
        if let Some(found) = self.held(key) {
            return Ok(Some(found));
        }
        let Some(text) = store.chapter(chapter, key).await? else { return Ok(None) };
        let read: Arc<T> = Arc::new(serde_json::from_str(&text)?);
        let mut held = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        held.push((key.to_owned(), read.clone()));
        let n_over = held.len().saturating_sub(n_held);
        held.drain(..n_over);
        Ok(Some(read))
    }

    fn held(&self, key: &str) -> Option<Arc<T>> {
        let mut held = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let place = held.iter().position(|(known, _)| known == key)?;
        let found = held.remove(place);
        let document = found.1.clone();
        held.push(found);
        Some(document)
    }
}

impl Shown {
    /// Returns the chapters of an order by their key.
    pub(crate) async fn plan(
        &self,
        store: &KitchenStore,
        key: &str,
    ) -> Result<Option<Arc<PlanDocument>>, DeskError> {
        self.plans.get(store, PLAN, key, N_HELD).await
    }

    /// Returns the days by their key.
    pub(crate) async fn week(
        &self,
        store: &KitchenStore,
        key: &str,
    ) -> Result<Option<Arc<WeekDocument>>, DeskError> {
        self.weeks.get(store, WEEK, key, 2).await
    }

    /// Returns what the list shows of a plan by its key.
    pub(crate) async fn glance(
        &self,
        store: &KitchenStore,
        key: &str,
    ) -> Result<Option<Arc<Glance>>, DeskError> {
        self.glances.get(store, GLANCE, key, 256).await
    }
}
