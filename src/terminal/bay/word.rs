//! What can be typed at a prompt besides an answer.

/// A word to the program, instead of an answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Word {
    /// An answer to the question.
    Answer(String),
    /// Pass this measurement over for now.
    Skip,
    /// It cannot be done here, and why.
    Cannot(Option<String>),
    /// Show the ranked list.
    List,
    /// Take this measurement instead: its name, or its number in the list.
    Take(String),
    /// Explain: the measurement at hand, or the measurement or cause of a name.
    Why(Option<String>),
    /// Take back so many answers.
    Back(u32),
    /// Keep a remark.
    Note(String),
    /// Save and end for now.
    Stop,
    /// What can be typed.
    Help,
    /// A further symptom is present.
    Also(String),
    /// A symptom is confirmed absent.
    Absent(String),
    /// A set-up stands in place.
    InPlace(String),
    /// The instrument really used.
    With(String),
    /// Repair now, whatever the advice.
    Repair,
    /// Wait for a cool-down to pass.
    Wait,
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

impl Word {
    /// Reads a line: its first word decides, without regard to case.
    #[must_use]
    pub fn read(line: &str) -> Self {
        let line = line.trim();
        if line.eq_ignore_ascii_case("not taken") {
            // What the standing notice tells a technician to say.
            return Self::Cannot(None);
        }
        let (first, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
        let rest = rest.trim();
        let named = |word: fn(String) -> Self, what| {
            if rest.is_empty() {
                Self::Incomplete(what)
            } else {
                word(rest.to_owned())
            }
        };
        let alone = |word: Self| {
            if rest.is_empty() {
                word
            } else {
                Self::Answer(line.to_owned())
            }
        };
        match first.to_ascii_lowercase().as_str() {
            "skip" => alone(Self::Skip),
            "cannot" => Self::Cannot((!rest.is_empty()).then(|| rest.to_owned())),
            "list" => alone(Self::List),
            "take" => named(
                Self::Take,
                "take what? Write the name of a measurement, or its number in the list.",
            ),
            "with" => named(Self::With, "with which instrument? `with ?` lists them."),
            "why" => Self::Why((!rest.is_empty()).then(|| rest.to_owned())),
            "back" if rest.is_empty() => Self::Back(1),
            "back" => match rest.parse() {
                Ok(steps) if steps > 0 => Self::Back(steps),
                _ => Self::Incomplete("back how many answers? Write `back`, or `back 2`."),
            },
            "note" => named(Self::Note, "note what? Write the remark behind the word."),
            "also" => named(Self::Also, "also what? Write the name of a symptom."),
            "absent" => named(Self::Absent, "absent what? Write the name of a symptom."),
            "in-place" => named(
                Self::InPlace,
                "what is in place? Write the name of a set-up.",
            ),
            "repair" => alone(Self::Repair),
            "wait" => alone(Self::Wait),
            "stop" => alone(Self::Stop),
            "help" | "?" => alone(Self::Help),
            _ => Self::Answer(line.to_owned()),
        }
    }
}
