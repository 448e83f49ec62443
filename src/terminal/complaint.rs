//! The screens of the complaint: what the customer's words mean, what they answer, and that nothing fits.

use std::io;

use crate::session::{Choice, Told};
use crate::text::{Page, Tone};

/// The symptoms that the customer's words can mean.
pub(super) fn symptoms(page: &mut Page<'_>, choices: &[Choice]) -> io::Result<()> {
    let matched = choices.first().is_some_and(|first| first.matches);
    page.gap()?;
    let (heading, hint) = if matched {
        (
            "Which complaint is that? The likeliest by the words first.",
            "Enter takes the first; or numbers or names, several with a comma; 0 for none of these; `back` to reword.",
        )
    } else {
        (
            "The words match no complaint that is known here. Is it one of these?",
            "Numbers or names, several with a comma; 0 for none of these; `back` to reword.",
        )
    };
    page.text(Tone::Strong, 0, heading)?;
    for (number, choice) in (1..).zip(choices) {
        let mark = if choice.matches { "  (matches)" } else { "" };
        page.entry(&format!("{number} "), &format!("{}{mark}", choice.title))?;
    }
    page.say(hint)
}

/// What the customer's words answer already, to be confirmed.
pub(super) fn told(page: &mut Page<'_>, told: &[Told]) -> io::Result<()> {
    page.gap()?;
    page.text(
        Tone::Strong,
        0,
        "The customer's words seem to answer this already:",
    )?;
    readings(page, told)?;
    page.say("Is that so? Enter or yes takes all of it, no takes none; or the numbers of those that are so.")
}

/// That nothing fits the complaint, and what the general looks found.
pub(super) fn no_symptom(
    page: &mut Page<'_>,
    words: &str,
    found: &[Told],
    path: &str,
) -> io::Result<()> {
    page.heading("Nothing here fits: hand the job on")?;
    page.entry("The customer says: ", words)?;
    if found.is_empty() {
        page.say("The looks that bear on any complaint found nothing.")?;
    } else {
        page.say("Found by the looks that bear on any complaint:")?;
        readings(page, found)?;
    }
    page.say(
        "No listed complaint is like it, so no advice follows from the readings. Hand it on with these words and \
         findings to somebody who knows this vehicle.",
    )?;
    page.say(&format!("The record of this job: {path}"))?;
    page.stress("`also` and a complaint looks into that one all the same; `note` keeps a remark; `stop` leaves.")
}

/// Outcomes of measurements, with the words that say so.
fn readings(page: &mut Page<'_>, told: &[Told]) -> io::Result<()> {
    for (number, told) in (1..).zip(told) {
        let quote = match told.words.as_str() {
            "" => String::new(),
            words => format!(" (\"{words}\")"),
        };
        page.entry(
            &format!("{number} "),
            &format!(
                "{}: {}{quote}",
                told.title.trim_end_matches('?'),
                told.meaning
            ),
        )?;
    }
    Ok(())
}
