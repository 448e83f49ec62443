//! What a person says: words for outcomes, a customer's word, what shows only while it acts, what is found on the way.

use halfsplit::infer::{Answer, Typing, understand};
use halfsplit::knowledge::Knowledge;
use halfsplit::load::{Code, Source};

use super::by_name::{Job, close};
use super::family_text::{Test, Textbook};
use super::shop::Shop;
use super::textbook::Book;

const MEASUREMENTS: &str = "bench/measurements/all.yaml";
const LAMP_LOOK: &str = "    title: Lamp by eye\n";

fn edited(edits: &[(&str, &str, &str)]) -> Book {
    let book = Book::new();
    edits.iter().fold(book, |book, (path, at, more)| {
        book.edit(path, at, &format!("{at}{more}"))
    })
}

/// What a text typed for the lamp comes to: the outcome, or the words of the refusal.
fn typed(knowledge: &Knowledge, text: &str) -> Result<String, String> {
    let family = &knowledge.families[0];
    let lamp = family.measurement_named("lamp-look").unwrap();
    match understand(family, None, lamp, text, &Typing::default()) {
        Answer::Taken(taken) => {
            let outcome = taken.evidence.outcome();
            Ok(family.measurement(lamp).outcomes[outcome].name.clone())
        }
        Answer::Question { words, .. } | Answer::Refused(words) => Err(words),
    }
}

#[test]
fn an_outcome_is_typed_by_its_words_and_a_plain_yes_or_no_only_where_they_say_so() {
    let words = edited(&[(
        MEASUREMENTS,
        LAMP_LOOK,
        "    words: {black: [Burnt-out, 'yes'], whole: [sound], unclear: [so so]}\n",
    )]);
    let knowledge = words.load().unwrap().knowledge;
    for (text, outcome) in [
        ("black", "black"),
        ("BLA", "black"),
        ("the burnt out.", "black"),
        ("Yes", "black"),
        ("sound", "whole"),
        ("2", "whole"),
    ] {
        assert_eq!(typed(&knowledge, text).as_deref(), Ok(outcome), "{text}");
    }
    let choices = "does not say which of these: Black inside; Clear.";
    for text in ["no", "so-so", "n"] {
        let refused = typed(&knowledge, text).unwrap_err();
        assert!(refused.ends_with(choices), "{refused}");
    }
    // Two letters are no start of a name.
    let refused = typed(&knowledge, "bl").unwrap_err();
    assert!(
        refused.contains("is none of these: Black inside; Clear."),
        "{refused}"
    );
}

#[test]
fn words_that_belong_to_two_outcomes_or_to_none_are_found() {
    for (words, code) in [
        ("{black: [odd], whole: [Odd]}", Code::DuplicateName),
        ("{black: [whole]}", Code::DuplicateName),
        ("{blak: [odd]}", Code::UnknownOutcome),
    ] {
        let book = edited(&[(MEASUREMENTS, LAMP_LOOK, &format!("    words: {words}\n"))]);
        assert_eq!(book.findings()[0].code, code, "{words}");
    }
}

