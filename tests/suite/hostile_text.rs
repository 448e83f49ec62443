use std::fs;
use std::process::Command;

use halfsplit::text::{clean, quoted};
use serde_json::Value;

use super::loading_papers::example;
use super::shop::Shop;

/// A control of each kind (escape, CSI of an 8-bit terminal), marks that turn the direction of writing, that take no
/// room, and one beyond the first 65,536.
const HOSTILE: &str = "\u{1b}[2J\u{7}\u{7f}\u{9b}2J\u{61c}\u{200b}\u{200f}\u{2028}\u{202e}\u{2066}\u{ad}\u{feff}\u{e0041}";

/// Some of them, few enough for one line of a screen.
const FEW: &str = "\u{9b}2J\u{61c}\u{202e}\u{feff}\u{e0041}";

fn hidden_in(text: &str) -> bool {
    let mut hostile = HOSTILE.chars().filter(|c| !c.is_ascii_graphic());
    hostile.any(|c| text.contains(c))
}

#[test]
fn every_filter_of_text_escapes_the_same_characters() {
    for shown in [clean(HOSTILE), quoted(HOSTILE)] {
        assert!(!hidden_in(&shown), "{shown:?}");
        assert!(shown.contains("\\u{9b}2J\\u{61c}\\u{200b}"), "{shown}");
    }
    assert_eq!(clean("one\r\n\ttwo — 5 °C, 漢"), "one   two — 5 °C, 漢");
}

#[test]
fn json_of_a_hostile_folder_is_read_back_and_holds_nothing_hidden() {
    let folder = tempfile::TempDir::new().unwrap();
    for (path, text) in example() {
        let file = folder.path().join(path);
        fs::create_dir_all(file.parent().unwrap()).unwrap();
        let text = text.replace("case: slips, level low", &format!("case: {FEW}"));
        fs::write(file, text).unwrap();
    }
    let path = folder.path().to_str().unwrap();
    // Not in the shop, whose screens are narrower than a sentence in JSON.
    let told = Command::new(env!("CARGO_BIN_EXE_halfsplit"))
        .args(["check", path, "--json"])
        .output()
        .unwrap();
    assert_eq!(told.status.code(), Some(1));
    let told = String::from_utf8(told.stdout).unwrap();
    assert!(!hidden_in(&told), "{told}");
    let answer: Value = serde_json::from_str(&told).unwrap();
    let line = answer["findings"][0]["text"].as_str().unwrap();
    assert!(line.contains(FEW), "{line:?}");
    let told = Shop::new()
        .arguments(["check", path])
        .fails_with(1)
        .run()
        .out;
    assert!(!hidden_in(&told), "{told}");
}

/// A folder's name is no knowledge, and comes out as it is.
#[test]
fn json_that_names_a_hostile_folder_holds_nothing_hidden() {
    let folder = tempfile::TempDir::new().unwrap();
    let named = folder.path().join(HOSTILE);
    for (path, text) in example() {
        let file = named.join(path);
        fs::create_dir_all(file.parent().unwrap()).unwrap();
        fs::write(file, text).unwrap();
    }
    let path = named.to_str().unwrap();
    let told = Shop::new()
        .arguments(["diff", path, path, "--json"])
        .run()
        .out;
    assert!(!hidden_in(&told), "{told}");
    let answer: Value = serde_json::from_str(&told).unwrap();
    assert_eq!(answer["new"], path);
}

/// Every command hands its JSON to the one writer that escapes.
#[test]
fn no_command_writes_json_past_the_filter() {
    for file in super::house::sources("src/commands") {
        let text = fs::read_to_string(&file).unwrap();
        assert!(
            !text.contains("serde_json::to_writer"),
            "{}",
            file.display()
        );
    }
}
