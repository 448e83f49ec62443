//! Text for people: how a figure is written, how text is made harmless, how a page and a table are set,
//! which known name a misspelt one is nearest to.

pub mod figures;
mod nearest;
mod page;
mod paper;
mod table;
mod words;

pub(crate) use nearest::nearest;
pub(crate) use page::wrapping;
pub use page::{Page, Tone, clean};
pub use paper::Paper;
pub use table::table;
pub(crate) use words::either;
pub use words::{plain, quoted};
