mod dots;
mod families;
mod picture;
mod plans;

use families::{Dice, Draft, large, p, sketched, svg};
use halfsplit::drawing;
use halfsplit::fault_tree::Gate;
use halfsplit::knowledge::SymptomId;
use picture::{Area, assert_tidy, named, shape_area, text_area, texts};
use roxmltree::Document;

/// Every kind of thing a tree can hold: each gate, a shared part needed twice, a cause in two places.
fn every_kind() -> halfsplit::knowledge::Family {
    sketched(
        &[(
            "weak-supply",
            "ANY: Supply weak\n  pump-worn .9\n  strainer-clogged",
        )],
        "
ANY: Slips under load
  PART weak-supply .3
  ALL: Leak that control cannot see
    seal-weeping
    sensor-high
  AT LEAST 2: Small losses add up
    pump-tired
    bore-weeping
    seal-weeping
  ANY: Late and weak
    PART weak-supply .25
    clutch-worn .5
",
    )
}

fn areas(document: &Document<'_>, class: &str, shape: &str) -> Vec<Area> {
    let groups = named(document, class).into_iter();
    let shapes =
        groups.filter_map(|group| group.children().find(|child| child.has_tag_name(shape)));
    shapes.map(|node| shape_area(node).unwrap()).collect()
}

#[test]
fn a_drawing_of_38_causes_is_tidy_and_fits_a_sheet_of_a3() {
    let svg = svg(&large());
    assert_tidy(&svg);
    let document = Document::parse(&svg).unwrap();
    let millimetres = |name: &str| -> f64 {
        document
            .root_element()
            .attribute(name)
            .unwrap()
            .strip_suffix("mm")
            .unwrap()
            .parse()
            .unwrap()
    };
    // A3 is 420 mm by 297 mm (ISO 216); ten millimetres at each edge are left to the printer.
    assert!(millimetres("width") <= 400.0 && millimetres("height") <= 277.0);
    // The words are 12 units high: at least 2.5 mm, the size of this size of print at arm's length (7 point).
    let units: Vec<f64> = document
        .root_element()
        .attribute("viewBox")
        .unwrap()
        .split(' ')
        .map(|n| n.parse().unwrap())
        .collect();
    assert!(12.0 * millimetres("width") / units[2] >= 2.5);
    assert_eq!(named(&document, "cause").len(), 38);
}

#[test]
fn every_place_of_a_cause_has_a_row_with_its_id_rate_and_strength_in_the_order_of_the_tree() {
    let svg = svg(&every_kind());
    let document = Document::parse(&svg).unwrap();
    let rows: Vec<Vec<String>> = named(&document, "cause").into_iter().map(texts).collect();
    let shown: Vec<(&str, &str, &str)> = rows
        .iter()
        .map(|row| (row[1].as_str(), row[2].as_str(), row[3].as_str()))
        .collect();
    // By hand from the sketch; the rate is the length of the id modulo 14, plus 1.
    assert_eq!(
        shown,
        [
            ("pump-worn", "10", "0.9"),
            ("strainer-clogged", "3", "1"),
            ("seal-weeping", "13", "1"),
            ("sensor-high", "12", "1"),
            ("pump-tired", "11", "1"),
            ("bore-weeping", "13", "1"),
            ("seal-weeping", "13", "1"),
            ("clutch-worn", "12", "0.5"),
        ]
    );
    let heights: Vec<f64> = areas(&document, "cause", "circle")
        .iter()
        .map(Area::middle)
        .collect();
    assert!(heights.is_sorted_by(|a, b| a < b), "{heights:?}");
    let texts = document
        .descendants()
        .filter(|node| node.has_tag_name("text"));
    assert_eq!(
        texts
            .filter(|node| node.text() == Some("seal-weeping"))
            .count(),
        2
    );
}

#[test]
fn gates_carry_the_qualifiers_of_the_standard() {
    let svg = svg(&every_kind());
    let document = Document::parse(&svg).unwrap();
    // IEC 61025: OR ≥1, AND &, m out of n; the gate's sign is the last text of its event.
    let signs: Vec<String> = named(&document, "event")
        .into_iter()
        .map(|group| texts(group).pop().unwrap())
        .collect();
    assert_eq!(signs, ["≥1", "≥1", "&", "≥2/3", "≥1"]);
}

