use halfsplit::entry::{NoChoice, yes_or_no};
use halfsplit::infer::{Answer as Understood, Taken, Typing, understand};
use halfsplit::knowledge::{MeasurementId, OutcomeId, Reading};
use halfsplit::record::Event;
use halfsplit::session::{Answer, Ask, Prompt};
use halfsplit::units::{System, Unit};
use jiff::SignedDuration;
use regex::Regex;

use crate::by_name::{self, chain_cvt, shipped};
use crate::job::Job;
use crate::shop::Shop;
use crate::technician::holding;

fn id_of(measurement: &str) -> MeasurementId {
    by_name::measurement(chain_cvt(), measurement)
}

/// What is typed at a measurement in words: the outcome.
fn chosen(name: &str, text: &str) -> Result<String, NoChoice> {
    let measurement = chain_cvt().measurement(id_of(name));
    let outcome = |id: OutcomeId| measurement.outcomes[id.index()].name.clone();
    measurement.choose(text).map(outcome)
}

#[test]
fn what_stands_beside_a_choice_is_an_answer() {
    for (name, typed, outcome) in [
        ("recent-work", "nothing", "normal"),
        ("leak-look", "Dry.", "normal"),
        ("flare-when", "hot", "when-hot"),
        ("flare-when", "only when hot", "when-hot"),
        ("complaint-direction", "both", "normal"),
        ("complaint-direction", "both: D and R", "normal"),
        ("complaint-direction", "D has it", "forward-only"),
        ("solenoid-click", "all alive", "normal"),
        ("where-rotation-stops", "primary still", "primary-still"),
        ("gauge-against-speed", "it drops", "falls-off"),
        ("gauge-against-speed", "falls off as", "falls-off"),
        ("gauge-against-speed", "needle flu", "flutters"),
        ("fluid-level", "a stream", "high"),
        ("tcm-answers", "answers all the time", "normal"),
        ("tcm-answers", "yep, it does", "normal"),
        ("mount-roll", "nope", "normal"),
        ("front-only-check", "off", "switched-off"),
        ("front-only-check", "switched off", "switched-off"),
        ("front-only-check", "yes it is off", "switched-off"),
        ("front-only-check", "not switched off", "normal"),
        ("front-only-check", "usual", "normal"),
    ] {
        assert_eq!(
            chosen(name, typed).as_deref(),
            Ok(outcome),
            "{name}: {typed}"
        );
    }
}

#[test]
fn a_word_that_answers_no_one_of_the_choices_brings_them_up() {
    for (name, typed) in [
        ("tcm-answers", "no"),
        ("rear-drive-on-lift", "no"),
        ("complaint-direction", "R only"),
        ("harsh-when", "yes"),
        ("present-today", "yes"),
        ("present-today", "yep"),
        ("front-only-check", "on"),
        ("front-wheels-by-hand", "no, it does not"),
    ] {
        assert_eq!(
            chosen(name, typed),
            Err(NoChoice::Unclear),
            "{name}: {typed}"
        );
    }
    for (name, typed) in [
        ("tcm-answers", "not good"),
        ("leak-look", "not dry"),
        ("complaint-direction", "sideways"),
        ("fluid-look", "cl"),
    ] {
        assert_eq!(
            chosen(name, typed),
            Err(NoChoice::Unknown),
            "{name}: {typed}"
        );
    }
}

#[test]
fn a_typing_error_and_other_words_of_a_choice_are_asked_about_and_never_taken() {
    for (name, typed, meant) in [
        ("tcm-answers", "normla", "normal"),
        ("gauge-against-speed", "fluters", "flutters"),
        ("fluid-look", "mikly", "milky"),
        ("fluid-look", "coolnat", "milky"),
        ("strainer-look", "clogged mesh", "clogged"),
        ("transfer-command-pull", "rises as the sheet says", "normal"),
    ] {
        let found = chosen(name, typed);
        let Err(NoChoice::Near(place)) = found else {
            panic!("{name}: {typed}: {found:?}");
        };
        let measurement = chain_cvt().measurement(id_of(name));
        assert_eq!(measurement.outcomes[place].name, meant, "{name}: {typed}");
    }
}

