//! Channels with broken wires and components: voltages, currents and codes
//! against numbers worked by hand from the drawing.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

use board::{Board, Stands, Supply};
use chain::channel::fault::{Faulty, Harm, State, Wire};
use finding::Sources;
use parts::Library;

fn board_of(text: &str) -> Board {
    let mut sources = Sources::new();
    let id = sources.add("case.toml", text);
    let (board, faults) = board::read(id, text, Library::shipped(), &chain::vocabulary());
    let said: Vec<String> = faults
        .iter()
        .map(|f| format!("{} {}", sources.place(f.span), f.message))
        .collect();
    board.unwrap_or_else(|| panic!("{said:#?}"))
}

fn state(board: &Board, channel: &str, harms: &[Harm]) -> State {
    let c = board.channels.iter().find(|c| c.name == channel).unwrap();
    let faulty = Faulty::new(board, c).unwrap_or_else(|f| panic!("{}", f.message));
    faulty
        .state(harms)
        .unwrap_or_else(|f| panic!("{}", f.message))
}

#[track_caller]
fn close(value: f64, expected: f64, share: f64) {
    assert!(
        (value - expected).abs() <= share * expected.abs(),
        "{value} against {expected}"
    );
}

fn driven(volt: f64) -> Harm {
    Harm::Driven {
        wire: Wire::Signal,
        low_v: volt,
        high_v: volt,
        ohm: 0.0,
    }
}

const CLAMPED: &str = r#"
[parts.schottky]
kind = "diode"
[parts.schottky.figures]
forward-voltage = { points = [["1 µA", "0.06 V"], ["1.59 mA", "0.23 V"], ["5.49 mA", "0.232 V"]] }
[rails.logic]
voltage = "3.28 V"
[converters.adc]
bits = 12
supply = "logic"
[channels.cv]
quantity = "voltage"
span = "0 V to 3.2 V"
chain = [{ series = "1 kΩ" }, { clamp = { high = "schottky", to = "logic" } }]
input = "adc"
reference = "logic"
"#;

#[test]
fn published_schottky_lets_the_pin_rise_by_its_drop() {
    // A report: supply 3.28 V, 1 kΩ, a Schottky diode to the supply. 5.1 V
    // and 9 V both put 3.51 V on the pin; (5.1 − 3.51)/1 kΩ = 1.59 mA and
    // (9 − 3.51)/1 kΩ = 5.49 mA flow into the supply; the code is the last.
    let board = board_of(CLAMPED);
    for (volt, ampere) in [(5.1, 1.59e-3), (9.0, 5.49e-3)] {
        let s = state(&board, "cv", &[driven(volt)]);
        close(s.pins[0].volt.nominal, 3.51, 0.002);
        close(s.rails[0].ampere.nominal, ampere, 0.03);
        close(s.pins[0].limit_high_v, 3.58, 1e-6);
        assert!(s.seen.iter().all(|x| x.code == 4095.0), "{:?}", s.seen);
    }
    // Without the diode the pin's own silicon one carries it: beyond 0.3 V.
    let bare = CLAMPED.replace(", { clamp = { high = \"schottky\", to = \"logic\" } }", "");
    let s = state(&board_of(&bare), "cv", &[driven(9.0)]);
    assert!(s.pins[0].beyond_v > 0.3, "{:?}", s.pins[0]);
    close(s.pins[0].into_supply_a.nominal, 5e-3, 0.02);
}

const THERMISTOR: &str = r#"
[rails.logic]
voltage = "3.3 V"
[controllers.mcu]
part = "stm32g474"
supply = "logic"
[channels.t]
quantity = "temperature"
span = "0 °C to 60 °C"
sensor = "ntc-10k-3950-1-percent"
chain = [{ pull-up = "10 kΩ 0.1 %", to = "logic" }, { series = "1 kΩ" }]
input = "mcu.adc"
reference = "mcu.adc.supply"
"#;

