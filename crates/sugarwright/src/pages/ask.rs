//! "Can I take this?": a sentence with blanks on the orders page, and its answer.
//!
//! The whole question stands in the address, so that an answer can be kept, shared and gone back from.

use craft::{
    days::{Activity, Answer, Change, DAYS_AHEAD, N_REPLAYS, Room, StripDay, Tried, Verdict},
    kitchen::Kitchen,
    order::Detail,
    request::{CUTTER, Wish},
};
use jiff::{ToSpan, civil::Date};
use maud::{Markup, html};
use quantity::Currency;
use url::form_urlencoded;

use crate::{
    desk::Asked,
    show,
    ui::{self, capital, counted, day_and_month},
};

/// What was typed into the blanks.
#[derive(Clone, Debug, Default)]
pub(super) struct Blanks {
    count: String,
    detail: String,
    day: String,
}

/// A question that was read and what came of it, or the blank that is wrong and why.
pub(super) type Answered = Result<(Wish, Asked), (&'static str, String)>;

/// More cookies are no order of one kitchen.
const MOST_COOKIES: u32 = 1000;
/// When they are picked up, which does not matter to the days: they are packed the evening before.
const HOUR: i8 = 12;

impl Blanks {
    /// Reads the address; of what stands there twice the last counts.
    pub(super) fn read(query: &[(String, String)]) -> Self {
        let of = |name: &str| {
            let found = query.iter().rfind(|(key, _)| key == name);
            found.map_or_else(String::new, |(_, value)| value.clone())
        };
        Self { count: of("count"), detail: of("detail"), day: of("day") }
    }

    /// Whether anything was asked.
    pub(super) fn is_asked(&self) -> bool {
        !(self.count.is_empty() && self.day.is_empty())
    }

    /// Reads the question; or the blank that is wrong, and why.
    pub(super) fn wish(
        &self,
        kitchen: &Kitchen,
        today: Date,
    ) -> Result<Wish, (&'static str, String)> {
        let count = self.count.trim().parse().ok().filter(|n| (1..=MOST_COOKIES).contains(n));
        let count = count.ok_or_else(|| {
            ("count", format!("Say how many cookies: a whole number from 1 to {MOST_COOKIES}."))
        })?;
        let day: Date = self.day.trim().parse().map_err(|_| {
            ("day", "Say the day they are wanted for, as in 2027-06-19.".to_owned())
        })?;
        let ahead = (day - today).get_days();
        if ahead < 1 {
            let words = format!("{} is no day ahead; today is {}.", ui::date(day), ui::date(today));
            return Err(("day", words));
        }
        if ahead > DAYS_AHEAD {
            let last = today.saturating_add(DAYS_AHEAD.days());
            let words = format!(
                "Days are laid out eight weeks ahead, to {}; ask again nearer to the day.",
                ui::date(last)
            );
            return Err(("day", words));
        }
        let at = day.at(HOUR, 0, 0, 0).in_tz(&kitchen.units.time_zone);
        let at = at.map_err(|error| ("day", format!("This day cannot be laid out: {error}.")))?;
        Ok(Wish { count, detail: self.level(), at })
    }

    fn level(&self) -> Detail {
        let known = Detail::NAMES.iter().find(|(_, name)| *name == self.detail);
        known.map_or(Detail::Dressed, |(detail, _)| *detail)
    }

    fn address(&self, day: Date) -> String {
        let mut query = form_urlencoded::Serializer::new(String::new());
        query.append_pair("count", self.count.trim());
        query.append_pair("detail", self.level().name());
        query.append_pair("day", &day.to_string());
        format!("/?{}#answer", query.finish())
    }
}

/// The question and, if it was asked, its answer.
pub(super) fn view(
    blanks: &Blanks,
    asked: Option<&Answered>,
    kitchen: &Kitchen,
    today: Date,
) -> Markup {
    let wrong = match asked {
        Some(Err((field, words))) => Some((*field, words.as_str())),
        _ => None,
    };
    html! {
        section.request {
            (sentence(blanks, wrong, today))
            @match asked {
                Some(Ok((wish, asked))) => (answer(wish, asked, kitchen)),
                Some(Err((_, words))) => div.answer id="answer" role="alert" { p.lead { (words) } },
                None => div.answer id="answer" { p.soft {
                    "The answer counts your hours, drying nights, oven and trays, and every order below."
                } },
            }
            @if let Some(Ok((wish, Asked { answer: Ok((_, strip)), .. }))) = asked {
                (eight_weeks(blanks, wish, strip))
            }
        }
    }
}

fn sentence(blanks: &Blanks, wrong: Option<(&str, &str)>, today: Date) -> Markup {
    let is_wrong = |field| wrong.is_some_and(|(at, _)| at == field).then_some("true");
    let count = if blanks.count.is_empty() { "24" } else { &blanks.count };
    // A field for dates shows no other text.
    let typed: Option<Date> = blanks.day.trim().parse().ok();
    let day = typed.unwrap_or_else(|| today.saturating_add(21.days()));
    html! {
        form.ask action="/#answer" method="get" {
            h1.sentence {
                "Can I take "
                label { span.unseen { "How many" } input.blank name="count" inputmode="numeric" size="3" value=(count) aria-invalid=[is_wrong("count")]; }
                " cookies, each as detailed as this one, for "
                span.keep {
                    label { span.unseen { "For which day" } input.blank name="day" type="date" value=(day) aria-invalid=[is_wrong("day")]; }
                    "?"
                }
            }
            fieldset.detail {
                legend.unseen { "As detailed as" }
                div.levels {
                    @for (detail, name) in Detail::NAMES {
                        label {
                            input type="radio" name="detail" value=(name) checked[detail == blanks.level()];
                            (level_picture(detail))
                            span { (level_words(detail)) }
                        }
                    }
                }
            }
            p.acts { button.act.main type="submit" { "Ask the days" } }
        }
    }
}

fn level_words(detail: Detail) -> &'static str {
    match detail {
        Detail::Plain => "one coat",
        Detail::Simple => "a few lines",
        Detail::Dressed => "a second layer",
        Detail::Detailed => "several layers",
        Detail::Elaborate => "all of it, and a word",
    }
}

