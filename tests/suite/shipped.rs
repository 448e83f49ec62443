use std::path::Path;

use halfsplit::manual::{Source, load};

/// The knowledge that is shipped loads without an error or a warning.
#[test]
fn the_shipped_knowledge_loads_without_findings() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("knowledge");
    match load(&Source::folder(&folder).unwrap()) {
        Ok(loaded) => assert!(loaded.warnings.0.is_empty(), "{}", loaded.warnings),
        Err(findings) => panic!("{findings}"),
    }
}
