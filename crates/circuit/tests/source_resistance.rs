//! Data sheets' tables of the largest source resistance against the sample
//! time, beside the exact answer: what their rule leaves out and what it adds.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

use std::fmt::Write as _;
use std::path::PathBuf;

use circuit::{Pin, Scan, Start, Visit};

/// One data sheet's table.
struct Sheet {
    part: &'static str,
    clock_hz: f64,
    bits: i32,
    sample_farad: f64,
    switch_ohm: f64,
    /// Cycles, and the largest source resistance printed for them, Ω.
    rows: &'static [(f64, f64)],
}

/// STM32F103x8/xB data sheet, DocID13587 Rev 17, Table 46 (8 pF, 1 kΩ) and
/// Table 47 (14 MHz, a quarter code).
const F103: Sheet = Sheet {
    part: "stm32f103",
    clock_hz: 14e6,
    bits: 12,
    sample_farad: 8e-12,
    switch_ohm: 1e3,
    rows: &[
        (1.5, 0.4e3),
        (7.5, 5.9e3),
        (13.5, 11.4e3),
        (28.5, 25.2e3),
        (41.5, 37.2e3),
        (55.5, 50e3),
    ],
};

/// STM32G474 data sheet, DS12288 Rev 1, Table 69 (5 pF, no resistance of the
/// switch) and Table 70 (60 MHz, 12 bits), fast channels.
const G474_FAST: Sheet = Sheet {
    part: "stm32g474, fast channel",
    clock_hz: 60e6,
    bits: 12,
    sample_farad: 5e-12,
    switch_ohm: 0.0,
    rows: &[
        (2.5, 100.0),
        (6.5, 330.0),
        (12.5, 680.0),
        (24.5, 1500.0),
        (47.5, 2200.0),
        (92.5, 4700.0),
        (247.5, 12e3),
        (640.5, 39e3),
    ],
};

/// The same, slow channels.
const G474_SLOW: Sheet = Sheet {
    part: "stm32g474, slow channel",
    rows: &[
        (6.5, 100.0),
        (12.5, 470.0),
        (24.5, 1200.0),
        (47.5, 1800.0),
        (92.5, 3900.0),
        (247.5, 10e3),
        (640.5, 33e3),
    ],
    ..G474_FAST
};

impl Sheet {
    fn acquire_s(&self, cycles: f64) -> f64 {
        cycles / self.clock_hz
    }

    /// The rule of the makers: what is left of a full step after the
    /// acquisition is a quarter code, TS/(f·C·ln 2^(N+2)) − R of the switch.
    fn rule_ohm(&self, cycles: f64) -> f64 {
        let constants = f64::from(self.bits + 2) * std::f64::consts::LN_2;
        self.acquire_s(cycles) / (self.sample_farad * constants) - self.switch_ohm
    }

    /// Two channels in turn, the other at `other` and this at 1, of a full
    /// scale of 1, both behind the same resistance.
    fn exact_ohm(&self, cycles: f64, other: f64, start: Start) -> f64 {
        let quarter = 0.25 / 2.0_f64.powi(self.bits);
        let visit = |open: f64| Visit {
            pin: Pin::resistor(0.0, open),
            acquire_s: self.acquire_s(cycles),
            convert_s: 12.5 / self.clock_hz,
            repeats: 1,
        };
        let scan = Scan {
            visits: vec![visit(other), visit(1.0)],
            sample_farad: self.sample_farad,
            switch_ohm: self.switch_ohm,
            start,
            pause_s: 0.0,
        };
        scan.largest_series_ohm(1, quarter, 1e8).unwrap()
    }
}

#[test]
fn published_tables_follow_their_own_rule_or_stay_below_it() {
    for &(cycles, printed) in F103.rows {
        // Printed to a tenth of a kilohm, and cut at 50 kΩ.
        let rule = F103.rule_ohm(cycles).min(50e3);
        assert!((rule - printed).abs() < 50.0, "{cycles}: {rule}");
    }
    for sheet in [&G474_FAST, &G474_SLOW] {
        for &(cycles, printed) in sheet.rows {
            let share = printed / sheet.rule_ohm(cycles);
            assert!(share < 0.19, "{} {cycles}: {share}", sheet.part);
        }
    }
}