#[test]
fn reference_thermistor_open_and_shorted_reads_the_ends_of_the_scale() {
    let board = board_of(THERMISTOR);
    let open = state(&board, "t", &[Harm::Open(Wire::Signal)]);
    // Only the leakage of 150 nA lies across the 11 kΩ: 1.65 mV, 2 codes,
    // with 8 codes of total error.
    assert!(open.seen.iter().all(|x| x.code > 4084.0), "{:?}", open.seen);
    let short = state(&board, "t", &[Harm::Tied(Wire::Signal, Supply::Ground)]);
    assert!(short.seen.iter().all(|x| x.code < 11.0), "{:?}", short.seen);
    // 3.3 V across the pull-up: 1.089 mW.
    let pull = short.heated.iter().find(|h| h.name == "pull-up").unwrap();
    close(pull.power_w, 3.3 * 3.3 / 9990.0, 1e-3);
    // The series resistor open: nothing but leakage holds the pin.
    let c = chain_component(&board, "series");
    let cut = state(
        &board,
        "t",
        &[Harm::Component {
            element: c,
            open: true,
        }],
    );
    let pin = &cut.pins[0].volt;
    assert!(pin.low < -0.3 && pin.high > 3.3, "{pin:?}");
}

fn chain_component(board: &Board, name: &str) -> String {
    let f = Faulty::new(board, &board.channels[0]).unwrap();
    let list = f.components().unwrap();
    let found = list.iter().find(|c| c.name == name);
    found.unwrap_or_else(|| panic!("{list:#?}")).element.clone()
}

const LOOP: &str = r#"
[rails.field]
voltage = "24 V ± 10 %"
[rails.logic]
voltage = "3.3 V ± 2 %"
[controllers.mcu]
part = "stm32g474"
supply = "logic"
[channels.level]
quantity = "level"
span = "0 m to 2 m"
sensor = { part = "loop-transmitter", figures = { span-low = "0 m", span-high = "2 m" } }
chain = [{ burden = { r = "100 Ω 0.1 %", power = "0.25 W" } }, { series = "10 kΩ" }]
input = "mcu.adc"
reference = "mcu.adc.supply"
"#;

#[test]
fn reference_loop_shorted_to_its_supply_burns_the_burden() {
    let board = board_of(LOOP);
    let s = state(
        &board,
        "level",
        &[Harm::Tied(Wire::Signal, Supply::Rail(0))],
    );
    // 26.4 V over 99.9 Ω.
    let burden = s.heated.iter().find(|r| r.name == "burden").unwrap();
    close(burden.power_w, 26.4 * 26.4 / 99.9, 2e-3);
    assert_eq!(burden.rated.as_ref().unwrap().0, 0.25);
    // Broken, no current flows: code 0 within the total error of 8 codes.
    let open = state(&board, "level", &[Harm::Open(Wire::Signal)]);
    assert!(open.seen.iter().all(|x| x.code < 12.0), "{:?}", open.seen);
    // A fault output of 22 mA: 2.2 V of 3.3 V.
    let fault = state(&board, "level", &[Harm::Stands(Stands::Current(22e-3))]);
    close(fault.seen[0].code, 2.2 / 3.3 * 4096.0, 2e-3);
    close(fault.seen[0].reading, 2.0 * 18.0 / 16.0, 2e-3);
}

const BRIDGE: &str = r#"
[rails.main]
voltage = "5 V"
[converters.scale]
part = "ltc2415"
supply = "main"
[channels.mass]
quantity = "mass"
span = "0 kg to 50 kg"
sensor = { part = "load-cell", supply = "main", figures = { rated = "60 kg" } }
input = "scale"
reference = "main"
"#;

#[test]
fn reference_bridge_loses_its_wires() {
    let board = board_of(BRIDGE);
    let f = Faulty::new(&board, &board.channels[0]).unwrap();
    assert_eq!(f.wires().unwrap().len(), 4);
    // Fed no more, both outputs stand at the return, or at the feed.
    for (wire, volt) in [(Wire::Feed, 0.0), (Wire::Return, 5.0)] {
        let s = state(&board, "mass", &[Harm::Open(wire)]);
        assert!((s.pins[0].volt.nominal - volt).abs() < 1e-3, "{s:?}");
        assert!(s.volt.nominal.abs() < 1e-3);
    }
    let swapped = state(&board, "mass", &[Harm::Reversed]);
    let right = state(&board, "mass", &[]);
    close(swapped.volt.nominal, -right.volt.nominal, 1e-6);
}

const SHARED: &str = r#"
[rails.logic]
voltage = "3.3 V"
[controllers.mcu]
part = "stm32g474"
supply = "logic"
[networks.n]
elements = [
  { resistor = "2 kΩ", name = "top", from = "logic", to = "a" },
  { sensor = "t", from = "a", to = "b" },
  { resistor = "1 kΩ", name = "foot", from = "b", to = "gnd" },
]
[channels.t]
quantity = "resistance"
span = "900 Ω to 1200 Ω"
network = "n"
input = { at = "mcu.adc", plus = "a", minus = "gnd" }
reference = "mcu.adc.supply"
"#;

