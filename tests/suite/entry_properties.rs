//! Whatever a person types: a reading, a question or a refusal, and never a panic.

use halfsplit::entry::{Answer, Entry, Expected, LONGEST, Span, understand};
use halfsplit::units::{Dimension, Unit};
use proptest::prelude::*;

use super::entry::{expecting, within};

fn any_expected() -> impl Strategy<Value = Expected> {
    let units = prop::sample::select(Unit::ALL.to_vec());
    let spans = prop::sample::select(vec![
        None,
        Some((0.0, 100.0)),
        Some((500.0, 6000.0)),
        Some((-50.0, 50.0)),
    ]);
    (units, spans.clone(), spans)
        .prop_map(|(unit, plausible, range)| within(unit, plausible, range))
}

/// One of three answers; words without control characters; readings that are finite, in a unit of
/// the right dimension, with the raw text kept.
fn judge(text: &str, expected: Expected) -> Result<(), TestCaseError> {
    let sound = |entry: &Entry| -> Result<(), TestCaseError> {
        prop_assert_eq!(&entry.raw, text);
        prop_assert_eq!(entry.unit.dimension(), expected.unit.dimension());
        prop_assert!(entry.middle().is_finite(), "{:?}", entry);
        prop_assert!(
            entry
                .own_uncertainty
                .is_none_or(|u| u.is_finite() && u >= 0.0)
        );
        if let Span::Swing(from, to) = entry.span {
            prop_assert!(from < to);
        }
        let here = entry.in_unit(expected.unit).map(|here| here.middle());
        prop_assert!(here.is_some_and(f64::is_finite));
        prop_assert!(!entry.to_string().chars().any(char::is_control));
        Ok(())
    };
    match understand(text, &expected) {
        Answer::Taken(entry) => sound(&entry),
        Answer::Question {
            alternatives,
            words,
        } => {
            prop_assert!(!alternatives.is_empty());
            prop_assert!(
                !words.is_empty() && !words.chars().any(char::is_control),
                "{:?}",
                words
            );
            alternatives.iter().try_for_each(sound)
        }
        Answer::Refused(words) => {
            prop_assert!(
                !words.is_empty() && !words.chars().any(char::is_control),
                "{:?}",
                words
            );
            prop_assert!(words.chars().count() < 600, "{}", words);
            Ok(())
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(20_000))]

    #[test]
    fn every_text_gives_a_reading_a_question_or_a_refusal(
        text in prop::collection::vec(any::<char>(), 0..=LONGEST).prop_map(String::from_iter),
        expected in any_expected(),
    ) {
        judge(&text, expected)?;
    }

    #[test]
    fn every_text_of_the_parts_of_readings_gives_one_of_the_three(
        parts in prop::collection::vec(prop::sample::select(vec![
            "0", "1", "5", "20", "200", "520", "999", ".", ",", "-", "+", "–", "−", "±", "+-", "~", ">", "<", "≥", " ", "\u{202f}", "'", "e",
            "E", "k", "K", "M", "m", "kPa", "bar", "psi", "kgf/cm2", "C", "°F", "°", "%", "rpm", "1/min", "min-1", "s", "Ω", "ohm", "lbf ft",
            "lb", "cc", "to ", "over ", "..", "…", "/", ":1", "OL", "inf", "nan", "\u{1b}", "\u{202e}", "İ", "K", "\t", "\u{0}",
        ]), 0..12),
        expected in any_expected(),
    ) {
        judge(&parts.concat(), expected)?;
    }

    #[test]
    fn a_number_with_its_unit_is_always_that_number(
        number in -9999..99_999_i32, decimals in 0..4_usize, unit in prop::sample::select(Unit::ALL.to_vec()), comma: bool,
    ) {
        let scale = 10_f64.powi(i32::try_from(decimals).unwrap_or(0));
        let x = f64::from(number) / scale;
        let mut text = format!("{x:.decimals$}");
        if comma {
            text = text.replace('.', ",");
        }
        let typed = format!("{text} {unit}");
        match understand(&typed, &expecting(unit)) {
            Answer::Taken(entry) => {
                prop_assert_eq!(entry.span, Span::Point(x));
                prop_assert_eq!(entry.unit, unit);
            }
            // Three digits after a comma are asked about; a speed below nothing is.
            Answer::Question { alternatives, .. } => {
                prop_assert!((comma && decimals == 3) || (unit.dimension() == Dimension::Speed && x < 0.0), "{}", typed);
                prop_assert!(alternatives.iter().any(|entry| entry.span == Span::Point(x)));
            }
            Answer::Refused(words) => {
                let base = unit.to_base(x);
                let possible = unit.dimension().possible();
                prop_assert!(base < possible.from() || base > possible.to(), "{}: {}", typed, words);
            }
        }
    }
}
