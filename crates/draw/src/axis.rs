//! Axes: range, ticks, and where a value lies.

use report::number;

/// Values beyond it are left out of an axis.
const MOST: f64 = 1e30;

/// How an axis is divided.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scale {
    /// Equal steps.
    Linear,
    /// Equal ratios; only positive values have a place on it.
    Log,
}

/// One axis of a plot.
#[derive(Clone, Debug, PartialEq)]
pub struct Axis {
    /// What it shows, without the unit.
    pub label: String,
    /// Unit of the values, without a prefix; empty for a plain number.
    pub unit: String,
    /// How it is divided.
    pub scale: Scale,
    /// Ends to show, in `unit`; from the data where there are none.
    pub range: Option<(f64, f64)>,
}

impl Axis {
    /// A linear axis over its data.
    #[must_use]
    pub fn linear(label: &str, unit: &str) -> Axis {
        Axis {
            label: label.to_owned(),
            unit: unit.to_owned(),
            scale: Scale::Linear,
            range: None,
        }
    }

    /// A logarithmic axis over its data.
    #[must_use]
    pub fn log(label: &str, unit: &str) -> Axis {
        Axis {
            scale: Scale::Log,
            ..Axis::linear(label, unit)
        }
    }

    /// The same axis with its ends given.
    #[must_use]
    pub fn within(self, low: f64, high: f64) -> Axis {
        Axis {
            range: Some((low, high)),
            ..self
        }
    }

    /// The axis made ready for these values.
    pub(crate) fn ruled(&self, values: impl Iterator<Item = f64>, most: usize) -> Ruled {
        // Nothing measured is larger; beyond it steps would run out of digits.
        let usable = |v: &f64| match self.scale {
            Scale::Linear => v.abs() <= MOST,
            Scale::Log => (1.0 / MOST..=MOST).contains(v),
        };
        let given = self.range.filter(|(a, b)| usable(a) && usable(b) && a < b);
        let (low, high) = given.unwrap_or_else(|| {
            values
                .filter(usable)
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| {
                    (a.min(v), b.max(v))
                })
        });
        match self.scale {
            Scale::Linear => self.linear_rule(low, high, most),
            Scale::Log => self.log_rule(low, high, most),
        }
    }

    fn linear_rule(&self, low: f64, high: f64, most: usize) -> Ruled {
        let (low, high) = if !(low <= high) {
            (0.0, 1.0)
        } else if high - low <= 1e-9 * high.abs().max(low.abs()) || high == low {
            let half = (0.05 * high.abs()).max(1e-300);
            if high == 0.0 {
                (0.0, 1.0)
            } else {
                (low - half, high + half)
            }
        } else {
            (low, high)
        };
        let step = step(high - low, most);
        let (first, last) = ((low / step + 1e-9).floor(), (high / step - 1e-9).ceil());
        // Millions of steps would be an axis far from its own zero, which the
        // guard above has widened.
        let count = (last - first).clamp(1.0, 100.0) as usize;
        let values: Vec<f64> = (0..=count).map(|i| (first + i as f64) * step).collect();
        let (low, high) = (first * step, (first + count as f64) * step);
        let (factor, unit) = prefixed(low.abs().max(high.abs()), &self.unit);
        let decimals = decimals(step * factor);
        let ticks = values
            .iter()
            .map(|&v| (v, number::fixed(v * factor + 0.0, decimals)))
            .map(|(v, t)| {
                (
                    v,
                    if t.trim_start_matches(['\u{2212}', '0', '.']).is_empty() {
                        "0".to_owned()
                    } else {
                        t
                    },
                )
            })
            .collect();
        Ruled {
            scale: Scale::Linear,
            low,
            high,
            ticks,
            fine: Vec::new(),
            title: titled(&self.label, &unit),
        }
    }

    fn log_rule(&self, low: f64, high: f64, most: usize) -> Ruled {
        let (low, high) = if !(low <= high) {
            (1.0, 10.0)
        } else {
            (low, high)
        };
        let floor = |x: f64| (elementary::log10(x) + 1e-9).floor();
        let ceil = |x: f64| (elementary::log10(x) - 1e-9).ceil();
        let (first, last) = (floor(low), ceil(high).max(floor(low) + 1.0));
        let decades = last - first;
        let every = (decades / most.max(2) as f64).ceil().max(1.0);
        // The number of labelled steps is whole, so that both ends are.
        let last = first + (decades / every).ceil() * every;
        let mut ticks = Vec::new();
        let mut fine = Vec::new();
        let mut e = first;
        while e <= last && ticks.len() < 100 {
            ticks.push((ten(e), amount(ten(e), &self.unit)));
            let mut inner = e;
            while inner < e + every && e < last {
                if inner > e {
                    fine.push(ten(inner));
                }
                if last - first <= 6.0 {
                    for m in 2..10 {
                        let v = f64::from(m) * ten(inner);
                        let labelled = decades <= 2.0 && (m == 2 || m == 5);
                        if labelled {
                            ticks.push((v, amount(v, &self.unit)));
                        } else {
                            fine.push(v);
                        }
                    }
                }
                inner += 1.0;
            }
            e += every;
        }
        Ruled {
            scale: Scale::Log,
            low: ten(first),
            high: ten(last),
            ticks,
            fine,
            title: self.label.clone(),
        }
    }
}

