//! The number in a text of the board file that is varied, and the text with
//! another number in its place.

use board::Setting;
use quantity::{Dimension, UnitScale, Valued};

use super::{BoundFault, Vary};

/// A number that can be written anew.
pub(crate) struct Varied {
    /// The number as written, in `scale`; none where nothing is written yet.
    pub written: Option<f64>,
    /// Unit in which it is written.
    pub scale: UnitScale,
    /// Its dimension.
    pub dimension: Dimension,
    /// Range looked at where none is asked for, in `scale`.
    pub usual: Option<(f64, f64)>,
    /// Only whole numbers make sense.
    pub whole: bool,
    form: Form,
}

/// What stands around the number.
enum Form {
    /// `10 kΩ` and what follows it.
    Value { tail: String },
    /// A bare number of the file.
    Bare,
    /// The lower end, with the upper one as written.
    Low { high: f64 },
    /// The upper end, with the lower one as written.
    High { low: f64 },
    /// The tolerance behind `head`, and what follows it; with a unit of its
    /// own or in per cent.
    Tolerance { head: String, tail: String },
    /// The drift between them.
    Drift { head: String },
}

/// Per cent, for tolerances.
fn percent() -> UnitScale {
    UnitScale {
        symbol: "%".to_owned(),
        factor: 0.01,
        offset: 0.0,
    }
}

/// A plain number.
fn plain() -> UnitScale {
    UnitScale {
        symbol: String::new(),
        factor: 1.0,
        offset: 0.0,
    }
}

impl Varied {
    /// Finds the number in what is written at the path; `quoted` is whether
    /// it is a text there.
    pub fn new(setting: &Setting, quoted: bool, vary: Vary) -> Result<Self, BoundFault> {
        let text = setting.text.trim();
        if !quoted {
            return bare(text, vary);
        }
        match vary {
            Vary::Value if is_range(text) => Err(BoundFault::new(format!(
                "\"{text}\" has two ends; which is to be varied?"
            ))
            .expecting("--vary low or --vary high")),
            Vary::Value => value(text),
            Vary::Low | Vary::High => ends(text, vary),
            Vary::Tolerance | Vary::Drift => tail(text, vary),
        }
    }

    /// The text with `number` (in the unit of [`Varied::scale`]) in place of
    /// the one written.
    pub fn with(&self, number: f64) -> String {
        let unit = &self.scale.symbol;
        let one = |x: f64| match unit.as_str() {
            "" => format!("{x}"),
            unit => format!("{x} {unit}"),
        };
        match &self.form {
            Form::Bare => one(number),
            Form::Value { tail } => format!("{}{tail}", one(number)),
            Form::Low { high } => format!("{} to {}", one(number), one(*high)),
            Form::High { low } => format!("{} to {}", one(*low), one(number)),
            Form::Tolerance { head, tail } => format!("{head} ± {}{tail}", one(number)),
            Form::Drift { head } => format!("{head} {number} ppm/K"),
        }
    }

    /// A number given in words, such as `1 kΩ`, in the unit of
    /// [`Varied::scale`].
    pub fn read(&self, text: &str) -> Result<f64, BoundFault> {
        let wrong = |why: String| {
            BoundFault::new(format!("\"{text}\": {why}")).expecting(&format!(
                "a value such as \"{}\"",
                self.show(self.written.unwrap_or(1.0))
            ))
        };
        let found = quantity::value(text, self.dimension).map_err(|f| wrong(f.message))?;
        Ok(self.scale.number(found.value))
    }

    /// Whether numbers are shown in the coherent unit, which takes prefixes,
    /// and not as they are written.
    fn coherent(&self) -> Option<&'static str> {
        quantity::symbol(self.dimension)
            .filter(|s| !s.is_empty() && self.scale.offset == 0.0 && self.scale.factor > 0.0)
    }

    /// Unit in which the number is reported.
    pub fn unit(&self) -> &str {
        self.coherent().unwrap_or(&self.scale.symbol)
    }

    /// The number in [`Varied::unit`].
    pub fn reported(&self, number: f64) -> f64 {
        match self.coherent() {
            Some(_) => number * self.scale.factor,
            None => number,
        }
    }

    /// The number in the unit written, from one in [`Varied::unit`].
    pub fn unreported(&self, number: f64) -> f64 {
        match self.coherent() {
            Some(_) => number / self.scale.factor,
            None => number,
        }
    }

    /// The number with its unit.
    pub fn show(&self, number: f64) -> String {
        report::number::amount(self.reported(number), self.unit())
    }
}

