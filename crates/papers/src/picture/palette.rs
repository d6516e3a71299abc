//! The colors of our pictures: a sheet of paper on a workbench, and cookies that never change with the theme.

use drawing::Color;

const fn rgb(value: u32) -> Color {
    let [_, red, green, blue] = value.to_be_bytes();
    Color { red, green, blue }
}

pub(super) const GROUND: Color = rgb(0xf2ede4);
pub(super) const SHEET: Color = rgb(0xfbf8f2);
pub(super) const INK: Color = rgb(0x2a231c);
pub(super) const SOFT_INK: Color = rgb(0x5c5145);
pub(super) const HAIRLINE: Color = rgb(0x857764);
pub(super) const ACCENT: Color = rgb(0x33557c);
pub(super) const NIGHT: Color = rgb(0x23344d);
pub(super) const MOON: Color = rgb(0xe9dcb8);
pub(super) const TRAY: Color = rgb(0xa9a59c);
pub(super) const TRAY_RIM: Color = rgb(0x7d796f);
pub(super) const PARCHMENT: Color = rgb(0xe9dfc9);
pub(super) const RAW_DOUGH: Color = rgb(0xf0dcb4);
pub(super) const DOUGH: Color = rgb(0xdcb179);
pub(super) const CRUST: Color = rgb(0xb07a3c);
pub(super) const CRUST_EDGE: Color = rgb(0x94622c);

/// Reads a color of a plan; one that cannot be read is shown as white.
pub(crate) fn color_of(hex: &str) -> Color {
    Color::parse(hex).unwrap_or(Color::WHITE)
}

/// Share of its own brightness that the edge of an icing keeps, so that white reads on white.
const EDGE_BRIGHTNESS: f64 = 0.7;

/// Returns the color of an icing's edge.
pub(crate) fn edge_of(color: Color) -> Color {
    let darker = |channel: u8| (f64::from(channel) * EDGE_BRIGHTNESS).round() as u8;
    Color { red: darker(color.red), green: darker(color.green), blue: darker(color.blue) }
}
