//! One cookie at true size, from the dough up: what is iced, what is piped now, what is still naked.

use craft::document::plan::{DesignDocument, SectionDocument};
use drawing::{Color, Region, region::Bounds};

use super::{
    palette::{ACCENT, CRUST, CRUST_EDGE, DOUGH, INK, SHEET, color_of, edge_of},
    svg::Element,
    words::{Anchor, Weight, line, width_of},
};

/// How far a section is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum State {
    Naked,
    Now,
    Iced,
}

/// The paths of one design, kept once in a picture under ids that start with `key`.
pub(super) struct Cookie<'a> {
    design: &'a DesignDocument,
    outline: Region,
    /// The sections that are laid on, each with its place in the plan and its color.
    sections: Vec<(usize, &'a SectionDocument, Color)>,
    key: String,
    /// Width of a drawn edge in the cookie's own millimeters.
    pen: f64,
    pub(super) bounds: Bounds,
}

/// Width of the edge of what is piped now, in millimeters of the picture.
const DRAWN_EDGE: f64 = 0.45;

/// The technique of what stays without icing.
const NAKED: &str = "naked";
/// What a cookie without a drawing says.
const NO_DRAWING: &str = "no drawing yet";

impl<'a> Cookie<'a> {
    /// `key` must be unlike the keys of other cookies in the picture, and of other pictures on the same page.
    ///
    /// `scale` says how much smaller than life it will be drawn, so that drawn edges stay as wide as a pen.
    pub(super) fn new(
        design: &'a DesignDocument,
        sections: &'a [SectionDocument],
        key: String,
        scale: f64,
    ) -> Self {
        let sections = sections
            .iter()
            .enumerate()
            .filter(|(_, section)| section.design == design.id && section.technique != NAKED)
            .map(|(place, section)| (place, section, color_of(&section.color)))
            .collect();
        let nowhere = Bounds { min_x: 0.0, min_y: 0.0, max_x: 0.0, max_y: 0.0 };
        let outline = Region::from_path_d(&design.outline_d).unwrap_or_default();
        let bounds = outline.bounds().unwrap_or(nowhere);
        Self { design, outline, sections, key, pen: DRAWN_EDGE / scale.max(0.01), bounds }
    }

    pub(super) fn width(&self) -> f64 {
        self.bounds.max_x - self.bounds.min_x
    }

    pub(super) fn height(&self) -> f64 {
        self.bounds.max_y - self.bounds.min_y
    }

    /// The paths that [`Self::drawn`] and [`Self::shadow`] refer to.
    pub(super) fn definitions(&self) -> Element {
        let outline = Element::path(self.design.outline_d.clone()).set("id", self.outline_id());
        let clip = Element::new("clipPath")
            .set("id", self.clip_id())
            .with([Element::reference(&self.outline_id())]);
        let sections = self.sections.iter().map(|(place, section, _)| {
            Element::path(shown(section).to_owned()).set("id", self.section_id(*place))
        });
        Element::new("defs").with([outline, clip]).with(sections)
    }

    /// A shadow to lie under the cookie, a little to the lower right.
    pub(super) fn shadow(&self) -> Element {
        Element::reference(&self.outline_id()).fill(INK).set("fill-opacity", 0.22).moved([0.5, 0.8])
    }

    /// The bare cookie.
    pub(super) fn naked(&self) -> Element {
        let rim = |color, width: f64, opacity: f64| {
            Element::reference(&self.outline_id())
                .set("fill", "none")
                .stroke(color, width)
                .set("stroke-opacity", opacity)
        };
        // Half of each stroke falls outside of the cookie and is cut off, so that the picture is no wider than the cookie.
        let browned = Element::group([rim(CRUST, 4.6, 0.45), rim(CRUST_EDGE, 1.6, 0.75)])
            .set("clip-path", format!("url(#{})", self.clip_id()));
        Element::group([Element::reference(&self.outline_id()).fill(DOUGH), browned])
    }

    /// The cookie with each section in its state; `state` takes the section's place in the chapter.
    pub(super) fn drawn(&self, state: impl Fn(usize) -> State) -> Element {
        let cookie = self.naked();
        if !self.design.drawn {
            return cookie.with(self.dots(state));
        }
        cookie.with(self.sections.iter().map(|&(place, section, color)| match state(place) {
            State::Iced => self.iced(place, section, color),
            State::Now => self.now(place, section, color),
            State::Naked => self.ghost(place, color),
        }))
    }

