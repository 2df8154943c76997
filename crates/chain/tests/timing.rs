//! Time and noise of whole channels: worked by hand from the drawing.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::disallowed_methods,
    reason = "tests"
)]

use board::Board;
use chain::channel::{ERROR, build_with};
use chain::time::schedule::Misfit;
use chain::time::straight::{Sampler, Straight};
use chain::time::{Sampled, Timing};
use finding::Sources;
use parts::Library;
use tape::Reading;

fn board(text: &str) -> Board {
    let mut sources = Sources::new();
    let id = sources.add("case.toml", text);
    let (board, faults) = board::read(id, text, Library::shipped(), &chain::vocabulary());
    let said: Vec<String> = faults
        .iter()
        .map(|f| format!("{} {}", sources.place(f.span), f.message))
        .collect();
    board.unwrap_or_else(|| panic!("{said:#?}"))
}

/// A 10-bit converter with a 10 pF sample capacitor behind 1 kΩ: 12 clocks
/// acquire or 100, 13 convert.
const CONVERTER: &str = r#"
[rails.main]
voltage = "5 V"
[references.vref]
voltage = "5 V exact"
[converters.mcu]
supply = "main"
bits = 10
[converters.mcu.figures]
clock = { min = "0.5 MHz", max = "10 MHz" }
sample-capacitor = { min = "10 pF", max = "10 pF" }
switch-resistance = { min = "1 kΩ", max = "1 kΩ" }
sample-cycles = { choices = [12, 100] }
conversion-cycles = { value = 13 }
"#;

fn volt(name: &str, chain: &str, more: &str) -> String {
    format!(
        r#"
[channels.{name}]
quantity = "voltage"
span = "0 V to 5 V"
accuracy = "50 mV"
sensor = {{ source-resistance = "10 kΩ exact" }}
chain = [{chain}]
input = "mcu"
reference = "vref"
{more}
"#
    )
}

fn sampled(board: &Board, channel: usize) -> Sampled {
    Timing::of(board).channel(channel).unwrap().clone()
}

#[test]
fn published_bare_pin_settles_as_one_resistor_and_capacitor() {
    // Charging of a capacitor through a resistor (any handbook): with a bare
    // pin the sample is off by ΔV·exp(−t/((R + R_switch)·C)); 12 clocks of
    // 10 MHz are 1.2 µs, 11 kΩ·10 pF is 110 ns. From the previous channel at
    // the other end of its span the difference is 5 V.
    let text = format!(
        "{CONVERTER}[scan]\nclock = \"10 MHz\"\nacquisition = \"12 cycles\"\nevery = \"1 ms\"\n{}{}",
        volt("a", "", ""),
        volt("b", "", "")
    );
    let b = board(&text);
    let a = sampled(&b, 0).settling.unwrap();
    let kept = (-1.2e-6_f64 / 110e-9).exp();
    assert!((a.kept / kept - 1.0).abs() < 1e-9, "{} {kept}", a.kept);
    let codes = 5.0 * kept * 1024.0 / 5.0;
    // The neighbour is off by as little itself: second order.
    assert!((a.largest_codes() / codes - 1.0).abs() < 1e-4);
    assert_eq!(a.memory.len(), 1);
    assert!((a.memory[0].1 / kept - 1.0).abs() < 1e-4);
    // Longest resistance for a quarter code of a full-scale step:
    // t/(C·ln(4·1024)) − R_switch − R already there.
    let timing = Timing::of(&b);
    let scan = timing.converters[0].scan.as_ref().unwrap();
    let spare = 1.2e-6 / (10e-12 * 4096.0_f64.ln()) - 11e3;
    let advice = scan.advice(0).unwrap();
    assert!(
        (advice.spare_ohm.unwrap() / spare - 1.0).abs() < 1e-3,
        "{advice:?} {spare}"
    );
    let shortest = 110e-9 * 4096.0_f64.ln();
    assert!((advice.shortest_s.unwrap() / shortest - 1.0).abs() < 1e-3);
}