fn is_range(text: &str) -> bool {
    text.contains(" to ") || text.contains('…')
}

fn bare(text: &str, vary: Vary) -> Result<Varied, BoundFault> {
    if vary != Vary::Value {
        return Err(BoundFault::new(format!(
            "{text} is a bare number: it has no tolerance, drift or ends to vary"
        )));
    }
    let number: f64 = text
        .parse()
        .map_err(|_| BoundFault::new(format!("{text} is no number")))?;
    Ok(Varied {
        written: Some(number),
        scale: plain(),
        dimension: Dimension::NONE,
        usual: usual(number, false),
        whole: !text.contains(['.', 'e', 'E']),
        form: Form::Bare,
    })
}

/// The longest beginning of the text that is a value.
fn head(text: &str) -> Option<(&str, f64, Dimension)> {
    let ends = text
        .char_indices()
        .map(|(i, _)| i)
        .skip(1)
        .chain([text.len()])
        .collect::<Vec<_>>();
    for &end in ends.iter().rev() {
        let beginning = text.get(..end)?.trim_end();
        if let Ok(q) = quantity::any(beginning) {
            // `10 k` begins a value code or a unit that is no unit yet.
            let whole_word = text
                .get(end..)
                .and_then(|rest| rest.chars().next())
                .is_none_or(|c| !c.is_alphanumeric());
            if whole_word {
                return Some((beginning, q.value, q.dimension));
            }
        }
    }
    // A code such as 4k7 or 100n says by its letter what it counts.
    let word = text.split_whitespace().next()?;
    let dimension = if word.contains(['p', 'n', 'u', 'µ']) {
        Dimension::CAPACITANCE
    } else {
        Dimension::RESISTANCE
    };
    let q = quantity::value(word, dimension).ok()?;
    Some((word, q.value, dimension))
}

fn value(text: &str) -> Result<Varied, BoundFault> {
    let Some((beginning, si, dimension)) = head(text) else {
        return Err(
            BoundFault::new(format!("\"{text}\" is no quantity that can be varied"))
                .expecting("the path of a value such as \"10 kΩ 0.1 %\""),
        );
    };
    let scale = quantity::scale_for(beginning, dimension).unwrap_or_else(plain);
    let number = scale.number(si);
    Ok(Varied {
        written: Some(number),
        dimension,
        usual: usual(number, scale.offset != 0.0),
        whole: false,
        form: Form::Value {
            tail: text.get(beginning.len()..).unwrap_or("").to_owned(),
        },
        scale,
    })
}

/// A thousandth to a thousandfold; about zero and for temperatures, steps.
fn usual(number: f64, temperature: bool) -> Option<(f64, f64)> {
    if temperature {
        Some(((number - 200.0).max(-273.0), number + 200.0))
    } else if number > 0.0 {
        Some((number / 1000.0, number * 1000.0))
    } else if number < 0.0 {
        Some((number * 10.0, -number * 10.0))
    } else {
        None
    }
}

fn ends(text: &str, vary: Vary) -> Result<Varied, BoundFault> {
    let no_ends = || {
        BoundFault::new(format!("\"{text}\" has no two ends"))
            .expecting("the path of a range such as \"2 °C to 38 °C\", or --vary value")
    };
    let last = text
        .rsplit_once(" to ")
        .or_else(|| text.rsplit_once('…'))
        .map(|(_, last)| last.trim())
        .ok_or_else(no_ends)?;
    let (_, _, dimension) = head(last).ok_or_else(no_ends)?;
    let range = quantity::range(text, dimension).map_err(|_| no_ends())?;
    let scale = quantity::scale_for(last, dimension).unwrap_or_else(plain);
    let (low, high) = (scale.number(range.low), scale.number(range.high));
    let width = high - low;
    let (written, usual, form) = if vary == Vary::Low {
        let far = if scale.offset != 0.0 {
            (low - 3.0 * width).max(-273.0)
        } else {
            low - 3.0 * width
        };
        (low, (far, high - 1e-3 * width), Form::Low { high })
    } else {
        (
            high,
            (low + 1e-3 * width, high + 3.0 * width),
            Form::High { low },
        )
    };
    Ok(Varied {
        written: Some(written),
        scale,
        dimension,
        usual: Some(usual),
        whole: false,
        form,
    })
}

