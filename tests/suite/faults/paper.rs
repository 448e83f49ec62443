//! docs/reliability.md against the tests.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use crate::house::sources;

#[test]
fn each_row_of_the_paper_names_a_test_that_there_is() {
    let page = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/reliability.md");
    let page = fs::read_to_string(page).unwrap();
    let tests: BTreeSet<String> = sources("tests/suite")
        .iter()
        .flat_map(|file| {
            let text = fs::read_to_string(file).unwrap();
            let names = text
                .split("fn ")
                .skip(1)
                .filter_map(|after| after.split('(').next());
            names.map(str::to_owned).collect::<Vec<_>>()
        })
        .collect();
    let rows: Vec<&str> = page
        .lines()
        .filter(|line| line.starts_with("| ") && line.contains('`'))
        .collect();
    assert!(rows.len() > 20, "{}", rows.len());
    for row in &rows {
        let test = row.split('|').nth(2).unwrap().trim().trim_matches('`');
        assert!(tests.contains(test), "{test}");
    }
    // And each test of the room is a row, but the long forms and this one.
    let own = sources("tests/suite/faults")
        .into_iter()
        .filter(|file| !file.ends_with("paper.rs"));
    for file in own {
        let text = fs::read_to_string(&file).unwrap();
        for after in text.split("#[test]").skip(1).filter(|after| {
            !after.contains("#[ignore") || after.find("#[ignore") > after.find("fn ")
        }) {
            let name = after
                .split("fn ")
                .nth(1)
                .and_then(|name| name.split('(').next())
                .unwrap();
            assert!(page.contains(&format!("`{name}`")), "{name} is no row");
        }
    }
}
