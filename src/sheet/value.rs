//! A job read back from its record, as one value.

use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;
use serde::Serialize;

use super::course::course;
use super::part::{Reading, RepairDone, SetAsideOn, Source, Took, standing};
use super::recordings::recordings;
use super::tree::{Tree, tree};
use super::verdict::Verdict;
use crate::drawing::Course;
use crate::infer::Model;
use crate::knowledge::{CauseId, Family, Knowledge, Vehicle};
use crate::record::{self, Clock, Entry, Event, Picture, State, View};
use crate::session::{
    Ask, NotKnown, OnTheWay, Session, minutes_after_each, opened_on, recorded_case,
};
use crate::text::counted;

/// A pause between two entries that is longer than this, in minutes, is no work: the job was left over night.
const PAUSE: f64 = 240.0;

/// A job on one sheet.
#[derive(Clone, Debug, Serialize)]
pub struct Sheet {
    /// The job's 16 hexadecimal digits.
    pub job: String,
    /// The shop's own words for the job.
    pub order: Option<String>,
    /// The vehicle's title; none without a sheet of limits.
    pub vehicle: Option<String>,
    /// Whether that sheet is invented.
    pub invented: bool,
    /// The family of transmission.
    pub family: String,
    /// When the job was opened.
    pub opened: Timestamp,
    /// When the last entry was recorded.
    pub last: Timestamp,
    /// What is read before any work.
    pub notice: String,
    /// The customer's words.
    pub complaint: Vec<String>,
    /// The complaints that were settled on.
    pub symptoms: Vec<String>,
    /// The complaints that the vehicle does not have.
    pub absent: Vec<String>,
    /// What the job has come to.
    pub verdict: Verdict,
    /// What readings found by themselves, and is to be put right.
    pub on_the_way: Vec<OnTheWay>,
    /// The readings in order.
    pub readings: Vec<Reading>,
    /// How the chances of the leading repairs went.
    pub course: Course,
    /// The fault trees of the complaints.
    pub trees: Vec<Tree>,
    /// The time spent.
    pub time: Time,
    /// What was set aside, and why.
    pub set_aside: Vec<SetAsideOn>,
    /// The recordings that readings came from, each with the windows of its readings.
    pub recordings: Vec<Picture>,
    /// The repairs and their proofs.
    pub repairs: Vec<RepairDone>,
    /// The remarks.
    pub notes: Vec<Remark>,
    /// What a reader must know of the sheet.
    pub warnings: Vec<String>,
    /// How many answers were taken back; they stay in the record.
    pub taken_back: usize,
    /// How times are shown.
    #[serde(skip)]
    pub clock: Clock,
}

/// A remark.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Remark {
    /// When.
    pub time: Timestamp,
    /// The words.
    pub words: String,
}

/// The time of a job, in minutes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Time {
    /// What its readings, set-ups and repairs take by the knowledge.
    pub expected: f64,
    /// From its first entry to its last by the clock, long pauses left out.
    pub clock: f64,
    /// The long pauses.
    pub pauses: f64,
}

impl Sheet {
    /// The sheet of a job, as its record stands.
    pub fn of(knowledge: &Knowledge, view: &View, clock: &Clock) -> Result<Self, NotKnown> {
        let history = &view.history;
        let (entries, state) = (history.entries(), history.state());
        let (family, vehicle) = opened_on(knowledge, state)?;
        let session = Session::new(knowledge, state, None, None)?;
        let last = entries.last().map_or(state.opened_at, |entry| entry.time);
        // As of the last entry: a sheet asks nobody whether the vehicle is still on the lift.
        let prompt = session.next(history, last);
        let verdict = Verdict::of(&prompt, state);
        let on_the_way = match (&prompt.ask, &prompt.outlook) {
            (Ask::Closed { on_the_way, .. }, _) => on_the_way.clone(),
            (_, Some(outlook)) => outlook.on_the_way.clone(),
            _ => Vec::new(),
        };
        let lines = state.readings.iter().map(|taken| taken.line);
        let number_of: BTreeMap<u64, usize> = lines.zip(1..).collect();
        let source = Source {
            session: &session,
            family,
            vehicle,
            state,
            number_of: &number_of,
        };
        let stands = standing(entries, state);
        let (readings, repairs) = worked(&source, entries, state);
        let symptoms = |names: &[String]| {
            let title = |name: &String| {
                let id = family.symptom_known_as(name);
                id.map_or_else(|| name.clone(), |id| family.symptom(id).title.clone())
            };
            names.iter().map(title).collect()
        };
        Ok(Self {
            job: history.job().to_owned(),
            order: state.opened.ticket.clone(),
            vehicle: vehicle.map(|vehicle| vehicle.title.clone()),
            invented: vehicle.is_some_and(|vehicle| vehicle.invented),
            family: family.title.clone(),
            opened: state.opened_at,
            last,
            notice: family.notice.clone(),
            complaint: state.complaints.clone(),
            symptoms: symptoms(&state.present),
            absent: symptoms(&state.absent),
            verdict,
            on_the_way,
            readings,
            course: course(knowledge, family, &stands, &number_of),
            trees: trees(family, vehicle, state),
            time: time(family, entries),
            set_aside: source.set_aside(),
            recordings: recordings(history),
            repairs,
            notes: remarks(state),
            warnings: warnings(knowledge, family, view, prompt.outlook.as_deref()),
            taken_back: state.taken_back.len(),
            clock: clock.clone(),
        })
    }
}

