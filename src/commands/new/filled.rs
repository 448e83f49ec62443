//! The templates, filled in: `start/*.yaml` with names in place of the words in capitals.

use crate::load::{AskedLimit, FamilyOutline, IdKind};
use crate::text::yaml_scalar;

/// The widest line of a remark that lists names.
const WIDTH: usize = 100;

/// The files of a new family: path in the knowledge folder, and text.
pub(super) fn family(name: &str) -> Vec<(String, String)> {
    macro_rules! start {
        ($($path:literal: $file:literal;)+) => {
            [$(($path, include_str!(concat!("start/", $file)))),+]
        };
    }
    start! {
        "FAMILY/family.yaml": "family.yaml";
        "FAMILY/causes.yaml": "causes.yaml";
        "FAMILY/codes.yaml": "codes.yaml";
        "FAMILY/measurements/first.yaml": "measurements.yaml";
        "FAMILY/trees/slipping.yaml": "tree.yaml";
        "FAMILY/trees/shared.yaml": "shared.yaml";
        "FAMILY/cases/first.yaml": "case.yaml";
        "FAMILY/exercises/first.yaml": "exercise.yaml";
        "vehicles/FAMILY-example.yaml": "vehicle.yaml";
    }
    .map(|(path, text)| {
        // An id that alone would read as a number is put in quotes.
        let alone = format!("family: {}\n", yaml_scalar(name));
        let text = text
            .replace("family: FAMILY\n", &alone)
            .replace("FAMILY", name);
        (path.replace("FAMILY", name), text)
    })
    .to_vec()
}

/// The file of a new symptom.
pub(super) fn symptom(family: &FamilyOutline, name: &str, causes: &[String]) -> String {
    let words: Vec<&str> = name.split('-').collect();
    let leaves: Vec<String> = causes
        .iter()
        .map(|cause| format!("    - {cause}"))
        .collect();
    with(
        include_str!("start/symptom.yaml"),
        &[
            ("CAUSES", &remark("#   ", family.ids.of(IdKind::Cause))),
            ("LEAVES", &leaves.join("\n")),
            ("PATTERN", &format!(r"\b{}", words.join(".*"))),
            ("EXAMPLE", &format!("\"{}\"", words.join(" "))),
            ("TITLE", &titled(name)),
            ("NAME", &yaml_scalar(name)),
        ],
    )
}

/// The file of a new measurement.
pub(super) fn measurement(
    family: &FamilyOutline,
    name: &str,
    causes: &[String],
    number: bool,
) -> String {
    macro_rules! names {
        ($kind:ident) => {
            &remark("    #   ", family.ids.of(IdKind::$kind))
        };
    }
    let (reading, outcome) = if number {
        (include_str!("start/number.yaml"), "low")
    } else {
        (include_str!("start/words.yaml"), "abnormal")
    };
    let shown: Vec<String> = causes.iter().map(|cause| format!("{cause}: 0.8")).collect();
    with(
        include_str!("start/measurement.yaml"),
        &[
            ("READING", reading.trim_end()),
            ("INSTRUMENTS", names!(Instrument)),
            ("CAUSES", names!(Cause)),
            (
                "SHOWS",
                &format!("      {outcome}: {{{}}}", shown.join(", ")),
            ),
            ("SET_UPS", names!(SetUp)),
            ("CONDITIONS", names!(Condition)),
            ("CAUTIONS", names!(Caution)),
            ("SYMPTOMS", names!(Symptom)),
            ("OUTCOME", outcome),
            ("TITLE", &titled(name)),
            ("NAME", &yaml_scalar(name)),
        ],
    )
}

/// The entry of a new cause.
pub(super) fn cause(name: &str, repair: &str) -> String {
    with(
        include_str!("start/cause.yaml"),
        &[
            ("REPAIR", &yaml_scalar(repair)),
            ("TITLE", &format!("{:30}", titled(name))),
            ("NAME", &yaml_scalar(name)),
        ],
    )
}

/// The entry of a new repair, of what it puts right.
pub(super) fn repair(family: &FamilyOutline, repair: &str, of: &str) -> String {
    let care: Vec<&str> = family.ids.of(IdKind::Care).collect();
    with(
        include_str!("start/repair.yaml"),
        &[
            ("REPAIR", &yaml_scalar(repair)),
            ("CARE", &care.join(", ")),
            ("MEASUREMENTS", "id"),
            ("TITLE", &titled(of).to_lowercase()),
        ],
    )
}

