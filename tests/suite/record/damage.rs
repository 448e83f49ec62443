//! Torn and damaged records, and files that are none.

use std::fs::{self, File};
use std::path::Path;

use halfsplit::record::{Event, MAX_LINE, MAX_RECORD, Record, RecordError};

use crate::shop::without_sums;

use super::{complaint, note, place, reading, record_of, symptom, ticking};

/// The lines of a record of five events, each with its end, as versions before check sums wrote them: edits of them are
/// found by what they say.
fn lines() -> Vec<String> {
    summed_lines()
        .iter()
        .map(|line| without_sums(line))
        .collect()
}

/// The same lines as they are written today.
fn summed_lines() -> Vec<String> {
    let (_folder, record) = record_of([
        complaint("es ruckt in engen Kehren – 漢"),
        symptom("tight-turn-binding", true),
        reading("turn-noise", "groan"),
        note("größer als sonst"),
    ]);
    let text = fs::read_to_string(record.path()).unwrap();
    text.split_inclusive('\n').map(str::to_owned).collect()
}

fn read_error(path: &Path) -> RecordError {
    let from_reading = Record::read(path).unwrap_err();
    let from_opening = Record::open(path, ticking()).unwrap_err();
    assert_eq!(from_reading.to_string(), from_opening.to_string());
    from_opening
}

#[test]
fn a_last_line_torn_at_any_byte_is_set_aside_and_the_rest_stands() {
    let lines = lines();
    let (last, before) = lines.split_last().unwrap();
    let before = before.concat();
    // Without its end alone the line is whole: the next test.
    for cut in 1..last.len() - 1 {
        let (folder, path) = place();
        let torn = &last.as_bytes()[..cut];
        let whole = [before.as_bytes(), torn].concat();
        fs::write(&path, &whole).unwrap();

        let view = Record::read(&path).unwrap();
        let seen = view.torn.unwrap();
        assert_eq!(
            (seen.line, &seen.bytes[..], seen.moved_to),
            (5, torn, None),
            "{cut}"
        );
        assert_eq!(fs::read(&path).unwrap(), whole, "reading changes nothing");

        let (mut record, set_aside) = Record::open(&path, ticking()).unwrap();
        let set_aside = set_aside.unwrap();
        let aside = folder.path().join("a.job.jsonl.torn");
        assert_eq!(set_aside.moved_to.as_ref(), Some(&aside));
        assert_eq!(fs::read(&aside).unwrap(), torn);
        let words = set_aside.to_string();
        assert!(
            words.contains("line 5") && words.contains("4 events"),
            "{words}"
        );
        assert_eq!(record.events().len(), 4);
        assert_eq!(fs::read_to_string(&path).unwrap(), before);

        record.append(note("again")).unwrap();
        drop(record);
        assert_eq!(Record::open(&path, ticking()).unwrap().0.events().len(), 5);
    }
}

#[test]
fn a_last_line_that_lacks_its_end_alone_stands() {
    let text = lines().concat();
    let (_folder, path) = place();
    fs::write(&path, text.trim_end()).unwrap();
    assert_eq!(Record::read(&path).unwrap().history.entries().len(), 5);
    let (mut record, torn) = Record::open(&path, ticking()).unwrap();
    assert_eq!((torn, record.events().len()), (None, 5));
    assert_eq!(fs::read_to_string(&path).unwrap(), text);
    record.append(note("and on")).unwrap();
    assert_eq!(Record::read(&path).unwrap().history.entries().len(), 6);
}

#[test]
fn nuls_at_the_end_are_torn_and_no_earlier_torn_line_is_lost() {
    let text = lines().concat();
    let (folder, path) = place();
    for (number, tail) in [&b"\0\0\0\0"[..], b"{\"time\":\0\0", b"\0\0}\n", b"\0\0\0\0"]
        .iter()
        .enumerate()
    {
        fs::write(&path, [text.as_bytes(), tail].concat()).unwrap();
        let (record, torn) = Record::open(&path, ticking()).unwrap();
        assert_eq!(record.events().len(), 5);
        let moved_to = torn.unwrap().moved_to.unwrap();
        assert_eq!(fs::read(&moved_to).unwrap(), *tail);
        // The last has the bytes of the first, which are aside already.
        let name = [
            "a.job.jsonl.torn",
            "a.job.jsonl.torn-2",
            "a.job.jsonl.torn-3",
            "a.job.jsonl.torn",
        ];
        assert_eq!(moved_to, folder.path().join(name[number]));
    }
}

