use std::fs;
use std::io::Write as _;
use std::net::TcpStream;
use std::path::Path;
use std::time::{Duration, Instant};

use halfsplit::knowledge::{Knowledge, Measurement};
use halfsplit::record::{Clock, Record};
use halfsplit::serve::Key;
use halfsplit::session::{Answer, Ask, Session};
use tempfile::TempDir;

use crate::browser::{Page, Response, only_record};
use crate::by_name::{chain_cvt, shipped};
use crate::player::Player;

/// What would act in a browser, a terminal or a file system.
const HOSTILE: &str =
    "../../<script>alert(1)</script>\u{1b}[31m\u{202e}\"' onload=x &amp; \u{0}%00";

fn open_page() -> (TempDir, Page) {
    let folder = TempDir::new().unwrap();
    let page = Page::of(shipped(), folder.path(), None);
    (folder, page)
}

/// Every response says what a browser may do with it, and holds nothing hidden.
fn sound(response: &Response) {
    let policy = response.header("content-security-policy").unwrap();
    assert!(
        policy.contains("default-src 'none'") && !policy.contains("unsafe"),
        "{policy}"
    );
    assert_eq!(
        response.header("x-content-type-options").unwrap(),
        "nosniff"
    );
    assert_eq!(response.header("cache-control").unwrap(), "no-store");
    let hidden = |c: char| c.is_control() && c != '\n' || ('\u{202a}'..='\u{202e}').contains(&c);
    assert!(!response.body.contains(hidden), "{}", response.body);
    let page = response
        .header("content-type")
        .is_some_and(|kind| kind.starts_with("text/html"));
    let own = "<script src=\"/page.js?v=";
    let scripts = response.body.matches("<script").count();
    assert!(
        !page || scripts == response.body.matches(own).count(),
        "{}",
        response.body
    );
    assert!(!response.body.contains("style=\""), "{}", response.body);
}

/// A job of each complaint from the customer's words to its closing, by forms alone: what the page records is what the
/// session says, answer by answer.
#[test]
fn a_whole_job_of_each_complaint_is_done_by_forms() {
    let symptoms = &chain_cvt().symptoms;
    assert_eq!(symptoms.len(), 8);
    std::thread::scope(|scope| {
        for symptom in symptoms {
            scope.spawn(|| whole_job(&symptom.name));
        }
    });
}

fn whole_job(symptom: &str) {
    let (folder, page) = open_page();
    let player = Player::with_a_fault(chain_cvt(), symptom);
    let job = page.begins("vehicle demo-estate", "1187", "it does it when it is hot");
    let file = only_record(folder.path());
    let mut open = None;
    let mut closed = false;
    for _ in 0..200 {
        let history = Record::read(&file).unwrap().history;
        let session = Session::new(shipped(), history.state(), None, None).unwrap();
        let prompt = open
            .take()
            .unwrap_or_else(|| session.next(&history, page.now()));
        let shown = page.get(&job);
        sound(&shown);
        assert_eq!(shown.status, 200);
        if let Ask::Cooling { seconds } = prompt.ask {
            page.later(i64::try_from(seconds).unwrap());
            continue;
        }
        if let Some(measure) = &prompt.measure {
            let title = maud::html! { (measure.title) }.into_string();
            assert!(shown.body.contains(&title), "{title}: {}", shown.body);
        }
        let Some(typed) = player.types(chain_cvt(), &prompt) else {
            closed = matches!(prompt.ask, Ask::Closed { .. });
            break;
        };
        let step = session.take(&history, &prompt, Answer::Typed(typed.clone()));
        let field = match prompt.ask {
            Ask::Symptoms { .. } | Ask::Found { .. } => "pick",
            _ => "say",
        };
        let (token, at) = (shown.hidden("token"), shown.hidden("at"));
        let answered = page.post(&job, &[("token", &token), ("at", &at), (field, &typed)]);
        assert_eq!(answered.status, 303, "{typed}: {answered:?}");
        let after = Record::read(&file).unwrap().history;
        let new = after.entries()[history.entries().len()..].iter();
        let new: Vec<_> = new.map(|entry| entry.event.clone()).collect();
        assert_eq!(new, step.events, "{symptom}: {typed}");
        open = step.again;
        page.later(20);
    }
    assert!(closed, "{symptom}");
    for more in ["", "/sheet", "/desk"] {
        let shown = page.get(&format!("{job}{more}"));
        assert_eq!(shown.status, 200);
        sound(&shown);
    }
}

