//! Rails, heat and shared returns against published numbers and hand work.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

use board::Board;
use system::{Analysis, analyse};

fn board(text: &str) -> Board {
    let mut sources = finding::Sources::new();
    let id = sources.add("board.toml", text);
    let (board, faults) = board::read(id, text, parts::Library::shipped(), &chain::vocabulary());
    board.unwrap_or_else(|| panic!("{faults:#?}"))
}

fn of(text: &str) -> Analysis {
    analyse(&board(text))
}

fn near(actual: f64, expected: f64, within: f64) {
    assert!(
        (actual - expected).abs() <= within,
        "{actual} is not {expected} within {within}"
    );
}

/// A 3.3 V regulator with 80 µA of its own, 250 K/W.
const LINEAR: &str = r#"
[parts.reg]
kind = "regulator"
title = "regulator"
figures.output-voltage = "3.3 V"
figures.dropout = { max = "0.3 V" }
figures.output-current = { max = "500 mA" }
figures.quiescent-current = { typ = "80 µA", max = "80 µA" }
figures.thermal-resistance = { typ = "250 K/W" }
"#;

/// Loss of a linear regulator: (5 − 3.3)·0.15 + 5·80 µA = 255.4 mW; the
/// junction at 25 °C and 250 K/W is then 88.85 °C (Horowitz and Hill, The Art
/// of Electronics, chapter 9: the ordinary formulas).
#[test]
fn published_loss_and_junction_of_a_linear_regulator() {
    let a = of(&format!(
        r#"{LINEAR}
[rails.main]
voltage = "5 V"
[rails.logic]
from = "main"
part = "reg"
load = "150 mA"
"#
    ));
    near(a.rails.power.rails[1].lost_w.2, 0.2554, 1e-6);
    let heat = &a.heat[0];
    near(heat.watt.1, 0.2554, 1e-6);
    near(heat.junction_k.unwrap() - 273.15, 25.0 + 63.85, 1e-6);
    near(a.rails.power.rails[0].usual_a, 0.15008, 1e-9);
}

