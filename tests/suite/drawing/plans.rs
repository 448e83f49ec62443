use std::collections::BTreeMap;

use roxmltree::Document;

use super::picture::assert_tidy;
use crate::loading_papers::training;
use crate::shop::program;

/// A plan for the small family of docs/knowledge.md, as the program draws it.
fn drawn(how: &str, more: &[&str]) -> String {
    let folder = training(&[]);
    let knowledge = folder.path().to_str().unwrap();
    let arguments = ["plan", "slipping", how, "--knowledge", knowledge];
    let arguments: Vec<&str> = arguments.iter().chain(more).copied().collect();
    let output = program(&arguments, "", folder.path(), &BTreeMap::new());
    assert!(output.status.success(), "{more:?}");
    String::from_utf8(output.stdout).unwrap()
}

#[test]
fn boxes_and_labels_of_a_plan_do_not_overlap_at_any_depth() {
    for depth in ["1", "2", "3", "4", "9"] {
        assert_tidy(&drawn("--svg", &["--depth", depth]));
    }
}

#[test]
fn a_drawn_plan_names_its_complaint_and_its_vehicle() {
    let svg = drawn("--svg", &["--vehicle", "bench-one"]);
    let document = Document::parse(&svg).unwrap();
    let root = document.root_element();
    assert_eq!(root.attribute("role"), Some("img"));
    let title = root.children().find(|child| child.has_tag_name("title"));
    assert!(
        title
            .unwrap()
            .text()
            .unwrap()
            .starts_with("Plan: The drive slips")
    );
    assert!(svg.contains("its sheet is invented"));
    assert!(drawn("--svg", &[]).contains("No vehicle named"));
    let dot = drawn("--dot", &["--vehicle", "bench-one"]);
    assert!(dot.starts_with("digraph {\n    rankdir = LR"));
    assert_eq!(dot.matches('{').count(), dot.matches('}').count());
}