#[test]
fn published_capacitor_at_the_pin_shares_its_charge() {
    // Charge sharing (any handbook): a capacitor C at the pin loses
    // Cs/(C + Cs) of the difference at once. With 1 ms between visits and
    // 10 kΩ·10 nF = 0.1 ms it is refilled to exp(−10): the error left by one
    // visit is ΔV·Cs/(C + Cs) less what 10 kΩ brings in 1.2 µs (1.2 %).
    let text = format!(
        "{CONVERTER}[scan]\nclock = \"10 MHz\"\nacquisition = \"12 cycles\"\nevery = \"1 ms\"\n{}{}",
        volt(
            "a",
            "{ low-pass = { r = \"1 mΩ exact\", c = \"10 nF exact\" } }",
            ""
        ),
        volt("b", "", "")
    );
    let a = sampled(&board(&text), 0).settling.unwrap();
    let share = 10e-12 / (10e-9 + 10e-12);
    let refilled = (-1.2e-6_f64 / (10e3 * 10.01e-9)).exp();
    assert!(
        (a.kept / (share * refilled) - 1.0).abs() < 2e-3,
        "{} {share}",
        a.kept
    );
}

/// The same by the capacitance that the part states of its own pin, at every
/// pin: nothing stands at the neighbour's either way but its source.
#[test]
fn published_capacitance_of_the_pin_itself_shares_its_charge() {
    let converter = CONVERTER.replace(
        "sample-cycles",
        "pin-capacitance = { typ = \"10 nF\" }\nsample-cycles",
    );
    let text = format!(
        "{converter}[scan]\nclock = \"10 MHz\"\nacquisition = \"12 cycles\"\nevery = \"1 ms\"\n{}{}",
        volt("a", "", ""),
        volt("b", "", "")
    );
    let a = sampled(&board(&text), 0).settling.unwrap();
    let share = 10e-12 / (10e-9 + 10e-12);
    let refilled = (-1.2e-6_f64 / (10e3 * 10.01e-9)).exp();
    assert!(
        (a.kept / (share * refilled) - 1.0).abs() < 2e-3,
        "{}",
        a.kept
    );
}

#[test]
fn property_slower_clock_settles_resistors_better() {
    let largest = |clock: &str| {
        let text = format!(
            "{CONVERTER}[scan]\nclock = \"{clock}\"\nacquisition = \"12 cycles\"\nevery = \"1 ms\"\n{}{}",
            volt("a", "", ""),
            volt("b", "", "")
        );
        sampled(&board(&text), 0).settling.unwrap().largest_v
    };
    let (fast, middle, slow) = (largest("10 MHz"), largest("5 MHz"), largest("1 MHz"));
    assert!(fast > middle && middle > slow);
}

#[test]
fn published_thermal_noise_on_the_sample_capacitor_is_kt_over_c() {
    // kT/C: H. Nyquist, Physical Review 32, 1928, with equipartition. The
    // resistors share it in proportion to their resistance: 10 kΩ and 1 kΩ.
    let text = format!(
        "{CONVERTER}[conditions]\nambient = \"25 °C to 25 °C\"\n{}",
        volt("a", "", "")
    );
    let noise = sampled(&board(&text), 0).noise.unwrap();
    let all = (1.380649e-23_f64 * 298.15 / 10e-12).sqrt();
    assert!(
        (noise.single_v() / all - 1.0).abs() < 1e-6,
        "{} {all}",
        noise.single_v()
    );
    let source = all * (10.0_f64 / 11.0).sqrt();
    assert!((noise.lines[0].single_v / source - 1.0).abs() < 1e-6);
}

#[test]
fn property_converters_own_figure_contains_kt_over_c() {
    // A passive network adds nothing to a figure that was measured with the
    // sample capacitor in place: equipartition gives kT/C whatever it is.
    let text = format!("{CONVERTER}{}", volt("a", "", "")).replace(
        "conversion-cycles",
        "noise = { typ = \"0.5 LSB\" }\nconversion-cycles",
    );
    let noise = sampled(&board(&text), 0).noise.unwrap();
    assert!(noise.beyond_figure < 1e-9);
    assert_eq!(noise.reading_v(), 0.0);
}

