//! One design alone, finished or in the middle of the work.

use craft::{
    passes::Pass,
    plan::OrderPlan,
    technique::{Design, Sections},
};

use super::{
    cookie::{Cookie, State},
    svg::{Element, picture},
    words::spoken,
};

/// Draws one design at true size with everything on it; the picture is as large as the cookie.
pub fn design_picture(design: &Design, sections: &Sections) -> String {
    let key = format!("design-{}", place_of(design, sections));
    let cookie = Cookie::new(design, sections, key, 1.0);
    framed(&cookie, &spoken(&design.id), cookie.finished())
}

/// Draws one design at true size as it looks during a pass: iced before, piped now with a drawn edge, still naked as a ghost.
///
/// `pass` is the place of the pass in the plan; behind the last one everything is iced.
pub fn pass_picture(plan: &OrderPlan, design: &Design, pass: usize) -> String {
    let key = format!("pass-{pass}-design-{}", place_of(design, &plan.sections));
    let cookie = Cookie::new(design, &plan.sections, key, 1.0);
    let title = match plan.passes.passes.get(pass) {
        Some(_) => format!("{} during pass {}", spoken(&design.id), pass + 1),
        None => spoken(&design.id),
    };
    framed(&cookie, &title, cookie.drawn(|section| state_at(&plan.passes.passes, section, pass)))
}

/// Returns how far a section is during a pass.
pub(super) fn state_at(passes: &[Pass], section: usize, pass: usize) -> State {
    let has = |pass: &Pass| pass.sections().any(|place| place == section);
    if passes.get(pass).is_some_and(has) {
        State::Now
    } else if pass >= passes.len() || passes.iter().take(pass).any(has) {
        State::Iced
    } else {
        State::Naked
    }
}

fn framed(cookie: &Cookie<'_>, title: &str, drawn: Element) -> String {
    let corner = [-cookie.bounds.min_x, -cookie.bounds.min_y];
    picture(
        title,
        [cookie.width(), cookie.height()],
        [cookie.definitions(), Element::group([drawn]).moved(corner)],
    )
}

/// Tells designs of an order apart, so that several of their pictures may stand on one page.
fn place_of(design: &Design, sections: &Sections) -> usize {
    sections.designs.iter().position(|other| other.id == design.id).unwrap_or_default()
}