/// Tolerance or drift behind a value.
fn tail(text: &str, vary: Vary) -> Result<Varied, BoundFault> {
    let none = || {
        BoundFault::new(format!("\"{text}\" is no value with a tolerance"))
            .expecting("the path of a value such as \"10 kΩ 0.1 % 25 ppm/K\"")
    };
    let (beginning, _, dimension) = head(text).ok_or_else(none)?;
    let v = quantity::valued(text, dimension).map_err(|_| none())?;
    if vary == Vary::Drift {
        let mut kept = beginning.to_owned();
        kept.push_str(&tolerance_text(&v));
        let written = v.drift_per_k.map(|d| tidy(d * 1e6));
        let about = written.filter(|d| *d > 0.0).unwrap_or(25.0);
        return Ok(Varied {
            written: Some(written.unwrap_or(0.0)),
            scale: UnitScale {
                symbol: "ppm/K".to_owned(),
                factor: 1e-6,
                offset: 0.0,
            },
            dimension: Dimension::NONE.over(Dimension::TEMPERATURE),
            usual: Some((about / 1000.0, about * 1000.0)),
            whole: false,
            form: Form::Drift { head: kept },
        });
    }
    let written = v.tolerance.map(|t| {
        let (low, high) = t.limits(v.nominal);
        (high - v.nominal).max(v.nominal - low)
    });
    // A tolerance of zero volts is not a share of them.
    let relative = v.nominal != 0.0 && dimension != Dimension::TEMPERATURE;
    let (scale, dimension) = if relative {
        (percent(), Dimension::NONE)
    } else {
        let mut scale = quantity::scale_for(beginning, dimension).unwrap_or_else(plain);
        if scale.offset != 0.0 {
            scale.symbol = "K".to_owned();
            scale.offset = 0.0;
        }
        (scale, dimension)
    };
    let number = written.map(|w| {
        if relative {
            tidy(100.0 * w / v.nominal.abs())
        } else {
            scale.number_of_difference(w)
        }
    });
    let about = number.filter(|n| *n > 0.0).unwrap_or(1.0);
    let most = if relative { 90.0 } else { f64::INFINITY };
    Ok(Varied {
        written: Some(number.unwrap_or(0.0)),
        scale,
        dimension,
        usual: Some((about / 100.0, (about * 1000.0).min(most))),
        whole: false,
        form: Form::Tolerance {
            head: beginning.to_owned(),
            tail: drift_text(&v),
        },
    })
}

/// Without what binary fractions leave in the last digits.
fn tidy(x: f64) -> f64 {
    format!("{x:.12e}").parse().unwrap_or(x)
}

fn tolerance_text(v: &Valued) -> String {
    let side = |p: quantity::Part| match p {
        quantity::Part::Relative(r) => format!("{} %", tidy(100.0 * r)),
        quantity::Part::Absolute(a) => {
            let unit = quantity::symbol(v.dimension).unwrap_or("");
            format!("{a} {unit}")
        }
    };
    match v.tolerance {
        None => String::new(),
        Some(t) if t.minus == t.plus => format!(" ± {}", side(t.plus)),
        Some(t) => format!(" +{} -{}", side(t.plus), side(t.minus)),
    }
}

