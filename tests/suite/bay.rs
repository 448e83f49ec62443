//! At the vehicle: whatever the shipped knowledge can put on the screen fits 24 lines of 80 columns, and the warnings
//! of the thing at hand stand on the same page.

use std::cell::RefCell;

use halfsplit::decide::{Advice, Repairing, Standing};
use halfsplit::infer::Model;
use halfsplit::knowledge::{Condition, ConditionKind, Family, Vehicle};
use halfsplit::record::{Event, Repair};
use halfsplit::session::{Answer, Ask, Prompt, RepairSheet, recorded_case};
use halfsplit::terminal::{Room, Shown, pages};

use crate::by_name::{chain_cvt, shipped};
use crate::job::Job;
use crate::technician::holding;

/// The pages of a prompt, each held against the screen.
fn shown(prompt: &Prompt, before: Option<Shown>, width: usize) -> Vec<String> {
    let room = Room {
        width,
        height: Some(24),
    };
    // The answer before may have said two lines.
    let said = "  Taken: so and so.\n  This and that changed.\n";
    let pages = pages(room, said, prompt, before, "a.job.jsonl").unwrap();
    let mut too_much: Vec<String> = Vec::new();
    for page in &pages {
        let plain = plain(page);
        let wide = plain.lines().filter(|line| line.chars().count() > width);
        too_much.extend(wide.map(|line| format!("{line:?} is too wide in\n{plain}")));
        let lines = plain.lines().count();
        // One line is the prompt's.
        if width >= 80 && lines > 23 {
            too_much.push(format!("{lines} lines:\n{plain}"));
        }
    }
    TOO_MUCH.with(|all| all.borrow_mut().extend(too_much));
    pages
}

thread_local! {
    /// What did not fit the screen, for all of it to be told at once.
    static TOO_MUCH: RefCell<Vec<String>> = const { RefCell::new(Vec::new()) };
}

fn everything_fitted() {
    let all = TOO_MUCH.with(RefCell::take);
    assert!(
        all.is_empty(),
        "{} do not fit:\n{}",
        all.len(),
        all.join("\n")
    );
}

/// On a narrow screen stands every word that stands on a wide one. How much of what is likely fits its line is left out.
fn nothing_is_lost(prompt: &Prompt, before: Option<Shown>) {
    let mut bare = prompt.clone();
    bare.outlook = None;
    let set = |width| {
        let room = Room {
            width,
            height: None,
        };
        let pages = pages(room, "", &bare, before, "a.job.jsonl").unwrap();
        plain(&pages.concat())
            .split_whitespace()
            .collect::<String>()
    };
    let (narrow, wide) = (set(40), set(80));
    // A time that does not fit beside its title stands behind it in brackets.
    let bare = |text: &str| text.replace(['(', ')'], "");
    assert_eq!(bare(&narrow), bare(&wide));
}

/// A page without its styles.
fn plain(page: &str) -> String {
    anstream::adapter::strip_str(page).to_string()
}

/// The signal word and the text of a warning as a page shows it, wrapping aside.
fn warned(page: &str, caution: &str) -> bool {
    let flat = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    flat(&plain(page)).contains(&flat(&caution.replacen(": ", " ", 1)))
}

/// Each page with a thing to do has its warnings.
fn warns(prompt: &Prompt, pages: &[String]) {
    let measure = prompt.measure.as_ref().unwrap();
    for page in pages {
        let lines = plain(page);
        let steps = lines.lines().any(|line| {
            let (number, step) = line.trim_start().split_once(". ").unwrap_or(("", ""));
            number.parse::<u32>().is_ok()
                && measure
                    .steps
                    .iter()
                    .any(|known| known.starts_with(step.trim()))
        });
        for caution in measure.cautions.iter().filter(|_| steps) {
            assert!(warned(page, caution), "{caution} is not on\n{lines}");
        }
        for set_up in &measure.set_ups {
            let first: String = set_up.title.chars().take(30).collect();
            if lines.contains(&first) && lines.contains("Prepare") | lines.contains("then ") {
                for caution in &set_up.cautions {
                    assert!(warned(page, caution), "{caution} is not on\n{lines}");
                }
            }
        }
    }
}

