//! What is asked, and what is replied.

use std::collections::BTreeMap;

use maud::Markup;

use super::form::Form;
use super::upload::Upload;
use crate::sheet::finished;

/// A request, bounded and read.
#[derive(Clone, Debug, Default)]
pub(super) struct Asked {
    /// Whether something is sent, and not only read.
    pub(super) posts: bool,
    /// The parts of the path; each holds letters, digits, `-` and `.` only.
    pub(super) path: Vec<String>,
    /// What stands behind the question mark.
    pub(super) query: BTreeMap<String, String>,
    /// What was sent.
    pub(super) form: Form,
    /// The file in it.
    pub(super) file: Option<Upload>,
    /// The session's name, from its cookie.
    pub(super) session: Option<String>,
}

/// A response.
#[derive(Clone, Debug, Default)]
pub(super) struct Reply {
    pub(super) status: u16,
    /// The type of the content.
    pub(super) kind: &'static str,
    pub(super) body: String,
    /// Where to go instead.
    pub(super) location: Option<String>,
    /// A session to begin.
    pub(super) begins: Option<String>,
    /// The name of the file that it is to be kept as.
    pub(super) file: Option<&'static str>,
    /// Whether a browser may keep it: its address changes when it does.
    pub(super) lasts: bool,
    /// Whether it comes late, so that guessing a key takes long.
    pub(super) late: bool,
}

impl Reply {
    pub(super) fn html(status: u16, page: Markup) -> Self {
        Self::text(status, "text/html; charset=utf-8", finished(page))
    }

    pub(super) fn text(status: u16, kind: &'static str, body: String) -> Self {
        Self {
            status,
            kind,
            body,
            ..Self::default()
        }
    }

    /// Another page, to be asked for anew.
    pub(super) fn see(location: String) -> Self {
        Self {
            location: Some(location),
            ..Self::text(303, "text/plain; charset=utf-8", String::new())
        }
    }
}
