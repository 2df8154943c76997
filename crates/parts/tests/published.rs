//! Shipped figures against what is published.
#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "tests"
)]

use parts::{Figure, Library, Part};

fn part(id: &str) -> &'static Part {
    Library::shipped().get(id).unwrap_or_else(|| missing(id))
}

#[allow(clippy::panic, reason = "the test should say which part is missing")]
fn missing(id: &str) -> ! {
    panic!("no part `{id}`")
}

fn figure(id: &str, name: &str) -> &'static Figure {
    &part(id).figures[name]
}

fn unit_figure(id: &str, name: &str) -> &'static Figure {
    &part(id).converters[0].figures[name]
}

fn close(found: f64, wanted: f64, relative: f64) {
    let scale = wanted.abs().max(f64::MIN_POSITIVE);
    assert!(
        (found - wanted).abs() <= relative * scale,
        "{found} is not {wanted}"
    );
}

/// IEC 60751:2022, tolerance classes: at 0, 100, 200 and 400 °C, in kelvin.
#[test]
fn published_platinum_classes() {
    let classes = [
        ("aa", [0.10, 0.27, 0.44, 0.78]),
        ("a", [0.15, 0.35, 0.55, 0.95]),
        ("b", [0.30, 0.80, 1.30, 2.30]),
        ("c", [0.60, 1.60, 2.60, 4.60]),
    ];
    for (class, wanted) in classes {
        for resistance in [100.0, 500.0, 1000.0] {
            let id = format!("platinum-{resistance}-class-{class}");
            assert_eq!(
                figure(&id, "nominal-resistance").typical(),
                Some(resistance)
            );
            let zero = figure(&id, "class-at-zero").max.expect("a limit");
            let slope = figure(&id, "class-slope").max.expect("a limit");
            for (t, tolerance) in [0.0, 100.0, 200.0, 400.0].into_iter().zip(wanted) {
                close(zero + slope * t, tolerance, 1e-12);
            }
            // The class is split at 0 °C, so that is where it refers to.
            assert_eq!(
                figure(&id, "class-at-zero").reference_temperature_k,
                Some(273.15)
            );
        }
    }
}

/// IEC 60584-1:2013, tolerances: the greater of the two parts, in kelvin.
#[test]
fn published_thermocouple_classes() {
    let rows = [
        ("thermocouple-k-class-1", 100.0, 1.5),
        ("thermocouple-k-class-1", 500.0, 2.0),
        ("thermocouple-k-class-1", 1000.0, 4.0),
        ("thermocouple-k-class-2", 100.0, 2.5),
        ("thermocouple-k-class-2", 600.0, 4.5),
        ("thermocouple-t-class-1", 100.0, 0.5),
        ("thermocouple-t-class-1", 300.0, 1.2),
        // Cross-over temperatures: both parts are equal there.
        ("thermocouple-j-class-1", 375.0, 1.5),
        ("thermocouple-j-class-2", 1000.0 / 3.0, 2.5),
        ("thermocouple-k-class-3", 500.0 / 3.0, 2.5),
        ("thermocouple-t-class-3", 200.0 / 3.0, 1.0),
    ];
    for (id, t, tolerance) in rows {
        let absolute = figure(id, "class-absolute").max.expect("a limit");
        let relative = figure(id, "class-relative").max.expect("a limit");
        close(absolute.max(relative * t), tolerance, 1e-12);
    }
}

/// STM32F103x8/xB data sheet, DocID13587 Rev 17, Equation 1 with N = 12:
/// R = T_s / (f · C · ln 2^(N+2)) − R_adc, against the rows of Table 47
/// (14 MHz, rounded to 0.1 kΩ; the last one is capped at 50 kΩ).
#[test]
fn published_source_resistance_equation() {
    let capacitor = unit_figure("stm32f103", "sample-capacitor")
        .max
        .expect("a limit");
    let switch = unit_figure("stm32f103", "switch-resistance")
        .max
        .expect("a limit");
    let clock = unit_figure("stm32f103", "clock").max.expect("a limit");
    let rows = &unit_figure("stm32f103", "source-resistance-limit").points;
    assert_eq!(rows.len(), 6);
    for (cycles, resistance) in rows {
        let logarithm = 14.0 * std::f64::consts::LN_2;
        let computed = cycles / (clock * capacitor * logarithm) - switch;
        assert!(
            (computed.min(50e3) - resistance).abs() <= 60.0,
            "{cycles}: {computed}"
        );
    }
}

/// ST10F269 data sheet, Table 32: R = t/150 − 0.25 in kΩ, t in ns.
#[test]
fn published_st10_source_resistance() {
    let limit = unit_figure("st10f269", "source-resistance-limit");
    for t_ns in [1000.0, 4000.0, 10_000.0] {
        let wanted = (t_ns / 150.0 - 0.25) * 1e3;
        close(limit.at(t_ns * 1e-9).expect("points"), wanted, 1e-4);
    }
}

