//! A page that listens, and a browser that is no more than what it sends.

use std::io::{Read, Write};
use std::net::{SocketAddr, TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};
use std::thread::JoinHandle;
use std::time::Duration;

use halfsplit::Knowledge;
use halfsplit::load::ShopProfile;
use halfsplit::record::Clock;
use halfsplit::serve::{Guard, Key, Server, Site, Start, Stop};
use jiff::Timestamp;

/// 2026-11-25 10:00:00 UTC, in milliseconds.
const TEN: i64 = (20_782 * 86_400 + 10 * 3_600) * 1000;

/// A page that listens until it is dropped.
pub(crate) struct Page {
    pub(crate) address: SocketAddr,
    pub(crate) clock: Arc<AtomicI64>,
    stop: Stop,
    running: Option<JoinHandle<()>>,
}

/// A response.
#[derive(Debug)]
pub(crate) struct Response {
    pub(crate) status: u16,
    pub(crate) head: String,
    pub(crate) body: String,
}

impl Page {
    /// A page on a folder, behind a key or open.
    pub(crate) fn of(knowledge: &Knowledge, folder: &Path, key: Option<Key>) -> Self {
        let clock = Arc::new(AtomicI64::new(TEN));
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let address = listener.local_addr().unwrap();
        let looked_at = Arc::clone(&clock);
        let site = Site::new(Start {
            knowledge: knowledge.clone(),
            profile: ShopProfile::default(),
            folder: folder.to_owned(),
            clock: Clock::of(move || {
                Timestamp::from_millisecond(looked_at.load(Ordering::Relaxed)).unwrap()
            }),
            guard: Guard::new(address, &["tablet.test".to_owned()], key).unwrap(),
            mappings: Some(folder.join("recordings.json")),
        });
        let server = Server::new(listener, site).unwrap();
        let stop = server.stop();
        let running = std::thread::spawn(move || server.run().unwrap());
        Self {
            address,
            clock,
            stop,
            running: Some(running),
        }
    }

    /// Time passes.
    pub(crate) fn later(&self, seconds: i64) {
        self.clock.fetch_add(1000 * seconds, Ordering::Relaxed);
    }

    pub(crate) fn now(&self) -> Timestamp {
        Timestamp::from_millisecond(self.clock.load(Ordering::Relaxed)).unwrap()
    }

    /// What the bytes of a request bring.
    pub(crate) fn sends(&self, request: &[u8]) -> Response {
        let mut stream = TcpStream::connect(self.address).unwrap();
        stream
            .set_read_timeout(Some(Duration::from_secs(30)))
            .unwrap();
        // A server that has heard enough closes the connection while the rest is still sent.
        let _ = stream.write_all(request);
        let mut bytes = Vec::new();
        let _ = stream.read_to_end(&mut bytes);
        let text = String::from_utf8(bytes).unwrap();
        let (head, body) = text.split_once("\r\n\r\n").unwrap_or((&text, ""));
        let status = head
            .split(' ')
            .nth(1)
            .and_then(|status| status.parse().ok());
        Response {
            status: status.unwrap_or(0),
            head: head.to_owned(),
            body: body.to_owned(),
        }
    }

    pub(crate) fn host(&self) -> String {
        self.address.to_string()
    }

    /// What an address shows.
    pub(crate) fn get(&self, path: &str) -> Response {
        self.get_with(path, "")
    }

    /// The same with more headers, each with its line end.
    pub(crate) fn get_with(&self, path: &str, headers: &str) -> Response {
        let host = self.host();
        self.sends(
            format!("GET {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n{headers}\r\n")
                .as_bytes(),
        )
    }

    /// What comes of a form.
    pub(crate) fn post(&self, path: &str, fields: &[(&str, &str)]) -> Response {
        let origin = format!("Origin: http://{}\r\n", self.host());
        self.post_with(path, fields, &origin)
    }

    pub(crate) fn post_with(&self, path: &str, fields: &[(&str, &str)], headers: &str) -> Response {
        let mut body = form_urlencoded::Serializer::new(String::new());
        let body = body.extend_pairs(fields).finish();
        let host = self.host();
        let kind = "application/x-www-form-urlencoded";
        self.sends(
            format!(
                "POST {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\nContent-Type: {kind}\r\n\
                 Content-Length: {}\r\n{headers}\r\n{body}",
                body.len()
            )
            .as_bytes(),
        )
    }

    /// Begins a job; its address.
    pub(crate) fn begins(&self, vehicle: &str, order: &str, words: &str) -> String {
        let token = self.get("/new").hidden("token");
        let fields = [
            ("token", token.as_str()),
            ("vehicle", vehicle),
            ("order", order),
            ("words", words),
        ];
        let begun = self.post("/new", &fields);
        assert_eq!(begun.status, 303, "{begun:?}");
        begun.header("location").unwrap()
    }

    /// Answers the question of a job, as its page stands.
    pub(crate) fn answers(&self, job: &str, fields: &[(&str, &str)]) -> Response {
        let page = self.get(job);
        let (token, at) = (page.hidden("token"), page.hidden("at"));
        let mut all = vec![("token", token.as_str()), ("at", at.as_str())];
        all.extend(fields);
        self.post(job, &all)
    }
}

impl Drop for Page {
    fn drop(&mut self) {
        self.stop.stop();
        if let Some(running) = self.running.take() {
            let _ = running.join();
        }
    }
}

impl Response {
    pub(crate) fn header(&self, name: &str) -> Option<String> {
        let lines = self.head.lines();
        let mut values = lines.filter_map(|line| line.split_once(": "));
        values
            .find(|(own, _)| own.eq_ignore_ascii_case(name))
            .map(|(_, value)| value.to_owned())
    }

    /// What a form of the page carries.
    pub(crate) fn hidden(&self, name: &str) -> String {
        let mark = format!("name=\"{name}\" value=\"");
        let rest = self
            .body
            .split_once(&mark)
            .unwrap_or_else(|| panic!("no {name} in {self:?}"))
            .1;
        rest.split('"').next().unwrap().to_owned()
    }
}

/// The only record of a folder.
pub(crate) fn only_record(folder: &Path) -> PathBuf {
    let files = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path());
    let mut files: Vec<PathBuf> = files
        .filter(|path| path.to_string_lossy().ends_with(".job.jsonl"))
        .collect();
    assert_eq!(files.len(), 1);
    files.remove(0)
}
