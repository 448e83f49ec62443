use std::fs;

use halfsplit::record::{Closed, Event, Found};

use crate::shop::{Shop, Told, without_sums};
use crate::starting::started;

/// The causes that renewing the forward clutch cures.
const CLUTCH: [&str; 2] = ["forward-clutch-seal-leak", "forward-clutch-worn"];

/// A job whose repair cures two causes, up to the question which it was.
fn repaired(answers: &str) -> Told {
    let typed = format!(
        "take complaint-direction\nforward-only\nrepair\ndone\nskip\nskip\nskip\nyes\n{answers}"
    );
    Shop::job("slipping").types(typed).run()
}

fn closed(told: &Told) -> Closed {
    told.state().closed.unwrap().what
}

#[test]
fn where_a_repair_cures_several_causes_the_one_that_was_found_is_asked_for() {
    let told = repaired("1\n");
    told.says("Which of these was found?")
        .says("0 unknown: nobody saw it")
        .says("So it was found.");
    let kept = closed(&told);
    assert_eq!(kept.found, Some(Found::Stated));
    assert_eq!(kept.causes.len(), 1);
    assert!(CLUTCH.contains(&kept.causes[0].as_str()) && kept.among.is_empty());

    for cause in CLUTCH {
        let kept = closed(&repaired(&format!("{cause}\n")));
        assert_eq!(
            (kept.found, kept.causes),
            (Some(Found::Stated), vec![cause.to_owned()])
        );
    }
    // Both were: in the order of their names.
    for both in ["1,2\n", "2, 1\n", "1 2\n"] {
        assert_eq!(closed(&repaired(both)).causes, CLUTCH);
    }
}

#[test]
fn that_nobody_saw_it_is_an_answer_and_is_kept_as_such() {
    for answer in ["0", "unknown", "UNKNOWN", "skip", "not taken"] {
        let told = repaired(&format!("{answer}\n"));
        let mut kept = closed(&told);
        kept.among.sort();
        assert_eq!(kept.found, Some(Found::Unknown), "{answer}");
        assert!(kept.causes.is_empty());
        assert_eq!(kept.among, CLUTCH);
        told.says("one of: Forward clutch")
            .says("Which it was, nobody saw.");
    }
}

#[test]
fn what_is_no_answer_is_asked_again() {
    let told = repaired("\n9\nforward-clutch-wron\npump-worn\n0,1\n1,9\nnote the hub is blue\n2\n");
    told.says("Type its number, several with a comma, or 0 where nobody saw it.")
        .says("“9” is no cause that this repair cures")
        .says("did you mean `forward-clutch-worn`?")
        .says("“pump-worn” is no cause that this repair cures")
        .says("It is unknown, or one of the list: not both.");
    assert_eq!(closed(&told).causes.len(), 1);
    assert_eq!(told.state().notes.len(), 1);
}

#[test]
fn going_back_from_the_question_asks_again_whether_it_is_fixed() {
    let told = repaired("back\nno\n");
    let state = told.state();
    assert!(state.closed.is_none() && !state.verifying);
    // Nothing was kept of the first yes, and nothing of the verification was taken back.
    assert!(
        !told
            .events()
            .iter()
            .any(|event| matches!(event, Event::Back { .. }))
    );
}

#[test]
fn a_job_left_at_the_question_is_not_closed_and_asks_again() {
    let told = repaired("");
    assert!(told.state().closed.is_none());
    let again = told.resume().types("yes\n2\n").run();
    assert_eq!(closed(&again).found, Some(Found::Stated));
}

#[test]
fn where_one_cause_fits_the_repair_nobody_is_asked() {
    let folder = started();
    let path = folder.path().to_str().unwrap();
    let told = Shop::diagnose([
        "slipping",
        "--vehicle",
        "my-cvt-example",
        "--knowledge",
        path,
    ])
    .types("take fluid-level\nlow\nrepair\ndone\nnormal\nyes\n")
    .run();
    told.says_not("Which of these was found?")
        .says("Fluid low. Done:")
        .says("No other cause listed for this complaint has that repair.");
    let kept = closed(&told);
    assert_eq!(kept.found, Some(Found::Only));
    assert_eq!(kept.causes, ["fluid-low"]);
}

#[test]
fn a_closed_job_that_is_opened_again_can_be_told_what_it_was() {
    let told = repaired("unknown\n");
    let before = told.events();
    // Looking changes nothing, and neither does not knowing still.
    for answer in ["", "stop\n", "0\n", "back\n"] {
        let again = told.resume().types(answer).run();
        again
            .says("Closed as fixed")
            .says("If it has come out since, say which");
        assert_eq!(again.events(), before, "{answer}");
    }
    let again = told.resume().types("forward-clutch-worn\n").run();
    again.says("Forward clutch plates worn or burnt. Done: Renew forward clutch plates");
    let kept = closed(&again);
    assert_eq!(
        (kept.found, kept.causes),
        (Some(Found::Stated), vec![CLUTCH[1].to_owned()])
    );
    let added = &again.events()[before.len()..];
    assert!(
        matches!(added, [Event::Reopened { .. }, Event::Closed(_)]),
        "{added:?}"
    );
    // Whatever else is typed: the closing stands.
    let odd = repaired("0\n")
        .resume()
        .types("back 2\nalso no-drive\nrepair\nnote seen at last\n2\n")
        .run();
    odd.says("The job is closed: here it can only be said which cause it was.");
    assert_eq!(closed(&odd).found, Some(Found::Stated));
    // Now it is known, and nobody is asked again.
    told.resume().run().says_not("Which of these was found?");
}

#[test]
fn a_record_of_before_it_was_asked_reads_and_can_be_told() {
    let told = repaired("2\n");
    let text = without_sums(&told.text());
    let old = text.replace(",\"found\":\"stated\"", "");
    assert_ne!(old, text);
    fs::write(told.record(), old).unwrap();
    assert_eq!(closed(&told).found, None);
    let again = told.resume().types("1\n").run();
    again.says("The likeliest by the readings; nobody was asked.");
    assert_eq!(closed(&again).found, Some(Found::Stated));
}
