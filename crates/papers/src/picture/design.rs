//! One design alone, finished or in the middle of the work.

use craft::document::plan::{DesignDocument, PassDocument, PlanDocument};

use super::{
    cookie::{Cookie, State},
    svg::{Element, picture},
};
use crate::words::spoken;

/// Draws the design at this place of the plan at true size with everything on it; the picture is as large as the cookie.
///
/// Nothing if the plan has no such design.
pub fn design_picture(plan: &PlanDocument, design: usize) -> Option<String> {
    let document = plan.designs.get(design)?;
    let cookie = Cookie::new(document, &plan.sections, format!("design-{design}"), 1.0);
    Some(framed(&cookie, &spoken(&document.id), cookie.finished()))
}

/// Draws a design at true size as it looks during a pass: iced before, piped now with a drawn edge, still naked as a ghost.
///
/// `design` and `pass` are places in the plan; behind the last pass everything is iced.
/// Nothing if the plan has no such design.
pub fn pass_picture(plan: &PlanDocument, design: usize, pass: usize) -> Option<String> {
    let document = plan.designs.get(design)?;
    let cookie = Cookie::new(document, &plan.sections, format!("pass-{pass}-design-{design}"), 1.0);
    let title = match plan.passes.get(pass) {
        Some(_) => format!("{} during pass {}", spoken(&document.id), pass + 1),
        None => spoken(&document.id),
    };
    let drawn = cookie.drawn(|section| {
        plan.sections.get(section).map_or(State::Naked, |one| state_at(&plan.passes, &one.id, pass))
    });
    Some(framed(&cookie, &title, drawn))
}

/// Tells whether a pass touches a design.
pub(super) fn touches(pass: &PassDocument, design: &DesignDocument) -> bool {
    pass.sections.iter().any(|section| design.sections.contains(section))
}

/// Returns how far a section is during a pass.
pub(super) fn state_at(passes: &[PassDocument], section: &str, pass: usize) -> State {
    let has = |pass: &PassDocument| pass.sections.iter().any(|id| id == section);
    // Pieces on paper are not on the cookie yet.
    let is_on_cookie = |pass: &PassDocument| !pass.ahead && has(pass);
    if passes.get(pass).is_some_and(has) {
        State::Now
    } else if pass >= passes.len() || passes.iter().take(pass).any(is_on_cookie) {
        State::Iced
    } else {
        State::Naked
    }
}

pub(super) fn framed(cookie: &Cookie<'_>, title: &str, drawn: Element) -> String {
    let corner = [-cookie.bounds.min_x, -cookie.bounds.min_y];
    picture(
        title,
        [cookie.width(), cookie.height()],
        [cookie.definitions(), Element::group([drawn]).moved(corner)],
    )
}
