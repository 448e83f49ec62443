use halfsplit::knowledge::{CauseId, Vehicle};
use halfsplit::session::{Answer, Ask, Prompt};
use jiff::ToSpan;
use serde_json::Value;

use crate::job::Job;
use crate::shop::{KNOWLEDGE, Shop, Told, family, vehicle, without_sums};
use crate::technician::holding;

fn slipping() -> Job {
    Job::on(&KNOWLEDGE, "demo-estate").with("slipping")
}

/// The next prompt, which must be plain JSON.
fn plain_prompt(job: &Job) -> Prompt {
    let prompt = job.prompt();
    let json = serde_json::to_value(&prompt).unwrap();
    assert!(json["ask"]["kind"].is_string(), "{json}");
    if let Some(measure) = &prompt.measure
        && let Some(worth) = &measure.worth
    {
        // What each step of the way takes adds up to what the way takes.
        let shown: f64 = measure.set_ups.iter().map(|of| of.minutes).sum();
        assert!((shown - worth.set_up_minutes).abs() < 1e-9, "{measure:?}");
    }
    prompt
}

/// What a technician answers whose vehicle has a worn forward clutch, by the prompt alone.
fn answer(job: &mut Job, prompt: &Prompt, vehicle: &Vehicle, cause: CauseId) -> Answer {
    let typed = |text: &str| Answer::Typed(text.to_owned());
    match &prompt.ask {
        Ask::Condition { condition, .. } => {
            let id = family().condition_named(condition).unwrap();
            Answer::Typed(holding(family().condition(id), vehicle))
        }
        Ask::Cooling { seconds } => {
            let wait = i64::try_from(*seconds).unwrap().seconds();
            job.now = job.now.checked_add(wait).unwrap();
            typed("")
        }
        Ask::Hold { .. } => Answer::Held(4.0),
        Ask::Reading(_) => {
            let measure = prompt.measure.as_ref().unwrap();
            let id = family().measurement_named(&measure.measurement).unwrap();
            let measurement = family().measurement(id);
            if measure.number.is_none() {
                return Answer::Skip;
            }
            let row = measurement.shows.get(&cause);
            let most =
                row.and_then(|row| row.0.iter().max_by(|a, b| a.1.get().total_cmp(&b.1.get())));
            let outcome = most.map_or(measurement.normal, |(outcome, _)| *outcome);
            typed(&measurement.outcomes[outcome.index()].name)
        }
        Ask::Repair(_) => typed("done"),
        Ask::Fixed { .. } => typed("yes"),
        Ask::Found { choices } => {
            let name = &family().cause(cause).name;
            assert!(choices.iter().any(|choice| choice.name == *name));
            typed(name)
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_whole_job_is_driven_by_prompts_and_answers_without_a_terminal() {
    let cause = family().cause_named("forward-clutch-worn").unwrap();
    let mut job = slipping();
    let mut kinds = Vec::new();
    let mut prompt = plain_prompt(&job);
    for _ in 0..200 {
        let json: Value = serde_json::to_value(&prompt.ask).unwrap();
        kinds.push(json["kind"].as_str().unwrap().to_owned());
        if let Ask::Closed { cured, .. } = &prompt.ask {
            assert!(cured.contains("Done: Renew forward clutch"), "{cured}");
            break;
        }
        let answer = answer(&mut job, &prompt, vehicle("demo-estate"), cause);
        prompt = job
            .says(&prompt, answer)
            .unwrap_or_else(|| plain_prompt(&job));
    }
    assert_eq!(kinds.last().unwrap(), "closed", "{kinds:?}");
    for kind in ["reading", "repair", "fixed", "found"] {
        assert!(kinds.iter().any(|other| other == kind), "{kind}: {kinds:?}");
    }
    let closed = &job.history.state().closed.as_ref().unwrap().what;
    assert_eq!(closed.causes, ["forward-clutch-worn"]);
}

/// The prompt holds the belief after each answer, and what the answer changed.
#[test]
fn a_prompt_says_where_the_diagnosis_is_and_what_the_last_answer_changed() {
    let mut job = slipping();
    let first = plain_prompt(&job);
    let outlook = first.outlook.as_ref().unwrap();
    assert!(first.change.is_none() && outlook.minutes == 0.0);
    let sum: f64 = outlook.repairs.iter().map(|cure| cure.probability).sum();
    assert!((sum + outlook.unlisted - 1.0).abs() < 1e-9, "{sum}");
    job.says(&first, Answer::Take("complaint-direction".to_owned()));
    let asked = plain_prompt(&job);
    job.says(&asked, Answer::Typed("forward-only".to_owned()));
    let after = plain_prompt(&job);
    let change = after.change.unwrap();
    assert_eq!(change.in_play_before, outlook.in_play);
    assert!(!change.ruled_out.is_empty() && change.back.is_empty());
    let now = after.outlook.unwrap();
    assert!(now.in_play < outlook.in_play && now.minutes > 0.0);
    assert_eq!(now.repairs[0].repairs, ["renew-forward-clutch"]);
}

/// What came before and after stopping is the same but for what was said on the way out.
fn same_when_resumed(typed: &str) -> String {
    let stopped = Shop::job("slipping").types(typed).run();
    let again = stopped.resume().run();
    let screen = |out: &str| {
        let measure = out
            .rfind("\nDemo ")
            .or_else(|| out.rfind("\nEstate "))
            .unwrap();
        let saved = out.rfind("Saved.").unwrap();
        out[measure..saved].to_owned()
    };
    assert_eq!(screen(&again.out), screen(&stopped.out), "{typed}");
    assert_eq!(again.text(), stopped.text(), "{typed}");
    again.proposed().unwrap_or_default()
}

/// What another program is told is what the terminal would ask.
fn prompt_of(told: &Told) -> Value {
    let job = told.record();
    let told = told
        .another()
        .arguments(["next", "--json", "--job", job.to_str().unwrap()])
        .run();
    serde_json::from_str::<Value>(&told.out).unwrap()["prompt"].take()
}

#[test]
fn next_of_a_job_gives_the_prompt_that_diagnose_would_show() {
    let told = Shop::job("slipping")
        .types("take complaint-direction\nforward-only\n")
        .run();
    let prompt = prompt_of(&told);
    let measurement = prompt["measure"]["measurement"].as_str().unwrap();
    assert_eq!(told.proposed().unwrap(), measurement);
    assert_eq!(prompt["advice"]["measurement"], measurement);
    assert!(!prompt["change"]["ruled_out"].as_array().unwrap().is_empty());
    assert!(prompt["outlook"]["minutes"].as_f64().unwrap() > 0.0);
    let repairing = told.resume().types("repair\n").run();
    assert_eq!(prompt_of(&repairing)["ask"]["kind"], "repair");
}

#[test]
fn next_without_a_job_has_no_prompt() {
    let told = Shop::new().arguments(["next", "slipping", "--json"]).run();
    let answer: Value = serde_json::from_str(&told.out).unwrap();
    assert!(answer.get("prompt").is_none());
}

#[test]
fn a_chosen_measurement_is_still_asked_for_when_the_job_is_resumed() {
    assert_eq!(same_when_resumed("take recent-work\n"), "recent-work");
    assert_eq!(same_when_resumed("repair\n"), "");
}

#[test]
fn an_answered_condition_is_not_asked_again_when_the_job_is_resumed() {
    let told = Shop::job("slipping")
        .types("take fluid-level\n40\nno\n")
        .run()
        .resume()
        .types("yes\nlow\n")
        .run();
    // The second condition does not hold, so that the reading does not count.
    assert_eq!(
        told.readings(),
        [("fluid-level".to_owned(), "low".to_owned(), false)]
    );
}

#[test]
fn the_instrument_in_use_is_still_in_use_when_the_job_is_resumed() {
    let told = Shop::job("slipping")
        .types("take gauge-forward\nyes\n90\nwith gauge-1600-kpa\n")
        .run()
        .resume()
        .types("890\n")
        .run();
    let reading = &told.state().readings[0].reading;
    assert_eq!(reading.instrument.as_deref(), Some("gauge-1600-kpa"));
}

#[test]
fn going_back_from_a_reading_asks_for_the_chosen_measurement_again() {
    let told = Shop::job("slipping")
        .types("take recent-work\ntyres\nback\n")
        .run();
    assert_eq!(told.proposed().unwrap(), "recent-work");
    assert!(told.readings().is_empty());
}

#[test]
fn what_the_knowledge_lost_is_asked_about_once() {
    let told = Shop::job("slipping")
        .types("take complaint-direction\nforward-only\ntake recent-work\nnormal\n")
        .run();
    std::fs::write(
        told.record(),
        without_sums(&told.text()).replace("recent-work", "recent-wrok"),
    )
    .unwrap();
    let asked = told.resume().types("no\n").run();
    asked.says("recent-wrok").says("Go on without it");
    assert!(asked.proposed().is_none());
    let agreed = told.resume().types("yes\n").run();
    assert!(agreed.proposed().is_some());
    told.resume().run().says_not("`recent-wrok`");
}