#[test]
fn no_job_is_opened_on_a_family_that_is_unfinished() {
    let folder = TempDir::new().unwrap();
    let mut knowledge = shipped().clone();
    knowledge.families[0].unfinished = true;
    let page = Page::of(&knowledge, folder.path(), None);
    let form = page.get("/new");
    assert!(!form.body.contains("type=\"radio\""), "{}", form.body);
    let token = form.hidden("token");
    for chosen in ["vehicle demo-estate", "family chain-cvt"] {
        let fields = [
            ("token", &*token),
            ("vehicle", chosen),
            ("words", "it slips"),
        ];
        let answer = page.post("/new", &fields);
        assert_eq!(answer.status, 200);
        assert!(answer.body.contains("Choose the vehicle first."));
    }
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
}

#[test]
fn a_form_of_an_older_state_is_refused_with_the_new_state_and_nothing_is_recorded() {
    let (folder, page) = open_page();
    let job = page.begins("vehicle demo-estate", "1187", "it slips");
    let file = only_record(folder.path());
    let one = page.get(&job);
    page.answers(&job, &[("pick", "slipping")]);
    let before = fs::read(&file).unwrap();
    let (token, at) = (one.hidden("token"), one.hidden("at"));
    let late = page.post(
        &job,
        &[("token", &token), ("at", &at), ("say", "no drive at all")],
    );
    assert_eq!(late.status, 409);
    assert!(
        late.body.contains("Not recorded") && late.body.contains("no drive at all"),
        "{late:?}"
    );
    assert!(late.body.contains("Does it do it today?"), "{late:?}");
    assert_eq!(fs::read(&file).unwrap(), before);
    sound(&late);

    // A note leaves the question as it is, and is an answer to it all the same.
    let shown = page.get(&job);
    page.answers(&job, &[("do", "note"), ("note", "tows a caravan")]);
    let (token, at) = (shown.hidden("token"), shown.hidden("at"));
    let late = page.post(&job, &[("token", &token), ("at", &at), ("say", "1")]);
    assert_eq!(late.status, 409);
    assert!(
        Record::read(&file)
            .unwrap()
            .history
            .state()
            .readings
            .is_empty()
    );
}

#[test]
fn what_was_sent_to_the_same_question_of_an_older_state_stands_in_the_form_again() {
    let (_folder, page) = open_page();
    let job = page.begins("vehicle demo-estate", "1187", "it slips");
    let shown = page.get(&job);
    page.answers(&job, &[("do", "note"), ("note", "tows a caravan")]);
    let (token, at) = (shown.hidden("token"), shown.hidden("at"));
    let ticks = |picked: &[(&str, &str)]| {
        let mut fields = vec![("token", token.as_str()), ("at", at.as_str())];
        fields.extend(picked);
        let late = page.post(&job, &fields);
        assert_eq!(late.status, 409);
        let boxes = late.body.split("<input type=\"checkbox\"").skip(1);
        let ticked = boxes.filter(|one| one.split('>').next().unwrap().contains("checked"));
        let value = |one: &str| {
            one.split("value=\"")
                .nth(1)
                .unwrap()
                .split('"')
                .next()
                .unwrap()
                .to_owned()
        };
        let mut ticked: Vec<String> = ticked.map(value).collect();
        ticked.sort();
        ticked
    };
    assert_eq!(
        ticks(&[("pick", "no-drive"), ("pick", "harsh-engagement")]),
        ["harsh-engagement", "no-drive"]
    );
    assert!(ticks(&[]).is_empty());
}

