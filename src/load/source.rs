//! The files of a knowledge folder: from the binary, or from the disk.

use std::borrow::Cow;
use std::ffi::OsString;
use std::fs;
use std::io::{self, Read as _};
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use super::shipped::{SHIPPED, parsed};
use crate::text::clean;

/// The largest file that is read, in bytes. The largest shipped one has 30 kB; 20,000 causes take 4 MB.
pub(super) const LARGEST_FILE: u64 = 8 << 20;
/// The most that is read of a folder, in bytes. The shipped one has 170 kB.
const LARGEST_FOLDER: u64 = 24 << 20;
/// The most files that are read.
const MOST_FILES: usize = 5000;

/// A knowledge folder as it was found: its files in the order of their paths.
#[derive(Clone, Debug)]
pub struct Source {
    pub(super) files: Vec<SourceFile>,
    /// Whether its worked cases are read.
    pub(super) with_cases: bool,
    /// Whether it is what the program was built with, and unchanged.
    pub(super) shipped: bool,
}

/// A knowledge folder that cannot be read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("the knowledge folder {path} cannot be read: {why}")]
pub struct NoFolder {
    /// The folder.
    pub path: String,
    /// Why.
    pub why: String,
}

/// One file as it was found.
#[derive(Clone, Debug)]
pub(super) struct SourceFile {
    /// Its path in the folder, with slashes.
    pub(super) path: String,
    /// What it holds, or why that is not known.
    pub(super) content: Content,
    /// What a parser said of it when the program was built, where it was built with this file.
    pub(super) parsed: &'static [u8],
    /// Where its lines start and end, once someone asked.
    ends: OnceLock<Vec<(usize, usize)>>,
}

/// What was found of a file.
#[derive(Clone, Debug)]
pub(super) enum Content {
    Text(Cow<'static, str>),
    /// Not UTF-8 from some byte on; the text up to there.
    NotUtf8(String),
    TooLarge(u64),
    Unreadable(String),
    /// A folder, or nothing at all, where files were expected.
    Nothing(&'static str),
}

impl SourceFile {
    fn new(path: String, content: Content) -> Self {
        let parsed = match &content {
            Content::Text(text) => parsed(&path, text),
            _ => &[],
        };
        Self {
            path,
            content,
            parsed,
            ends: OnceLock::new(),
        }
    }

    /// Whether it is a README: no knowledge.
    pub(super) fn is_for_people(&self) -> bool {
        let name = self.path.rsplit('/').next().unwrap_or_default();
        name.to_ascii_uppercase().starts_with("README")
    }

    /// The text, where it is one from the first byte to the last.
    pub(super) const fn whole(&self) -> Option<&Cow<'static, str>> {
        match &self.content {
            Content::Text(text) => Some(text),
            _ => None,
        }
    }

    /// The text that can be shown, as far as it is text.
    fn text(&self) -> &str {
        match &self.content {
            Content::Text(text) => text,
            Content::NotUtf8(text) => text,
            Content::TooLarge(_) | Content::Unreadable(_) | Content::Nothing(_) => "",
        }
    }

    /// How many bytes of text it has.
    pub(super) fn length(&self) -> usize {
        self.text().len()
    }

    /// A line of it, from 1, without its end; empty where there is none.
    pub(super) fn line(&self, number: u32) -> &str {
        let text = self.text();
        let ends = self.ends.get_or_init(|| line_ends(text));
        (number as usize)
            .checked_sub(1)
            .and_then(|index| ends.get(index))
            .map_or("", |(start, end)| {
                text[*start..*end].trim_start_matches('\u{feff}')
            })
    }
}

/// Where the lines of a text start and end: they end with LF, CR or both, as in YAML.
fn line_ends(text: &str) -> Vec<(usize, usize)> {
    let mut ends = Vec::new();
    let mut start = 0;
    while let Some(length) = text[start..].find(['\n', '\r']) {
        let end = start + length;
        ends.push((start, end));
        start = end + 1 + usize::from(text[end..].starts_with("\r\n"));
    }
    ends.push((start, text.len()));
    ends
}

impl Source {
    /// The knowledge inside the binary.
    pub fn embedded() -> Self {
        let file = |(path, text, _): &(&str, &'static str, &[u8])| {
            SourceFile::new((*path).to_owned(), Content::Text(Cow::Borrowed(text)))
        };
        Self {
            shipped: true,
            ..Self::of(SHIPPED.iter().map(file).collect())
        }
    }

    /// The knowledge in a folder on the disk. A file in it that cannot be read is kept as such, and
    /// becomes a finding when the source is loaded.
    pub fn folder(path: &Path) -> Result<Self, NoFolder> {
        if let Err(error) = fs::read_dir(path) {
            return Err(NoFolder {
                path: clean(&path.to_string_lossy()),
                why: plain(&error),
            });
        }
        let mut reading = Reading {
            root: fs::canonicalize(path).unwrap_or_else(|_| path.to_owned()),
            files: Vec::new(),
            bytes: 0,
        };
        reading.folder(path, "", 0);
        Ok(Self::of(reading.files))
    }

