//! The shape of trouble codes: SAE J2012 and ISO 15031-6.

use halfsplit::entry::TroubleCode;
use std::collections::BTreeSet;

/// Source, from memory: SAE J2012; ISO 15031-6, the bit layout.
///
/// Letter, first digit, three hexadecimal digits.
#[test]
fn two_bytes_read_as_their_code() {
    for (bits, code) in [
        (0x0841, "P0841"),
        (0x0700, "P0700"),
        (0x0A0F, "P0A0F"),
        (0x3400, "P3400"),
        (0x4035, "C0035"),
        (0x5001, "C1001"),
        (0x8000, "B0000"),
        (0x9234, "B1234"),
        (0xA000, "B2000"),
        (0xC073, "U0073"),
        (0xC100, "U0100"),
        (0xFFFF, "U3FFF"),
    ] {
        assert_eq!(TroubleCode::from_bits(bits).to_string(), code);
        assert_eq!(code.parse::<TroubleCode>().unwrap().bits(), bits);
    }
}

/// Source, computed: SAE J2012.
///
/// Decoding and encoding again gives every one of the 65,536 codes back.
#[test]
fn every_code_reads_back_as_itself() {
    let mut seen = BTreeSet::new();
    for bits in 0..=u16::MAX {
        let shown = TroubleCode::from_bits(bits).to_string();
        assert_eq!(shown.parse::<TroubleCode>().unwrap().bits(), bits);
        seen.insert(shown);
    }
    assert_eq!(seen.len(), 65_536);
}

/// Source, computed: SAE J2012.
///
/// Small letters and blanks are allowed, a convenience of ours.
#[test]
fn a_typed_code_is_read_or_refused() {
    let expected = TroubleCode::from_bits(0x0841);
    for text in ["p0841", " P0841 "] {
        assert_eq!(text.parse(), Ok(expected));
    }
    for text in [
        "P4000",
        "X0100",
        "P084",
        "P08411",
        "P08G1",
        "",
        "Ｐ0841",
        "P0841 U0100",
    ] {
        let refusal = text.parse::<TroubleCode>().unwrap_err();
        assert!(refusal.to_string().contains("no trouble code"), "{refusal}");
    }
}

#[test]
fn many_codes_come_in_one_line() {
    let shown = |text: &str| {
        TroubleCode::list(text)
            .unwrap()
            .iter()
            .map(ToString::to_string)
            .collect::<Vec<_>>()
    };
    assert_eq!(shown("P0841 u0100"), ["P0841", "U0100"]);
    assert_eq!(
        shown("p0841,u0100; p0700\tP0841"),
        ["P0841", "U0100", "P0700"]
    );
    for none in ["no codes", "None", " no  DTCs. ", "none"] {
        assert!(shown(none).is_empty(), "{none}");
    }
    assert_eq!(TroubleCode::list("P0841 hello").unwrap_err().0, "hello");
    assert!(
        TroubleCode::list("").is_err(),
        "nothing typed is not 'no codes'"
    );
    assert!(TroubleCode::list(" ;, ").is_err());
}

#[test]
fn a_refusal_shows_no_control_character_raw() {
    let refusal = TroubleCode::list("\u{1b}[2J\u{202e}")
        .unwrap_err()
        .to_string();
    assert!(!refusal.contains(['\u{1b}', '\u{202e}']), "{refusal}");
}
