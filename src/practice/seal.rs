//! Sealed exercises: a file whose fault cannot be read off it. That hides the fault and does not protect it: the program
//! that opens the file is in everybody's hands.

use crate::simulate::Chance;

/// What a sealed file begins with.
const HEAD: &str = "halfsplit sealed exercise 1\n";
/// Sealed texts are filled up to a multiple of so many bytes, so that their length tells nothing.
const BLOCK: usize = 1024;

/// An exercise's file, sealed.
pub fn sealed(text: &str) -> String {
    let mut bytes = text.trim_end().as_bytes().to_vec();
    bytes.push(b'\n');
    let long = bytes.len().div_ceil(BLOCK) * BLOCK;
    bytes.resize(long, b' ');
    let mut sealed = HEAD.to_owned();
    for (place, byte) in bytes.into_iter().enumerate() {
        if place > 0 && place % 32 == 0 {
            sealed.push('\n');
        }
        let byte = byte ^ key(place);
        sealed.extend(
            [byte >> 4, byte & 15].map(|half| char::from_digit(half.into(), 16).unwrap_or('0')),
        );
    }
    sealed.push('\n');
    sealed
}

/// The exercise's file in a sealed one; none where it is none.
pub fn unsealed(text: &str) -> Option<String> {
    let body = text.replace('\r', "");
    let digits: String = body.strip_prefix(HEAD)?.split_whitespace().collect();
    let pairs = digits.as_bytes().chunks(2).enumerate();
    let bytes: Option<Vec<u8>> = pairs
        .map(|(place, pair)| {
            let pair = std::str::from_utf8(pair).ok()?;
            Some(u8::from_str_radix(pair, 16).ok()? ^ key(place))
        })
        .collect();
    String::from_utf8(bytes?).ok()
}

/// What a byte is changed by.
fn key(place: usize) -> u8 {
    let number = Chance::new(0x5ea1).uniform(&["seal", &place.to_string()]);
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "below 256"
    )]
    let key = (number * 256.0) as u8;
    key
}