/// An axis with its ends and ticks.
#[derive(Clone, Debug)]
pub(crate) struct Ruled {
    pub scale: Scale,
    pub low: f64,
    pub high: f64,
    /// Value and label; the first and the last are the ends.
    pub ticks: Vec<(f64, String)>,
    /// Values with a rule and no label.
    pub fine: Vec<f64>,
    /// What stands at the axis: label and unit.
    pub title: String,
}

impl Ruled {
    /// Where a value lies between the ends, 0 to 1 within them; not a number
    /// where it has no place.
    pub(crate) fn share(&self, v: f64) -> f64 {
        match self.scale {
            Scale::Linear => (v - self.low) / (self.high - self.low),
            Scale::Log if v > 0.0 => {
                let l = elementary::log10;
                (l(v) - l(self.low)) / (l(self.high) - l(self.low))
            }
            Scale::Log => f64::NAN,
        }
    }
}

/// A power of ten, to the last bit: as the digits would be read.
fn ten(exponent: f64) -> f64 {
    format!("1e{exponent:.0}").parse().unwrap_or(f64::NAN)
}

/// 1, 2 or 5 times a power of ten, the smallest that makes at most so many
/// steps of a width.
fn step(width: f64, most: usize) -> f64 {
    let least = width / most.max(1) as f64;
    let ten = ten(elementary::log10(least).floor());
    [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|m| m * ten)
        .find(|s| *s >= least * (1.0 - 1e-9))
        .unwrap_or(10.0 * ten)
}

/// Decimals that a step of 1, 2 or 5 times a power of ten needs.
fn decimals(step: f64) -> usize {
    (0_u8..12)
        .find(|&d| {
            let x = step * ten(f64::from(d));
            (x - x.round()).abs() < 1e-6 * x && x > 0.5
        })
        .map_or(12, usize::from)
}

/// Unit of a spectral density before its root, where it is one.
fn root_of(unit: &str) -> Option<&str> {
    unit.strip_suffix("/√Hz")
}

fn prefixed(value: f64, unit: &str) -> (f64, String) {
    if unit.is_empty() {
        return (1.0, String::new());
    }
    match root_of(unit) {
        Some(root) => {
            let (factor, name) = number::prefixed(value, root);
            (factor, format!("{name}/√Hz"))
        }
        None => number::prefixed(value, unit),
    }
}

/// A value with its unit and no needless zeros.
pub(crate) fn amount(value: f64, unit: &str) -> String {
    match root_of(unit) {
        Some(root) => format!("{}/√Hz", number::about(value, root)),
        None => number::about(value, unit),
    }
}

