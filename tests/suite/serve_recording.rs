use std::fs;
use std::path::Path;

use halfsplit::knowledge::Knowledge;
use halfsplit::record::{Event, Record};
use halfsplit::serve::Key;
use halfsplit::{Source, load};
use std::sync::LazyLock;
use tempfile::TempDir;

use crate::browser::{Page, Response, only_record};

/// The shipped knowledge: its signals and readings are those of the example drive.
static KNOWLEDGE: LazyLock<Knowledge> =
    LazyLock::new(|| load(&Source::embedded().without_cases()).unwrap().knowledge);

fn drive() -> Vec<u8> {
    fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/example/drive.csv")).unwrap()
}

/// A page with a job that looks for the cause of slipping.
fn slipping() -> (TempDir, Page, String) {
    let folder = TempDir::new().unwrap();
    let page = Page::of(&KNOWLEDGE, folder.path(), None);
    let job = page.begins("vehicle demo-estate", "1187", "it slips");
    page.answers(&job, &[("pick", "slipping")]);
    (folder, page, job)
}

/// What a browser sends of a form with a file in it.
fn multipart(token: &str, name: &str, file: &[u8]) -> Vec<u8> {
    let head = format!(
        "--x1y2\r\nContent-Disposition: form-data; name=\"token\"\r\n\r\n{token}\r\n--x1y2\r\n\
         Content-Disposition: form-data; name=\"file\"; filename=\"{name}\"\r\nContent-Type: text/csv\r\n\r\n"
    );
    [head.as_bytes(), file, b"\r\n--x1y2--\r\n"].concat()
}

fn sends(page: &Page, path: &str, body: &[u8], headers: &str) -> Response {
    let head = format!(
        "POST {path} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\
         Content-Type: multipart/form-data; boundary=x1y2\r\nContent-Length: {}\r\n{headers}\r\n",
        page.host(),
        body.len()
    );
    page.sends(&[head.as_bytes(), body].concat())
}

/// Sends a file from the form of the page.
fn uploads(page: &Page, job: &str, name: &str, file: &[u8]) -> Response {
    let path = format!("{job}/recording");
    let token = page.get(&path).hidden("token");
    let origin = format!("Origin: http://{}\r\n", page.host());
    sends(page, &path, &multipart(&token, name, file), &origin)
}

/// Answers the form of the recording's page.
fn says(page: &Page, job: &str, fields: &[(&str, &str)]) -> Response {
    let path = format!("{job}/recording");
    let shown = page.get(&path);
    let (token, at) = (shown.hidden("token"), shown.hidden("at"));
    let number = shown.hidden("number");
    let mut all = vec![
        ("token", token.as_str()),
        ("at", at.as_str()),
        ("number", number.as_str()),
    ];
    all.extend(fields);
    page.post(&path, &all)
}

/// The measurements that were read, and the windows that are kept.
fn read(folder: &TempDir) -> (Vec<String>, usize) {
    let history = Record::read(&only_record(folder.path())).unwrap().history;
    let readings = history.state().readings.iter();
    let names = readings.map(|taken| taken.reading.measurement.clone());
    let windows = history.entries().iter().map(|entry| match &entry.event {
        Event::Note {
            recording: Some(picture),
            ..
        } => picture.windows.len(),
        _ => 0,
    });
    (names.collect(), windows.sum())
}

