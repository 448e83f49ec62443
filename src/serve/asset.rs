//! The files beside the pages: their look, what their script does, the icon. Each has its fingerprint in its address, so that
//! a browser asks for it once, and again when the program has changed.

use std::sync::LazyLock;

use super::reply::{Asked, Reply};
use crate::files::fingerprint;
use crate::sheet::SHEET_STYLE;

/// A file beside the pages.
pub(super) struct Asset {
    name: &'static str,
    kind: &'static str,
    text: &'static str,
    print: String,
}

pub(super) static SHEET: LazyLock<Asset> =
    LazyLock::new(|| Asset::new("sheet.css", "text/css; charset=utf-8", SHEET_STYLE));
pub(super) static STYLE: LazyLock<Asset> = LazyLock::new(|| {
    Asset::new(
        "page.css",
        "text/css; charset=utf-8",
        include_str!("page.css"),
    )
});
pub(super) static SCRIPT: LazyLock<Asset> = LazyLock::new(|| {
    Asset::new(
        "page.js",
        "text/javascript; charset=utf-8",
        include_str!("page.js"),
    )
});
pub(super) static ICON: LazyLock<Asset> =
    LazyLock::new(|| Asset::new("icon.svg", "image/svg+xml", include_str!("icon.svg")));

impl Asset {
    fn new(name: &'static str, kind: &'static str, text: &'static str) -> Self {
        let print = fingerprint(text.as_bytes());
        Self {
            name,
            kind,
            text,
            print,
        }
    }

    /// Where it is.
    pub(super) fn address(&self) -> String {
        format!("/{}?v={}", self.name, self.print)
    }
}

/// The file that is asked for, where it is one of these.
pub(super) fn asset(asked: &Asked) -> Option<Reply> {
    let [name] = asked.path.as_slice() else {
        return None;
    };
    let all: [&Asset; 4] = [&SHEET, &STYLE, &SCRIPT, &ICON];
    let asset = all.into_iter().find(|asset| asset.name == name)?;
    let mut reply = Reply::text(200, asset.kind, asset.text.to_owned());
    reply.lasts = asked.query.get("v") == Some(&asset.print);
    Some(reply)
}
