//! The DOT text, read back by a small reader of the language.

use super::families::{Dice, dot, large};
use super::{every_kind, hostile, hostile_family, random_family};

#[derive(Debug, PartialEq)]
enum Token {
    Word(String),
    Quoted(String),
    Sign(char),
}

/// The tokens of a DOT text; a quoted string ends at the first quote without a backslash before it, and keeps its
/// escapes (Graphviz, "The DOT Language").
fn tokens(dot: &str) -> Vec<Token> {
    let mut tokens = vec![];
    let mut rest = dot.chars().peekable();
    while let Some(c) = rest.next() {
        match c {
            '"' => {
                let mut text = String::new();
                loop {
                    match rest.next().expect("a quoted string ends") {
                        '"' => break,
                        '\\' => text.extend(['\\', rest.next().expect("an escape ends")]),
                        c => text.push(c),
                    }
                }
                tokens.push(Token::Quoted(text));
            }
            '{' | '}' | '[' | ']' | '=' | ';' | ',' => tokens.push(Token::Sign(c)),
            '-' => {
                assert_eq!(rest.next(), Some('>'));
                tokens.push(Token::Sign('>'));
            }
            c if c.is_alphanumeric() => {
                let mut word = c.to_string();
                while let Some(c) = rest.next_if(|c| c.is_alphanumeric() || "._".contains(*c)) {
                    word.push(c);
                }
                tokens.push(Token::Word(word));
            }
            c => assert!(c.is_whitespace(), "{c:?} outside quotes"),
        }
    }
    tokens
}

/// The edges of a DOT text as numbers of nodes, and how many nodes are declared.
fn graph(dot: &str) -> (Vec<(usize, usize)>, usize) {
    let tokens = tokens(dot);
    assert_eq!(tokens[0], Token::Word("digraph".to_owned()));
    let count = |sign| {
        tokens
            .iter()
            .filter(|token| **token == Token::Sign(sign))
            .count()
    };
    assert_eq!(count('{'), 1);
    assert_eq!(count('}'), 1);
    assert_eq!(count('['), count(']'));
    let number = |token: &Token| match token {
        Token::Word(word) => word.parse::<usize>().ok(),
        _ => None,
    };
    let mut edges = vec![];
    let mut nodes = 0;
    for window in tokens.windows(3) {
        if let (Some(from), Token::Sign('>'), Some(to)) =
            (number(&window[0]), &window[1], number(&window[2]))
        {
            edges.push((from, to));
        } else if number(&window[1]).is_some()
            && window[2] == Token::Sign('[')
            && !matches!(window[0], Token::Sign('>' | '='))
        {
            nodes += 1;
        }
    }
    (edges, nodes)
}

/// The labels of the nodes, in order.
fn labels(dot: &str) -> Vec<String> {
    let tokens = tokens(dot);
    let pairs = tokens.windows(3).filter_map(|window| match window {
        [Token::Word(word), Token::Sign('='), Token::Quoted(text)] if word == "label" => {
            Some(text.clone())
        }
        _ => None,
    });
    pairs.skip(1).collect()
}

#[test]
fn the_dot_text_has_the_nodes_and_lines_of_the_tree() {
    let mut families = vec![large(), every_kind()];
    families.extend((0..100).map(|seed| random_family(&mut Dice::new(seed))));
    for family in families {
        let tree = family.symptoms[0].tree.graph();
        let (edges, nodes) = graph(&dot(&family));
        let expected: Vec<(usize, usize)> = tree
            .edge_indices()
            .filter_map(|edge| tree.edge_endpoints(edge))
            .map(|(from, to)| (from.index(), to.index()))
            .collect();
        assert_eq!(edges, expected);
        assert_eq!(nodes, tree.node_count());
    }
}

#[test]
fn the_dot_labels_carry_events_gates_parts_rates_and_strengths() {
    // Where a line of words breaks is a matter of looks.
    let labels: Vec<String> = labels(&dot(&every_kind()))
        .iter()
        .map(|label| label.replace("\\n", " "))
        .collect();
    for expected in [
        "Supply weak [weak-supply] ≥1",
        "Leak that control cannot see &",
        "Small losses add up ≥2/3",
        "0.3",
        "clutch worn of the unit, out of order clutch-worn rate 12 in 1,000, strength 0.5",
    ] {
        assert!(
            labels.iter().any(|label| label == expected),
            "{expected} not in {labels:#?}"
        );
    }
}

#[test]
fn hostile_words_end_no_string_of_the_dot_text() {
    for words in hostile() {
        let dot = dot(&hostile_family(&words));
        let (edges, nodes) = graph(&dot);
        assert_eq!((edges.len(), nodes), (8, 7), "{words:?}");
        assert!(
            !dot.chars().any(|c| c.is_control() && c != '\n'),
            "{words:?}"
        );
        for label in labels(&dot) {
            let mut rest = label.chars();
            while let Some(c) = rest.next() {
                if c == '\\' {
                    assert!(matches!(rest.next(), Some('n' | '\\' | '"')), "{label}");
                }
            }
        }
    }
}
