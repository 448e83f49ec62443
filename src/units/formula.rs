//! Derived quantities: arithmetic over named readings, with the uncertainty carried through.
//!
//! A formula is read into a small tree, every complaint with its column and the size bounded. It is evaluated over
//! pairs of a value and a derivative (forward automatic differentiation), which gives the partial derivatives exactly,
//! also of `abs`, `min` and `max`.

use std::collections::BTreeMap;

use serde::{Serialize, Serializer};

use crate::text::quoted;

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
/// angles in radians. Powers associate to the right and bind closer than a sign: `-x^2` is `-(x^2)`.
#[derive(Clone, Debug)]
pub struct Formula {
    text: String,
    names: Vec<Name>,
    expression: Expression,
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

type OfOne = fn(Dual) -> Dual;
type OfTwo = fn(Dual, Dual) -> Dual;

/// A formula as a tree.
#[derive(Clone, Debug)]
enum Expression {
    Number(f64),
    Reading(String),
    One(OfOne, Box<Self>),
    Two(OfTwo, Box<[Self; 2]>),
}

impl Expression {
    fn at(&self, reading: &impl Fn(&str) -> Dual) -> Dual {
        match self {
            Self::Number(value) => Dual::constant(*value),
            Self::Reading(name) => reading(name),
            Self::One(apply, of) => apply(of.at(reading)),
            Self::Two(apply, of) => apply(of[0].at(reading), of[1].at(reading)),
        }
    }
}

impl Serialize for Formula {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.text)
    }
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
        let mut reader = Reader {
            text: text.chars().take(LONGEST + 1).collect(),
            at: 0,
            operators: 0,
            names: Vec::new(),
        };
        if reader.text.len() > LONGEST {
            reader.at = LONGEST;
            return Err(reader.fault(format!("longer than {LONGEST} characters")));
        }
        let expression = reader.sum(0)?;
        if let Some(found) = reader.peek() {
            return Err(reader.fault(format!("{} is out of place", quoted(&found.to_string()))));
        }
        Ok(Self {
            text: text.to_owned(),
            names: reader.names,
            expression,
        })
    }

    /// The text it was read from.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The names in it, each once, in the order of their first places.
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
        let mut given: BTreeMap<&str, Measured> = BTreeMap::new();
        for Name { name, .. } in &self.names {
            let reading = readings.get(name);
            given.insert(
                name,
                *reading.ok_or_else(|| NoValue::Missing(name.clone()))?,
            );
        }
        // The derivative by one of the names, or by none.
        let by = |varied: &str| {
            self.expression.at(&|name| Dual {
                value: given[name].value,
                slope: f64::from(u8::from(name == varied)),
            })
        };
        let value = by("").value;
        let mut u = 0.0_f64;
        for (name, reading) in &given {
            // A reading without uncertainty adds none, also where the slope there is infinite.
            if reading.u != 0.0 {
                u = u.hypot(by(name).slope * reading.u);
            }
        }
        if value.is_finite() && u.is_finite() {
            Ok(Measured {
                value: value + 0.0,
                u,
            })
        } else {
            Err(NoValue::NotFinite(self.text.clone()))
        }
    }
}

/// Reads the text from left to right (recursive descent).
struct Reader {
    text: Vec<char>,
    at: usize,
    operators: usize,
    names: Vec<Name>,
}

type Parsed = Result<Expression, BadFormula>;

impl Reader {
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

