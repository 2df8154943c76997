//! One step up or down from a value that is written in a board file.

use board::Setting;
use quantity::{Dimension, Series};

use crate::bound::{Varied, Vary};

/// Series that resistors and capacitors step through: wide tolerances are
/// bought in few values, narrow ones in many (IEC 60063).
fn series(dimension: Dimension) -> Option<Series> {
    if dimension == Dimension::RESISTANCE {
        Some(Series::E24)
    } else if dimension == Dimension::CAPACITANCE {
        Some(Series::E12)
    } else {
        None
    }
}

/// The text with the next value above or below: the neighbour in a preferred
/// series for resistors and capacitors, a step in the second digit for
/// anything else that is a number. `None` where nothing can be stepped.
///
/// ```
/// let up = |t: &str| verdict::nudged(t, true, true);
/// assert_eq!(up("10 kΩ 0.1 %").as_deref(), Some("11 kΩ 0.1 %"));
/// assert_eq!(up("100 nF 10 % X7R").as_deref(), Some("120 nF 10 % X7R"));
/// assert_eq!(up("5 V ± 5 %").as_deref(), Some("5.1 V ± 5 %"));
/// assert_eq!(up("vref"), None);
/// ```
#[must_use]
pub fn nudged(text: &str, quoted: bool, up: bool) -> Option<String> {
    let setting = Setting {
        text: text.to_owned(),
        span: finding::Span::new(finding::SourceId(0), 0..0),
    };
    let varied = Varied::new(&setting, quoted, Vary::Value).ok()?;
    let written = varied.written?;
    let next = match series(varied.dimension) {
        Some(series) if written > 0.0 => {
            let si = written * varied.scale.factor;
            let next = if up {
                series.step_up(si)?
            } else {
                series.step_down(si)?
            };
            tidy(next / varied.scale.factor)
        }
        _ if varied.whole => written + if up { 1.0 } else { -1.0 },
        _ => {
            let step = tenth(written);
            tidy(written + if up { step } else { -step })
        }
    };
    let stepped = varied.with(next);
    (stepped != text).then_some(stepped)
}

/// A tenth of the decade a number lies in.
fn tenth(x: f64) -> f64 {
    if x == 0.0 || !x.is_finite() {
        return 0.1;
    }
    let mut decade = 1.0;
    while decade * 10.0 <= x.abs() {
        decade *= 10.0;
    }
    while decade > x.abs() {
        decade /= 10.0;
    }
    decade / 10.0
}

/// Without what binary fractions leave in the last digits.
fn tidy(x: f64) -> f64 {
    format!("{x:.10e}").parse().unwrap_or(x)
}

#[cfg(test)]
mod tests {
    use super::nudged;

    #[test]
    fn up_and_down_come_back() {
        for text in [
            "4.7 kΩ 1 %",
            "82 kΩ",
            "1 µF 10 % X7R",
            "3.3 V",
            "30 MHz",
            "2 mA",
        ] {
            let up = nudged(text, true, true).unwrap();
            assert_eq!(nudged(&up, true, false).as_deref(), Some(text), "{up}");
        }
    }

    #[test]
    fn what_is_no_number_stays() {
        for text in [
            "mcu.adc",
            "",
            "0 °C to 3 °C",
            "🦀",
            "1e999 Ω",
            "-5 °C to 40",
        ] {
            assert_eq!(nudged(text, true, true), None, "{text}");
        }
        assert_eq!(nudged("16", false, true).as_deref(), Some("17"));
    }

    #[test]
    fn published_neighbours_of_e24() {
        // IEC 60063, table of E24: 1.0 1.1 1.2 … 8.2 9.1.
        assert_eq!(nudged("9.1 kΩ", true, true).as_deref(), Some("10 kΩ"));
        assert_eq!(nudged("1.2 kΩ", true, false).as_deref(), Some("1.1 kΩ"));
    }
}
