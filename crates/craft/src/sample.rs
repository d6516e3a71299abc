//! Sample orders, our own scenarios: people, firms and places in them are invented.

/// A sample order folder.
#[derive(Clone, Copy, Debug)]
pub struct Sample {
    /// Its name on the command line.
    pub name: &'static str,
    /// The occasion.
    pub title: &'static str,
    /// The day to plan it from, a few weeks before its pickup.
    pub today: &'static str,
    /// Its files: path below the folder, and text.
    pub files: &'static [(&'static str, &'static str)],
}

/// Embeds files below `samples/NAME/`.
macro_rules! files {
    ($name:literal: $($path:literal),+ $(,)?) => {
        &[$(($path, include_str!(concat!("../samples/", $name, "/", $path)))),+]
    };
}

/// All samples; the first is the one that is planned when nothing else is asked for.
pub const SAMPLES: [Sample; 1] = [Sample {
    name: "lamp-lighting",
    title: "Lamp-lighting evening",
    today: "2027-02-15",
    files: files!("lamp-lighting": "order.toml", "designs/lighthouse.svg", "designs/gull.svg", "designs/plaque.svg", "designs/ring.svg"),
}];