/// The same round cookie with more and more on it, our own drawing: a kite over hills.
fn level_picture(detail: Detail) -> Markup {
    html! {
        svg viewBox="0 0 80 80" aria-hidden="true" {
            circle.baked cx="40" cy="40" r="39" {}
            circle.coat cx="40" cy="40" r="35" {}
            @if detail >= Detail::Dressed {
                path.hill d="M7.5 53C16 42 27 42 36 52S57 64 72.6 53A35 35 0 0 1 7.5 53Z" {}
            }
            @if detail >= Detail::Detailed {
                path.far d="M24 46.5C33 37 44 38 52 46S66 54 73.5 49.5L72.6 53C57 64 45 62 36 52 32 47.500 28 46.200 24 46.500Z" {}
                path.kite d="M47 12 59 22 50 37 39 25Z" {}
                path.tail d="M50 37Q44 43 47 48" {}
            }
            @if detail >= Detail::Simple {
                @if detail < Detail::Detailed { path.tail d="M47 12 59 22 50 37 39 25ZM50 37Q44 43 47 48" {} }
                circle.rim cx="40" cy="40" r="31.500" {}
            }
            @if detail >= Detail::Elaborate {
                path.tail d="M47 12 50 37M39 25 59 22" {}
                path.word d="M19 30q2-7 5 0t5 0 5-1M16 36h14" {}
                path.word d="M46 41l-5 2M48 45l-5 3" {}
            }
        }
    }
}

