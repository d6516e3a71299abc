//! The drawings the tests read.

use drawing::Fonts;

/// Every drawing under `fixtures/drawings`, with its name.
pub(crate) const DRAWINGS: [(&str, &str); 11] = [
    ("clips", include_str!("../../../../fixtures/drawings/clips.svg")),
    ("clones", include_str!("../../../../fixtures/drawings/clones.svg")),
    ("fill_rules", include_str!("../../../../fixtures/drawings/fill_rules.svg")),
    ("garden_50", include_str!("../../../../fixtures/drawings/garden_50.svg")),
    ("heart_plaque", include_str!("../../../../fixtures/drawings/heart_plaque.svg")),
    ("lettering", include_str!("../../../../fixtures/drawings/lettering.svg")),
    ("lines", include_str!("../../../../fixtures/drawings/lines.svg")),
    ("nested_transforms", include_str!("../../../../fixtures/drawings/nested_transforms.svg")),
    ("overlaps", include_str!("../../../../fixtures/drawings/overlaps.svg")),
    ("style_sheet", include_str!("../../../../fixtures/drawings/style_sheet.svg")),
    ("thin_lines", include_str!("../../../../fixtures/drawings/thin_lines.svg")),
];

/// Every drawing of the sample orders, with its name.
pub(crate) const SAMPLES: [(&str, &str); 10] = [
    ("lighthouse", include_str!("../../../craft/samples/lamp-lighting/designs/lighthouse.svg")),
    ("gull", include_str!("../../../craft/samples/lamp-lighting/designs/gull.svg")),
    ("plaque", include_str!("../../../craft/samples/lamp-lighting/designs/plaque.svg")),
    ("ring", include_str!("../../../craft/samples/lamp-lighting/designs/ring.svg")),
    ("fox", include_str!("../../../craft/samples/naming-party/designs/fox.svg")),
    ("letter-z", include_str!("../../../craft/samples/naming-party/designs/letter-z.svg")),
    ("letter-o", include_str!("../../../craft/samples/naming-party/designs/letter-o.svg")),
    (
        "letter-e-diaeresis",
        include_str!("../../../craft/samples/naming-party/designs/letter-e-diaeresis.svg"),
    ),
    ("name-round", include_str!("../../../craft/samples/naming-party/designs/name-round.svg")),
    ("star", include_str!("../../../craft/samples/naming-party/designs/star.svg")),
];

/// The font the program brings along.
pub(crate) const FONT: &[u8] =
    include_bytes!("../../../sugarwright/assets/font/Quicksand-Bold.ttf");

/// Returns the fonts to read the drawings with.
pub(crate) fn fonts() -> Fonts {
    Fonts::from_bytes([FONT.to_vec()])
}
