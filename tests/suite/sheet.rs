use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicI64, Ordering};
use std::sync::{Arc, LazyLock};

use halfsplit::Knowledge;
use halfsplit::drawing;
use halfsplit::load::{Source, load};
use halfsplit::record::{
    Clock, Event, History, Marked, Opened, Panel, Picture, Record, Trace, View,
};
use halfsplit::session::{Answer, Session};
use halfsplit::sheet::{Sheet, Stage, Style, html, markdown};
use jiff::Timestamp;
use tempfile::TempDir;

use crate::by_name::{chain_cvt, shipped};
use crate::player::Player;
use crate::record::a_reading;
use crate::shop::Shop;

/// 2026-11-25 10:00:00 UTC, in seconds.
const TEN: i64 = 20_782 * 86_400 + 10 * 3_600;

/// The shipped knowledge as `diagnose` and `sheet` read it: without its worked cases.
fn knowledge() -> &'static Knowledge {
    static KNOWLEDGE: LazyLock<Knowledge> = LazyLock::new(|| {
        let source = Source::embedded().without_cases();
        load(&source).map_or_else(|found| panic!("{found}"), |loaded| loaded.knowledge)
    });
    &KNOWLEDGE
}

fn example(file: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("docs/example")
        .join(file)
}

/// The job of the example, recorded in `folder`.
fn recorded(folder: &Path) -> PathBuf {
    let clock = Arc::new(AtomicI64::new(TEN));
    let looked_at = Arc::clone(&clock);
    let shown =
        Clock::of(move || Timestamp::from_second(looked_at.load(Ordering::Relaxed)).unwrap());
    let path = folder.join("demo.job.jsonl");
    let mut opened = Opened::new("chain-cvt", knowledge().fingerprints());
    opened.vehicle = Some("demo-estate".to_owned());
    opened.ticket = Some("1187".to_owned());
    let mut record = Record::create(&path, opened, shown).unwrap();
    let session = Session::new(knowledge(), record.state(), None, None).unwrap();
    let player = Player {
        reads: BTreeMap::from([
            ("flare-when", "only when hot"),
            ("gauge-against-speed", "falls off"),
            ("gauge-secondary-idle", "165 psi"),
            ("cooler-flow", "720 mL"),
            ("strainer-look", "clogged"),
        ]),
        symptom: "slipping".to_owned(),
        cured: true,
    };
    let words =
        "revs rise when pulling away and on the motorway, worse when hot, for two weeks now";
    let mut prompt = session.next(record.history(), record.state().opened_at);
    let mut beside = vec![
        (
            "unit-noise",
            Answer::Cannot(Some("a grinder is running in the next bay".to_owned())),
        ),
        ("scan-adaptation", Answer::Skip),
        (
            "cooler-flow",
            Answer::Take("gauge-secondary-idle".to_owned()),
        ),
        (
            "fluid-look",
            Answer::Note("customer tows a caravan in summer".to_owned()),
        ),
    ];
    let mut first = Some(words.to_owned());
    loop {
        let at = prompt.measure.as_ref().map(|of| of.measurement.clone());
        let aside = beside
            .iter()
            .position(|(name, _)| at.as_deref() == Some(*name));
        let typed = || Some(Answer::Typed(player.types(chain_cvt(), &prompt)?));
        let answer = match (aside, first.take()) {
            (Some(place), _) => beside.remove(place).1,
            (None, Some(words)) => Answer::Typed(words),
            (None, None) => match typed() {
                Some(answer) => answer,
                None => break,
            },
        };
        if std::env::var_os("SHOW").is_some() {
            println!("{at:?} > {answer:?}");
        }
        let step = session.take(record.history(), &prompt, answer);
        for event in step.events {
            record.append(event).unwrap();
        }
        let minutes = prompt
            .measure
            .as_ref()
            .and_then(|of| of.worth.as_ref())
            .map_or(1.0, |of| of.minutes);
        let seconds = std::time::Duration::from_secs_f64(60.0 * (1.0 + minutes)).as_secs();
        clock.fetch_add(i64::try_from(seconds).unwrap(), Ordering::Relaxed);
        let now = Timestamp::from_second(clock.load(Ordering::Relaxed)).unwrap();
        prompt = step
            .again
            .unwrap_or_else(|| session.next(record.history(), now));
    }
    path
}