/// The spec sheet of a new vehicle: every limit that its family asks for.
pub(super) fn vehicle(family: &str, outline: &FamilyOutline, name: &str) -> String {
    let limits: Vec<String> = outline
        .limits
        .iter()
        .map(|(name, limit)| asked(name, limit))
        .collect();
    let limits = if limits.is_empty() {
        "  {}".to_owned()
    } else {
        limits.join("\n")
    };
    with(
        include_str!("start/sheet.yaml"),
        &[
            ("LIMITS", &limits),
            ("FAMILY", &yaml_scalar(family)),
            ("TITLE", &titled(name)),
            ("NAME", &yaml_scalar(name)),
        ],
    )
}

/// A limit to fill in, below what it judges.
fn asked(name: &str, limit: &AskedLimit) -> String {
    let judges = remark("  # ", std::iter::once(limit.judges.join("; ").as_str()));
    let source = "source: to be filled in";
    let value = match &limit.unit {
        Some(unit) => {
            let keys: Vec<String> = ["min", "max", "far"]
                .into_iter()
                .filter(|key| limit.keys.iter().any(|asked| asked == key))
                .map(|key| format!("{key}: 0"))
                .collect();
            let keys = if keys.is_empty() {
                "min: 0".to_owned()
            } else {
                keys.join(", ")
            };
            format!("{{{keys}, unit: {}, {source}}}", yaml_scalar(unit))
        }
        None => format!("{{words: to be filled in, {source}}}"),
    };
    format!("{judges}\n  {}: {value}", yaml_scalar(name))
}

/// A worked case to fill in, or what a closed job says of one.
pub(super) struct CaseWords {
    pub(super) title: String,
    pub(super) symptoms: Vec<String>,
    pub(super) absent: Vec<String>,
    pub(super) vehicle: Option<String>,
    pub(super) complaint: Option<String>,
    /// Each as it stands behind its dash.
    pub(super) readings: Vec<String>,
    /// As it stands behind `expect:`.
    pub(super) expect: String,
    pub(super) found: Option<String>,
}

/// The file of a worked case.
pub(super) fn case(words: &CaseWords) -> String {
    let list = |names: &[String]| {
        let names: Vec<String> = names.iter().map(|name| yaml_scalar(name)).collect();
        format!("[{}]", names.join(", "))
    };
    let field = |name: &str, value: Option<String>| match value {
        Some(value) => format!("{name}: {value}\n"),
        None => format!("# {name}:\n"),
    };
    let some = |names: &[String]| (!names.is_empty()).then(|| list(names));
    let scalar = |text: &Option<String>| text.as_deref().map(yaml_scalar);
    let readings: Vec<String> = words
        .readings
        .iter()
        .map(|one| format!("  - {one}"))
        .collect();
    with(
        include_str!("start/new-case.yaml"),
        &[
            ("TITLE", &yaml_scalar(&words.title)),
            ("SYMPTOMS", &list(&words.symptoms)),
            ("ABSENT\n", &field("absent", some(&words.absent))),
            ("VEHICLE\n", &field("vehicle", scalar(&words.vehicle))),
            ("EXPECT", &words.expect),
            ("READINGS", &readings.join("\n")),
            ("FOUND\n", &field("found", scalar(&words.found))),
            // Last: it is in somebody's own words.
            ("COMPLAINT\n", &field("complaint", scalar(&words.complaint))),
        ],
    )
}

/// A template with words in place of its words in capitals, in the order given.
fn with(template: &str, words: &[(&str, &str)]) -> String {
    words
        .iter()
        .fold(template.to_owned(), |text, (word, place)| {
            text.replace(word, place)
        })
}

/// Names in remarks, as many lines as it takes.
fn remark<'n>(margin: &str, names: impl Iterator<Item = &'n str>) -> String {
    let names = names.collect::<Vec<_>>().join(", ");
    let names = if names.is_empty() {
        "(none yet)"
    } else {
        &names
    };
    let options = textwrap::Options::new(WIDTH)
        .initial_indent(margin)
        .subsequent_indent(margin)
        .word_splitter(textwrap::WordSplitter::NoHyphenation)
        .break_words(false);
    textwrap::fill(names, options)
}

/// What something may be called by its id, for a start: `pump-worn`, `Pump worn`.
pub(super) fn titled(name: &str) -> String {
    let words = name.replace('-', " ");
    let mut letters = words.chars();
    let title = letters
        .next()
        .map(|first| first.to_uppercase().chain(letters).collect::<String>());
    yaml_scalar(&title.unwrap_or_default())
}
