//! Numbers as people read them. Nothing else formats a float.

/// A probability as a percentage: one digit after the point below 10 %, none above.
///
/// A probability that is neither 0 nor 1 is never shown as if it were.
pub fn percent(p: f64) -> String {
    let hundredths = p * 100.0;
    if p > 0.0 && hundredths < 0.1 {
        "< 0.1 %".to_owned()
    } else if p < 1.0 && hundredths >= 99.5 {
        "> 99 %".to_owned()
    } else if hundredths < 9.95 && p > 0.0 {
        format!("{hundredths:.1} %")
    } else {
        format!("{hundredths:.0} %")
    }
}

/// A probability as a percentage with one digit after the point, where two are told apart.
pub fn tenths_of_percent(p: f64) -> String {
    format!("{:.1} %", 100.0 * p)
}

/// A count of candidates that need not be whole.
pub fn count(number: f64) -> String {
    format!("{number:.1}")
}

/// A count that is an estimate: whole from ten on.
pub fn about(number: f64) -> String {
    if number < 9.95 {
        count(number)
    } else {
        format!("about {number:.0}")
    }
}

/// Information in bits.
pub fn bits(number: f64) -> String {
    format!("{number:.2}")
}

/// Working time: minutes up to 90, then hours and minutes.
pub fn minutes(number: f64) -> String {
    let whole = number.round();
    if whole <= 90.0 {
        format!("{whole:.0} min")
    } else {
        format!("{:.0} h {:02.0} min", (whole / 60.0).floor(), whole % 60.0)
    }
}

/// Working time that is added to another: `43`, `1 h 40`.
pub fn added(number: f64) -> String {
    minutes(number).trim_end_matches(" min").to_owned()
}

/// Money in the shop's own currency, to the unit, in groups of three.
pub fn money(number: f64) -> String {
    let digits = format!("{:.0}", number.abs());
    let mut grouped = String::new();
    for (place, digit) in digits.chars().enumerate() {
        if place > 0 && (digits.len() - place) % 3 == 0 {
            grouped.push(',');
        }
        grouped.push(digit);
    }
    let negative = number < 0.0 && grouped != "0";
    if negative {
        format!("-{grouped}")
    } else {
        grouped
    }
}

/// A measured number as a person would write it: at most six significant digits, no trailing zeros.
pub fn plain(number: f64) -> String {
    if !number.is_finite() {
        return "no number".to_owned();
    }
    let rounded = to_digits(number, 6);
    let size = rounded.abs();
    if size >= 1e15 || (size > 0.0 && size < 1e-6) {
        format!("{rounded:e}")
    } else {
        format!("{rounded}")
    }
}

/// A measured number in another unit than it was stated in, or an uncertainty: four significant digits.
pub fn rounded(number: f64) -> String {
    plain(to_digits(number, 4))
}

/// A figure that is read off a recording: three significant digits.
pub fn short(number: f64) -> String {
    plain(to_digits(number, 3))
}

/// A rate in 1,000 jobs: three significant digits.
pub fn rate(number: f64) -> String {
    if number > 0.0 && number < 0.001 {
        return "< 0.001".to_owned();
    }
    format!("{}", to_digits(number, 3))
}

/// How many times as much: two significant digits.
pub fn times(ratio: f64) -> String {
    format!("x {}", to_digits(ratio, 2))
}

/// The number rounded to significant digits.
pub(crate) fn to_digits(number: f64, digits: usize) -> f64 {
    let rounded: f64 = format!("{number:.*e}", digits - 1)
        .parse()
        .unwrap_or(number);
    // Adding zero turns -0.0 into 0.0.
    rounded + 0.0
}

/// A bar of up to `width` marks for a share of 1; less than half a mark shows none.
pub fn bar(share: f64, width: usize) -> String {
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        reason = "a bar has a few dozen marks"
    )]
    let marks = (share.clamp(0.0, 1.0) * width as f64).round() as usize;
    "#".repeat(marks)
}
