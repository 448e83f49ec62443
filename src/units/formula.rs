//! Derived quantities: arithmetic over named readings, with the uncertainty carried through.
//!
//! The text is read here, so that every complaint has its column and the size has its bounds; what
//! the expression library gets is the same arithmetic with every pair of brackets written out. It
//! evaluates over pairs of a value and a derivative, which gives the partial derivatives exactly,
//! also of `abs`, `min` and `max`.

use crate::text::quoted;
use exmex::{BinOp, Express, FlatEx, MakeOperators, NumberMatcher, Operator};
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::num::ParseFloatError;
use std::str::FromStr;

/// The longest formula, in characters.
pub const LONGEST: usize = 200;
/// The deepest nesting: brackets, functions and signs inside each other.
pub const DEEPEST: usize = 16;
/// The most operators and functions.
pub const MOST_OPERATORS: usize = 64;
/// The most different names.
pub const MOST_NAMES: usize = 16;

/// A checked formula.
///
/// Numbers; names of lower-case letters, digits and `_`, a letter first; `+ - * / ^`; brackets; `pi`;
/// the functions `abs sqrt exp ln sin cos tan asin acos atan` of one value and `min max` of two;
/// angles in radians. A power is reckoned from the right and before a sign: `-x^2` is `-(x^2)`.
#[derive(Clone, Debug)]
pub struct Formula {
    text: String,
    names: Vec<Name>,
    expression: FlatEx<Dual, Arithmetic, NumberMatcher>,
}

/// A name in a formula.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Name {
    /// The name.
    pub name: String,
    /// Where it first stands: the column in the text, from 1, in characters.
    pub column: usize,
}

/// A formula that cannot be used: where, and why.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("column {column}: {reason}")]
pub struct BadFormula {
    /// The column in the text, from 1, in characters.
    pub column: usize,
    /// What is wrong there.
    pub reason: String,
}

/// A value and its standard uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measured {
    /// The value.
    pub value: f64,
    /// Its standard uncertainty.
    pub u: f64,
}

/// A formula that has no value for these readings.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoValue {
    /// A reading that it needs was not given.
    #[error("{0} has not been read")]
    Missing(String),
    /// The result is not a finite number.
    #[error("{0} has no finite value for these readings")]
    NotFinite(String),
}

impl Formula {
    /// Reads a formula.
    ///
    /// # Errors
    ///
    /// [`BadFormula`] with the place of the first fault: a character or an order of signs that means
    /// nothing, an unknown function, or more than [`LONGEST`], [`DEEPEST`], [`MOST_OPERATORS`] or
    /// [`MOST_NAMES`] allow.
    pub fn parse(text: &str) -> Result<Self, BadFormula> {
        let mut reader = Reader::new(text)?;
        reader.sum(0)?;
        if let Some(found) = reader.peek() {
            return Err(reader.fault(format!("{} is out of place", quoted(&found.to_string()))));
        }
        let refused = |_| BadFormula {
            column: 1,
            reason: "no arithmetic".to_owned(),
        };
        let expression = FlatEx::parse(&reader.out).map_err(refused)?;
        Ok(Self {
            text: text.to_owned(),
            names: reader.names,
            expression,
        })
    }

    /// The text it was read from.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The names in it, each once, in the order of their first places.
    #[must_use]
    pub fn names(&self) -> &[Name] {
        &self.names
    }