#[test]
fn a_part_needed_twice_is_drawn_once_and_the_second_time_a_transfer_of_its_name() {
    let svg = svg(&every_kind());
    let document = Document::parse(&svg).unwrap();
    let events = named(&document, "event");
    let parts: Vec<_> = events
        .iter()
        .filter(|group| group.attribute("data-part") == Some("weak-supply"))
        .collect();
    assert_eq!(parts.len(), 1);
    // A double frame, and the triangle that says a transfer refers to it.
    assert!(
        parts[0]
            .children()
            .filter(|child| child.has_tag_name("rect"))
            .count()
            >= 3
    );
    assert!(
        parts[0]
            .children()
            .any(|child| child.has_tag_name("polygon"))
    );
    let transfers = named(&document, "transfer");
    assert_eq!(transfers.len(), 1);
    assert_eq!(texts(transfers[0]), ["Supply weak", "weak-supply"]);
    assert!(
        transfers[0]
            .children()
            .any(|child| child.has_tag_name("polygon"))
    );
    // Its causes stand under the part alone.
    assert_eq!(
        texts(document.root())
            .iter()
            .filter(|text| *text == "strainer-clogged")
            .count(),
        1
    );
}

#[test]
fn a_branch_without_a_name_that_two_gates_need_gets_one_for_the_drawing() {
    let mut draft = Draft::default();
    let (a, b) = (
        draft.leaf("a", "A", 1.0, 1.0),
        draft.leaf("b", "B", 1.0, 1.0),
    );
    let both = draft
        .builder
        .gate(Gate::All, "Both", None, &[a, b])
        .unwrap();
    let left = draft
        .builder
        .gate(Gate::Any, "Left", None, &[both, a])
        .unwrap();
    let right = draft
        .builder
        .gate(Gate::Any, "Right", None, &[b, both])
        .unwrap();
    let top = draft
        .builder
        .gate(Gate::Any, "Top", None, &[left, right])
        .unwrap();
    let svg = svg(&draft.family("Top", top));
    assert_tidy(&svg);
    let document = Document::parse(&svg).unwrap();
    assert_eq!(texts(named(&document, "transfer")[0]), ["Both", "branch 1"]);
    assert_eq!(
        texts(named(&document, "event")[2]),
        ["Both", "branch 1", "&"]
    );
    assert_eq!(texts(named(&document, "event")[0])[0], "Top");
}

#[test]
fn the_strength_of_a_reference_stands_on_its_line() {
    let svg = svg(&every_kind());
    let document = Document::parse(&svg).unwrap();
    let numbers: Vec<Vec<String>> = named(&document, "strength")
        .into_iter()
        .map(texts)
        .collect();
    assert_eq!(numbers, [["0.3"], ["0.25"]]);
    let heights: Vec<f64> = areas(&document, "strength", "rect")
        .iter()
        .map(Area::middle)
        .collect();
    let part = areas(&document, "event", "rect")[1].middle();
    let transfer = areas(&document, "transfer", "polygon")[0].middle();
    assert!(
        (heights[0] - part).abs() < 0.2 && (heights[1] - transfer).abs() < 0.2,
        "{heights:?} {part} {transfer}"
    );
}

#[test]
fn an_event_stands_half_way_between_its_first_and_its_last_input() {
    let svg = svg(&sketched(
        &[],
        "ANY: Top\n  ALL: Pair\n    a\n    b\n  c\n  d",
    ));
    let document = Document::parse(&svg).unwrap();
    let causes: Vec<f64> = areas(&document, "cause", "circle")
        .iter()
        .map(Area::middle)
        .collect();
    let events: Vec<f64> = areas(&document, "event", "rect")
        .iter()
        .map(Area::middle)
        .collect();
    assert!((events[1] - f64::midpoint(causes[0], causes[1])).abs() < 0.2);
    assert!((events[0] - f64::midpoint(events[1], causes[3])).abs() < 0.2);
}

#[test]
fn the_legend_explains_what_the_drawing_holds_and_nothing_else() {
    let words = |svg: &str| texts(Document::parse(svg).unwrap().root()).join(" ");
    let plain = words(&svg(&sketched(&[], "ANY: Top\n  a\n  b")));
    assert!(
        plain.contains("OR gate") && plain.contains("Basic event"),
        "{plain}"
    );
    for absent in [
        "AND gate",
        "Voting",
        "Transfer",
        "Number on a line",
        "Part that",
        "several places",
    ] {
        assert!(!plain.contains(absent), "{absent} in {plain}");
    }
    let all = words(&svg(&every_kind()));
    for present in [
        "OR gate",
        "AND gate",
        "Voting",
        "Transfer",
        "Number on a line",
        "Part that",
        "several places",
    ] {
        assert!(all.contains(present), "no {present} in {all}");
    }
    assert!(
        plain.contains("Every figure is a workshop's judgement, not a statistic."),
        "{plain}"
    );
}