fn answer(wish: &Wish, asked: &Asked, kitchen: &Kitchen) -> Markup {
    let currency = kitchen.units.currency;
    html! {
        section.answer id="answer" aria-live="polite" {
            @match &asked.answer {
                Err(heads_up) => {
                    h2.yes { "No" }
                    p { (heads_up.message) @if let Some(hint) = &heads_up.hint { " " (hint) } }
                }
                Ok((answer, _)) => (verdict(answer)),
            }
            @if asked.n_unplanned > 0 {
                p.soft {
                    (capital(&counted(asked.n_unplanned, "order below has", "orders below have")))
                    " no plan yet and took no part in this. Ask again once they are planned."
                }
            }
            @if asked.answer.is_ok() { (price(wish, asked, currency)) }
        }
    }
}

fn price(wish: &Wish, asked: &Asked, currency: Currency) -> Markup {
    html! {
        p.money { "About " (show::money(asked.price, currency)) }
        p {
            "for " (counted(wish.count as usize, "cookie", "cookies")) ", which pays you about "
            (show::money(asked.per_hour, currency)) " an hour for " (show::span(asked.hours)) ", all hours counted."
        }
        @if asked.per_hour.to_minor() <= 0 { p { b { "That pays nothing for your work: ask for more, or for more cookies." } } }
        p.soft.small { "These are figures for cookies without a drawing, cut with \u{201c}" (CUTTER) "\u{201d}; a drawing makes them exact." }
    }
}

fn verdict(answer: &Answer) -> Markup {
    let word = match answer.verdict {
        Verdict::Yes => "Yes",
        Verdict::YesIf => "Yes, if",
        Verdict::No => "No",
    };
    let helps = || answer.tried.iter().filter(|one| one.begin.is_some());
    let useless: Vec<String> = answer
        .tried
        .iter()
        .filter(|one| one.begin.is_none())
        .map(|one| one.change.words())
        .collect();
    html! {
        h2.yes { (word) }
        @if answer.verdict == Verdict::Yes { (begin(answer)) }
        @if answer.verdict == Verdict::YesIf { ol.or { @for one in helps() { (tried(one)) } } }
        @if let Some(because) = answer.because.as_ref().filter(|_| answer.begin.is_none()) { p.soft { (because) } }
        @if answer.verdict == Verdict::YesIf && answer.begin.is_some() { (begin(answer)) }
        @if answer.verdict == Verdict::No && !useless.is_empty() {
            details.more {
                summary { "What was tried and would not help" }
                ul { @for words in &useless { li { (capital(words)) "." } } }
            }
        }
        @if answer.begin.is_some() { (own_work(answer)) (room(answer)) }
    }
}

fn begin(answer: &Answer) -> Markup {
    html! {
        @if let Some(begin) = &answer.begin {
            p.lead { "Begin on " b { (begin.strftime("%A %-d %B").to_string()) } " at the latest." }
        }
        @if let Some(on_time) = answer.on_time {
            p {
                "Tried " (N_REPLAYS) " times with work that takes now longer, now shorter than planned, it is packed in time in "
                (format!("{:.0}", on_time.to_one() * 10.0)) " of 10."
            }
        }
        @if !answer.moves.is_empty() {
            p { "The work of " (ui::listed(&answer.moves)) " moves to other hours; it stays in time." }
        }
    }
}

fn tried(one: &Tried) -> Markup {
    html! {
        li {
            (one.change.words())
            @if let Some(begin) = one.begin.as_ref().filter(|_| !matches!(one.change, Change::PastCap { .. })) {
                span.soft { " (begin by " (begin.strftime("%A %-d %B").to_string()) ")" }
            }
        }
    }
}

/// When its own work would lie.
fn own_work(answer: &Answer) -> Markup {
    let work =
        answer.entries.iter().filter(|entry| entry.attended || entry.activity == Activity::Bake);
    html! {
        details.more {
            summary { "When its work would lie" }
            ul.room {
                @for entry in work {
                    li.work {
                        b { (entry.start.strftime("%a %-d %b").to_string()) }
                        span { (capital(&entry.activity.name())) ", " (ui::time(entry.start.datetime())) @if entry.start != entry.end { " to " (ui::time(entry.end.datetime())) } }
                    }
                }
            }
        }
    }
}