#[test]
fn property_correlated_samples_average_as_such() {
    // Ten samples 2.5 µs apart of noise that lasts 10 kΩ·10 nF = 100 µs are
    // nearly one sample; 1 ms·100 apart would be √10 better.
    let with = |average: &str| {
        let text = format!(
            "{CONVERTER}[scan]\nclock = \"10 MHz\"\nacquisition = \"12 cycles\"\n{}",
            volt(
                "a",
                "{ low-pass = { r = \"1 mΩ exact\", c = \"10 nF exact\" } }",
                average
            )
        );
        sampled(&board(&text), 0).noise.unwrap()
    };
    let ten = with("average = 10");
    let slow: Vec<_> = ten
        .lines
        .iter()
        .filter(|l| l.origin.name.contains("sensor"))
        .collect();
    let ratio = slow[0].reading_v / slow[0].single_v;
    assert!(ratio > 0.95 && ratio < 1.0, "{ratio}");
    // The switch's own noise is fresh for every sample.
    let switch = ten
        .lines
        .iter()
        .find(|l| l.origin.name.contains("switch"))
        .unwrap();
    let ratio = switch.reading_v / switch.single_v;
    assert!((ratio - 10.0_f64.sqrt().recip()).abs() < 0.05, "{ratio}");
}

#[test]
fn property_response_to_the_quantity_is_the_static_slope() {
    // Sensors that are resistances, voltages and ratios: the response of the
    // straight network at zero frequency is the derivative of the model.
    let thermistor = r#"
[rails.main]
voltage = "3.3 V"
[controllers.mcu]
part = "stm32g474"
supply = "main"
[channels.t]
quantity = "temperature"
span = "0 °C to 40 °C"
accuracy = "1 K"
sensor = { part = "ntc-10k-3950-1-percent" }
chain = [
  { pull-up = "10 kΩ exact", to = "main" },
  { low-pass = { r = "1 kΩ exact", c = "100 nF exact" } },
]
input = "mcu.adc"
reference = "main"
"#;
    let b = board(thermistor);
    for ohm in [0.0, 1e3] {
        let sampler = Some(Sampler { farad: 5e-12, ohm });
        let straight = Straight::of(&b, &b.channels[0], sampler, 0.0).unwrap();
        for kelvin in [275.0, 298.15, 312.0] {
            let point = straight.nominal(kelvin).unwrap();
            let gain = point.pin.gain(0, point.quantity.unwrap()).unwrap();
            assert!(
                (gain / point.volt_per_quantity - 1.0).abs() < 1e-9,
                "{gain} {}",
                point.volt_per_quantity
            );
            let up = straight.nominal(kelvin + 1e-3).unwrap().volt;
            let down = straight.nominal(kelvin - 1e-3).unwrap().volt;
            assert!((gain / ((up - down) / 2e-3) - 1.0).abs() < 1e-6);
        }
    }
    // The corner of 10 kΩ ‖ R(25 °C) = 10 kΩ and 1 kΩ with 100 nF:
    // 1/(2π·6 kΩ·100 nF) = 265.3 Hz.
    let straight = Straight::of(&b, &b.channels[0], None, 0.0).unwrap();
    let point = straight.nominal(298.15).unwrap();
    let response = point.pin.response(0, point.quantity.unwrap()).unwrap();
    let corner = response.falls_to(0.5_f64.sqrt()).unwrap();
    // Leakage and the sheet's input resistance are nothing beside 6 kΩ.
    assert!((corner / 265.26 - 1.0).abs() < 1e-3, "{corner}");
}

#[test]
fn property_settings_a_part_does_not_have_are_said() {
    let text = format!(
        "{CONVERTER}[scan]\nclock = \"20 MHz\"\nacquisition = \"50 cycles\"\nevery = \"5 µs\"\n{}{}",
        volt("a", "", ""),
        volt("b", "", "")
    );
    let timing = Timing::of(&board(&text));
    let misfits = &timing.converters[0].schedule.misfits;
    assert!(
        misfits
            .iter()
            .any(|m| matches!(m, Misfit::Clock { hz, .. } if *hz == 20e6))
    );
    assert!(misfits.iter().any(
        |m| matches!(m, Misfit::Acquisition { cycles, nearest, .. } if *cycles == 50.0 && *nearest == 100.0)
    ));
    // Twice (50 + 13)/20 MHz = 6.3 µs.
    assert!(misfits.iter().any(
        |m| matches!(m, Misfit::Overrun { busy_s, .. } if (busy_s / 6.3e-6 - 1.0).abs() < 1e-9)
    ));
}

