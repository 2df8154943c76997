//! Windows, rates and frequencies at which a tone does not get through.

use statistics::averaging;

use super::{Family, Readout, SincFilter};

/// A window that holds whole periods of every family.
#[derive(Clone, Debug, PartialEq)]
pub struct NullWindow {
    /// Its length, s.
    pub seconds: f64,
    /// Periods of each family in it.
    pub periods: Vec<u32>,
    /// Conversions nearest to it at the present rate.
    pub count: u32,
    /// The rate at which so many last exactly as long, Hz.
    pub rate_hz: f64,
    /// What the mean keeps at the present rate of the worst tone within its
    /// range.
    pub kept: f64,
    /// What it keeps at `rate_hz`: what the ends of the tolerances leave.
    pub kept_exact: f64,
}

/// How far from whole a number of periods may be.
const WHOLE: f64 = 1e-9;

/// Averaging windows up to `longest_s` that hold whole periods of all
/// families' nominal fundamentals, the shortest first; conversions come at
/// `rate_hz`. For 50 Hz these are the multiples of 20 ms, for 50 and 60 Hz
/// those of 100 ms. No more than `most`.
#[must_use]
pub fn null_windows(
    families: &[Family],
    rate_hz: f64,
    longest_s: f64,
    most: usize,
) -> Vec<NullWindow> {
    let mut list = Vec::new();
    let Some(slowest) = families
        .iter()
        .map(|f| f.nominal_hz)
        .reduce(f64::min)
        .filter(|hz| *hz > 0.0)
    else {
        return list;
    };
    if !(rate_hz > 0.0 && rate_hz.is_finite()) || families.iter().any(|f| !f.usable()) {
        return list;
    }
    let end = (longest_s * slowest * (1.0 + WHOLE)).floor().min(1e6);
    let mut k = 1.0;
    while k <= end && list.len() < most {
        let seconds = k / slowest;
        let turns: Vec<f64> = families.iter().map(|f| seconds * f.nominal_hz).collect();
        k += 1.0;
        if turns.iter().any(|t| (t - t.round()).abs() > WHOLE * t) {
            continue;
        }
        let count = (seconds * rate_hz).round().clamp(1.0, 1e9);
        let exact_hz = count / seconds;
        // One conversion is no window.
        if count < 2.0 {
            continue;
        }
        let worst = |rate: f64| {
            tones(families)
                .map(|(low, high)| averaging::largest_power(low / rate, high / rate, count as u32))
                .fold(0.0, f64::max)
                .sqrt()
        };
        list.push(NullWindow {
            seconds,
            periods: turns.iter().map(|t| t.round() as u32).collect(),
            count: count as u32,
            rate_hz: exact_hz,
            kept: worst(rate_hz),
            kept_exact: worst(exact_hz),
        });
    }
    list
}

/// Lowest and highest frequency of every tone.
fn tones(families: &[Family]) -> impl Iterator<Item = (f64, f64)> {
    families.iter().flat_map(|f| {
        (1..=f.harmonics.max(1)).map(move |n| (f64::from(n) * f.low_hz, f64::from(n) * f.high_hz))
    })
}

/// What a delta-sigma converter leaves of some tones at one data rate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rejection {
    /// The data rate, which is the first notch, Hz.
    pub data_rate_hz: f64,
    /// What is kept of the worst nominal tone.
    pub kept_nominal: f64,
    /// What is kept of the worst tone within its range.
    pub kept: f64,
}

/// What each data rate leaves of some families, that which leaves least
/// first; of equals the faster.
#[must_use]
pub fn rejections(families: &[Family], rates_hz: &[f64], order: u32) -> Vec<Rejection> {
    if families.iter().any(|f| !f.usable()) {
        return Vec::new();
    }
    let mut list: Vec<Rejection> = rates_hz
        .iter()
        .copied()
        .filter(|hz| *hz > 0.0 && hz.is_finite())
        .map(|hz| {
            let readout = Readout {
                sample_rate_hz: hz,
                count: 1,
                reading_rate_hz: hz,
                filter: Some(SincFilter {
                    order,
                    notch_hz: hz,
                    decimation: None,
                }),
            };
            Rejection {
                data_rate_hz: hz,
                kept_nominal: families
                    .iter()
                    .flat_map(|f| {
                        (1..=f.harmonics.max(1)).map(move |n| f64::from(n) * f.nominal_hz)
                    })
                    .map(|tone| readout.kept(tone))
                    .fold(0.0, f64::max),
                kept: tones(families)
                    .map(|(low, high)| readout.largest(low, high))
                    .fold(0.0, f64::max),
            }
        })
        .collect();
    list.sort_by(|a, b| {
        a.kept
            .total_cmp(&b.kept)
            .then(b.data_rate_hz.total_cmp(&a.data_rate_hz))
    });
    list
}