    /// Knowledge from texts, by path.
    pub fn texts<P: Into<String>, T: Into<Vec<u8>>>(
        files: impl IntoIterator<Item = (P, T)>,
    ) -> Self {
        let files = files
            .into_iter()
            .map(|(path, text)| SourceFile::new(path.into(), content(text.into())))
            .collect();
        Self::of(files)
    }

    /// The same with a file of this text, in place of the one of that path where there is one.
    pub fn with_text(mut self, path: &str, text: &str) -> Self {
        self.files.retain(|file| file.path != path);
        let content = content(text.as_bytes().to_vec());
        self.files.push(SourceFile::new(path.to_owned(), content));
        Self::of(self.files)
    }

    /// The same without its worked cases, which a diagnosis does not need: they are not read.
    pub fn without_cases(self) -> Self {
        let with_cases = false;
        Self { with_cases, ..self }
    }

    /// The paths of the files and their texts, in order, as far as they are text.
    pub fn files(&self) -> impl Iterator<Item = (&str, &str)> {
        let files = self.files.iter();
        files.filter_map(|file| Some((file.path.as_str(), file.whole()?.as_ref())))
    }

    fn of(mut files: Vec<SourceFile>) -> Self {
        files.sort_by(|one, other| one.path.cmp(&other.path));
        Self {
            files,
            with_cases: true,
            shipped: false,
        }
    }
}

fn content(bytes: Vec<u8>) -> Content {
    let length = bytes.len() as u64;
    if length > LARGEST_FILE {
        return Content::TooLarge(length);
    }
    match String::from_utf8(bytes) {
        Ok(text) => Content::Text(Cow::Owned(text)),
        Err(error) => {
            let good = error.utf8_error().valid_up_to();
            let mut bytes = error.into_bytes();
            bytes.truncate(good);
            Content::NotUtf8(String::from_utf8(bytes).unwrap_or_default())
        }
    }
}

struct Reading {
    /// The folder, as no link leads to it.
    root: PathBuf,
    files: Vec<SourceFile>,
    bytes: u64,
}

impl Reading {
    fn keep(&mut self, path: String, content: Content) {
        self.files.push(SourceFile::new(path, content));
    }

    /// Reads a folder: its files and, two folders deep, the files of the folders in it. A link that
    /// leads round in a circle ends there.
    fn folder(&mut self, folder: &Path, path: &str, depth: usize) {
        let names = fs::read_dir(folder).and_then(|entries| {
            let few = entries.take(MOST_FILES + 1);
            few.map(|entry| Ok(entry?.file_name())).collect()
        });
        let mut names: Vec<OsString> = match names {
            Ok(names) => names,
            Err(error) => return self.keep(path.to_owned(), Content::Unreadable(plain(&error))),
        };
        names.sort();
        for name in names {
            let shown = name.to_string_lossy();
            if shown.starts_with('.') {
                continue;
            }
            if self.files.len() >= MOST_FILES {
                let why = "too many files: the rest is not read";
                return self.keep(path.to_owned(), Content::Nothing(why));
            }
            let inner = if path.is_empty() {
                shown.to_string()
            } else {
                format!("{path}/{shown}")
            };
            let place = folder.join(&name);
            let content = match fs::metadata(&place) {
                Ok(_) if self.leads_out(&place) => {
                    Content::Nothing("a link out of the knowledge folder: it is not read")
                }
                Err(error) => Content::Unreadable(plain(&error)),
                Ok(about) if about.is_dir() && depth < 2 => {
                    self.folder(&place, &inner, depth + 1);
                    continue;
                }
                Ok(about) if about.is_dir() => Content::Nothing("a folder this deep is not read"),
                Ok(about) if !about.is_file() => {
                    Content::Nothing("neither a file nor a folder: it is not read")
                }
                Ok(about) => self.file(&place, about.len()),
            };
            self.keep(inner, content);
        }
    }

    /// Whether a path is a link to what is outside: a finding quotes what it reads, and that may be anybody's.
    fn leads_out(&self, place: &Path) -> bool {
        place.is_symlink()
            && !fs::canonicalize(place).is_ok_and(|there| there.starts_with(&self.root))
    }

    fn file(&mut self, place: &Path, length: u64) -> Content {
        if length > LARGEST_FILE {
            return Content::TooLarge(length);
        }
        if self.bytes + length > LARGEST_FOLDER {
            return Content::Nothing("the folder holds too much: this file is not read");
        }
        let mut bytes = Vec::with_capacity(usize::try_from(length).unwrap_or_default() + 1);
        // The file may have grown since its length was asked.
        let read = fs::File::open(place)
            .and_then(|file| file.take(LARGEST_FILE + 1).read_to_end(&mut bytes));
        match read {
            Ok(_) => {
                self.bytes += bytes.len() as u64;
                content(bytes)
            }
            Err(error) => Content::Unreadable(plain(&error)),
        }
    }
}

/// An error of the disk in plain words, without the number the system gives it.
fn plain(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "it is not there".to_owned(),
        io::ErrorKind::PermissionDenied => "this user may not read it".to_owned(),
        io::ErrorKind::NotADirectory => "it is not a folder".to_owned(),
        _ => {
            let words = error.to_string();
            let (words, _) = words.split_once(" (os error").unwrap_or((&words, ""));
            words.to_lowercase()
        }
    }
}
