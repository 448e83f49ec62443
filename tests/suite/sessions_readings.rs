use halfsplit::record::Event;

use crate::shop::{Shop, Told};

/// A job in which the sensor at rest was read, as typed.
fn at_rest(typed: &str) -> Told {
    Shop::job("slipping")
        .types(format!("take scan-pressure-at-rest\nyes\n{typed}\n"))
        .run()
}

/// The number and the raw text in the record.
fn kept(told: &Told) -> Option<(f64, String)> {
    told.state()
        .readings
        .last()
        .map(|taken| (taken.reading.value.unwrap(), taken.reading.raw.clone()))
}

/// What people write. Conversions: NIST SP 811, appendix B.
#[test]
fn numbers_are_taken_as_people_write_them() {
    let cases = [
        ("75 psi", 75.0 * 6.894_757_293_168),
        ("5,2 bar", 520.0),
        ("0.52MPa", 520.0),
        ("520", 520.0),
        ("5.3 kgf/cm2", 5.3 * 98.0665),
    ];
    for (typed, kpa) in cases {
        let told = at_rest(typed);
        let (value, raw) = kept(&told).unwrap_or_else(|| panic!("{typed}\n{}", told.out));
        assert!((value - kpa).abs() < 1e-6, "{typed}: {value}");
        assert_eq!(raw, typed);
    }
}

#[test]
fn a_bare_number_is_shown_back_with_the_unit_it_is_taken_in_and_a_verdict() {
    at_rest("520").says("520 kPa is above -100 to 120: high.");
}

#[test]
fn a_converted_number_is_shown_in_both_units() {
    at_rest("75 psi").says("75 psi = 520 kPa is above -100 to 120: high.");
}

#[test]
fn a_swing_and_an_own_uncertainty_are_taken() {
    let told = at_rest("480-560 kPa");
    assert_eq!(kept(&told).unwrap().0, 520.0);
    // Half the swing over the square root of 3 is 23.1 kPa (JCGM 100, 4.3.7); the tool adds its 30 kPa.
    let u = told.state().readings[0].reading.uncertainty.unwrap();
    assert!(u > 23.0 && u < 60.0, "{u}");
    let told = at_rest("520 ± 20 kPa");
    assert!(told.state().readings[0].reading.uncertainty.is_some());
}

#[test]
fn a_number_of_the_wrong_kind_is_questioned_with_what_was_understood() {
    let told = at_rest("38 C");
    told.says("“C” is the unit of a temperature; wanted is a pressure in kPa");
    assert!(told.readings().is_empty());
}

#[test]
fn an_implausible_number_counts_only_after_a_yes() {
    let told = at_rest("5200 kPa");
    told.says("between -2000 and 3000 kPa would be plausible here")
        .says("`yes` takes it so; else type it again.");
    assert!(told.readings().is_empty());
    let told = at_rest("5200 kPa\nyes");
    assert_eq!(kept(&told).unwrap().0, 5200.0);
    let told = at_rest("5200 kPa\n520");
    assert_eq!(kept(&told).unwrap().0, 520.0);
    // Where no unit was typed, others may have been meant.
    let told = at_rest("5200");
    told.says("#1 5200 kPa is above -100 to 120: high.")
        .says("Type #1 to #3, or the reading again with its unit.");
    let told = at_rest("5200\n#3");
    assert_eq!(kept(&told).unwrap().0, 520.0);
}

#[test]
fn an_ambiguous_number_is_settled_by_its_place_in_the_question() {
    let told = at_rest("1,200");
    if told.readings().is_empty() {
        told.says("#1").says("Type #1 or #2");
        let first = at_rest("1,200\n#1");
        let second = at_rest("1,200\n#2");
        assert_ne!(kept(&first).unwrap().0, kept(&second).unwrap().0);
        assert!(at_rest("1,200\n#3").readings().is_empty());
    } else {
        panic!("1,200 was taken without a question\n{}", told.out);
    }
}

#[test]
fn an_end_stop_is_a_reading() {
    let told = Shop::job("slipping")
        .types("take gauge-forward\nyes\n90\n>2.9 MPa\n")
        .run();
    assert_eq!(told.readings()[0].1, "high");
    assert_eq!(told.state().readings[0].reading.uncertainty, None);
}

#[test]
fn a_value_outside_the_range_of_the_instrument_is_no_value() {
    let told = Shop::job("slipping")
        .types("take gauge-forward\nyes\n90\n3500\n")
        .run();
    assert!(told.readings().is_empty());
    told.says("3000");
}