/// The readings and the repairs in order, each with the time it took.
fn worked(
    source: &Source<'_>,
    entries: &[Entry],
    state: &State,
) -> (Vec<Reading>, Vec<RepairDone>) {
    let (mut readings, mut repairs): (Vec<Reading>, Vec<RepairDone>) = (Vec::new(), Vec::new());
    let mut found: BTreeMap<String, record::Condition> = BTreeMap::new();
    let mut lines: Vec<u64> = Vec::new();
    let minutes = minutes_after_each(source.family, entries);
    let mut before = 0;
    let mut took = |place: usize| {
        let took = Took {
            expected: minutes[place] - minutes[before],
            clock: at_work(&entries[before..=place]).0,
        };
        before = place;
        took
    };
    for (place, entry) in entries.iter().enumerate() {
        if state.taken_back.contains(&entry.line) {
            continue;
        }
        match &entry.event {
            Event::Condition(condition) => {
                found.insert(condition.condition.clone(), condition.clone());
            }
            Event::Reading(_) => {
                let mut taken = state.readings.iter();
                if let Some(taken) = taken.find(|taken| taken.line == entry.line) {
                    let took = took(place);
                    readings.push(source.reading(taken, &found, &took));
                }
            }
            Event::Repair(repair) => {
                let took = took(place);
                repairs.push(source.repair(entry.time, repair, &took));
                lines.push(entry.line);
            }
            Event::Verification(verification) => {
                if let (Some(repair), Some(line)) = (repairs.last_mut(), lines.last()) {
                    repair.proofs.push(source.proof(verification, *line));
                }
            }
            Event::Closed(closed) => {
                if let Some(repair) = repairs.last_mut() {
                    repair.cured = Some(closed.fixed);
                }
            }
            Event::Reopened { .. } => {
                if let Some(repair) = repairs.last_mut() {
                    repair.cured = None;
                }
            }
            _ => {}
        }
    }
    (readings, repairs)
}

/// Minutes between the first and the last of some entries: at work, and in long pauses.
fn at_work(entries: &[Entry]) -> (f64, f64) {
    let gaps = entries.windows(2).map(|pair| {
        let gap = pair[1].time.duration_since(pair[0].time);
        (gap.as_secs_f64() / 60.0).max(0.0)
    });
    gaps.fold((0.0, 0.0), |(work, pauses), gap| {
        if gap > PAUSE {
            (work, pauses + gap)
        } else {
            (work + gap, pauses)
        }
    })
}

fn time(family: &Family, entries: &[Entry]) -> Time {
    let (clock, pauses) = at_work(entries);
    Time {
        expected: minutes_after_each(family, entries)
            .last()
            .copied()
            .unwrap_or(0.0),
        clock,
        pauses,
    }
}

/// The trees of the complaints with what the readings leave of them.
fn trees(family: &Family, vehicle: Option<&Vehicle>, state: &State) -> Vec<Tree> {
    let case = recorded_case(family, state);
    let present = case.complaint.present.clone();
    if present.is_empty() {
        return Vec::new();
    }
    let Ok(model) = Model::new(family, vehicle, case.complaint) else {
        return Vec::new();
    };
    let belief = model.update(&case.evidence);
    let closed = state.closed.iter().flat_map(|closed| &closed.what.causes);
    let found: BTreeSet<CauseId> = closed
        .filter_map(|name| family.cause_known_as(name))
        .collect();
    let trees = present.into_iter();
    trees
        .map(|symptom| tree(&model, &belief, symptom, &found))
        .collect()
}

fn remarks(state: &State) -> Vec<Remark> {
    let notes = state.notes.iter();
    notes
        .map(|dated| Remark {
            time: dated.time,
            words: dated.what.clone(),
        })
        .collect()
}

/// What a reader must know: whose limits these are, what the record and the knowledge lack.
fn warnings(
    knowledge: &Knowledge,
    family: &Family,
    view: &View,
    outlook: Option<&crate::session::Outlook>,
) -> Vec<String> {
    let state = view.history.state();
    let mut warnings = Vec::new();
    if let Some(torn) = &view.torn {
        warnings.push(format!("The record: {torn}."));
    }
    let lost = recorded_case(family, state).lost;
    warnings.extend(
        lost.iter()
            .map(|lost| format!("The knowledge no longer has {lost}.")),
    );
    let differs = state.differs(&knowledge.fingerprints()).len();
    if differs > 0 {
        let files = counted(differs.try_into().unwrap_or(u32::MAX), "file", "files");
        warnings.push(format!(
            "The knowledge has changed since the job was opened, in {files}: the chances on this sheet are today's."
        ));
    }
    if let Some(worst) = outlook
        .map(|outlook| &outlook.fits_badly)
        .filter(|of| !of.is_empty())
    {
        let title = |name: &String| {
            let id = family.measurement_known_as(name);
            id.map_or_else(|| name.clone(), |id| family.measurement(id).title.clone())
        };
        let titles: Vec<String> = worst.iter().map(title).collect();
        warnings.push(format!(
            "The readings fit nothing well; worst: {}.",
            titles.join("; ")
        ));
    }
    let shop = state.opened.shop.as_ref();
    if let Some(shop) = shop.filter(|shop| !shop.lacks.is_empty()) {
        warnings.push(format!("The shop had no: {}.", shop.lacks.join(", ")));
    }
    warnings
}