#[test]
fn the_example_is_what_the_program_records_and_writes() {
    let folder = TempDir::new().unwrap();
    let path = recorded(folder.path());
    let view = Record::read(&path).unwrap();
    let clock = Clock::fixed(Timestamp::from_second(TEN).unwrap());
    let sheet = Sheet::of(knowledge(), &view, &clock).unwrap();
    let made = [
        ("demo.job.jsonl", fs::read_to_string(&path).unwrap()),
        ("sheet.html", html(&sheet, Style::Own, None)),
    ];
    for (file, text) in made {
        if std::env::var("INSTA_UPDATE").is_ok_and(|update| update == "always") {
            fs::create_dir_all(example("")).unwrap();
            fs::write(example(file), &text).unwrap();
        }
        let kept = fs::read_to_string(example(file)).unwrap();
        assert!(
            kept == text,
            "docs/example/{file} is not what the program makes: INSTA_UPDATE=always remakes it"
        );
    }
}

/// The history of a job with these events after its opening.
fn history(events: Vec<Event>) -> History {
    let now: Timestamp = "2026-03-02T08:00:00Z".parse().unwrap();
    let mut opened = Opened::new("chain-cvt", shipped().fingerprints());
    opened.vehicle = Some("demo-wagon".to_owned());
    opened.ticket = Some(HOSTILE.to_owned());
    let mut history = History::begin(opened, now, "test");
    for event in events {
        history.add(event, now).unwrap();
    }
    history
}

/// What would act in a browser, a terminal or a table.
const HOSTILE: &str = "<script>alert(1)</script>\u{1b}[31m\u{202e}\"'&|`x` ]]> <!-- \u{0}\u{fffe}";

fn sheet_of(history: History) -> Sheet {
    let view = View {
        history,
        torn: None,
    };
    let clock = Clock::fixed("2026-03-02T12:00:00Z".parse().unwrap());
    Sheet::of(shipped(), &view, &clock).unwrap()
}

#[test]
fn hostile_text_is_shown_on_a_sheet_and_does_nothing() {
    let long = "w".repeat(5_000);
    let sheet = sheet_of(history(vec![
        Event::Complaint {
            words: HOSTILE.to_owned(),
        },
        Event::note(HOSTILE),
        Event::note(&*long),
    ]));
    let html = html(&sheet, Style::Own, None);
    assert!(
        !html.contains("<script") && !html.contains("<!-- "),
        "{html}"
    );
    assert!(
        html.contains("&lt;script&gt;") && html.contains("\\u{202e}"),
        "{html}"
    );
    assert!(html.chars().all(|c| c == '\n' || !c.is_control()), "{html}");
    assert!(!html.contains(['\u{202e}', '\u{fffe}']));
    let mut text = Vec::new();
    markdown(&sheet).markdown(&mut text).unwrap();
    let text = String::from_utf8(text).unwrap();
    assert!(
        text.contains("\\<script>") && !text.contains(['\u{1b}', '\u{202e}']),
        "{text}"
    );
}

/// Jobs of every kind: open, waiting, closed, in vain, handed on.
#[test]
fn every_kept_record_has_a_sheet_with_each_of_its_readings() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/records");
    let (mut sheets, mut stages) = (0, Vec::new());
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let view = Record::read(&path).unwrap();
        let clock = Clock::fixed("2026-12-01T12:00:00Z".parse().unwrap());
        let sheet = Sheet::of(shipped(), &view, &clock).unwrap();
        let state = view.history.state();
        assert_eq!(
            sheet.readings.len(),
            state.readings.len(),
            "{}",
            path.display()
        );
        assert_eq!(
            sheet.repairs.len(),
            state.repairs.len(),
            "{}",
            path.display()
        );
        let page = html(&sheet, Style::Own, None);
        for reading in &sheet.readings {
            assert!(
                page.contains(&maud::html! { (reading.typed) }.into_string()),
                "{}",
                path.display()
            );
        }
        for text in ["<main>", "</html>", "Verdict", "Signed", "Demonstration."] {
            let vehicle = sheet.vehicle.is_some();
            assert!(
                page.contains(text) || text == "Demonstration." && !vehicle,
                "{text}: {}",
                path.display()
            );
        }
        assert!(
            !page.contains("http")
                || page.matches("http").count() == page.matches("http://www.w3.org").count()
        );
        if !stages.contains(&sheet.verdict.stage) {
            stages.push(sheet.verdict.stage);
        }
        let spent = sheet
            .readings
            .iter()
            .map(|of| of.expected_minutes)
            .sum::<f64>();
        assert!(spent <= sheet.time.expected + 1e-9, "{}", path.display());
        sheets += 1;
    }
    assert!(sheets > 10);
    assert_eq!(
        stages.len(),
        [Stage::Open, Stage::Waiting, Stage::Closed].len()
    );
}

