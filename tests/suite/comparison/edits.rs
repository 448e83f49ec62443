use regex::Regex;

use crate::textbook::Book;

/// Every file of the textbook family with one edit: each number made another; each id or word made
/// another, ids those that may stand in their place; each line left out; each field of a short map,
/// and each item of a short list, left out. Most do not load.
pub(super) fn single() -> Vec<Book> {
    let book = Book::new();
    let word = Regex::new(r"[A-Za-z][A-Za-z0-9]*(-[a-z0-9]+)*").unwrap();
    let number = Regex::new(r"\b[0-9]+(\.[0-9]+)?\b").unwrap();
    let left_out = [
        Regex::new(r", [a-z_-]+: (\[[^\]]*\]|\{[^}]*\}|[^,{}\[\]\n]+)").unwrap(),
        Regex::new(r"[a-z_-]+: (\[[^\]]*\]|\{[^}]*\}|[^,{}\[\]\n]+), ").unwrap(),
        Regex::new(r", [a-z-]+").unwrap(),
        Regex::new(r"[a-z-]+, ").unwrap(),
    ];
    // What may stand in another's place and still make sense.
    let alternatives: [&[&str]; 14] = [
        &["cover-on", "cover-off", "probe-fitted"],
        &["voltmeter", "gauge"],
        &["switched-on", "supply-steady"],
        &["lamp-broken", "wire-broken", "supply-low", "no-current"],
        &["renew-lamp", "mend-wire"],
        &["supply", "supply-drop", "lamp-look", "wire-look", "code"],
        &["low", "high", "normal", "large"],
        &["black", "whole", "frayed", "open", "normal"],
        &["trainer", "second-trainer"],
        &["shock", "clean", "close-out"],
        &["any", "all"],
        &["from", "to", "above", "below"],
        &["min", "max", "far"],
        &["true", "false", "metric", "us", "lag", "chance", "V", "mV"],
    ];
    let mut books = Vec::new();
    for (path, bytes) in &book.files {
        let text = String::from_utf8_lossy(bytes).into_owned();
        let mut with = |range: std::ops::Range<usize>, other: &str| {
            let mut edited = text.clone();
            edited.replace_range(range, other);
            books.push(book.clone().with(path, edited));
        };
        for found in number.find_iter(&text) {
            let value: f64 = found.as_str().parse().unwrap();
            for other in [value + 1.0, value / 2.0, value * 1.5] {
                with(found.range(), &other.to_string());
            }
        }
        for found in word.find_iter(&text) {
            with(found.range(), &format!("{}x", found.as_str()));
            let others = alternatives
                .iter()
                .filter(|group| group.contains(&found.as_str()))
                .flat_map(|group| group.iter())
                .filter(|other| **other != found.as_str());
            for other in others {
                with(found.range(), other);
            }
        }
        let mut start = 0;
        for line in text.split_inclusive('\n') {
            with(start..start + line.len(), "");
            start += line.len();
        }
        for pattern in &left_out {
            for found in pattern.find_iter(&text) {
                with(found.range(), "");
            }
        }
    }
    books
}

/// Edits of more than one word, each of which loads: fields that no single word reaches.
pub(super) fn larger() -> Vec<Book> {
    const CASE: &str = "bench/cases/dark-lamp.yaml";
    const MEASUREMENTS: &str = "bench/measurements/all.yaml";
    const TREE: &str = "bench/trees/no-light.yaml";
    let book = Book::new;
    let second = |field: &str| {
        book()
            .with(
                "bench/trees/no-hum.yaml",
                "symptom: no-hum\ntitle: It does not hum\ncomplaints: [hum]\ntop: {any: [lamp-broken]}\n",
            )
            .edit(CASE, "symptoms: [no-light]\n", field)
    };
    vec![
        book().edit(MEASUREMENTS, "[frayed, normal]", "[frayed, rubbed, normal]"),
        book()
            .edit(MEASUREMENTS, "normal: whole", "normal: black")
            .edit(MEASUREMENTS, "black: {lamp-broken", "whole: {lamp-broken"),
        book().edit(
            MEASUREMENTS,
            "        before: {ask: Voltage before, quantity: voltage, unit: V, instrument: voltmeter}\n        \
             after: {ask: Voltage after, quantity: voltage, unit: V, instrument: voltmeter}\n",
            "        after: {ask: Voltage after, quantity: voltage, unit: V, instrument: voltmeter}\n        \
             before: {ask: Voltage before, quantity: voltage, unit: V, instrument: voltmeter}\n",
        ),
        book().edit(MEASUREMENTS, "unit: V, instrument: voltmeter, plausible: {from: 0, to: 30}", "unit: mV, instrument: voltmeter"),
        book().edit(
            MEASUREMENTS,
            "      takes:\n",
            "      checks: {sum: {value: before + after, plausible: {from: 0, to: 60}}}\n      takes:\n",
        ),
        book().edit(
            TREE,
            "    - event: Weak and long\n      all: [supply-low, {cause: wire-broken, strength: 0.5}]\n",
            "",
        ),
        second("symptoms: [no-light, no-hum]\n"),
        second("symptoms: [no-light]\nabsent: [no-hum]\n"),
        book().edit(CASE, "found: the lamp", "first: supply"),
        book().edit("bench/causes.yaml", "    care: [clean]", "    opens_valve_body: true"),
        book().edit(
            "bench/family.yaml",
            "    reading: {quantity: voltage, unit: V, instrument: voltmeter}\n    \
             holds: {from: supply-window.min, to: supply-window.max}\n",
            "",
        ),
        book().edit(
            "bench/family.yaml",
            "accuracy: {class: 1.6}",
            "accuracy: {percent: 0.5, digits: 2, digit: 0.1}",
        ),
    ]
}
