//! A drawing read back: what stands where, reckoned from the SVG alone.

use roxmltree::{Document, Node};

/// A rectangle that something visible takes.
#[derive(Clone, Debug)]
pub(super) struct Area {
    #[allow(dead_code, reason = "read in the message of a failing test")]
    pub(super) what: String,
    pub(super) left: f64,
    pub(super) top: f64,
    pub(super) right: f64,
    pub(super) bottom: f64,
}

impl Area {
    pub(super) fn middle(&self) -> f64 {
        f64::midpoint(self.top, self.bottom)
    }

    /// Whether two areas share more than an edge; a tenth is lost to rounding.
    pub(super) fn meets(&self, other: &Self) -> bool {
        self.left + 0.1 < other.right
            && other.left + 0.1 < self.right
            && self.top + 0.1 < other.bottom
            && other.top + 0.1 < self.bottom
    }

    pub(super) fn holds(&self, other: &Self) -> bool {
        self.left <= other.left + 0.1
            && self.right >= other.right - 0.1
            && self.top <= other.top + 0.1
            && self.bottom >= other.bottom - 0.1
    }
}

/// Advance widths in thousandths, from the font files' `hmtx` table (`DejaVu Sans`): what the letters of
/// the tests' own words take.
fn letter(c: char, bold: bool) -> f64 {
    let em = match c {
        'i' | 'j' | 'l' => 278.0,
        ' ' | '.' | ',' => 318.0,
        'I' | 'J' => 295.0,
        'f' | 'r' | 't' | '-' | '(' | ')' | '[' | ']' | '/' | ':' | ';' | '!' | '|' | '\\'
        | '\'' => 337.0,
        'm' | 'W' | '@' => 974.0,
        'M' | 'w' => 818.0,
        's' | 'c' | 'z' | '?' => 521.0,
        'A'..='Z' => 557.0,
        '0'..='9' => 636.0,
        // Chinese, Japanese and Korean characters fill their square, bold or not.
        '\u{2e80}'..='\u{ffff}' => return 1.0,
        _ => 575.0,
    };
    em / 1000.0 * if bold { 1.1 } else { 1.0 }
}

pub(super) fn number(node: Node<'_, '_>, name: &str) -> f64 {
    node.attribute(name)
        .unwrap_or_else(|| panic!("{name} of {node:?}"))
        .parse()
        .unwrap()
}

/// What a text element takes: capitals rise 0.73 of the size over the baseline, tails hang 0.24 below.
pub(super) fn text_area(node: Node<'_, '_>) -> Area {
    let text = node.text().unwrap_or_default();
    let (x, y, size) = (
        number(node, "x"),
        number(node, "y"),
        number(node, "font-size"),
    );
    let bold = node.attribute("font-weight").is_some();
    let mono = node.attribute("font-family").is_some();
    let width: f64 = text.chars().map(|c| if mono && c.is_ascii() { 0.602 } else { letter(c, bold) } * size).sum();
    let left = match node.attribute("text-anchor") {
        Some("middle") => x - width / 2.0,
        Some("end") => x - width,
        _ => x,
    };
    Area {
        what: format!("{text:?}"),
        left,
        top: y - 0.73 * size,
        right: left + width,
        bottom: y + 0.24 * size,
    }
}

/// What a closed shape takes; `None` for what is none.
pub(super) fn shape_area(node: Node<'_, '_>) -> Option<Area> {
    let (left, top, right, bottom) = match node.tag_name().name() {
        "rect" => {
            let (x, y) = (number(node, "x"), number(node, "y"));
            (x, y, x + number(node, "width"), y + number(node, "height"))
        }
        "circle" => {
            let (x, y, r) = (number(node, "cx"), number(node, "cy"), number(node, "r"));
            (x - r, y - r, x + r, y + r)
        }
        "polygon" => {
            let points: Vec<(f64, f64)> = node
                .attribute("points")
                .unwrap()
                .split(' ')
                .map(|point| point.split_once(',').unwrap())
                .map(|(x, y)| (x.parse().unwrap(), y.parse().unwrap()))
                .collect();
            let over = |pick: fn(&(f64, f64)) -> f64, start: f64, f: fn(f64, f64) -> f64| {
                points.iter().map(pick).fold(start, f)
            };
            (
                over(|p| p.0, f64::INFINITY, f64::min),
                over(|p| p.1, f64::INFINITY, f64::min),
                over(|p| p.0, f64::NEG_INFINITY, f64::max),
                over(|p| p.1, f64::NEG_INFINITY, f64::max),
            )
        }
        _ => return None,
    };
    let what = node
        .parent()
        .unwrap()
        .children()
        .find(|child| child.has_tag_name("title"));
    let what = format!(
        "{} of {:?}",
        node.tag_name().name(),
        what.and_then(|title| title.text()).unwrap_or("the legend")
    );
    Some(Area {
        what,
        left,
        top,
        right,
        bottom,
    })
}

pub(super) fn named<'d>(document: &'d Document<'_>, class: &str) -> Vec<Node<'d, 'd>> {
    document
        .descendants()
        .filter(|node| node.attribute("class") == Some(class))
        .collect()
}

/// The texts of a group, in order, its title left out.
pub(super) fn texts(group: Node<'_, '_>) -> Vec<String> {
    let texts = group.descendants().filter(|node| node.has_tag_name("text"));
    texts
        .map(|node| node.text().unwrap_or_default().to_owned())
        .collect()
}

/// Checks that nothing runs out of the sheet, that no two texts meet, and that a shape and a text or another shape
/// meet only where one holds the other.
pub(super) fn assert_tidy(svg: &str) {
    let document = Document::parse(svg).unwrap();
    let root = document.root_element();
    let size: Vec<f64> = root
        .attribute("viewBox")
        .unwrap()
        .split(' ')
        .map(|n| n.parse().unwrap())
        .collect();
    let sheet = Area {
        what: "sheet".to_owned(),
        left: 0.0,
        top: 0.0,
        right: size[2],
        bottom: size[3],
    };
    let texts: Vec<Area> = document
        .descendants()
        .filter(|node| node.has_tag_name("text"))
        .map(text_area)
        .collect();
    let shapes: Vec<Area> = document.descendants().filter_map(shape_area).collect();
    for area in texts.iter().chain(&shapes) {
        assert!(sheet.holds(area), "{area:?} runs out of {sheet:?}");
    }
    for (at, text) in texts.iter().enumerate() {
        for other in &texts[at + 1..] {
            assert!(!text.meets(other), "{text:?} meets {other:?}");
        }
        for shape in &shapes {
            assert!(
                !text.meets(shape) || shape.holds(text),
                "{text:?} runs over the edge of {shape:?}"
            );
        }
    }
    for (at, shape) in shapes.iter().enumerate() {
        for other in &shapes[at + 1..] {
            assert!(
                !shape.meets(other) || shape.holds(other) || other.holds(shape),
                "{shape:?} meets {other:?}"
            );
        }
    }
}
