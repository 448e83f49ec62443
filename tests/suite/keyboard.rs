//! The program at a terminal of its own: keys, not lines.

use std::io::{Read, Write};
use std::sync::mpsc::{Receiver, channel};
use std::thread::spawn;
use std::time::{Duration, Instant};

use pty_process::Size;
use pty_process::blocking::{Command, Pty};
use tempfile::TempDir;

/// How long a key may take to show, on a busy machine.
const PATIENCE: Duration = Duration::from_mins(1);

/// The program at a terminal of 24 lines and 80 columns.
struct Terminal {
    keys: Pty,
    shown: Receiver<Vec<u8>>,
    seen: String,
    /// What came before the words that were waited for last.
    seen_before: String,
    child: std::process::Child,
    folder: TempDir,
}

impl Terminal {
    fn diagnosing() -> Self {
        Self::running(&["diagnose", "--vehicle", "demo-estate"])
    }

    fn running(arguments: &[&str]) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let (keys, screen) = pty_process::blocking::open().unwrap();
        keys.resize(Size::new(24, 80)).unwrap();
        let child = Command::new(env!("CARGO_BIN_EXE_halfsplit"))
            .args(arguments)
            .current_dir(folder.path())
            .env("TERM", "xterm")
            .env("NO_COLOR", "1")
            .spawn(screen)
            .unwrap();
        let (says, shown) = channel();
        let mut reader: std::fs::File = {
            use std::os::fd::AsFd as _;
            keys.as_fd().try_clone_to_owned().unwrap().into()
        };
        spawn(move || {
            let mut bytes = [0; 4096];
            while let Ok(count @ 1..) = reader.read(&mut bytes) {
                if says.send(bytes[..count].to_vec()).is_err() {
                    break;
                }
            }
        });
        Self {
            keys,
            shown,
            seen: String::new(),
            seen_before: String::new(),
            child,
            folder,
        }
    }

    /// Waits until something is on the screen, and forgets what came before it.
    fn sees(&mut self, words: &str) -> &mut Self {
        let until = Instant::now() + PATIENCE;
        loop {
            let plain = anstream::adapter::strip_str(&self.seen).to_string();
            if let Some((before, after)) = plain.split_once(words) {
                let after = after.to_owned();
                before.clone_into(&mut self.seen_before);
                self.seen = after;
                return self;
            }
            let left = until.saturating_duration_since(Instant::now());
            let bytes = self.shown.recv_timeout(left);
            let bytes = bytes.unwrap_or_else(|_| panic!("{words:?} never came:\n{plain}"));
            self.seen.push_str(&String::from_utf8_lossy(&bytes));
        }
    }

    fn types(&mut self, keys: &str) -> &mut Self {
        self.keys.write_all(keys.as_bytes()).unwrap();
        self.keys.flush().unwrap();
        self
    }

    fn ends(mut self) -> TempDir {
        assert!(self.child.wait().unwrap().success());
        self.folder
    }
}

/// The records in a folder.
fn records(folder: &TempDir) -> Vec<String> {
    let files = std::fs::read_dir(folder.path()).unwrap();
    let texts = files.map(|file| std::fs::read_to_string(file.unwrap().path()).unwrap());
    texts.collect()
}

#[test]
fn a_typing_error_is_mended_with_the_arrow_keys() {
    let mut terminal = Terminal::diagnosing();
    // "slis", one to the left, "p": "slips".
    terminal.sees("complaint >").types("slis\u{1b}[Dp\r");
    terminal.sees("Which complaint is that?").sees("symptoms >");
    terminal.types("\u{4}").sees("Saved. Go on with:");
    let folder = terminal.ends();
    assert!(records(&folder)[0].contains("\"words\":\"slips\""));
}

#[test]
fn tab_completes_a_word_and_the_arrow_up_brings_the_last_line_back() {
    let mut terminal = Terminal::diagnosing();
    terminal.sees("complaint >").types("slips\r");
    terminal
        .sees("symptoms >")
        .types("1\r")
        .sees("Does it do it today");
    // The keys are heard one by one only while a prompt stands.
    let answered = |terminal: &mut Terminal| {
        terminal.sees("Nothing was read yet.").sees("> ");
    };
    answered(terminal.types("rea\t\r"));
    answered(terminal.types("\u{1b}[A\r"));
    terminal.types("\u{3}").sees("Saved. Go on with:");
    terminal.ends();
}

#[test]
fn breaking_off_says_that_all_is_saved_and_how_to_go_on() {
    let mut terminal = Terminal::diagnosing();
    terminal
        .sees("complaint >")
        .types("slips\r")
        .sees("symptoms >");
    terminal
        .types("\u{3}")
        .sees("Saved. Go on with:")
        .sees("--job");
    let folder = terminal.ends();
    assert!(records(&folder)[0].contains("complaint"));
}

#[test]
fn a_job_left_before_its_complaint_leaves_no_file() {
    let mut terminal = Terminal::diagnosing();
    terminal
        .sees("complaint >")
        .types("\u{4}")
        .sees("no job is kept");
    assert!(records(&terminal.ends()).is_empty());
}

#[test]
fn a_measurement_longer_than_the_screen_is_turned_page_by_page() {
    let mut terminal = Terminal::diagnosing();
    terminal.sees("complaint >").types("slips\r");
    terminal.sees("symptoms >").types("1\r").sees("today");
    terminal.types("take stall-forward\r").sees("Prepare");
    terminal.sees("Enter: more >").types("\r").sees("then ");
    terminal.types("stop\r").sees("Saved. Go on with:");
    terminal.ends();
}

#[test]
fn a_list_longer_than_the_screen_is_turned_page_by_page() {
    let mut terminal = Terminal::diagnosing();
    terminal.sees("complaint >").types("slips\r");
    terminal.sees("symptoms >").types("1\r").sees("today");
    terminal.types("list all\r").sees("Enter: more >");
    // A line typed on the way is an answer.
    terminal.types("list all\r").sees("Enter: more >");
    terminal.types("\r").sees("Enter: more >");
    // Any line leaves the list.
    terminal
        .types("readings\r")
        .sees("Nothing was read yet.")
        .sees("> ");
    terminal.types("stop\r").sees("Saved. Go on with:");
    terminal.ends();
}

#[test]
fn what_comes_after_a_change_of_size_fits_the_new_one() {
    let mut terminal = Terminal::diagnosing();
    terminal.sees("complaint >").types("slips\r");
    terminal
        .sees("symptoms >")
        .types("1\r")
        .sees("today")
        .sees("does not do it today")
        .sees("> ");
    terminal.keys.resize(Size::new(12, 44)).unwrap();
    terminal.types("take stall-forward\r").sees("Enter: more >");
    let page = terminal.seen_before.clone();
    assert!(
        page.lines()
            .all(|line| line.trim_end().chars().count() <= 44),
        "{page}"
    );
    // Eleven lines and the prompt, behind what was typed and said.
    assert!(page.lines().count() <= 20, "{page}");
    terminal.types("stop\r").sees("Saved. Go on with:");
    terminal.ends();
}

#[test]
fn a_plan_that_is_broken_off_prints_what_there_is() {
    let complaints = ["slipping", "no-rear-drive", "harsh-engagement"];
    let mut terminal = Terminal::running(&[&["plan"][..], &complaints].concat());
    terminal
        .sees("Ctrl-C prints what there is")
        .types("\u{3}")
        .sees("Stopped early")
        .sees("The order, where each reads as is likeliest")
        .sees("Where it ends");
    terminal.ends();
}
