//! `diff`: what differs between two editions of the knowledge.

use std::path::{Path, PathBuf};

use clap::Args;
use serde_json::{Map, Value as Json, json};

use super::basis;
use super::paired::on_the_same_vehicles;
use super::{DONE, Error, Streams};
use crate::diff::{
    AnswerDiffers, Aspect, CaseAnswer, CaseDiffers, Change, Comparison, Effect, Facts, First, Item,
    ListDiffers, StandsIn, Value, What,
};
use crate::knowledge::{Knowledge, SymptomId};
use crate::simulate;
use crate::simulate::{Paired, Settings, Version};
use crate::text::{Page, Paper};

/// Tell what differs between two editions of the knowledge, and what that does to the answers.
///
/// With one folder, it is compared with the knowledge in the program, or with that of --knowledge.
/// Differences are no failure: the exit code is 0 with them and without.
#[derive(Debug, Args)]
#[command(allow_missing_positional = true)]
pub(super) struct Diff {
    /// The older knowledge folder; left out for the knowledge in the program
    #[arg(value_name = "OLD")]
    old: Option<PathBuf>,
    /// The newer knowledge folder
    #[arg(value_name = "NEW")]
    new: PathBuf,
    /// Let both diagnose N vehicles of each fault, drawn from the one and from the other
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=100_000))]
    study: Option<u32>,
    /// Write the answer as JSON, at full precision
    #[arg(long)]
    json: bool,
}

impl Diff {
    pub(super) fn execute(
        &self,
        folder: Option<&Path>,
        streams: &mut Streams<'_>,
    ) -> Result<u8, Error> {
        if self.old.is_some() && folder.is_some() {
            return Err(Error::Usage(
                "name the older folder once: before the newer, or with --knowledge".to_owned(),
            ));
        }
        let old = self.old.as_deref().or(folder);
        let was = edition(old, streams)?;
        let now = edition(Some(&self.new), streams)?;
        let comparison = Comparison::of(&was, &now);
        let mut paper = Paper::default();
        let studies = match self.study {
            Some(vehicles) => studies(&was, &now, vehicles, streams.interactive, &mut paper)?,
            None => Vec::new(),
        };
        let old = old.map(|path| path.display().to_string());
        let new = self.new.display().to_string();
        if self.json {
            let mut answer = answer(&comparison, old.as_deref(), &new);
            if self.study.is_some() {
                answer["studies"] = json!(studies);
            }
            crate::text::json(streams.out, &answer)?;
        } else {
            let mut page = Page::new(streams.out, streams.width);
            let old = old.as_deref().unwrap_or("the knowledge in the program");
            crate::diff::report::comparison(&mut page, &comparison, old, &new)?;
            paper.show(&mut page)?;
        }
        Ok(DONE)
    }
}

/// Both on the vehicles of the one and of the other, family by family, complaint by complaint.
fn studies(
    was: &Knowledge,
    now: &Knowledge,
    vehicles: u32,
    interactive: bool,
    paper: &mut Paper,
) -> Result<Vec<Paired>, Error> {
    let settings = Settings {
        vehicles,
        seed: 1,
        limits: simulate::nodes(simulate::NODES),
    };
    let mut answers = Vec::new();
    for family in &now.families {
        let versions = [was, now].map(|edition| Version::of(edition, &family.name, None));
        let [Some(old), Some(new)] = versions else {
            continue;
        };
        let symptoms: Vec<SymptomId> = (0..family.symptoms.len()).map(SymptomId::at).collect();
        answers.extend(on_the_same_vehicles(
            old,
            new,
            &symptoms,
            &settings,
            interactive,
            paper,
        )?);
    }
    Ok(answers)
}

/// The knowledge of an edition; where it has errors, it is said of which.
fn edition(folder: Option<&Path>, streams: &mut Streams<'_>) -> Result<Knowledge, Error> {
    let knowledge = basis::knowledge(folder, streams);
    if let (Err(Error::Findings(_)), Some(folder)) = (&knowledge, folder) {
        let folder = crate::text::clean(&folder.display().to_string());
        writeln!(streams.err, "halfsplit: found in {folder}:")?;
    }
    knowledge
}

