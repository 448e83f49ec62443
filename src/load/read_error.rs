//! Why a value could not be read: a finding on its way to the log.

use std::fmt;

use serde::de::{Expected, Unexpected};

use super::code::Code;
use super::log::{Log, Report, Spot};

/// Why a value could not be read.
#[derive(Debug)]
pub(super) enum ReadError {
    /// With its place.
    At(Box<Report>),
    /// From serde, which does not know the place.
    Words(String),
    /// A field that serde misses.
    Missing(&'static str),
    /// The finding is kept already.
    Kept,
}

impl ReadError {
    pub(super) fn at(code: Code, spot: Spot, words: String) -> Self {
        Self::At(Box::new(Report::new(code, spot, words)))
    }

    /// Keeps it as a finding.
    pub(super) fn keep(self, log: &Log<'_>) {
        match self {
            Self::At(report) => log.add(*report),
            Self::Words(words) => log.say(Code::WrongType, Spot::default(), words),
            Self::Missing(field) => log.say(
                Code::MissingField,
                Spot::default(),
                format!("`{field}` is missing"),
            ),
            Self::Kept => {}
        }
    }
}

impl fmt::Display for ReadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::At(report) => f.write_str(&report.words),
            Self::Words(words) => f.write_str(words),
            Self::Missing(field) => write!(f, "`{field}` is missing"),
            Self::Kept => f.write_str("reported"),
        }
    }
}

impl std::error::Error for ReadError {}

impl serde::de::Error for ReadError {
    fn custom<T: fmt::Display>(words: T) -> Self {
        Self::Words(words.to_string())
    }

    fn invalid_type(_: Unexpected<'_>, expected: &dyn Expected) -> Self {
        Self::Words(format!("{expected} is expected here"))
    }

    fn missing_field(field: &'static str) -> Self {
        Self::Missing(field)
    }
}
