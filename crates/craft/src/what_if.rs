//! What if somebody helps, a fan blows, one color is left out, a section goes first or is worked wet?
//!
//! Each of these changes the order of work; icing and passes are planned again with it, and the minutes of decorating are held
//! against those of the plan as it stands, both looked at equally long.
//! Of the many orders of one's own and wet sections a short look finds those that are worth a long one.

use std::ops::ControlFlow;

use quantity::Span;

use crate::{
    baking::{BakingPlan, plan_baking},
    cutting::CuttingMemory,
    dough::{DoughPlan, plan_dough},
    icing::plan_icing,
    kitchen::Kitchen,
    order::{Bench, Brief, Order, Pin},
    passes::PassesPlan,
    plan::{Basis, Effort, Made, kitchen_for, passes_in_their_hours},
    technique::{Onto, Sections, Technique, as_the_maker_wants, lies_on_icing, plan_sections},
};

/// One thing that could be otherwise.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Twist {
    /// So many decorate at once.
    Makers(usize),
    /// A fan blows on the cookies, or none does.
    Fan(bool),
    /// So many colors at most in all drawings together.
    Colors(usize),
    /// One section is piped before another.
    First(Pin),
    /// A section is worked wet into what it lies on.
    Wet(String),
    /// A section may be worked on some cookies first and on the others later.
    Split,
}

impl Twist {
    /// Whether an order has it already.
    pub fn is_in(&self, order: &Order) -> bool {
        chosen(order).contains(self)
    }

    /// Whether it is only worth telling where it saves time: an order of one's own, wet-on-wet and parts of rows.
    fn must_save(&self) -> bool {
        matches!(self, Self::First(_) | Self::Wet(_) | Self::Split)
    }

    /// Puts it into an order, or, where it is there already, takes it out again.
    pub fn turn(&self, order: &mut Order) {
        fn toggle<T: PartialEq>(list: &mut Vec<T>, value: T) {
            match list.iter().position(|one| *one == value) {
                Some(at) => drop(list.remove(at)),
                None => list.push(value),
            }
        }
        let Bench { makers, fan, wet, pins, split, cutting: _ } = &mut order.bench;
        match self {
            Self::Makers(n) => *makers = (*makers != Some(*n)).then_some(*n),
            Self::Fan(on) => *fan = (*fan != Some(*on)).then_some(*on),
            Self::Colors(n) => {
                order.most_colors = (order.most_colors != Some(*n)).then_some(*n);
            }
            Self::First(pin) => toggle(pins, pin.clone()),
            Self::Wet(id) => toggle(wet, id.clone()),
            Self::Split => *split = !*split,
        }
    }
}

/// What decorating comes to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Outcome {
    /// Over all sessions, from the first bag to the last.
    pub active: Span,
    /// How much of it is waiting.
    pub idle: Span,
    /// How often another bag is picked up.
    pub n_bag_changes: usize,
    /// Sessions, with a drying night between each two.
    pub n_sessions: usize,
    /// Colors.
    pub n_colors: usize,
}

/// The plan as it stands, and what each change would make of it.
#[derive(Clone, Debug)]
pub struct WhatIf {
    /// As it stands.
    pub now: Outcome,
    /// Changes already in the order, each with what taking it out again would give.
    pub chosen: Vec<(Twist, Outcome)>,
    /// Further changes, what saves most first.
    pub open: Vec<(Twist, Outcome)>,
}

/// Waits that are offered the other way around, and sections that are offered wet: so many at most are tried.
const MOST_TRIED: usize = 8;
/// So many of them get a long look at most.
const MOST_LOOKED_AT: usize = 4;
/// Less is no difference.
const NOTICEABLE: Span = Span::minutes(2.0);

