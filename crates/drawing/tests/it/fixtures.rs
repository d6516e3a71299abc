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

/// Names files under `fixtures/features` and takes them in.
macro_rules! features {
    ($($name:literal),+ $(,)?) => {
        [$(($name, include_str!(concat!("../../../../fixtures/features/", $name, ".svg")))),+]
    };
}

/// One drawing for each feature of SVG, with its name.
pub(crate) const FEATURES: [(&str, &str); 31] = features![
    "image",
    "masking_clip_path",
    "masking_mask_alpha",
    "masking_mask_gradient",
    "masking_mask_luminance",
    "masking_mask_of_mask",
    "painting_fill_rules",
    "painting_gradient_linear",
    "painting_gradient_radial",
    "painting_group_opacity",
    "painting_markers",
    "painting_opacity",
    "painting_order",
    "painting_pattern",
    "painting_stroke_caps",
    "painting_stroke_dashes",
    "painting_stroke_joins",
    "shapes_basic",
    "shapes_paths",
    "structure_aspect_ratio",
    "structure_current_color",
    "structure_lengths_in_percent",
    "structure_nested_svg",
    "structure_no_size_at_all",
    "structure_no_view_box",
    "structure_presentation_attributes",
    "structure_style_element",
    "structure_transforms",
    "structure_use_symbol",
    "text_letters",
    "text_on_a_path",
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