/// A question that begins like one to be answered by yes or no understands both, or brings up the choices; one without
/// an "or" understands at least one of them.
#[test]
fn every_question_for_yes_or_no_understands_them_or_asks_which() {
    let begins =
        Regex::new(r"(?:^|[:.,;] )(?i:is|are|does|do|did|has|have|was|were|can|any\w*) [^.:?]*\?")
            .unwrap();
    let mut questions = 0;
    for measurement in &chain_cvt().measurements {
        if matches!(measurement.reading, Reading::Number(_)) {
            continue;
        }
        let question = begins.find(&measurement.ask).map(|found| found.as_str());
        let mut understood = 0;
        for word in ["yes", "no"] {
            match measurement.choose(word) {
                Ok(outcome) => {
                    let outcome = &measurement.outcomes[outcome.index()];
                    let says = |text: &str| text.split([' ', ',']).next() == Some(word);
                    let said = outcome.words.iter().any(|said| said == word);
                    assert!(
                        said || outcome.gloss.as_deref().is_some_and(says),
                        "{}: {word}",
                        measurement.name
                    );
                    understood += 1;
                }
                Err(why) => assert_eq!(why, NoChoice::Unclear, "{}: {word}", measurement.name),
            }
        }
        if let Some(question) = question.filter(|question| !question.contains(" or ")) {
            questions += 1;
            assert!(understood > 0, "{}: {question}", measurement.name);
        }
    }
    assert!(questions >= 15, "{questions}");
}

#[test]
fn yes_and_no_are_understood_in_the_ways_people_say_them() {
    for yes in ["yes", "Y", "yep", "yeah.", "yes it is", "Yes, they do!"] {
        assert_eq!(yes_or_no(yes), Some(true), "{yes}");
    }
    for no in [
        "no",
        "N",
        "nope",
        "nah",
        "no, it isn\u{2019}t",
        "no it does not",
    ] {
        assert_eq!(yes_or_no(no), Some(false), "{no}");
    }
    for neither in [
        "",
        "yes but late",
        "no gauge",
        "normal",
        "yesterday",
        "not sure",
    ] {
        assert_eq!(yes_or_no(neither), None, "{neither}");
    }
}

/// What is understood of a number typed at a screen.
fn number(vehicle: &str, name: &str, text: &str) -> Understood<Taken> {
    let vehicle = shipped().vehicle(vehicle).unwrap();
    let typing = Typing {
        system: Some(vehicle.units),
        ..Typing::default()
    };
    understand(chain_cvt(), Some(vehicle), id_of(name), text, &typing)
}

#[track_caller]
fn told(vehicle: &str, name: &str, text: &str) -> String {
    match number(vehicle, name, text) {
        Understood::Taken(taken) => taken.echo.unwrap_or_default(),
        Understood::Question { words, .. } | Understood::Refused(words) => {
            panic!("{name}: {text}: {words}")
        }
    }
}

#[track_caller]
fn asked(vehicle: &str, name: &str, text: &str) -> String {
    match number(vehicle, name, text) {
        Understood::Question { words, .. } => words,
        other => panic!("{name}: {text}: {other:?}"),
    }
}

