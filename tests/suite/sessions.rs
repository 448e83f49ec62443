use std::time::Duration;

use halfsplit::record::{Event, SetAsideHow};

use crate::shop::{Shop, family};

/// A level that counts: its three conditions, then the level.
const LEVEL: &str = "take fluid-level\n40\nyes\nyes\nnormal\n";

#[test]
fn skip_passes_the_proposal_over_and_proposes_another() {
    let told = Shop::job("slipping").run();
    let first = told.proposed().unwrap();
    let told = Shop::job("slipping").types("skip\n").run();
    assert_ne!(told.proposed().unwrap(), first);
    let state = told.state();
    assert_eq!(state.set_aside[&first].what.how, SetAsideHow::Skipped);
    assert!(state.readings.is_empty());
}

#[test]
fn what_cannot_be_done_here_is_kept_with_its_reason_and_not_offered_again() {
    let first = Shop::job("slipping").run().proposed().unwrap();
    let told = Shop::job("slipping")
        .types("cannot the lift is taken\n")
        .run();
    let set_aside = &told.state().set_aside[&first].what;
    assert_eq!(set_aside.how, SetAsideHow::NotPossible);
    assert_eq!(set_aside.why.as_deref(), Some("the lift is taken"));
    assert_ne!(told.proposed().unwrap(), first);
    assert_ne!(told.resume().run().proposed().unwrap(), first);
}

#[test]
fn not_taken_is_understood_as_the_notice_says_it() {
    let first = Shop::job("slipping").run().proposed().unwrap();
    let told = Shop::job("slipping").types("not taken\n").run();
    assert!(told.state().set_aside.contains_key(&first));
}

#[test]
fn a_measurement_set_aside_can_be_taken_after_all() {
    let told = Shop::job("slipping")
        .types("take fluid-level\nskip\ntake fluid-level\n40\nyes\nyes\nlow\n")
        .run();
    assert_eq!(
        told.readings(),
        [("fluid-level".to_owned(), "low".to_owned(), true)]
    );
    assert!(told.state().set_aside.is_empty());
}

#[test]
fn another_measurement_is_taken_by_its_number_in_the_list() {
    let told = Shop::job("slipping").types("list\ntake 2\n").run();
    let listed = told
        .out
        .split("> list")
        .nth(1)
        .unwrap()
        .split("\n   2  ")
        .nth(1)
        .unwrap();
    let proposed = family().measurement_named(&told.proposed().unwrap());
    let title = &family().measurement(proposed.unwrap()).title;
    assert!(
        listed.starts_with(title.split(' ').next().unwrap()),
        "{listed}"
    );
}

#[test]
fn another_measurement_is_taken_by_its_name() {
    let told = Shop::job("slipping").types("take recent-work\n").run();
    assert_eq!(told.proposed().unwrap(), "recent-work");
    told.says("Your choice. Advised:");
}

#[test]
fn a_measurement_that_does_not_exist_is_answered_with_the_nearest() {
    Shop::job("slipping")
        .types("take fluid-levle\ntake 99\n")
        .run()
        .says("There is no measurement `fluid-levle`: did you mean `fluid-level`?")
        .says("No measurement for this complaint has “99” in its title");
}

/// Common practice: a vehicle that does not move makes no road test.
#[test]
fn a_measurement_of_another_complaint_is_refused() {
    Shop::job("slipping")
        .types("take front-only-turn\n")
        .run()
        .says("front-only-turn is not for this complaint.");
}

#[test]
fn why_of_a_measurement_says_what_each_outcome_would_leave() {
    let told = Shop::job("slipping").types("why gauge-forward\n").run();
    let shown = told.out.split("why gauge-forward").nth(1).unwrap();
    for outcome in ["low", "normal", "high"] {
        assert!(
            shown
                .lines()
                .any(|line| line.trim_start().starts_with(outcome)),
            "{shown}"
        );
    }
}