#[test]
fn a_drawing_tells_the_whole_tree_in_words_to_who_cannot_see_it() {
    let svg = svg(&every_kind());
    let document = Document::parse(&svg).unwrap();
    let root = document.root_element();
    assert_eq!(root.attribute("role"), Some("img"));
    for id in root.attribute("aria-labelledby").unwrap().split(' ') {
        assert!(
            root.children()
                .any(|child| child.attribute("id") == Some(id)),
            "{id}"
        );
    }
    let description = root
        .children()
        .find(|child| child.has_tag_name("desc"))
        .unwrap()
        .text()
        .unwrap();
    assert!(
        description.contains("\n  - (0.3) Supply weak [weak-supply], any of\n    - "),
        "{description}"
    );
    assert!(
        description.contains("\n  - Small losses add up, at least 2 of 3\n"),
        "{description}"
    );
    assert!(
        description.contains("[clutch-worn], rate 12 in 1,000, strength 0.5"),
        "{description}"
    );
    assert!(
        description.contains("- (0.25) Supply weak [weak-supply], drawn above"),
        "{description}"
    );
}

#[test]
fn a_drawing_is_made_of_black_grey_and_white() {
    let svg = svg(&every_kind());
    let document = Document::parse(&svg).unwrap();
    for node in document.descendants() {
        for name in ["fill", "stroke"] {
            if let Some(colour) = node.attribute(name) {
                assert!(
                    ["none", "#000", "#fff", "#bbb"].contains(&colour),
                    "{colour}"
                );
            }
        }
    }
    assert!(
        !svg.contains("style"),
        "styles would leak into a page the drawing is put in"
    );
}

#[test]
fn a_lone_cause_under_a_complaint_is_drawn_under_the_complaint() {
    let mut draft = Draft::default();
    let leaf = draft.leaf("a", "A", 2.5, 0.5);
    let top = draft.builder.sometimes(p(0.25), leaf);
    let svg = svg(&draft.family("Top", top));
    assert_tidy(&svg);
    let document = Document::parse(&svg).unwrap();
    assert_eq!(texts(named(&document, "event")[0]), ["Top"]);
    assert_eq!(
        texts(named(&document, "cause")[0]),
        ["A", "a", "2.5", "0.5"]
    );
    assert_eq!(texts(named(&document, "strength")[0]), ["0.25"]);
}

/// Words that would break a careless drawing.
fn hostile() -> Vec<String> {
    vec![
        "<script>alert(1)</script>".to_owned(),
        "]]> & \"quotes\" 'and' &amp; <!-- -->".to_owned(),
        "bell \u{7} escape \u{1b}[31m nul \u{0} no character \u{ffff} \u{fffe}".to_owned(),
        "turned \u{202e}round\u{2066} and \u{200f}back".to_owned(),
        "W".repeat(300),
        "a word and another ".repeat(16),
        "油压过低".repeat(40),
        String::new(),
        "ends in a backslash \\".to_owned(),
        "\\N \\G } ] ; -> \" [label=\"x\"]".to_owned(),
        "line\nbreak\r\n\ttab".to_owned(),
    ]
}

/// A tree in which every title, event, id and part's name is hostile.
fn hostile_family(words: &str) -> halfsplit::knowledge::Family {
    let mut draft = Draft::default();
    let leaves = [
        draft.leaf(words, words, 3.0, 0.123_456_789),
        draft.leaf("b", words, 1e-9, 1e-300),
    ];
    let part = draft
        .builder
        .gate(Gate::AtLeast(1), words, Some(words), &leaves)
        .unwrap();
    let weak = draft.builder.sometimes(p(0.123_456_789), part);
    let weaker = draft.builder.sometimes(p(0.5), weak);
    let other = draft
        .builder
        .gate(Gate::All, words, None, &[weaker, leaves[1]])
        .unwrap();
    let top = draft
        .builder
        .gate(Gate::Any, words, None, &[part, other])
        .unwrap();
    let mut family = draft.family(words, top);
    words.clone_into(&mut family.title);
    words.clone_into(&mut family.worth);
    words.clone_into(&mut family.name);
    words.clone_into(&mut family.symptoms[0].name);
    family
}

