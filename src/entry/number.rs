//! One number as people write it: comma or point, thousands apart or not.

/// A number that was read off the start of a text. Some writings can mean two numbers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Number {
    /// With the mark taken as the decimal one; `None` where that makes no sense.
    pub(super) decimal: Option<f64>,
    /// With the mark taken as parting thousands; `None` where that makes no sense.
    pub(super) thousands: Option<f64>,
    /// Whether the writer must be asked which of the two was meant.
    pub(super) doubt: Doubt,
}

/// How sure the reading of a number is, in rising order of doubt.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Doubt {
    /// One number only.
    None,
    /// `1.200`: the decimal one, unless that is implausible here.
    Point,
    /// `1,200` or `1 200`: ask.
    Ask,
}

/// Which of the two meanings of a doubtful number is taken; one text has one style.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Style {
    Decimal,
    Thousands,
}

impl Number {
    pub(super) fn in_style(self, style: Style) -> Option<f64> {
        match style {
            Style::Decimal => self.decimal,
            Style::Thousands => self.thousands,
        }
    }
}

/// Whether a number begins here: a sign may stand before it.
pub(super) fn begins(text: &[char]) -> bool {
    match text {
        [c, ..] if c.is_ascii_digit() => true,
        ['.' | ',', c, ..] => c.is_ascii_digit(),
        [c, rest @ ..] if is_sign(*c) => !matches!(rest, [d, ..] if is_sign(*d)) && begins(rest),
        _ => false,
    }
}

pub(super) fn is_minus(character: char) -> bool {
    matches!(character, '-' | '\u{2010}'..='\u{2015}' | '\u{2212}')
}

fn is_sign(character: char) -> bool {
    character == '+' || is_minus(character)
}

/// Blanks that typesetters put between thousands, and never between two numbers.
fn is_thin(character: char) -> bool {
    matches!(
        character,
        '\'' | '\u{2019}' | '_' | '\u{a0}' | '\u{2009}' | '\u{202f}'
    )
}

fn digits_at(text: &[char]) -> usize {
    text.iter().take_while(|c| c.is_ascii_digit()).count()
}

/// Reads the number that begins the text, and says how many characters it took.
/// `None` where none begins there or its marks fit no way of writing numbers. Not always finite.
pub(super) fn read(text: &[char]) -> Option<(Number, usize)> {
    if !begins(text) {
        return None;
    }
    let signed = usize::from(is_sign(text[0]));
    let negative = signed == 1 && is_minus(text[0]);
    let mut length = signed;
    // Digits, and marks that have a digit after them; a point may end the number.
    let mut body = String::new();
    while let Some(&c) = text.get(length) {
        let rest = &text[length + 1..];
        let digit_next = rest.first().is_some_and(char::is_ascii_digit);
        match c {
            '0'..='9' => body.push(c),
            '.' | ',' if digit_next => body.push(c),
            '.' if !body.is_empty() && rest.first() != Some(&'.') => {
                length += 1;
                break;
            }
            c if !body.is_empty() && digit_next && is_thin(c) => body.push('_'),
            // A blank parts thousands only before exactly three digits: `1 200`, not `780 1/min`.
            ' ' if !body.is_empty()
                && digits_at(rest) == 3
                && rest.get(3).is_none_or(|c| *c != '/') =>
            {
                body.push(' ');
            }
            _ => break,
        }
        length += 1;
    }
    // An exponent, where digits follow: `5.2e3`.
    let mut exponent = String::new();
    if let Some('e' | 'E') = text.get(length) {
        let after = &text[length + 1..];
        let sign = usize::from(after.first().copied().is_some_and(is_sign));
        let digits = digits_at(&after[sign..]);
        if digits > 0 {
            exponent.push('e');
            exponent.push_str(if sign == 1 && is_minus(after[0]) {
                "-"
            } else {
                ""
            });
            exponent.extend(&after[sign..sign + digits]);
            length += 1 + sign + digits;
        }
    }
    let (decimal, thousands, doubt) = meanings(&body)?;
    let sign = if negative { "-" } else { "" };
    let value = |digits: Option<String>| {
        digits.and_then(|digits| format!("{sign}{digits}{exponent}").parse().ok())
    };
    Some((
        Number {
            decimal: value(decimal),
            thousands: value(thousands),
            doubt,
        },
        length,
    ))
}

/// What digits with marks between them can mean, written with a decimal point: with a mark for the
/// decimals, and with marks between thousands.
fn meanings(body: &str) -> Option<(Option<String>, Option<String>, Doubt)> {
    let sure = |digits: String| Some((Some(digits.clone()), Some(digits), Doubt::None));
    let groups: Vec<&str> = body.split(|c: char| !c.is_ascii_digit()).collect();
    let marks: Vec<char> = body.chars().filter(|c| !c.is_ascii_digit()).collect();
    let Some((&first, rest)) = marks.split_first() else {
        return sure(body.to_owned());
    };
    let in_thousands = |groups: &[&str]| match groups {
        [head, tail @ ..] => {
            (1..=3).contains(&head.len())
                && !head.starts_with('0')
                && !tail.is_empty()
                && tail.iter().all(|group| group.len() == 3)
        }
        [] => false,
    };
    let whole = groups.concat();
    let all_alike = rest.iter().all(|&mark| mark == first);
    match (first, rest) {
        ('.' | ',', []) => {
            let decimal = format!("0{}.{}", groups[0], groups[1]);
            if !in_thousands(&groups) {
                return sure(decimal);
            }
            let doubt = if first == ',' {
                Doubt::Ask
            } else {
                Doubt::Point
            };
            Some((Some(decimal), Some(whole), doubt))
        }
        (' ', _) if all_alike && in_thousands(&groups) => Some((None, Some(whole), Doubt::Ask)),
        (_, _) if all_alike && in_thousands(&groups) => sure(whole),
        (_, [between @ .., last @ ('.' | ',')]) if *last != first => {
            let (decimals, whole) = groups.split_last()?;
            if !between.iter().all(|&mark| mark == first) || !in_thousands(whole) {
                return None;
            }
            let value = format!("{}.{decimals}", whole.concat());
            if first == ' ' {
                Some((None, Some(value), Doubt::Ask))
            } else {
                sure(value)
            }
        }
        _ => None,
    }
}