/// Tries changes of an order.
pub fn what_if(kitchen: &Kitchen, brief: &Brief, basis: &Basis) -> WhatIf {
    let plain = Brief {
        order: Order { bench: Bench::default(), ..brief.order.clone() },
        pictures: brief.pictures.clone(),
    };
    let (sections, _) = plan_sections(kitchen, &plain);
    let trial = Trial::new(kitchen, brief, basis, sections.clone());
    let (now, passes) = trial.outcome(&brief.order);
    let turned = |trial: &Trial<'_>, twist: &Twist| {
        let mut order = brief.order.clone();
        twist.turn(&mut order);
        trial.outcome(&order).0
    };
    let (mut certain, uncertain): (Vec<Twist>, Vec<Twist>) =
        trial.further(&now, &passes).into_iter().partition(|twist| !twist.must_save());
    if !uncertain.is_empty() {
        let quick = Basis { effort: basis.effort.min(Effort::Quick), ..*basis };
        let short = Trial::new(kitchen, brief, &quick, sections);
        let (short_now, _) = short.outcome(&brief.order);
        let looked_at = side_by_side(uncertain, |twist| (turned(&short, &twist).active, twist));
        let mut promising: Vec<(Span, Twist)> = looked_at
            .into_iter()
            .filter(|(active, _)| *active < short_now.active - NOTICEABLE)
            .collect();
        promising.sort_by(|(one, _), (other, _)| one.to_seconds().total_cmp(&other.to_seconds()));
        certain.extend(promising.into_iter().map(|(_, twist)| twist).take(MOST_LOOKED_AT));
    }
    let tried = |twist: Twist| {
        let outcome = turned(&trial, &twist);
        (twist, outcome)
    };
    let chosen = side_by_side(chosen(&brief.order), tried);
    let mut open = side_by_side(certain, tried);
    open.retain(|(twist, outcome)| !twist.must_save() || outcome.active < now.active - NOTICEABLE);
    open.sort_by(|(_, one), (_, other)| {
        one.active.to_seconds().total_cmp(&other.active.to_seconds())
    });
    WhatIf { now, chosen, open }
}

/// Works on all items, as many at once as there are cores; the answers are in their order.
fn side_by_side<T: Send + Sync + Clone, R: Send>(
    items: Vec<T>,
    work: impl Fn(T) -> R + Sync,
) -> Vec<R> {
    let n_threads = std::thread::available_parallelism().map_or(1, usize::from);
    let (items, work) = (&items, &work);
    let mut found: Vec<(usize, R)> = std::thread::scope(|scope| {
        let of_thread = |thread: usize| {
            let own = items.iter().enumerate().skip(thread).step_by(n_threads);
            scope.spawn(move || own.map(|(at, item)| (at, work(item.clone()))).collect::<Vec<_>>())
        };
        let threads: Vec<_> = (0..n_threads).map(of_thread).collect();
        let joined = threads.into_iter().map(|thread| match thread.join() {
            Ok(found) => found,
            Err(panic) => std::panic::resume_unwind(panic),
        });
        joined.flatten().collect()
    });
    found.sort_by_key(|(at, _)| *at);
    found.into_iter().map(|(_, one)| one).collect()
}

/// The changes an order has already.
fn chosen(order: &Order) -> Vec<Twist> {
    // How the sheets are cut changes nothing in decorating.
    let Bench { makers, fan, wet, pins, split, cutting: _ } = &order.bench;
    let makers = makers.map(Twist::Makers);
    let fan = fan.map(Twist::Fan);
    let colors = order.most_colors.map(Twist::Colors);
    let wet = wet.iter().cloned().map(Twist::Wet);
    let pins = pins.iter().cloned().map(Twist::First);
    let split = split.then_some(Twist::Split);
    makers.into_iter().chain(fan).chain(colors).chain(split).chain(wet).chain(pins).collect()
}

struct Trial<'a> {
    kitchen: &'a Kitchen,
    brief: &'a Brief,
    basis: &'a Basis,
    /// The sections without anything the maker wants at the bench.
    sections: Sections,
    /// Dough and trays, which no change touches.
    dough: DoughPlan,
    baking: BakingPlan,
}