/// Distance from a multiple of the conversion rate, as a share of it, from
/// which on the mean of `count` keeps no more than a share of the amplitude.
/// `None` for single conversions, which keep everything.
fn distance(count: u32, kept: f64) -> Option<f64> {
    if count < 2 {
        return None;
    }
    let whole = f64::from(count);
    let power = |x: f64| averaging::window_power(x, count);
    let target = kept * kept;
    // The tops of the lobes fall up to half the rate: the last that is too
    // high is found by halving.
    let end = |lobe: u32| (f64::from(lobe + 1) / whole).min(0.5);
    let exceeds = |lobe: u32| {
        lobe == 0 || averaging::largest_power(f64::from(lobe) / whole, end(lobe), count) > target
    };
    let (mut last, mut beyond) = (0, count / 2 + 1);
    while beyond - last > 1 {
        let middle = last + (beyond - last) / 2;
        if f64::from(middle) / whole < 0.5 && exceeds(middle) {
            last = middle;
        } else {
            beyond = middle;
        }
    }
    if power(end(last)) > target {
        return Some(0.5);
    }
    // Down the far side of that lobe.
    let (mut inside, mut outside) = (f64::from(last) / whole, end(last));
    if last > 0 {
        let (mut a, mut b) = (inside, outside);
        for _ in 0..100 {
            let (x, y) = (a + 0.382 * (b - a), b - 0.382 * (b - a));
            if power(x) > power(y) {
                b = y;
            } else {
                a = x;
            }
        }
        inside = 0.5 * (a + b);
    }
    for _ in 0..100 {
        let middle = 0.5 * (inside + outside);
        if power(middle) > target {
            inside = middle;
        } else {
            outside = middle;
        }
    }
    Some(outside)
}

/// Where a regulator's frequency must not lie.
#[derive(Clone, Debug, PartialEq)]
pub struct Avoid {
    /// Half the width of each band, Hz.
    pub half_width_hz: f64,
    /// The bands around the multiples of the conversion rate that overlap the
    /// range asked about, Hz, rising; no more than were asked for.
    pub bands_hz: Vec<(f64, f64)>,
    /// Number of such bands, listed or not.
    pub count: f64,
    /// Share of the range that lies within bands.
    pub covered: f64,
}