#[test]
fn why_of_a_cause_says_which_reading_moved_it() {
    let told = Shop::job("slipping")
        .types("take complaint-direction\nforward-only\nwhy forward-clutch-worn\n")
        .run();
    let shown = told.out.split("> why forward-clutch-worn").nth(1).unwrap();
    assert!(shown.contains("before any reading"));
    assert!(
        shown
            .lines()
            .any(|line| line.contains("Direction of the complaint") && line.contains("D only")),
        "{shown}"
    );
}

#[test]
fn why_of_a_repair_explains_its_causes() {
    Shop::job("slipping")
        .types("why renew-forward-clutch\n")
        .run()
        .says("Forward clutch plates worn or burnt")
        .says("Forward clutch piston or shaft seal ring leaks");
}

#[test]
fn why_of_an_unknown_name_suggests_one() {
    Shop::job("slipping")
        .types("why forward-clutch-wron\n")
        .run()
        .says("did you mean `forward-clutch-worn`?");
}

#[test]
fn a_wrong_outcome_word_is_answered_with_the_words_that_fit() {
    let told = Shop::job("slipping")
        .types("take complaint-direction\nsideways\n")
        .run();
    told.says("“sideways” is none of these: ");
    assert!(told.readings().is_empty());
}

#[test]
fn going_back_leaves_the_state_as_if_never_answered() {
    let plain = Shop::job("slipping")
        .types("take complaint-direction\nforward-only\n")
        .run();
    let back = Shop::job("slipping")
        .types(format!(
            "take complaint-direction\nforward-only\n{LEVEL}take recent-work\ntyres\nback 5\n"
        ))
        .run();
    let (plain_state, state) = (plain.state(), back.state());
    assert_eq!(state.counting().count(), 1);
    assert_eq!(state.present, plain_state.present);
    assert_eq!(back.readings(), plain.readings());
    assert!(state.conditions.is_empty());
    // Nothing is rewritten: what was taken back stays in the file.
    assert!(back.text().contains("\"tyres\""));
    assert_eq!(
        back.events()
            .iter()
            .filter(|event| matches!(event, Event::Back { .. }))
            .count(),
        1
    );
}

#[test]
fn going_back_further_than_there_are_answers_is_refused() {
    Shop::job("slipping")
        .types("back 7\nback 0\nback x\n")
        .run()
        .says("7 steps back asked for")
        .says("back how many");
}

#[test]
fn back_from_a_choice_returns_to_the_proposal_and_takes_no_answer_back() {
    let proposed = Shop::job("slipping").run().proposed();
    let told = Shop::job("slipping")
        .types("take recent-work\nback\n")
        .run();
    assert_eq!(told.proposed(), proposed);
    assert_eq!(told.state().present, ["slipping"]);
}

#[test]
fn a_note_is_kept_at_any_prompt() {
    let told = Shop::diagnose(["--vehicle", "demo-estate"])
        .types("it slips on hills\nnote plate AB 12\n\nnote found wet\n")
        .run();
    let notes: Vec<String> = told
        .state()
        .notes
        .into_iter()
        .map(|note| note.what)
        .collect();
    assert_eq!(notes, ["plate AB 12", "found wet"]);
}

#[test]
fn a_further_complaint_joins_the_first() {
    let told = Shop::job("slipping").types("also harsh-engagement\n").run();
    assert_eq!(told.state().present, ["slipping", "harsh-engagement"]);
    Shop::job("slipping")
        .types("also harsh-engagment\n")
        .run()
        .says("did you mean `harsh-engagement`?");
}

#[test]
fn a_complaint_confirmed_absent_is_kept() {
    let told = Shop::job("slipping")
        .types("absent harsh-engagement\n")
        .run();
    assert_eq!(told.state().absent, ["harsh-engagement"]);
}

#[test]
fn a_set_up_in_place_costs_nothing_again() {
    let without = Shop::job("slipping")
        .types("take gauge-secondary-idle\n")
        .run();
    without.says("High-range gauge on the secondary port (12)");
    let told = Shop::job("slipping")
        .types("in-place secondary-gauge\ntake gauge-secondary-idle\n")
        .run();
    told.says_not("High-range gauge on the secondary port (12)");
    assert!(
        told.state()
            .in_place
            .contains(&"secondary-gauge".to_owned())
    );
    Shop::job("slipping")
        .types("in-place secondary-gague\n")
        .run()
        .says("did you mean `secondary-gauge`?");
}