    /// The names in it that are not among the known ones.
    pub fn unknown<'a>(
        &'a self,
        known: impl Fn(&str) -> bool + 'a,
    ) -> impl Iterator<Item = &'a Name> {
        self.names.iter().filter(move |name| !known(&name.name))
    }

    /// The value of the formula, and its standard uncertainty to first order for independent
    /// readings: `u² = Σ (∂f/∂xᵢ)² uᵢ²` (JCGM 100, 5.1.2).
    ///
    /// # Errors
    ///
    /// [`NoValue`] where a name has no reading, or the value or the uncertainty is not finite, as
    /// after a division by zero.
    pub fn evaluate(&self, readings: &BTreeMap<String, Measured>) -> Result<Measured, NoValue> {
        let not_finite = || NoValue::NotFinite(self.text.clone());
        let given = self
            .expression
            .var_names()
            .iter()
            .map(|name| {
                readings
                    .get(name)
                    .copied()
                    .ok_or_else(|| NoValue::Missing(name.clone()))
            })
            .collect::<Result<Vec<_>, _>>()?;
        let with_seed = |seed: Option<usize>| {
            let seeded = given.iter().enumerate().map(|(place, reading)| Dual {
                value: reading.value,
                slope: f64::from(u8::from(Some(place) == seed)),
            });
            self.expression
                .eval(&seeded.collect::<Vec<_>>())
                .map_err(|_| not_finite())
        };
        let value = with_seed(None)?.value;
        let mut u = 0.0_f64;
        for (place, reading) in given.iter().enumerate() {
            // A reading without uncertainty adds none, also where the slope there is infinite.
            if reading.u != 0.0 {
                u = u.hypot(with_seed(Some(place))?.slope * reading.u);
            }
        }
        if value.is_finite() && u.is_finite() {
            Ok(Measured {
                value: value + 0.0,
                u,
            })
        } else {
            Err(not_finite())
        }
    }
}

/// Reads the text from left to right and writes it out again with every bracket.
struct Reader {
    text: Vec<char>,
    at: usize,
    operators: usize,
    names: Vec<Name>,
    out: String,
}

const FUNCTIONS: [&str; 10] = [
    "abs", "sqrt", "exp", "ln", "sin", "cos", "tan", "asin", "acos", "atan",
];
const FUNCTIONS_OF_TWO: [&str; 2] = ["min", "max"];

impl Reader {
    fn new(text: &str) -> Result<Self, BadFormula> {
        let reader = Self {
            text: text.chars().take(LONGEST + 1).collect(),
            at: 0,
            operators: 0,
            names: Vec::new(),
            out: String::new(),
        };
        if reader.text.len() > LONGEST {
            let reason = format!("longer than {LONGEST} characters");
            return Err(BadFormula {
                column: LONGEST + 1,
                reason,
            });
        }
        Ok(reader)
    }

    fn fault(&self, reason: impl Into<String>) -> BadFormula {
        BadFormula {
            column: self.at + 1,
            reason: reason.into(),
        }
    }

    /// The next character that is no blank.
    fn peek(&mut self) -> Option<char> {
        while self.text.get(self.at) == Some(&' ') {
            self.at += 1;
        }
        self.text.get(self.at).copied()
    }

    fn operator(&mut self) -> Result<(), BadFormula> {
        self.operators += 1;
        if self.operators > MOST_OPERATORS {
            return Err(self.fault(format!("more than {MOST_OPERATORS} operators")));
        }
        Ok(())
    }

    /// Writes what `read` reads to the right of the operand that began at `start`.
    fn pair(
        &mut self,
        start: usize,
        operator: &str,
        read: impl FnOnce(&mut Self) -> Result<(), BadFormula>,
    ) -> Result<(), BadFormula> {
        self.operator()?;
        self.out.insert(start, '(');
        self.out.push_str(operator);
        read(self)?;
        self.out.push(')');
        Ok(())
    }

    fn sum(&mut self, depth: usize) -> Result<(), BadFormula> {
        let start = self.out.len();
        self.product(depth)?;
        while let Some(sign @ ('+' | '-')) = self.peek() {
            self.at += 1;
            let operator = if sign == '+' { "+" } else { "-" };
            self.pair(start, operator, |reader| reader.product(depth))?;
        }
        Ok(())
    }

    fn product(&mut self, depth: usize) -> Result<(), BadFormula> {
        let start = self.out.len();
        self.signed(depth)?;
        while let Some(sign @ ('*' | '/')) = self.peek() {
            self.at += 1;
            let operator = if sign == '*' { "*" } else { "/" };
            self.pair(start, operator, |reader| reader.signed(depth))?;
        }
        Ok(())
    }

