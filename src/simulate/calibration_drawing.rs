//! Said against so: the calibration of a study as a picture.

use svg::Document;
use svg::node::element::{Circle, Group, Line, Rectangle, Text, Title};

use super::Study;
use crate::knowledge::Family;
use crate::text::figures::percent;

/// The side of one square, the room round it for words, and how many stand beside each other.
const SIDE: f64 = 220.0;
const LEFT: f64 = 58.0;
const TOP: f64 = 34.0;
const BELOW: f64 = 52.0;
const ACROSS: usize = 2;
/// The radius of a dot that stands for all repairs.
const LARGEST: f64 = 26.0;

/// One square a complaint: to the right what was said, upwards how often it was so; a dot's area is its
/// share of the repairs advised. Dots on the diagonal are honest; below it more was said than was so.
#[must_use]
pub fn calibration_svg(family: &Family, studies: &[Study]) -> String {
    let rows = studies.len().div_ceil(ACROSS);
    #[allow(
        clippy::cast_precision_loss,
        reason = "a family has a handful of symptoms"
    )]
    let (across, down) = (studies.len().min(ACROSS) as f64, rows as f64);
    let (width, height) = (across * (LEFT + SIDE + 20.0), down * (TOP + SIDE + BELOW));
    let mut document = Document::new()
        .set("viewBox", (0, 0, width, height))
        .set("width", width)
        .set("height", height)
        .set("font-family", "sans-serif")
        .set("font-size", 12)
        .add(Title::new("Said against so"))
        .add(
            Rectangle::new()
                .set("width", width)
                .set("height", height)
                .set("fill", "white"),
        );
    for (place, study) in studies.iter().enumerate() {
        #[allow(
            clippy::cast_precision_loss,
            reason = "a family has a handful of symptoms"
        )]
        let (column, row) = ((place % ACROSS) as f64, (place / ACROSS) as f64);
        let group = square(&family.symptom(study.symptom).name, study).set(
            "transform",
            format!(
                "translate({} {})",
                column * (LEFT + SIDE + 20.0) + LEFT,
                row * (TOP + SIDE + BELOW) + TOP
            ),
        );
        document = document.add(group);
    }
    document.to_string()
}

fn square(name: &str, study: &Study) -> Group {
    let mut group = Group::new()
        .add(
            Rectangle::new()
                .set("width", SIDE)
                .set("height", SIDE)
                .set("fill", "none")
                .set("stroke", "black"),
        )
        .add(
            Line::new()
                .set("x1", 0)
                .set("y1", SIDE)
                .set("x2", SIDE)
                .set("y2", 0)
                .set("stroke", "grey")
                .set("stroke-dasharray", "4 4"),
        )
        .add(words(
            &format!("{name}: error {}", percent(study.calibration.error)),
            SIDE / 2.0,
            -12.0,
            "middle",
        ))
        .add(words("said", SIDE / 2.0, SIDE + 34.0, "middle"))
        .add(words("was so", -8.0, SIDE / 4.0 + 4.0, "end"));
    for (share, label) in [(0.0, "0"), (0.5, "50 %"), (1.0, "100 %")] {
        group = group
            .add(words(label, share * SIDE, SIDE + 16.0, "middle"))
            .add(words(label, -8.0, SIDE - share * SIDE + 4.0, "end"));
    }
    for class in &study.calibration.classes {
        let title = format!(
            "said {}, was so {}, {} of the repairs",
            percent(class.said),
            percent(class.was),
            percent(class.share)
        );
        group = group.add(
            Circle::new()
                .set("cx", class.said * SIDE)
                .set("cy", SIDE - class.was * SIDE)
                .set("r", (class.share.sqrt() * LARGEST).max(2.0))
                .set("fill", "black")
                .set("fill-opacity", 0.35)
                .set("stroke", "black")
                .add(Title::new(title)),
        );
    }
    group
}

fn words(text: &str, x: f64, y: f64, anchor: &str) -> Text {
    Text::new(text)
        .set("x", x)
        .set("y", y)
        .set("text-anchor", anchor)
}