/// Limits of the invented sheets: stall 700 to 815 psi and 5,200 to 5,900 kPa, idle 135 to 240 psi; 1 psi is 6.895 kPa.
#[test]
fn a_bare_number_counts_in_the_unit_of_the_limit_and_gets_a_verdict() {
    for (vehicle, name, typed, echo) in [
        (
            "demo-wagon",
            "gauge-secondary-stall",
            "760",
            "760 psi is within 700 to 815: normal",
        ),
        (
            "demo-wagon",
            "gauge-secondary-idle",
            "200",
            "200 psi is within 135 to 240: normal",
        ),
        (
            "demo-wagon",
            "gauge-secondary-idle",
            "90",
            "90 psi is below 135 to 240: low.",
        ),
        (
            "demo-estate",
            "gauge-secondary-stall",
            "5500",
            "5500 kPa is within 5200 to 5900: normal",
        ),
        (
            "demo-estate",
            "gauge-secondary-stall",
            "5.5 MPa",
            "5.5 MPa = 5500 kPa is within 5200 to 5900: normal",
        ),
        (
            "demo-estate",
            "gauge-secondary-stall",
            "4100",
            "4100 kPa is below 5200 to 5900: low.",
        ),
        (
            "demo-estate",
            "stall-forward",
            "between 2400 and 2500",
            "2400 to 2500 rpm is within 2250 to 2650: normal",
        ),
        (
            "demo-estate",
            "lag-forward",
            "0.9",
            "0.9 s is not above 1.2: normal",
        ),
        (
            "demo-wagon",
            "tcm-ground-drop",
            "40",
            "40 mV is not above 100: normal.",
        ),
    ] {
        let said = told(vehicle, name, typed);
        assert!(said.starts_with(echo), "{said}");
    }
}

#[test]
fn a_bare_number_that_fits_the_limits_in_another_unit_only_is_asked_about() {
    for (vehicle, name, typed, words) in [
        (
            "demo-wagon",
            "gauge-secondary-stall",
            "5.2",
            "5.2 psi is far from 700 to 815 psi; 5.2 MPa would be 754.2 psi. Is it MPa?",
        ),
        (
            "demo-wagon",
            "gauge-secondary-stall",
            "5200",
            "5200 psi cannot be: 0 to 1305 is measured here; 5200 kPa would be 754.2 psi. Is it kPa?",
        ),
        (
            "demo-estate",
            "gauge-secondary-stall",
            "760",
            "760 kPa is far from 5200 to 5900 kPa; 760 psi would be 5240 kPa. Is it psi?",
        ),
        (
            "demo-estate",
            "gauge-secondary-stall",
            "55",
            "55 kPa is far from 5200 to 5900 kPa; 55 bar would be 5500 kPa. Is it bar?",
        ),
    ] {
        assert_eq!(asked(vehicle, name, typed), words);
    }
    // So little is no reading of this pressure; 4 MPa is a low one.
    let words = asked("demo-wagon", "gauge-secondary-stall", "4");
    assert!(
        words.ends_with("4 MPa would be 580.2 psi. Is it MPa?"),
        "{words}"
    );
    // With its unit it is believed, and a low reading without one that fits nowhere else.
    let said = told("demo-wagon", "gauge-secondary-stall", "5.2 psi");
    assert!(said.contains("is below 700 to 815: low."), "{said}");
    told("demo-wagon", "gauge-secondary-stall", "450");
    told("demo-estate", "gauge-secondary-stall", "3100");
    // In a file a bare number counts in the unit of the measurement.
    let vehicle = shipped().vehicle("demo-wagon");
    let id = id_of("gauge-secondary-stall");
    let in_file = understand(chain_cvt(), vehicle, id, "5200", &Typing::default());
    let Understood::Taken(taken) = in_file else {
        panic!("{in_file:?}");
    };
    assert_eq!(taken.value.unwrap().number, 5200.0);
}

#[test]
fn several_tries_of_a_delay_are_averaged() {
    for typed in [
        "1.2, 1.4, 1.3",
        "1,2; 1,4; 1,3 s",
        "1.2 1.4 1.3",
        "1.2 and 1.4 s",
    ] {
        let Understood::Taken(taken) = number("demo-estate", "lag-forward", typed) else {
            panic!("{typed}");
        };
        assert!((taken.value.unwrap().number - 1.3).abs() < 1e-9, "{typed}");
        assert_eq!(taken.raw, typed);
    }
    assert!(matches!(
        number("demo-estate", "lag-forward", "1.2, late, 1.3"),
        Understood::Refused(_)
    ));
}

