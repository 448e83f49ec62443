//! Stated against observed probability, as a picture.

use std::fmt::Write as _;

use super::study::Study;
use crate::text::figures::percent;

/// The side of one panel, the room round it for words, and how many panels a row has.
const SIDE: u16 = 220;
const LEFT: usize = 58;
const TOP: usize = 34;
const BELOW: usize = 52;
const ACROSS: usize = 2;

/// One panel for each complaint: to the right what was said, upwards how often it was so. A dot's area is its share of
/// the repairs advised. Points on the diagonal are calibrated; below it, more was said than was so.
pub fn calibration_svg(studies: &[Study]) -> String {
    let side = usize::from(SIDE);
    let (wide, high) = (LEFT + side + 20, TOP + side + BELOW);
    let width = studies.len().min(ACROSS) * wide;
    let height = studies.len().div_ceil(ACROSS) * high;
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\" viewBox=\"0 0 {width} {height}\" \
         font-family=\"sans-serif\" font-size=\"12\">\n<title>Stated against observed probability</title>\n\
         <rect width=\"{width}\" height=\"{height}\" fill=\"white\"/>\n"
    );
    for (place, study) in studies.iter().enumerate() {
        let (x, y) = (place % ACROSS * wide + LEFT, place / ACROSS * high + TOP);
        // Writing to a string does not fail.
        let _ = panel(&mut svg, study, x, y);
    }
    svg + "</svg>\n"
}

fn panel(svg: &mut String, study: &Study, x: usize, y: usize) -> std::fmt::Result {
    let (side, middle, below) = (SIDE, SIDE / 2, SIDE + 34);
    let length = f64::from(SIDE);
    let error = percent(study.calibration.error)
        .replace('<', "&lt;")
        .replace('>', "&gt;");
    writeln!(
        svg,
        "<g transform=\"translate({x} {y})\">\n\
         <rect width=\"{side}\" height=\"{side}\" fill=\"none\" stroke=\"black\"/>\n\
         <line y1=\"{side}\" x2=\"{side}\" stroke=\"grey\" stroke-dasharray=\"4 4\"/>\n\
         <text x=\"{middle}\" y=\"-12\" text-anchor=\"middle\">{}: error {error}</text>\n\
         <text x=\"{middle}\" y=\"{below}\" text-anchor=\"middle\">stated</text>\n\
         <text x=\"-8\" y=\"{}\" text-anchor=\"end\">observed</text>",
        study.symptom,
        SIDE / 4 + 4
    )?;
    for (at, label) in [(0, "0"), (middle, "50 %"), (side, "100 %")] {
        writeln!(
            svg,
            "<text x=\"{at}\" y=\"{}\" text-anchor=\"middle\">{label}</text>\n\
             <text x=\"-8\" y=\"{}\" text-anchor=\"end\">{label}</text>",
            side + 16,
            side - at + 4
        )?;
    }
    for class in &study.calibration.classes {
        let (right, up) = (class.said * length, length - class.was * length);
        let radius = (class.share.sqrt() * 26.0).max(2.0);
        writeln!(
            svg,
            "<circle cx=\"{right:.1}\" cy=\"{up:.1}\" r=\"{radius:.1}\" fill-opacity=\"0.35\" stroke=\"black\"/>"
        )?;
    }
    writeln!(svg, "</g>")
}
