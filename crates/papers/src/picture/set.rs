//! The whole set on one tray at true size.

use craft::{document::plan::PlanDocument, kitchen::Measures};
use quantity::Length;

use super::{
    MARGIN, WIDEST,
    cookie::Cookie,
    flow::{Block, Gaps, flow},
    palette::{GROUND, PARCHMENT, TRAY, TRAY_RIM},
    ruler::{RULER_HEIGHT, ruler},
    svg::{Element, picture},
    words::{Anchor, Paragraph, Weight, height_of, set},
};
use crate::scale::Scale;
use crate::words::{counted, size};

/// Rim of the tray.
const RIM: f64 = 4.5;
/// Parchment left around the cookies.
const PADDING: f64 = 11.0;
/// Room for a ruler that says something.
const LEAST_WIDTH: f64 = 90.0;
/// Room for the words under a small cookie.
const LEAST_WORDS: f64 = 44.0;
/// Room between a cookie and the words under it.
const UNDER: f64 = 4.0;

/// Draws the set on a tray at true size: of each design as many copies as are handed over, count and size under them.
pub fn set_picture(plan: &PlanDocument, measures: Measures) -> String {
    let designs = &plan.designs;
    let cookies: Vec<Cookie<'_>> = designs
        .iter()
        .enumerate()
        .map(|(place, design)| Cookie::new(design, &plan.sections, format!("set-{place}"), 1.0))
        .collect();
    let blocks = cookies.iter().zip(designs).enumerate().map(|(place, (cookie, design))| {
        let fan = Fan::new(cookie, design.count.max(1), &whole_id(place));
        let width = fan.width.max(LEAST_WORDS);
        let count = counted(design.count as usize, &design.id);
        let caption = [
            Paragraph::new(&count, 4.4, Weight::Chief, width),
            Paragraph::new(
                &size(Length::mm(design.width_mm), Length::mm(design.height_mm), measures),
                3.2,
                Weight::Side,
                width,
            ),
        ];
        let words = set(&caption, [width / 2.0, UNDER], Anchor::Middle);
        let lying = fan.content.moved([(width - fan.width) / 2.0, 0.0]);
        Block {
            width,
            above: fan.height,
            below: UNDER + height_of(&caption),
            content: Element::group([lying]).with(words),
        }
    });
    let gaps = Gaps { across: 12.0, down: 11.0 };
    let inside = WIDEST - 2.0 * (MARGIN + RIM + PADDING);
    let laid = flow(blocks.collect(), gaps, inside, LEAST_WIDTH);

    let parchment =
        [laid.width + 2.0 * PADDING, PADDING + laid.height + PADDING * 0.6 + RULER_HEIGHT + 2.0];
    let tray = parchment.map(|side| side + 2.0 * RIM);
    let whole = tray.map(|side| side + 2.0 * MARGIN);
    let inner = MARGIN + RIM;
    let wholes = cookies.iter().enumerate().map(|(place, cookie)| {
        Element::new("defs")
            .with([Element::group([cookie.shadow(), cookie.finished()]).set("id", whole_id(place))])
    });
    let n_cookies: u64 = designs.iter().map(|design| u64::from(design.count)).sum();
    let title = format!("{n_cookies} cookies on a tray at true size");
    let content = [
        Element::rect([0.0, 0.0], whole[0], whole[1]).fill(GROUND),
        Element::rect([MARGIN, MARGIN], tray[0], tray[1])
            .set("rx", 6.0)
            .fill(TRAY)
            .stroke(TRAY_RIM, 0.5),
        Element::rect([inner, inner], parchment[0], parchment[1])
            .set("rx", 2.5)
            .fill(PARCHMENT)
            .stroke(TRAY_RIM, 0.3),
        Element::group(laid.content).moved([inner + PADDING, inner + PADDING]),
        Element::group([ruler(laid.width, Scale::TRUE_SIZE)])
            .moved([inner + PADDING, inner + PADDING + laid.height + PADDING * 0.6]),
    ];
    let definitions = cookies.iter().map(Cookie::definitions);
    picture(&title, whole, definitions.chain(wholes).chain(content))
}

fn whole_id(place: usize) -> String {
    format!("set-{place}-whole")
}

/// Copies of a cookie that overlap like cards in a hand, the front one whole and upright.
struct Fan {
    width: f64,
    height: f64,
    /// Its origin is the left end of its foot line.
    content: Element,
}

/// Most copies in one fan; more of them stand in fans behind it.
const MOST_IN_FAN: u32 = 13;
/// Most pictures of one cookie: beyond, nobody counts them, and the words say how many there are.
const MOST_DRAWN: u32 = 104;
/// How far a fan reaches to the right of its front cookie.
const REACH: f64 = 62.0;
/// Most of a covered cookie that is seen.
const MOST_SEEN: f64 = 9.0;

impl Fan {
    fn new(cookie: &Cookie<'_>, count: u32, whole_id: &str) -> Self {
        let drawn = count.min(MOST_DRAWN);
        let n_fans = drawn.div_ceil(MOST_IN_FAN);
        let in_fan = drawn.div_ceil(n_fans);
        let seen = (REACH / f64::from(in_fan.saturating_sub(1).max(1))).min(MOST_SEEN);
        let (height, bounds) = (cookie.height(), cookie.bounds);
        // The copies turn about a point far below, as cards turn about the thumb.
        let pivot = [(bounds.min_x + bounds.max_x) / 2.0, bounds.max_y + 3.0 * height];
        let tilt = (seen / (3.5 * height.max(1.0))).to_degrees();

        let mut copies = Vec::new();
        let (mut low, mut high) = ([f64::MAX; 2], [f64::MIN; 2]);
        for index in 0..drawn {
            let (fan, in_row) = (f64::from(index / in_fan), f64::from(index % in_fan));
            let raised = [fan * seen * 0.5, -fan * height * 0.34];
            let degrees = tilt * in_row;
            for [x, y] in cookie.turned_corners(degrees, pivot) {
                let corner = [x + raised[0], y + raised[1]];
                low = [low[0].min(corner[0]), low[1].min(corner[1])];
                high = [high[0].max(corner[0]), high[1].max(corner[1])];
            }
            let copy = Element::reference(whole_id).turned_about(degrees, pivot);
            copies.push(Element::group([copy]).moved(raised));
        }
        // What lies in front is drawn last.
        copies.reverse();
        let content = Element::group([Element::group(copies).moved([-low[0], -high[1]])]);
        Self { width: high[0] - low[0], height: high[1] - low[1], content }
    }
}
