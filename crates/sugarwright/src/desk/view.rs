//! One order as its page shows it: what is stored, the plan that holds, and its days of today.

use std::sync::Arc;

use craft::{document::plan::PlanDocument, kitchen::Kitchen};
use jiff::civil::Date;
use serde::Deserialize;
use store::{OrderId, StoredOrder};

use super::{Desk, DeskError, KitchenSettings, OrderInputs, Progress, key_of_week, open_inputs};

/// An order with its plan.
#[derive(Clone, Debug)]
pub(crate) struct OrderView {
    pub(crate) order: StoredOrder,
    pub(crate) kitchen: Kitchen,
    pub(crate) today: Date,
    /// The plan that is shown, if there is one.
    pub(crate) plan: Option<PlanShown>,
    /// How far the plan is that would be made now.
    pub(crate) progress: Option<Progress>,
    /// How much the planner had done when this was looked up.
    pub(crate) n_done: u64,
    /// Whether a plan made now would differ from the one that was kept.
    pub(crate) has_newer: bool,
}

/// A plan on a page.
#[derive(Clone, Debug)]
pub(crate) struct PlanShown {
    /// Key of its chapters.
    pub(crate) key: String,
    /// The chapters, and the days as far as they are planned.
    pub(crate) document: PlanDocument,
    /// Whether the days of all orders are there, even if nothing could be placed.
    pub(crate) has_days: bool,
    /// Whether it is the one that was agreed.
    pub(crate) is_kept: bool,
}

/// Where a kept plan says what it was made from.
#[derive(Deserialize)]
struct KeptPlan {
    basis: KeptBasis,
}

#[derive(Deserialize)]
struct KeptBasis {
    inputs_sha256: String,
}

/// Returns the key of the plan that was kept when the order was agreed.
pub(crate) fn kept_key(order: &StoredOrder) -> Option<String> {
    let kept: KeptPlan = serde_json::from_str(order.kept_plan.as_deref()?).ok()?;
    Some(kept.basis.inputs_sha256)
}

impl Desk {
    /// Returns an order as its page shows it; `newer` asks for the plan made now even if another was agreed.
    pub(crate) async fn view(
        &self,
        id: &OrderId,
        newer: bool,
    ) -> Result<Option<OrderView>, DeskError> {
        let n_done = self.planner.n_done();
        let KitchenSettings { settings, kitchen } = self.kitchen().await?;
        let today = self.today(&kitchen);
        let Some(order) = self.store.order(id).await? else { return Ok(None) };
        let OrderInputs { order, key, .. } = OrderInputs::new(&settings.text, order, today);
        let kept = kept_key(&order);
        let has_newer = kept.as_ref().is_some_and(|kept| *kept != key);
        let (shown_key, is_kept) = match kept {
            Some(kept) if !newer => (kept, true),
            _ => (key, false),
        };
        let chapters = self.chapters(&order, &shown_key).await?;
        let plan = match chapters {
            Some(chapters) => {
                let (document, has_days) =
                    self.with_days(&order, &chapters, &settings.text, today).await?;
                Some(PlanShown { key: shown_key, document, has_days, is_kept })
            }
            None => None,
        };
        let progress = self.planner.progress(id);
        Ok(Some(OrderView { order, kitchen, today, plan, progress, n_done, has_newer }))
    }

    /// Returns the chapters of this key: those that were kept with the order, or those at hand.
    pub(crate) async fn chapters(
        &self,
        order: &StoredOrder,
        key: &str,
    ) -> Result<Option<Arc<PlanDocument>>, DeskError> {
        if let Some(found) = self.shown.plan(&self.store, key).await? {
            return Ok(Some(found));
        }
        match &order.kept_plan {
            Some(text) if kept_key(order).is_some_and(|kept| kept == key) => {
                Ok(Some(Arc::new(serde_json::from_str(text)?)))
            }
            _ => Ok(None),
        }
    }

    /// Adds the days of all open orders, if they are planned and this order has any; tells whether they are planned.
    async fn with_days(
        &self,
        order: &StoredOrder,
        chapters: &PlanDocument,
        settings: &str,
        today: Date,
    ) -> Result<(PlanDocument, bool), DeskError> {
        let inputs = open_inputs(&self.store, settings, today).await?;
        let week = self.shown.week(&self.store, &key_of_week(settings, &inputs, today)).await?;
        let place = week
            .as_ref()
            .and_then(|week| week.ids.iter().position(|known| known == order.id.as_str()));
        let has_days = week.is_some();
        let document = match (week, place) {
            (Some(week), Some(place)) => chapters.clone().with_week(&week, place),
            _ => chapters.clone(),
        };
        Ok((document, has_days))
    }
}
