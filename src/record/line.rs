//! One event as one line of JSON, there and back.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::event::{Event, FORMAT};
use crate::files::fingerprint;
use crate::text::{clean, escaped_json};

/// The longest line, in bytes without its end.
pub const MAX_LINE: usize = 1_000_000;

/// An event with what every line carries.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Entry {
    /// When it was recorded, to the millisecond, in UTC (RFC 3339 in the file).
    #[serde(serialize_with = "three_decimals")]
    pub time: Timestamp,
    /// The version of the program that recorded it.
    pub version: String,
    /// The job: 16 hexadecimal digits, the same on each of its lines and no other's.
    pub job: String,
    /// Its line in the file, from 1.
    pub line: u64,
    /// What happened.
    #[serde(flatten)]
    pub event: Event,
}

/// Always three decimals, so that times sort as text too.
fn three_decimals<S: serde::Serializer>(time: &Timestamp, to: S) -> Result<S::Ok, S::Error> {
    to.collect_str(&format_args!("{time:.3}"))
}

/// What is wrong with a line.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Fault {
    /// A run of NULs: space that a crash left unwritten.
    #[error("it holds NUL bytes from byte {0} on, as a crash or a failing disk leaves them")]
    Nul(usize),
    /// Bytes that are no text.
    #[error("it is not UTF-8 from byte {0} on")]
    NotUtf8(usize),
    /// Nothing on it.
    #[error("it is empty")]
    Empty,
    /// Not JSON.
    #[error("it is not JSON: {0}")]
    NotJson(String),
    /// JSON, and no event.
    #[error("it is no event of a job: {0}")]
    NoEvent(String),
    /// An event that this program does not know.
    #[error("it holds an event that this program does not know, {0:?}: a newer version may")]
    UnknownEvent(String),
    /// A field that is missing or unfit.
    #[error("its `{event}` does not fit: {words}")]
    Unfit {
        /// The event.
        event: &'static str,
        /// What is missing or unfit.
        words: String,
    },
    /// Its check sum is another.
    #[error("its check sum `sum` does not fit: something on the line was changed")]
    Sum,
    /// Another job's line.
    #[error("it belongs to another job, {0:?}")]
    OtherJob(String),
    /// A line is missing, doubled or moved.
    #[error("it says that it is line {0}: lines are missing, doubled or moved before it")]
    OutOfTurn(u64),
    /// It is out of place.
    #[error("{0}")]
    OutOfPlace(super::stage::Why),
}

impl Fault {
    /// Whether a write that was cut off can leave it.
    pub(super) fn is_torn(&self) -> bool {
        matches!(
            self,
            Self::Nul(_) | Self::NotUtf8(_) | Self::NotJson(_) | Self::Empty
        )
    }
}

/// No more of a file's words in a message than fit, and nothing that acts on a terminal.
fn plain(words: &str) -> String {
    clean(&words.chars().take(200).collect::<String>())
}

impl Entry {
    /// The line, with its end. It holds no control character but that end.
    ///
    /// # Errors
    ///
    /// In words, where it would not be read back as it is (a number that is not finite) or is longer
    /// than [`MAX_LINE`].
    pub fn to_line(&self) -> Result<Vec<u8>, String> {
        let text = serde_json::to_string(self).map_err(|error| error.to_string())?;
        let mut line = summed(&escaped_json(&text)).into_bytes();
        if line.len() > MAX_LINE {
            let bytes = line.len();
            return Err(format!(
                "it takes {bytes} bytes, and a line may have {MAX_LINE}"
            ));
        }
        match Self::from_line(&line) {
            Ok(back) if back == *self => {}
            Ok(_) => return Err("it would not be read back as it is".to_owned()),
            Err(fault) => return Err(format!("it would not be read back: {fault}")),
        }
        line.push(b'\n');
        Ok(line)
    }

    /// The event on a line, its end taken off. Fields it does not know are passed over: they stay
    /// in the file, which is never rewritten.
    ///
    /// # Errors
    ///
    /// The [`Fault`] of the line by itself: neither its job nor its place is looked at.
    pub fn from_line(line: &[u8]) -> Result<Self, Fault> {
        if let Some(at) = line.iter().position(|byte| *byte == 0) {
            return Err(Fault::Nul(at + 1));
        }
        let text = str::from_utf8(line).map_err(|error| Fault::NotUtf8(error.valid_up_to() + 1))?;
        if text.trim().is_empty() {
            return Err(Fault::Empty);
        }
        let entry: Self = serde_json::from_str(text).map_err(|error| fault(text, &error))?;
        match entry.event.impossible() {
            Some(words) => Err(Fault::Unfit {
                event: entry.event.name(),
                words,
            }),
            None => Ok(entry),
        }
    }
}

/// What stands before and behind a line's check sum.
const SUM: [&str; 2] = [",\"sum\":\"", "\"}"];
/// The digits of a check sum.
const DIGITS: usize = 16;

/// A line with its check sum as the last field: the fingerprint of what stands before that field.
fn summed(line: &str) -> String {
    let before = line.strip_suffix('}').unwrap_or(line);
    let [comma, end] = SUM;
    let sum = fingerprint(before.as_bytes());
    format!("{before}{comma}{sum}{end}")
}

/// Whether a line's check sum fits. Lines of earlier versions have none; one that is all but a check sum, but for a byte
/// of its name or its signs, is one that was changed.
pub(super) fn sum_fits(text: &[u8]) -> bool {
    let line = text.trim_ascii_end();
    let [comma, end] = SUM.map(str::as_bytes);
    let Some(at) = line.len().checked_sub(comma.len() + DIGITS + end.len()) else {
        return true;
    };
    let (before, field) = line.split_at(at);
    let (name, rest) = field.split_at(comma.len());
    let (sum, last) = rest.split_at(DIGITS);
    let signs = name.iter().zip(comma).chain(last.iter().zip(end));
    match signs.filter(|(found, meant)| found != meant).count() {
        0 => line.len() == text.len() && fingerprint(before).as_bytes() == sum,
        1 => !sum.iter().all(u8::is_ascii_hexdigit),
        _ => true,
    }
}

/// What is wrong with a line that is no [`Entry`].
fn fault(text: &str, error: &serde_json::Error) -> Fault {
    #[derive(Deserialize)]
    struct Named {
        event: String,
    }
    let words = error.to_string();
    // The line number in it counts within the line, and so says 1.
    let words = plain(&words.replace(" at line 1 column ", " at column "));
    if serde_json::from_str::<serde::de::IgnoredAny>(text).is_err() {
        return Fault::NotJson(words);
    }
    let Ok(Named { event }) = serde_json::from_str(text) else {
        return Fault::NoEvent(words);
    };
    match Event::NAMES.into_iter().find(|name| *name == event) {
        Some(event) => Fault::Unfit { event, words },
        None => Fault::UnknownEvent(event.chars().take(40).collect()),
    }
}

/// The format of a record, by its first line, where that is newer than this program knows.
pub(super) fn newer_format(line: &[u8]) -> Option<u64> {
    #[derive(Deserialize)]
    struct Head {
        event: String,
        format: u64,
    }
    let Head { event, format } = serde_json::from_slice(line).ok()?;
    (event == "opened" && format > u64::from(FORMAT)).then_some(format)
}