#[test]
fn set_ups_of_a_reading_stand_afterwards() {
    let told = Shop::job("slipping").types(LEVEL).run();
    let in_place = told.state().in_place;
    assert!(
        in_place.contains(&"fluid-warm".to_owned())
            && in_place.contains(&"engine-running".to_owned())
    );
}

/// By hand, from the family: gauge 12, fluid hot from the window 12 (20 from cold), reading 4, after 48.
#[test]
fn the_minutes_of_a_job_are_those_of_its_way() {
    Shop::job("slipping")
        .shipped()
        .types("1\n1\n1\n1\n12.6\n1\n1\n1\n40\nyes\nyes\n2\n1\ntake gauge-against-speed\nyes\nyes\n1\nstop\n")
        .run()
        .says("9 readings · 48 min")
        .says("10 readings · 76 min");
}

#[test]
fn the_customers_words_find_the_complaint() {
    let told = Shop::diagnose(["--vehicle", "demo-estate"])
        .types("when I press the pedal the revs climb\n\n")
        .run();
    assert_eq!(told.state().present, ["slipping"]);
    assert_eq!(
        told.state().complaints,
        ["when I press the pedal the revs climb"]
    );
}

#[test]
fn the_customers_words_may_begin_with_a_word_of_the_program() {
    for words in [
        "cannot reverse, no drive in R",
        "with a warm engine it will slip",
        "note that it slips",
        "take it uphill and it slips",
    ] {
        let told = Shop::diagnose(["--vehicle", "demo-estate"])
            .types(format!("{words}\n"))
            .run();
        assert_eq!(told.state().complaints, [words]);
    }
}

#[test]
fn several_complaints_can_be_chosen_at_once() {
    let told = Shop::diagnose(["--vehicle", "demo-estate"])
        .types("odd\nslipping, harsh-engagement\n")
        .run();
    assert_eq!(told.state().present, ["slipping", "harsh-engagement"]);
    told.says("The words match no complaint that is known here.");
}

#[test]
fn the_complaint_can_be_worded_anew() {
    let told = Shop::diagnose(["--vehicle", "demo-estate"])
        .types("odd\nback\nit slips\n\n")
        .run();
    assert_eq!(told.state().complaints, ["it slips"]);
    assert_eq!(told.state().present, ["slipping"]);
}

#[test]
fn the_vehicle_is_asked_for_where_it_is_not_named() {
    let told = Shop::diagnose(["slipping"]).types("9\n1\n").run();
    told.says("Which vehicle?")
        .says("Type its number or words of its title");
    assert_eq!(told.state().opened.vehicle.as_deref(), Some("demo-estate"));
}

#[test]
fn without_a_sheet_a_number_is_not_judged_and_a_word_is() {
    let told = Shop::diagnose(["slipping", "--vehicle", "none"])
        .types("take scan-pressure-at-rest\nyes\n400\nhigh\n")
        .run();
    told.says("Without a vehicle's sheet a number cannot be judged");
    assert_eq!(
        told.readings(),
        [("scan-pressure-at-rest".to_owned(), "high".to_owned(), true)]
    );
}

#[test]
fn help_lists_every_word() {
    let told = Shop::job("slipping").types("help\n").run();
    for (word, _) in halfsplit::terminal::WORDS {
        told.says(word);
    }
}

#[test]
fn words_that_lack_something_say_what() {
    Shop::job("slipping")
        .types("take\nwith\nnote\nalso\nabsent\nin-place\n")
        .run()
        .says("take what?")
        .says("with which instrument?")
        .says("note what?")
        .says("also what?")
        .says("absent what?")
        .says("what is in place?");
}

#[test]
fn repairing_now_is_the_technicians_to_choose() {
    let told = Shop::job("slipping").types("repair\n").run();
    told.says("Stop measuring.")
        .says("measuring on would save")
        .says("that it cures");
    // And it can be taken back by choosing a measurement.
    let told = Shop::job("slipping")
        .types("repair\ntake recent-work\n")
        .run();
    assert_eq!(told.proposed().unwrap(), "recent-work");
}