#[test]
fn published_rule_is_the_exact_answer_of_a_full_step() {
    for sheet in [&F103, &G474_FAST, &G474_SLOW] {
        for &(cycles, _) in sheet.rows {
            let rule = sheet.rule_ohm(cycles);
            // Emptied before each visit, this is the rule itself.
            let empty = sheet.exact_ohm(cycles, 0.0, Start::DISCHARGED);
            assert!(
                (empty / rule - 1.0).abs() < 1e-6,
                "{cycles}: {empty} {rule}"
            );
            // From the other channel's voltage the rest of that one's own
            // settling is missing from the step: one part in 2^14 of it, and
            // the other pin's resistance does not count.
            let previous = sheet.exact_ohm(cycles, 0.0, Start::PREVIOUS);
            assert!((previous / rule - 1.0).abs() < 2e-5, "{cycles}: {previous}");
            // Half the step is one time constant times ln 2 less.
            let (whole, half) = (rule + sheet.switch_ohm, 1.0 / 13.0 * 14.0);
            let from_half = sheet.exact_ohm(cycles, 0.5, Start::PREVIOUS) + sheet.switch_ohm;
            assert!((from_half / whole / half - 1.0).abs() < 1e-4, "{cycles}");
        }
    }
}

/// What else the second maker's table holds back: with the capacitance at the
/// pin charged along (a lumped one that starts where the sample capacitor
/// does), how large would it be for the printed resistance to be just enough?
#[test]
fn property_a_pin_capacitor_explains_a_stricter_table() {
    let (cycles, printed) = (640.5, 39e3);
    let rule = G474_FAST.rule_ohm(cycles);
    // All of it would have to be charged through the source: C + 5 pF is to
    // 5 pF as the rule is to the printed value.
    let extra = 5e-12 * (rule / printed - 1.0);
    assert!((20e-12..30e-12).contains(&extra), "{extra}");
    let scan = Scan {
        visits: vec![Visit {
            pin: Pin::resistor(0.0, 1.0),
            acquire_s: G474_FAST.acquire_s(cycles),
            convert_s: 1e-6,
            repeats: 1,
        }],
        sample_farad: 5e-12 + extra,
        switch_ohm: 0.0,
        start: Start::DISCHARGED,
        pause_s: 0.0,
    };
    let found = scan.largest_series_ohm(0, 0.25 / 4096.0, 1e8).unwrap();
    assert!((found / printed - 1.0).abs() < 1e-6, "{found}");
}

fn kilohm(ohm: f64) -> String {
    format!("{:.2}", ohm / 1e3)
}

#[test]
fn snapshot_of_the_page_on_settling() {
    let mut out = String::from(
        "| part | cycles | printed, kΩ | rule, kΩ | from the other end of the scale | from the middle | from an eighth away |\n| --- | --- | --- | --- | --- | --- | --- |\n",
    );
    for sheet in [&F103, &G474_FAST, &G474_SLOW] {
        for &(cycles, printed) in sheet.rows {
            let _ = writeln!(
                out,
                "| {} | {cycles} | {} | {} | {} | {} | {} |",
                sheet.part,
                kilohm(printed),
                kilohm(sheet.rule_ohm(cycles)),
                kilohm(sheet.exact_ohm(cycles, 0.0, Start::PREVIOUS)),
                kilohm(sheet.exact_ohm(cycles, 0.5, Start::PREVIOUS)),
                kilohm(sheet.exact_ohm(cycles, 0.875, Start::PREVIOUS)),
            );
        }
    }
    let file = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../docs/settling.md");
    let there = std::fs::read_to_string(&file).unwrap();
    let (begin, end) = ("<!-- generated: table -->\n", "<!-- end: table -->\n");
    let from = there.find(begin).unwrap() + begin.len();
    let to = there.find(end).unwrap();
    let wanted = format!("{}\n{out}\n{}", &there[..from], &there[to..]);
    if std::env::var_os("LEASTBIT_WRITE_DOCS").is_some() {
        std::fs::write(&file, &wanted).unwrap();
        return;
    }
    assert!(
        there == wanted,
        "docs/settling.md is behind: LEASTBIT_WRITE_DOCS=1 cargo test -p circuit --test source_resistance"
    );
}