/// The limits of the demo estate at idle, and what the number on them means, are on the page for the mark that moves.
#[test]
fn a_number_is_asked_for_with_the_bands_that_judge_it() {
    let (folder, page) = open_page();
    let job = page.begins("vehicle demo-estate", "1187", "it slips");
    page.answers(&job, &[("pick", "slipping")]);
    page.answers(&job, &[("do", "take gauge-secondary-idle")]);
    up_to_the_reading(&page, &job, &only_record(folder.path()));
    let shown = page.get(&job).body;
    assert!(
        shown.contains("class=\"here\"") && shown.contains("<output"),
        "{shown}"
    );
    let mut outcomes = shown.split("data-outcome=\"");
    let normal = outcomes.find(|of| of.starts_with("normal")).unwrap();
    let normal = normal.split('/').next().unwrap();
    assert!(
        normal.contains("data-from=") && normal.contains("data-to="),
        "{normal}"
    );
}

/// Answers what is asked before a reading; gives the lines of the record then.
fn up_to_the_reading(page: &Page, job: &str, file: &Path) -> usize {
    for _ in 0..20 {
        let history = Record::read(file).unwrap().history;
        let session = Session::new(shipped(), history.state(), None, None).unwrap();
        let prompt = session.next(&history, page.now());
        if matches!(prompt.ask, Ask::Reading(_)) {
            return history.entries().len();
        }
        let typed = Player::default().types(chain_cvt(), &prompt).unwrap();
        page.answers(job, &[("say", &typed)]);
    }
    panic!("no reading is asked for");
}

/// A condition that became too old while its page was shown is asked again: the answer of the page is none to it.
#[test]
fn an_answer_to_another_question_of_the_same_lines_is_refused() {
    let (folder, page) = open_page();
    let job = page.begins("vehicle demo-estate", "1187", "it slips");
    page.answers(&job, &[("pick", "slipping")]);
    page.answers(&job, &[("do", "take gauge-secondary-idle")]);
    let file = only_record(folder.path());
    let lines = up_to_the_reading(&page, &job, &file);
    let shown = page.get(&job);
    page.later(50 * 60);
    let (token, at) = (shown.hidden("token"), shown.hidden("at"));
    let late = page.post(
        &job,
        &[
            ("token", &token),
            ("at", &at),
            ("say", "1200"),
            ("unit", "kPa"),
        ],
    );
    let now = Record::read(&file).unwrap().history;
    assert_eq!((late.status, now.entries().len()), (409, lines), "{late:?}");
}

#[test]
fn a_program_that_is_ended_and_started_again_goes_on_where_the_record_stands() {
    let (folder, page) = open_page();
    let job = page.begins("vehicle demo-estate", "1187", "it slips");
    page.answers(&job, &[("pick", "slipping")]);
    let before = page.get(&job);
    drop(page);
    let page = Page::of(shipped(), folder.path(), None);
    let old = page.post(
        &job,
        &[
            ("token", &before.hidden("token")),
            ("at", &before.hidden("at")),
            ("say", "1"),
        ],
    );
    assert_eq!(old.status, 403);
    assert!(old.body.contains("Nothing was recorded"));
    let after = page.get(&job);
    assert_eq!(after.hidden("at"), before.hidden("at"));
    assert_eq!(page.answers(&job, &[("say", "1")]).status, 303);
    let state = Record::read(&only_record(folder.path()))
        .unwrap()
        .history
        .state()
        .clone();
    assert_eq!(state.readings.len(), 1);
}