/// The answer as other programs read it: docs/comparing.md.
fn answer(comparison: &Comparison, old: Option<&str>, new: &str) -> Json {
    json!({
        "old": old,
        "new": new,
        "same": comparison.changes.is_empty(),
        "changes": comparison.changes.iter().map(change).collect::<Vec<_>>(),
        "answers": comparison.answers.iter().map(differs).collect::<Vec<_>>(),
        "cases": {
            "put": comparison.cases.put,
            "differ": comparison.cases.differ.iter().map(case).collect::<Vec<_>>(),
        },
    })
}

fn change(change: &Change) -> Json {
    let effect = match change.effect() {
        Effect::Belief => "belief",
        Effect::Limit => "limit",
        Effect::Cost => "cost",
        Effect::Words => "words",
    };
    let mut told = Map::new();
    told.insert("bears_on".to_owned(), json!(effect));
    told.insert(
        "kind".to_owned(),
        json!(change.thing.kind.word().replace(' ', "-")),
    );
    told.insert("family".to_owned(), json!(change.thing.family));
    told.insert("id".to_owned(), json!(change.thing.name));
    let more = match &change.what {
        What::Added(stated) => json!({"change": "added", "states": facts(stated)}),
        What::Removed(stated) => json!({"change": "removed", "states": facts(stated)}),
        What::Renamed { from } => json!({"change": "renamed", "from": from}),
        What::Stated { aspect, was, now } => json!({
            "change": "stated",
            "field": aspect.field,
            "at": aspect.at,
            "was": was.as_ref().map(value),
            "now": now.as_ref().map(value),
        }),
        What::Listed { aspect, differs } => list(aspect, differs),
    };
    if let Json::Object(more) = more {
        told.extend(more);
    }
    Json::Object(told)
}

fn list(aspect: &Aspect, differs: &ListDiffers) -> Json {
    let ListDiffers {
        added,
        removed,
        reworded,
        reordered,
    } = differs;
    let item = |item: &Item| json!({"place": item.place, "text": item.text});
    let reworded: Vec<Json> = reworded
        .iter()
        .map(|(was, now)| json!({"was": item(was), "now": item(now)}))
        .collect();
    json!({
        "change": "listed",
        "field": aspect.field,
        "added": added.iter().map(item).collect::<Vec<_>>(),
        "removed": removed.iter().map(item).collect::<Vec<_>>(),
        "reworded": reworded,
        "reordered": reordered.as_ref().map(|[was, now]| json!({"was": was, "now": now})),
    })
}

fn facts(facts: &Facts) -> Vec<Json> {
    facts
        .0
        .iter()
        .map(|(aspect, stated)| {
            json!({"field": aspect.field, "at": aspect.at, "value": value(stated)})
        })
        .collect()
}

fn value(value: &Value) -> Json {
    match value {
        Value::Number {
            number,
            unit,
            source,
        } => json!({"number": number, "unit": unit, "source": source}),
        Value::Word(text) | Value::Text(text) => json!(text),
        Value::List(list) => json!(list.items),
    }
}

fn differs(answer: &AnswerDiffers) -> Json {
    let repairs: Vec<Json> = answer
        .repairs
        .iter()
        .map(|moved| json!({"repairs": moved.repairs, "was": moved.was, "now": moved.now}))
        .collect();
    let first = |first: &[First]| -> Vec<Json> {
        first
            .iter()
            .map(|first| {
                json!({
                    "id": first.measurement,
                    "separates": first.separates,
                    "minutes": first.minutes,
                })
            })
            .collect()
    };
    let [was, now] = &answer.first;
    let [was_fails, now_fails] = &answer.fails;
    json!({
        "family": answer.family,
        "symptom": answer.symptom,
        "vehicle": answer.vehicle,
        "candidates": {"in": answer.came, "out": answer.went},
        "repairs": repairs,
        "first": {"was": first(was), "now": first(now)},
        "fails": {"was": was_fails, "now": now_fails},
    })
}

fn case(case: &CaseDiffers) -> Json {
    let answer = |answer: &Result<CaseAnswer, String>| match answer {
        Ok(answer) => json!({
            "repairs": answer.repairs,
            "probability": answer.probability,
            "cause": answer.cause,
            "nothing_fits": answer.nothing_fits,
        }),
        Err(words) => json!({"fails": words}),
    };
    let stands_in = match case.stands_in {
        StandsIn::Both => "both",
        StandsIn::Old => "old",
        StandsIn::New => "new",
    };
    json!({
        "family": case.family,
        "case": case.case,
        "stands_in": stands_in,
        "was": answer(&case.was),
        "now": answer(&case.now),
    })
}
