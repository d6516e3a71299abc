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
pub const SAMPLES: [Sample; 2] = [
    Sample {
        name: "lamp-lighting",
        title: "Lamp-lighting evening",
        today: "2027-02-15",
        files: files!("lamp-lighting":
            "order.toml",
            "designs/gull.svg",
            "designs/lighthouse.svg",
            "designs/plaque.svg",
            "designs/ring.svg",
        ),
    },
    Sample {
        name: "naming-party",
        title: "Naming party for Zoë",
        today: "2027-02-22",
        files: files!("naming-party":
            "order.toml",
            "designs/fox.svg",
            "designs/fox.toml",
            "designs/letter-e-diaeresis.svg",
            "designs/letter-o.svg",
            "designs/letter-z.svg",
            "designs/name-round.svg",
            "designs/star.svg",
        ),
    },
];
