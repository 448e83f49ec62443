//! The shop's page: the jobs of a folder in a browser, from prompts as values. Works without script.
//!
//! A request goes one way: `http` bounds it and reads it, `guard` says whether it is heard, `route` finds what it asks
//! for, `desk` reads the record or adds to it, and the screens write it out. An answer is on disk before the response.
//! Nothing in a request is ever a path: a job goes by the fingerprint of its file's name, looked up in the folder.
//!
//! Imports `jobs` and the rooms below it, and `sheet` for what any document has.

mod asset;
mod desk;
mod form;
mod guard;
mod http;
mod jobs_screen;
mod offer;
mod plan_screen;
mod practice_screen;
mod prompt_screen;
mod question;
mod recording_screen;
mod reply;
mod route;
mod screen;
mod show_screen;
mod site;
mod trainee;
mod upload;
mod watch_screen;

pub use guard::{Guard, Key};
pub use http::{Server, Stop};
pub use site::{Site, Start};
