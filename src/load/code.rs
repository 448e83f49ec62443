//! The codes of findings: stable names of our own, each explained in docs/findings.md.

use std::fmt;

/// How bad a finding is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// It must be put right: the knowledge cannot be read, or gives a worked case another answer.
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
    ($($(#[doc = $doc:literal])+ $name:ident = $text:literal, $severity:ident, $why:literal;)+) => {
        /// What kind of thing is wrong. Each has a heading in docs/findings.md.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Code {
            $($(#[doc = $doc])+ $name,)+
        }

        impl Code {
            /// Every code, in the order of docs/findings.md.
            pub const ALL: &'static [Self] = &[$(Self::$name,)+];

            /// The code as it is shown, in kebab case.
            pub const fn name(self) -> &'static str {
                match self {
                    $(Self::$name => $text,)+
                }
            }

            /// How bad a finding of this code is.
            pub const fn severity(self) -> Severity {
                match self {
                    $(Self::$name => Severity::$severity,)+
                }
            }

            /// Why a finding of this code matters, in a sentence.
            pub const fn why(self) -> &'static str {
                match self {
                    $(Self::$name => $why,)+
                }
            }
        }
    };
}

codes! {
    /// A file or folder cannot be read.
    Unreadable = "unreadable", Error, "What it holds is not known, so nothing can rest on it.";
    /// The folder holds no family, or a family folder lacks one of its files.
    MissingFile = "missing-file", Error, "A diagnosis needs a family with causes, measurements and trees.";
    /// A file or folder larger than any knowledge file needs to be.
    TooLarge = "too-large", Error, "No knowledge file is so large: it is likely another file.";
    /// A file that is not UTF-8.
    NotUtf8 = "not-utf-8", Error, "Text in another encoding would be shown garbled.";
    /// A character that no text needs and that could garble a screen.
    ControlCharacter = "control-character", Error, "What cannot be seen can garble a screen, or make a line read otherwise than it is.";
    /// Text that is not YAML.
    NotYaml = "not-yaml", Error, "Nothing behind this place can be understood.";
    /// Nesting, aliases or entries beyond what a knowledge file needs.
    TooMuch = "too-much", Error, "So much of it is a mistake, or would take all the memory.";
    /// A file that belongs to no place of a knowledge folder.
    StrayFile = "stray-file", Warning, "Whoever wrote it believes that it counts, and it does not.";
    /// A knowledge file whose name ends in another way than `.yaml`.
    WrongEnding = "wrong-ending", Error, "The file is not read, so everything that it describes is missing.";
    /// A mark that YAML takes otherwise than it looks: a `#` inside a text, curly quotes.
    EatenText = "eaten-text", Warning, "A screen shows less, or other signs, than the file seems to say.";
    /// A key that stands twice in one map.
    DuplicateKey = "duplicate-key", Error, "Only one of the two can count, and a reader would not know which.";
    /// A field that an entry of this kind does not have.
    UnknownField = "unknown-field", Error, "What stands there would be passed over in silence.";
    /// A field that an entry of this kind needs.
    MissingField = "missing-field", Error, "The entry cannot be used without it.";
    /// A value of another kind than the field takes: a number where a text belongs, and the like.
    WrongType = "wrong-type", Error, "The value cannot be used as what the field means.";
    /// A word that is not among those a field takes.
    UnknownWord = "unknown-word", Error, "The word would mean nothing here.";
    /// An id that is not in kebab case.
    BadId = "bad-id", Error, "Ids are typed at prompts and stand in records, so they are kept plain.";
    /// A text with nothing in it.
    EmptyText = "empty-text", Error, "A screen would show nothing where something is to be read.";
    /// One name for two things.
    DuplicateName = "duplicate-name", Error, "A reference to it could mean either.";
    /// A family that no folder holds.
    UnknownFamily = "unknown-family", Error, "What is written here would belong to nothing.";
    /// A vehicle that no sheet describes.
    UnknownVehicle = "unknown-vehicle", Error, "There are no limits to judge the readings by.";
    /// A cause that causes.yaml does not list.
    UnknownCause = "unknown-cause", Error, "A reference that leads nowhere says nothing of any cause.";
    /// A repair that causes.yaml does not list.
    UnknownRepair = "unknown-repair", Error, "The cause could be found and not be put right.";
    /// A measurement that no file describes.
    UnknownMeasurement = "unknown-measurement", Error, "A reference that leads nowhere would be passed over.";
    /// An outcome that the measurement does not have.
    UnknownOutcome = "unknown-outcome", Error, "The figure would belong to no reading.";
    /// A symptom that no tree describes.
    UnknownSymptom = "unknown-symptom", Error, "A reference that leads nowhere would be passed over.";
    /// A shared part that no file describes.
    UnknownShared = "unknown-shared", Error, "A part of the tree would be missing.";
    /// A set-up that family.yaml does not list.
    UnknownSetUp = "unknown-set-up", Error, "The time it takes and what it leaves would not count.";
    /// An instrument that family.yaml does not list.
    UnknownInstrument = "unknown-instrument", Error, "How uncertain a reading is would not be known.";
    /// A condition that family.yaml does not list.
    UnknownCondition = "unknown-condition", Error, "A reading would count that should not.";
    /// A caution that family.yaml does not list.
    UnknownCaution = "unknown-caution", Error, "The caution would not be shown.";
    /// Care that family.yaml does not list.
    UnknownCare = "unknown-care", Error, "The care would not be shown with the repair.";
    /// A signal that is not in family.yaml.
    UnknownSignal = "unknown-signal", Error, "Nothing could be read from a recording.";
    /// A unit the program does not know.
    UnknownUnit = "unknown-unit", Error, "A number without a known unit can be wrong by any factor.";
    /// A quantity the program does not know.
    UnknownQuantity = "unknown-quantity", Error, "The units of the reading would not be known.";
    /// A unit of another quantity than the one it is used for.
    WrongDimension = "wrong-dimension", Error, "A number of another quantity says nothing here.";
    /// A probability, strength or share outside 0 to 1.
    BadProbability = "bad-probability", Error, "No sum of chances comes out right with it.";
    /// A rate outside 0 to 1,000.
    BadRate = "bad-rate", Error, "The prior of the cause rests on it.";
    /// A number that the field cannot take: negative, infinite or out of its range.
    BadNumber = "bad-number", Error, "Times, prices and spans are reckoned with it.";
    /// Shared parts that contain one another.
    Cycle = "cycle", Error, "An event cannot be its own cause.";
    /// A gate that is not exactly one of `any`, `all`, and `at_least` with `of`.
    GateShape = "gate-shape", Error, "It is not known when the event comes about.";
    /// A voting gate that can never come on, or is on from the start.
    GateOutOfReach = "gate-out-of-reach", Error, "The event could never come about, or always would.";
    /// A cause that stands twice among the inputs of one gate.
    CauseTwice = "cause-twice", Warning, "Each is a link of its own, so the cause counts twice there.";
    /// A shared part that no tree uses.
    UnusedShared = "unused-shared", Warning, "It may have been meant to stand in a tree, and no diagnosis sees it.";
    /// A cause that stands in no tree.
    UnreachableCause = "unreachable-cause", Warning, "No complaint will ever lead to it.";
    /// Something that is marked as still to be filled in.
    Unfinished = "unfinished", Warning, "It is left out of every diagnosis, with what refers to it.";
    /// A measurement with fewer than two outcomes.
    FewOutcomes = "few-outcomes", Error, "A reading that always comes out alike tells nothing.";
    /// A measurement without its normal outcome.
    NoNormal = "no-normal", Error, "What a sound vehicle reads is not known.";
    /// A figure stated for the normal outcome, which takes what the others leave.
    NormalStated = "normal-stated", Error, "Normal takes what the others leave, so two figures would contradict each other.";
    /// A row of `shows` whose probabilities add up to more than 1.
    RowAboveOne = "row-above-one", Error, "A measurement cannot have two outcomes at once.";
    /// A row of `chance` whose probabilities add up to more than 1.
    ChanceAboveOne = "chance-above-one", Error, "A measurement cannot have two outcomes at once.";
    /// A band with no end, with two ends on one side, or with its ends the wrong way round.
    BadBand = "bad-band", Error, "The outcome would hold no value.";
    /// Values that two outcomes claim.
    BandsOverlap = "bands-overlap", Error, "A reading there would mean two things.";
    /// Values that no outcome claims.
    BandsGap = "bands-gap", Error, "A reading there would mean nothing.";
    /// A name of a limit that is not `sheet.min`, `sheet.max` or `sheet.far`.
    BadLimit = "bad-limit", Error, "No sheet can give a limit of that form.";
    /// A limit that a vehicle of the family lacks: the measurement cannot be judged on it.
    LimitLacking = "limit-lacking", Warning, "The measurement is not offered on that vehicle.";
    /// A limit that no vehicle of the family has.
    LimitNowhere = "limit-nowhere", Warning, "The measurement is offered on no vehicle, or shows nothing beside the reading.";
    /// A reading that is neither a number nor a list of choices, or both.
    ReadingShape = "reading-shape", Error, "It is not known what an answer looks like.";
    /// A formula that cannot be read, or uses a name that `takes` does not give.
    BadFormula = "bad-formula", Error, "The number cannot be computed.";
    /// A set-up that can never be entered, or set-ups in place that exclude one another.
    SetUpConflict = "set-up-conflict", Error, "The work could never be prepared.";
    /// A complaint pattern that is no regular expression.
    BadPattern = "bad-pattern", Error, "The customer's words would not be recognised by it.";
    /// A trouble code that is not a letter and four digits.
    BadCode = "bad-code", Error, "A scan tool never shows it.";
    /// A value of a case that the measurement cannot give.
    BadValue = "bad-value", Error, "The case cannot be played.";
    /// An expectation of a case that is not exactly one answer.
    ExpectShape = "expect-shape", Error, "The case cannot be held against an answer.";
    /// A cause that no measurement shows.
    UnshownCause = "unshown-cause", Warning, "It can be believed by its rate alone: no reading will ever speak for it.";
    /// Two causes with different repairs that nothing tells apart.
    CausesAlike = "causes-alike", Warning, "The job ends in a guess between two repairs, and nobody is told.";
    /// A measurement that can never set anything apart.
    IdleMeasurement = "idle-measurement", Warning, "It is never offered, so writing and reading it is work for nothing.";
    /// A measurement offered for a complaint that it can tell nothing about.
    IdleOffer = "idle-offer", Warning, "Whoever takes it there spends the time and knows no more.";
    /// Figures of `shows` for a cause that no complaint of the measurement leads to.
    UnusedFigure = "unused-figure", Warning, "The figures look as if they counted, and no job with one complaint uses them.";
    /// A set-up or measurement that lacks what all others of its kind need.
    SetUpLacks = "set-up-lacks", Warning, "Work would be done in an order that hurts, or a reading taken with nothing fitted.";
    /// A band narrower than what its instrument can tell.
    NarrowBand = "narrow-band", Warning, "Hardly any reading can be said to lie in it: a unit or a decimal point is likely wrong.";
    /// Spec sheets of one family that are ten times apart.
    SheetsDiffer = "sheets-differ", Warning, "A limit in another unit, or with its point moved, judges every reading wrong.";
    /// A repair that puts no cause right.
    UnusedRepair = "unused-repair", Warning, "No diagnosis can end in it; perhaps a cause names another one by mistake.";
    /// An abnormal outcome that no cause gives.
    UnshownOutcome = "unshown-outcome", Warning, "A technician who reads it learns nothing of what is wrong.";
    /// A rate far from the others of its part.
    OddRate = "odd-rate", Warning, "A slipped decimal point makes a rare cause the first suspect, or hides a common one.";
    /// A `shows` figure far below the others of its outcome.
    OddFigure = "odd-figure", Warning, "A slipped decimal point lets the very reading that convicts a cause acquit it.";
    /// A source that says nothing, or that the family does not list.
    DanglingSource = "dangling-source", Warning, "Nobody can ask who says so, and how far to trust it.";
    /// A complaint pattern that takes another symptom's wordings.
    GreedyPattern = "greedy-pattern", Warning, "A customer who says so is sent down the wrong tree.";
    /// Words that their own symptom's patterns do not find.
    UnmatchedWords = "unmatched-words", Warning, "A customer who says so is not understood.";
    /// A text too long for the screen.
    LongText = "long-text", Warning, "It breaks tables, or is not read with a hand on the gauge.";
    /// A step that mentions a danger, on a measurement without its caution.
    DangerUnwarned = "danger-unwarned", Warning, "The technician meets the danger before the warning.";
    /// An accepted finding that does not occur.
    UnneededAccept = "unneeded-accept", Warning, "A reason kept for nothing would silence the next mistake at that place.";
    /// An exercise without one fault, or with one that does not bring about its complaint.
    ExerciseFault = "exercise-fault", Error, "The exercise cannot be played.";
    /// A worked case that does not come out as expected.
    CaseFails = "case-fails", Error, "An answer that was right before is not any more: the edit made the diagnosis worse, or the case is out of date.";
    /// A worked case that is advised a repair before all is read that it wants read before.
    RepairTooSoon = "repair-too-soon", Error, "A unit would be opened on less than the trade asks for.";
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}
