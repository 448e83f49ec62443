//! Text for people: how a figure is written, how text is made harmless, how a page and a table are set,
//! which known name a misspelt one is nearest to.

pub mod figures;
mod harmless;
mod hidden;
mod nearest;
mod page;
mod paper;
mod print;
mod shell;
mod table;
mod words;
mod yaml;

pub use figures::plain;
pub use harmless::{clean, quoted};
pub(crate) use harmless::{escaped_json, json};
pub(crate) use hidden::{is_hidden, is_hidden_in_text};
pub(crate) use nearest::{nearest, unknown};
pub(crate) use page::wrapping;
pub use page::{Page, Tone};
pub use paper::{Column, Paper};
pub(crate) use print::document;
pub use print::{cards, printed};
pub(crate) use shell::in_shell;
pub use table::table;
pub(crate) use words::{counted, either, few_words, sentence, signal};
pub(crate) use yaml::yaml_scalar;