    fn signed(&mut self, depth: usize) -> Result<(), BadFormula> {
        match self.peek() {
            Some('-') => {
                self.operator()?;
                self.deeper(depth)?;
                self.at += 1;
                self.out.push_str("(0-");
                self.signed(depth + 1)?;
                self.out.push(')');
                Ok(())
            }
            _ => self.power(depth),
        }
    }

    fn power(&mut self, depth: usize) -> Result<(), BadFormula> {
        let start = self.out.len();
        self.operand(depth)?;
        if self.peek() == Some('^') {
            self.deeper(depth)?;
            self.at += 1;
            self.pair(start, "^", |reader| reader.signed(depth + 1))?;
        }
        Ok(())
    }

    fn deeper(&self, depth: usize) -> Result<(), BadFormula> {
        if depth >= DEEPEST {
            return Err(self.fault(format!("nested deeper than {DEEPEST}")));
        }
        Ok(())
    }

    fn expect(&mut self, wanted: char) -> Result<(), BadFormula> {
        match self.peek() {
            Some(found) if found == wanted => {
                self.at += 1;
                Ok(())
            }
            Some(found) => {
                let found = quoted(&found.to_string());
                Err(self.fault(format!("found {found} where {wanted:?} was due")))
            }
            None => Err(self.fault(format!("ends where {wanted:?} was due"))),
        }
    }

    fn operand(&mut self, depth: usize) -> Result<(), BadFormula> {
        match self.peek() {
            Some('(') => {
                self.deeper(depth)?;
                self.at += 1;
                self.sum(depth + 1)?;
                self.expect(')')
            }
            Some(c) if c.is_ascii_digit() || c == '.' => self.number(),
            Some(c) if c.is_ascii_lowercase() || c == '_' => self.word(depth),
            Some(c) => {
                let found = quoted(&c.to_string());
                Err(self.fault(format!("found {found} where a number or a name was due")))
            }
            None => Err(self.fault("ends where a number or a name was due")),
        }
    }

    fn take_while(&mut self, fits: impl Fn(char) -> bool) -> String {
        let rest = self.text.iter().skip(self.at);
        let taken: String = rest.take_while(|c| fits(**c)).collect();
        self.at += taken.chars().count();
        taken
    }

    fn number(&mut self) -> Result<(), BadFormula> {
        const LARGEST: f64 = 1e12;
        let start = self.at;
        let digits = self.take_while(|c| c.is_ascii_digit() || c == '.');
        match digits.parse::<f64>() {
            Ok(number) if number <= LARGEST => {
                let _ = write!(self.out, "{number}");
                Ok(())
            }
            _ => {
                self.at = start;
                Err(self.fault(format!("{} is no number that can be used", quoted(&digits))))
            }
        }
    }

    fn word(&mut self, depth: usize) -> Result<(), BadFormula> {
        let start = self.at;
        let word = self.take_while(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_');
        let called = self.peek() == Some('(');
        if called {
            if FUNCTIONS.contains(&word.as_str()) {
                self.operator()?;
                self.out.push_str(&word);
                self.out.push('(');
                self.argument(depth)?;
                self.expect(')')?;
                self.out.push(')');
            } else if FUNCTIONS_OF_TWO.contains(&word.as_str()) {
                let begin = self.out.len();
                self.argument(depth)?;
                self.expect(',')?;
                self.pair(begin, &format!(" {word} "), |reader| reader.sum(depth + 1))?;
                self.expect(')')?;
            } else {
                self.at = start;
                return Err(self.fault(format!(
                    "no function {}: there are {}, {}",
                    quoted(&word),
                    FUNCTIONS.join(", "),
                    FUNCTIONS_OF_TWO.join(", ")
                )));
            }
        } else if word == "pi" {
            let _ = write!(self.out, "{}", std::f64::consts::PI);
        } else if FUNCTIONS.contains(&word.as_str()) || FUNCTIONS_OF_TWO.contains(&word.as_str()) {
            return Err(self.fault(format!("the function {word} wants a bracket")));
        } else {
            // In braces it is a name to the library even where it has an operator of that name.
            let _ = write!(self.out, "{{{word}}}");
            if !self.names.iter().any(|known| known.name == word) {
                self.names.push(Name {
                    name: word,
                    column: start + 1,
                });
                if self.names.len() > MOST_NAMES {
                    self.at = start;
                    return Err(self.fault(format!("more than {MOST_NAMES} names")));
                }
            }
        }
        Ok(())
    }

    fn argument(&mut self, depth: usize) -> Result<(), BadFormula> {
        self.deeper(depth)?;
        self.expect('(')?;
        self.sum(depth + 1)
    }
}

/// A value and its derivative by one of the names: automatic differentiation, forward.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Dual {
    value: f64,
    slope: f64,
}

