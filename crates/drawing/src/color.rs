//! Colors of painted shapes.

use thiserror::Error;

/// An opaque color in sRGB, 8 bits a channel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Color {
    /// Red, 0 to 255.
    pub red: u8,
    /// Green, 0 to 255.
    pub green: u8,
    /// Blue, 0 to 255.
    pub blue: u8,
}

/// A color that could not be read.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("\"{text}\" is not a color; write it as six hexadecimal digits, such as #f5ecd7")]
pub struct ColorError {
    text: String,
}

impl Color {
    /// Paper white, what lies under translucent paint where nothing else does.
    pub const WHITE: Self = Self { red: 255, green: 255, blue: 255 };

    /// Reads `#rrggbb` or `#rgb`, in either case, with or without the `#`.
    pub fn parse(text: &str) -> Result<Self, ColorError> {
        let trimmed = text.trim();
        let digits = trimmed.strip_prefix('#').unwrap_or(trimmed);
        let error = || ColorError { text: text.to_owned() };
        if !digits.bytes().all(|byte| byte.is_ascii_hexdigit()) {
            return Err(error());
        }
        let value = u32::from_str_radix(digits, 16).map_err(|_| error())?;
        let byte = |shift: u32| ((value >> shift) & 0xff) as u8;
        let nibble = |shift: u32| ((value >> shift) & 0xf) as u8 * 0x11;
        match digits.len() {
            6 => Ok(Self { red: byte(16), green: byte(8), blue: byte(0) }),
            3 => Ok(Self { red: nibble(8), green: nibble(4), blue: nibble(0) }),
            _ => Err(error()),
        }
    }

    /// Writes `#rrggbb` in lower case.
    pub fn to_hex(self) -> String {
        format!("#{:02x}{:02x}{:02x}", self.red, self.green, self.blue)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str, expected: Option<(u8, u8, u8)>) {
        let read = Color::parse(text).ok().map(|color| (color.red, color.green, color.blue));
        assert_eq!(read, expected, "{text}");
    }

    #[test]
    fn colors_are_read_as_hexadecimal_digits() {
        check("#f5ecd7", Some((0xf5, 0xec, 0xd7)));
        check(" F5ECD7 ", Some((0xf5, 0xec, 0xd7)));
        check("#fa0", Some((0xff, 0xaa, 0x00)));
    }

    #[test]
    fn anything_else_is_refused() {
        for text in ["", "#", "#12345", "#+12345", "red", "#ggg", "#ñ1234", "#1234567"] {
            check(text, None);
        }
    }

    #[test]
    fn a_color_survives_writing_and_reading() {
        let color = Color { red: 1, green: 0xab, blue: 0xff };
        assert_eq!(Color::parse(&color.to_hex()), Ok(color));
    }
}
