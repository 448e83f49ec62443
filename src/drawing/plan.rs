//! The plan as a drawing: SVG, and DOT through petgraph.

use petgraph::dot::{Config, Dot};
use petgraph::graph::{DiGraph, NodeIndex};

use super::layout::{Branch, MARGIN, Rect, height, tidy};
use super::symbols::{Pen, Tie, escaped, sheet};
use super::text::{Face, PROSE, SMALL, TITLE};
use crate::decide::{Plan, PlanNode, Standing};
use crate::text::clean;
use crate::text::figures::{minutes, percent};

/// A box of the drawing: what to do, or how it ends.
#[derive(Debug)]
struct Step {
    words: String,
    /// What it takes.
    takes: String,
    ends: bool,
}

/// The width of a box, and of the room between two boxes.
const BOX: f64 = 200.0;
const ROOM: f64 = 190.0;
/// From a box to the upright line that joins what follows it.
const TO_SPINE: f64 = 12.0;
/// Inside a box, and between a label and its line.
const PADDING: f64 = 8.0;
/// Between boxes one under the other.
const GAP: f64 = 10.0;
/// The narrowest sheet: its title stays readable.
const NARROWEST: f64 = 700.0;
/// The most lines of a box, a label, and a paragraph of the head: titles are shorter.
const LINES: usize = 20;

/// The plan as a graph.
fn graph(standing: &Standing<'_, '_>, plan: &Plan) -> DiGraph<Step, String> {
    let mut graph = DiGraph::new();
    add(standing, &plan.tree, &mut graph);
    graph
}

fn add(
    standing: &Standing<'_, '_>,
    node: &PlanNode,
    graph: &mut DiGraph<Step, String>,
) -> NodeIndex {
    match node {
        PlanNode::Repair(repair) => {
            let (words, takes) = repair.steps.first().map_or_else(
                || ("Hand on".to_owned(), String::new()),
                |first| {
                    (
                        format!("Repair: {}", standing.repair_titles(&first.repairs)),
                        minutes(first.minutes),
                    )
                },
            );
            graph.add_node(Step {
                words,
                takes,
                ends: true,
            })
        }
        PlanNode::RepairOn(on) => {
            let at = graph.add_node(Step {
                words: format!("Repair: {}", standing.repair_titles(&on.step.repairs)),
                takes: minutes(on.step.minutes),
                ends: false,
            });
            if let Some(then) = &on.then {
                let then = add(standing, then, graph);
                let label = format!("not cured {}", percent(1.0 - on.step.probability));
                graph.add_edge(at, then, label);
            }
            at
        }
        PlanNode::Measure(measure) => {
            let family = standing.model.family;
            let known = family.measurement(standing.named(measure.measurement));
            let takes = if measure.taking.shown {
                "seen there".to_owned()
            } else {
                minutes(measure.taking.minutes)
            };
            let words = match measure.taking.recorded.len() {
                0 => known.title.clone(),
                all => format!("{}, recorded with {} more", known.title, all - 1),
            };
            let at = graph.add_node(Step {
                words,
                takes,
                ends: false,
            });
            for branch in &measure.branches {
                let then = add(standing, &branch.then, graph);
                let outcome = known.outcomes[branch.outcome].words();
                graph.add_edge(
                    at,
                    then,
                    format!("{outcome} {}", percent(branch.probability)),
                );
            }
            at
        }
    }
}

/// The plan in Graphviz's DOT language.
pub fn plan_dot(standing: &Standing<'_, '_>, plan: &Plan) -> String {
    let graph = graph(standing, plan);
    let quoted = |text: &str| format!("{:?}", clean(text));
    let edge = |_: &DiGraph<Step, String>, edge: petgraph::graph::EdgeReference<'_, String>| {
        format!("label = {}", quoted(edge.weight()))
    };
    let node = |_: &DiGraph<Step, String>, (_, step): (NodeIndex, &Step)| {
        let style = if step.ends { ", style = rounded" } else { "" };
        format!(
            "label = {}, shape = box{style}",
            quoted(format!("{} {}", step.words, step.takes).trim_end())
        )
    };
    let config = [Config::NodeNoLabel, Config::EdgeNoLabel];
    let dot = format!(
        "{:?}",
        Dot::with_attr_getters(&graph, &config, &edge, &node)
    );
    dot.replacen('{', "{\n    rankdir = LR", 1) + "\n"
}

/// A step, placed: its box, and the label of the line to it.
struct Placed {
    words: Vec<String>,
    label: Vec<String>,
    /// The steps that follow it, in order.
    next: Vec<usize>,
    left: f64,
    /// Of the box's middle and of the line to it.
    y: f64,
    height: f64,
}