/// 255 mW and 250 K/W at 40 °C: 103.75 °C.
#[test]
fn published_junction_of_a_stated_power() {
    let a = of(r#"
[conditions]
ambient = "0 °C to 40 °C"
[rails.main]
voltage = "5 V"
[heat.reg]
power = "255 mW"
resistance = "250 K/W"
"#);
    near(a.heat[0].junction_k.unwrap() - 273.15, 103.75, 1e-9);
}

/// 9 V to 5 V at 50 °C, 125 °C at most, 160 K/W: 117.19 mA.
#[test]
fn published_largest_current_of_a_regulator() {
    let a = of(&format!(
        r#"{LINEAR}
[conditions]
ambient = "0 °C to 50 °C"
[rails.main]
voltage = "9 V"
[rails.five]
from = "main"
voltage = "5 V"
part = "reg"
load = "100 mA"
[heat.five]
source = "rails.five"
resistance = "160 K/W"
"#
    ));
    near(a.heat[0].most_w.unwrap() / 4.0, 0.117_19, 1e-5);
}

/// A constant power of 2 W behind 1 Ω from 5 V: V = (5 + √17)/2.
#[test]
fn a_constant_power_behind_a_resistance_settles() {
    let a = of(r#"
[rails.main]
voltage = "5 V"
source-resistance = "1 Ω"
load-power = "2 W"
"#);
    near(
        a.rails.power.rails[0].usual_v,
        0.5 * (5.0 + 17.0_f64.sqrt()),
        1e-9,
    );
    assert!(a.rails.power.settled.restless.is_empty());
}

/// 5 V behind 1 Ω gives 6.25 W at most.
#[test]
fn a_power_that_the_source_cannot_give_is_a_restless_ring() {
    let a = of(r#"
[rails.main]
voltage = "5 V"
source-resistance = "1 Ω"
load-power = "8 W"
"#);
    let rings = &a.rails.power.settled.restless;
    assert!(!rings.is_empty());
    assert!(rings[0].names.iter().any(|n| n.contains("current of main")));
}

/// 24 AWG is 84.2 mΩ/m (ASTM B258 with IEC 60028), 100 m of it 8.42 Ω; 60 µA
/// to 91 µA through it make 0.51 mV to 0.77 mV.
#[test]
fn published_wire_table_and_the_drop_of_a_sensor_current() {
    let a = of(r#"
[conditions]
ambient = "20 °C"
[rails.main]
voltage = "5 V"
[returns.cable]
cable = { length = "100 m", gauge = "24 AWG" }
currents = ["60 µA to 91 µA"]
"#);
    let r = &a.returns[0];
    near(r.ohm.1, 8.42, 0.01);
    near(r.volt.0, 0.505e-3, 0.001e-3);
    near(r.volt.2, 0.766e-3, 0.001e-3);
}

/// Copper 100 mm long, 0.25 mm wide, 35 µm thick is 0.197 Ω (0.49257 mΩ a
/// square, 1.7241·10⁻⁸ Ω·m, IEC 60028); a contact of 20 mΩ (most of a 2.54 mm
/// socket header, maker's table) at 50 mA is 1.0 mV.
#[test]
fn published_copper_and_contact_resistance() {
    let a = of(r#"
[conditions]
ambient = "20 °C"
[rails.main]
voltage = "5 V"
[returns.strip]
copper = { length = "100 mm", width = "0.25 mm" }
currents = ["1 A"]
[returns.pin]
connector = { pins = 1 }
currents = ["50 mA"]
"#);
    near(a.returns[0].ohm.1, 0.197_03, 0.000_02);
    near(a.returns[1].volt.1, 1.0e-3, 1e-12);
}

/// Three cells of 50 mΩ at 20 °C and 200 mΩ at −20 °C: at −20 °C 0.6 Ω.
#[test]
fn cells_sag_most_in_the_cold() {
    let a = of(r#"
[conditions]
ambient = "-20 °C to 20 °C"
[rails.pack]
voltage = "4.5 V"
load = "0.5 A"
battery = { cells = 3, cell-resistance = [["-20 °C", "200 mΩ"], ["20 °C", "50 mΩ"]] }
"#);
    let s = &a.rails.power.rails[0];
    near(s.low_v, 4.2, 1e-9);
    near(s.usual_v, 4.425, 1e-9);
}

/// A power that grows by 2 % for each kelvin behind 100 K/W runs away from
/// 0.5 W on: P·R·a = 1.
#[test]
fn a_part_that_warms_itself_without_end_is_told() {
    let of_power = |watt: &str| {
        of(&format!(
            r#"
[rails.main]
voltage = "5 V"
[heat.load]
power = "{watt}"
resistance = "100 K/W"
power-drift = "2 %/K"
"#
        ))
    };
    // P = P0/(1 − P0·R·a): 0.25 W come to 0.5 W.
    let cool = of_power("0.25 W");
    near(cool.heat[0].watt.2, 0.5, 1e-9);
    assert!(cool.rails.power.settled.restless.is_empty());
    let hot = of_power("0.6 W");
    let ring = &hot.rails.power.settled.restless[0];
    assert!(ring.names.iter().any(|n| n.contains("warming of load")));
}

/// 100 µF to 3.3 V in 1 ms takes 0.33 A; 0.5 A would do it in 0.66 ms. 5 V
/// behind 0.1 Ω switched on hard: 50 A. 100 µF at 5 V onto 10 µF: 4.545 V.
/// 300 mA for 20 µs from 47 µF of 50 mΩ: 127.66 mV and 15 mV.
#[test]
fn published_inrush_sharing_and_droop() {
    use system::rails::What;
    let row = |a: &Analysis, rail: usize, what: What| {
        a.rails.rows[rail]
            .iter()
            .find(|r| r.what == what)
            .unwrap_or_else(|| panic!("{:#?}", a.rails.rows))
            .clone()
    };
    let a = of(r#"
[rails.slow]
voltage = "3.3 V"
limit = "0.5 A"
reservoir = { c = "100 µF" }
start = "1 ms"
[rails.hard]
voltage = "5 V"
source-resistance = "0.1 Ω"
reservoir = { c = "100 µF" }
[rails.gated]
from = "hard"
switched = true
reservoir = { c = "10 µF" }
[rails.radio]
voltage = "3.3 V"
reservoir = { c = "47 µF", esr = "50 mΩ" }
bursts = [{ current = "300 mA", for = "20 µs" }]
"#);
    let slow = row(&a, 0, What::Inrush);
    near(slow.value, 0.33, 1e-9);
    near(slow.help.unwrap(), 0.66e-3, 1e-9);
    near(row(&a, 1, What::Inrush).value, 50.0, 1e-9);
    let shared = a
        .rails
        .rows
        .iter()
        .flatten()
        .find(|r| r.what == What::Sharing);
    near(shared.unwrap().value, 4.545_455, 1e-6);
    let droop = a
        .rails
        .rows
        .iter()
        .flatten()
        .find(|r| r.what == What::Droop);
    near(droop.unwrap().value, 0.127_66 + 0.015, 1e-5);
}

/// What hangs on a bus pulls its rail's current: 3.3 V over 4.7 kΩ in each of
/// two lines is 1.404 mA.
#[test]
fn pull_ups_are_loads_of_their_rail() {
    let a = of(r#"
[rails.logic]
voltage = "3.3 V"
[devices.room]
part = "sht41"
supply = "logic"
[links.bus]
kind = "i2c"
supply = "logic"
devices = ["room"]
pull-ups = ["4.7 kΩ exact"]
"#);
    let loads = &a.rails.loads.of_rail[0];
    let bus = loads.iter().find(|l| l.name == "pull-ups of bus").unwrap();
    near(bus.most_a, 2.0 * 3.3 / 4700.0, 1e-9);
}

/// 3.3 V at 0.5 A through 80 % from 5 V takes 3.3·0.5/(0.8·5) = 0.4125 A and
/// loses 1.65·(1/0.8 − 1) = 0.4125 W.
#[test]
fn a_switching_converter_takes_power_and_not_current() {
    let a = of(r#"
[rails.main]
voltage = "5 V"
[rails.logic]
from = "main"
voltage = "3.3 V"
efficiency = "80 %"
loads = [{ name = "lamp", current = "0.5 A" }]
"#);
    near(a.rails.power.rails[0].usual_a, 0.4125, 1e-12);
    near(a.rails.power.rails[1].lost_w.1, 0.4125, 1e-12);
}

/// 1 A through 2 m of 28 AWG there and back: 4 m · 0.2129 Ω/m (ASTM B258) drop
/// 0.852 V at 20 °C.
#[test]
fn published_drop_of_a_supply_cable() {
    let a = of(r#"
[conditions]
ambient = "20 °C"
[rails.usb]
voltage = "5 V"
cable = { length = "2 m", gauge = "28 AWG" }
load = "1 A"
"#);
    near(a.rails.power.rails[0].low_v, 5.0 - 0.852, 0.001);
}

/// A Schottky diode of the library drops 0.60 V at 100 mA; at −15 °C 40 K
/// below 25 °C it drops 1.5 mV/K more.
#[test]
fn a_diode_drops_what_its_curve_says() {
    let a = of(r#"
[conditions]
ambient = "-15 °C to 40 °C"
[rails.main]
voltage = "5 V"
[rails.fed]
from = "main"
part = "diode-schottky"
load = "100 mA"
"#);
    let s = &a.rails.power.rails[1];
    near(s.usual_v, 4.4, 1e-9);
    near(s.low_v, 4.4 - 0.06, 1e-9);
    near(s.lost_w.1, 0.06, 1e-9);
}

/// 120 mA for 40 ms that the source can give: until it answers, 0.1 ms, 80 µF
/// of 30 mΩ fall by 0.15 V + 3.6 mV. Behind 1 Ω and nothing else 100 mA for a
/// time constant: 100 mV · (1 − 1/e).
#[test]
fn a_source_that_can_takes_over_from_the_reservoir() {
    use system::rails::What;
    let droop = |text: &str| {
        let a = of(text);
        let rows = a.rails.rows.iter().flatten();
        rows.filter(|r| r.what == What::Droop)
            .map(|r| r.value)
            .next()
            .unwrap()
    };
    near(
        droop(
            r#"
[rails.cells]
voltage = "3 V"
[rails.boost]
from = "cells"
voltage = "3.3 V"
efficiency = "88 %"
limit = "300 mA"
reservoir = { c = "80 µF", esr = "30 mΩ" }
bursts = [{ current = "120 mA", for = "40 ms", every = "1 s" }]
"#,
        ),
        0.15 + 0.0036,
        1e-9,
    );
    near(
        droop(
            r#"
[rails.main]
voltage = "5 V"
source-resistance = "1 Ω"
reservoir = { c = "1000 µF" }
bursts = [{ current = "100 mA", for = "1 ms" }]
"#,
        ),
        0.1 * (1.0 - 0.367_879_441),
        1e-9,
    );
}