/// Everything that a technician can say at a prompt of the terminal, by its button.
#[test]
fn what_can_be_said_beside_an_answer_has_a_button() {
    let (folder, page) = open_page();
    let job = page.begins("vehicle demo-wagon", "", "it slips");
    let says = |fields: &[(&str, &str)]| {
        let answered = page.answers(&job, fields);
        assert_eq!(answered.status, 303, "{fields:?}: {answered:?}");
    };
    says(&[]);
    assert!(page.get(&job).body.contains("Tick what fits first."));
    says(&[("pick", "slipping")]);
    for fields in [
        [("do", "say"), ("say", "1")],
        [("do", "skip"), ("say", "")],
        [("do", "cannot"), ("why", "too loud")],
        [("do", "note"), ("note", "a remark")],
        [("do", "also"), ("also", "harsh-engagement")],
        [("do", "absent"), ("absent", "tight-turn-binding")],
        [("do", "take"), ("take", "strainer")],
        [("do", "in-place"), ("in-place", "on-lift")],
        [("do", "back"), ("say", "")],
        [("do", "correct 1"), ("say", "")],
        [("do", "repair"), ("say", "")],
    ] {
        says(&fields);
    }
    says(&[("do", "note"), ("note", "")]);
    assert!(page.get(&job).body.contains("Write the remark first."));
    says(&[("do", "no such word")]);
    let events = Record::read(&only_record(folder.path())).unwrap().history;
    let names: Vec<&str> = events
        .entries()
        .iter()
        .map(|entry| entry.event.name())
        .collect();
    for name in [
        "reading",
        "set-aside",
        "note",
        "symptom",
        "taken-up",
        "back",
        "withdrawn",
    ] {
        assert!(names.contains(&name), "{name}: {names:?}");
    }
}

/// A field to type in stands above the buttons, and both are sent.
#[test]
fn a_button_wins_over_the_field_above_it() {
    let (folder, page) = open_page();
    let job = page.begins("vehicle demo-estate", "", "it slips");
    page.answers(&job, &[("pick", "slipping")]);
    page.answers(&job, &[("say", ""), ("say", "normal")]);
    page.answers(&job, &[("say", "no such thing"), ("say", "only when hot")]);
    let state = Record::read(&only_record(folder.path()))
        .unwrap()
        .history
        .state()
        .clone();
    let typed: Vec<&str> = state
        .readings
        .iter()
        .map(|taken| taken.reading.raw.as_str())
        .collect();
    assert_eq!(typed, ["normal", "only when hot"]);
}

#[test]
fn the_clock_of_a_stall_test_records_its_start_and_its_end() {
    let (folder, page) = open_page();
    let job = page.begins("vehicle demo-estate", "", "it slips");
    page.answers(&job, &[("pick", "slipping")]);
    page.answers(&job, &[("do", "take stall-forward")]);
    let file = only_record(folder.path());
    for _ in 0..20 {
        let history = Record::read(&file).unwrap().history;
        let session = Session::new(shipped(), history.state(), None, None).unwrap();
        let prompt = session.next(&history, page.now());
        if matches!(prompt.ask, Ask::Hold { .. }) {
            break;
        }
        let typed = Player::default().types(chain_cvt(), &prompt).unwrap();
        page.answers(&job, &[("say", &typed)]);
    }
    assert!(page.get(&job).body.contains("data-limit=\"5\""));
    page.answers(&job, &[("do", "start")]);
    page.answers(&job, &[("do", "held"), ("say", "3.8")]);
    let history = Record::read(&file).unwrap().history;
    let timed: Vec<&str> = history
        .entries()
        .iter()
        .map(|entry| entry.event.name())
        .filter(|name| *name == "timed")
        .collect();
    assert_eq!(timed.len(), 2);
    let shown = page.get(&job);
    assert!(
        shown.body.contains("Cooling down") && shown.body.contains("data-left="),
        "{shown:?}"
    );
}