/// Clutch pressure 900 to 1,250 kPa on the estate; the usual gauge is 0 to 3 `MPa`, class 1.6: at most 48 kPa
/// off, uniform, 27.7 kPa (EN 837-1; JCGM 100, 4.3.7).
#[test]
fn a_reading_too_close_to_a_limit_says_so_and_what_would_settle_it() {
    let told = Shop::job("slipping")
        .types("take gauge-forward\nyes\n90\n890\n")
        .run();
    told.says("Too close to a limit to call: low with a probability of 64 %")
        .says("would settle it");
    let u = told.state().readings[0].reading.uncertainty.unwrap();
    assert!((u - 48.0 / 3f64.sqrt()).abs() < 1e-9, "{u}");
}

#[test]
fn the_instrument_really_used_gives_the_uncertainty() {
    // 0 to 1.6 MPa, class 1.0: at most 16 kPa off.
    let told = Shop::job("slipping")
        .types("take gauge-forward\nyes\n90\nwith gauge-1600-kpa\n890\n")
        .run();
    let reading = &told.state().readings[0].reading;
    assert_eq!(reading.instrument.as_deref(), Some("gauge-1600-kpa"));
    assert!((reading.uncertainty.unwrap() - 16.0 / 3f64.sqrt()).abs() < 1e-9);
    Shop::job("slipping")
        .types("take gauge-forward\nwith gauge-1600-kap\nwith ?\n")
        .run()
        .says("did you mean `gauge-1600-kpa`?")
        .says("The instruments are:");
}

#[test]
fn the_instrument_of_one_reading_is_not_that_of_the_next() {
    let told = Shop::job("slipping")
        .types("take gauge-forward\nyes\n90\nwith gauge-1600-kpa\n890\ntake gauge-reverse\nyes\n1300\n")
        .run();
    let readings = told.state().readings;
    assert_eq!(
        readings[1].reading.instrument.as_deref(),
        Some("gauge-3-mpa")
    );
}

#[test]
fn a_computed_number_takes_its_raw_readings_one_by_one() {
    let told = Shop::job("slipping")
        .types("take sensor-minus-gauge\nyes\n2650\n1200 kPa\n")
        .run();
    let reading = &told.state().readings[0].reading;
    assert_eq!(
        (reading.outcome.as_str(), reading.value),
        ("far-high", Some(1450.0))
    );
    assert_eq!(reading.values["sensor"].raw, "2650");
    assert_eq!(reading.values["gauge"].value, 1200.0);
    told.says("Sensor against mechanical gauge: 1450 kPa is above -300 to 300: far high.");
    // 30 kPa of the tool; 160 kPa over the square root of 3 of the gauge (JCGM 100, 5.1.2).
    let u = (30f64.powi(2) + (160.0 / 3f64.sqrt()).powi(2)).sqrt();
    assert!((reading.uncertainty.unwrap() - u).abs() < 1e-9);
}

#[test]
fn a_computed_number_can_be_typed_as_such_with_its_sign() {
    let told = Shop::job("slipping")
        .types("take sensor-minus-gauge\nyes\n= -450 kPa\n")
        .run();
    assert_eq!(
        told.readings(),
        [(
            "sensor-minus-gauge".to_owned(),
            "reads-low".to_owned(),
            true
        )]
    );
}

/// Front 2,000 and rear 1,980 mm all round: 100·(4,000 − 3,960)/3,980 = 1.005 %, the mismatch of
/// unequal tyres; a tape of 2 mm leaves no doubt at a limit of 0.6 %.
#[test]
fn a_mismatch_of_tyres_is_computed_in_percent() {
    let told = Shop::job("tight-turn-binding")
        .types("take tyre-circumference\nyes\n2000\n2 m\n1980\n1980 mm\n")
        .run();
    let reading = &told.state().readings[0].reading;
    assert_eq!(reading.outcome, "axles-differ");
    assert!((reading.value.unwrap() - 100.0 * 40.0 / 3980.0).abs() < 1e-9);
}

#[test]
fn what_no_number_stands_for_is_answered_by_its_name() {
    let told = Shop::job("slipping")
        .types("take scan-converter-slip\nnever-opens\ntake scan-converter-slip\n2100\n1950 rpm\n")
        .run();
    let readings = told.readings();
    assert_eq!(readings[0].1, "never-opens");
    assert_eq!(readings[1].1, "slips");
    told.says("or commanded off, no difference appears");
}