impl<'a> Trial<'a> {
    fn new(
        kitchen: &'a Kitchen,
        brief: &'a Brief,
        basis: &'a Basis,
        mut sections: Sections,
    ) -> Self {
        let order = &brief.order;
        // Only extras that are made where they cost nothing depend on how well the sheets are cut.
        let effort = if kitchen.dough.extras_if_free { basis.effort } else { Effort::Glance };
        let first = Basis { effort, ..*basis };
        let on_progress = &mut |_| ControlFlow::Continue(());
        let memory = CuttingMemory::default();
        let (dough, _) =
            plan_dough(kitchen, order, &sections.designs, &first, &memory, on_progress);
        dough.cutting.leave_out_extras(&mut sections.designs);
        let (baking, _) = plan_baking(kitchen, order, &sections.designs, &dough.raw_cookie);
        Self { kitchen, brief, basis, sections, dough, baking }
    }

    /// Plans icing and passes of the order as it would be.
    fn outcome(&self, order: &Order) -> (Outcome, Planned) {
        let kitchen = kitchen_for(self.kitchen, order);
        let mut sections = if order.most_colors == self.brief.order.most_colors {
            self.sections.clone()
        } else {
            let order = Order { bench: Bench::default(), ..order.clone() };
            let brief = Brief { order, pictures: self.brief.pictures.clone() };
            let mut sections = plan_sections(&kitchen, &brief).0;
            self.dough.cutting.leave_out_extras(&mut sections.designs);
            sections
        };
        as_the_maker_wants(order, &mut sections);
        let (icing, _) = plan_icing(&kitchen, &sections, self.basis.today);
        let (dough, baking) = (&self.dough, &self.baking);
        let made = Made { sections: &sections, dough, baking, icing: &icing };
        let on_progress = &mut || ControlFlow::Continue(());
        let (passes, _, _) = passes_in_their_hours(&kitchen, order, &made, self.basis, on_progress);
        let sessions = &passes.sessions;
        let outcome = Outcome {
            active: sessions.iter().map(|session| session.active).sum(),
            idle: sessions.iter().map(|session| session.idle).sum(),
            n_bag_changes: sessions.iter().map(|session| session.n_bag_changes).sum(),
            n_sessions: sessions.len(),
            n_colors: icing.bowls.len(),
        };
        (outcome, Planned { sections, passes })
    }

    /// Changes worth trying.
    fn further(&self, now: &Outcome, planned: &Planned) -> Vec<Twist> {
        let order = &self.brief.order;
        let kitchen = kitchen_for(self.kitchen, order);
        let mut found = Vec::new();
        if order.bench.makers.is_none() && kitchen.makers < 3 {
            found.push(Twist::Makers(kitchen.makers + 1));
        }
        if order.bench.fan.is_none() {
            found.push(Twist::Fan(!kitchen.drying.fan));
        }
        if order.most_colors.is_none() && now.n_colors > 2 {
            found.push(Twist::Colors(now.n_colors - 1));
        }
        if !order.bench.split && now.idle > NOTICEABLE {
            found.push(Twist::Split);
        }
        found.extend(planned.other_ways_around(order).map(Twist::First).take(MOST_TRIED));
        found.extend(planned.could_be_wet(order).map(Twist::Wet).take(MOST_TRIED));
        found
    }
}

struct Planned {
    sections: Sections,
    passes: PassesPlan,
}

impl Planned {
    /// Neighbors that waited for each other and could go the other way around, the longest waits first.
    fn other_ways_around<'a>(&'a self, order: &'a Order) -> impl Iterator<Item = Pin> + 'a {
        let id = |place: usize| self.sections.sections[place].id.clone();
        let is_neighbor = |a: usize, b: usize| {
            self.sections.neighbors.iter().any(|one| (one.a, one.b) == (a.min(b), a.max(b)))
        };
        let mut waits: Vec<_> = self
            .passes
            .passes
            .iter()
            .flat_map(|pass| &pass.waits_for)
            .filter(|wait| is_neighbor(wait.section, wait.waiting))
            .collect();
        waits.sort_by(|one, other| other.lag.to_seconds().total_cmp(&one.lag.to_seconds()));
        waits
            .into_iter()
            .map(move |wait| Pin { first: id(wait.waiting), then: id(wait.section) })
            .filter(|pin| {
                !order.bench.pins.iter().any(|one| one.first == pin.then && one.then == pin.first)
            })
    }

