//! Things the maker must know: how bad, what it is about, what is the matter, what to do.

/// Something the maker must know.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HeadsUp {
    /// How bad it is.
    pub severity: Severity,
    /// What it is about.
    pub subject: Subject,
    /// What is the matter: one sentence.
    pub message: String,
    /// What to do about it: one sentence, or nothing.
    pub hint: Option<String>,
}

impl HeadsUp {
    /// Creates a heads-up without a hint.
    pub fn new(severity: Severity, subject: Subject, message: impl Into<String>) -> Self {
        Self { severity, subject, message: message.into(), hint: None }
    }

    /// Adds what to do about it.
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }
}

/// How bad a heads-up is, worst last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Good to know.
    Note,
    /// Likely to go wrong unless something is done.
    Caution,
    /// The work cannot go on like this.
    Stop,
}

/// What a heads-up is about: a kind of thing and the id of the one that is meant.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Subject {
    /// The whole order.
    Order,
    /// An item, by name.
    Item(String),
    /// A section, by id.
    Section(String),
    /// The icing that is made.
    Icing,
    /// A bowl, by id.
    Bowl(String),
    /// A pass, by id.
    Pass(String),
    /// Dough and cutting.
    Dough,
    /// Trays and oven.
    Baking,
    /// The days.
    Days,
    /// The price.
    Price,
    /// The label.
    Label,
    /// The packing.
    Packing,
}

impl Subject {
    /// Returns the kind of thing, one word.
    pub fn kind(&self) -> &'static str {
        match self {
            Self::Order => "order",
            Self::Item(_) => "item",
            Self::Section(_) => "section",
            Self::Icing => "icing",
            Self::Bowl(_) => "bowl",
            Self::Pass(_) => "pass",
            Self::Dough => "dough",
            Self::Baking => "baking",
            Self::Days => "days",
            Self::Price => "price",
            Self::Label => "label",
            Self::Packing => "packing",
        }
    }

    /// Returns the id of the thing; empty where there is only one of its kind.
    pub fn id(&self) -> &str {
        match self {
            Self::Item(id) | Self::Section(id) | Self::Bowl(id) | Self::Pass(id) => id,
            _ => "",
        }
    }
}