fn drift_text(v: &Valued) -> String {
    let mut text = String::new();
    if let Some(d) = v.drift_per_k {
        let sign = if v.drift_signed && d >= 0.0 { "+" } else { "" };
        text.push_str(&format!(" {sign}{} ppm/K", tidy(1e6 * d)));
    }
    if v.per_unit {
        text.push_str(" each");
    }
    for word in &v.words {
        text.push(' ');
        text.push_str(word);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    fn varied(text: &str, vary: Vary) -> Varied {
        let setting = Setting {
            text: text.to_owned(),
            span: finding::Span {
                source: finding::SourceId(0),
                start: 0,
                end: 0,
            },
        };
        Varied::new(&setting, true, vary).unwrap_or_else(|f| panic!("{text}: {}", f.message))
    }

    #[test]
    fn a_value_is_replaced_and_what_follows_it_stays() {
        for (text, number, new) in [
            ("10 kΩ 0.1 % 25 ppm/K", 10.0, "4.7 kΩ 0.1 % 25 ppm/K"),
            ("5 V ± 5 %", 5.0, "4.7 V ± 5 %"),
            ("3.3V±3%", 3.3, "4.7 V±3%"),
            ("4k3 1 %", 4.3, "4.7 kΩ 1 %"),
            ("0.2 Ω ± 0.05 Ω each", 0.2, "4.7 Ω ± 0.05 Ω each"),
            ("100 nF 10 % X7R", 100.0, "4.7 nF 10 % X7R"),
            ("21 °C ± 2 °C", 21.0, "4.7 °C ± 2 °C"),
            ("50 ppm", 50.0, "4.7 ppm"),
        ] {
            let v = varied(text, Vary::Value);
            assert!((v.written.unwrap() - number).abs() < 1e-9, "{text}");
            assert_eq!(v.with(4.7), new, "{text}");
        }
    }

    #[test]
    fn ends_tolerances_and_drifts_are_replaced_alone() {
        let v = varied("2 °C to 38 °C", Vary::High);
        assert_eq!(v.with(45.0), "2 °C to 45 °C");
        assert!((v.written.unwrap() - 38.0).abs() < 1e-9);
        assert_eq!(
            varied("0 to 10 kPa", Vary::Low).with(2.0),
            "2 kPa to 10 kPa"
        );
        let v = varied("10 kΩ 0.1 % 25 ppm/K", Vary::Tolerance);
        assert!((v.written.unwrap() - 0.1).abs() < 1e-9);
        assert_eq!(v.with(0.5), "10 kΩ ± 0.5 % 25 ppm/K");
        let v = varied("10 kΩ 0.1 % 25 ppm/K", Vary::Drift);
        assert!((v.written.unwrap() - 25.0).abs() < 1e-9);
        assert_eq!(v.with(50.0), "10 kΩ ± 0.1 % 50 ppm/K");
        assert_eq!(
            varied("100 nF X7R", Vary::Tolerance).with(5.0),
            "100 nF ± 5 % X7R"
        );
    }

    #[test]
    fn every_text_written_anew_reads_as_the_number_it_was_given() {
        for (text, dimension) in [
            ("10 kΩ 0.1 % 25 ppm/K", Dimension::RESISTANCE),
            ("100 nF 10 % X7R", Dimension::CAPACITANCE),
            ("5 V +5 % -10 %", Dimension::VOLTAGE),
        ] {
            for number in [1e-7, 0.123_456_789_012_345_67, 1.0, 5e12] {
                let v = varied(text, Vary::Value);
                let read = quantity::valued(&v.with(number), dimension).unwrap();
                let si = number * v.scale.factor;
                assert!(
                    (read.nominal / si - 1.0).abs() < 1e-14,
                    "{}",
                    v.with(number)
                );
            }
        }
    }

    #[test]
    fn what_cannot_be_varied_says_so() {
        let setting = |text: &str| Setting {
            text: text.to_owned(),
            span: finding::Span {
                source: finding::SourceId(0),
                start: 0,
                end: 0,
            },
        };
        for (text, quoted, vary) in [
            ("main", true, Vary::Value),
            ("2 °C to 38 °C", true, Vary::Value),
            ("10 kΩ", true, Vary::High),
            ("8", false, Vary::Tolerance),
            ("", true, Vary::Value),
            ("± 5 %", true, Vary::Tolerance),
        ] {
            assert!(
                Varied::new(&setting(text), quoted, vary).is_err(),
                "{text} {vary:?}"
            );
        }
    }
}
