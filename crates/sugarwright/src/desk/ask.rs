//! "Can I take this?", asked of the orders that are stored.

use craft::{
    days::{Answer, StripDay},
    heads_up::HeadsUp,
    plan::{Basis, Effort, lay_out},
    request::{Wish, plan_wish},
};
use quantity::{Money, Span};

use super::{
    Desk, DeskError, KitchenSettings, open_inputs,
    planner::{SEED, works_of},
};

/// What came of a question.
#[derive(Clone, Debug)]
pub(crate) struct Asked {
    pub(crate) price: Money,
    pub(crate) per_hour: Money,
    pub(crate) hours: Span,
    /// The answer and the same for each of the days ahead; or why nothing can be said.
    pub(crate) answer: Result<(Answer, Vec<StripDay>), HeadsUp>,
    /// Open orders whose plan is not there, so that they were left out.
    pub(crate) n_unplanned: usize,
}

impl Desk {
    /// Asks whether one more order can be taken beside all that are open.
    pub(crate) async fn ask(&self, wish: Wish) -> Result<Asked, DeskError> {
        let KitchenSettings { settings, kitchen } = self.kitchen().await?;
        let today = self.today(&kitchen);
        let inputs = open_inputs(&self.store, &settings.text, today).await?;
        let (works, _) = works_of(&self.store, &inputs).await?;
        let n_unplanned = inputs.len() - works.len();
        let asked = tokio::task::spawn_blocking(move || {
            let plan = plan_wish(&kitchen, &wish, today, SEED);
            let basis = Basis { today, effort: Effort::Normal, seed: SEED };
            let answer = lay_out(&kitchen, &works, &basis)
                .map(|week| (week.answer(&plan.request), week.strip(&plan.request)));
            let (price, per_hour, hours) = (plan.price, plan.per_hour, plan.hours);
            Asked { price, per_hour, hours, answer, n_unplanned }
        });
        // A panic there becomes the error page.
        Ok(asked.await.unwrap_or_else(|panic| std::panic::resume_unwind(panic.into_panic())))
    }
}
