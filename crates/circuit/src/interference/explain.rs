//! Which tone is it that shows in the readings?

use std::cmp::Ordering;

/// What must differ from its nominal value for an explanation to hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Off {
    /// Nothing: it is what the nominal values give.
    Nothing,
    /// The fundamental.
    Fundamental,
    /// The rate of the readings.
    Rate,
}

/// One way in which a harmonic may show at a frequency:
/// |n·fundamental − m·rate| = seen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Explanation {
    /// The harmonic, n.
    pub harmonic: u32,
    /// The multiple of the rate next to it, m.
    pub multiple: u32,
    /// Whether the harmonic lies above that multiple.
    pub above: bool,
    /// What differs.
    pub off: Off,
    /// The fundamental it takes, Hz.
    pub fundamental_hz: f64,
    /// The rate it takes, Hz.
    pub rate_hz: f64,
    /// How far that lies from the nominal value, in shares of what is
    /// permitted to that side.
    pub stretch: f64,
    /// How far the tone moves for each further reading per second, Hz: the
    /// test that decides.
    pub moves_hz: f64,
}

impl Explanation {
    /// Whether it needs nothing beyond what is permitted.
    #[must_use]
    pub fn plausible(&self) -> bool {
        self.stretch <= 1.0
    }
}

/// Beyond so many times what is permitted nothing is worth listing.
const LIMIT: f64 = 4.0;

/// Multiples of the rate looked at on either side of a tone: far above the
/// rate any frequency is next to one of them, and the nearest say enough.
const MULTIPLES: f64 = 32.0;

/// Explanations given.
const MOST: usize = 64;

/// Which harmonics of a fundamental between `fundamental.0` and
/// `fundamental.2` Hz (nominally `fundamental.1`) may be what is seen at
/// `seen_hz`, known to `tolerance_hz`, in readings taken nominally at
/// `rate_hz` within the relative `rate_tolerance`: either the fundamental or
/// the rate is off. The most plausible first; of equals the lower harmonic.
#[must_use]
pub fn explain_tone(
    seen_hz: f64,
    tolerance_hz: f64,
    fundamental: (f64, f64, f64),
    rate_hz: f64,
    rate_tolerance: f64,
    harmonics: u32,
) -> Vec<Explanation> {
    let (low, nominal, high) = fundamental;
    let usable = seen_hz >= 0.0
        && tolerance_hz >= 0.0
        && seen_hz.is_finite()
        && low > 0.0
        && nominal >= low
        && high >= nominal
        && high.is_finite()
        && rate_hz > 0.0
        && rate_hz.is_finite()
        && (0.0..0.2).contains(&rate_tolerance);
    if !usable {
        return Vec::new();
    }
    let mut list: Vec<Explanation> = Vec::new();
    for harmonic in 1..=harmonics {
        let n = f64::from(harmonic);
        let tone = n * nominal;
        // The multiples next to the tone, at the slowest and fastest rates
        // worth looking at.
        let reach = rate_tolerance * LIMIT;
        let next = (tone / rate_hz).round();
        if !(next < f64::from(u32::MAX / 2)) {
            continue;
        }
        let first = (tone / (rate_hz * (1.0 + reach))).floor();
        let last = (tone / (rate_hz * (1.0 - reach).max(0.2))).ceil();
        let first = first.max(next - MULTIPLES).max(0.0) as u32;
        let last = last.min(next + MULTIPLES) as u32;
        for multiple in first..=last {
            let m = f64::from(multiple);
            for above in [true, false] {
                let side = if above { 1.0 } else { -1.0 };
                // The same place is reached from both sides at zero.
                if seen_hz == 0.0 && !above {
                    continue;
                }
                let moves_hz = -side * m;
                // What is off by less than the reading of the tone is not off.
                let needed = (m * rate_hz + side * seen_hz) / n;
                let off = needed - nominal;
                let slack = tolerance_hz / n;
                let common = Explanation {
                    harmonic,
                    multiple,
                    above,
                    off: Off::Nothing,
                    fundamental_hz: nominal,
                    rate_hz,
                    stretch: 0.0,
                    moves_hz,
                };
                if off.abs() <= slack {
                    list.push(common);
                    continue;
                }
                let permitted = if off > 0.0 {
                    high - nominal
                } else {
                    nominal - low
                };
                list.push(Explanation {
                    off: Off::Fundamental,
                    fundamental_hz: needed,
                    stretch: (off.abs() - slack).max(0.0) / permitted,
                    ..common
                });
                if multiple > 0 {
                    let rate = (tone - side * seen_hz) / m;
                    let off = (rate - rate_hz).abs();
                    list.push(Explanation {
                        off: Off::Rate,
                        rate_hz: rate,
                        stretch: (off - tolerance_hz / m).max(0.0) / (rate_tolerance * rate_hz),
                        ..common
                    });
                }
            }
        }
    }
    // A tone above half the rate cannot be seen as such.
    list.retain(|e| {
        e.stretch <= LIMIT
            && e.fundamental_hz > 0.0
            && e.rate_hz > 0.0
            && seen_hz <= 0.5 * e.rate_hz + tolerance_hz
    });
    list.sort_by(|a, b| {
        a.stretch
            .partial_cmp(&b.stretch)
            .unwrap_or(Ordering::Equal)
            .then(a.harmonic.cmp(&b.harmonic))
    });
    list.truncate(MOST);
    list
}