    /// Sections that lie set on a wet base and could be worked into it, the largest first.
    fn could_be_wet<'a>(&'a self, order: &'a Order) -> impl Iterator<Item = String> + 'a {
        let mut places: Vec<usize> = (0..self.sections.sections.len())
            .filter(|&place| {
                let section = &self.sections.sections[place];
                matches!(section.technique, Technique::Flood | Technique::Line | Technique::Dot)
                    && matches!(section.onto, Onto::Set | Onto::Skin)
                    && section.layer == 2
                    && lies_on_icing(&self.sections, place)
            })
            .collect();
        let area = |place: usize| self.sections.sections[place].poured_area.to_mm2();
        places.sort_by(|&one, &other| area(other).total_cmp(&area(one)));
        places
            .into_iter()
            .map(|place| self.sections.sections[place].id.clone())
            .filter(|id| !order.bench.wet.contains(id))
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use jiff::civil::date;

    use super::*;
    use crate::{
        document::{read_choices, read_order, start_kitchen},
        order::{DesignFiles, read_brief},
        passes::plan_passes,
    };

    /// Three bands side by side on a bare cookie, and a dot on the middle one.
    const BANDS: &str = r##"<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="90mm" viewBox="0 0 90 90">
        <rect id="outline" width="90" height="90" fill="none"/>
        <rect id="left" x="3" y="3" width="28" height="84" fill="#2f4666"/>
        <rect id="middle" x="31" y="3" width="28" height="84" fill="#f7f3ea"/>
        <rect id="right" x="59" y="3" width="28" height="84" fill="#c8553d"/>
        <circle id="dot" cx="45" cy="45" r="6" fill="#2f4666"/></svg>"##;

    fn brief(keys: &str) -> Brief {
        let text = format!(
            "title = \"Bands\"\ncustomer = \"nobody (invented)\"\ndue = \"2027-06-19T16:00[America/Halifax]\"\nbase = \"none\"\n{keys}\n[[item]]\ndesign = \"bands\"\ncount = 12\n"
        );
        let artwork = drawing::import(BANDS.as_bytes(), &drawing::Fonts::default());
        let files = DesignFiles {
            artworks: BTreeMap::from([("bands".to_owned(), artwork.expect("a drawing"))]),
            ..DesignFiles::default()
        };
        read_brief(read_order(&text).expect("an order"), &files).expect("a brief")
    }

    fn basis() -> Basis {
        Basis { today: date(2027, 6, 1), effort: Effort::Quick, seed: 1 }
    }

    #[test]
    fn a_helper_a_fan_and_fewer_colors_are_told_in_minutes_and_taken_back() {
        let kitchen = start_kitchen();
        let found = what_if(&kitchen, &brief(""), &basis());
        let of = |wanted: &Twist| found.open.iter().find(|(twist, _)| twist == wanted);
        let (_, fan) = of(&Twist::Fan(true)).expect("a fan can be tried");
        assert!(fan.active <= found.now.active && fan.idle <= found.now.idle);
        let (_, helped) = of(&Twist::Makers(2)).expect("a helper can be tried");
        assert!(helped.active <= found.now.active);
        // Chosen and taken out again, the plan is what it was.
        let with_fan = what_if(&kitchen, &brief("fan = true"), &basis());
        assert_eq!(with_fan.now, *fan);
        assert_eq!(with_fan.chosen, [(Twist::Fan(true), found.now)]);
    }

    #[test]
    fn the_maker_s_own_order_is_kept_and_what_cannot_be_is_told() {
        let kitchen = start_kitchen();
        for (first, then) in [("bands/left", "bands/middle"), ("bands/middle", "bands/left")] {
            let brief = brief(&format!("pin = [{{ first = \"{first}\", then = \"{then}\" }}]"));
            let (sections, heads_ups) = plan_sections(&kitchen, &brief);
            assert!(heads_ups.iter().all(|one| !one.message.contains("piped before")));
            let (icing, _) = plan_icing(&kitchen, &sections, basis().today);
            let (passes, _) = plan_passes(&kitchen, &sections, &icing, &[], 500, 1, &mut || {
                ControlFlow::Continue(())
            });
            let start = |id: &str| {
                let place =
                    sections.sections.iter().position(|one| one.id == id).expect("a section");
                let rows = passes.passes.iter().flat_map(|pass| &pass.rows);
                rows.filter(|row| row.sections.contains(&place))
                    .map(|row| row.start.to_seconds())
                    .fold(f64::INFINITY, f64::min)
            };
            assert!(start(first) < start(then), "{first} before {then}");
        }
        let (_, told) = plan_sections(&kitchen, &brief("wet = [\"bands/left\", \"bands/hat\"]"));
        for words in ["lies on no icing", "no such section"] {
            assert!(told.iter().any(|one| one.message.contains(words)), "{words}: {told:?}");
        }
        // Each before the other.
        let both = "pin = [{ first = \"bands/left\", then = \"bands/right\" }, { first = \"bands/right\", then = \"bands/left\" }]";
        let (sections, _) = plan_sections(&kitchen, &brief(both));
        let (icing, _) = plan_icing(&kitchen, &sections, basis().today);
        let (_, told) =
            plan_passes(
                &kitchen,
                &sections,
                &icing,
                &[],
                500,
                1,
                &mut || ControlFlow::Continue(()),
            );
        assert!(told.iter().any(|one| one.message.contains("wait for each other")), "{told:?}");
    }

    /// Start of the first cookie and end of the last, in minutes of its session, and the session, of a section.
    fn times(passes: &PassesPlan, sections: &Sections, id: &str) -> (usize, f64, f64) {
        let place = sections.sections.iter().position(|one| one.id == id).expect("a section");
        let passes = passes.passes.iter();
        let row = passes
            .flat_map(|pass| pass.rows.iter().map(move |row| (pass.session, row)))
            .find(|(_, row)| row.sections.contains(&place));
        let (session, row) = row.expect("it is piped");
        (session, row.start.to_minutes(), row.end.to_minutes())
    }

    #[test]
    fn outer_bands_need_no_wait_between_them_and_the_middle_one_waits_for_their_skin() {
        // Common practice, no source: of three touching bands the outer two can be piped one after the other, the middle one
        // once they have a skin, each over all copies in a row.
        let kitchen = start_kitchen();
        let (sections, _) = plan_sections(&kitchen, &brief(""));
        let (icing, _) = plan_icing(&kitchen, &sections, basis().today);
        let (passes, _) = plan_passes(&kitchen, &sections, &icing, &[], 2_000, 1, &mut || {
            ControlFlow::Continue(())
        });
        let place = |id: &str| sections.sections.iter().position(|one| one.id == id).expect("it");
        let touch = |a: &str, b: &str| {
            let (a, b) = (place(a).min(place(b)), place(a).max(place(b)));
            sections.neighbors.iter().any(|one| (one.a, one.b) == (a, b))
        };
        let [left, middle, right] = ["bands/left", "bands/middle", "bands/right"];
        assert!(touch(left, middle) && touch(middle, right) && !touch(left, right));
        let skin =
            kitchen.drying.wait(crate::drying::State::Skin, kitchen.icing.base_depth).to_minutes();
        for outer in [left, right] {
            let (one, other) =
                (times(&passes, &sections, outer), times(&passes, &sections, middle));
            assert_eq!(one.0, other.0, "one session");
            let (first, second) = if one.1 < other.1 { (one, other) } else { (other, one) };
            // On each of 13 cookies: done by the one, begun by the other.
            let each = |row: (usize, f64, f64)| (row.2 - row.1) / 13.0;
            for copy in 0..13 {
                let done = first.1 + each(first) * f64::from(copy + 1);
                let begun = second.1 + each(second) * f64::from(copy);
                assert!(begun - done >= skin - 0.1, "{outer}, cookie {copy}: {}", begun - done);
            }
        }
        // Nothing makes the outer two wait for each other.
        let waits = passes.passes.iter().flat_map(|pass| &pass.waits_for);
        let outer = [place(left), place(right)];
        assert!(waits.clone().count() > 0);
        assert!(
            waits
                .clone()
                .all(|wait| !(outer.contains(&wait.section) && outer.contains(&wait.waiting)))
        );
    }

    #[test]
    fn a_base_of_the_evening_is_decorated_the_next_morning_and_lines_go_on_dry_white() {
        // Common practice, no source: what lies on a base waits for its night, so a dark line never lies on wet white.
        let kitchen = start_kitchen();
        let artwork = drawing::import(
            br##"<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="80mm" viewBox="0 0 80 80">
                <circle id="outline" cx="40" cy="40" r="40" fill="none"/>
                <circle id="white" cx="40" cy="40" r="38" fill="#ffffff"/>
                <path id="line" d="M20 40H60" stroke="#1d1a18" stroke-width="1.6" fill="none"/></svg>"##,
            &drawing::Fonts::default(),
        );
        let files = DesignFiles {
            artworks: BTreeMap::from([("lined".to_owned(), artwork.expect("a drawing"))]),
            ..DesignFiles::default()
        };
        let order = read_order(
            "title = \"Lines\"\ncustomer = \"nobody (invented)\"\ndue = \"2027-06-19T16:00[America/Halifax]\"\n[[item]]\ndesign = \"lined\"\ncount = 12\n",
        );
        let brief = read_brief(order.expect("an order"), &files).expect("a brief");
        let on_progress = &mut |_| ControlFlow::Continue(());
        let plan = crate::plan::plan_order(&kitchen, &brief, &basis(), on_progress);
        let base = plan.sections.sections.iter().find(|one| one.layer == 1).expect("a base");
        let base = times(&plan.passes, &plan.sections, &base.id);
        let line = times(&plan.passes, &plan.sections, "lined/line");
        assert!(line.0 > base.0, "another session");
        let (before, after) = (plan.passes.sessions[base.0], plan.passes.sessions[line.0]);
        assert!(after.stage > before.stage, "with a drying night between");
        let works = std::slice::from_ref(&plan.work);
        let (days, _) = crate::plan::plan_week(&kitchen, works, &basis(), on_progress);
        let session = |number: usize| {
            let wanted = crate::days::Activity::Decorate(number as u32 + 1);
            days.entries.iter().find(|one| one.activity == wanted).expect("it is placed")
        };
        let rest = session(line.0).start.duration_since(&session(base.0).end).as_hours();
        assert!(rest >= 12, "{rest} hours");
        assert!(session(line.0).start.date() > session(base.0).end.date());
    }

    /// A round base with a star of its own color laid on it, and a bare cookie that gets only such a star.
    fn starred() -> (Kitchen, Brief) {
        let star = "<path id=\"star\" d=\"M40 25l4 9 10 1-7 7 2 10-9-5-9 5 2-10-7-7 10-1z\" fill=\"#c8553d\"/>";
        let art = |base: &str| {
            let svg = format!(
                "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"80mm\" height=\"80mm\" viewBox=\"0 0 80 80\"><circle id=\"outline\" cx=\"40\" cy=\"40\" r=\"40\" fill=\"none\"/>{base}{star}</svg>"
            );
            drawing::import(svg.as_bytes(), &drawing::Fonts::default()).expect("a drawing")
        };
        let base = "<circle id=\"white\" cx=\"40\" cy=\"40\" r=\"38\" fill=\"#ffffff\"/>";
        let files = DesignFiles {
            artworks: BTreeMap::from([
                ("based".to_owned(), art(base)),
                ("bare".to_owned(), art("")),
            ]),
            choices: ["based", "bare"]
                .map(|design| {
                    let text = "format = 1\n[[section]]\nid = \"star\"\ntechnique = \"transfer\"\n";
                    (design.to_owned(), read_choices(text, "star.toml").expect("a choice"))
                })
                .into(),
        };
        let item = |design: &str| format!("[[item]]\ndesign = \"{design}\"\ncount = 10\n");
        let text = format!(
            "title = \"Stars\"\ncustomer = \"nobody (invented)\"\ndue = \"2027-06-19T16:00[America/Halifax]\"\nbase = \"none\"\n{}{}",
            item("based"),
            item("bare")
        );
        let brief = read_brief(read_order(&text).expect("an order"), &files).expect("a brief");
        (start_kitchen(), brief)
    }

    #[test]
    fn pieces_are_piped_on_paper_a_day_before_they_are_laid_on() {
        // Common practice, no source: royal icing transfers are piped 24 to 48 hours ahead.
        let (kitchen, brief) = starred();
        let on_progress = &mut |_| ControlFlow::Continue(());
        let plan = crate::plan::plan_order(&kitchen, &brief, &basis(), on_progress);
        let (days, _) = crate::plan::plan_week(
            &kitchen,
            std::slice::from_ref(&plan.work),
            &basis(),
            on_progress,
        );
        for id in ["based/star", "bare/star"] {
            let place = plan.sections.sections.iter().position(|one| one.id == id).expect("a star");
            let of = |is_ahead: bool| {
                let mut passes = plan.passes.passes.iter();
                let is_it = |pass: &&crate::passes::Pass| {
                    pass.is_ahead == is_ahead && pass.sections().any(|section| section == place)
                };
                passes.find(is_it).expect("a pass")
            };
            let (ahead, laid_on) = (of(true), of(false));
            assert!(ahead.bag.is_some() && laid_on.bag.is_none(), "piped once, then laid on");
            assert!(ahead.rows.iter().all(|row| row.copies == 11), "ten and one extra");
            assert_eq!(plan.passes.sessions[ahead.session].stage, 0);
            let waits = |wait: &crate::passes::Wait| {
                (wait.section, wait.waiting, wait.kind) == (place, place, crate::drying::State::Dry)
            };
            assert!(laid_on.waits_for.iter().any(waits), "{:?}", laid_on.waits_for);
            let session = |number: usize| {
                let wanted = crate::days::Activity::Decorate(number as u32 + 1);
                days.entries.iter().find(|one| one.activity == wanted).expect("it is placed")
            };
            let (piped, then) = (session(ahead.session), session(laid_on.session));
            assert!(then.start.duration_since(&piped.end).as_hours() >= 24);
        }
        let document = crate::document::plan::write_plan(&crate::document::plan::Written {
            kitchen: &kitchen,
            order: &brief.order,
            plan: &plan,
            basis: &basis(),
            inputs_sha256: "",
        });
        assert_eq!(crate::check::check_plan(&kitchen, &document), []);
    }

    #[test]
    fn working_in_parts_is_offered_where_it_saves_waiting_and_every_cookie_keeps_its_lags() {
        // Two layers and dots on them over a few cookies: whole rows leave idle time.
        let kitchen = start_kitchen();
        let whole = brief("").order;
        let mut parted = whole.clone();
        Twist::Split.turn(&mut parted);
        assert!(parted.bench.split && Twist::Split.is_in(&parted) && !Twist::Split.is_in(&whole));
        let outcome = |order: Order| {
            let brief = Brief { order, ..brief("") };
            let (sections, _) = plan_sections(&kitchen, &brief);
            let (icing, _) = plan_icing(&kitchen, &sections, basis().today);
            let on_progress = &mut || ControlFlow::Continue(());
            plan_passes(&kitchen, &sections, &icing, &[], 200_000, 1, on_progress).0
        };
        let (whole, parted) = (outcome(whole), outcome(parted));
        let active = |passes: &PassesPlan| -> Span {
            passes.sessions.iter().map(|session| session.active).sum()
        };
        assert!(active(&parted) <= active(&whole));
        for place in 0..4 {
            let rows = parted.passes.iter().flat_map(|pass| &pass.rows);
            let of = rows.filter(|row| row.sections.contains(&place));
            let mut copies: Vec<u32> = of.flat_map(|row| row.from..row.from + row.copies).collect();
            copies.sort_unstable();
            assert_eq!(copies, (0..13).collect::<Vec<_>>(), "each cookie once");
        }
    }
}