fn answer(family: &Family, vehicle: &Vehicle, name: &str) -> String {
    let conditions = family.conditions.iter();
    let found = conditions.filter(|of| of.name == name);
    let condition: &Condition = found.clone().next().unwrap();
    match condition.kind {
        ConditionKind::YesNo => "yes".to_owned(),
        ConditionKind::Number { .. } => holding(condition, vehicle),
    }
}

/// Every measurement of every complaint, from the vehicle as it came in.
#[test]
fn every_proposal_fits_the_screen_with_its_warnings() {
    let family = chain_cvt();
    let vehicle = shipped().vehicle("demo-estate").unwrap();
    let mut taken = 0;
    for measurement in &family.measurements {
        let symptoms = (0..family.symptoms.len()).map(halfsplit::SymptomId::at);
        let Some(symptom) = symptoms.clone().find(|id| measurement.is_for(&[*id])) else {
            continue;
        };
        let mut job = Job::on(shipped(), "demo-estate").with(&family.name_of(symptom));
        let prompt = job.prompt();
        let take = Answer::Take(measurement.name.clone());
        if job.says(&prompt, take).is_some() {
            continue;
        }
        taken += 1;
        let mut before = None;
        loop {
            let prompt = job.prompt();
            shown(&prompt, before, 40);
            nothing_is_lost(&prompt, before);
            let pages = shown(&prompt, before, 80);
            warns(&prompt, &pages);
            match &prompt.ask {
                Ask::Condition { condition, .. } => {
                    let typed = answer(family, vehicle, condition);
                    job.says(&prompt, Answer::Typed(typed));
                    before = Some(Shown::Heading);
                }
                Ask::Hold { .. } => {
                    job.says(&prompt, Answer::Held(4.0));
                    before = Some(Shown::Steps);
                }
                _ => break,
            }
        }
    }
    assert!(taken > 80, "{taken}");
    everything_fitted();
}

/// Every repair of every complaint, as a sheet and through its verification.
#[test]
fn every_repair_and_its_verification_fit_the_screen_with_their_warnings() {
    let family = chain_cvt();
    for symptom in family.symptoms.iter().map(|symptom| symptom.name.as_str()) {
        let job = Job::on(shipped(), "demo-wagon").with(symptom);
        let mut prompt = job.prompt();
        let case = recorded_case(family, job.history.state());
        let vehicle = shipped().vehicle("demo-wagon");
        let model = Model::new(family, vehicle, case.complaint).unwrap();
        let at = Standing::new(
            &model,
            Vec::new(),
            &case.circumstances,
            halfsplit::OrderBy::default(),
        );
        let at = at.unwrap();
        for group in 0..at.problem.groups().len() {
            let repairs = at.repairs_of(group);
            let now = Repairing {
                group,
                repairs: repairs.clone(),
                probability: 0.5,
                goes_on: false,
                likelier: false,
            };
            let sheet = RepairSheet::of(&at, &now, &Advice::Escalate);
            let cautions: Vec<String> = (sheet.repairs.iter())
                .flat_map(|of| of.cautions.clone())
                .collect();
            prompt.measure = None;
            prompt.ask = Ask::Repair(Box::new(sheet));
            let pages = shown(&prompt, None, 80);
            for caution in &cautions {
                assert!(
                    pages.iter().any(|page| warned(page, caution)),
                    "{caution} is not on\n{}",
                    plain(&pages.join("----\n"))
                );
            }
            shown(&prompt, None, 40);
            nothing_is_lost(&prompt, None);
            let mut job = Job::on(shipped(), "demo-wagon").with(symptom);
            let names = family.names_of(&repairs);
            job.adds(Event::Repair(Repair {
                repairs: names,
                causes: Vec::new(),
                probability: 0.5,
            }));
            loop {
                let prompt = job.prompt();
                shown(&prompt, None, 40);
                nothing_is_lost(&prompt, None);
                let pages = shown(&prompt, None, 80);
                match &prompt.ask {
                    Ask::Fixed { .. } => break,
                    Ask::Confirm { .. } => {
                        job.says(&prompt, Answer::Typed("done".to_owned()));
                    }
                    _ => {
                        warns(&prompt, &pages);
                        job.says(&prompt, Answer::Skip);
                    }
                }
            }
        }
    }
    everything_fitted();
}
