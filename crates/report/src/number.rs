//! Numbers as shown: the digits that are known, a real minus sign.

/// Significant digits that a numerical tolerance justifies: the last one is
/// the first that the tolerance reaches, at least 2 and at most 4.
///
/// ```
/// assert_eq!(report::number::digits(39.7, 0.3), 3);
/// assert_eq!(report::number::digits(39.7, 4.0), 2);
/// assert_eq!(report::number::digits(39.7, 0.0), 4);
/// ```
#[must_use]
pub fn digits(value: f64, tolerance: f64) -> usize {
    let mut ratio = (value / tolerance).abs();
    if !ratio.is_finite() {
        return 4;
    }
    let mut count = 1;
    while ratio >= 10.0 && count < 4 {
        ratio /= 10.0;
        count += 1;
    }
    count.clamp(2, 4)
}

/// A number that was written by a person or follows exactly: up to six
/// digits, no zeros at the end.
///
/// ```
/// assert_eq!(report::number::short(2.500), "2.5");
/// assert_eq!(report::number::short(-1200.0), "−1200");
/// ```
#[must_use]
pub fn short(value: f64) -> String {
    trimmed(&quantity::plain(value, 6))
}

/// A whole number, all its digits shown.
///
/// ```
/// assert_eq!(report::number::count(16_777_216.0), "16777216");
/// ```
#[must_use]
pub fn count(value: f64) -> String {
    if value.abs() < 1e15 {
        format!("{:.0}", value + 0.0).replace('-', "\u{2212}")
    } else {
        short(value)
    }
}

/// Without the zeros that end a decimal fraction.
fn trimmed(text: &str) -> String {
    if text.contains('.') && !text.contains('e') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text.to_owned()
    }
}

/// A number with its unit, a prefix where the unit takes one, and zeros at
/// the end left out.
///
/// ```
/// assert_eq!(report::number::amount(0.06, "V"), "60 mV");
/// assert_eq!(report::number::amount(2e-5, "1/K"), "20 ppm/K");
/// ```
#[must_use]
pub fn amount(value: f64, unit: &str) -> String {
    sized(value, unit, 5, true)
}

/// Two ends with one unit, and one prefix for both.
///
/// ```
/// assert_eq!(report::number::span(-0.4, 0.4, "V"), "−400 to 400 mV");
/// assert_eq!(report::number::span(-5.0, 35.0, "°C"), "−5 to 35 °C");
/// ```
#[must_use]
pub fn span(low: f64, high: f64, unit: &str) -> String {
    let (factor, with_prefix) = prefixed(low.abs().max(high.abs()), unit);
    let end = |x: f64| short(x * factor);
    match with_prefix.as_str() {
        "" => format!("{} to {}", end(low), end(high)),
        unit => format!("{} to {} {unit}", end(low), end(high)),
    }
}

/// A computed number with its unit, four digits, zeros at the end left out.
///
/// ```
/// assert_eq!(report::number::about(0.063362, "V"), "63.36 mV");
/// assert_eq!(report::number::about(2.5, "V"), "2.5 V");
/// ```
#[must_use]
pub fn about(value: f64, unit: &str) -> String {
    sized(value, unit, 4, true)
}

/// A number with its unit and so many significant digits.
///
/// ```
/// assert_eq!(report::number::measured(0.0397, "V", 3), "39.7 mV");
/// assert_eq!(report::number::measured(0.3, "K", 2), "0.30 K");
/// ```
#[must_use]
pub fn measured(value: f64, unit: &str, digits: usize) -> String {
    sized(value, unit, digits, false)
}

fn sized(value: f64, unit: &str, digits: usize, trim: bool) -> String {
    let (value, unit) = match unit {
        // Relative changes are read in millionths.
        "1/K" => (value * 1e6, "ppm/K"),
        other => (value, other),
    };
    let text = quantity::engineering(value, unit, digits);
    if !trim {
        return text;
    }
    match text.split_once(' ') {
        Some((number, unit)) => format!("{} {unit}", trimmed(number)),
        None => trimmed(&text),
    }
}

/// A relative size with so many significant digits: per cent, below a tenth of
/// one in millionths.
///
/// ```
/// assert_eq!(report::number::relative(0.03, 2), "3.0 %");
/// assert_eq!(report::number::relative(0.0005, 2), "500 ppm");
/// ```
#[must_use]
pub fn relative(value: f64, digits: usize) -> String {
    let (factor, unit) = relative_unit(value);
    quantity::engineering(value * factor, unit, digits)
}