#[test]
fn the_unit_shown_is_that_of_the_shop_where_it_has_one_of_its_own() {
    assert_eq!(Unit::Megapascal.shown_in(System::Us), Unit::Psi);
    assert_eq!(Unit::Megapascal.shown_in(System::Metric), Unit::Megapascal);
    // US shops measure voltages and times like others.
    assert_eq!(Unit::Millivolt.shown_in(System::Us), Unit::Millivolt);
    assert_eq!(Unit::Second.shown_in(System::Us), Unit::Second);
}

/// A job on the shipped knowledge, in which the fluid cools between two answers.
fn job_on(vehicle: &str, symptom: &str) -> Job {
    let mut job = Job::on(shipped(), vehicle).with(symptom);
    job.pace = SignedDuration::from_mins(2);
    job
}

impl Job {
    /// Says something at a prompt; the prompt after it.
    fn say(&mut self, prompt: &Prompt, answer: Answer) -> Prompt {
        let again = self.says(prompt, answer);
        again.unwrap_or_else(|| self.prompt())
    }

    fn types(&mut self, prompt: &Prompt, text: &str) -> Prompt {
        self.say(prompt, Answer::Typed(text.to_owned()))
    }

    /// The first question of a measurement.
    fn takes(&mut self, name: &str) -> Prompt {
        let prompt = self.prompt();
        self.say(&prompt, Answer::Take(name.to_owned()))
    }

    /// The prompt for its reading, every condition met.
    fn reads(&mut self, name: &str) -> Prompt {
        let mut prompt = self.takes(name);
        loop {
            let typed = match &prompt.ask {
                Ask::Condition { condition, .. } => self.holding(condition),
                Ask::Hold { .. } => "4".to_owned(),
                Ask::Reading(_) => return prompt,
                other => panic!("{other:?}"),
            };
            prompt = self.types(&prompt, &typed);
        }
    }

    /// An answer under which a condition holds.
    fn holding(&self, condition: &str) -> String {
        let id = chain_cvt().condition_named(condition).unwrap();
        let vehicle = self.history.state().opened.vehicle.as_ref().unwrap();
        holding(
            chain_cvt().condition(id),
            shipped().vehicle(vehicle).unwrap(),
        )
    }

    #[track_caller]
    fn said(&self, words: &str) {
        let said = self.said.join(" ");
        assert!(said.contains(words), "{words:?} is not in {said:?}");
    }

    /// The outcomes read so far.
    fn outcomes(&self) -> Vec<String> {
        let readings = &self.history.state().readings;
        let outcomes = readings.iter().map(|taken| taken.reading.outcome.clone());
        outcomes.collect()
    }
}

#[test]
fn a_question_about_the_unit_is_settled_by_yes_or_by_the_unit() {
    let mut job = job_on("demo-wagon", "slipping");
    let prompt = job.reads("gauge-secondary-stall");
    let Ask::Reading(asked) = &prompt.ask else {
        panic!("{prompt:?}");
    };
    assert_eq!(asked.unit.as_deref(), Some("psi"));
    let again = job.types(&prompt, "5.2");
    job.said("Is it MPa? `yes` takes it so");
    let no = job.types(&again, "no");
    job.said("type it again");
    assert!(matches!(&no.ask, Ask::Reading(asked) if asked.meant.is_empty()));
    job.types(&again, "yep");
    job.said("5.2 MPa");
    let state = job.history.state();
    assert_eq!(state.readings[0].reading.value, Some(5200.0));
    assert_eq!(state.readings[0].reading.raw, "5.2");
    assert_eq!(job.outcomes(), ["normal"]);
}

