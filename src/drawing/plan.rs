//! The plan as a drawing: SVG, and DOT through petgraph.

use petgraph::dot::{Config, Dot};
use petgraph::graph::{DiGraph, NodeIndex};
use svg::Document;
use svg::node::element::{Line, Rectangle, Text, Title};

use crate::decide::{Plan, PlanNode, Standing};
use crate::text::clean;
use crate::text::figures::{minutes, percent};

/// A box of the drawing: what to measure, or how it ends.
#[derive(Debug)]
struct Step {
    words: String,
    ends: bool,
}

/// A row's height, a column's width, and the box in it, in units of the drawing.
const ROW: f64 = 34.0;
const COLUMN: f64 = 330.0;
const BOX: f64 = 210.0;

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
            let words = repair.steps.first().map_or_else(
                || "hand on".to_owned(),
                |first| standing.repair_names(&first.repairs),
            );
            graph.add_node(Step { words, ends: true })
        }
        PlanNode::RepairOn(on) => {
            let names = standing.repair_names(&on.step.repairs);
            let words = format!("repair {names} ({})", minutes(on.step.minutes));
            let at = graph.add_node(Step { words, ends: false });
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
            let words = if measure.taking.shown {
                format!("{} (seen there)", known.name)
            } else {
                format!("{} ({})", known.name, minutes(measure.taking.minutes))
            };
            let at = graph.add_node(Step { words, ends: false });
            for branch in &measure.branches {
                let then = add(standing, &branch.then, graph);
                let name = &known.outcomes[branch.outcome].name;
                graph.add_edge(at, then, format!("{name} {}", percent(branch.probability)));
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
        format!("label = {}, shape = box{style}", quoted(&step.words))
    };
    let config = [Config::NodeNoLabel, Config::EdgeNoLabel];
    let dot = format!(
        "{:?}",
        Dot::with_attr_getters(&graph, &config, &edge, &node)
    );
    dot.replacen('{', "{\n    rankdir = LR", 1) + "\n"
}

/// The plan as SVG: from left to right, a row an end, an outcome on each line.
pub fn plan_svg(standing: &Standing<'_, '_>, plan: &Plan) -> String {
    let graph = graph(standing, plan);
    let mut places = vec![(0.0, 0.0); graph.node_count()];
    let mut rows = 0.0;
    place(&graph, NodeIndex::new(0), 0.0, &mut rows, &mut places);
    let right = places.iter().map(|(x, _)| *x).fold(0.0, f64::max) + BOX + 20.0;
    let mut document = Document::new()
        .set("viewBox", (0.0, 0.0, right, rows * ROW + 20.0))
        .set("role", "img")
        .set("font-family", "sans-serif")
        .set("font-size", 11)
        .add(Title::new(
            "The plan: measurements in boxes, ends in rounded boxes",
        ));
    for edge in graph.edge_indices() {
        let Some((from, to)) = graph.edge_endpoints(edge) else {
            continue;
        };
        let ((x1, y1), (x2, y2)) = (places[from.index()], places[to.index()]);
        document = document
            .add(
                Line::new()
                    .set("x1", x1 + BOX)
                    .set("y1", y1)
                    .set("x2", x2)
                    .set("y2", y2)
                    .set("stroke", "black"),
            )
            .add(
                Text::new(clean(&graph[edge]))
                    .set("x", x2 - 4.0)
                    .set("y", y2 - 4.0)
                    .set("text-anchor", "end"),
            );
    }
    for at in graph.node_indices() {
        let (x, y) = places[at.index()];
        let step = &graph[at];
        document = document
            .add(
                Rectangle::new()
                    .set("x", x)
                    .set("y", y - 11.0)
                    .set("width", BOX)
                    .set("height", 22)
                    .set("rx", if step.ends { 11 } else { 0 })
                    .set("fill", "white")
                    .set("stroke", "black"),
            )
            .add(
                Text::new(short(&clean(&step.words)))
                    .set("x", x + 6.0)
                    .set("y", y + 4.0),
            );
    }
    format!("{document}\n")
}

/// As much of the words as a box holds.
fn short(words: &str) -> String {
    const FITS: usize = 36;
    if words.chars().count() <= FITS {
        return words.to_owned();
    }
    words.chars().take(FITS - 1).chain(['\u{2026}']).collect()
}

/// Gives every node its place: ends a row each, the others in the middle of what follows them.
fn place(
    graph: &DiGraph<Step, String>,
    at: NodeIndex,
    depth: f64,
    rows: &mut f64,
    places: &mut [(f64, f64)],
) -> f64 {
    let mut next: Vec<NodeIndex> = graph.neighbors(at).collect();
    next.reverse();
    let heights: Vec<f64> = next
        .iter()
        .map(|then| place(graph, *then, depth + 1.0, rows, places))
        .collect();
    let y = if let (Some(first), Some(last)) = (heights.first(), heights.last()) {
        f64::midpoint(*first, *last)
    } else {
        *rows += 1.0;
        *rows * ROW
    };
    places[at.index()] = (10.0 + depth * COLUMN, y);
    y
}
