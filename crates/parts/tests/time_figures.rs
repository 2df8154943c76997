//! Which figures of time and noise the shipped converters, amplifiers,
//! references and regulators have, so that a gap is seen when it opens or
//! closes. What a data sheet that was read states is in the part; what is
//! missing here was not read.
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests")]

use std::fmt::Write as _;
use std::path::PathBuf;

use parts::{Figures, Library};

/// Figures of a converter that samples an instant.
const SAMPLING: &[&str] = &[
    "clock",
    "sample-cycles",
    "sample-time",
    "conversion-cycles",
    "conversion-time",
    "sample-rate",
    "sample-capacitor",
    "switch-resistance",
    "pin-capacitance",
    "source-resistance-limit",
    "noise",
    "signal-to-noise",
    "effective-bits",
];

/// Figures of a converter that averages by its nature.
const FILTERING: &[&str] = &[
    "sample-rate",
    "data-rates",
    "filter-order",
    "filter-notch",
    "settling-conversions",
    "mains-rejection",
    "noise",
    "effective-bits",
];

/// Figures of amplifiers.
const AMPLIFIER: &[&str] = &[
    "gain-bandwidth",
    "bandwidth",
    "slew-rate",
    "noise-density",
    "noise-corner",
    "noise-low-frequency",
    "output-noise-density",
    "current-noise-density",
    "supply-rejection",
    "input-capacitance",
    "overload-recovery",
    "settling-time",
];

/// Figures of what gives a voltage.
const SOURCE: &[&str] = &[
    "noise-low-frequency",
    "noise-wide",
    "noise-density",
    "noise",
    "supply-rejection",
    "line-regulation",
    "settling-time",
];

/// Figures of sensors.
const SENSOR: &[&str] = &[
    "settling-time",
    "response-time",
    "time-constant",
    "bandwidth",
    "noise",
    "noise-density",
    "output-resistance",
    "capacitance",
];

fn row(out: &mut String, name: &str, wanted: &[&str], figures: &Figures) {
    let of = |there: bool| -> String {
        let list: Vec<&str> = wanted
            .iter()
            .copied()
            .filter(|w| figures.contains_key(*w) == there)
            .collect();
        list.join(" ")
    };
    let _ = writeln!(out, "{name}\n  has {}\n  not {}", of(true), of(false));
}

#[test]
fn snapshot_of_the_figures_of_time_and_noise() {
    let mut out = String::new();
    for part in Library::shipped().iter() {
        for unit in &part.converters {
            let kind = if unit.delta_sigma {
                "filters"
            } else {
                "samples"
            };
            let wanted = if unit.delta_sigma {
                FILTERING
            } else {
                SAMPLING
            };
            let name = format!("{}.{} ({kind})", part.id, unit.name);
            row(&mut out, &name, wanted, &unit.figures);
        }
        let wanted = match part.kind.as_str() {
            "amplifier" | "instrumentation-amplifier" => AMPLIFIER,
            "series-reference" | "shunt-reference" | "regulator" => SOURCE,
            "sensor" => SENSOR,
            _ => continue,
        };
        row(
            &mut out,
            &format!("{} ({})", part.id, part.kind),
            wanted,
            &part.figures,
        );
    }
    let file = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/time_figures.txt");
    if std::env::var_os("LEASTBIT_WRITE_DOCS").is_some() {
        std::fs::write(&file, &out).unwrap();
    }
    let there = std::fs::read_to_string(&file).unwrap_or_default();
    let changed = there.lines().zip(out.lines()).find(|(a, b)| a != b);
    assert!(
        there == out,
        "tests/time_figures.txt is behind the library: {changed:?}\nrun LEASTBIT_WRITE_DOCS=1 cargo test -p parts --test time_figures"
    );
}

/// The rows of noise of the AD7799 by output rate and gain: data sheet
/// AD7798/AD7799 Rev. B, Tables 5 to 8.
#[test]
fn published_noise_by_rate_and_gain() {
    let library = Library::shipped();
    let unit = library.get("ad7799").unwrap().converter("").unwrap();
    let noise = &unit.figures["noise"];
    for (rate, gain, volt) in [
        (4.17, 1.0, 0.64e-6),
        (16.7, 128.0, 0.065e-6),
        (123.0, 8.0, 0.785e-6),
        (470.0, 1.0, 11.33e-6),
    ] {
        let at = noise.not_below_rate(rate).at(gain).unwrap();
        assert!((at - volt).abs() < 1e-12, "{rate} {gain}: {at}");
    }
    // Between two rows the noisier one counts, above the last one that one.
    assert_eq!(noise.not_below_rate(20.0).rate_hz, Some(123.0));
    assert_eq!(noise.not_below_rate(1000.0).rate_hz, Some(470.0));
    // Rejection is known at the rate it was printed for, and at no other.
    let rejection = &unit.figures["mains-rejection"];
    assert!(rejection.at_rate(16.67).is_some() && rejection.at_rate(50.0).is_none());
}

/// Noise of references: data sheet ADR504x Rev. B, Tables 2 to 6 (rms), data
/// sheet ADR440 to ADR445, page 1 (peak to peak); of regulators: NCP189/D
/// Rev. 2, LT1761 (1761sff).
#[test]
fn published_noise_says_its_band_and_how_it_is_given() {
    let library = Library::shipped();
    let figure = |id: &str, name: &str| library.get(id).unwrap().figures[name].clone();
    let slow = figure("adr5041", "noise-low-frequency");
    assert_eq!(
        (slow.band_hz, slow.peak_to_peak),
        (Some((0.1, 10.0)), Some(false))
    );
    let wide = figure("adr5041", "noise-wide");
    assert_eq!((wide.band_hz, wide.typ), (Some((10.0, 10e3)), Some(150e-6)));
    assert_eq!(
        figure("adr441", "noise-low-frequency").peak_to_peak,
        Some(true)
    );
    for id in ["ncp189-3v3", "lt1761-3v3"] {
        assert_eq!(figure(id, "noise").band_hz, Some((10.0, 100e3)));
    }
}