fn titled(label: &str, unit: &str) -> String {
    match (label.is_empty(), unit.is_empty()) {
        (_, true) => label.to_owned(),
        (true, false) => unit.to_owned(),
        (false, false) => format!("{label}, {unit}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn labels(r: &Ruled) -> Vec<&str> {
        r.ticks.iter().map(|t| t.1.as_str()).collect()
    }

    #[test]
    fn linear_ends_are_labelled_with_one_prefix() {
        let r = Axis::linear("error", "V").ruled([-0.0012, 0.0031].into_iter(), 6);
        assert_eq!(r.title, "error, mV");
        assert_eq!(
            labels(&r),
            ["\u{2212}2", "\u{2212}1", "0", "1", "2", "3", "4"]
        );
        assert_eq!((r.share(-0.002), r.share(0.004)), (0.0, 1.0));
        let r = Axis::linear("gain", "dB").ruled([-40.0, 0.0].into_iter(), 5);
        assert_eq!(
            labels(&r),
            ["\u{2212}40", "\u{2212}30", "\u{2212}20", "\u{2212}10", "0"]
        );
        let r = Axis::linear("", "s").ruled([0.0, 0.25].into_iter(), 5);
        assert_eq!(
            (r.title.as_str(), labels(&r)),
            ("ms", vec!["0", "50", "100", "150", "200", "250"])
        );
    }

    #[test]
    fn log_ends_are_labelled_each_with_its_prefix() {
        let r = Axis::log("frequency", "Hz").ruled([1.0, 1e6].into_iter(), 8);
        assert_eq!(
            labels(&r),
            [
                "1 Hz", "10 Hz", "100 Hz", "1 kHz", "10 kHz", "100 kHz", "1 MHz"
            ]
        );
        assert!((r.share(1e3) - 0.5).abs() < 1e-12);
        assert!(r.share(0.0).is_nan());
        let r = Axis::log("density", "V/√Hz").ruled([2e-9, 3e-7].into_iter(), 5);
        assert_eq!(
            labels(&r),
            ["1 nV/√Hz", "10 nV/√Hz", "100 nV/√Hz", "1 µV/√Hz"]
        );
        // Few decades have labels between, many are labelled now and then.
        let r = Axis::log("", "Hz").ruled([10.0, 99.0].into_iter(), 5);
        assert_eq!(labels(&r), ["10 Hz", "20 Hz", "50 Hz", "100 Hz"]);
        let r = Axis::log("", "Hz").ruled([1e-3, 1e9].into_iter(), 5);
        assert!(r.ticks.len() <= 6 && r.high >= 1e9);
    }

    #[test]
    fn nothing_to_show_still_makes_an_axis() {
        for values in [vec![], vec![f64::NAN], vec![0.0], vec![3.3], vec![-1e-12]] {
            for axis in [Axis::linear("x", "V"), Axis::log("x", "V")] {
                let r = axis.ruled(values.iter().copied(), 5);
                assert!(r.low < r.high, "{values:?}");
                assert!((2..20).contains(&r.ticks.len()), "{values:?} {:?}", r.ticks);
            }
        }
    }

    #[test]
    fn property_ticks_are_ordered_and_cover_the_data() {
        for e in -15..12 {
            for (a, b) in [(1.0, 9.7), (0.0, 3.0), (-7.3, 7.3), (2.49, 2.51)] {
                let ten = elementary::pow(10.0, f64::from(e));
                let r = Axis::linear("", "V").ruled([a * ten, b * ten].into_iter(), 6);
                assert!(r.low <= a * ten + 1e-9 * ten && r.high >= (b - 1e-8) * ten);
                assert!(r.ticks.windows(2).all(|w| w[0].0 < w[1].0));
                let texts: std::collections::BTreeSet<&str> = labels(&r).into_iter().collect();
                assert_eq!(texts.len(), r.ticks.len(), "{:?}", r.ticks);
            }
        }
    }
}