    fn deeper(&self, depth: usize) -> Result<usize, BadFormula> {
        if depth >= DEEPEST {
            return Err(self.fault(format!("nested deeper than {DEEPEST}")));
        }
        Ok(depth + 1)
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

    /// `left`, and what `read` reads to the right of an operator.
    fn pair(
        &mut self,
        apply: OfTwo,
        left: Expression,
        read: impl FnOnce(&mut Self) -> Parsed,
    ) -> Parsed {
        self.operator()?;
        Ok(Expression::Two(apply, Box::new([left, read(self)?])))
    }

    fn sum(&mut self, depth: usize) -> Parsed {
        let mut left = self.product(depth)?;
        while let Some(sign @ ('+' | '-')) = self.peek() {
            self.at += 1;
            let apply = if sign == '+' { Dual::plus } else { Dual::minus };
            left = self.pair(apply, left, |reader| reader.product(depth))?;
        }
        Ok(left)
    }

    fn product(&mut self, depth: usize) -> Parsed {
        let mut left = self.signed(depth)?;
        while let Some(sign @ ('*' | '/')) = self.peek() {
            self.at += 1;
            let apply = if sign == '*' { Dual::times } else { Dual::over };
            left = self.pair(apply, left, |reader| reader.signed(depth))?;
        }
        Ok(left)
    }

    fn signed(&mut self, depth: usize) -> Parsed {
        if self.peek() != Some('-') {
            return self.power(depth);
        }
        let nothing = Expression::Number(0.0);
        self.pair(Dual::minus, nothing, |reader| {
            let depth = reader.deeper(depth)?;
            reader.at += 1;
            reader.signed(depth)
        })
    }

    fn power(&mut self, depth: usize) -> Parsed {
        let base = self.operand(depth)?;
        if self.peek() != Some('^') {
            return Ok(base);
        }
        let depth = self.deeper(depth)?;
        self.at += 1;
        self.pair(Dual::power, base, |reader| reader.signed(depth))
    }

    fn operand(&mut self, depth: usize) -> Parsed {
        match self.peek() {
            Some('(') => {
                let inside = self.argument(depth)?;
                self.expect(')')?;
                Ok(inside)
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

    /// A bracket and what stands in it, up to its end or a comma.
    fn argument(&mut self, depth: usize) -> Parsed {
        let depth = self.deeper(depth)?;
        self.expect('(')?;
        self.sum(depth)
    }

    fn take_while(&mut self, fits: impl Fn(char) -> bool) -> String {
        let rest = self.text.iter().skip(self.at);
        let taken: String = rest.take_while(|c| fits(**c)).collect();
        self.at += taken.chars().count();
        taken
    }

    fn number(&mut self) -> Parsed {
        const LARGEST: f64 = 1e12;
        let start = self.at;
        let digits = self.take_while(|c| c.is_ascii_digit() || c == '.');
        match digits.parse::<f64>() {
            Ok(number) if number <= LARGEST => Ok(Expression::Number(number)),
            _ => {
                self.at = start;
                Err(self.fault(format!("{} is no number that can be used", quoted(&digits))))
            }
        }
    }

    /// A function of one or two values, `pi`, or a name.
    fn word(&mut self, depth: usize) -> Parsed {
        let start = self.at;
        let word = self.take_while(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_');
        let one = OF_ONE.iter().find(|(name, _)| *name == word);
        let two = OF_TWO.iter().find(|(name, _)| *name == word);
        let called = self.peek() == Some('(');
        if let (true, Some((_, apply))) = (called, one) {
            self.operator()?;
            let of = self.argument(depth)?;
            self.expect(')')?;
            return Ok(Expression::One(*apply, Box::new(of)));
        }
        if let (true, Some((_, apply))) = (called, two) {
            let first = self.argument(depth)?;
            self.expect(',')?;
            let both = self.pair(*apply, first, |reader| reader.sum(depth + 1))?;
            self.expect(')')?;
            return Ok(both);
        }
        if called {
            self.at = start;
            let known: Vec<&str> = OF_ONE
                .iter()
                .map(|(name, _)| *name)
                .chain(OF_TWO.iter().map(|(name, _)| *name))
                .collect();
            return Err(self.fault(format!(
                "no function {}: there are {}",
                quoted(&word),
                known.join(", ")
            )));
        }
        if one.is_some() || two.is_some() {
            return Err(self.fault(format!("the function {word} wants a bracket")));
        }
        if word == "pi" {
            return Ok(Expression::Number(std::f64::consts::PI));
        }
        if !self.names.iter().any(|known| known.name == word) {
            self.names.push(Name {
                name: word.clone(),
                column: start + 1,
            });
            if self.names.len() > MOST_NAMES {
                self.at = start;
                return Err(self.fault(format!("more than {MOST_NAMES} names")));
            }
        }
        Ok(Expression::Reading(word))
    }
}

/// A value and its derivative by one of the names.
#[derive(Clone, Copy, Debug)]
struct Dual {
    value: f64,
    slope: f64,
}

#[rustfmt::skip] // a table reads as a table
const OF_ONE: [(&str, OfOne); 10] = [
    ("abs", |x| x.through(x.value.abs(), x.value.signum())),
    ("sqrt", |x| x.through(x.value.sqrt(), 0.5 / x.value.sqrt())),
    ("exp", |x| x.through(x.value.exp(), x.value.exp())),
    ("ln", |x| x.through(x.value.ln(), x.value.recip())),
    ("sin", |x| x.through(x.value.sin(), x.value.cos())),
    ("cos", |x| x.through(x.value.cos(), -x.value.sin())),
    ("tan", |x| x.through(x.value.tan(), x.value.cos().powi(-2))),
    ("asin", |x| x.through(x.value.asin(), (1.0 - x.value * x.value).sqrt().recip())),
    ("acos", |x| x.through(x.value.acos(), -(1.0 - x.value * x.value).sqrt().recip())),
    ("atan", |x| x.through(x.value.atan(), (1.0 + x.value * x.value).recip())),
];
const OF_TWO: [(&str, OfTwo); 2] = [
    ("min", |a, b| if b.value < a.value { b } else { a }),
    ("max", |a, b| if b.value > a.value { b } else { a }),
];

impl Dual {
    const fn constant(value: f64) -> Self {
        Self { value, slope: 0.0 }
    }

    /// `f(self)` and by the chain rule `f′ · slope`. A constant stays one also where `f′` is infinite.
    fn through(self, value: f64, derivative: f64) -> Self {
        Self {
            value,
            slope: product(derivative, self.slope),
        }
    }

    fn plus(self, other: Self) -> Self {
        Self {
            value: self.value + other.value,
            slope: self.slope + other.slope,
        }
    }

    fn minus(self, other: Self) -> Self {
        Self {
            value: self.value - other.value,
            slope: self.slope - other.slope,
        }
    }

    fn times(self, other: Self) -> Self {
        Self {
            value: self.value * other.value,
            slope: product(other.value, self.slope) + product(self.value, other.slope),
        }
    }

    fn over(self, other: Self) -> Self {
        let value = self.value / other.value;
        let by_other = product(value / other.value, other.slope);
        Self {
            value,
            slope: product(other.value.recip(), self.slope) - by_other,
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
