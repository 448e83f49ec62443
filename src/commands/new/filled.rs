//! The starts, filled in: `start/*.yaml` with names in place of the words in capitals.

use crate::knowledge::Family;

/// The widest line of a remark that lists names.
const WIDTH: usize = 100;

/// The files of a new family: path in the knowledge folder, and text.
pub(super) fn family(name: &str) -> Vec<(String, String)> {
    let in_family = [
        ("family.yaml", include_str!("start/family.yaml")),
        ("causes.yaml", include_str!("start/causes.yaml")),
        ("codes.yaml", include_str!("start/codes.yaml")),
        (
            "measurements/first.yaml",
            include_str!("start/measurements.yaml"),
        ),
        ("trees/slipping.yaml", include_str!("start/tree.yaml")),
        ("trees/shared.yaml", include_str!("start/shared.yaml")),
        ("cases/first.yaml", include_str!("start/case.yaml")),
    ]
    .map(|(path, text)| (format!("{name}/{path}"), text));
    let sheet = (
        format!("vehicles/{name}-example.yaml"),
        include_str!("start/vehicle.yaml"),
    );
    in_family
        .into_iter()
        .chain([sheet])
        .map(|(path, text)| {
            // An id that alone would read as a number stands in quotes.
            let text = text
                .replace("family: FAMILY\n", &format!("family: {}\n", scalar(name)))
                .replace("FAMILY", name);
            (path, text)
        })
        .collect()
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
            ("CAUSES", &causes_of(family, "#")),
            ("LEAVES", &leaves.join("\n")),
            ("PATTERN", &format!(r"\b{}", words.join(".*"))),
            ("EXAMPLE", &format!("\"{}\"", words.join(" "))),
            ("TITLE", &titled(name)),
            ("NAME", &scalar(name)),
        ],
    )
}

/// The file of a new measurement.
pub(super) fn measurement(family: &Family, name: &str, causes: &[String], number: bool) -> String {
    let list = |names: &mut dyn Iterator<Item = &str>| remark("    #   ", names);
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
            (
                "INSTRUMENTS",
                &list(&mut family.instruments.iter().map(|item| item.name.as_str())),
            ),
            ("CAUSES", &causes_of(family, "    #")),
            (
                "SHOWS",
                &format!("      {outcome}: {{{}}}", shown.join(", ")),
            ),
            (
                "SET_UPS",
                &list(&mut family.set_ups.iter().map(|item| item.name.as_str())),
            ),
            (
                "CONDITIONS",
                &list(&mut family.conditions.iter().map(|item| item.name.as_str())),
            ),
            (
                "CAUTIONS",
                &list(&mut family.cautions.iter().map(|item| item.name.as_str())),
            ),
            (
                "SYMPTOMS",
                &list(&mut family.symptoms.iter().map(|item| item.name.as_str())),
            ),
            ("OUTCOME", outcome),
            ("TITLE", &titled(name)),
            ("NAME", &scalar(name)),
        ],
    )
}

/// The entries of a new cause and of its repair.
pub(super) struct Filled {
    pub(super) cause: String,
    pub(super) repair: String,
}

impl Filled {
    pub(super) fn cause(family: &Family, name: &str, repair: &str) -> Self {
        let mut rates: Vec<f64> = family.causes.iter().map(|cause| cause.rate.get()).collect();
        rates.sort_by(f64::total_cmp);
        // As frequent as the middle one of the family: a start that leads to no rash belief.
        let rate = rates.get(rates.len() / 2).copied().unwrap_or(5.0);
        let care: Vec<&str> = family.care.iter().map(|care| care.name.as_str()).collect();
        Self {
            cause: with(
                include_str!("start/cause.yaml"),
                &[
                    ("RATE", &format!("{:31}", crate::text::plain(rate))),
                    ("REPAIR", &scalar(repair)),
                    ("TITLE", &format!("{:30}", titled(name))),
                    ("NAME", &scalar(name)),
                ],
            ),
            repair: with(
                include_str!("start/repair.yaml"),
                &[
                    ("REPAIR", &scalar(repair)),
                    ("CARE", &care.join(", ")),
                    ("MEASUREMENTS", "id"),
                    ("TITLE", &titled(name).to_lowercase()),
                ],
            ),
        }
    }
}

/// A start with words in place of its words in capitals, in the order given.
fn with(start: &str, words: &[(&str, &str)]) -> String {
    words.iter().fold(start.to_owned(), |text, (word, place)| {
        text.replace(word, place)
    })
}

/// A remark that lists the family's causes with what they are.
fn causes_of(family: &Family, margin: &str) -> String {
    let mut names = family.causes.iter().map(|cause| cause.name.as_str());
    remark(&format!("{margin}   "), &mut names)
}

/// Names in remarks, as many lines as it takes.
fn remark(margin: &str, names: &mut dyn Iterator<Item = &str>) -> String {
    let names: Vec<&str> = names.collect();
    if names.is_empty() {
        return format!("{margin}(none yet)");
    }
    let width = WIDTH.saturating_sub(margin.len());
    let options = textwrap::Options::new(width)
        .word_splitter(textwrap::WordSplitter::NoHyphenation)
        .break_words(false);
    let lines: Vec<String> = textwrap::wrap(&names.join(", "), options)
        .iter()
        .map(|line| format!("{margin}{line}"))
        .collect();
    lines.join("\n")
}

/// A name as YAML: in quotes where it alone would read as something else than a text.
pub(super) fn scalar(name: &str) -> String {
    let plain = name.starts_with(|c: char| c.is_ascii_lowercase())
        && !matches!(name, "true" | "false" | "null");
    if plain {
        name.to_owned()
    } else {
        format!("\"{name}\"")
    }
}

/// What something may be called by its id, for a start: `pump-worn`, `Pump worn`.
fn titled(name: &str) -> String {
    let words = name.replace('-', " ");
    let mut letters = words.chars();
    let title = letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    });
    // A title of digits alone would read as a number, and one word of a few as a truth value.
    if title.starts_with(|c: char| c.is_ascii_uppercase())
        && !matches!(title.as_str(), "True" | "False" | "Null")
    {
        title
    } else {
        format!("\"{title}\"")
    }
}
