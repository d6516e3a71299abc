//! What an order asks of the days: its steps with their minutes, and the rests between them.

use std::collections::BTreeSet;

use jiff::{ZonedDateTime, civil::Date};
use quantity::{Mass, Span};

use crate::{
    baking::BakingPlan,
    cutting::cutting_time,
    days::{Batches, MixedShade},
    dough::DoughPlan,
    drying::State,
    icing::IcingPlan,
    kitchen::{Icing, Kitchen, Oven},
    order::Order,
    passes::{PassesPlan, pieces_dry},
    technique::Design,
};

/// One kind of work or rest.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Activity {
    /// Setting up, once per stretch of working hours.
    SetUp,
    /// Mixing dough.
    MakeDough,
    /// Fresh dough rests in the refrigerator.
    ChillDough,
    /// A frozen sheet softens until it can be cut.
    Temper,
    /// Rolling sheets, cutting, re-rolling.
    Cut,
    /// Cut cookies rest in the cold.
    ChillCut,
    /// The oven runs.
    Bake,
    /// Cookies cool.
    Cool,
    /// Plain cookies lie in the freezer, and thaw in their closed box at the end of it.
    Freeze,
    /// Whipping icing.
    MakeIcing,
    /// A decorating session, counted from 1.
    Decorate(u32),
    /// Icing dries over night.
    Dry,
    /// Cookies go into their bags.
    Pack,
    /// Washing up, once per stretch of working hours.
    WashUp,
    /// Cookies change hands.
    HandOver,
}

impl Activity {
    /// Tells whether the maker's hands are in it.
    pub fn is_attended(self) -> bool {
        !matches!(
            self,
            Self::ChillDough
                | Self::Temper
                | Self::ChillCut
                | Self::Bake
                | Self::Cool
                | Self::Freeze
                | Self::Dry
        )
    }

    /// Activities with one name; decorating is counted.
    const NAMES: [(Self, &'static str); 14] = [
        (Self::SetUp, "set up"),
        (Self::WashUp, "wash up"),
        (Self::MakeDough, "make dough"),
        (Self::ChillDough, "chill dough"),
        (Self::Temper, "temper frozen dough"),
        (Self::Cut, "roll and cut"),
        (Self::ChillCut, "chill cut cookies"),
        (Self::Bake, "bake"),
        (Self::Cool, "cool"),
        (Self::Freeze, "keep frozen"),
        (Self::MakeIcing, "make icing"),
        (Self::Dry, "dry"),
        (Self::Pack, "pack"),
        (Self::HandOver, "hand over"),
    ];

    /// Returns what it is called in files.
    pub fn name(self) -> String {
        match self {
            Self::Decorate(session) => format!("decorate {session}"),
            other => Self::NAMES
                .iter()
                .find(|(activity, _)| *activity == other)
                .map_or_else(String::new, |(_, name)| (*name).to_owned()),
        }
    }

    /// Says what finds no room.
    pub(super) fn words(self) -> &'static str {
        match self {
            Self::MakeDough => "making the dough",
            Self::Cut => "rolling and cutting",
            Self::Bake => "baking",
            Self::MakeIcing => "making the icing",
            Self::Decorate(_) => "decorating",
            Self::Pack => "packing",
            _ => "the work",
        }
    }

    /// Returns the activity of this name in files.
    ///
    /// ```
    /// use craft::days::Activity;
    /// for activity in [Activity::Cut, Activity::Decorate(2), Activity::HandOver] {
    ///     assert_eq!(Activity::by_name(&activity.name()), Some(activity));
    /// }
    /// assert_eq!(Activity::by_name("sing"), None);
    /// ```
    pub fn by_name(name: &str) -> Option<Self> {
        if let Some(session) = name.strip_prefix("decorate ") {
            return session.parse().ok().map(Self::Decorate);
        }
        Self::NAMES.iter().find(|(_, known)| *known == name).map(|(activity, _)| *activity)
    }
}

/// What one order asks of the days.
#[derive(Clone, Debug)]
pub struct OrderWork {
    /// The order's title.
    pub title: String,
    /// Its hand-overs, earliest first.
    pub handovers: Vec<ZonedDateTime>,
    /// Cookies that are handed over.
    pub n_cookies: u32,
    /// Work in the order it is done.
    pub steps: Vec<Step>,
    /// Rests between steps.
    pub rests: Vec<Rest>,
    /// Trays its cookies dry on.
    pub n_trays: usize,
    /// When the oldest icing it takes from stock was made.
    pub oldest_icing: Option<Date>,
    /// The last session in which icing is piped, counted from 1; nothing where that is not known.
    pub last_icing: Option<u32>,
    /// Shades that are mixed for it.
    pub shades: Vec<MixedShade>,
}

