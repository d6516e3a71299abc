//! Plans what is missing, in the background, while the pages are already useful.
//!
//! There is no list of jobs: a plan is there or missing by its key, so a start after a crash goes on where the last one ended.
//! One plan is made at a time on each core; a plan nobody wants any more is told to stop.

use std::{
    collections::{BTreeMap, BTreeSet},
    num::NonZero,
    ops::ControlFlow,
    panic::{AssertUnwindSafe, catch_unwind},
    sync::{
        Arc, Mutex, PoisonError,
        atomic::{AtomicBool, AtomicU64, Ordering},
    },
    thread::available_parallelism,
    time::Duration,
};

use craft::{
    cutting::CuttingMemory,
    days::OrderWork,
    document::{
        WorkDocument,
        plan::{PlanDocument, WeekDocument, Written, write_plan, write_week},
    },
    kitchen::Kitchen,
    order::Brief,
    plan::{Basis, Effort, News, plan_order_again, plan_week},
};
use jiff::civil::Date;
use store::{Change, KitchenStore, OrderId};
use tokio::{
    sync::broadcast::{self, Receiver, error::RecvError},
    task::JoinSet,
};

use super::{
    Clock, DeskError, Glance, InputError, KitchenSettings, OrderInputs, kept_key, kitchen,
    open_inputs,
};
use crate::web::Reference;

/// Names of the chapters in the store.
pub(crate) const PLAN: &str = "plan";
pub(crate) const GLANCE: &str = "glance";
pub(crate) const WORK: &str = "work";
pub(crate) const WEEK: &str = "week";

/// Where chance starts; a maker's plan needs no other.
pub(crate) const SEED: u64 = 1;
/// News kept for a listener that is slow to read.
const N_KEPT: usize = 256;
/// How often to look whether a new day has begun, which moves the days of every order.
const LOOK_AGAIN: Duration = Duration::from_secs(300);

/// How far the plan of an order is.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Progress {
    /// Others are planned before it.
    Waiting,
    /// A chapter is being made.
    Making(News),
    /// It could not be made, through no fault of the order.
    Failed(Reference),
    /// The order cannot be planned as it is; the sentence says why.
    Refused(String),
}

/// News of plans.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Told {
    /// How far the plan of an order is; nothing once it is there.
    Plan(OrderId, Option<Progress>),
    /// The days of all orders are there.
    Days,
}

impl Told {
    /// Whether pages look different after it: something is there, or as far as it will ever be.
    pub(crate) fn is_done(&self) -> bool {
        !matches!(self, Self::Plan(_, Some(Progress::Waiting | Progress::Making(_))))
    }
}

/// Plans in the background.
#[derive(Clone, Debug)]
pub(crate) struct Planner(Arc<Inner>);

#[derive(Debug)]
struct Inner {
    /// Orders without a plan for now, each with the key it was asked for.
    progress: Mutex<BTreeMap<OrderId, (String, Progress)>>,
    /// Orders whose search for a better plan ends once it is set.
    is_enough: Mutex<BTreeMap<OrderId, Arc<AtomicBool>>>,
    /// Layouts of sheets, for plans that differ in something else.
    cuttings: CuttingMemory,
    news: broadcast::Sender<Told>,
    /// News so far after which a page looks different.
    n_done: AtomicU64,
}

/// What came of a job.
enum Made {
    Plan { order: OrderId, key: String, made: Result<Box<OrderChapters>, Reference> },
    Week { key: String, made: Result<WeekDocument, Reference> },
}

/// The chapters of one order.
struct OrderChapters {
    plan: PlanDocument,
    work: WorkDocument,
}

/// A plan under way.
struct Running {
    key: String,
    is_unwanted: Arc<AtomicBool>,
}

impl Planner {
    pub(crate) fn new() -> Self {
        let (news, _) = broadcast::channel(N_KEPT);
        Self(Arc::new(Inner {
            progress: Mutex::default(),
            is_enough: Mutex::default(),
            cuttings: CuttingMemory::default(),
            news,
            n_done: AtomicU64::new(0),
        }))
    }

    /// Returns how far an order's plan is; nothing if nothing is known of it, or it is there.
    pub(crate) fn progress(&self, order: &OrderId) -> Option<Progress> {
        let progress = self.0.progress.lock().unwrap_or_else(PoisonError::into_inner);
        progress.get(order).map(|(_, progress)| progress.clone())
    }