#[test]
fn damage_before_the_end_is_refused_with_its_line_and_what_to_do() {
    let good = lines();
    let third = &good[2];
    let cases: Vec<(Vec<u8>, &str)> = vec![
        (third.as_bytes()[..40].to_vec(), "not JSON"),
        (b"\0\0\0\0\0\0".to_vec(), "NUL bytes from byte 1"),
        (
            [&third.as_bytes()[..20], b"\0\0\0"].concat(),
            "NUL bytes from byte 21",
        ),
        (
            b"{\"time\":\"\xff\xfe\"}".to_vec(),
            "not UTF-8 from byte 10",
        ),
        (b"".to_vec(), "it is empty"),
        (b"[1,2]".to_vec(), "no event of a job"),
        (b"{}".to_vec(), "no event of a job"),
        (
            third.replace("\"symptom\",", "\"sympton\",").into(),
            "does not know, \"sympton\"",
        ),
        (
            third.replace(",\"present\":true", "").into(),
            "`symptom` does not fit: missing field `present`",
        ),
        (
            third.replace("true", "\"yes\"").into(),
            "`symptom` does not fit: invalid type",
        ),
        (
            third.replace("2026-11-25", "2026-13-25").into(),
            "`symptom` does not fit",
        ),
        (
            third.replace("\"job\":\"", "\"job\":\"0").into(),
            "belongs to another job",
        ),
        (
            third.replace("\"line\":3", "\"line\":4").into(),
            "says that it is line 4",
        ),
        (
            good[0].replace("\"line\":1", "\"line\":3").into(),
            "`opened` comes once",
        ),
        (
            third
                .replace("\"event\":\"symptom\"", "\"event\":\"reopened\"")
                .into(),
            "not closed as fixed",
        ),
        (
            third.replace(
                "\"event\":\"symptom\"",
                "\"event\":\"reading\",\"measurement\":\"m\",\"raw\":\"r\",\"outcome\":\"low\",\"weights\":{\"low\":-1.0,\"normal\":2.0},\"counts\":true,\"attempt\":1",
            ).into(),
            "the weight of `low` is -1, and a probability is from 0 to 1",
        ),
        (
            third.replace(
                "\"event\":\"symptom\"",
                "\"event\":\"reading\",\"measurement\":\"m\",\"raw\":\"r\",\"outcome\":\"low\",\"weights\":{\"low\":0.5},\"counts\":true,\"attempt\":1",
            ).into(),
            "its weights add up to 0.5, and probabilities to 1",
        ),
        (
            third.replace(
                "\"event\":\"symptom\"",
                "\"event\":\"repair\",\"repairs\":[],\"causes\":[],\"probability\":5.0",
            ).into(),
            "`probability` is 5, and a probability is from 0 to 1",
        ),
        (format!("{}{third}", "[".repeat(10_000)).into(), "not JSON"),
    ];
    for (bytes, expected) in cases {
        let (folder, path) = place();
        let bytes = bytes.strip_suffix(b"\n").unwrap_or(&bytes);
        let text = [
            good[0].as_bytes(),
            good[1].as_bytes(),
            bytes,
            b"\n",
            good[3].as_bytes(),
        ]
        .concat();
        fs::write(&path, &text).unwrap();
        let refused = read_error(&path);
        let words = refused.to_string();
        assert!(
            matches!(refused, RecordError::Damaged { line: 3, .. }),
            "{words}"
        );
        assert!(words.contains("a.job.jsonl: line 3 is damaged"), "{words}");
        assert!(words.contains(expected), "{words}");
        assert!(
            words.contains("copy its first 2 lines into a new file"),
            "{words}"
        );
        assert_eq!(fs::read(&path).unwrap(), text);
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }
}

#[test]
fn a_missing_a_doubled_and_a_moved_line_are_damage() {
    let good = lines();
    for (order, line) in [
        (&[0, 1, 3, 4][..], 3),
        (&[0, 1, 2, 2, 3], 4),
        (&[0, 2, 1, 3], 2),
        (&[1, 2], 1),
    ] {
        let (_folder, path) = place();
        let text: String = order.iter().map(|at| good[*at].as_str()).collect();
        fs::write(&path, text).unwrap();
        let refused = read_error(&path);
        assert!(
            matches!(refused, RecordError::Damaged { line: found, .. } if found == line),
            "{refused}"
        );
    }
}

#[test]
fn an_event_cut_short_with_its_end_in_place_is_damage_not_torn() {
    let good = lines();
    let (_folder, path) = place();
    fs::write(&path, format!("{}{}\n", good[..4].concat(), &good[4][..30])).unwrap();
    assert!(matches!(
        read_error(&path),
        RecordError::Damaged { line: 5, .. }
    ));
}