    /// The cookie with everything on it; one without a drawing says so.
    pub(super) fn finished(&self) -> Element {
        let cookie = self.drawn(|_| State::Iced);
        if self.design.drawn {
            return cookie;
        }
        let (x, y) = self.center();
        let size = (self.width() * 0.8 / width_of(NO_DRAWING, 1.0)).min(3.4);
        cookie.with([line(NO_DRAWING, [x, y + size * 2.2], size, Anchor::Middle, Weight::Chief)])
    }

    fn iced(&self, place: usize, section: &SectionDocument, color: Color) -> Element {
        self.laid(place, color)
            .stroke(edge_of(color), (section.smallest_width_mm * 0.2).clamp(0.1, 0.35))
            .set("stroke-linejoin", "round")
    }

    /// The drawn edge lies around the section, so that its color is seen however fine it is;
    /// a pale line around the edge parts it from icing as dark as itself.
    fn now(&self, place: usize, section: &SectionDocument, color: Color) -> Element {
        let around = |color, width: f64| {
            Element::reference(&self.section_id(place))
                .set("fill", "none")
                .stroke(color, width)
                .set("stroke-linejoin", "round")
        };
        Element::group([
            around(SHEET, self.pen * 3.4),
            around(ACCENT, self.pen * 2.0),
            self.iced(place, section, color),
        ])
    }

    fn ghost(&self, place: usize, color: Color) -> Element {
        self.laid(place, color).set("fill-opacity", 0.16)
    }

    fn laid(&self, place: usize, color: Color) -> Element {
        Element::reference(&self.section_id(place)).fill(color)
    }

    /// A dot for each color: what is known of a cookie without a drawing.
    fn dots(&self, state: impl Fn(usize) -> State) -> Vec<Element> {
        let mut colors: Vec<(Color, State)> = Vec::new();
        for &(place, _, color) in &self.sections {
            let state = state(place);
            match colors.iter_mut().find(|(other, _)| *other == color) {
                // What is piped now is told before what is iced already.
                Some((_, known)) if *known != State::Now => {
                    *known = if state == State::Now { state } else { (*known).max(state) };
                }
                Some(_) => {}
                None => colors.push((color, state)),
            }
        }
        let step = (self.width() * 0.7 / colors.len().max(1) as f64).min(9.0);
        let (x, y) = self.center();
        let first = x - step * colors.len().saturating_sub(1) as f64 / 2.0;
        let dot = |(index, (color, state)): (usize, (Color, State))| {
            let dot = Element::circle([first + step * index as f64, y], step * 0.4).fill(color);
            match state {
                State::Iced => dot.stroke(edge_of(color), 0.35),
                State::Now => dot.stroke(ACCENT, self.pen),
                State::Naked => dot.set("fill-opacity", 0.16),
            }
        };
        colors.into_iter().enumerate().map(dot).collect()
    }

    /// The corners of the outline, turned clockwise about a point.
    pub(super) fn turned_corners(
        &self,
        degrees: f64,
        [px, py]: [f64; 2],
    ) -> impl Iterator<Item = [f64; 2]> {
        let (sin, cos) = degrees.to_radians().sin_cos();
        self.outline.rings().flatten().map(move |&[x, y]| {
            let (x, y) = (x - px, y - py);
            [px + x * cos - y * sin, py + x * sin + y * cos]
        })
    }

    fn center(&self) -> (f64, f64) {
        let Bounds { min_x, min_y, max_x, max_y } = self.bounds;
        ((min_x + max_x) / 2.0, (min_y + max_y) / 2.0)
    }

    fn outline_id(&self) -> String {
        format!("{}-outline", self.key)
    }

    fn clip_id(&self) -> String {
        format!("{}-clip", self.key)
    }

    pub(super) fn section_id(&self, place: usize) -> String {
        format!("{}-section-{place}", self.key)
    }
}

/// What is poured, also under what is laid on top; what one sees, where nothing is poured.
pub(super) fn shown(section: &SectionDocument) -> &str {
    if section.poured_d.is_empty() { &section.path_d } else { &section.poured_d }
}
