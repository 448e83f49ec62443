//! Regular expressions over people's words.

use std::collections::BTreeSet;
use std::ops::Range;
use std::sync::OnceLock;

use regex::{Regex, RegexBuilder};
use regex_syntax::ast::{
    Ast, ClassSet, ClassSetItem, RepetitionKind, RepetitionRange, parse::Parser,
};
use serde::{Serialize, Serializer};

/// The most bytes a pattern may have.
const LONGEST: usize = 500;
/// The most memory a compiled pattern may take, in bytes: more than any of [`LONGEST`] bytes takes that
/// repeats nothing a counted number of times.
const LARGEST: usize = 1 << 23;
/// A pattern of no more parts than this compiles into far less than [`LARGEST`], so that it need not be tried.
const SURELY_FITS: usize = 20_000;
/// More parts than can fit into [`LARGEST`]: compiling gives up there, so that no pattern costs more.
const MOST_TRIED: usize = 150_000;
/// As many ranges of characters as a class such as `\w` has, or more.
const CLASS: usize = 800;

/// A regular expression without regard to case. It is compiled when it is first used, which takes long
/// beside everything else that loading does.
#[derive(Clone, Debug)]
pub struct Pattern {
    text: String,
    compiled: OnceLock<Option<Regex>>,
}

impl Pattern {
    /// A pattern of a text that is known to be one; a text that is none matches nothing.
    pub fn known(text: &str) -> Self {
        Self {
            text: text.to_owned(),
            compiled: OnceLock::new(),
        }
    }

    /// A pattern; why not, where the text is no regular expression or asks for too much memory.
    pub fn new(text: &str) -> Result<Self, String> {
        if text.len() > LONGEST {
            return Err(format!("it has more than {LONGEST} bytes"));
        }
        let last_line = |words: String| {
            let reason = words.lines().last().unwrap_or_default();
            reason.trim_start_matches("error: ").to_owned()
        };
        let pattern = Self::known(text);
        let parsed = Parser::new().parse(text);
        let parsed = parsed.map_err(|error| last_line(error.to_string()))?;
        // Whether flags and the names of classes are right shows when it is compiled. A counted repetition makes a long
        // program of a short text.
        let named = ["(?", "\\p", "\\P"].iter().any(|of| text.contains(of));
        if named || parts(&parsed) > SURELY_FITS {
            let regex = compile(text).map_err(|error| last_line(error.to_string()))?;
            pattern.compiled.get_or_init(|| Some(regex));
        }
        Ok(pattern)
    }

    /// How many characters and ranges of characters an expression comes to at most with its repetitions written out:
    /// what it takes to compile. 0 of what is no expression, or too long for one.
    pub fn parts(text: &str) -> usize {
        if text.len() > LONGEST {
            return 0;
        }
        let parsed = Parser::new().parse(text);
        parsed.map_or(0, |parsed| parts(&parsed).min(MOST_TRIED))
    }

    /// The text of the expression.
    pub fn as_str(&self) -> &str {
        &self.text
    }

    /// The first place in the words where it matches.
    pub fn find<'w>(&self, words: &'w str) -> Option<&'w str> {
        let place = self.places(words).next()?;
        Some(&words[place])
    }

    /// The places in the words where it matches, in bytes.
    pub fn places(&self, words: &str) -> impl Iterator<Item = Range<usize>> {
        let compiled = self.compiled.get_or_init(|| compile(&self.text).ok());
        let found = compiled.iter().flat_map(|regex| regex.find_iter(words));
        found.map(|found| found.range())
    }

    /// The words that it spells out, in lower case; one that goes on with any letters ends in [`OPEN`]. Of
    /// `\bshak(es|ing)\b|\bbuck\w*`: shakes, shaking and buck*.
    pub fn words(&self) -> BTreeSet<String> {
        let mut words = BTreeSet::new();
        if let Ok(parsed) = Parser::new().parse(&self.text) {
            let ends = spell(&parsed, BTreeSet::from([String::new()]), &mut words);
            finish(ends, &mut words);
        }
        words
    }
}

impl Serialize for Pattern {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.text)
    }
}