#[test]
fn there_is_nothing_to_repair_before_a_complaint() {
    Shop::diagnose(["--vehicle", "demo-estate"])
        .types("repair\n")
        .run()
        .says("There is nothing to repair yet.");
}

#[test]
fn a_repair_that_did_not_fix_it_is_ruled_out_and_the_diagnosis_goes_on() {
    let told = Shop::job("slipping")
        .types("take complaint-direction\nforward-only\nrepair\ndone\nskip\nskip\nskip\nno\nwhy\n")
        .run();
    let state = told.state();
    assert!(state.closed.is_none() && !state.verifying);
    assert_eq!(state.repairs.len(), 1);
    let repair = &state.repairs[0].repair.repairs[0];
    told.says("Not fixed: what this repair would have cured is out, and the diagnosis goes on.");
    let flat = told.flat();
    let after = flat.rsplit("the diagnosis goes on").next().unwrap();
    let cures = after
        .split("What would cure it")
        .nth(1)
        .unwrap()
        .split("none of the listed")
        .next()
        .unwrap();
    let repair = family().repair(family().repair_named(repair).unwrap());
    let begins: String = repair.title.chars().take(20).collect();
    assert!(!cures.contains(&begins), "{cures}");
    assert!(told.proposed().is_some());
}

#[test]
fn a_repair_that_fixed_it_closes_the_job_and_says_so_when_resumed() {
    let told = Shop::job("slipping")
        .types("take complaint-direction\nforward-only\nrepair\ndone\nskip\nskip\nskip\nyes\n1\n")
        .run();
    told.says("Closed as fixed");
    assert!(told.state().closed.is_some());
    let again = told.resume().types("skip\n").run();
    again
        .says("Closed as fixed")
        .says("Done: Renew forward clutch plates");
    assert_eq!(again.events(), told.events());
}

#[test]
fn verification_readings_are_asked_for_and_a_bad_one_is_named() {
    let told = Shop::job("tight-turn-binding")
        .types(
            "take tyre-circumference\nyes\naxles-differ\nrepair\ndone\naxles-differ\ngroan\nno\n",
        )
        .run();
    let state = told.state();
    assert_eq!(state.repairs[0].repair.repairs, ["equalise-tyres"]);
    let read: Vec<(&str, bool)> = state.repairs[0]
        .verifications
        .iter()
        .map(|verification| (verification.measurement.as_str(), verification.as_expected))
        .collect();
    assert_eq!(read.len(), 2);
    assert!(read.iter().all(|(_, as_expected)| !as_expected), "{read:?}");
    told.says("That is not how a mended vehicle reads.")
        .says("Not as a mended vehicle reads:");
}

#[test]
fn a_stall_test_that_verifies_a_repair_is_held_and_cooled_down_like_any_other() {
    let told = Shop::job("slipping")
        .types("take complaint-direction\nforward-only\ntake stall-forward\n90\n90\n4\n2950\nrepair\ndone\nskip\n2450\nwait\n4\n2450\n0.7\nyes\n")
        .run();
    let repaired = &told.state().repairs[0];
    assert_eq!(repaired.repair.repairs, ["renew-forward-clutch"]);
    told.says("Not yet: the last stall test has not cooled down.");
    let stalls = told
        .events()
        .iter()
        .filter(|event| matches!(event, Event::Timed(_)))
        .count();
    assert_eq!(stalls, 2);
    assert!(
        repaired
            .verifications
            .iter()
            .any(|verification| verification.measurement == "stall-forward"
                && verification.as_expected)
    );
}

#[test]
fn the_count_of_a_stall_runs_on_a_terminal_and_stops_at_its_limit_with_a_bell() {
    let told = Shop::job("slipping")
        .at_a_terminal()
        .types("take stall-forward\n90\n90\n\n2450\n")
        .run();
    told.says("Enter starts the clock, Enter again stops it")
        .says("OFF THE THROTTLE NOW  5.0 s");
    assert!(told.out.contains('\u{7}'));
    assert_eq!(
        told.readings(),
        [("stall-forward".to_owned(), "normal".to_owned(), true)]
    );
}