/// One piece of work.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// What is done.
    pub activity: Activity,
    /// How long hands or oven are busy.
    pub duration: Span,
    /// What is made in batches, so that other orders can have a part of it.
    pub batches: Option<Batches>,
    /// The hand-over before which it must be done, by its place.
    pub handover: usize,
    /// The day it was done.
    pub done: Option<Date>,
    /// When it was to start in the days as they stood before.
    pub former: Option<ZonedDateTime>,
}

/// Time that must pass between two steps.
#[derive(Clone, Debug, PartialEq)]
pub struct Rest {
    /// What happens meanwhile, if it has a name.
    pub activity: Option<Activity>,
    /// The step before, by its place.
    pub after: usize,
    /// The step behind, by its place.
    pub before: usize,
    /// The least time between them.
    pub least: Span,
    /// The most time between them.
    pub most: Option<Span>,
}

/// Fresh dough keeps two to four days in the refrigerator (USDA, "Ask USDA", quoted in the press); the shorter end is safe.
const DOUGH_KEEPS: Span = Span::hours(48.0);
/// Iced or naked, a cookie is at its best within a week of the oven (common practice, no source).
pub(super) const COOKIE_KEEPS: Span = Span::hours(7.0 * 24.0);
/// Naked cookies keep about 60 days in the freezer (common practice, no source).
const FROZEN_KEEPS: Span = Span::hours(60.0 * 24.0);
/// They thaw in their closed box before they are iced (common practice, no source).
pub(super) const THAW: Span = Span::hours(3.0);
/// A softened sheet goes back into the refrigerator if it waits longer (common practice, no source).
const TEMPERED_WAITS: Span = Span::minutes(60.0);

/// Compiles an order's chapters to steps and rests.
pub fn order_work(
    kitchen: &Kitchen,
    order: &Order,
    designs: &[Design],
    dough: &DoughPlan,
    baking: &BakingPlan,
    icing: &IcingPlan,
    passes: &PassesPlan,
) -> OrderWork {
    let mut work = OrderWork {
        title: order.title.clone(),
        handovers: order.handovers.iter().map(|handover| handover.at.clone()).collect(),
        n_cookies: order.count(),
        steps: Vec::new(),
        rests: Vec::new(),
        n_trays: baking.n_trays(),
        shades: shades(icing, passes),
        last_icing: passes
            .passes
            .iter()
            .filter(|pass| pass.bag.is_some())
            .filter_map(|pass| u32::try_from(pass.session + 1).ok())
            .max(),
        oldest_icing: icing
            .from_stock
            .iter()
            .filter_map(|used| Some(kitchen.icing_stock.get(used.stock)?.made_on))
            .min(),
    };
    let rules = &kitchen.dough;
    let cutting = &dough.cutting;

    let made = (dough.n_batches > 0).then(|| {
        let place = work.add(Activity::MakeDough, rules.make * f64::from(dough.n_batches));
        // Without a limit everything is one batch, whoever it is for.
        let most = kitchen.recipe(&rules.recipe).and_then(|recipe| recipe.batch_max);
        let most = most.unwrap_or(Mass::g(1e9));
        work.in_batches(place, &rules.recipe, dough.mass, most, rules.make)
    });
    let tempered = (cutting.n_stock() > 0).then(|| work.add(Activity::Temper, rules.temper));
    let cut = (cutting.n_cut() > 0).then(|| {
        let (n_fresh, n_rerolled) = (cutting.n_fresh(), cutting.n_rerolled());
        work.add(Activity::Cut, cutting_time(kitchen, n_fresh, n_rerolled, cutting.n_cut()))
    });
    let baked = if cut.is_some() { work.bake(kitchen, baking) } else { Vec::new() };
    let whipped = (icing.batch.n > 0).then(|| {
        let Icing { recipe: name, make, mixer_max, .. } = &kitchen.icing;
        let place = work.add(Activity::MakeIcing, *make * f64::from(icing.batch.n));
        let most = kitchen.recipe(name).and_then(|recipe| recipe.batch_max).unwrap_or(*mixer_max);
        work.in_batches(place, name, icing.batch.total, most.min(*mixer_max), *make)
    });
    let sessions: Vec<usize> = passes
        .sessions
        .iter()
        .zip(1..)
        .map(|(session, number)| work.add(Activity::Decorate(number), session.active))
        .collect();
    let packed = work.pack(kitchen, order, designs);

    work.rest(Some(Activity::ChillDough), made, cut, rules.chill, Some(DOUGH_KEEPS));
    work.rest(None, tempered, cut, Span::ZERO, Some(TEMPERED_WAITS));
    let first = sessions.first().or(packed.first()).copied();
    for (number, &load) in baked.iter().enumerate() {
        // Each load has its rests; they are told once, before the first and after the last.
        let chill = (number == 0).then_some(Activity::ChillCut);
        let cool = (number + 1 == baked.len()).then_some(Activity::Cool);
        work.rest(chill, cut, Some(load), rules.chill_cut, Some(Span::hours(24.0)));
        work.rest(cool, Some(load), first, kitchen.oven.cool, Some(COOKIE_KEEPS));
    }
    for pair in baked.windows(2) {
        work.rest(None, Some(pair[0]), Some(pair[1]), Span::ZERO, None);
    }
    let dry = kitchen.drying.wait(State::Dry, kitchen.icing.base_depth);
    let Icing { made_ahead, keeps, .. } = kitchen.icing;
    work.rest(None, whipped, first, made_ahead, Some(keeps.max(made_ahead)));
    for (pair, next) in sessions.windows(2).zip(passes.sessions.windows(2)) {
        let (before, after) = (Some(pair[0]), Some(pair[1]));
        if next[0].stage == next[1].stage {
            work.rest(None, before, after, next[1].gap, None);
        } else {
            work.rest(Some(Activity::Dry), before, after, dry, None);
        }
    }
    for (piped, laid_on) in pieces(passes) {
        let (before, after) = (sessions.get(piped).copied(), sessions.get(laid_on).copied());
        work.rest(None, before, after, pieces_dry(kitchen), None);
    }
    for (number, &packed) in packed.iter().enumerate() {
        let kind = (number == 0).then_some(Activity::Dry);
        work.rest(kind, sessions.last().copied(), Some(packed), dry, None);
    }
    work
}

