//! The cover: what is promised, to whom, for when, and what is in the way.

use craft::{document::plan::PlanDocument, kitchen::Kitchen};
use jiff::ZonedDateTime;
use quantity::Length;
use serde::Serialize;

use super::{
    drawn::has_outline,
    files::Files,
    notes::{Note, pressing},
    scale::{Room, fitting},
    standing::{Shown, Standing, on_ruler},
};
use crate::picture::design_picture;
use crate::words::{counted, date, listed, n_of, size, spoken, time};

#[derive(Serialize)]
pub(super) struct Cover {
    sentence: String,
    /// Hand-overs, each a sentence, if there are several.
    handovers: Vec<String>,
    must_have: String,
    avoid: String,
    /// What is settled or open about the wording.
    wording: String,
    wording_open: bool,
    notes: Vec<Note>,
    set: Shown,
    planned: String,
}

/// Between two rows of designs stand the words of the upper one.
const ROOM: Room = Room { width: 186.0, height: 150.0, gap: 6.0, caption: 15.0, least_width: 22.0 };

pub(super) fn cover(document: &PlanDocument, kitchen: &Kitchen, files: &mut Files) -> Cover {
    let order = &document.order;
    let customer = if order.invented && !order.customer.contains("invented") {
        format!("{} (invented)", order.customer)
    } else {
        order.customer.clone()
    };
    let cookies = n_of(order.count as usize, "cookie", "cookies");
    let times: Vec<String> =
        order.handovers.iter().map(|handover| spoken_time(&handover.at)).collect();
    let sentence = match times.as_slice() {
        [] => format!("{cookies} for {customer}; no hand-over is agreed yet."),
        [only] => format!("{cookies} for {customer}, handed over on {only}."),
        several => {
            let n = n_of(several.len(), "hand-over", "hand-overs");
            format!("{cookies} for {customer}, in {n}.")
        }
    };
    let handover = |(place, at): (usize, &String)| {
        let counts = order.handovers.get(place).map(|handover| &handover.counts);
        let counts = counts.into_iter().flatten().filter(|count| count.count > 0);
        let counted: Vec<String> = counts.map(|one| counted(one.count, &one.design)).collect();
        format!("{at}: {}.", listed(&counted))
    };
    let several = times.len() > 1;
    Cover {
        sentence,
        handovers: times.iter().enumerate().filter(|_| several).map(handover).collect(),
        must_have: listed(&order.must_have),
        avoid: listed(&order.avoid),
        wording: if order.wording_confirmed {
            "The wording is confirmed in writing.".to_owned()
        } else {
            "The wording is not confirmed in writing.".to_owned()
        },
        wording_open: !order.wording_confirmed,
        notes: pressing(document),
        set: set(document, kitchen, files),
        planned: format!(
            "Planned on {} by {}.",
            document.basis.today.parse().map_or_else(
                |_| document.basis.today.clone(),
                |day: jiff::civil::Date| day.strftime("%-d %B %Y").to_string()
            ),
            document.basis.engine
        ),
    }
}

/// "Saturday 6 March 2027 at 10:00"; as it is written if it is no time.
fn spoken_time(at: &str) -> String {
    at.parse().map_or_else(
        |_| at.to_owned(),
        |at: ZonedDateTime| format!("{} at {}", date(&at), time(&at)),
    )
}

fn set(document: &PlanDocument, kitchen: &Kitchen, files: &mut Files) -> Shown {
    let measures = kitchen.units.measures;
    let sizes: Vec<[f64; 2]> =
        document.designs.iter().map(|design| [design.width_mm, design.height_mm]).collect();
    let scale = fitting(&sizes, ROOM);
    let designs = document.designs.iter().enumerate().filter_map(|(place, design)| {
        if !has_outline(design) {
            return None;
        }
        let size_mm = [design.width_mm, design.height_mm].map(|mm| scale.shown(mm));
        let alt = format!("{}, finished", spoken(&design.id));
        let svg = design_picture(document, place)?;
        let extras = match design.extras {
            0 => String::new(),
            extras => format!(" and {}", n_of(extras as usize, "extra", "extras")),
        };
        let picture = files.add(format!("design-{place}"), svg, size_mm, alt);
        let name = format!("{}{extras}", counted(design.count, &design.id));
        let words = size(Length::mm(design.width_mm), Length::mm(design.height_mm), measures);
        Some(Standing::new(picture, name, words, ROOM))
    });
    let designs = designs.collect();
    on_ruler("set", designs, scale, ROOM, measures, files)
}
