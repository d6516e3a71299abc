use std::{io, path::PathBuf};

/// Why a command could not do its work; each message says what, where and what to do.
#[derive(Debug, thiserror::Error)]
pub enum Failure {
    /// A file of the order or the kitchen was refused.
    #[error("{}: {source}", folder.display())]
    File {
        /// The order folder.
        folder: PathBuf,
        /// What was refused.
        source: craft::document::FileError,
    },
    /// A request was refused.
    #[error(transparent)]
    Request(craft::document::FileError),
    /// A drawing was refused on its way in.
    #[error("{}: the drawing \"{design}\": {source}", folder.display())]
    Drawing {
        /// The order folder.
        folder: PathBuf,
        /// The drawing's name.
        design: String,
        /// What is wrong with it.
        source: drawing::Error,
    },
    /// A drawing on its own, or a picture of it, could not be read or written.
    #[error("{} cannot be read or written: {source}", file.display())]
    Art {
        /// The file.
        file: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// A drawing on its own was refused.
    #[error("{}: {source}{}", file.display(), size_hint(source))]
    ArtRefused {
        /// The drawing.
        file: PathBuf,
        /// What is wrong with it.
        source: drawing::Error,
    },
    /// What is written would take the place of what is read.
    #[error("{} is what is read; give what is written another name", file.display())]
    OwnInput {
        /// The file.
        file: PathBuf,
    },
    /// There is nothing of some words that can be set.
    #[error("none of these words can be set; give at least one letter the alphabet has")]
    NoWords,
    /// A section was asked for that the drawing does not have.
    #[error("the drawing has no section \"{asked}\"; it has {have}")]
    NoSection {
        /// What was asked for.
        asked: String,
        /// What there is, as a list to read.
        have: String,
    },
    /// A drawing is missing or cannot be read at true size.
    #[error("{}: {source}", folder.display())]
    Brief {
        /// The order folder.
        folder: PathBuf,
        /// What was refused.
        source: craft::order::BriefError,
    },
    /// A hand-over lies before today.
    #[error("{}: {source}", folder.display())]
    Past {
        /// The order folder.
        folder: PathBuf,
        /// Which hand-over.
        source: craft::order::PastHandover,
    },
    /// The clock gave no usable date.
    #[error("today's date is unknown; give it with --today YYYY-MM-DD")]
    Today,
    /// A folder could not be read or written.
    #[error(transparent)]
    Store(#[from] store::Error),
    /// The database could not be opened.
    #[error("{}", told(.0))]
    Database(#[source] store::DatabaseError),
    /// A new database could not be filled.
    #[error("the sample kitchen and orders could not be stored: {0}")]
    First(String),
    /// The port is taken.
    #[error("port {port} cannot be used ({source}); choose another one with --port")]
    Port {
        /// The port.
        port: u16,
        /// What the system said.
        source: io::Error,
    },
    /// The pages could not be served.
    #[error("the pages cannot be served: {0}")]
    Start(#[source] io::Error),
    /// The platform has no place for data.
    #[error("this system names no home folder; say with --data where the data is kept")]
    NoHome,
    /// A picture or list could not be made.
    #[error("the plan's pictures could not be made: {0}")]
    Papers(#[from] papers::Error),
    /// The plan could not be written as JSON.
    #[error("the plan could not be written as JSON: {0}")]
    Json(#[from] serde_json::Error),
}

impl Failure {
    /// Returns the exit code: 3 for a refused input, 4 for trouble with files.
    pub fn exit_code(&self) -> u8 {
        match self {
            Self::File { .. }
            | Self::Request(_)
            | Self::Drawing { .. }
            | Self::Brief { .. }
            | Self::ArtRefused { .. }
            | Self::NoWords
            | Self::OwnInput { .. }
            | Self::NoSection { .. }
            | Self::Past { .. }
            | Self::Today => 3,
            Self::Store(
                store::Error::NoFolder { .. }
                | store::Error::NoOrder { .. }
                | store::Error::TwoDrawings { .. },
            ) => 3,
            Self::Store(_)
            | Self::Art { .. }
            | Self::Database(_)
            | Self::First(_)
            | Self::Port { .. }
            | Self::Start(_)
            | Self::NoHome
            | Self::Papers(_)
            | Self::Json(_) => 4,
        }
    }
}

/// Names the option that gives a drawing its size.
fn size_hint(error: &drawing::Error) -> &'static str {
    if *error == drawing::Error::NoSize { " (--width-mm)" } else { "" }
}

/// Tells an error with its causes.
pub(crate) fn told(error: &(dyn std::error::Error + 'static)) -> String {
    let causes = std::iter::successors(error.source(), |cause| cause.source());
    causes.fold(error.to_string(), |words, cause| format!("{words}: {cause}"))
}