    /// Ends the search for a better plan of an order, if one is being made; what was found stands.
    pub(crate) fn end_search(&self, order: &OrderId) {
        let searched = self.0.is_enough.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(is_enough) = searched.get(order) {
            is_enough.store(true, Ordering::Relaxed);
        }
    }

    /// Returns how much was done so far: a page that was made at another count has missed news.
    pub(crate) fn n_done(&self) -> u64 {
        self.0.n_done.load(Ordering::SeqCst)
    }

    /// Returns the news from now on.
    pub(crate) fn listen(&self) -> Receiver<Told> {
        self.0.news.subscribe()
    }

    fn tell(&self, order: &OrderId, key: &str, progress: Option<Progress>) {
        let mut known = self.0.progress.lock().unwrap_or_else(PoisonError::into_inner);
        match &progress {
            Some(progress) => {
                known.insert(order.clone(), (key.to_owned(), progress.clone()));
            }
            None => drop(known.remove(order)),
        }
        drop(known);
        self.send(Told::Plan(order.clone(), progress));
    }

    fn send(&self, told: Told) {
        if told.is_done() {
            self.0.n_done.fetch_add(1, Ordering::SeqCst);
        }
        // Nobody may be listening.
        let _ = self.0.news.send(told);
    }

    /// Tells whether planning this order at this key was tried and cannot succeed.
    fn is_hopeless(&self, order: &OrderId, key: &str) -> bool {
        let progress = self.0.progress.lock().unwrap_or_else(PoisonError::into_inner);
        progress.get(order).is_some_and(|(tried, progress)| {
            tried == key && matches!(progress, Progress::Failed(_) | Progress::Refused(_))
        })
    }

    /// Plans whatever is missing, until the program ends.
    pub(crate) async fn run(
        self,
        store: KitchenStore,
        mut changes: Receiver<Change>,
        clock: Clock,
    ) {
        let mut jobs = Jobs::default();
        let mut look_again = tokio::time::interval(LOOK_AGAIN);
        loop {
            if let Err(error) = self.plan_missing(&store, clock, &mut jobs).await {
                tracing::error!("plans could not be looked for: {error:?}");
            }
            tokio::select! {
                change = changes.recv() => match change {
                    // What was missed is looked for anyway.
                    Ok(_) | Err(RecvError::Lagged(_)) => {}
                    Err(RecvError::Closed) => return,
                },
                Some(made) = jobs.set.join_next(), if !jobs.set.is_empty() => {
                    if let Err(error) = self.keep(&store, &mut jobs, made).await {
                        tracing::error!("a plan could not be kept: {error:?}");
                    }
                }
                _ = look_again.tick() => {}
            }
            // One look answers many changes.
            while changes.try_recv().is_ok() {}
        }
    }

    /// Starts the next missing plans, and the days once all plans are there.
    async fn plan_missing(
        &self,
        store: &KitchenStore,
        clock: Clock,
        jobs: &mut Jobs,
    ) -> Result<(), DeskError> {
        let KitchenSettings { settings, kitchen } = kitchen(store).await?;
        let today = clock.today(&kitchen.units.time_zone);
        let inputs = open_inputs(store, &settings.text, today).await?;
        jobs.stop_all_but(&inputs);
        let mut is_complete = true;
        for input in &inputs {
            let (id, key) = (&input.order.id, &input.key);
            if jobs.known.contains(key) || self.is_hopeless(id, key) {
                continue;
            }
            if store.chapter(GLANCE, key).await?.is_some() {
                jobs.known.insert(key.clone());
                self.tell(id, key, None);
                continue;
            }
            if jobs.running.contains_key(id) {
                is_complete = false;
                continue;
            }
            if jobs.set.len() >= n_cores() {
                is_complete = false;
                if self.progress(id).is_none() {
                    self.tell(id, key, Some(Progress::Waiting));
                }
                continue;
            }
            match input.brief(store).await {
                Ok(brief) => {
                    is_complete = false;
                    self.start(jobs, kitchen.clone(), brief, input);
                }
                Err(InputError::Database(error)) => return Err(error.into()),
                // The days of the others do not wait for it.
                Err(refused) => self.tell(id, key, Some(Progress::Refused(refused.to_string()))),
            }
        }
        if is_complete && jobs.set.is_empty() {
            start_week(store, jobs, &settings.text, kitchen, &inputs, today).await?;
        }
        Ok(())
    }