/// By hand: the readings of the example that count are the steps after the complaint, and what the record says of the
/// last is what the sheet says.
#[test]
fn the_chances_on_a_sheet_are_those_that_the_prompts_showed() {
    let view = Record::read(&example("demo.job.jsonl")).unwrap();
    let sheet = sheet_of(view.history.clone());
    let readings = view.history.state().readings.iter();
    let counting = readings.filter(|taken| taken.reading.counts).count();
    assert_eq!(sheet.course.steps.len(), counting + 1);
    let repair = &view.history.state().repairs[0].repair;
    let last = sheet.course.steps.last().unwrap();
    assert!(
        (last.chances[0] - repair.probability).abs() < 1e-9,
        "{last:?}"
    );
}

#[test]
fn a_sheet_is_written_to_a_file_once_and_replaced_only_when_asked() {
    let told = Shop::job("slipping").types("1\nstop\n").run();
    let record = told.record();
    let record = record.to_str().unwrap();
    let file = told.record().with_file_name("sheet.html");
    let file = file.to_str().unwrap();
    told.another()
        .arguments(["sheet", record, "--out", file])
        .run();
    let again = told
        .another()
        .arguments(["sheet", record, "--out", file])
        .fails_with(2)
        .run();
    again.complains("is there already: `--replace` replaces it");
    told.another()
        .arguments(["sheet", record, "--out", file, "--replace"])
        .run();
    let json = told.another().arguments([
        "sheet",
        record,
        "--format",
        "json",
        "--out",
        file,
        "--replace",
    ]);
    json.run();
    let json: serde_json::Value = serde_json::from_str(&fs::read_to_string(file).unwrap()).unwrap();
    assert_eq!(json["verdict"]["stage"], "open");
    assert_eq!(json["readings"][0]["typed"], "1");
}

/// The prompt a sheet or a list is made by must not ask what still stands on the lift.
#[test]
fn a_job_left_for_days_says_what_comes_next() {
    let view = Record::read(&example("demo.job.jsonl")).unwrap();
    let entries = view.history.entries();
    let half = entries[..entries.len() / 2].to_vec();
    let sheet = sheet_of(History::of(half).unwrap());
    assert_eq!(sheet.verdict.stage, Stage::Open);
    assert!(sheet.verdict.next.is_some() && sheet.verdict.leading.is_some());
}

/// A job whose readings were taken from the recorded drive of the documents, with so many of them taken back.
fn with_recording(taken_back: u32) -> Sheet {
    let file = example("drive.csv");
    let mut lines = format!("recording {}\nyes\nyes\n", file.display());
    for _ in 0..taken_back {
        lines += "back\n";
    }
    let told = Shop::diagnose(["slipping", "--vehicle", "demo-estate"])
        .shipped()
        .at_a_terminal()
        .types(lines + "stop\n")
        .run();
    let view = Record::read(&told.record()).unwrap();
    sheet_of(view.history)
}

