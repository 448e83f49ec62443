//! Diagnostic trouble codes in the shape of SAE J2012 and ISO 15031-6.

use crate::text::quoted;
use std::fmt;
use std::str::FromStr;

/// A code: two bytes, shown as a letter, a digit 0 to 3 and three hexadecimal digits.
/// Bits 15 and 14 give the letter (P, C, B, U), bits 13 and 12 the digit, the others the rest.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TroubleCode(u16);

/// The text was no code; it is kept for the message, which is fit for a screen.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "{} is no trouble code: a code is one of P, C, B and U, a digit 0 to 3 and three digits 0 to 9 or A to F, as in P0841",
    quoted(.0)
)]
pub struct NotATroubleCode(pub String);

impl TroubleCode {
    /// The code that two bytes on the bus stand for, the first byte the high one.
    pub const fn from_bits(bits: u16) -> Self {
        Self(bits)
    }

    /// The two bytes as one number.
    pub const fn bits(self) -> u16 {
        self.0
    }

    /// The codes in a text, one or many, parted by blanks, commas or semicolons, in the order typed,
    /// a repeated one once. "no codes", "none" and the like give an empty list: that is a reading too.
    ///
    /// # Errors
    ///
    /// [`NotATroubleCode`] with the first part that is none; with the whole text where it is empty.
    pub fn list(text: &str) -> Result<Vec<Self>, NotATroubleCode> {
        let parts: Vec<&str> = text
            .split(|c: char| c.is_whitespace() || c == ',' || c == ';')
            .filter(|part| !part.is_empty())
            .collect();
        let whole = parts.join(" ").to_lowercase();
        if matches!(
            whole.trim_end_matches('.'),
            "none"
                | "no"
                | "no code"
                | "no codes"
                | "no dtc"
                | "no dtcs"
                | "no trouble codes"
                | "no fault codes"
                | "nil"
        ) {
            return Ok(Vec::new());
        }
        if parts.is_empty() {
            return Err(NotATroubleCode(text.to_owned()));
        }
        let mut codes = Vec::new();
        for part in parts {
            let code = part.parse()?;
            if !codes.contains(&code) {
                codes.push(code);
            }
        }
        Ok(codes)
    }
}

impl FromStr for TroubleCode {
    type Err = NotATroubleCode;

    /// Reads `P0841`; small letters and blanks around it are allowed for the person who types.
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let refuse = || NotATroubleCode(text.to_owned());
        let mut characters = text.trim().chars();
        let mut next = || characters.next().ok_or_else(refuse);
        let letter = match next()?.to_ascii_uppercase() {
            'P' => 0,
            'C' => 1,
            'B' => 2,
            'U' => 3,
            _ => return Err(refuse()),
        };
        let mut bits = next()?.to_digit(4).ok_or_else(refuse)? | letter << 2;
        for _ in 0..3 {
            bits = bits << 4 | next()?.to_digit(16).ok_or_else(refuse)?;
        }
        if characters.next().is_some() {
            return Err(refuse());
        }
        u16::try_from(bits).map(Self).map_err(|_| refuse())
    }
}

impl fmt::Display for TroubleCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let letter = match self.0 >> 14 {
            0 => 'P',
            1 => 'C',
            2 => 'B',
            _ => 'U',
        };
        write!(f, "{letter}{}{:03X}", self.0 >> 12 & 3, self.0 & 0xFFF)
    }
}