#[test]
fn hostile_words_stay_words_and_within_their_frames() {
    for words in hostile() {
        let svg = svg(&hostile_family(&words));
        assert_tidy(&svg);
        let document = Document::parse(&svg).unwrap();
        assert!(
            !document
                .descendants()
                .any(|node| node.has_tag_name("script") || node.is_comment()),
            "{words}"
        );
        assert!(
            !svg.chars().any(|c| c.is_control() && c != '\n'),
            "{words:?}"
        );
        assert_eq!(named(&document, "cause").len(), 3, "{words:?}");
        assert_eq!(named(&document, "transfer").len(), 1, "{words:?}");
    }
}

/// A random tree: parts, repeated causes, every gate, strengths anywhere.
fn random_family(dice: &mut Dice) -> halfsplit::knowledge::Family {
    let mut draft = Draft::default();
    let mut places: Vec<_> = (0..2 + dice.below(20))
        .map(|n| {
            draft.leaf(
                &format!("cause-{n}"),
                &"word ".repeat(1 + dice.below(40)),
                1.0 + dice.below(30) as f64,
                dice.unit(),
            )
        })
        .collect();
    for n in 0..=dice.below(12) {
        let inputs: Vec<_> = (0..=dice.below(5))
            .map(|_| {
                let input = places[dice.below(places.len())];
                if dice.below(4) == 0 {
                    draft.builder.sometimes(p(dice.unit()), input)
                } else {
                    input
                }
            })
            .collect();
        let gate = [
            Gate::Any,
            Gate::All,
            Gate::AtLeast(1 + dice.below(inputs.len())),
        ][dice.below(3)];
        let event = "event ".repeat(dice.below(25));
        let name = format!("part-{n}");
        let shared = (dice.below(3) == 0).then_some(name.as_str());
        places.push(draft.builder.gate(gate, &event, shared, &inputs).unwrap());
    }
    let top = *places.last().unwrap();
    draft.family("A random complaint", top)
}

#[test]
fn random_trees_are_drawn_tidily_with_every_transfer_leading_somewhere() {
    for seed in 0..300 {
        let family = random_family(&mut Dice::new(seed));
        let svg = svg(&family);
        assert_tidy(&svg);
        let document = Document::parse(&svg).unwrap();
        let events = named(&document, "event");
        let tree = &family.symptoms[0].tree;
        let gates = tree
            .graph()
            .node_weights()
            .filter(|node| matches!(node, halfsplit::fault_tree::Node::Gate { .. }));
        assert_eq!(events.len(), gates.count().max(1), "seed {seed}");
        for transfer in named(&document, "transfer") {
            let part = transfer.attribute("data-part");
            let there: Vec<_> = events
                .iter()
                .filter(|event| event.attribute("data-part") == part)
                .collect();
            assert_eq!(there.len(), 1, "seed {seed}: {part:?}");
            // "Further up" is where the legend sends the reader: to the gate, its sign the last of its texts.
            let sign = there[0]
                .children()
                .rfind(|child| child.has_tag_name("text"))
                .unwrap();
            let triangle = transfer
                .children()
                .find(|child| child.has_tag_name("polygon"))
                .unwrap();
            assert!(
                text_area(sign).middle() < shape_area(triangle).unwrap().middle(),
                "seed {seed}"
            );
        }
    }
}

/// A tree is printed at nine tenths of its size at the least, which leaves the smallest letters above 1.5 mm.
const SHRUNK: f64 = 1.0 / 0.9;

#[test]
fn every_shipped_tree_is_drawn_tidily_with_all_its_causes_on_a_sheet_of_a3() {
    for family in &crate::by_name::shipped().families {
        for (place, symptom) in family.symptoms.iter().enumerate() {
            let svg = drawing::svg(family, SymptomId::at(place));
            assert_tidy(&svg);
            let document = Document::parse(&svg).unwrap();
            let rows = named(&document, "cause");
            for cause in symptom.tree.causes() {
                let name = family.cause(cause).name.as_str();
                assert!(
                    rows.iter()
                        .any(|row| row.attribute("data-cause") == Some(name)),
                    "no {name} in {}",
                    symptom.name
                );
            }
            assert!(
                svg.contains("What the figures are worth:"),
                "{}",
                symptom.name
            );
            let sides = ["width", "height"].map(|side| {
                let side = document.root_element().attribute(side).unwrap();
                side.strip_suffix("mm").unwrap().parse::<f64>().unwrap()
            });
            let (long, short) = (sides[0].max(sides[1]), sides[0].min(sides[1]));
            assert!(
                long <= SHRUNK * 400.0 && short <= SHRUNK * 277.0,
                "{}: {sides:?}",
                symptom.name
            );
        }
    }
}