#[test]
fn a_damaged_file_cannot_speak_to_the_terminal() {
    let good = lines();
    for event in ["\\u001b[2J", "\\u202e"] {
        let (_folder, path) = place();
        let third = good[2].replace("\"symptom\",", &format!("\"{event}\","));
        fs::write(&path, format!("{}{}{third}", good[0], good[1])).unwrap();
        let words = read_error(&path).to_string();
        assert!(!words.contains(['\u{1b}', '\u{202e}']), "{words:?}");
    }
    let (_folder, path) = place();
    let fifth = good[4].replace(
        "\"note\"",
        "\"set-aside\",\"measurement\":\"m\",\"how\":\"\\u001b[2J\"",
    );
    fs::write(&path, format!("{}{fifth}", good[..4].concat())).unwrap();
    let words = read_error(&path).to_string();
    assert!(
        !words.contains('\u{1b}') && words.contains("`set-aside` does not fit"),
        "{words:?}"
    );
}

#[test]
fn fields_that_it_does_not_know_are_passed_over_and_kept() {
    let good = lines()
        .concat()
        .replace("\"present\":true", "\"present\":true,\"side\":[\"left\"]");
    let (_folder, path) = place();
    fs::write(&path, &good).unwrap();
    let (mut record, _) = Record::open(&path, ticking()).unwrap();
    assert_eq!(record.state().present, ["tight-turn-binding"]);
    record.append(Event::back(1)).unwrap();
    assert!(fs::read_to_string(&path).unwrap().starts_with(&good));
}

#[test]
fn a_newer_format_is_refused_as_newer_not_as_damaged() {
    let (_folder, path) = place();
    fs::write(
        &path,
        "{\"event\":\"opened\",\"format\":7,\"anything\":\"else\"}\n{\"new\":1}\n",
    )
    .unwrap();
    let refused = read_error(&path);
    assert!(
        refused
            .to_string()
            .contains("format 7, and this program knows formats up to 1")
    );
}

fn words_of(path: &Path) -> String {
    read_error(path).to_string()
}

#[test]
fn files_that_are_no_records_are_refused_in_words() {
    let (folder, path) = place();
    assert!(matches!(read_error(&path), RecordError::Missing(_)));
    assert!(words_of(folder.path()).contains("this is a folder"));
    fs::write(&path, "").unwrap();
    assert!(words_of(&path).contains("the file is empty"));
    fs::write(&path, &lines()[0].as_bytes()[..50]).unwrap();
    assert!(words_of(&path).contains("no job was opened in it"));
    assert_eq!(fs::metadata(&path).unwrap().len(), 50);
    fs::write(&path, "shopping list\nmilk\n").unwrap();
    assert!(matches!(
        read_error(&path),
        RecordError::Damaged { line: 1, .. }
    ));
    fs::write(&path, vec![b'x'; MAX_LINE + 1]).unwrap();
    assert!(words_of(&path).contains("line 1 is longer than"));
    File::create(&path)
        .unwrap()
        .set_len(MAX_RECORD + 1)
        .unwrap();
    assert!(words_of(&path).contains("at most 16000000 bytes"));
    #[cfg(unix)]
    assert!(words_of(Path::new("/dev/null")).contains("a device or a pipe"));
}

#[test]
fn a_line_of_the_greatest_length_is_read_and_one_byte_more_is_not() {
    let good = lines();
    let (_folder, path) = place();
    let fitted = |length: usize| {
        let fill = length + 1 - good[4].len();
        good[4].replace("als sonst", &format!("als sonst{}", "x".repeat(fill)))
    };
    fs::write(&path, format!("{}{}", good[..4].concat(), fitted(MAX_LINE))).unwrap();
    assert_eq!(Record::read(&path).unwrap().history.entries().len(), 5);
    fs::write(
        &path,
        format!("{}{}", good[..4].concat(), fitted(MAX_LINE + 1)),
    )
    .unwrap();
    assert!(words_of(&path).contains("line 5 is longer than"));
}

#[test]
fn a_read_only_record_is_read_and_not_opened() {
    let (_folder, path) = place();
    fs::write(&path, lines().concat()).unwrap();
    let mut rights = fs::metadata(&path).unwrap().permissions();
    rights.set_readonly(true);
    fs::set_permissions(&path, rights).unwrap();
    assert_eq!(Record::read(&path).unwrap().history.entries().len(), 5);
    let refused = Record::open(&path, ticking()).unwrap_err().to_string();
    assert!(refused.contains("the file is read-only"), "{refused}");
}