/// The room of each day, as bars with their words.
fn room(answer: &Answer) -> Markup {
    let days: Vec<&Room> =
        answer.room.iter().filter(|room| room.hours.to_minutes() > 0.0).collect();
    let longest = days.iter().map(|room| room.hours.to_minutes()).fold(60.0, f64::max);
    let wide = |minutes: f64| format!("{:.1}", 100.0 * minutes / longest);
    html! {
        details.more {
            summary { "The room of each day until then" }
            ul.room {
                @for room in days {
                    @let (hours, free, taken) = (room.hours.to_minutes(), room.free.to_minutes(), room.taken.to_minutes());
                    li {
                        b { (room.day.strftime("%a %-d").to_string()) }
                        svg viewBox="0 0 100 8" preserveAspectRatio="none" aria-hidden="true" {
                            rect.hours width=(wide(hours)) height="8" {}
                            rect.others width=(wide(hours - free)) height="8" {}
                            rect.own x=(wide(hours - free)) width=(wide(taken)) height="8" {}
                        }
                        span {
                            (show::span(room.free)) " free of " (show::span(room.hours))
                            @if taken > 0.0 { ", " b { (show::span(room.taken)) } " for this" }
                        }
                    }
                }
            }
        }
    }
}

/// The same cookies on any day of the eight weeks ahead.
fn eight_weeks(blanks: &Blanks, wish: &Wish, strip: &[StripDay]) -> Markup {
    let Some(first) = strip.first() else { return Markup::default() };
    let offset = first.day.weekday().to_monday_zero_offset() as usize;
    let cells: Vec<Option<&StripDay>> =
        std::iter::repeat_n(None, offset).chain(strip.iter().map(Some)).collect();
    let n = |verdict| strip.iter().filter(|day| day.verdict == verdict).count();
    html! {
        section.weeks {
            h2 { "The same cookies on other days" }
            p.small.soft {
                (counted(n(Verdict::Yes), "day says yes", "days say yes")) " (a full ring), "
                (n(Verdict::YesIf)) " yes, if (a dotted ring), " (n(Verdict::No)) " no (struck out)."
            }
            table {
                thead { tr { @for day in ["Mo", "Tu", "We", "Th", "Fr", "Sa", "Su"] { th scope="col" { (day) } } } }
                tbody {
                    @for week in cells.chunks(7) {
                        tr {
                            @for cell in week { td { @if let Some(day) = cell { (strip_day(blanks, wish, day)) } } }
                            @for _ in week.len()..7 { td {} }
                        }
                    }
                }
            }
            details.more {
                summary { "The same in words" }
                ul { @for day in strip { li { b { (day.day.strftime("%A %-d %B").to_string()) } ": " (in_words(day)) } } }
            }
        }
    }
}

fn in_words(day: &StripDay) -> String {
    match day.verdict {
        Verdict::Yes => format!("yes; {}.", day.words),
        Verdict::YesIf => format!("yes, if {}.", day.words),
        Verdict::No => format!("no. {}", day.words),
    }
}

fn strip_day(blanks: &Blanks, wish: &Wish, day: &StripDay) -> Markup {
    let class = match day.verdict {
        Verdict::Yes => "yes",
        Verdict::YesIf => "if",
        Verdict::No => "no",
    };
    let is_asked = day.day == wish.at.date();
    let words = format!("{}: {}", day_and_month(day.day), in_words(day));
    html! {
        a class=(class) href=(blanks.address(day.day)) title=(words) aria-current=[is_asked.then_some("date")] {
            span { (day.day.day()) @if day.day.day() == 1 { small { (day.day.strftime("%b").to_string()) } } }
            span.unseen { " " (words) }
        }
    }
}