#[test]
fn a_recording_is_sent_looked_at_and_its_readings_taken() {
    let (folder, page, job) = slipping();
    let path = format!("{job}/recording");
    assert!(page.get(&job).body.contains(&format!("href=\"{path}\"")));
    let sent = uploads(&page, &job, "C:\\logs\\drive.csv", &drive());
    assert_eq!(
        (sent.status, sent.header("location").unwrap()),
        (303, path.clone())
    );
    let shown = page.get(&path).body;
    for text in [
        "drive.csv",
        "1883 rows",
        "flare: 244 rpm",
        "Turbine against primary pulley speed in D: 57 ± 44 rpm",
        "it needs 1140 s of selector in D",
        "<svg class=\"traces\"",
        "rpm at most",
        "The columns are right: take ",
        "enctype=\"multipart/form-data\"",
        "at most 32 MB",
    ] {
        assert!(shown.contains(text), "{text}: {shown}");
    }
    assert!(!shown.contains("logs"), "{shown}");
    assert_eq!(read(&folder), (vec![], 0));

    assert_eq!(
        says(&page, &job, &[("do", "take")])
            .header("location")
            .unwrap(),
        job
    );
    let (names, windows) = read(&folder);
    assert!(
        names.iter().any(|name| name == "scan-forward-slip"),
        "{names:?}"
    );
    assert_eq!(names.len(), windows);
    assert!(page.get(&job).body.contains("readings taken"));
    // A record, and what the columns of this layout are.
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 2);
    let shown = page.get(&path).body;
    assert!(
        shown.contains("<svg class=\"traces\"") && shown.contains("reading 1: "),
        "{shown}"
    );
    for at in ["sheet", "desk"] {
        let shown = page.get(&format!("{job}/{at}")).body;
        assert!(shown.contains("<svg class=\"traces\""), "{at}: {shown}");
    }

    // The second of the same layout asks nothing about its columns.
    uploads(&page, &job, "again.csv", &drive());
    let shown = page.get(&path).body;
    assert!(
        shown.contains(">Take ") && !shown.contains("new here"),
        "{shown}"
    );
    assert_eq!(says(&page, &job, &[("do", "leave")]).status, 303);
    assert!(!page.get(&path).body.contains("again.csv"));
    assert_eq!(read(&folder).0, names);
}

#[test]
fn the_page_takes_what_the_prompt_takes() {
    let (folder, page, job) = slipping();
    uploads(&page, &job, "drive.csv", &drive());
    says(&page, &job, &[("do", "take")]);
    let events = |path: &Path| -> Vec<Event> {
        let entries = Record::read(path).unwrap().history.entries().to_vec();
        let events = entries.into_iter().map(|entry| entry.event);
        let of_it = |event: &Event| matches!(event, Event::Reading(_) | Event::Note { .. });
        events.filter(of_it).collect()
    };
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/example/drive.csv");
    let told = crate::shop::Shop::diagnose(["slipping", "--vehicle", "demo-estate"])
        .shipped()
        .at_a_terminal()
        .types(format!("recording {}\nyes\nyes\nstop\n", file.display()))
        .run();
    assert_eq!(events(&only_record(folder.path())), events(&told.record()));
}

#[test]
fn a_column_is_put_right_before_the_readings_are_taken() {
    let (folder, page, job) = slipping();
    uploads(&page, &job, "drive.csv", &drive());
    let path = format!("{job}/recording");
    let shown = page.get(&path).body;
    let chosen = |body: &str| -> Vec<(String, String)> {
        let selects = body.split("<select name=\"").skip(1);
        selects
            .map(|one| {
                let name = one.split('"').next().unwrap();
                let options = one
                    .split("</select>")
                    .next()
                    .unwrap()
                    .split("<option value=\"");
                let taken = options
                    .skip(1)
                    .find(|of| of.split('>').next().unwrap().contains("selected"));
                (
                    name.to_owned(),
                    taken.unwrap().split('"').next().unwrap().to_owned(),
                )
            })
            .collect()
    };
    let before = chosen(&shown);
    assert!(
        before.contains(&(
            "column turbine-speed".to_owned(),
            "Turbine speed".to_owned()
        )),
        "{before:?}"
    );
    let form = |change: &str, column: &str| -> Vec<(String, String)> {
        let mut all = before.clone();
        for (name, of) in &mut all {
            if name == change {
                column.clone_into(of);
            }
        }
        all.push(("do".to_owned(), "columns".to_owned()));
        all
    };
    let send = |fields: &[(String, String)]| {
        let fields: Vec<(&str, &str)> = fields
            .iter()
            .map(|(a, b)| (a.as_str(), b.as_str()))
            .collect();
        says(&page, &job, &fields)
    };
    let twice = send(&form("column turbine-speed", "Engine speed"));
    assert_eq!(twice.status, 422);
    assert!(twice.body.contains("another signal already"), "{twice:?}");
    let wrong = send(&form("column turbine-speed", "Coolant temperature"));
    assert!(
        wrong.status == 422 && wrong.body.contains("measures"),
        "{wrong:?}"
    );
    assert_eq!(send(&form("column turbine-speed", "")).status, 303);
    let shown = page.get(&path).body;
    assert!(
        !shown.contains("57 ± 44 rpm") && shown.contains("Pulley ratio at a steady cruise"),
        "{shown}"
    );
    says(&page, &job, &[("do", "take")]);
    let (names, _) = read(&folder);
    assert!(
        !names.is_empty() && !names.iter().any(|name| name == "scan-forward-slip"),
        "{names:?}"
    );
}