#[test]
fn raw_readings_that_make_nothing_possible_are_asked_for_again() {
    let told = Shop::job("slipping")
        .types("take sensor-minus-gauge\nyes\n9000\n0\nyes\n")
        .run();
    told.says("read both again");
    assert!(told.readings().is_empty());
}

/// Common practice: a level read outside its window is none. The estate's window is 35 to 45 °C.
#[test]
fn a_reading_outside_its_condition_is_kept_marked_and_moves_nothing() {
    let told = Shop::job("slipping")
        .types("take fluid-level\n20\nyes\nyes\nlow\n")
        .run();
    let state = told.state();
    assert_eq!(
        told.readings(),
        [("fluid-level".to_owned(), "low".to_owned(), false)]
    );
    assert!(
        state.readings[0]
            .reading
            .why_not
            .as_ref()
            .unwrap()
            .contains("20 °C")
    );
    told.says("Kept in the record, and it does not count");
    told.says_not("Candidates in play:");
    assert_eq!(
        told.another()
            .arguments(["next", "--json", "--job", told.record().to_str().unwrap()])
            .run()
            .out
            .matches("\"weights\"")
            .count(),
        0
    );
}

#[test]
fn a_condition_is_asked_once_and_remembered_until_it_goes_stale() {
    let told = Shop::job("slipping")
        .types("take stall-forward\n90\n90\n4\n2400\ntake stall-reverse\nwait\n4\n2400\n")
        .run();
    assert_eq!(
        told.out
            .matches("Coolant temperature, by scan tool")
            .count(),
        1
    );
    assert_eq!(told.readings().len(), 2);
    // Twenty minutes on the estate's sheet of conditions: after nineteen it is good, after twenty-one not.
    let again = told
        .later(18)
        .resume()
        .types("take stall-forward\n4\n2400\n")
        .run();
    assert_eq!(again.readings().len(), 3);
    let stale = told.later(21).resume().types("take stall-forward\n").run();
    stale.says("Fluid temperature before this test, by scan tool (35 to 110 °C)");
}

#[test]
fn a_condition_of_a_set_up_is_asked_anew_when_the_set_up_is_entered_anew() {
    // The needle's zero is asked once while the gauge stays on its port.
    let told = Shop::job("slipping")
        .types("take gauge-secondary-idle\nyes\n90\n1300\ntake gauge-secondary-stall\n4\n5500\ntake sensor-minus-gauge\n1300\n1300\n")
        .run();
    assert_eq!(told.readings().len(), 3, "{}", told.out);
    assert_eq!(told.out.matches("needle stand on zero").count(), 1);
    // On another port it is another fitting.
    let other = told.resume().types("take gauge-primary-up\n").run();
    other.says("Did the needle stand on zero before the hose was connected?");
}

#[test]
fn conditions_take_units_and_show_back_what_they_understood() {
    let told = Shop::job("slipping")
        .types("take fluid-level\n104 F\nyes\nyes\nnormal\n")
        .run();
    told.says("Taken: 40 °C.");
    assert_eq!(
        told.readings(),
        [("fluid-level".to_owned(), "normal".to_owned(), true)]
    );
    let told = Shop::job("slipping")
        .types("take fluid-level\nwarm\n40\nmaybe\nyes\n")
        .run();
    told.says("Answer yes or no.");
    assert_eq!(told.state().conditions.len(), 2);
}

/// Common practice: at most 5 s, then at least 60 s at idle.
#[test]
fn a_stall_held_too_long_does_not_count() {
    let told = Shop::job("slipping")
        .types("take stall-forward\n90\n90\n7\n2400\n")
        .run();
    assert_eq!(
        told.readings(),
        [("stall-forward".to_owned(), "normal".to_owned(), false)]
    );
    told.says("held 7 s at full throttle, longer than 5 s");
}

#[test]
fn a_reading_typed_for_the_seconds_held_is_noticed() {
    let told = Shop::job("slipping")
        .types("take stall-forward\n90\n90\n2400\n4\n2400\n")
        .run();
    told.says("2400 s at full throttle cannot be");
    assert_eq!(
        told.readings(),
        [("stall-forward".to_owned(), "normal".to_owned(), true)]
    );
}

