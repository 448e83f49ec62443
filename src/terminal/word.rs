//! What can be typed at a prompt.

use crate::session::Answer;

/// A line as it is meant.
#[derive(Clone, Debug, PartialEq)]
pub enum Line {
    /// Something said to the question, or to the job.
    Said(Answer),
    /// Show the measurements on offer, the first of them or all.
    List {
        /// Whether all of them.
        all: bool,
    },
    /// Show the measurements, causes and repairs whose titles have these words.
    Find(String),
    /// Show the readings so far, with their numbers.
    Readings,
    /// Explain: the measurement at hand, or the measurement, cause or repair of a name.
    Why(Option<String>),
    /// Take the readings of a recording in this file.
    Recording(String),
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
pub const WORDS: [(&str, &str); 21] = [
    ("skip", "pass this measurement over"),
    ("cannot [why]", "it cannot be done here"),
    ("list [all]", "the measurements in order, to choose another"),
    (
        "take WORDS|NUMBER",
        "take that measurement, also one set aside",
    ),
    (
        "find WORDS",
        "measurements, causes, repairs with these words",
    ),
    (
        "with INSTRUMENT",
        "the instrument you really use (`with ?` lists them)",
    ),
    (
        "why [NAME]",
        "what each outcome would leave; for a cause, which reading moved it how far",
    ),
    (
        "recording FILE",
        "take all that a recording of the scan tool answers",
    ),
    ("back [n]", "take back the last answer, or the last n"),
    ("readings", "what was read so far, with numbers"),
    ("correct NUMBER", "take that reading again; the others stay"),
    ("note TEXT", "keep a remark in the record"),
    ("also SYMPTOM", "a further complaint"),
    ("absent SYMPTOM", "a complaint the vehicle does not have"),
    ("in-place SET_UP", "a set-up that stands already"),
    ("vehicle WORDS|none", "the job is on that vehicle instead"),
    ("wait", "wait until a cool-down has passed"),
    ("repair", "stop measuring and repair now"),
    ("repair WORDS", "that repair was done, advised or not"),
    ("stop", "save and leave; the same job goes on later"),
    ("help", "these words"),
];

impl Line {
    /// Reads a line: its first word decides, without regard to case.
    pub fn read(line: &str) -> Self {
        let line = line.trim();
        match line.to_ascii_lowercase().as_str() {
            // What the standing notice tells a technician to say.
            "not taken" => return Self::Said(Answer::Cannot(None)),
            "list all" => return Self::List { all: true },
            _ => {}
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
            "list" => alone(Self::List { all: false }),
            "find" if rest.is_empty() => {
                Self::Incomplete("find what? Write a word or two of a title.")
            }
            "find" => Self::Find(rest.to_owned()),
            "take" => named(
                Answer::Take,
                "take what? Write words of a measurement's title, or its number in the list.",
            ),
            "with" => named(Answer::With, "with which instrument? `with ?` lists them."),
            "why" => Self::Why(some()),
            "undo" => alone(Self::Said(Answer::Back(1))),
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
            "vehicle" => Self::Said(Answer::Vehicle(rest.to_owned())),
            "recording" if rest.is_empty() => {
                Self::Incomplete("which recording? Write the name of its file.")
            }
            "recording" => Self::Recording(rest.to_owned()),
            "readings" => alone(Self::Readings),
            "correct" => match rest.parse() {
                Ok(number) if number > 0 => Self::Said(Answer::Correct(number)),
                _ => Self::Incomplete(
                    "correct which reading? Write its number; `readings` lists them.",
                ),
            },
            "repair" if rest.is_empty() => Self::Said(Answer::Repair),
            "repair" => Self::Said(Answer::Repaired(rest.to_owned())),
            "wait" => alone(Self::Wait),
            "stop" | "quit" | "exit" | "q" => alone(Self::Stop),
            "help" | "?" => alone(Self::Help),
            _ => typed(),
        }
    }

    /// Reads a customer's words: any sentence may begin with a word of the program, so only a word on its own is
    /// one, and `back` with a number.
    pub fn read_sentence(line: &str) -> Self {
        match Self::read(line) {
            Self::Said(Answer::Back(steps)) => Self::Said(Answer::Back(steps)),
            // Not `recording shows a flare`.
            Self::Recording(file) if !file.contains(' ') => Self::Recording(file),
            // Not `vehicle shudders uphill`.
            Self::Said(Answer::Vehicle(name)) if !name.contains(' ') => {
                Self::Said(Answer::Vehicle(name))
            }
            word if !line.trim().contains(char::is_whitespace) => word,
            _ => Self::Said(Answer::Typed(line.trim().to_owned())),
        }
    }
}