/// The unit in which a relative size of this magnitude is shown, and what
/// takes a plain number to it.
#[must_use]
pub fn relative_unit(value: f64) -> (f64, &'static str) {
    if value.abs() < 0.000_999_5 {
        (1e6, "ppm")
    } else {
        (1e2, "%")
    }
}

/// A share in per cent with the digits that matter near 0 and near 1.
///
/// ```
/// use report::number::share;
/// assert_eq!(share(0.324), "32 %");
/// assert_eq!(share(0.9973), "99.73 %");
/// assert_eq!(share(0.99961), "99.961 %");
/// assert_eq!(share(0.004), "0.4 %");
/// ```
#[must_use]
pub fn share(value: f64) -> String {
    let percent = 100.0 * value;
    if !percent.is_finite() {
        return quantity::plain(percent, 3);
    }
    // Two digits of the distance to the nearer end.
    let rest = percent.min(100.0 - percent);
    let places = if rest >= 2.0 || rest <= 0.0 {
        0
    } else if rest >= 0.3 {
        1
    } else if rest >= 0.1 {
        2
    } else {
        3
    };
    let places = if percent > 98.0 && rest > 0.0 {
        places.max(2)
    } else {
        places
    };
    format!("{percent:.places$} %").replace('-', "\u{2212}")
}

/// What one of several contributes to a whole, in per cent: whole numbers
/// above 1 %, one digit below.
///
/// ```
/// use report::number::part;
/// assert_eq!(part(0.324), "32 %");
/// assert_eq!(part(0.004), "0.4 %");
/// assert_eq!(part(0.99901), "> 99 %");
/// assert_eq!(part(0.0002), "< 0.1 %");
/// ```
#[must_use]
pub fn part(value: f64) -> String {
    let percent = 100.0 * value;
    if !percent.is_finite() {
        return quantity::plain(percent, 3);
    }
    if percent > 99.5 && percent < 100.0 {
        "> 99 %".to_owned()
    } else if percent > 0.0 && percent < 0.05 {
        "< 0.1 %".to_owned()
    } else if percent.abs() < 0.95 && percent != 0.0 {
        format!("{percent:.1} %")
    } else {
        format!("{percent:.0} %").replace('-', "\u{2212}")
    }
}

/// The factor from one unit to another of the same kind; 1 where either is
/// not known.
///
/// ```
/// assert_eq!(report::number::factor("V", "mV"), 1000.0);
/// assert_eq!(report::number::factor("K", "K"), 1.0);
/// ```
#[must_use]
pub fn factor(from: &str, to: &str) -> f64 {
    match (quantity::unit(from), quantity::unit(to)) {
        (Some(a), Some(b)) if a.dimension == b.dimension && b.factor > 0.0 => a.factor / b.factor,
        _ => 1.0,
    }
}

/// The unit, prefix included, in which `value` reads best, and the factor from
/// the unit given to it: what a column of numbers about as large shares.
///
/// ```
/// assert_eq!(report::number::prefixed(0.06, "V"), (1000.0, "mV".to_owned()));
/// assert_eq!(report::number::prefixed(0.3, "K"), (1.0, "K".to_owned()));
/// ```
#[must_use]
pub fn prefixed(value: f64, unit: &str) -> (f64, String) {
    let text = quantity::engineering(value, unit, 3);
    let symbol = text.split_once(' ').map_or("", |t| t.1);
    match (quantity::unit(unit), quantity::unit(symbol)) {
        (Some(from), Some(to)) if to.factor > 0.0 => (from.factor / to.factor, symbol.to_owned()),
        _ => (1.0, unit.to_owned()),
    }
}

/// Decimals that so many significant digits of a value mean.
///
/// ```
/// assert_eq!(report::number::decimals(39.7, 3), 1);
/// assert_eq!(report::number::decimals(0.0123, 2), 3);
/// ```
#[must_use]
pub fn decimals(value: f64, digits: usize) -> usize {
    let text = quantity::plain(value, digits);
    match text.split_once('.') {
        Some((_, decimals)) if !text.contains('e') => decimals.len(),
        _ => 0,
    }
}

/// A number with so many decimals and a real minus sign.
///
/// ```
/// assert_eq!(report::number::fixed(-1.25, 1), "−1.2");
/// ```
#[must_use]
pub fn fixed(value: f64, decimals: usize) -> String {
    if !value.is_finite() || value.abs() >= 1e12 {
        return quantity::plain(value, decimals.max(3));
    }
    format!("{value:.decimals$}").replace('-', "\u{2212}")
}
