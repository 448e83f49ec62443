//! Numbers as people read them. Nothing else formats a float.

/// A probability as a percentage: one digit after the point below 10 %, none above.
///
/// What is neither nil nor certain is never shown as if it were.
#[must_use]
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

/// A count of candidates that need not be whole.
#[must_use]
pub fn count(number: f64) -> String {
    format!("{number:.1}")
}

/// Information in bits.
#[must_use]
pub fn bits(number: f64) -> String {
    format!("{number:.2}")
}

/// Working time: minutes up to 90, then hours and minutes.
#[must_use]
pub fn minutes(number: f64) -> String {
    let whole = number.round();
    if whole <= 90.0 {
        format!("{whole:.0} min")
    } else {
        format!("{:.0} h {:02.0} min", (whole / 60.0).floor(), whole % 60.0)
    }
}

/// Money in the shop's own currency, to the unit, in groups of three.
#[must_use]
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

/// A measured number: as many digits as it needs, at most six that count.
#[must_use]
pub fn measured(number: f64) -> String {
    let rounded = format!("{number:.5e}").parse().unwrap_or(number);
    format!("{}", rounded + 0.0)
}

/// A measured number in another unit than it was stated in, or an uncertainty: four digits that count.
#[must_use]
pub fn rounded(number: f64) -> String {
    measured(format!("{number:.3e}").parse().unwrap_or(number))
}

/// A rate in 1,000 jobs: three digits that count.
#[must_use]
pub fn rate(number: f64) -> String {
    if number > 0.0 && number < 0.001 {
        return "< 0.001".to_owned();
    }
    let rounded = format!("{number:.2e}").parse().unwrap_or(number);
    format!("{}", rounded + 0.0)
}

/// How many times as much: two digits that count.
#[must_use]
pub fn times(ratio: f64) -> String {
    let rounded = format!("{ratio:.1e}").parse().unwrap_or(ratio);
    format!("x {}", rounded + 0.0)
}

/// A bar of up to `width` marks for a share of 1; less than half a mark shows none.
#[must_use]
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
