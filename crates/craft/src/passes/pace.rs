//! How long does one section take on one cookie?
//!
//! A piece that is piped on paper ahead and laid on later takes its time twice:
//! edge and area on paper ([`piece_time`]), each piece laid on like a dot on the cookie.
//!
//! t = h + e / v_e + A / v_f + l / v_l + n t_d
//!
//! - `h` taking up and putting down the cookie
//! - `e` edge of a flood, `v_e` piping speed of an outline; `A` its area, `v_f` fill speed
//! - `l` length of line or lettering, `v_l` its speed
//! - `n` dots, `t_d` time for one
//!
//! Source: common practice, no source; the speeds are measured by each kitchen.
//!
//! # Worked example
//! A round base of 68 cm² (edge 280 mm inside its inset, 62 cm²): 8 + 280/12 + 6224/141 = 75 s.

use quantity::{Length, Span};

use crate::{
    kitchen::Pace,
    technique::{Section, Technique},
};

/// Returns the time a section takes on one cookie.
pub fn section_time(pace: &Pace, section: &Section) -> Span {
    let work = match section.technique {
        Technique::Naked => return Span::ZERO,
        Technique::Flood | Technique::Stiff | Technique::Stencil | Technique::Airbrush => {
            Span::along(section.edge, pace.edge_per_second)
                + Span::seconds(section.poured_area / pace.fill_per_second)
        }
        Technique::Line | Technique::Lettering | Technique::Marker | Technique::Paint => {
            Span::along(line_length(section), pace.line_per_second)
        }
        Technique::Dot
        | Technique::Transfer
        | Technique::Print
        | Technique::Sprinkle
        | Technique::Dust => pace.dot * section.n_parts.max(1) as f64,
    };
    pace.handling + work
}

/// Returns the time to pipe on paper what is laid on one cookie later.
pub fn piece_time(pace: &Pace, section: &Section) -> Span {
    pace.dot * section.n_parts.max(1) as f64
        + Span::along(section.edge, pace.edge_per_second)
        + Span::seconds(section.poured_area / pace.fill_per_second)
}

/// Length of line, or half its way around where the maker made a line of an area.
fn line_length(section: &Section) -> Length {
    if section.line > Length::ZERO { section.line } else { section.edge / 2.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        document::start_kitchen,
        order::{Cutter, Detail},
        technique::stand_in_sections,
    };
    use drawing::Color;

    #[test]
    fn flooding_24_cookies_takes_about_half_an_hour() {
        // Common practice, no source: about 30 minutes, within 20 %; the size of 68 cm² is ours.
        let kitchen = start_kitchen();
        let outline = Cutter::parse("round 93 mm").expect("a cutter").outline();
        let base = outline.inset(kitchen.icing.edge_inset);
        let white = Color { red: 255, green: 255, blue: 255 };
        let (sections, _) = stand_in_sections("round", 0, &base, Detail::Plain, &[white]);
        let minutes = (section_time(&kitchen.pace, &sections[0]) * 24.0).to_minutes();
        assert!((24.0..=36.0).contains(&minutes), "{minutes} min");
    }
}