#[test]
fn fields_that_name_nothing_known_are_found() {
    let family = "in_place: [cover-on]\n";
    let after = "    title: Wire by eye\n";
    for (path, at, more, code) in [
        (
            MEASUREMENTS,
            after,
            "    finds: {frayed: [wire]}\n",
            Code::UnknownCause,
        ),
        (
            MEASUREMENTS,
            after,
            "    finds: {fraid: [wire-broken]}\n",
            Code::UnknownOutcome,
        ),
        (
            MEASUREMENTS,
            after,
            "    told_by: neighbour\n",
            Code::UnknownWord,
        ),
        (
            MEASUREMENTS,
            after,
            "    timed: {lag: {tries: 0.5}}\n",
            Code::BadNumber,
        ),
        (MEASUREMENTS, after, "    timed: {}\n", Code::MissingField),
        (
            MEASUREMENTS,
            after,
            "    timed: {stall: {limit: 5, warn: 6, cool_down: 60}}\n",
            Code::BadNumber,
        ),
        (
            "bench/family.yaml",
            family,
            "fades: {lamp: {black: 0.5}}\n",
            Code::UnknownMeasurement,
        ),
        (
            "bench/family.yaml",
            family,
            "fades: {lamp-look: {blak: 0.5}}\n",
            Code::UnknownOutcome,
        ),
        (
            "bench/family.yaml",
            family,
            "fades: {lamp-look: {black: 2}}\n",
            Code::BadProbability,
        ),
        ("bench/family.yaml", family, "mistold: 1\n", Code::BadNumber),
        (
            "bench/cases/dark-lamp.yaml",
            "vehicle: trainer\n",
            "not_before: {renew: [supply]}\n",
            Code::UnknownRepair,
        ),
        (
            "bench/cases/dark-lamp.yaml",
            "vehicle: trainer\n",
            "not_before: {renew-lamp: [suply]}\n",
            Code::UnknownMeasurement,
        ),
    ] {
        assert_eq!(
            edited(&[(path, at, more)]).findings()[0].code,
            code,
            "{more}"
        );
    }
}

/// Two causes alike, m = 0.2, two outcomes. a gives yes with 0.9: 0.8·0.9 + 0.1 = 0.82; b with 0.1: 0.8·0.1 + 0.1 =
/// 0.18. After yes: 0.82 to 0.18.
#[test]
fn what_a_customer_says_is_mistold_as_often_as_the_family_says() {
    let mut book = Textbook::hypotheses(&[("a", 0.5), ("b", 0.5)]);
    book.more = "mistold: 0.2\n".to_owned();
    let book = book
        .test(
            Test::new("said", &["no", "yes"])
                .row("a", &[0.1, 0.9])
                .row("b", &[0.9, 0.1])
                .with("told_by: customer"),
        )
        .load();
    let job = Job::new(&book, &["complaint"]);
    close(job.after("said", "yes").of_cause("a"), 0.82, 1e-12);
}

/// Two causes alike; a gives yes with 0.8, b never. No: 0.2 to 1, a is 1/6. Not today leaves a quarter: yes with 0.2,
/// no with 0.8: a is 0.8/1.8 = 4/9. Both orders come to the same, and what always shows is not touched.
#[test]
fn what_shows_only_then_acquits_little_on_a_day_without_it() {
    let mut book = Textbook::hypotheses(&[("a", 0.5), ("b", 0.5)]);
    book.more = "fades: {today: {not-today: 0.25}}\n".to_owned();
    let seen = |name: &str| {
        Test::new(name, &["no", "yes"])
            .row("a", &[0.2, 0.8])
            .row("b", &[1.0, 0.0])
    };
    let book = book
        .test(Test::new("today", &["present", "not-today"]).chance("not-today", 0.5))
        .test(seen("then").with("only_then: true"))
        .test(seen("always"))
        .load();
    let job = Job::new(&book, &["complaint"]);
    close(job.after("then", "no").of_cause("a"), 1.0 / 6.0, 1e-12);
    close(
        job.after("today", "present")
            .after("then", "no")
            .of_cause("a"),
        1.0 / 6.0,
        1e-12,
    );
    for (first, second) in [
        (("today", "not-today"), ("then", "no")),
        (("then", "no"), ("today", "not-today")),
    ] {
        let after = job.after(first.0, first.1).after(second.0, second.1);
        close(after.of_cause("a"), 4.0 / 9.0, 1e-12);
    }
    let always = job.after("today", "not-today").after("always", "no");
    close(always.of_cause("a"), 1.0 / 6.0, 1e-12);
    // What is foreseen then: yes with 0.2 under a.
    let model = &job.model;
    let then = model.family.measurement_named("then").unwrap();
    let table = model.foreseen_at(then, 0.25).unwrap();
    close(table.row(0)[1], 0.2, 1e-12);
    close(table.row(1)[1], 0.0, 1e-12);
}

/// The textbook family with edits, in a folder.
fn folder(edits: &[(&str, &str, &str)]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (path, text) in &edited(edits).files {
        let path = folder.path().join(path);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, text).unwrap();
    }
    folder
}