/// The plan as SVG: from left to right, each outcome and its probability above the line to what follows.
pub fn plan_svg(standing: &Standing<'_, '_>, plan: &Plan) -> String {
    let graph = graph(standing, plan);
    let mut placed: Vec<Placed> = graph.node_indices().map(|at| measure(&graph, at)).collect();
    for at in 0..placed.len() {
        let left = placed[at].left + BOX + ROOM;
        for then in placed[at].next.clone() {
            placed[then].left = left;
        }
    }
    let right = placed.iter().map(|at| at.left + BOX).fold(0.0, f64::max);
    let width = NARROWEST.max(right + MARGIN);
    let mut pen = Pen::default();
    let title = head(standing);
    let mut top = MARGIN + 10.0;
    for (face, words) in title.iter().map(|(face, words)| (*face, words)) {
        let lines = face.wrap(words, width - 2.0 * MARGIN, LINES);
        pen.paragraph(face, Tie::Start, MARGIN, top, &lines);
        top += height(lines.len(), face);
    }
    let branches = placed.iter().map(|place| Branch {
        after: &place.next,
        // The box, and the label on the line to it.
        above: (place.height / 2.0).max(height(place.label.len(), SMALL) + PADDING),
        below: place.height / 2.0,
    });
    let (heights, bottom) = tidy(&branches.collect::<Vec<_>>(), top + GAP, |_, _| GAP);
    for (place, y) in placed.iter_mut().zip(heights) {
        place.y = y;
    }
    for at in graph.node_indices() {
        draw(&mut pen, &placed[at.index()], graph[at].ends, &placed);
    }
    let tall = bottom + MARGIN;
    let words = format!(
        "aria-labelledby=\"plan-title\">\n<title id=\"plan-title\">{}</title>",
        escaped(&title[0].1)
    );
    let view = format!("viewBox=\"0 0 {width:.1} {tall:.1}\"");
    sheet((width, tall), &view, &words, &pen)
}

/// The lines at the top.
fn head(standing: &Standing<'_, '_>) -> [(Face, String); 3] {
    let model = standing.model;
    let present = model.complaint.present.iter();
    let symptoms: Vec<&str> = present
        .map(|symptom| model.family.symptom(*symptom).title.as_str())
        .collect();
    let vehicle = match model.vehicle {
        None => "No vehicle named.".to_owned(),
        Some(vehicle) if vehicle.invented => format!("{}: its sheet is invented.", vehicle.title),
        Some(vehicle) => vehicle.title.clone(),
    };
    let key = "A rounded box ends the measuring. The plan goes on after a square box with no line from it.";
    [
        (TITLE, format!("Plan: {}", symptoms.join("; "))),
        (PROSE, vehicle),
        (SMALL, key.to_owned()),
    ]
}

/// A step's words in lines, not yet placed.
fn measure(graph: &DiGraph<Step, String>, at: NodeIndex) -> Placed {
    let step = &graph[at];
    let mut words = PROSE.wrap(&step.words, BOX - 2.0 * PADDING, LINES);
    words.extend(PROSE.wrap(&step.takes, BOX - 2.0 * PADDING, LINES));
    let to = graph
        .edges_directed(at, petgraph::Direction::Incoming)
        .next();
    let label = to.map_or("", |edge| edge.weight().as_str());
    let mut next: Vec<usize> = graph.neighbors(at).map(NodeIndex::index).collect();
    next.reverse();
    Placed {
        label: SMALL.wrap(label, ROOM - TO_SPINE - 2.0 * PADDING, LINES),
        next,
        left: MARGIN,
        y: 0.0,
        height: height(words.len(), PROSE) + 2.0 * PADDING,
        words,
    }
}

/// A step's box and the lines to what follows it.
fn draw(pen: &mut Pen, place: &Placed, ends: bool, placed: &[Placed]) {
    let spine = place.left + BOX + TO_SPINE;
    if let (Some(first), Some(last)) = (place.next.first(), place.next.last()) {
        pen.stroke((place.left + BOX, place.y), (spine, place.y));
        pen.stroke((spine, placed[*first].y), (spine, placed[*last].y));
    }
    for then in &place.next {
        let then = &placed[*then];
        pen.stroke((spine, then.y), (then.left, then.y));
        let y = then.y - height(then.label.len(), SMALL) + SMALL.line / 2.0 - 3.0;
        pen.paragraph(SMALL, Tie::Start, spine + PADDING, y, &then.label);
    }
    let top = place.y - place.height / 2.0;
    let frame = Rect::new(place.left, top, BOX, place.height);
    if ends {
        pen.rounded(frame);
    } else {
        pen.frame(frame, false, false);
    }
    let y = frame.y + PADDING + PROSE.line / 2.0;
    pen.paragraph(PROSE, Tie::Start, frame.x + PADDING, y, &place.words);
}
