//! A screen that is longer than the terminal, cut into pages; each has the warnings of what is done on it.

use std::io;

use crate::text::{Page, Tone, signal};

/// One thing to do, with what can hurt in it.
pub(super) struct Part<'p> {
    /// What can hurt: shown before it, once on each page.
    pub(super) cautions: &'p [String],
    /// It, as it is shown.
    pub(super) shown: String,
    /// Whether a page may well end before it.
    pub(super) begins: bool,
}

/// What a terminal shows at once.
#[derive(Clone, Copy, Debug)]
pub struct Room {
    /// The columns.
    pub width: usize,
    /// The lines, the prompt's among them; none where nobody turns pages.
    pub height: Option<usize>,
}

impl Room {
    /// What `write` puts on a page of this width.
    pub(super) fn set(
        self,
        write: impl FnOnce(&mut Page<'_>) -> io::Result<()>,
    ) -> io::Result<String> {
        let mut shown = Vec::new();
        write(&mut Page::new(&mut shown, self.width))?;
        Ok(String::from_utf8_lossy(&shown).into_owned())
    }

    /// A long text in pages, between two lines.
    pub(super) fn cut(self, text: &str) -> Vec<String> {
        let most = self.height.unwrap_or(usize::MAX).saturating_sub(1).max(1);
        let lines: Vec<&str> = text.split_inclusive('\n').collect();
        lines.chunks(most).map(<[&str]>::concat).collect()
    }

    /// Pages behind a text that comes before them: on the first, where both fit it.
    pub(super) fn behind(self, text: &str, mut pages: Vec<String>) -> Vec<String> {
        let most = self.height.unwrap_or(usize::MAX).saturating_sub(1);
        match pages.first_mut() {
            Some(first) if lines(text) + lines(first) <= most => first.insert_str(0, text),
            _ => pages.splice(..0, self.cut(text)).for_each(drop),
        }
        pages
    }

    /// Pages: the head on the first, the title on each, then the parts in order, the question whole on the last.
    pub(super) fn pages(
        self,
        head: &str,
        title: &str,
        parts: &[Part<'_>],
        question: &str,
    ) -> io::Result<Vec<String>> {
        let most = self.height.unwrap_or(usize::MAX).saturating_sub(1);
        let fits = |page: &str, more: &str| lines(page) + lines(more) <= most;
        let mut pages = Vec::new();
        let mut page = format!("{head}{title}");
        let mut shown: Vec<&String> = Vec::new();
        for (place, part) in parts.iter().enumerate() {
            let whole = self.parts(&parts[place..], &mut Vec::new())?;
            let here = self.parts(&parts[place..], &mut shown.clone())?;
            let one = self.parts(&parts[place..=place], &mut shown.clone())?;
            let better_next = part.begins
                && !fits(&page, &format!("{here}{question}"))
                && fits(title, &format!("{whole}{question}"));
            if place > 0 && (better_next || !fits(&page, &one)) {
                pages.push(std::mem::replace(&mut page, title.to_owned()));
                shown.clear();
            }
            page += &self.parts(&parts[place..=place], &mut shown)?;
        }
        if !parts.is_empty() && !fits(&page, question) {
            pages.push(std::mem::replace(&mut page, title.to_owned()));
        }
        pages.push(page + question);
        Ok(pages)
    }

    /// Parts one after the other, each behind its warnings that are not yet `shown`.
    fn parts<'p>(self, parts: &[Part<'p>], shown: &mut Vec<&'p String>) -> io::Result<String> {
        let mut text = String::new();
        for part in parts {
            for caution in part.cautions {
                if !shown.contains(&caution) {
                    text += &self.set(|page| warning(page, caution))?;
                    shown.push(caution);
                }
            }
            text += &part.shown;
        }
        Ok(text)
    }
}

/// What can hurt, or do damage; its signal word stands in front.
pub(super) fn warning(page: &mut Page<'_>, text: &str) -> io::Result<()> {
    let (word, rest) = signal(text);
    page.item(Tone::Caution, 2, &format!("{word}  "), rest)
}

/// Several, each before anything is done.
pub(super) fn warnings(page: &mut Page<'_>, texts: &[String]) -> io::Result<()> {
    texts.iter().try_for_each(|text| warning(page, text))
}

fn lines(text: &str) -> usize {
    text.matches('\n').count()
}