#[test]
fn a_request_that_is_not_from_this_page_is_not_heard() {
    let (folder, page) = open_page();
    let job = page.begins("vehicle demo-estate", "1187", "it slips");
    let (shown, host) = (page.get(&job), page.host());
    let (token, at) = (shown.hidden("token"), shown.hidden("at"));
    let before = fs::read(only_record(folder.path())).unwrap();
    let port = page.address.port();
    for named in [
        "evil.test".to_owned(),
        format!("evil.test:{port}"),
        format!("127.0.0.1:{}", port - 1),
        "127.0.0.1".to_owned(),
    ] {
        let request = format!("GET / HTTP/1.1\r\nHost: {named}\r\nConnection: close\r\n\r\n");
        assert_eq!(page.sends(request.as_bytes()).status, 421, "{named}");
    }
    for request in [
        "GET / HTTP/1.0\r\n\r\n".to_owned(),
        format!("GET / HTTP/1.1\r\nHost: {host}\r\nHost: {host}\r\nConnection: close\r\n\r\n"),
        format!("GET http://{host}/ HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n"),
    ] {
        assert!(
            [400, 421].contains(&page.sends(request.as_bytes()).status),
            "{request}"
        );
    }
    let named = format!("GET / HTTP/1.1\r\nHost: TABLET.test:{port}\r\nConnection: close\r\n\r\n");
    assert_eq!(page.sends(named.as_bytes()).status, 200);
    let fields = [
        ("token", token.as_str()),
        ("at", at.as_str()),
        ("pick", "slipping"),
    ];
    for origin in ["", "Origin: http://evil.test\r\n", "Origin: null\r\n"] {
        assert_eq!(
            page.post_with(&job, &fields, origin).status,
            403,
            "{origin}"
        );
    }
    for token in ["", "0123456789abcdef0123456789abcdef", &token[1..]] {
        assert_eq!(
            page.post(&job, &[("token", token), ("at", &at), ("pick", "slipping")])
                .status,
            403
        );
    }
    let put = format!("PUT {job} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n");
    assert_eq!(page.sends(put.as_bytes()).status, 405);
    assert_eq!(fs::read(only_record(folder.path())).unwrap(), before);
    assert_eq!(page.post(&job, &fields).status, 303);
}

#[test]
fn a_key_is_exchanged_for_a_cookie_and_leaves_the_address() {
    let folder = TempDir::new().unwrap();
    let key = Key::new().unwrap();
    let page = Page::of(shipped(), folder.path(), Some(key.clone()));
    for path in ["/", "/new", "/plan", "/job/0123456789abcdef"] {
        let closed = page.get(path);
        assert_eq!(closed.status, 403);
        assert!(closed.body.contains("Key") && !closed.body.contains(&key.shown()));
    }
    let asked = Instant::now();
    assert_eq!(page.get("/key?key=AAAA-AAAA-AAAA-AAAA").status, 403);
    assert!(asked.elapsed() >= Duration::from_secs(1));
    let opened = page.get(&format!("/key?key={}", key.shown()));
    assert_eq!(
        (opened.status, opened.header("location").unwrap()),
        (303, "/".to_owned())
    );
    let cookie = opened.header("set-cookie").unwrap();
    assert!(
        cookie.contains("HttpOnly") && cookie.contains("SameSite=Strict"),
        "{cookie}"
    );
    let cookie = cookie.split(';').next().unwrap();
    let with = format!("Cookie: other=1; {cookie}\r\n");
    assert_eq!(page.get_with("/", &with).status, 200);
    let typed = key.shown().to_lowercase().replace('-', " ");
    assert_eq!(page.post("/key", &[("key", &typed)]).status, 303);

    // The token of one session is none in another.
    let token = page.get_with("/new", &with).hidden("token");
    let origin = format!("Origin: http://{}\r\n", page.host());
    let fields = [
        ("token", token.as_str()),
        ("vehicle", "vehicle demo-estate"),
        ("words", "it slips"),
    ];
    assert_eq!(page.post_with("/new", &fields, &origin).status, 403);
    let other = page
        .get(&format!("/key?key={}", key.shown()))
        .header("set-cookie")
        .unwrap();
    let other = format!("{origin}Cookie: {}\r\n", other.split(';').next().unwrap());
    assert_eq!(page.post_with("/new", &fields, &other).status, 403);
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
    assert_eq!(
        page.post_with("/new", &fields, &format!("{origin}{with}"))
            .status,
        303
    );
}