#[test]
fn a_number_at_the_clock_of_a_stall_is_the_seconds_held() {
    for typed in ["3", "3 s"] {
        let told = Shop::job("slipping")
            .at_a_terminal()
            .types(format!("take stall-forward\n90\n90\n{typed}\n2450\n"))
            .run();
        told.says_not("OFF THE THROTTLE");
        let held = told.events().into_iter().find_map(|event| match event {
            Event::Timed(timed) => Some((timed.phase, timed.seconds)),
            _ => None,
        });
        assert_eq!(held, Some((halfsplit::record::Phase::Ended, 3.0)));
    }
}

#[test]
fn what_is_typed_while_it_cools_down_is_heard() {
    let told = Shop::job("slipping")
        .at_a_terminal()
        .stops_counts_after(Duration::from_secs(3))
        .types("take stall-forward\n90\n90\n\n\n2450\nnote it smells\n")
        .run();
    let notes = told.state().notes;
    assert_eq!(notes.len(), 1);
    assert_eq!(notes[0].what, "it smells");
}

#[test]
fn enter_stops_the_count_of_a_stall() {
    let told = Shop::job("slipping")
        .at_a_terminal()
        .stops_counts_after(Duration::from_secs(3))
        .types("take stall-forward\n90\n90\n\n\n2450\n")
        .run();
    told.says_not("LIFT NOW");
    let ended = told.events().into_iter().find_map(|event| match event {
        Event::Timed(timed) if timed.phase == halfsplit::record::Phase::Ended => {
            Some(timed.seconds)
        }
        _ => None,
    });
    assert_eq!(ended, Some(3.0));
}

#[test]
fn a_lag_is_timed_on_a_terminal_or_typed_in() {
    let told = Shop::job("slipping")
        .at_a_terminal()
        .types("take lag-forward\n700\n40\n0.7 s\n")
        .run();
    assert_eq!(
        told.readings(),
        [("lag-forward".to_owned(), "normal".to_owned(), true)]
    );
    // The shop's clock stands still while Enter is pressed twice.
    let told = Shop::job("slipping")
        .at_a_terminal()
        .types("take lag-forward\n700\n40\n\n\n")
        .run();
    told.says("Enter at the bump");
    assert_eq!(told.state().readings[0].reading.value, Some(0.0));
}

#[test]
fn a_repair_that_is_not_advised_is_recorded_once_it_is_confirmed() {
    for typed in ["repair broken mount", "done the mount instead", "did mount"] {
        let told = Shop::job("harsh-engagement")
            .types(format!("{typed}\nno\n"))
            .run();
        assert!(told.state().repairs.is_empty(), "{typed}");
        let told = Shop::job("harsh-engagement")
            .types(format!("{typed}\nyes\n"))
            .run();
        told.says("was that done? (yes or no)").says("Prove it");
        let state = told.state();
        assert_eq!(
            state.repairs.last().unwrap().repair.repairs,
            ["renew-mount"]
        );
        assert!(state.verifying);
    }
}

#[test]
fn where_several_repairs_have_the_words_they_are_named() {
    let told = Shop::job("harsh-engagement")
        .types("repair renew\nrepair nothing such\n")
        .run();
    told.says("“renew” can be: ")
        .says("No repair has “nothing such” in its title");
    assert!(told.state().repairs.is_empty());
}

#[test]
fn who_cannot_say_yet_whether_it_is_fixed_leaves_the_job_waiting() {
    for typed in ["skip", "not sure", "can't say", "cannot until tomorrow"] {
        let told = Shop::job("slipping")
            .types(format!(
                "take complaint-direction\nforward-only\nrepair\ndone\nskip\nskip\nskip\n{typed}\n"
            ))
            .run();
        told.says("Then the job waits: `stop` leaves it open");
        assert!(
            told.state().closed.is_none() && told.state().verifying,
            "{typed}"
        );
    }
}