/// The frequencies between two bounds at which a regulator's tone gets into
/// the mean of `count` conversions at `rate_hz` with more than a share
/// `kept` of its amplitude: n·rate ± a half width. Where the range is wider
/// than the rate, some band always lies in it and only a filter before the
/// converter helps.
///
/// `None` where a number is not positive, and where single conversions keep
/// everything.
#[must_use]
pub fn to_avoid(
    rate_hz: f64,
    count: u32,
    kept: f64,
    (low_hz, high_hz): (f64, f64),
    most: usize,
) -> Option<Avoid> {
    let usable = rate_hz > 0.0
        && rate_hz.is_finite()
        && kept > 0.0
        && kept < 1.0
        && low_hz > 0.0
        && high_hz >= low_hz
        && high_hz.is_finite();
    if !usable {
        return None;
    }
    let share = distance(count, kept)?;
    let half_width_hz = share * rate_hz;
    let first = ((low_hz - half_width_hz) / rate_hz).ceil().max(1.0);
    let last = ((high_hz + half_width_hz) / rate_hz).floor();
    let count = (last - first + 1.0).max(0.0);
    let mut bands_hz = Vec::new();
    let mut n = first;
    while n <= last && bands_hz.len() < most {
        bands_hz.push((n * rate_hz - half_width_hz, n * rate_hz + half_width_hz));
        n += 1.0;
    }
    // Where the range ends inside a band, only the part inside counts.
    let inside = |n: f64| {
        let (from, to) = (n * rate_hz - half_width_hz, n * rate_hz + half_width_hz);
        (to.min(high_hz) - from.max(low_hz)).max(0.0)
    };
    let whole = (count - 2.0).max(0.0) * 2.0 * half_width_hz;
    let ends = match count {
        0.0 => 0.0,
        1.0 => inside(first),
        _ => inside(first) + inside(last),
    };
    let covered = if high_hz > low_hz {
        ((whole + ends) / (high_hz - low_hz)).min(1.0)
    } else {
        f64::from(u8::from(count > 0.0))
    };
    Some(Avoid {
        half_width_hz,
        bands_hz,
        count,
        covered,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mains(hz: f64) -> Family {
        Family {
            low_hz: hz - 0.5,
            nominal_hz: hz,
            high_hz: hz + 0.5,
            harmonics: 5,
            amplitudes: vec![],
        }
    }

    #[test]
    fn windows_of_whole_mains_periods() {
        let fifty = null_windows(&[mains(50.0)], 1000.0, 0.1, 9);
        let lengths: Vec<u32> = fifty.iter().map(|w| w.count).collect();
        assert_eq!(lengths, [20, 40, 60, 80, 100]);
        assert_eq!(fifty[0].rate_hz, 1000.0);
        // 1 % off in frequency leaves some 1 % of each tone; most of the
        // fifth at 247.5 Hz: sin(0.05·π)/(20·sin(0.2475·π)) = 0.01115.
        assert!((fifty[0].kept - 0.01115).abs() < 1e-5, "{}", fifty[0].kept);
        assert_eq!(fifty[0].kept, fifty[0].kept_exact);
        // Both grids: 100 ms holds 5 and 6 periods (common practice).
        let both = null_windows(&[mains(50.0), mains(60.0)], 1000.0, 0.25, 9);
        assert_eq!(both.len(), 2);
        assert_eq!((both[0].count, both[0].seconds), (100, 0.1));
        assert_eq!(both[0].periods, [5, 6]);
        // At 970 per second 19 conversions are 19.6 ms; at 950 exactly 20 ms.
        let odd = null_windows(&[mains(50.0)], 970.0, 0.02, 9);
        assert_eq!((odd[0].count, odd[0].rate_hz), (19, 950.0));
        assert!(odd[0].kept > odd[0].kept_exact);
        assert!(null_windows(&[], 970.0, 0.02, 9).is_empty());
        assert!(null_windows(&[mains(50.0)], 970.0, 0.01, 9).is_empty());
        // A rate below twice the mains cannot average it away in one period.
        assert!(null_windows(&[mains(50.0)], 60.0, 0.02, 9).is_empty());
    }

    #[test]
    fn published_simultaneous_rejection_at_ten_per_second() {
        // A third-order filter at 10 outputs per second has its notches at 50
        // and at 60 Hz; with ± 1 Hz more than 100 dB are left, as data sheets
        // of such converters state (common practice). A rate of 16.7 per
        // second rejects both by some 65 dB only.
        let grids = |hz: f64| Family {
            low_hz: hz - 1.0,
            nominal_hz: hz,
            high_hz: hz + 1.0,
            harmonics: 1,
            amplitudes: vec![],
        };
        let list = rejections(&[grids(50.0), grids(60.0)], &[16.7, 470.0, 10.0], 3);
        assert_eq!(list[0].data_rate_hz, 10.0);
        assert!(list[0].kept_nominal < 1e-12);
        assert!(super::super::decibel(list[0].kept) < -100.0);
        assert!(list[1].data_rate_hz == 16.7 && list[1].kept > list[0].kept);
        assert!(list[2].kept > 0.9);
    }

    #[test]
    fn property_outside_the_bands_little_is_kept() {
        for (rate, count, kept) in [(10e3, 16, 0.1), (1234.5, 7, 0.3), (1e5, 100, 0.02)] {
            let avoid = to_avoid(rate, count, kept, (2.2 * rate, 6.7 * rate), 100).unwrap();
            assert_eq!(avoid.bands_hz.len() as f64, avoid.count);
            let mut inside = 0;
            for k in 0..20_000 {
                let hz = rate * (2.2 + 4.5 * f64::from(k) / 2e4);
                let banned = avoid.bands_hz.iter().any(|b| hz >= b.0 && hz <= b.1);
                inside += u32::from(banned);
                let left = averaging::window_power(hz / rate, count).sqrt();
                assert!(banned || left <= kept * (1.0 + 1e-9), "{hz}: {left}");
            }
            assert!((f64::from(inside) / 2e4 - avoid.covered).abs() < 1e-3);
        }
        // Single conversions keep everything.
        assert_eq!(to_avoid(1e3, 1, 0.1, (1e4, 2e4), 9), None);
        assert_eq!(to_avoid(0.0, 4, 0.1, (1e4, 2e4), 9), None);
        // A fixed frequency lies in a band or not.
        assert_eq!(to_avoid(1e3, 16, 0.1, (3e5, 3e5), 9).unwrap().covered, 1.0);
        assert_eq!(
            to_avoid(1e3, 16, 0.1, (3.005e5, 3.005e5), 9)
                .unwrap()
                .covered,
            0.0
        );
    }
}