#[test]
fn no_path_of_a_request_leads_anywhere() {
    let (folder, page) = open_page();
    fs::write(folder.path().join("secret.txt"), "secret").unwrap();
    let job = page.begins("vehicle demo-estate", "", "it slips");
    for path in [
        "/../secret.txt",
        "/job/..",
        "/job/../secret.txt",
        "/job/%2e%2e%2fsecret.txt",
        "/secret.txt",
        "//secret.txt",
        "/job/secret.txt",
        "/job/0123456789abcdef",
        "/job/",
        "/plan/chain-cvt/../x",
        "/show/chain-cvt/..",
        "/plan/chain-cvt/slipping/..%2f",
        "/job/\\..\\secret.txt",
        "/show/none/none",
        "/plan/none/none",
        "/favicon.ico",
    ] {
        let answered = page.get(path);
        assert!(
            [400, 404].contains(&answered.status),
            "{path}: {answered:?}"
        );
        assert!(!answered.body.contains("secret"), "{path}");
    }
    let named = only_record(folder.path());
    let named = named.file_name().unwrap().to_str().unwrap();
    assert_eq!(page.get(&format!("/job/{named}")).status, 404);
    assert_eq!(page.get(&job).status, 200);
}

#[test]
fn what_is_too_much_is_refused() {
    let (_folder, page) = open_page();
    let job = page.begins("vehicle demo-estate", "", "it slips");
    let long = "w".repeat(100_000);
    assert_eq!(
        page.answers(&job, &[("do", "note"), ("note", &long)])
            .status,
        413
    );
    let long = "w".repeat(20_000);
    let with = format!("X-Long: {long}\r\n");
    assert!([0, 400, 431].contains(&page.get_with("/", &with).status));
    let many = "X-Many: 1\r\n".repeat(200);
    assert!([0, 400, 431].contains(&page.get_with("/", &many).status));
    let token = page.get("/new").hidden("token");
    let order = "o".repeat(300);
    let fields = [
        ("token", token.as_str()),
        ("vehicle", "vehicle demo-estate"),
        ("words", "it slips"),
        ("order", &order),
    ];
    assert!(page.post("/new", &fields).body.contains("That is too long"));
    let chunked = format!(
        "POST {job} HTTP/1.1\r\nHost: {0}\r\nOrigin: http://{0}\r\nContent-Type: application/x-www-form-urlencoded\r\n\
         Transfer-Encoding: chunked\r\nConnection: close\r\n\r\nFFFFFF\r\n{1}",
        page.host(),
        "w".repeat(200_000)
    );
    assert!([0, 400, 413].contains(&page.sends(chunked.as_bytes()).status));
    assert_eq!(page.get(&job).status, 200);
}

#[test]
fn hundreds_of_slow_connections_keep_nobody_out() {
    let (_folder, page) = open_page();
    let slow: Vec<TcpStream> = (0..400)
        .map(|_| {
            let mut stream = TcpStream::connect(page.address).unwrap();
            let _ = stream.write_all(b"GET / HTTP/1.1\r\nHost: ");
            stream
        })
        .collect();
    for _ in 0..5 {
        let asked = Instant::now();
        assert_eq!(page.get("/new").status, 200);
        assert!(asked.elapsed() < Duration::from_secs(5));
    }
    drop(slow);
}

#[test]
fn hostile_words_of_a_job_are_shown_and_do_nothing() {
    let (_folder, page) = open_page();
    let job = page.begins("vehicle demo-estate", HOSTILE, HOSTILE);
    page.answers(&job, &[("pick", "slipping")]);
    page.answers(&job, &[("do", "note"), ("note", HOSTILE)]);
    page.answers(&job, &[("say", HOSTILE)]);
    page.answers(&job, &[("do", "cannot"), ("why", HOSTILE)]);
    for path in [
        "/".to_owned(),
        format!("/?order={}", "%3Cscript%3E"),
        job.clone(),
        format!("{job}/sheet"),
        format!("{job}/sheet.html"),
        format!("{job}/desk"),
    ] {
        let shown = page.get(&path);
        assert_eq!(shown.status, 200, "{path}");
        sound(&shown);
        assert!(!shown.body.contains("alert(1)</script>"), "{path}");
    }
}