/// Transfer equations as printed: MPX5010 Rev. 14 Figure 12, offset and full
/// scale at 5.0 V from Table 6; MPXV7002 Rev. 5 Table 5; HIH-4000 Table 1;
/// TMP35/36/37 Rev. E Table 1; ACS712 tables, sensitivity at 5 V.
#[test]
fn published_transfers() {
    let share = |id: &str, q: f64| {
        figure(id, "offset-ratio").typical().expect("an offset")
            + figure(id, "slope-ratio").typical().expect("a slope") * q
    };
    close(5.0 * share("mpx5010", 0.0), 0.2, 1e-12);
    close(5.0 * share("mpx5010", 10e3), 4.7, 1e-12);
    close(5.0 * share("mpxv7002", -2e3), 0.5, 1e-12);
    close(5.0 * share("mpxv7002", 2e3), 4.5, 1e-12);
    close(share("hih4000", 100.0), 0.78, 1e-12);
    close(5.0 * share("acs712-5a", 1.0), 2.5 + 0.185, 1e-12);
    close(5.0 * share("acs712-20a", 1.0), 2.5 + 0.1, 1e-12);
    close(5.0 * share("acs712-30a", 1.0), 2.5 + 0.066, 1e-12);
    for (id, at_25) in [("tmp35", 0.25), ("tmp36", 0.75), ("tmp37", 0.5)] {
        let offset = figure(id, "offset").typical().expect("an offset");
        let slope = figure(id, "slope").typical().expect("a slope");
        close(offset + 25.0 * slope, at_25, 1e-12);
    }
}

/// Limits in volts as printed beside the percentages of the ADR504x data
/// sheet, Rev. B, Tables 2 to 6 (rounded there to 0.5 mV and 2 mV).
#[test]
fn published_shunt_reference_limits() {
    let rows = [
        ("adr5041", 2.495, 2.505),
        ("adr5041-b", 2.4975, 2.5025),
        ("adr5043", 2.994, 3.006),
        ("adr5043-b", 2.997, 3.003),
        ("adr5045", 4.990, 5.010),
        ("adr5045-b", 4.995, 5.005),
    ];
    for (id, low, high) in rows {
        let voltage = figure(id, "voltage").typical().expect("a voltage");
        let spread = figure(id, "initial-accuracy").spread().expect("a spread");
        close(voltage * (1.0 + spread.low), low, 1e-9);
        close(voltage * (1.0 + spread.high), high, 1e-9);
    }
}

/// Single figures as printed, one or more for every group; the sources are
/// those of the parts' files.
#[test]
fn published_figures_are_transcribed() {
    let rows: [(&str, Option<f64>, f64); 18] = [
        (
            "AD8422 Table 1, offset A",
            figure("ad8422", "offset-voltage").max,
            60e-6,
        ),
        (
            "AD8422 Table 1, offset B",
            figure("ad8422-b", "offset-voltage").max,
            25e-6,
        ),
        ("AD620, R0", figure("ad620", "gain-resistance").typ, 49.4e3),
        (
            "AD8237 Table 2, bias",
            figure("ad8237", "bias-current").max,
            650e-12,
        ),
        (
            "AD8655 Table 1, gain 100 dB",
            figure("ad8655", "open-loop-gain").min,
            1e5,
        ),
        (
            "ADA4530-1 page 1, bias",
            figure("ada4530-1", "bias-current").max,
            20e-15,
        ),
        (
            "BPW34, dark current",
            figure("bpw34", "dark-current").max,
            30e-9,
        ),
        (
            "ADT7420, widest range",
            part("adt7420").measures[0].figures["accuracy"].max,
            0.5,
        ),
        (
            "MS5611, error band",
            part("ms5611").measures[0].figures["accuracy"].max,
            250.0,
        ),
        (
            "LIS3MDL, 6842 LSB per gauss",
            part("lis3mdl").measures[0].figures["code-step"].typ,
            6842.0 / 1e-4,
        ),
        (
            "NCP189, dropout at 3.3 V",
            figure("ncp189-3v3", "dropout").at(3.3),
            0.108,
        ),
        (
            "BSS138, threshold",
            figure("bss138", "gate-threshold").max,
            1.5,
        ),
        (
            "PCA9517A, static low",
            figure("pca9517a", "output-low-b").typ,
            0.52,
        ),
        (
            "MM74HC125, VIH at 4.5 V",
            figure("mm74hc125", "input-high").at(4.5),
            3.15,
        ),
        (
            "AD7799 Table 5, noise at gain 128",
            unit_figure("ad7799", "noise").at(128.0),
            65e-9,
        ),
        (
            "AD7798 Table 5, noise at gain 4",
            unit_figure("ad7798", "noise").at(4.0),
            0.54e-6,
        ),
        (
            "STM32G474 Table 73, TUE",
            unit_figure("stm32g474", "total-unadjusted-error").max,
            7.9,
        ),
        ("KL25 Table 26, INL", unit_figure("kl25", "inl").min, -2.7),
    ];
    for (what, found, wanted) in rows {
        let found = found.unwrap_or(f64::NAN);
        assert!(
            (found - wanted).abs() <= 1e-9 * wanted.abs(),
            "{what}: {found}, not {wanted}"
        );
    }
}

/// STM32F103x8/xB data sheet, Table 35: 0.41 (VDD − 2 V) + 1.3 V for a high
/// and 0.28 (VDD − 2 V) + 0.8 V for a low, at supplies of 2 V and 3.6 V.
#[test]
fn published_levels_that_follow_the_supply() {
    let high = &figure("stm32f103", "input-high").alternatives[0];
    let low = &figure("stm32f103", "input-low").alternatives[0];
    for supply in [2.0, 3.6] {
        let volts = |name: &str| (name == "supply").then_some(supply);
        let resolved = high.resolved(&volts).expect("a known supply");
        close(
            resolved.min.expect("a limit"),
            0.41 * (supply - 2.0) + 1.3,
            1e-12,
        );
        let resolved = low.resolved(&volts).expect("a known supply");
        close(
            resolved.max.expect("a limit"),
            0.28 * (supply - 2.0) + 0.8,
            1e-12,
        );
    }
    assert!(high.resolved(&|_| None).is_none());
    assert!(high.spread().is_none());
}
