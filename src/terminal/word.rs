//! What can be typed at a prompt.

use crate::session::Answer;

/// A line as it is meant.
#[derive(Clone, Debug, PartialEq)]
pub enum Line {
    /// Something said to the question, or to the job.
    Said(Answer),
    /// Show the measurements on offer.
    List,
    /// Explain: the measurement at hand, or the measurement, cause or repair of a name.
    Why(Option<String>),
    /// Wait for a cool-down to pass.
    Wait,
    /// Save and end for now.
    Stop,
    /// What can be typed.
    Help,
    /// The word needs something after it.
    Incomplete(&'static str),
}

/// The words and what each does, as `help` shows them.
pub const WORDS: [(&str, &str); 15] = [
    ("skip", "pass this measurement over"),
    ("cannot [why]", "it cannot be done here"),
    ("list", "the measurements in order, to choose another"),
    (
        "take NAME|NUMBER",
        "take that measurement instead, also one set aside or taken before",
    ),
    (
        "with INSTRUMENT",
        "the instrument you really use (`with ?` lists them)",
    ),
    (
        "why [NAME]",
        "what each outcome would leave; for a cause, which reading moved it how far",
    ),
    ("back [n]", "take back the last answer, or the last n"),
    ("note TEXT", "keep a remark in the record"),
    ("also SYMPTOM", "a further complaint"),
    ("absent SYMPTOM", "a complaint the vehicle does not have"),
    ("in-place SET_UP", "a set-up that stands already"),
    ("wait", "wait until a cool-down has passed"),
    ("repair", "stop measuring and repair now"),
    ("stop", "save and leave; the same job goes on later"),
    ("help", "these words"),
];

impl Line {
    /// Reads a line: its first word decides, without regard to case.
    pub fn read(line: &str) -> Self {
        let line = line.trim();
        if line.eq_ignore_ascii_case("not taken") {
            // What the standing notice tells a technician to say.
            return Self::Said(Answer::Cannot(None));
        }
        let (first, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
        let rest = rest.trim();
        let named = |word: fn(String) -> Answer, what| {
            if rest.is_empty() {
                Self::Incomplete(what)
            } else {
                Self::Said(word(rest.to_owned()))
            }
        };
        let some = || (!rest.is_empty()).then(|| rest.to_owned());
        let typed = || Self::Said(Answer::Typed(line.to_owned()));
        let alone = |word: Self| if rest.is_empty() { word } else { typed() };
        match first.to_ascii_lowercase().as_str() {
            "skip" => alone(Self::Said(Answer::Skip)),
            "cannot" => Self::Said(Answer::Cannot(some())),
            "list" => alone(Self::List),
            "take" => named(
                Answer::Take,
                "take what? Write the name of a measurement, or its number in the list.",
            ),
            "with" => named(Answer::With, "with which instrument? `with ?` lists them."),
            "why" => Self::Why(some()),
            "back" if rest.is_empty() => Self::Said(Answer::Back(1)),
            "back" => match rest.parse() {
                Ok(steps) if steps > 0 => Self::Said(Answer::Back(steps)),
                _ => Self::Incomplete("back how many answers? Write `back`, or `back 2`."),
            },
            "note" => named(Answer::Note, "note what? Write the remark behind the word."),
            "also" => named(Answer::Also, "also what? Write the name of a symptom."),
            "absent" => named(Answer::Absent, "absent what? Write the name of a symptom."),
            "in-place" => named(
                Answer::InPlace,
                "what is in place? Write the name of a set-up.",
            ),
            "repair" => alone(Self::Said(Answer::Repair)),
            "wait" => alone(Self::Wait),
            "stop" => alone(Self::Stop),
            "help" | "?" => alone(Self::Help),
            _ => typed(),
        }
    }

    /// Reads a customer's words: any sentence may begin with a word of the program, so only a word on its own is
    /// one, and `back` with a number.
    pub fn read_sentence(line: &str) -> Self {
        match Self::read(line) {
            Self::Said(Answer::Back(steps)) => Self::Said(Answer::Back(steps)),
            word if !line.trim().contains(char::is_whitespace) => word,
            _ => Self::Said(Answer::Typed(line.trim().to_owned())),
        }
    }
}
