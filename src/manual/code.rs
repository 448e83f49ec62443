//! The codes of findings: stable names of our own, each explained in docs/findings.md.

use std::fmt;

/// How bad a finding is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// The knowledge cannot be used before it is put right.
    Error,
    /// The knowledge can be used, but something in it is probably not meant.
    Warning,
}

impl fmt::Display for Severity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Error => "error",
            Self::Warning => "warning",
        })
    }
}

macro_rules! codes {
    ($($(#[doc = $doc:literal])+ $name:ident = $text:literal, $severity:ident;)+) => {
        /// What kind of thing is wrong. Each has a heading in docs/findings.md.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Code {
            $($(#[doc = $doc])+ $name,)+
        }

        impl Code {
            /// Every code, in the order of docs/findings.md.
            pub const ALL: &'static [Self] = &[$(Self::$name,)+];

            /// The code as it is shown, in kebab case.
            #[must_use]
            pub const fn name(self) -> &'static str {
                match self {
                    $(Self::$name => $text,)+
                }
            }

            /// How bad a finding of this code is.
            #[must_use]
            pub const fn severity(self) -> Severity {
                match self {
                    $(Self::$name => Severity::$severity,)+
                }
            }
        }
    };
}

codes! {
    /// A file or folder cannot be read.
    Unreadable = "unreadable", Error;
    /// The folder holds no family, or a family folder lacks one of its files.
    MissingFile = "missing-file", Error;
    /// A file or folder larger than any knowledge file needs to be.
    TooLarge = "too-large", Error;
    /// A file that is not UTF-8.
    NotUtf8 = "not-utf-8", Error;
    /// A character that no text needs and that could garble a screen.
    ControlCharacter = "control-character", Error;
    /// Text that is not YAML.
    NotYaml = "not-yaml", Error;
    /// Nesting, aliases or entries beyond what a knowledge file needs.
    TooMuch = "too-much", Error;
    /// A file that belongs to no place of a knowledge folder.
    StrayFile = "stray-file", Warning;
    /// A key that stands twice in one map.
    DuplicateKey = "duplicate-key", Error;
    /// A field that an entry of this kind does not have.
    UnknownField = "unknown-field", Error;
    /// A field that an entry of this kind needs.
    MissingField = "missing-field", Error;
    /// A value of another kind than the field takes: a number where a text belongs, and the like.
    WrongType = "wrong-type", Error;
    /// A word that is not among those a field takes.
    UnknownWord = "unknown-word", Error;
    /// An id that is not in kebab case.
    BadId = "bad-id", Error;
    /// A text with nothing in it.
    EmptyText = "empty-text", Error;
    /// One name for two things.
    DuplicateName = "duplicate-name", Error;
    /// A family that no folder holds.
    UnknownFamily = "unknown-family", Error;
    /// A vehicle that no sheet describes.
    UnknownVehicle = "unknown-vehicle", Error;
    /// A cause that causes.yaml does not list.
    UnknownCause = "unknown-cause", Error;
    /// A repair that causes.yaml does not list.
    UnknownRepair = "unknown-repair", Error;
    /// A measurement that no file describes.
    UnknownMeasurement = "unknown-measurement", Error;
    /// An outcome that the measurement does not have.
    UnknownOutcome = "unknown-outcome", Error;
    /// A symptom that no tree describes.
    UnknownSymptom = "unknown-symptom", Error;
    /// A shared part that no file describes.
    UnknownShared = "unknown-shared", Error;
    /// A set-up that family.yaml does not list.
    UnknownSetUp = "unknown-set-up", Error;
    /// An instrument that family.yaml does not list.
    UnknownInstrument = "unknown-instrument", Error;
    /// A condition that family.yaml does not list.
    UnknownCondition = "unknown-condition", Error;
    /// A caution that family.yaml does not list.
    UnknownCaution = "unknown-caution", Error;
    /// Care that family.yaml does not list.
    UnknownCare = "unknown-care", Error;
    /// A unit the program does not know.
    UnknownUnit = "unknown-unit", Error;
    /// A quantity the program does not know.
    UnknownQuantity = "unknown-quantity", Error;
    /// A unit of another quantity than the one it is used for.
    WrongDimension = "wrong-dimension", Error;
    /// A probability, strength or share outside 0 to 1.
    BadProbability = "bad-probability", Error;
    /// A rate outside 0 to 1,000.
    BadRate = "bad-rate", Error;
    /// A number that the field cannot take: negative, infinite or out of its range.
    BadNumber = "bad-number", Error;
    /// Shared parts that contain one another.
    Cycle = "cycle", Error;
    /// A gate that is not exactly one of `any`, `all`, and `at_least` with `of`.
    GateShape = "gate-shape", Error;
    /// A voting gate that can never come on, or is on from the start.
    GateOutOfReach = "gate-out-of-reach", Error;
    /// A shared part that no tree uses.
    UnusedShared = "unused-shared", Warning;
    /// A cause that stands in no tree.
    UnreachableCause = "unreachable-cause", Warning;
    /// A measurement with fewer than two outcomes.
    FewOutcomes = "few-outcomes", Error;
    /// A measurement without its normal outcome.
    NoNormal = "no-normal", Error;
    /// A figure stated for the normal outcome, which takes what the others leave.
    NormalStated = "normal-stated", Error;
    /// A row of `shows` whose probabilities add up to more than 1.
    RowAboveOne = "row-above-one", Error;
    /// A row of `chance` whose probabilities add up to more than 1.
    ChanceAboveOne = "chance-above-one", Error;
    /// A band with no end, with two ends on one side, or with its ends the wrong way round.
    BadBand = "bad-band", Error;
    /// Values that two outcomes claim.
    BandsOverlap = "bands-overlap", Error;
    /// Values that no outcome claims.
    BandsGap = "bands-gap", Error;
    /// A name of a limit that is not `sheet.min`, `sheet.max` or `sheet.far`.
    BadLimit = "bad-limit", Error;
    /// A limit that a vehicle of the family lacks: the measurement cannot be judged on it.
    LimitLacking = "limit-lacking", Warning;
    /// A limit that no vehicle of the family has.
    LimitNowhere = "limit-nowhere", Warning;
    /// A reading that is neither a number nor a list of choices, or both.
    ReadingShape = "reading-shape", Error;
    /// A formula that cannot be read, or uses a name that `takes` does not give.
    BadFormula = "bad-formula", Error;
    /// A set-up that can never be entered, or set-ups in place that exclude one another.
    SetUpConflict = "set-up-conflict", Error;
    /// A complaint pattern that is no regular expression.
    BadPattern = "bad-pattern", Error;
    /// A trouble code that is not a letter and four digits.
    BadCode = "bad-code", Error;
    /// A value of a case that the measurement cannot give.
    BadValue = "bad-value", Error;
    /// An expectation of a case that is not exactly one answer.
    ExpectShape = "expect-shape", Error;
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}
