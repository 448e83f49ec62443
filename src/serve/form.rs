//! What a form sent, and the answer that it means.

use crate::session::{Answer, Ask, Prompt};

/// The fields of a form, in order.
#[derive(Clone, Debug, Default)]
pub(super) struct Form(Vec<(String, String)>);

impl Form {
    /// Reads the body of a request; bytes that are no text become the replacement character.
    pub(super) fn read(body: &[u8]) -> Self {
        let fields = form_urlencoded::parse(body);
        Self(
            fields
                .map(|(name, value)| (name.into_owned(), value.into_owned()))
                .collect(),
        )
    }

    /// A form of these fields.
    pub(super) fn of(fields: Vec<(String, String)>) -> Self {
        Self(fields)
    }

    /// A field; empty where it was not sent.
    pub(super) fn field(&self, name: &str) -> &str {
        let mut fields = self.0.iter();
        fields
            .find(|(own, _)| own == name)
            .map_or("", |(_, value)| value.trim())
    }

    /// What is said: a field to type in and the buttons below it have the same name, and the button that was tapped comes
    /// last.
    pub(super) fn say(&self) -> &str {
        let mut said = self.0.iter().rev().filter(|(name, _)| name == "say");
        said.find_map(|(_, value)| Some(value.trim()).filter(|value| !value.is_empty()))
            .unwrap_or_default()
    }

    /// Whether a box was ticked.
    pub(super) fn picked(&self, value: &str) -> bool {
        let mut fields = self.0.iter();
        fields.any(|(name, own)| name == "pick" && own.trim() == value)
    }

    /// The ticked boxes of a name, joined.
    fn ticked(&self, name: &str) -> String {
        let ticked = self.0.iter().filter(|(own, _)| own == name);
        let ticked: Vec<&str> = ticked.map(|(_, value)| value.trim()).collect();
        ticked.join(", ")
    }

    /// A text field; none where it is empty.
    fn some(&self, name: &str) -> Option<String> {
        Some(self.field(name).to_owned()).filter(|text| !text.is_empty())
    }

    /// What the form says to a prompt. The error tells what is missing.
    pub(super) fn answer(&self, prompt: &Prompt) -> Result<Answer, &'static str> {
        let (word, name) = match self.field("do").split_once(' ') {
            Some((word, name)) => (word, Some(name.to_owned())),
            None => (self.field("do"), None),
        };
        let named = |field, missing| name.clone().or_else(|| self.some(field)).ok_or(missing);
        match word {
            "" | "say" => Ok(Answer::Typed(self.said(prompt)?)),
            "skip" => Ok(Answer::Skip),
            "cannot" => Ok(Answer::Cannot(self.some("why"))),
            "back" => Ok(Answer::Back(1)),
            "repair" => Ok(Answer::Repair),
            "start" => Ok(Answer::Start),
            "repaired" => named("repaired", "Choose a repair first.").map(Answer::Repaired),
            "held" => {
                let seconds = self.say().parse().ok();
                let seconds = seconds.filter(|seconds: &f64| (0.0..=600.0).contains(seconds));
                seconds
                    .map(Answer::Held)
                    .ok_or("How many seconds was it held?")
            }
            "note" => named("note", "Write the remark first.").map(Answer::Note),
            "take" => named("take", "Choose a measurement first.").map(Answer::Take),
            "also" => named("also", "Choose a complaint first.").map(Answer::Also),
            "absent" => named("absent", "Choose a complaint first.").map(Answer::Absent),
            "in-place" => named("in-place", "Choose what is in place first.").map(Answer::InPlace),
            "vehicle" => named("vehicle", "Choose the vehicle first.").map(Answer::Vehicle),
            "with" => named("with", "Choose an instrument first.").map(Answer::With),
            "correct" => {
                let number = name.and_then(|number| number.parse().ok());
                number.map(Answer::Correct).ok_or("Which reading?")
            }
            _ => Err("This page does not know that."),
        }
    }

    /// What is said to the question itself.
    fn said(&self, prompt: &Prompt) -> Result<String, &'static str> {
        let typed = self.say();
        let ticked = self.ticked("pick");
        match &prompt.ask {
            _ if !typed.is_empty() => Ok(with_unit(typed, self.field("unit"))),
            Ask::Symptoms { .. } | Ask::Found { .. } | Ask::Closed { .. } if ticked.is_empty() => {
                Err("Tick what fits first.")
            }
            Ask::Still { .. } | Ask::Told { .. } if ticked.is_empty() => Ok("none".to_owned()),
            Ask::Symptoms { .. }
            | Ask::Found { .. }
            | Ask::Closed { .. }
            | Ask::Still { .. }
            | Ask::Told { .. } => Ok(ticked),
            _ => Ok(String::new()),
        }
    }
}

/// A bare number gets the unit that was chosen beside it.
fn with_unit(typed: &str, unit: &str) -> String {
    let bare = |c: char| c.is_ascii_digit() || " .,+-~<>±−–".contains(c);
    let number = typed.chars().any(|c| c.is_ascii_digit()) && typed.chars().all(bare);
    if number && !unit.is_empty() {
        format!("{typed} {unit}")
    } else {
        typed.to_owned()
    }
}