#[test]
fn a_recording_from_elsewhere_is_not_heard() {
    let (folder, page, job) = slipping();
    let path = format!("{job}/recording");
    let token = page.get(&path).hidden("token");
    let origin = format!("Origin: http://{}\r\n", page.host());
    let body = multipart(&token, "drive.csv", &drive());
    for headers in ["", "Origin: http://evil.test\r\n", "Origin: null\r\n"] {
        assert_eq!(sends(&page, &path, &body, headers).status, 403, "{headers}");
    }
    let forged = multipart("0123456789abcdef0123456789abcdef", "drive.csv", &drive());
    assert_eq!(sends(&page, &path, &forged, &origin).status, 403);
    for other in [
        job.as_str(),
        "/new",
        "/job/0123456789abcdef",
        "/practice/0123456789abcdef",
    ] {
        assert_eq!(sends(&page, other, &body, &origin).status, 415, "{other}");
    }
    assert_eq!(
        sends(&page, "/job/0123456789abcdef/recording", &body, &origin).status,
        404
    );
    assert!(!page.get(&path).body.contains("drive.csv"));
    assert_eq!(read(&folder), (vec![], 0));

    // Behind a key, the body is not even read without a session.
    let folder = TempDir::new().unwrap();
    let page = Page::of(&KNOWLEDGE, folder.path(), Some(Key::new().unwrap()));
    let origin = format!("Origin: http://{}\r\n", page.host());
    let head = format!(
        "POST {path} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n{origin}\
         Content-Type: multipart/form-data; boundary=x1y2\r\nContent-Length: 30000000\r\n\r\n",
        page.host()
    );
    assert_eq!(page.sends(head.as_bytes()).status, 403);
}

#[test]
fn what_is_no_recording_is_refused_with_the_reason() {
    let (folder, page, job) = slipping();
    let path = format!("{job}/recording");
    let large = vec![b'1'; 32_500_000];
    let refused = uploads(&page, &job, "large.csv", &large);
    assert_eq!(refused.status, 413);
    assert!(refused.body.contains("32 MB"), "{refused:?}");
    for (file, why) in [
        (&b"no table at all"[..], "row 1"),
        (b"", "row 1"),
        (b"PK\x03\x04\x00\x00", "export the recording as CSV"),
    ] {
        let refused = uploads(&page, &job, "drive.csv", file);
        assert_eq!(refused.status, 422, "{refused:?}");
        assert!(refused.body.contains(why), "{why}: {refused:?}");
    }
    let nothing = uploads(&page, &job, "", b"");
    assert!(nothing.body.contains("choose its file"), "{nothing:?}");
    let origin = format!("Origin: http://{}\r\n", page.host());
    for body in [
        &b""[..],
        b"--x1y",
        b"--x1y2\r\nno head",
        b"--x1y2\r\n\r\n\r\n--x1y2--",
    ] {
        let refused = sends(&page, &path, body, &origin);
        assert!([400, 403].contains(&refused.status), "{refused:?}");
    }
    assert_eq!(read(&folder), (vec![], 0));
}

#[test]
fn hostile_names_in_a_recording_are_shown_and_do_nothing() {
    let hostile = "<script>alert(1)</script>\u{1b}[31m\u{202e}' onload=x";
    let (folder, page, job) = slipping();
    let text = String::from_utf8(drive()).unwrap();
    let text = text.replacen("Throttle", hostile, 1);
    let sent = uploads(&page, &job, &format!("{hostile}.csv"), text.as_bytes());
    assert_eq!(sent.status, 303, "{sent:?}");
    let shown = page.get(&format!("{job}/recording"));
    says(&page, &job, &[("do", "take")]);
    assert!(read(&folder).1 > 0);
    let after = [
        page.get(&format!("{job}/recording")),
        page.get(&job),
        page.get(&format!("{job}/sheet")),
    ];
    for shown in [shown].into_iter().chain(after) {
        assert!(
            !shown.body.contains("<script>") && !shown.body.contains("style=\""),
            "{shown:?}"
        );
        let hidden = |c: char| c.is_control() && c != '\n' || c == '\u{202e}';
        assert!(!shown.body.contains(hidden), "{shown:?}");
    }
}