    fn start(&self, jobs: &mut Jobs, kitchen: Kitchen, brief: Brief, input: &OrderInputs) {
        let (id, key) = (input.order.id.clone(), input.key.clone());
        let basis = Basis { today: input.asked_on, effort: Effort::Normal, seed: SEED };
        let is_unwanted = Arc::new(AtomicBool::new(false));
        let running = Running { key: key.clone(), is_unwanted: is_unwanted.clone() };
        jobs.running.insert(id.clone(), running);
        let is_enough = Arc::new(AtomicBool::new(false));
        let mut searched = self.0.is_enough.lock().unwrap_or_else(PoisonError::into_inner);
        searched.insert(id.clone(), is_enough.clone());
        drop(searched);
        let planner = self.clone();
        jobs.set.spawn_blocking(move || {
            let mut last = None;
            let mut on_progress = |news| {
                if is_unwanted.load(Ordering::Relaxed) || is_enough.load(Ordering::Relaxed) {
                    return ControlFlow::Break(());
                }
                if last != Some(news) {
                    last = Some(news);
                    planner.tell(&id, &key, Some(Progress::Making(news)));
                }
                ControlFlow::Continue(())
            };
            let made = guarded(|| {
                let cuttings = &planner.0.cuttings;
                let plan = plan_order_again(&kitchen, &brief, &basis, cuttings, &mut on_progress);
                let written = Written {
                    kitchen: &kitchen,
                    order: &brief.order,
                    plan: &plan,
                    basis: &basis,
                    inputs_sha256: &key,
                };
                let work = WorkDocument::from(&plan.work);
                Box::new(OrderChapters { plan: write_plan(&written), work })
            });
            Made::Plan { order: id, key, made }
        });
    }

    /// Stores what a job made.
    async fn keep(
        &self,
        store: &KitchenStore,
        jobs: &mut Jobs,
        made: Result<Made, tokio::task::JoinError>,
    ) -> Result<(), DeskError> {
        match made {
            Ok(Made::Plan { order, key, made }) => {
                let running = jobs.running.remove(&order);
                if running.is_some_and(|running| running.is_unwanted.load(Ordering::Relaxed)) {
                    return Ok(());
                }
                match made {
                    Ok(chapters) => {
                        let OrderChapters { plan, work } = *chapters;
                        let glance = serde_json::to_string(&Glance::from(&plan))?;
                        store.save_chapter(PLAN, &key, &serde_json::to_string(&plan)?).await?;
                        store.save_chapter(WORK, &key, &serde_json::to_string(&work)?).await?;
                        // The glance comes last: where it is, all of the plan is.
                        store.save_chapter(GLANCE, &key, &glance).await?;
                        jobs.known.insert(key.clone());
                        self.tell(&order, &key, None);
                    }
                    Err(reference) => self.tell(&order, &key, Some(Progress::Failed(reference))),
                }
            }
            Ok(Made::Week { key, made }) => {
                if let Ok(week) = made {
                    store.save_chapter(WEEK, &key, &serde_json::to_string(&week)?).await?;
                }
                // One that failed is not tried again before something changes.
                jobs.known.insert(key);
                self.send(Told::Days);
            }
            Err(error) => tracing::error!("a job ended without a word: {error}"),
        }
        Ok(())
    }
}

/// What is under way and what is known to be there.
#[derive(Default)]
struct Jobs {
    set: JoinSet<Made>,
    running: BTreeMap<OrderId, Running>,
    /// Keys whose chapters are there.
    known: BTreeSet<String>,
    /// The days that stood when old chapters were last removed.
    swept: Option<String>,
}

impl Jobs {
    /// Removes chapters no open order needs any more, once for each state of the orders.
    ///
    /// A plan that was agreed is kept with its order and needs none.
    async fn sweep(
        &mut self,
        store: &KitchenStore,
        inputs: &[OrderInputs],
        week: String,
    ) -> Result<(), DeskError> {
        if self.swept.as_ref() == Some(&week) {
            return Ok(());
        }
        let keys: Vec<String> = inputs
            .iter()
            .flat_map(|input| [Some(input.key.clone()), kept_key(&input.order)])
            .flatten()
            .collect();
        for chapter in [PLAN, WORK, GLANCE] {
            store.keep_chapters(chapter, &keys).await?;
        }
        store.keep_chapters(WEEK, std::slice::from_ref(&week)).await?;
        self.known.retain(|key| keys.contains(key) || *key == week);
        self.swept = Some(week);
        Ok(())
    }

