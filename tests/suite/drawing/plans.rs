use std::collections::BTreeMap;

use roxmltree::Document;

use super::picture::assert_tidy;
use crate::shop::program;

fn drawn(more: &[&str]) -> String {
    let folder = tempfile::tempdir().unwrap();
    let arguments: Vec<&str> = ["plan", "--svg"].iter().chain(more).copied().collect();
    let output = program(&arguments, "", folder.path(), &BTreeMap::new());
    assert!(output.status.success(), "{more:?}");
    String::from_utf8(output.stdout).unwrap()
}

#[test]
fn boxes_and_labels_of_a_plan_do_not_overlap_at_any_depth() {
    for symptom in ["no-drive", "tight-turn-binding"] {
        for depth in ["1", "2", "3", "4"] {
            assert_tidy(&drawn(&[symptom, "--depth", depth]));
        }
    }
}

#[test]
fn a_drawn_plan_names_its_complaint_and_its_vehicle() {
    let svg = drawn(&["no-drive", "--vehicle", "demo-wagon"]);
    let document = Document::parse(&svg).unwrap();
    let root = document.root_element();
    assert_eq!(root.attribute("role"), Some("img"));
    let title = root.children().find(|child| child.has_tag_name("title"));
    assert!(title.unwrap().text().unwrap().starts_with("Plan: No drive"));
    assert!(svg.contains("its sheet is invented"));
    assert!(drawn(&["no-drive"]).contains("No vehicle named"));
}