impl FromStr for Dual {
    type Err = ParseFloatError;
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        text.parse().map(|value| Self { value, slope: 0.0 })
    }
}

impl Dual {
    /// `f(self)` and by the chain rule `f′ · slope`. A constant stays one also where `f′` is infinite.
    fn through(self, value: f64, derivative: f64) -> Self {
        Self {
            value,
            slope: product(derivative, self.slope),
        }
    }

    fn power(self, exponent: Self) -> Self {
        let value = self.value.powf(exponent.value);
        let by_base = exponent.value * self.value.powf(exponent.value - 1.0);
        let by_exponent = value * self.value.ln();
        Self {
            value,
            slope: product(by_base, self.slope) + product(by_exponent, exponent.slope),
        }
    }
}

/// A product that is 0 where the slope is: nothing changes with what does not occur.
fn product(derivative: f64, slope: f64) -> f64 {
    if slope == 0.0 {
        0.0
    } else {
        derivative * slope
    }
}

/// The operators that the library is given: one of each rank is enough, all brackets being written.
#[derive(Clone, Debug)]
struct Arithmetic;

impl MakeOperators<Dual> for Arithmetic {
    fn make<'a>() -> Vec<Operator<'a, Dual>> {
        fn pair(apply: fn(Dual, Dual) -> Dual) -> BinOp<Dual> {
            BinOp {
                apply,
                prio: 0,
                is_commutative: false,
            }
        }
        vec![
            Operator::make_bin(
                "+",
                pair(|a, b| Dual {
                    value: a.value + b.value,
                    slope: a.slope + b.slope,
                }),
            ),
            Operator::make_bin(
                "-",
                pair(|a, b| Dual {
                    value: a.value - b.value,
                    slope: a.slope - b.slope,
                }),
            ),
            Operator::make_bin(
                "*",
                pair(|a, b| Dual {
                    value: a.value * b.value,
                    slope: product(b.value, a.slope) + product(a.value, b.slope),
                }),
            ),
            Operator::make_bin(
                "/",
                pair(|a, b| {
                    let value = a.value / b.value;
                    let slope =
                        product(b.value.recip(), a.slope) - product(value / b.value, b.slope);
                    Dual { value, slope }
                }),
            ),
            Operator::make_bin("^", pair(Dual::power)),
            Operator::make_bin("min", pair(|a, b| if b.value < a.value { b } else { a })),
            Operator::make_bin("max", pair(|a, b| if b.value > a.value { b } else { a })),
            Operator::make_unary("abs", |x| x.through(x.value.abs(), x.value.signum())),
            Operator::make_unary("sqrt", |x| x.through(x.value.sqrt(), 0.5 / x.value.sqrt())),
            Operator::make_unary("exp", |x| x.through(x.value.exp(), x.value.exp())),
            Operator::make_unary("ln", |x| x.through(x.value.ln(), x.value.recip())),
            Operator::make_unary("sin", |x| x.through(x.value.sin(), x.value.cos())),
            Operator::make_unary("cos", |x| x.through(x.value.cos(), -x.value.sin())),
            Operator::make_unary("tan", |x| x.through(x.value.tan(), x.value.cos().powi(-2))),
            Operator::make_unary("asin", |x| {
                x.through(x.value.asin(), (1.0 - x.value * x.value).sqrt().recip())
            }),
            Operator::make_unary("acos", |x| {
                x.through(x.value.acos(), -(1.0 - x.value * x.value).sqrt().recip())
            }),
            Operator::make_unary("atan", |x| {
                x.through(x.value.atan(), (1.0 + x.value * x.value).recip())
            }),
        ]
    }
}
