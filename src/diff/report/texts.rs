//! Two wordings, cut down to where they differ.

/// So many words are kept before and behind what differs.
const AROUND: usize = 2;
/// A stretch that differs is shown up to so many words.
const SHOWN: usize = 14;

/// The wordings in quotation marks, `…` for what they share beyond a few words.
pub(super) fn reworded(was: &str, now: &str) -> String {
    let (was, now): (Vec<&str>, Vec<&str>) = (
        was.split_whitespace().collect(),
        now.split_whitespace().collect(),
    );
    let alike = |pairs: &mut dyn Iterator<Item = (&&str, &&str)>| {
        pairs.take_while(|(was, now)| was == now).count()
    };
    let front = alike(&mut was.iter().zip(&now));
    let shorter = was.len().min(now.len());
    let back = alike(&mut was.iter().rev().zip(now.iter().rev())).min(shorter - front);
    if was == now {
        // They differ in nothing but blanks.
        return "with other blanks".to_owned();
    }
    format!(
        "{} -> {}",
        stretch(&was, front, back),
        stretch(&now, front, back)
    )
}

/// The words between those shared in front and behind, and a few of these.
fn stretch(words: &[&str], front: usize, back: usize) -> String {
    let from = front.saturating_sub(AROUND);
    let to = (words.len() - back + AROUND).min(words.len());
    let end = to.min(from + SHOWN + AROUND);
    format!(
        "\"{}{}{}\"",
        if from > 0 { "… " } else { "" },
        words[from..end].join(" "),
        if end < words.len() { " …" } else { "" }
    )
}

/// A text in quotation marks, its beginning where it is long.
pub(super) fn quoted(text: &str) -> String {
    let words: Vec<&str> = text.split_whitespace().collect();
    stretch(&words, 0, 0)
}
