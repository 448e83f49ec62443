//! Regular expressions over people's words.

use std::sync::OnceLock;

use regex::{Regex, RegexBuilder};
use regex_syntax::ast::{Ast, RepetitionKind, RepetitionRange, parse::Parser};
use serde::{Serialize, Serializer};

/// The most bytes a pattern may have.
const LONGEST: usize = 500;
/// The most memory a compiled pattern may take, in bytes: more than any of [`LONGEST`] bytes takes that
/// repeats nothing a counted number of times.
const LARGEST: usize = 1 << 23;
/// A pattern of no more parts than this compiles into far less than [`LARGEST`], so that it need not be tried.
const SURELY_FITS: usize = 20_000;
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
    /// A pattern; why not, where the text is no regular expression or asks for too much memory.
    pub fn new(text: &str) -> Result<Self, String> {
        if text.len() > LONGEST {
            return Err(format!("it has more than {LONGEST} bytes"));
        }
        let last_line = |words: String| {
            let reason = words.lines().last().unwrap_or_default();
            reason.trim_start_matches("error: ").to_owned()
        };
        let pattern = Self {
            text: text.to_owned(),
            compiled: OnceLock::new(),
        };
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

    /// The text of the expression.
    pub fn as_str(&self) -> &str {
        &self.text
    }

    /// The first place in the words where it matches.
    pub fn find<'w>(&self, words: &'w str) -> Option<&'w str> {
        let compiled = self.compiled.get_or_init(|| compile(&self.text).ok());
        compiled.as_ref()?.find(words).map(|found| found.as_str())
    }
}

impl Serialize for Pattern {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.text)
    }
}

/// How many characters and ranges of characters an expression comes to at most with its repetitions written out.
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

fn compile(text: &str) -> Result<Regex, regex::Error> {
    RegexBuilder::new(text)
        .case_insensitive(true)
        .size_limit(LARGEST)
        .build()
}
