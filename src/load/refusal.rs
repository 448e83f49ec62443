//! Why a file's YAML was refused, and where the mistake most likely stands.

use serde_yaml::Error as Yaml;

use super::code::Code;
use super::log::{Report, Spot};
use super::narrow::{Blame, is_content, narrow};
use super::node::{mistake, spot};

/// Why the YAML was refused, as a finding.
pub(super) fn refused(error: &serde_yaml::Error, text: &str, file: u32) -> Report {
    let report = told(error, file);
    if report.code != Code::NotYaml
        || matches!(error.without_snippet(), Yaml::MultipleDocuments { .. })
    {
        return report;
    }
    let plain = text.replace("\r\n", "\n").replace('\r', "\n");
    let tabbed = plain
        .split('\n')
        .position(|line| is_content(line) && line.trim_start_matches(' ').starts_with('\t'));
    if let Some(line) = tabbed {
        let blamed = plain.split('\n').nth(line).unwrap_or_default();
        let spot = Spot {
            file,
            line: count(line + 1),
            column: count(blamed.find('\t').unwrap_or(0) + 1),
        };
        return Report::new(
            Code::NotYaml,
            spot,
            "a tab indents this line; only blanks may",
        )
        .advice("let the editor turn tabs into blanks");
    }
    match narrow(&plain, &|part| mistake(part).is_none()) {
        Some(Blame::Indent(line)) => {
            let blamed = plain.split('\n').nth(line).unwrap_or_default();
            let deep = blamed.chars().take_while(|c| *c == ' ').count();
            let spot = Spot {
                file,
                line: count(line + 1),
                column: count(deep + 1),
            };
            Report::new(
                Code::NotYaml,
                spot,
                "this line does not stand as deep as those it belongs with",
            )
            .advice("a line with a name above it may be missing, or the indent is wrong")
        }
        Some(Blame::Part { from, lines }) => nearer(from, &lines, file).unwrap_or(report),
        None => report,
    }
}

/// What is wrong with the smallest part that is no YAML by itself.
fn nearer(from: usize, lines: &[String], file: u32) -> Option<Report> {
    let mut report = told(&mistake(&lines.join("\n"))?, file);
    let at = |line: usize, before: &str| Spot {
        file,
        line: count(from + line + 1),
        column: count(before.chars().count() + 1),
    };
    // A lost quote pairs up with every quote after it: the first line with one too many is it.
    let odd = lines
        .iter()
        .position(|line| line.matches('"').count() % 2 == 1);
    if let Some(line) = odd.filter(|_| report.words.contains("quoted")) {
        let before = lines[line]
            .rsplit_once('"')
            .map_or("", |(before, _)| before);
        report.spot = at(line, before);
        return Some(report.advice("a quote has no partner: every text in quotes ends with one"));
    }
    report.spot.line = report.spot.line.max(1).saturating_add(count(from));
    // A bracket that is not closed: the last line of the part is where it should be.
    if report.words.contains("unclosed bracket") {
        let opened = report.spot.line;
        let last = lines.iter().rposition(|line| is_content(line))?;
        report.spot = at(last, lines[last].trim_end());
        report.words = format!("the bracket that opens in line {opened} is not closed by here");
        return Some(report.advice("every { ends with }, every [ with ]"));
    }
    Some(report)
}

fn count(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}

/// What the parser says, as a finding.
fn told(error: &serde_yaml::Error, file: u32) -> Report {
    let error = error.without_snippet();
    let place = error
        .location()
        .map_or_else(|| Spot::file(file), |location| spot(location, file));
    let words = error.to_string();
    // The parser ends its message with the place, which the finding has already.
    let words = words.lines().next().unwrap_or_default();
    let words = words
        .split(" at line ")
        .next()
        .unwrap_or(words)
        .trim_end_matches('.');
    // A mistake inside an alias is told of the alias.
    let inner = match error {
        Yaml::AliasError { error, .. } => error.without_snippet(),
        other => other,
    };
    let too_much = matches!(
        inner,
        Yaml::Budget { .. }
            | Yaml::AliasReplayCounterOverflow { .. }
            | Yaml::AliasReplayLimitExceeded { .. }
            | Yaml::AliasExpansionLimitExceeded { .. }
            | Yaml::AliasReplayStackDepthExceeded { .. }
    ) || words.contains("limit exceeded");
    if too_much {
        return Report::new(
            Code::TooMuch,
            place,
            "the file nests deeper or holds more than a knowledge file needs; it is read up to here",
        )
        .advice("write it plainly: no aliases, little nesting, long lists in several files");
    }
    if let Yaml::MultipleDocuments { .. } = inner {
        return Report::new(Code::NotYaml, place, "a second document starts here")
            .advice("one file holds one document");
    }
    Report::new(Code::NotYaml, place, format!("this is not YAML: {words}")).advice(
        "look at the indent, the colons, the brackets and the quotes of this line and the one before",
    )
}
