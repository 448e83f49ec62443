use std::fs;
use std::path::Path;

use tempfile::TempDir;

use crate::shop::Shop;
use crate::textbook::Book;

fn write(book: &Book, folder: &Path) {
    for (path, bytes) in &book.files {
        let path = folder.join(path);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, bytes).unwrap();
    }
}

/// Two folders: the textbook family and the same with an edit.
fn editions(edited: &Book) -> (TempDir, String, String) {
    let folder = TempDir::new().unwrap();
    let path = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let (old, new) = (path("old"), path("new"));
    write(&Book::new(), Path::new(&old));
    write(edited, Path::new(&new));
    (folder, old, new)
}

fn edit() -> Book {
    Book::new().edit("bench/causes.yaml", "rate: 20,", "rate: 9.25,")
}

#[test]
fn two_folders_are_compared_and_differences_are_no_failure() {
    let (_folder, old, new) = editions(&edit());
    Shop::new()
        .arguments(["diff", &old, &new])
        .may_complain()
        .run()
        .says("lamp-broken: rate 20 -> 9.25 of 1,000 jobs");
    Shop::new()
        .arguments(["diff", &old, &old])
        .may_complain()
        .run()
        .says("Nothing differs: both state the same.");
    Shop::new()
        .arguments(["--knowledge", &old, "diff", &new])
        .may_complain()
        .run()
        .says("lamp-broken: rate 20 -> 9.25 of 1,000 jobs");
}

#[test]
fn one_folder_is_compared_with_the_knowledge_in_the_program() {
    let shipped = concat!(env!("CARGO_MANIFEST_DIR"), "/knowledge");
    Shop::new()
        .arguments(["diff", shipped])
        .may_complain()
        .run()
        .says("From the knowledge in the program to")
        .says("Nothing differs");
    let (_folder, _, new) = editions(&edit());
    Shop::new()
        .arguments(["diff", &new])
        .may_complain()
        .run()
        .says("chain-cvt goes out: family")
        .says(
            "bench comes in: family, \"Lamp on a test bench\", 3 causes, 5 measurements, 1 symptom",
        );
}

#[test]
fn folders_that_cannot_be_used_are_refused() {
    let (_folder, old, new) = editions(&edit());
    Shop::new().arguments(["diff"]).fails_with(2).run();
    Shop::new()
        .arguments(["--knowledge", &old, "diff", &old, &new])
        .fails_with(2)
        .run()
        .complains("name the older folder once");
    Shop::new()
        .arguments(["diff", &old, "nowhere"])
        .fails_with(2)
        .run()
        .complains("nowhere cannot be read");
    let (_broken, old, broken) =
        editions(&Book::new().edit("bench/causes.yaml", "rate: 20,", "rate: twenty,"));
    Shop::new()
        .arguments(["diff", &old, &broken])
        .fails_with(1)
        .run()
        .complains(&format!("found in {broken}:"));
}

#[test]
fn json_has_the_whole_figures_under_stable_keys() {
    let (_folder, old, new) = editions(&edit());
    let told = Shop::new()
        .arguments(["diff", &old, &new, "--json"])
        .may_complain()
        .run();
    let answer: serde_json::Value = serde_json::from_str(&told.out).unwrap();
    let keys = |value: &serde_json::Value| -> Vec<String> {
        value.as_object().unwrap().keys().cloned().collect()
    };
    assert_eq!(
        keys(&answer),
        ["old", "new", "same", "changes", "answers", "cases"]
    );
    assert_eq!(answer["same"], false);
    let change = &answer["changes"][0];
    assert_eq!(
        keys(change),
        [
            "bears_on", "kind", "family", "id", "change", "field", "at", "was", "now"
        ]
    );
    assert_eq!(change["id"], "lamp-broken");
    assert_eq!(change["was"]["number"], 20.0);
    assert_eq!(change["now"]["number"], 9.25);
    assert_eq!(
        keys(&answer["answers"][0]),
        [
            "family",
            "symptom",
            "vehicle",
            "candidates",
            "repairs",
            "first",
            "fails"
        ]
    );
    assert_eq!(keys(&answer["cases"]), ["put", "differ"]);
    let same = Shop::new()
        .arguments(["diff", &old, &old, "--json"])
        .may_complain()
        .run();
    let answer: serde_json::Value = serde_json::from_str(&same.out).unwrap();
    assert_eq!(answer["same"], true);
    assert_eq!(answer["changes"].as_array().unwrap().len(), 0);
}