/// Harmonics that stand still in readings taken at a rate: pairs of the
/// harmonic n and of the multiple m with n·fundamental = m·rate. What they
/// leave is an offset that no look at the readings gives away.
#[must_use]
pub fn zero_beats(fundamental_hz: f64, rate_hz: f64, harmonics: u32) -> Vec<(u32, u32)> {
    if !(fundamental_hz > 0.0 && rate_hz > 0.0) {
        return Vec::new();
    }
    (1..=harmonics)
        .map(|n| (n, f64::from(n) * fundamental_hz))
        .filter(|&(_, hz)| super::stands_still(hz, rate_hz))
        .map(|(n, hz)| (n, (hz / rate_hz).round() as u32))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 49.5 to 50.5 Hz.
    const GRID: (f64, f64, f64) = (49.5, 50.0, 50.5);

    #[test]
    fn published_slow_sine_at_200_readings_per_second() {
        // "Source of 5.5 Hz noise showing up on ADC" (itecnotes.com): the
        // explanation given there is a fourth harmonic at 205.5 Hz, of a grid
        // at 51.375 Hz. No grid runs there; rates of 194.5 and of 205.5 per
        // second with 50 Hz fit equally.
        let found = explain_tone(5.5, 0.1, GRID, 200.0, 0.05, 5);
        let of = |off, above| {
            *found
                .iter()
                .find(|e| e.off == off && e.above == above && e.harmonic == 4)
                .unwrap()
        };
        let slow = of(Off::Rate, true);
        let fast = of(Off::Rate, false);
        assert_eq!((slow.rate_hz, fast.rate_hz), (194.5, 205.5));
        assert_eq!((slow.multiple, slow.moves_hz), (1, -1.0));
        assert_eq!((fast.multiple, fast.moves_hz), (1, 1.0));
        assert!(slow.plausible() && fast.plausible());
        let grid = of(Off::Fundamental, true);
        assert_eq!(grid.fundamental_hz, 51.375);
        assert!(!grid.plausible());
        // The plausible ones come first, and all of them fit.
        assert_eq!(found[0].off, Off::Rate);
        for e in &found {
            let tone = f64::from(e.harmonic) * e.fundamental_hz;
            let seen = (tone - f64::from(e.multiple) * e.rate_hz).abs();
            assert!((seen - 5.5).abs() < 0.1001, "{e:?}");
        }
    }

    #[test]
    fn at_the_nominal_values_nothing_is_off() {
        // The fourth harmonic of 50 Hz at 195 readings per second: 5 Hz.
        let found = explain_tone(5.0, 0.1, GRID, 195.0, 0.01, 5);
        assert_eq!(found[0].off, Off::Nothing);
        assert_eq!((found[0].harmonic, found[0].multiple), (4, 1));
        // 51 Hz of a 50 Hz grid needs twice the tolerance.
        let found = explain_tone(4.0, 0.0, GRID, 47.0, 0.001, 1);
        assert_eq!(found[0].off, Off::Fundamental);
        assert_eq!(found[0].stretch, 2.0);
    }

    #[test]
    fn property_the_test_moves_the_tone_as_told() {
        for seen in [0.3, 5.5, 17.0] {
            for e in explain_tone(seen, 0.05, GRID, 90.0, 0.04, 7) {
                let tone = f64::from(e.harmonic) * e.fundamental_hz;
                let at = |rate| statistics::alias::frequency(tone, rate);
                let moved = (at(e.rate_hz + 1e-3) - at(e.rate_hz)) / 1e-3;
                assert!((moved - e.moves_hz).abs() < 1e-6, "{e:?}: {moved}");
            }
        }
    }

    #[test]
    fn harmonics_that_stand_still() {
        assert_eq!(zero_beats(50.0, 200.0, 5), vec![(4, 1)]);
        assert_eq!(zero_beats(50.0, 10.0, 3), vec![(1, 5), (2, 10), (3, 15)]);
        assert_eq!(zero_beats(50.0, 201.0, 5), vec![]);
        assert_eq!(zero_beats(0.0, 201.0, 5), vec![]);
        assert!(explain_tone(5.0, 0.1, GRID, 0.0, 0.05, 5).is_empty());
        assert!(explain_tone(f64::NAN, 0.1, GRID, 200.0, 0.05, 5).is_empty());
        // Far above the rate there is no end of explanations.
        let buck = (2.7e5, 3e5, 3.3e5);
        assert_eq!(explain_tone(0.3, 0.01, buck, 2.0, 0.05, 1000).len(), MOST);
        assert!(explain_tone(0.3, 0.01, (1e300, 1e300, 1e300), 1e-3, 0.05, 3).is_empty());
    }
}
