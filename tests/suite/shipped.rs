use std::path::Path;

use halfsplit::load::{Source, load};

/// The knowledge that is shipped loads without an error or a warning.
#[test]
fn the_shipped_knowledge_loads_without_findings() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("knowledge");
    match load(&Source::folder(&folder).unwrap()) {
        Ok(loaded) => assert!(loaded.warnings.0.is_empty(), "{}", loaded.warnings),
        Err(findings) => panic!("{findings}"),
    }
}

/// What is in the binary is what lies in the folder.
#[test]
fn the_embedded_knowledge_is_the_folder() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("knowledge");
    let on_disk = Source::folder(&folder).unwrap();
    let embedded = Source::embedded();
    let files: Vec<(&str, &str)> = on_disk.files().collect();
    assert_eq!(embedded.files().collect::<Vec<_>>(), files);
}

/// The binary holds its knowledge parsed already: that gives what parsing gives.
#[test]
fn the_embedded_knowledge_reads_as_its_texts_do() {
    let embedded = Source::embedded();
    let parsed = load(&Source::texts(embedded.files())).unwrap();
    let embedded = load(&embedded).unwrap();
    assert_eq!(embedded.warnings, parsed.warnings);
    let written = |knowledge| format!("{knowledge:?}");
    assert!(written(embedded.knowledge) == written(parsed.knowledge));
}