#[test]
fn a_second_stall_is_refused_until_the_first_has_cooled_down() {
    let stalled = "take stall-forward\n90\n90\n4\n2400\n";
    let told = Shop::job("slipping")
        .types(format!("{stalled}take stall-forward\n\n\n4\n"))
        .run();
    told.says("Not yet: the last stall test has not cooled down. 60 s are left");
    assert_eq!(told.readings().len(), 1);
    // Another measurement that stalls is refused too, also by a program started anew.
    let told = Shop::job("slipping").types(stalled).run();
    let again = told
        .resume()
        .types("take gauge-secondary-stall\n4\n5500\n")
        .run();
    again.says("60 s are left");
    assert_eq!(again.readings().len(), 1);
    // Any other measurement is not.
    let other = told.resume().types("take recent-work\nnormal\n").run();
    assert_eq!(other.readings().len(), 2);
    // Waiting passes the time; two minutes later nothing is left to wait for.
    let waited = told
        .resume()
        .types("take stall-reverse\nwait\n4\n2400\n")
        .run();
    assert_eq!(waited.readings().len(), 3);
    let later = told
        .later(2)
        .resume()
        .types("take stall-forward\n4\n2400\n")
        .run();
    later.says_not("Not yet");
    assert_eq!(later.readings().len(), 4);
}

#[test]
fn taking_a_stall_back_does_not_cool_anything_down() {
    let told = Shop::job("slipping")
        .types("take stall-forward\n90\n90\n4\n2400\nback\ntake stall-forward\n")
        .run();
    told.says("60 s are left");
}

#[test]
fn the_idle_after_a_stall_is_stated_before_its_prompt() {
    let told = Shop::job("slipping")
        .types("take stall-forward\n90\n90\n")
        .run();
    told.says("no longer than five seconds")
        .says("at least 60 seconds")
        .says("do not switch the engine off");
}

/// SAE J2012 shapes. Common practice: a code names a circuit.
#[test]
fn codes_are_read_explained_and_kept() {
    let told = Shop::job("slipping")
        .types("take dtc-group\nP0841 u0100\n")
        .run();
    told.says("P0841:").says("U0100:");
    let reading = &told.state().readings[0].reading;
    assert_eq!(reading.codes.as_deref().unwrap(), ["P0841", "U0100"]);
    assert_eq!(reading.outcome, "performance");
}

#[test]
fn unknown_codes_are_kept_and_said_to_be_unused() {
    let told = Shop::job("slipping").types("take dtc-group\nP3FFF\n").run();
    told.says("P3FFF: not known here; kept in the record, not used.");
    let reading = &told.state().readings[0].reading;
    assert_eq!(reading.codes.as_deref().unwrap(), ["P3FFF"]);
    assert_eq!(reading.outcome, "normal");
}

#[test]
fn no_codes_is_a_reading_too() {
    for typed in ["none", "no codes"] {
        let told = Shop::job("slipping")
            .types(format!("take dtc-group\n{typed}\n"))
            .run();
        let state = told.state();
        let reading = state
            .readings
            .first()
            .unwrap_or_else(|| panic!("{typed}\n{}", told.out));
        assert_eq!(
            (
                reading.reading.outcome.as_str(),
                reading.reading.codes.as_deref()
            ),
            ("normal", Some(&[][..]))
        );
    }
}

#[test]
fn what_is_no_code_is_refused() {
    let told = Shop::job("slipping")
        .types("take dtc-group\nP9999999\nX0100\n")
        .run();
    assert!(told.readings().is_empty());
}

#[test]
fn a_repeated_reading_replaces_the_earlier_one() {
    let told = Shop::job("slipping")
        .types("take recent-work\ntyres\ntake recent-work\nnormal\n")
        .run();
    let state = told.state();
    assert_eq!(state.readings.len(), 2);
    assert_eq!(state.counting().count(), 1);
    assert_eq!(state.readings[1].reading.attempt, 2);
}

#[test]
fn limits_are_shown_in_the_units_asked_for() {
    Shop::diagnose(["slipping", "--vehicle", "demo-estate", "--units", "us"])
        .types("take gauge-forward\nyes\n90\nyes\nyes\n")
        .run()
        .says("130.5 to 181.3 psi");
}

#[test]
fn each_limit_says_where_it_comes_from_and_that_the_sheet_is_invented() {
    Shop::job("slipping")
        .types("take gauge-forward\nyes\n90\nyes\nyes\n")
        .run()
        .says("Limit 900 to 1250 kPa (invented for the demonstration)")
        .says("use it on no vehicle");
}

#[test]
fn every_answer_is_in_the_record_as_it_was_typed() {
    let told = at_rest("  75 PSI ");
    assert!(told.text().contains("75 PSI"));
    assert!(
        told.events()
            .iter()
            .any(|event| matches!(event, Event::Condition(found) if found.raw == "yes"))
    );
}