#[test]
fn reference_nodes_of_a_network_are_wires() {
    let board = board_of(SHARED);
    let node = |n: &str| Wire::Node(n.to_owned());
    // Cut, the node rises to the supply; its foot on ground, 2 kΩ and the
    // sensor divide: 3.3·1050/3050.
    let open = state(&board, "t", &[Harm::Open(node("a"))]);
    close(open.volt.nominal, 3.3, 1e-3);
    let tied = state(&board, "t", &[Harm::Tied(node("b"), Supply::Ground)]);
    close(tied.volt.nominal, 3.3 * 1050.0 / 3050.0, 1e-3);
    let joined = state(&board, "t", &[Harm::Joined(node("a"), node("b"))]);
    close(joined.volt.nominal, 3.3 / 3.0, 1e-3);
}

#[test]
fn how_long_a_fault_takes() {
    let board = board_of(THERMISTOR);
    let f = Faulty::new(&board, &board.channels[0]).unwrap();
    let begin = std::time::Instant::now();
    for _ in 0..100 {
        let s = f.state(&[Harm::Open(Wire::Signal)]).unwrap();
        assert!(s.volt.nominal > 3.0);
    }
    println!("{:?} for one fault", begin.elapsed() / 100);
}

const FOUR_WIRES: &str = r#"
[rails.logic]
voltage = "3.3 V"
[controllers.mcu]
part = "stm32g474"
supply = "logic"
[channels.t]
quantity = "temperature"
span = "-5 °C to 35 °C"
sensor = { part = "platinum-1000-class-a", wires = 4 }
chain = [{ pull-up = "2.2 kΩ 0.1 %", to = "logic" }, { series = "1 kΩ" }]
input = "mcu.adc"
reference = "mcu.adc.supply"
"#;

#[test]
fn reference_four_wires_break_apart() {
    let board = board_of(FOUR_WIRES);
    let f = Faulty::new(&board, &board.channels[0]).unwrap();
    assert_eq!(f.wires().unwrap().len(), 2);
    // Without its current the sensor has no voltage; the wire that is measured
    // hangs in the air once it is cut, wherever leakage and diodes take it.
    let force = state(&board, "t", &[Harm::Open(Wire::Signal)]);
    assert!(force.volt.nominal.abs() < 1e-3, "{force:?}");
    let sense = state(&board, "t", &[Harm::Open(Wire::Sense)]);
    let pin = &sense.pins[0].volt;
    assert!(pin.low < -0.3 && pin.high > 3.3, "{pin:?}");
}

#[test]
fn reference_a_neighbour_takes_the_wire_along() {
    // Held between 1 V and 2 V through nothing: 1/3.3·4096 = 1241 codes and
    // 2482, the leakage of 150 nA on 1 kΩ far below one.
    let board = board_of(THERMISTOR);
    let s = state(
        &board,
        "t",
        &[Harm::Driven {
            wire: Wire::Signal,
            low_v: 1.0,
            high_v: 2.0,
            ohm: 0.0,
        }],
    );
    let codes = s.seen.iter().map(|x| x.code);
    let (low, high) = codes.fold((f64::MAX, 0.0_f64), |(a, b), c| (a.min(c), b.max(c)));
    assert!(
        (low - 1241.0).abs() < 10.0 && (high - 2482.0).abs() < 10.0,
        "{low} {high}"
    );
}

#[test]
fn reference_an_amplifier_takes_its_current_through_its_diodes() {
    // 12 V on a follower fed from 3.3 V behind 10 kΩ: (12 − 3.3 − 0.7)/10 kΩ
    // = 0.8 mA, less than the 5 mA such an input stands.
    let board = board_of(
        r#"
[parts.op]
kind = "amplifier"
[parts.op.figures]
offset-voltage = { max = "1 mV" }
swing-low = { max = "10 mV" }
swing-high = { max = "10 mV" }
[rails.logic]
voltage = "3.3 V"
[converters.adc]
bits = 12
supply = "logic"
[channels.u]
quantity = "voltage"
span = "0 V to 3 V"
chain = [{ series = "10 kΩ" }, { buffer = { part = "op", supply = "logic" } }]
input = "adc"
reference = "logic"
"#,
    );
    let s = state(&board, "u", &[driven(12.0)]);
    let input = s
        .pins
        .iter()
        .find(|p| p.name.contains("plus input"))
        .unwrap();
    close(input.into_supply_a.nominal, 0.8e-3, 0.01);
    close(s.volt.nominal, 3.29, 0.002);
}