    /// Tells plans to stop that no order asks for any more.
    fn stop_all_but(&self, inputs: &[OrderInputs]) {
        for (id, running) in &self.running {
            let is_wanted = |input: &OrderInputs| input.order.id == *id && input.key == running.key;
            if !inputs.iter().any(is_wanted) {
                running.is_unwanted.store(true, Ordering::Relaxed);
            }
        }
    }
}

/// Starts the days of all open orders that have a plan.
async fn start_week(
    store: &KitchenStore,
    jobs: &mut Jobs,
    settings: &str,
    kitchen: Kitchen,
    inputs: &[OrderInputs],
    today: Date,
) -> Result<(), DeskError> {
    let key = key_of_week(settings, inputs, today);
    if jobs.known.contains(&key) || store.chapter(WEEK, &key).await?.is_some() {
        return jobs.sweep(store, inputs, key).await;
    }
    let (works, ids) = works_of(store, inputs).await?;
    let basis = Basis { today, effort: Effort::Normal, seed: SEED };
    jobs.set.spawn_blocking(move || {
        let made = guarded(|| {
            let on_progress = &mut |_| ControlFlow::Continue(());
            let (days, heads_ups) = plan_week(&kitchen, &works, &basis, on_progress);
            let titles: Vec<&str> = works.iter().map(|work| work.title.as_str()).collect();
            WeekDocument { ids, ..write_week(&titles, &days, &heads_ups, today) }
        });
        Made::Week { key, made }
    });
    Ok(())
}

/// Returns the days as they stand, or stood before what changed since.
async fn former_week(store: &KitchenStore) -> Result<Option<WeekDocument>, DeskError> {
    let stored = store.chapters(WEEK).await?;
    let read = stored.iter().filter_map(|text| serde_json::from_str::<WeekDocument>(text).ok());
    Ok(read.max_by(|one, other| one.today.cmp(&other.today)))
}

/// Returns what the orders that have a plan ask of the days, and which orders those are.
///
/// Work stays where it was told to be as far as it can.
pub(crate) async fn works_of(
    store: &KitchenStore,
    inputs: &[OrderInputs],
) -> Result<(Vec<OrderWork>, Vec<String>), DeskError> {
    let former = former_week(store).await?;
    let (mut works, mut ids) = (Vec::new(), Vec::new());
    for input in inputs {
        let Some(text) = store.chapter(WORK, &input.key).await? else { continue };
        let document: WorkDocument = serde_json::from_str(&text)?;
        if let Some(mut work) = document.to_work() {
            for (activity, on) in input.done() {
                work.mark_done(activity, on);
            }
            let starts = former.iter().flat_map(|week| week.starts_of(input.order.id.as_str()));
            for (activity, start) in starts {
                work.keep_at(activity, &start);
            }
            works.push(work);
            ids.push(input.order.id.to_string());
        }
    }
    Ok((works, ids))
}

/// Returns the key of the days of these orders.
pub(crate) fn key_of_week(settings: &str, inputs: &[OrderInputs], today: Date) -> String {
    let plans = inputs
        .iter()
        .map(|input| (input.order.id.as_str(), format!("{} {:?}", input.key, input.done())));
    super::key::week_key(settings, plans, today)
}

/// Runs what must not end the program; a panic is logged under a reference.
fn guarded<T>(work: impl FnOnce() -> T) -> Result<T, Reference> {
    catch_unwind(AssertUnwindSafe(work)).map_err(|panic| {
        let reference = Reference::new();
        tracing::error!("{reference}: planning panicked: {}", crate::web::panic_words(&*panic));
        reference
    })
}

fn n_cores() -> usize {
    available_parallelism().map_or(1, NonZero::get)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plan_that_panics_ends_in_a_reference_and_nothing_else() {
        assert_eq!(guarded(|| 7), Ok(7));
        let reference = guarded(|| -> i32 { panic!("out of icing") }).expect_err("it panicked");
        let told = reference.to_string();
        assert!(told.len() == 8 && told.chars().all(|sign| sign.is_ascii_hexdigit()), "{told}");
    }
}