#[test]
fn a_job_that_has_gone_on_meanwhile_takes_no_readings() {
    let (folder, page, job) = slipping();
    uploads(&page, &job, "drive.csv", &drive());
    let path = format!("{job}/recording");
    let shown = page.get(&path);
    let (token, at) = (shown.hidden("token"), shown.hidden("at"));
    page.answers(&job, &[("do", "note"), ("note", "tows a caravan")]);
    let number = shown.hidden("number");
    let take = [
        ("token", &*token),
        ("at", &*at),
        ("number", &*number),
        ("do", "take"),
    ];
    let late = page.post(&path, &take);
    assert_eq!(late.status, 409);
    assert!(
        late.body.contains("gone on") && late.body.contains("flare"),
        "{late:?}"
    );
    assert_eq!(read(&folder), (vec![], 0));

    // By another vehicle's sheet the recording may say something else: it is read again before it is taken.
    page.answers(&job, &[("do", "vehicle"), ("vehicle", "demo-wagon")]);
    let late = says(&page, &job, &[("do", "take")]);
    assert_eq!(late.status, 409);
    assert!(late.body.contains("another vehicle"), "{late:?}");
    assert_eq!(says(&page, &job, &[("do", "take")]).status, 303);
    assert!(!read(&folder).0.is_empty());
    // Somebody else sent another recording: a yes to the first is none to that.
    uploads(&page, &job, "drive.csv", &drive());
    let shown = page.get(&path);
    uploads(&page, &job, "another.csv", &drive());
    let (token, at) = (shown.hidden("token"), shown.hidden("at"));
    let number = shown.hidden("number");
    let fields = [
        ("token", &*token),
        ("at", &*at),
        ("number", &*number),
        ("do", "take"),
    ];
    let late = page.post(&path, &fields);
    assert_eq!(late.status, 409);
    assert!(late.body.contains("another.csv"), "{late:?}");
    assert_eq!(says(&page, &job, &[("do", "leave")]).status, 303);
    // And not twice by a second tap.
    assert_eq!(page.post(&path, &take).status, 422);
}

#[test]
fn no_recording_is_asked_for_before_the_complaint_is_known() {
    let folder = TempDir::new().unwrap();
    let page = Page::of(&KNOWLEDGE, folder.path(), None);
    let job = page.begins("vehicle demo-estate", "1187", "it slips");
    let shown = page.get(&format!("{job}/recording"));
    assert_eq!(shown.status, 200);
    assert!(!shown.body.contains("type=\"file\""), "{shown:?}");
}

/// Bytes of the form changed, left out and doubled by a fixed rule: each is refused or read, and the page goes on.
#[test]
fn a_broken_form_with_a_file_is_refused_or_read() {
    let (folder, page, job) = slipping();
    let path = format!("{job}/recording");
    let token = page.get(&path).hidden("token");
    let origin = format!("Origin: http://{}\r\n", page.host());
    let short: Vec<u8> = drive().into_iter().take(2_000).collect();
    let whole = multipart(&token, "drive.csv", &short);
    for round in 0..200_usize {
        let mut body = whole.clone();
        let at = round * 7_919 % (body.len().min(400));
        match round % 4 {
            0 => body[at] = b"\r\n-\"\0\xff"[round % 6],
            1 => body.truncate(at),
            2 => drop(body.drain(at..at + round % 30)),
            _ => body.splice(at..at, whole[..round].to_vec()).for_each(drop),
        }
        let status = sends(&page, &path, &body, &origin).status;
        assert!([303, 400, 403, 422].contains(&status), "{round}: {status}");
    }
    assert_eq!(page.get(&path).status, 200);
    assert_eq!(read(&folder), (vec![], 0));
}