/// The wagon's window of the level is 95 to 113 °F: 35 to 45 °C.
#[test]
fn conditions_are_asked_answered_and_questioned_in_the_units_of_the_sheet() {
    let mut job = job_on("demo-wagon", "slipping");
    let prompt = job.takes("gauge-secondary-stall");
    let mut prompt = prompt;
    while !matches!(&prompt.ask, Ask::Condition { unit: Some(_), .. }) {
        prompt = job.types(&prompt, "ok");
    }
    let Ask::Condition { unit, from, to, .. } = &prompt.ask else {
        panic!("{prompt:?}");
    };
    // 60 to 100 °C.
    assert_eq!(
        (unit.as_deref(), *from, *to),
        (Some("°F"), Some(140.0), Some(212.0))
    );
    let again = job.types(&prompt, "80");
    job.said("80 °F is far from 140 to 212 °F; 80 °C would be 176 °F. Is it °C?");
    job.types(&again, "yes");
    assert!(
        job.said.iter().all(|said| !said.contains("outside")),
        "{:?}",
        job.said
    );
    let conditions = &job.history.state().conditions;
    assert_eq!(conditions["working-temperature"].what.value, Some(80.0));

    let mut job = job_on("demo-wagon", "slipping");
    let mut prompt = job.takes("gauge-secondary-stall");
    while !matches!(&prompt.ask, Ask::Condition { unit: Some(_), .. }) {
        prompt = job.types(&prompt, "yeah");
    }
    job.types(&prompt, "110 F");
    job.said("Taken: 110 °F.");
    job.said("110 °F, outside what it must be");
}

#[test]
fn a_condition_far_from_what_it_must_be_is_asked_about() {
    let mut job = job_on("demo-estate", "slipping");
    let mut prompt = job.takes("stall-forward");
    while !matches!(&prompt.ask, Ask::Condition { condition, .. } if condition == "engine-warm") {
        let Ask::Condition { condition, .. } = &prompt.ask else {
            panic!("{prompt:?}");
        };
        let typed = job.holding(condition);
        prompt = job.types(&prompt, &typed);
    }
    let again = job.types(&prompt, "3");
    job.said("Is it meant so?");
    assert!(!job.history.state().conditions.contains_key("engine-warm"));
    job.types(&again, "yes");
    job.said("3 °C, outside what it must be");
    // What is no answer leads on.
    job.types(&prompt, "don't know");
    job.said("`skip`");
}

#[test]
fn what_is_said_instead_of_an_answer_leads_to_the_right_word() {
    let mut job = job_on("demo-estate", "slipping");
    let prompt = job.reads("leak-look");
    for (typed, words) in [
        ("don't know", "`why` shows what it would tell"),
        ("dont know", "`skip` passes it over, `cannot`"),
        ("not sure", "Then leave it"),
        ("can't", "`cannot can't` keeps that"),
        ("no scan tool here", "`cannot no scan tool here` keeps that"),
        ("next", "`list` shows the other measurements"),
        ("same as before", "It was not read before"),
        (
            "sideways",
            "“sideways” is none of these: dry; wet with fluid.",
        ),
        ("sideways", "`skip` passes it over, `cannot`"),
        ("", "Type an answer"),
    ] {
        job.types(&prompt, typed);
        job.said(words);
    }
    let after = job.types(&prompt, "wet with fluid");
    assert_eq!(job.outcomes(), ["wet"]);
    drop(after);
    let prompt = job.reads("leak-look");
    let again = job.types(&prompt, "same as before");
    job.said("The same now?");
    job.types(&again, "yes");
    assert_eq!(job.outcomes(), ["wet", "wet"]);
    assert_eq!(
        job.history.state().readings[1].reading.raw,
        "same as before"
    );
}

#[test]
fn an_answer_to_another_question_names_that_question() {
    let mut job = job_on("demo-estate", "slipping");
    let prompt = job.reads("leak-look");
    job.types(&prompt, "at steady speed");
    job.said("`take When the flare comes` asks that: When do the revs rise");
}

