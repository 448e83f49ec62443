//! The templates, filled in: `start/*.yaml` with names in place of the words in capitals.

use crate::knowledge::Family;
use crate::text::{plain, yaml_scalar};

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
pub(super) fn symptom(family: &Family, name: &str, causes: &[String]) -> String {
    let words: Vec<&str> = name.split('-').collect();
    let leaves: Vec<String> = causes
        .iter()
        .map(|cause| format!("    - {cause}"))
        .collect();
    with(
        include_str!("start/symptom.yaml"),
        &[
            (
                "CAUSES",
                &remark("#   ", family.causes.iter().map(|item| &*item.name)),
            ),
            ("LEAVES", &leaves.join("\n")),
            ("PATTERN", &format!(r"\b{}", words.join(".*"))),
            ("EXAMPLE", &format!("\"{}\"", words.join(" "))),
            ("TITLE", &titled(name)),
            ("NAME", &yaml_scalar(name)),
        ],
    )
}

/// The file of a new measurement.
pub(super) fn measurement(family: &Family, name: &str, causes: &[String], number: bool) -> String {
    macro_rules! names {
        ($list:ident) => {
            &remark("    #   ", family.$list.iter().map(|item| &*item.name))
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
            ("INSTRUMENTS", names!(instruments)),
            ("CAUSES", names!(causes)),
            (
                "SHOWS",
                &format!("      {outcome}: {{{}}}", shown.join(", ")),
            ),
            ("SET_UPS", names!(set_ups)),
            ("CONDITIONS", names!(conditions)),
            ("CAUTIONS", names!(cautions)),
            ("SYMPTOMS", names!(symptoms)),
            ("OUTCOME", outcome),
            ("TITLE", &titled(name)),
            ("NAME", &yaml_scalar(name)),
        ],
    )
}

/// The entry of a new cause.
pub(super) fn cause(family: &Family, name: &str, repair: &str) -> String {
    let mut rates: Vec<f64> = family.causes.iter().map(|cause| cause.rate.get()).collect();
    rates.sort_by(f64::total_cmp);
    // As frequent as the middle one of the family: a start that leads to no rash belief.
    let rate = rates.get(rates.len() / 2).copied().unwrap_or(5.0);
    with(
        include_str!("start/cause.yaml"),
        &[
            ("RATE", &format!("{:31}", plain(rate))),
            ("REPAIR", &yaml_scalar(repair)),
            ("TITLE", &format!("{:30}", titled(name))),
            ("NAME", &yaml_scalar(name)),
        ],
    )
}

/// The entry of the repair of a new cause.
pub(super) fn repair(family: &Family, cause: &str, repair: &str) -> String {
    let care: Vec<&str> = family.care.iter().map(|care| care.name.as_str()).collect();
    with(
        include_str!("start/repair.yaml"),
        &[
            ("REPAIR", &yaml_scalar(repair)),
            ("CARE", &care.join(", ")),
            ("MEASUREMENTS", "id"),
            ("TITLE", &titled(cause).to_lowercase()),
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
fn titled(name: &str) -> String {
    let words = name.replace('-', " ");
    let mut letters = words.chars();
    let title = letters
        .next()
        .map(|first| first.to_uppercase().chain(letters).collect::<String>());
    yaml_scalar(&title.unwrap_or_default())
}