fn parts(expression: &Ast) -> usize {
    let sum = |all: &[Ast]| all.iter().map(parts).fold(0, usize::saturating_add);
    match expression {
        Ast::Empty(_) | Ast::Flags(_) | Ast::Assertion(_) | Ast::Literal(_) => 1,
        Ast::Dot(_) => 2,
        Ast::ClassUnicode(_) | Ast::ClassPerl(_) | Ast::ClassBracketed(_) => CLASS,
        Ast::Group(group) => parts(&group.ast),
        Ast::Repetition(repeated) => {
            let times = match repeated.op.kind {
                RepetitionKind::Range(
                    RepetitionRange::Exactly(most)
                    | RepetitionRange::AtLeast(most)
                    | RepetitionRange::Bounded(_, most),
                ) => most.max(1),
                _ => 1,
            };
            parts(&repeated.ast).saturating_mul(usize::try_from(times).unwrap_or(usize::MAX))
        }
        Ast::Concat(all) => sum(&all.asts),
        Ast::Alternation(all) => sum(&all.asts),
    }
}

/// What stands for any letters, at the end of a word of [`Pattern::words`].
pub(super) const OPEN: char = '*';
/// A pattern that comes to more beginnings of words than this is not spelt out any further.
const MOST_BEGINNINGS: usize = 2_000;

/// Spells an expression out behind the beginnings of words; gives how those go on, and adds the words that end.
fn spell(
    expression: &Ast,
    begun: BTreeSet<String>,
    words: &mut BTreeSet<String>,
) -> BTreeSet<String> {
    if begun.len() > MOST_BEGINNINGS {
        return BTreeSet::from([OPEN.to_string()]);
    }
    match expression {
        Ast::Empty(_) | Ast::Flags(_) => begun,
        Ast::Assertion(_) => finish(begun, words),
        Ast::Literal(literal) => grow(begun, literal.c, words),
        Ast::ClassBracketed(class) => match letters(&class.kind) {
            Some(letters) if !class.negated => {
                let each = letters
                    .into_iter()
                    .map(|letter| grow(begun.clone(), letter, words));
                each.flatten().collect()
            }
            _ => open(begun),
        },
        Ast::Group(group) => spell(&group.ast, begun, words),
        Ast::Repetition(repeated) if repeated.op.kind == RepetitionKind::ZeroOrOne => {
            // With any sign, as in `won.?t`, it is no word.
            let mut both = spell(&repeated.ast, begun.clone(), words);
            both.extend(begun);
            both
        }
        Ast::Dot(_) | Ast::ClassUnicode(_) | Ast::ClassPerl(_) | Ast::Repetition(_) => open(begun),
        Ast::Concat(all) => all
            .asts
            .iter()
            .fold(begun, |begun, part| spell(part, begun, words)),
        Ast::Alternation(all) => {
            let each = all
                .asts
                .iter()
                .map(|part| spell(part, begun.clone(), words));
            each.flatten().collect()
        }
    }
}

/// The letters that a class lists one by one, where it does no more.
fn letters(class: &ClassSet) -> Option<Vec<char>> {
    let letter = |item: &ClassSetItem| match item {
        ClassSetItem::Literal(literal) => Some(literal.c),
        _ => None,
    };
    match class {
        ClassSet::Item(ClassSetItem::Union(union)) => union.items.iter().map(letter).collect(),
        ClassSet::Item(item) => letter(item).map(|letter| vec![letter]),
        ClassSet::BinaryOp(_) => None,
    }
}

/// The words go on with any letters.
fn open(begun: BTreeSet<String>) -> BTreeSet<String> {
    let begun = begun.into_iter();
    begun
        .map(|it| format!("{}{OPEN}", it.trim_end_matches(OPEN)))
        .collect()
}

/// One letter more; another sign ends the words.
fn grow(begun: BTreeSet<String>, letter: char, words: &mut BTreeSet<String>) -> BTreeSet<String> {
    if letter.is_alphabetic() {
        begun
            .into_iter()
            .map(|it| it + &letter.to_lowercase().to_string())
            .collect()
    } else {
        finish(begun, words)
    }
}

/// The words end here, those of them that are spelt out.
fn finish(begun: BTreeSet<String>, words: &mut BTreeSet<String>) -> BTreeSet<String> {
    let open_at_the_end = |word: &String| {
        word.find(OPEN)
            .is_none_or(|at| at > 0 && at + 1 == word.len())
    };
    words.extend(
        begun
            .into_iter()
            .filter(|word| !word.is_empty() && open_at_the_end(word)),
    );
    BTreeSet::from([String::new()])
}

fn compile(text: &str) -> Result<Regex, regex::Error> {
    RegexBuilder::new(text)
        .case_insensitive(true)
        .size_limit(LARGEST)
        .build()
}