#[test]
fn a_sheet_shows_the_recording_that_readings_came_from() {
    let sheet = with_recording(0);
    assert_eq!(sheet.recordings.len(), 1);
    let picture = &sheet.recordings[0];
    assert_eq!(picture.windows.len(), sheet.readings.len());
    for (window, reading) in picture.windows.iter().zip(&sheet.readings) {
        let words = format!("reading {}: {}", reading.number, reading.title);
        assert!(window.words.starts_with(&words), "{window:?}");
    }
    assert!(
        picture
            .events
            .iter()
            .any(|event| event.words.contains("flare"))
    );
    let page = html(&sheet, Style::Own, None);
    let drawn = page.split("<svg class=\"traces\"").nth(1).unwrap();
    let drawn = format!("<svg {}</svg>", drawn.split("</svg>").next().unwrap());
    roxmltree::Document::parse(&drawn).unwrap();
    for text in ["engine speed", "rpm at most", ">kPa<", ">A<"] {
        assert!(drawn.contains(text), "{text}: {drawn}");
    }
    let mut text = Vec::new();
    markdown(&sheet).markdown(&mut text).unwrap();
    let text = String::from_utf8(text).unwrap();
    assert!(
        text.contains("    engine speed") && text.contains("reading 1: "),
        "{text}"
    );
    let json = serde_json::to_value(&sheet).unwrap();
    assert_eq!(json["recordings"][0]["file"], "drive.csv");
}

/// The flare of the example rises to 244 rpm in a few tenths of a second.
#[test]
fn a_thinned_trace_keeps_its_peak_and_fits_a_line_of_the_record() {
    let sheet = with_recording(0);
    let picture = &sheet.recordings[0];
    let traces = || picture.panels.iter().flat_map(|panel| &panel.traces);
    assert!(traces().all(|trace| trace.points.len() <= 240));
    let slip = traces().find(|trace| trace.name.contains("forward clutch"));
    let values = slip.unwrap().points.iter().filter_map(|point| point.1);
    assert!(values.fold(0.0, f64::max) > 244.0);
    let kept = serde_json::to_string(picture).unwrap();
    assert!(kept.len() < 60_000, "{}", kept.len());
}

#[test]
fn the_windows_of_readings_that_were_taken_back_leave_the_sheet() {
    let whole = with_recording(0);
    let count = whole.readings.len();
    let one_less = with_recording(1);
    assert_eq!(one_less.recordings[0].windows.len(), count - 1);
    let none = with_recording(u32::try_from(count).unwrap());
    assert!(none.recordings.is_empty(), "{:?}", none.readings);
}

#[test]
fn a_hostile_picture_in_a_record_does_nothing() {
    let marked = Marked {
        from: -1e300,
        to: 1e300,
        words: HOSTILE.to_owned(),
    };
    let points = vec![(0.0, Some(1e308)), (-1e308, None), (1.0, Some(-1e308))];
    let panel = Panel {
        unit: HOSTILE.to_owned(),
        traces: vec![Trace {
            name: HOSTILE.to_owned(),
            points,
        }],
        limits: vec![marked.clone()],
    };
    let picture = Picture {
        file: HOSTILE.to_owned(),
        seconds: -5.0,
        panels: vec![panel, Panel::default()],
        events: vec![marked.clone()],
        windows: vec![marked],
    };
    let note = Event::Note {
        words: "from a recording".to_owned(),
        without: Vec::new(),
        recording: Some(Box::new(picture)),
    };
    let slips = Event::Symptom {
        symptom: "slipping".to_owned(),
        present: true,
    };
    let reading = Event::Reading(Box::new(a_reading("fluid-level", "low")));
    let sheet = sheet_of(history(vec![slips, note, reading]));
    assert_eq!(sheet.recordings.len(), 1);
    let page = html(&sheet, Style::Own, None);
    assert!(
        !page.contains("<script") && !page.contains("<!-- "),
        "{page}"
    );
    assert!(page.chars().all(|c| c == '\n' || !c.is_control()), "{page}");
    let alone = drawing::traces(&sheet.recordings[0]);
    roxmltree::Document::parse(&alone).unwrap();
    assert!(!alone.contains("NaN") && !alone.contains("inf"), "{alone}");
    let mut text = Vec::new();
    markdown(&sheet).markdown(&mut text).unwrap();
    let text = String::from_utf8(text).unwrap();
    assert!(!text.contains(['\u{1b}', '\u{202e}']), "{text}");
    let outside = text.lines().filter(|line| !line.starts_with("    "));
    assert!(
        outside
            .clone()
            .all(|line| !line.contains("<script") || line.contains("\\<script"))
    );
}