/// The shades of an order's bowls, each with the session that needs it first.
fn shades(icing: &IcingPlan, passes: &PassesPlan) -> Vec<MixedShade> {
    let bowls = icing.bowls.iter().enumerate();
    bowls
        .filter_map(|(place, bowl)| {
            let piped =
                passes.passes.iter().filter(|pass| pass.bag.is_some_and(|bag| bag.0 == place));
            let sessions = piped.filter_map(|pass| u32::try_from(pass.session + 1).ok());
            let sessions: Vec<u32> = sessions.collect();
            let sessions = (*sessions.iter().min()?, *sessions.iter().max()?);
            let mass = bowl.weigh_out - bowl.tinted_stock;
            (mass > Mass::ZERO).then_some(MixedShade { color: bowl.color, mass, sessions })
        })
        .collect()
}

/// The loads of an order as batches of trays, so that other orders can have a part of them; nothing if they bake for
/// different times.
fn loads_as_batches(kitchen: &Kitchen, baking: &BakingPlan) -> Option<Batches> {
    let Oven { heat_up, change, slots, .. } = kitchen.oven;
    let bake = baking.loads.first()?.bake;
    let batches = Batches {
        recipe: format!("{:.0} s in the oven", bake.to_seconds()),
        amount: baking.n_trays() as f64,
        most: f64::from(slots),
        each: bake + change,
        once: heat_up - change,
    };
    let are_alike = baking.loads.iter().all(|load| load.bake == bake);
    (are_alike && batches.n() as usize == baking.loads.len()).then_some(batches)
}

/// Pairs of sessions of which the first pipes pieces on paper and the other lays them on.
fn pieces(passes: &PassesPlan) -> BTreeSet<(usize, usize)> {
    let ahead = || passes.passes.iter().filter(|pass| pass.is_ahead);
    let laid_on = passes.passes.iter().filter(|pass| !pass.is_ahead);
    laid_on
        .flat_map(|pass| {
            let pieces = ahead().filter(|one| {
                one.sections().any(|piece| pass.sections().any(|section| section == piece))
            });
            pieces.map(|one| (one.session, pass.session))
        })
        .collect()
}

impl OrderWork {
    /// Adds the bake: one stretch of the oven, or load by load where a usual evening is too short for it.
    fn bake(&mut self, kitchen: &Kitchen, baking: &BakingPlan) -> Vec<usize> {
        let Oven { heat_up, change, .. } = kitchen.oven;
        let around = kitchen.pace.set_up + kitchen.pace.wash_up;
        let whole = baking.oven_time + heat_up;
        if kitchen.hours.longest() >= whole + around || baking.loads.len() < 2 {
            let place = self.add(Activity::Bake, whole);
            self.steps[place].batches = loads_as_batches(kitchen, baking);
            return vec![place];
        }
        let loads = baking.loads.iter().enumerate();
        loads
            .map(|(number, load)| {
                let before = if number == 0 { heat_up } else { change };
                self.add(Activity::Bake, before + load.bake)
            })
            .collect()
    }