/// Knowledge that somebody else wrote.
#[test]
fn hostile_words_of_the_knowledge_are_shown_and_do_nothing() {
    let folder = TempDir::new().unwrap();
    let mut knowledge: Knowledge = shipped().clone();
    for vehicle in &mut knowledge.vehicles {
        vehicle.title = HOSTILE.to_owned();
    }
    let family = &mut knowledge.families[0];
    family.title = HOSTILE.to_owned();
    family.notice = HOSTILE.to_owned();
    let hostile = |measurement: &mut Measurement| {
        measurement.title = HOSTILE.to_owned();
        measurement.ask = HOSTILE.to_owned();
        measurement.note = Some(HOSTILE.to_owned());
        measurement.steps = vec![HOSTILE.to_owned()];
        for outcome in &mut measurement.outcomes {
            outcome.gloss = Some(HOSTILE.to_owned());
        }
    };
    family.measurements.iter_mut().for_each(hostile);
    family
        .causes
        .iter_mut()
        .for_each(|cause| cause.title = HOSTILE.to_owned());
    family
        .repairs
        .iter_mut()
        .for_each(|repair| repair.title = HOSTILE.to_owned());
    family
        .symptoms
        .iter_mut()
        .for_each(|symptom| symptom.title = HOSTILE.to_owned());
    let page = Page::of(&knowledge, folder.path(), None);
    let job = page.begins("vehicle demo-estate", "1", "it slips");
    page.answers(&job, &[("pick", "slipping")]);
    page.answers(&job, &[("say", "normal")]);
    let drawn = "/plan/chain-cvt/slipping/tree.svg";
    for path in [
        "/",
        "/new",
        "/plan",
        &job,
        &format!("{job}/sheet"),
        &format!("{job}/desk"),
        drawn,
        "/show/chain-cvt/fluid-level",
        "/show/chain-cvt/pump-worn",
    ] {
        let shown = page.get(path);
        assert_eq!(shown.status, 200, "{path}");
        sound(&shown);
        assert!(!shown.body.contains("alert(1)</script>"), "{path}");
    }
}

#[test]
fn a_record_that_another_program_has_open_is_not_written_to() {
    let (folder, page) = open_page();
    let job = page.begins("vehicle demo-estate", "", "it slips");
    let (open, _) = Record::open(&only_record(folder.path()), Clock::system()).unwrap();
    let refused = page.answers(&job, &[("pick", "slipping")]);
    assert_eq!(refused.status, 409);
    assert!(refused.body.contains("Not recorded"), "{refused:?}");
    assert_eq!(page.get(&job).status, 200);
    drop(open);
    assert_eq!(page.answers(&job, &[("pick", "slipping")]).status, 303);
}

#[test]
fn plans_and_things_of_the_knowledge_are_shown() {
    let (_folder, page) = open_page();
    for (path, words) in [
        ("/plan", "Plans"),
        ("/show/chain-cvt/fluid-level", "What each cause gives"),
        ("/show/chain-cvt/pump-worn", "Brings about"),
        ("/show/chain-cvt/repair-leak", "Cures"),
        ("/plan/chain-cvt/tight-turn-binding/tree.svg", "<svg"),
        ("/sheet.css", "--paper"),
        ("/page.css", ".pad"),
        ("/page.js", "use strict"),
    ] {
        let shown = page.get(path);
        assert_eq!(shown.status, 200, "{path}");
        assert!(shown.body.contains(words), "{path}");
        sound(&shown);
    }
    let empty = page.get("/");
    assert!(empty.body.contains("New job"));
    // What stands beside the pages is asked for once: its address changes when it does.
    let kept = empty.body.split("src=\"").nth(1).unwrap();
    let kept = page.get(kept.split('"').next().unwrap());
    let cache = kept.header("cache-control").unwrap();
    assert!(kept.status == 200 && cache.contains("immutable"), "{cache}");
}
