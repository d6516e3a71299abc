//! What would one call this color?
//!
//! A tone word by lightness and chroma, a hue word by hue angle in CIELAB.
//! The borders are our own, set so that the named sRGB colors of CSS Color Module Level 4 keep their hue word.

use crate::Shade;

/// Hue words with the hue angle (CIELAB, degrees) at which each begins.
const HUES: [(f64, &str); 10] = [
    (0.0, "pink"),
    (18.0, "red"),
    (46.0, "orange"),
    (80.0, "yellow"),
    (108.0, "green"),
    (170.0, "teal"),
    (220.0, "blue"),
    (307.0, "violet"),
    (320.0, "purple"),
    (345.0, "pink"),
];

/// Below this hue angle an orange looks red rather than yellow: pink when it is light, never tan.
const REDDISH: f64 = 62.0;

pub(crate) fn plain_name(shade: Shade) -> String {
    let (lightness, chroma) = (shade.lightness(), shade.chroma());
    if shade.is_white() {
        return "white".to_owned();
    }
    if lightness < 18.0 && chroma < 12.0 {
        return "black".to_owned();
    }
    if chroma < 6.0 {
        return tone(lightness, "gray");
    }
    let hue = shade.hue();
    let word = HUES.iter().rev().find(|(from, _)| hue >= *from).map_or("pink", |(_, word)| word);
    match word {
        // Dull oranges and yellows are what one calls brown, or cream when they are light.
        "red" | "orange" | "yellow" if lightness > 86.0 && chroma < 30.0 => "cream".to_owned(),
        // CIELAB bends toward violet in light blues.
        "blue" if hue > 297.0 && lightness > 60.0 => tone(lightness, "violet"),
        // The hues of skin and rust lie on the red side of orange.
        "orange" if hue < REDDISH && lightness > 75.0 && chroma < 35.0 => "pink".to_owned(),
        "orange" if hue < REDDISH && lightness > 48.0 && chroma > 45.0 => "orange".to_owned(),
        "orange" | "yellow" if chroma < 55.0 && lightness < 70.0 => tone(lightness + 15.0, "brown"),
        "orange" | "yellow" if chroma < 42.0 => "tan".to_owned(),
        "red" if lightness > 68.0 => tone(lightness - 20.0, "pink"),
        "red" if lightness < 40.0 && chroma < 30.0 => "dark brown".to_owned(),
        _ => tone(lightness, word),
    }
}

fn tone(lightness: f64, word: &str) -> String {
    match lightness {
        l if l < 33.0 => format!("dark {word}"),
        l if l > 85.0 && word != "yellow" => format!("pale {word}"),
        _ => word.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use crate::Shade;

    fn check(hex: u32, expected: &str) {
        let [_, red, green, blue] = hex.to_be_bytes();
        assert_eq!(Shade::from_srgb([red, green, blue]).name(), expected, "#{hex:06x}");
    }

    #[test]
    fn the_named_colors_of_css_keep_their_hue_word() {
        // CSS Color Module Level 4, section 6.1, named colors.
        check(0xffffff, "white");
        check(0x000000, "black");
        check(0x808080, "gray");
        check(0xff0000, "red");
        check(0xffa500, "orange");
        check(0xffff00, "yellow");
        check(0x008000, "green");
        check(0x008080, "teal");
        check(0x000080, "dark blue");
        check(0xffc0cb, "pink");
        check(0x800080, "dark purple");
        check(0xd2b48c, "tan");
        check(0x8b4513, "brown");
        check(0xa0522d, "brown");
        check(0xff7f50, "orange");
        check(0xffa07a, "orange");
        check(0xcd853f, "brown");
    }
}
