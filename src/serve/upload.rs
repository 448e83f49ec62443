//! A form with a file in it, as browsers send it (RFC 7578).

use std::sync::LazyLock;

use hyper::body::Bytes;
use regex::Regex;

use super::form::Form;

/// The largest recording, in megabytes.
pub(super) const MEGABYTES: usize = 32;
/// The most parts of a form.
const PARTS: usize = 100;
/// The longest head of a part, in bytes.
const HEAD: usize = 1_000;
/// The longest boundary (RFC 2046, section 5.1.1), and the longest name of a file, in characters.
const BOUNDARY: usize = 70;
const NAME: usize = 100;

static FIELD: LazyLock<Option<Regex>> =
    LazyLock::new(|| Regex::new(r#"(?i)[;\s]name="([^"]*)""#).ok());
static FILE: LazyLock<Option<Regex>> =
    LazyLock::new(|| Regex::new(r#"(?i)[;\s]filename="([^"]*)""#).ok());

/// A file that was sent.
#[derive(Clone, Debug)]
pub(super) struct Upload {
    /// Its name, to be shown: never a path here.
    pub(super) name: String,
    pub(super) bytes: Bytes,
}

/// The fields of a form, and the file in it where one was chosen; none where the body is no such form. `kind` is the type
/// that it is sent as.
pub(super) fn parts(kind: &str, body: &Bytes) -> Option<(Form, Option<Upload>)> {
    let (_, boundary) = kind.split_once("boundary=")?;
    let boundary = boundary.split(';').next()?.trim().trim_matches('"');
    if boundary.is_empty() || boundary.len() > BOUNDARY {
        return None;
    }
    let boundary = regex::escape(boundary);
    let between = format!(r"(?-u)(?:^|\r\n)--{boundary}(?:--)?(?:\r\n|$)");
    let between = regex::bytes::Regex::new(&between).ok()?;
    let found = between.find_iter(body).take(PARTS + 1);
    let found: Vec<_> = found.map(|found| found.range()).collect();
    let (mut fields, mut file) = (Vec::new(), None);
    for pair in found.windows(2) {
        let part = body.slice(pair[0].end..pair[1].start);
        let at = part
            .windows(4)
            .take(HEAD)
            .position(|four| four == b"\r\n\r\n")?;
        let head = String::from_utf8_lossy(&part[..at]);
        let said = |of: &Option<Regex>| Some(of.as_ref()?.captures(&head)?[1].replace("%22", "\""));
        let bytes = part.slice(at + 4..);
        match said(&FILE) {
            Some(name) if name.is_empty() => {}
            Some(name) => {
                let name = name.rsplit(['/', '\\']).next().unwrap_or_default();
                file = Some(Upload {
                    name: name.chars().take(NAME).collect(),
                    bytes,
                });
            }
            None => fields.push((said(&FIELD)?, String::from_utf8_lossy(&bytes).into_owned())),
        }
    }
    (!found.is_empty()).then(|| (Form::of(fields), file))
}