#[test]
fn property_what_is_not_stated_is_as_long_as_the_rates_allow() {
    let turns = |rate: &str| {
        let text = format!("{CONVERTER}{}", volt("a", "", rate));
        Timing::of(&board(&text)).converters[0].schedule.turns[0].clone()
    };
    // (100 + 13)/10 MHz = 11.3 µs fits 50 kHz, not 100 kHz.
    assert_eq!(turns("rate = \"50000 /s\"").cycles, Some(100.0));
    assert_eq!(turns("rate = \"100000 /s\"").cycles, Some(12.0));
    assert!(!turns("").stated);
}

#[test]
fn published_class_2_capacitors_lose_with_voltage() {
    // The generic X7R part: 0 to −60 % at its rated voltage in small sizes
    // (common practice), so −30 % in the middle; ±15 % over temperature
    // (EIA-198). 1 kΩ and 1 µF at 6.3 V of 6.3 V: the corner lies at
    // 1/(2π·1 kΩ·0.7 µF) = 227.4 Hz, at 0 V at 159.2 Hz. Rated 50 V, an
    // eighth of it takes half of 8 %·0.504.
    let corner = |rating: &str, volt: f64| {
        let text = format!(
            "[rails.main]\nvoltage = \"7 V\"\n[channels.a]\nquantity = \"voltage\"\nspan = \"0 V to 6.3 V\"\nchain = [{{ low-pass = {{ r = \"1 kΩ exact\", c = \"1 µF exact X7R {rating}\" }} }}]\n"
        );
        let b = board(&text);
        let straight = Straight::of(&b, &b.channels[0], None, 0.0).unwrap();
        let point = straight.nominal(volt).unwrap();
        let response = point.pin.response(0, point.quantity.unwrap()).unwrap();
        response.falls_to(0.5_f64.sqrt()).unwrap()
    };
    let near = |found: f64, expected: f64| {
        assert!((found / expected - 1.0).abs() < 1e-3, "{found} {expected}");
    };
    let hertz = |farad: f64| 1.0 / (std::f64::consts::TAU * 1e3 * farad);
    near(corner("6.3 V", 6.3), hertz(0.7e-6));
    near(corner("6.3 V", 0.0), hertz(1e-6));
    let share: f64 = 6.3 / 50.0;
    near(
        corner("", 6.3),
        hertz(1e-6 * (1.0 - 0.5 * 0.08 * share / 0.25)),
    );
}

/// AD7799 data sheet, table of output rates: 4.17, 6.25, 8.33 Hz and more; two
/// outputs after each switch of channels (from memory). By hand: two channels
/// in 0.5 s have 0.25 s each, so 8 outputs a second at least, 8.33 of the
/// table, and a sequence of 4/8.33 = 0.480 s; the channel that asks for no rate
/// does not hold up the one that does.
#[test]
fn published_output_rates_that_nobody_set_keep_the_rate_asked() {
    let channels = |more: [&str; 2]| {
        let mut text = "[rails.main]\nvoltage = \"5 V\"\n[references.vref]\nvoltage = \"2.5 V\"\n[converters.c]\npart = \"ad7799\"\nsupply = \"main\"\n".to_owned();
        for (name, more) in ["a", "b"].into_iter().zip(more) {
            text += &format!(
                "[channels.{name}]\nquantity = \"voltage\"\nspan = \"0.2 V to 2 V\"\ninput = \"c\"\nreference = \"vref\"\n{more}\n"
            );
        }
        chain::time::schedule::schedules(&board(&text)).remove(0)
    };
    let s = channels(["rate = \"2 /s\"", ""]);
    assert!(s.turns.iter().all(|t| t.data_rate_hz == Some(8.33)));
    assert!((s.busy_s - 4.0 / 8.33).abs() < 1e-12);
    assert!(s.misfits.is_empty());
    // 2/4.17 s are taken by what is set: 20.4 ms are left, 98 /s at least.
    let s = channels(["rate = \"2 /s\"", "data-rate = \"4.17 /s\""]);
    assert!(s.misfits.is_empty(), "{:?}", s.misfits);
    assert_eq!(s.turns[0].data_rate_hz, Some(123.0));
    assert!(s.busy_s <= 0.5);
}