    /// Adds the packing: what is handed over on one day is packed together, the extras with the last of it.
    fn pack(&mut self, kitchen: &Kitchen, order: &Order, designs: &[Design]) -> Vec<usize> {
        let all = designs.iter().map(Design::copies).fold(0, u32::saturating_add);
        let mut parts: Vec<(usize, u32)> = Vec::new();
        for (place, handover) in order.handovers.iter().enumerate() {
            let cookies = handover.counts.iter().map(|(_, n)| *n).fold(0, u32::saturating_add);
            match parts.last_mut() {
                Some((first, n)) if order.handovers[*first].at.date() == handover.at.date() => {
                    *n = n.saturating_add(cookies);
                }
                _ => parts.push((place, cookies)),
            }
        }
        let told: u32 = parts.iter().map(|(_, n)| *n).fold(0, u32::saturating_add);
        if let Some((_, last)) = parts.last_mut() {
            *last = last.saturating_add(all.saturating_sub(told));
        }
        let add = |(handover, cookies)| {
            let place = self.add(Activity::Pack, kitchen.pace.pack * f64::from(cookies));
            self.steps[place].handover = handover;
            place
        };
        parts.into_iter().map(add).collect()
    }

    /// Says that a step was done, and with it all that comes before it; what was done earlier keeps its day.
    pub fn mark_done(&mut self, activity: Activity, on: Date) {
        let steps = self.steps.iter().enumerate();
        let mut open: Vec<usize> =
            steps.filter(|(_, step)| step.activity == activity).map(|(place, _)| place).collect();
        if activity == Activity::Pack {
            // Of several hand-overs the next one is packed.
            open.retain(|&place| self.steps[place].done.is_none());
            open.truncate(1);
        }
        while let Some(place) = open.pop() {
            if self.steps[place].done.is_none_or(|before| before > on) {
                self.steps[place].done = Some(on);
                let before = self.rests.iter().filter(|rest| rest.before == place);
                open.extend(before.map(|rest| rest.after).filter(|&at| at < self.steps.len()));
            }
        }
    }

    /// Returns the same order with its cookies baked earlier and frozen plain; nothing if none are baked or iced.
    pub(super) fn baked_ahead(&self) -> Option<Self> {
        let mut work = self.clone();
        let activity = |place: usize| self.steps.get(place).map(|step| step.activity);
        let frozen = work.rests.iter_mut().filter(|rest| {
            activity(rest.after) == Some(Activity::Bake)
                && matches!(activity(rest.before), Some(Activity::Decorate(_) | Activity::Pack))
        });
        let mut is_baked = false;
        for rest in frozen {
            rest.least += THAW;
            rest.most = Some(FROZEN_KEEPS);
            // Of several loads the last one tells it.
            rest.activity = rest.activity.map(|_| Activity::Freeze);
            is_baked = true;
        }
        is_baked.then_some(work)
    }

    /// Says when a step was to start in the days as they stood before; of several of one activity the first one.
    pub fn keep_at(&mut self, activity: Activity, start: &ZonedDateTime) {
        let mut steps = self.steps.iter_mut();
        if let Some(step) = steps.find(|step| step.activity == activity)
            && step.former.is_none()
        {
            step.former = Some(start.clone());
        }
    }

    /// Says that a step is made in batches; returns its place.
    fn in_batches(
        &mut self,
        place: usize,
        recipe: &str,
        mass: Mass,
        most: Mass,
        each: Span,
    ) -> usize {
        self.steps[place].batches = Some(Batches {
            recipe: recipe.to_owned(),
            amount: mass.to_g(),
            most: most.to_g(),
            each,
            once: Span::ZERO,
        });
        place
    }

    fn add(&mut self, activity: Activity, duration: Span) -> usize {
        self.steps.push(Step {
            activity,
            duration,
            batches: None,
            handover: 0,
            done: None,
            former: None,
        });
        self.steps.len() - 1
    }

    fn rest(
        &mut self,
        activity: Option<Activity>,
        after: Option<usize>,
        before: Option<usize>,
        least: Span,
        most: Option<Span>,
    ) {
        if let (Some(after), Some(before)) = (after, before)
            && after != before
        {
            self.rests.push(Rest { activity, after, before, least, most });
        }
    }

    /// Returns the attended time of all steps.
    pub fn attended(&self) -> Span {
        self.steps.iter().filter(|step| step.activity.is_attended()).map(|step| step.duration).sum()
    }

    /// Returns how many stretches of work it takes at least, each with its setting up and washing up: dough, cutting and each
    /// session of decorating lie on days of their own, or nearly so.
    pub fn n_stretches(&self) -> usize {
        let takes_one = |activity| {
            matches!(activity, Activity::MakeDough | Activity::Cut | Activity::Decorate(_))
        };
        self.steps.iter().filter(|step| takes_one(step.activity)).count()
    }
}