#[test]
fn a_case_whose_repair_is_advised_before_what_it_waits_for_is_found() {
    let case = ("bench/cases/dark-lamp.yaml", "vehicle: trainer\n");
    let found = |edits: &[(&str, &str, &str)]| {
        let book = edited(edits);
        let knowledge = book.load().unwrap().knowledge;
        let runs = halfsplit::cases::run(&knowledge, &knowledge.families[0]);
        halfsplit::cases::findings(&Source::texts(book.files.clone()), &runs).0
    };
    // A new lamp is cheap enough to be advised at once: the wire was not looked at.
    let soon = [(case.0, case.1, "not_before: {renew-lamp: [wire-look]}\n")];
    let too_soon = &found(&soon)[0];
    assert_eq!(too_soon.code, Code::RepairTooSoon);
    assert!(
        too_soon
            .to_string()
            .contains("after 0 readings, without wire-look")
    );
    // What is required is not advised before.
    let requires = (
        "bench/causes.yaml",
        "    title: Renew the lamp\n",
        "    requires: {all: [wire-look]}\n",
    );
    assert!(found(&[soon[0], requires]).is_empty());
}

#[test]
fn what_a_reading_finds_stays_on_the_job_until_it_is_put_right() {
    let finds = [(
        MEASUREMENTS,
        "    title: Wire by eye\n",
        "    finds: {frayed: [wire-broken]}\n",
    )];
    let folder = folder(&finds);
    let folder = folder.path().to_str().unwrap();
    let found = "Found on the way: Mend the wire: 20 min, parts 1 (frayed)";
    Shop::diagnose(["no-light", "--vehicle", "trainer", "--knowledge", folder])
        .types("take wire-look\nfrayed\ntake lamp-look\nblack\n")
        .run()
        .says(found);
}

#[test]
fn what_is_confirmed_in_words_keeps_the_job_open_until_it_is_done() {
    let confirm = [("bench/causes.yaml", "    care: [clean]\n", "")];
    let book = edited(&confirm).edit(
        "bench/causes.yaml",
        "verify_with: [lamp-look]",
        "verify_with: [clearance written down, lamp-look, wire-look, code, supply-drop]",
    );
    let folder = tempfile::tempdir().unwrap();
    for (path, text) in &book.files {
        let path = folder.path().join(path);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, text).unwrap();
    }
    let folder = folder.path().to_str().unwrap();
    let told = Shop::diagnose(["no-light", "--vehicle", "trainer", "--knowledge", folder])
        .types(
            "take lamp-look\nblack\nrepair\ndone\nno\nnot done\nwhole\nnormal\nnormal\nskip\nyes\ndone\nyes\n0\n",
        )
        .run();
    told.says("clearance written down")
        .says("Type done, not done, or does not apply.")
        .says("Not done yet: clearance written down.")
        .says("Not closed before this is done: clearance written down.")
        .says("Closed as fixed");
}

#[test]
fn cautions_and_conditions_of_a_set_up_come_before_it_is_entered() {
    let cover = [(
        "bench/family.yaml",
        "  cover-off: {title: Cover removed, minutes: 3, group: cover",
        ", cautions: [shock], conditions: [switched-on]",
    )];
    let folder = folder(&cover);
    let folder = folder.path().to_str().unwrap();
    let told = Shop::diagnose(["no-light", "--vehicle", "trainer", "--knowledge", folder])
        .types("take supply\nyes\n4\n12.1 V\n")
        .run();
    let text = told.flat();
    // Once where the cover comes off and once where it is measured; the condition is asked once.
    assert_eq!(
        text.matches("CAUTION Switch the supply off").count(),
        2,
        "{text}"
    );
    assert_eq!(text.matches("Is it switched on?").count(), 1, "{text}");
    assert_eq!(told.readings().len(), 1);
    // A set-up that was not entered properly keeps what is read on it from counting.
    let told = Shop::diagnose(["no-light", "--vehicle", "trainer", "--knowledge", folder])
        .types("take supply\nno\n4\n12.1 V\n")
        .run();
    assert!(!told.readings()[0].2);
}