/// By hand: 11 kΩ and 10 pF have 0.11 µs, of which 1.2 µs are 10.909: a
/// neighbour that moves by 2.5 V from the middle of its span moves the reading
/// by 2.5 V·e^(−10.909) = 45.7 µV.
#[test]
fn published_memory_of_the_channel_before_is_in_the_reading() {
    let text = format!(
        "{CONVERTER}[scan]\nclock = \"10 MHz\"\nacquisition = \"12 cycles\"\n{}{}",
        volt("a", "", ""),
        volt("b", "", "")
    );
    let board = board(&text);
    let timing = Timing::of(&board);
    let model = chain::channel::build_with(&board, &board.channels[0], &timing).unwrap();
    let of_b = |v: &chain::variables::Variable| v.key.contains("memory of b");
    let place = model.variables.iter().position(of_b).unwrap();
    let reading = |before: f64| {
        let mut inputs = model.tape.nominal_inputs().to_vec();
        inputs[place] += before;
        model.tape.values(&inputs, tape::Reading::Smooth)[chain::channel::READING]
    };
    let moved = (reading(2.5) - reading(0.0)).abs();
    let expected = 2.5 * (-1.2e-6_f64 / (11e3 * 10e-12)).exp();
    assert!((moved / expected - 1.0).abs() < 1e-4, "{moved} {expected}");
}

#[test]
fn published_unsettled_sample_reads_low_from_an_empty_capacitor() {
    // An emptied sample capacitor has V·(1 − exp(−t/τ)) when it is taken off:
    // 51 kΩ·10 pF is 510 ns, 1.2 µs leave exp(−2.353) = 9.509 % of 5 V to go.
    let text = format!(
        "{CONVERTER}[scan]\nclock = \"10 MHz\"\nacquisition = \"12 cycles\"\nevery = \"1 ms\"\nstart = \"discharged\"\n{}",
        volt("a", "", "").replace("10 kΩ", "50 kΩ")
    );
    let b = board(&text);
    let timing = Timing::of(&b);
    let m = build_with(&b, &b.channels[0], &timing).unwrap();
    let mut inputs = m.tape.nominal_inputs().to_vec();
    inputs[0] = 5.0;
    let error = m.tape.values(&inputs, Reading::Smooth)[ERROR];
    let expected = -5.0 * (-1.2e-6_f64 / 510e-9).exp();
    assert!((error / expected - 1.0).abs() < 1e-3, "{error} {expected}");
}

#[test]
fn published_slow_noise_of_an_amplifier_sets_its_corner() {
    // 1 µV peak to peak from 0.1 Hz to 10 Hz is 151.5 nV rms (6.6 standard
    // deviations, common practice); 9.9 Hz of 10 nV/√Hz explain 31.5 nV of it.
    // The rest is 1/f: (151.5² − 31.5²)/ln 100 nV² in each hertz at 1 Hz.
    let text = r#"
[parts.follower]
kind = "amplifier"
[parts.follower.figures]
supply = { min = "2 V", max = "6 V" }
noise-density = { typ = "10 nV/√Hz" }
noise-low-frequency = { typ = "1 µV", given-as = "peak-to-peak", band = "0.1 Hz to 10 Hz" }
[rails.main]
voltage = "5 V exact"
[channels.a]
quantity = "voltage"
span = "1 V to 4 V"
chain = [{ buffer = { part = "follower", supply = "main" } }]
"#;
    let b = board(text);
    let straight = Straight::of(&b, &b.channels[0], None, 0.0).unwrap();
    let point = straight.nominal(2.5).unwrap();
    let noise = point.pin.noise(0, |_| 298.15).unwrap();
    let rms = 1e-6 / 6.6;
    let flicker = (rms * rms - 1e-16 * 9.9) / 100.0_f64.ln();
    for hz in [0.1, 1.0, 1e3] {
        let found: f64 = noise.density(hz).iter().sum();
        let expected = 1e-16 + flicker / hz;
        assert!(
            (found / expected - 1.0).abs() < 1e-3,
            "{hz} Hz: {found} {expected}"
        );
    }
}
