//! A design with its sections, whether it comes from a plan or straight from a drawing.

use craft::document::{
    art::ArtDocument,
    plan::{DesignDocument, PlanDocument, SectionDocument},
};

use super::{
    cookie::{Cookie, State},
    design::framed,
};
use crate::words::spoken;

/// A design and its sections, from the cookie up.
#[derive(Clone, Debug)]
pub struct DrawnDesign {
    pub(super) design: DesignDocument,
    pub(super) sections: Vec<SectionDocument>,
}

impl DrawnDesign {
    /// Takes the design at this place of a plan; nothing if the plan has no such design.
    pub fn of_plan(plan: &PlanDocument, design: usize) -> Option<Self> {
        let design = plan.designs.get(design)?.clone();
        let own = plan.sections.iter().filter(|section| section.design == design.id);
        Some(Self { sections: own.cloned().collect(), design })
    }

    /// Takes a drawing that belongs to no order, so that nothing of it has a mass or a count.
    pub fn of_art(art: &ArtDocument) -> Self {
        let design = DesignDocument {
            id: art.design.clone(),
            count: 1,
            extras: 0,
            drawn: true,
            detail: String::new(),
            width_mm: art.width_mm,
            height_mm: art.height_mm,
            shape_area_mm2: art.shape_area_mm2,
            outline_d: art.outline_d.clone(),
            sections: art.sections.iter().map(|section| section.id.clone()).collect(),
        };
        let sections = art.sections.iter().map(|section| SectionDocument {
            id: section.id.clone(),
            design: art.design.clone(),
            color: section.color.clone(),
            technique: section.technique.clone(),
            onto: section.onto.clone(),
            layer: section.layer,
            path_d: section.path_d.clone(),
            poured_d: section.poured_d.clone(),
            visible_area_mm2: section.visible_area_mm2,
            poured_area_mm2: section.poured_area_mm2,
            edge_mm: section.edge_mm,
            line_mm: section.line_mm,
            smallest_width_mm: section.smallest_width_mm,
            on_cookie_g: 0.0,
            reason: section.reason.clone(),
        });
        Self { sections: sections.collect(), design }
    }

    /// Returns the ids of its sections, from the cookie up.
    pub fn section_ids(&self) -> Vec<&str> {
        self.sections.iter().map(|section| section.id.as_str()).collect()
    }

    pub(super) fn cookie(&self, key: &str) -> Cookie<'_> {
        Cookie::new(&self.design, &self.sections, key.to_owned(), 1.0)
    }
}

/// Draws a design at true size with everything on it in plain colors.
pub fn finished_picture(drawn: &DrawnDesign) -> String {
    let cookie = drawn.cookie("finished");
    framed(&cookie, &spoken(&drawn.design.id), cookie.finished())
}

/// Draws a design at true size with some sections iced, some piped now and the others still naked.
///
/// Sections are named by id; one that is in both lists is piped now.
pub fn states_picture(drawn: &DrawnDesign, iced: &[&str], now: &[&str]) -> String {
    let cookie = drawn.cookie("states");
    let content = cookie.drawn(|place| match drawn.sections.get(place) {
        Some(section) if now.contains(&section.id.as_str()) => State::Now,
        Some(section) if iced.contains(&section.id.as_str()) => State::Iced,
        _ => State::Naked,
    });
    framed(&cookie, &spoken(&drawn.design.id), content)
}

#[cfg(test)]
pub(super) mod tests {
    use drawing::{Region, region::FillRule};

    use super::*;

    /// A plaque of 60 x 40 mm with a base and a square of a second layer.
    pub(in crate::picture) fn plaque() -> DrawnDesign {
        let rectangle = |[x, y]: [f64; 2], width: f64, height: f64| {
            let ring = vec![[x, y], [x + width, y], [x + width, y + height], [x, y + height]];
            Region::from_rings(&[ring], FillRule::NonZero)
        };
        let section = |id: &str, color: &str, layer: u32, region: &Region| SectionDocument {
            id: format!("plaque/{id}"),
            design: "plaque".to_owned(),
            color: color.to_owned(),
            technique: "flood".to_owned(),
            onto: if layer == 1 { "cookie" } else { "set" }.to_owned(),
            layer,
            path_d: region.path_d(),
            poured_d: String::new(),
            visible_area_mm2: region.area().to_mm2(),
            poured_area_mm2: region.area().to_mm2(),
            edge_mm: region.edge_length().to_mm(),
            line_mm: 0.0,
            smallest_width_mm: region.smallest_width().to_mm(),
            on_cookie_g: 0.0,
            reason: String::new(),
        };
        let outline = rectangle([0.0, 0.0], 60.0, 40.0);
        let sections = vec![
            section("base", "#f5ecd7", 1, &rectangle([2.0, 2.0], 56.0, 36.0)),
            section("top", "#c81e3c", 2, &rectangle([20.0, 10.0], 20.0, 20.0)),
        ];
        let design = DesignDocument {
            id: "plaque".to_owned(),
            count: 1,
            extras: 0,
            drawn: true,
            detail: "dressed".to_owned(),
            width_mm: 60.0,
            height_mm: 40.0,
            shape_area_mm2: 2400.0,
            outline_d: outline.path_d(),
            sections: sections.iter().map(|section| section.id.clone()).collect(),
        };
        DrawnDesign { design, sections }
    }

    #[test]
    fn each_section_is_drawn_in_its_own_state() {
        let drawn = plaque();
        // A ghost is nearly clear, what is iced is not, and what is piped now has an edge around it.
        let ghosts = |picture: &str| picture.matches(r#"fill-opacity="0.16""#).count();
        let naked = states_picture(&drawn, &[], &[]);
        assert_eq!(ghosts(&naked), 2);
        let begun = states_picture(&drawn, &["plaque/base"], &["plaque/top"]);
        assert_eq!(ghosts(&begun), 0);
        assert!(begun.len() > states_picture(&drawn, &["plaque/base", "plaque/top"], &[]).len());
        assert_eq!(drawn.section_ids(), ["plaque/base", "plaque/top"]);
    }
}