#[test]
fn a_computed_reading_is_said_in_words() {
    let mut job = job_on("demo-estate", "tight-turn-binding");
    let mut prompt = job.reads("tyre-circumference");
    for typed in ["2080", "2.08 m", "2050"] {
        prompt = job.types(&prompt, typed);
    }
    // The last figure alone is taken back.
    prompt = job.say(&prompt, Answer::Back(1));
    job.said("rear_left is taken back");
    for typed in ["2050", "2051"] {
        prompt = job.types(&prompt, typed);
    }
    // 100·(4,160 − 4,101)/4,130.5 = 1.43 %.
    job.said("Tyre circumferences: 1.43 % is above 0.6: axles differ.");
    drop(prompt);
    // In inches 2,080 is longer than the tape.
    let mut job = job_on("demo-wagon", "tight-turn-binding");
    let prompt = job.reads("tyre-circumference");
    let again = job.types(&prompt, "2080");
    job.said("2080 mm would be 81.89 in. Is it mm?");
    job.types(&again, "yes");
    job.types(&prompt, "81.9");
    job.said("Taken: 81.9 in.");
}

#[test]
fn a_measurement_is_taken_and_found_by_words_of_its_title() {
    let mut job = job_on("demo-estate", "slipping");
    job.takes("idle speed in n");
    let prompt = job.takes("strainer");
    assert_eq!(
        prompt.measure.map(|m| m.measurement).as_deref(),
        Some("strainer-look")
    );
    job.takes("pressure");
    job.said("“pressure” can be: ");
    job.said("Secondary pressure at idle, gauge");
    job.takes("zebra");
    job.said("No measurement for this complaint has “zebra” in its title");
    job.takes("gauge-foward");
    job.said("did you mean `gauge-forward`?");
    let hits = job.session.search("pump");
    assert!(
        hits.iter()
            .any(|hit| hit.kind == "cause" && hit.id == "pump-worn")
    );
    assert!(
        hits.iter()
            .any(|hit| hit.kind == "repair" && hit.id == "renew-pump")
    );
    assert!(job.session.search("no such words").is_empty());
    Shop::job("slipping")
        .shipped()
        .types("find pump\nfind zzz\nfind\nlist all\nquit\n")
        .run()
        .says_not("[renew-pump]")
        .says("No title has these words.")
        .says("find what?")
        .says("Saved. Go on with:");
}

#[test]
fn vehicles_and_complaints_are_typed_in_any_of_their_words() {
    let told = Shop::diagnose([])
        .shipped()
        .types("waggon\nyes\nit slips\nslip\nalso no drive\nexit\n")
        .run();
    told.says("Did you mean “Demo wagon (invented)”?")
        .says("Saved. Go on with:");
    let told = told.events();
    let symptoms = told.iter().filter_map(|event| match event {
        Event::Symptom { symptom, .. } => Some(symptom.as_str()),
        _ => None,
    });
    assert_eq!(symptoms.collect::<Vec<_>>(), ["slipping", "no-drive"]);
    let wagon = Shop::diagnose([])
        .shipped()
        .types("wagon\nit slips\nquit\n")
        .run();
    wagon.says_not("Did you mean");
    assert_eq!(wagon.state().opened.vehicle.as_deref(), Some("demo-wagon"));
    Shop::diagnose(["--vehicle", "demo-estate"])
        .shipped()
        .types("it glows in the dark\nnone of these\nundo\nquit\n")
        .run()
        .says("1 Does it do it today?");
}

#[test]
fn a_reading_on_the_command_line_counts_in_the_units_of_the_sheet() {
    let next = |reading: &str| {
        let arguments = ["next", "slipping", "--vehicle", "demo-wagon", "--reading"];
        Shop::new()
            .shipped()
            .arguments(arguments)
            .arguments([reading])
    };
    let bare = next("gauge-secondary-stall=760").run();
    let with_unit = next("gauge-secondary-stall=760 psi").run();
    assert_eq!(bare.out, with_unit.out);
    next("gauge-secondary-stall=5.2")
        .fails_with(2)
        .run()
        .complains("Is it MPa?");
}
