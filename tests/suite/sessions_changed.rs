//! What turns out otherwise in the middle of a job: it is another vehicle, or a tool is not here.

use halfsplit::knowledge::Workshop;
use halfsplit::record::{Event, History};
use halfsplit::session::{Answer, Ask, Session, recorded_case};

use crate::by_name::chain_cvt;
use crate::job::Job;
use crate::shop::{KNOWLEDGE, Shop, family};

/// A job on the wagon with its stall speed read: within the limits there.
fn read() -> Job {
    let mut job = Job::on(&KNOWLEDGE, "demo-wagon").with("slipping");
    let prompt = job.prompt();
    job.says(&prompt, Answer::Take("stall-forward".to_owned()));
    loop {
        let prompt = job.prompt();
        match &prompt.ask {
            Ask::Condition { .. } => job.says(&prompt, Answer::Typed("80 °C".to_owned())),
            Ask::Hold { .. } => job.says(&prompt, Answer::Held(4.0)),
            _ => {
                assert_eq!(job.says(&prompt, Answer::Typed("2720".to_owned())), None);
                return job;
            }
        };
    }
}

fn outcome(history: &History) -> String {
    history.state().readings[0].reading.outcome.clone()
}

fn says(job: &mut Job, answer: Answer) -> String {
    let prompt = job.prompt();
    job.says(&prompt, answer);
    job.said.join("\n")
}

#[test]
fn a_reading_is_judged_again_by_the_sheet_of_another_vehicle_and_back_undoes_it() {
    let mut job = read();
    // 2,350 to 2,750 on the wagon, 2,250 to 2,650 on the estate.
    assert_eq!(outcome(&job.history), "normal");
    let said = says(&mut job, Answer::Vehicle("estate".to_owned()));
    assert!(said.contains("Now Estate car"), "{said}");
    assert_eq!(outcome(&job.history), "high");
    let case = recorded_case(family(), job.history.state());
    let read = &case.evidence[0];
    let outcomes = &family().measurement(read.measurement).outcomes;
    assert_eq!(outcomes[read.outcome()].name, "high");
    let status = job.prompt().status.unwrap();
    assert!(status.vehicle.unwrap().contains("Estate"));
    // The record alone says so.
    let again = History::of(job.history.entries().to_vec()).unwrap();
    assert_eq!(again.state(), job.history.state());
    let session = Session::new(&KNOWLEDGE, again.state(), None, None).unwrap();
    assert_eq!(session.next(&again, job.now), job.prompt());
    says(&mut job, Answer::Back(1));
    assert_eq!(outcome(&job.history), "normal");
    assert!(
        job.prompt()
            .status
            .unwrap()
            .vehicle
            .unwrap()
            .contains("Wagon")
    );
}

#[test]
fn without_a_sheet_a_number_does_not_count_until_there_is_one_again() {
    let mut job = read();
    let said = says(&mut job, Answer::Vehicle("none".to_owned()));
    assert!(said.contains("1 of the readings have no limit"), "{said}");
    assert_eq!(job.history.state().counting().count(), 0);
    says(&mut job, Answer::Vehicle("demo-estate".to_owned()));
    assert_eq!(job.history.state().counting().count(), 1);
    assert_eq!(outcome(&job.history), "high");
}

#[test]
fn a_vehicle_that_is_not_known_changes_nothing_and_says_which_are() {
    let mut job = read();
    let before = job.history.entries().len();
    let said = says(&mut job, Answer::Vehicle("lorry".to_owned()));
    assert!(said.contains("The vehicles are: "), "{said}");
    let said = says(&mut job, Answer::Vehicle("wagon".to_owned()));
    assert!(said.contains("on that vehicle already"), "{said}");
    assert_eq!(job.history.entries().len(), before);
}

#[test]
fn the_vehicle_can_be_put_right_before_the_complaint_is_told() {
    let told = Shop::diagnose(["--vehicle", "demo-wagon"])
        .types("vehicle estate\nvehicle shudders\n")
        .run();
    let events = told.events();
    assert!(
        matches!(&events[1], Event::Vehicle { vehicle: Some(name), .. } if name == "demo-estate")
    );
    assert!(matches!(&events[2], Event::Complaint { words } if words == "vehicle shudders"));
}

#[test]
fn no_scan_tool_sets_aside_all_that_needs_one_in_one_step() {
    let mut job = Job::on(&KNOWLEDGE, "demo-wagon").with("slipping");
    let needs = |title: &[String]| title.iter().any(|name| name == "scan tool");
    let offers = |job: &Job| job.prompt().outlook.unwrap().offers;
    let with = offers(&job);
    let one = with.iter().find(|offer| needs(&offer.equipment)).unwrap();
    says(&mut job, Answer::Take(one.id.clone()));
    let said = says(
        &mut job,
        Answer::Cannot(Some("no scan tool here".to_owned())),
    );
    assert!(
        said.starts_with("No scan tool: all that needs it"),
        "{said}"
    );
    assert!(offers(&job).iter().all(|offer| !needs(&offer.equipment)));
    says(&mut job, Answer::Back(1));
    assert_eq!(offers(&job).len(), with.len());
    // Another reason is about this measurement alone.
    says(
        &mut job,
        Answer::Cannot(Some("no time for the scan tool".to_owned())),
    );
    assert!(offers(&job).iter().any(|offer| needs(&offer.equipment)));
}

/// Said in full, it is heard also where the measurement at hand does not need it.
#[test]
fn no_lift_is_heard_at_any_measurement() {
    let mut job = Job::on(&KNOWLEDGE, "demo-wagon").with("slipping");
    let said = says(&mut job, Answer::Cannot(Some("no lift".to_owned())));
    assert!(said.starts_with("No lift: all that needs it"), "{said}");
    let said = says(&mut job, Answer::Typed("wrong vehicle".to_owned()));
    assert!(said.contains("puts the vehicle right"), "{said}");
}

#[test]
fn a_repair_says_what_it_takes_that_is_not_here() {
    let family = chain_cvt();
    let strainer = family.repair(family.repair_named("renew-strainer").unwrap());
    let lacks = |name: &str| {
        let workshop = Workshop {
            lacks: vec![name.to_owned()],
            ..Workshop::default()
        };
        workshop.lacks_for(family, &strainer.set_ups)
    };
    // Its dismantling begins with the tray off, for which the vehicle is raised.
    assert_eq!(lacks("lift"), ["lift"]);
    assert!(lacks("scan tool").is_empty());
}
