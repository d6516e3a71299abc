//! The bundled fonts: lettering on cookies and words in pictures look alike on every machine.

use drawing::Fonts;

/// Bytes of the bundled fonts (SIL Open Font License 1.1, see `assets/font/`).
pub(crate) const FONTS: &[&[u8]] = &[include_bytes!("../assets/font/Quicksand-Bold.ttf")];

/// Returns the fonts drawings are set in.
pub(crate) fn fonts() -> Fonts {
    Fonts::from_bytes(FONTS.iter().map(|font| font.to_vec()))
}
