//! Disturbing tones on their way into the readings of a board's channels.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

use board::Board;
use chain::channel::build;
use chain::time::interferer::{Disturbance, Interference, interference};
use chain::variables::{Kind, Lies, Varies};
use finding::Sources;
use parts::Library;

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

fn of(text: &str) -> Interference {
    let board = board(text);
    interference(&board, &board.channels[0]).unwrap_or_else(|f| panic!("{}", f.message))
}

fn only(i: &Interference, name: &str) -> Disturbance {
    i.list
        .iter()
        .find(|d| d.name == name)
        .unwrap_or_else(|| panic!("no {name}"))
        .clone()
}

#[track_caller]
fn close(value: f64, expected: f64, relative: f64) {
    assert!(
        (value - expected).abs() <= relative * expected.abs(),
        "{value} is not {expected}"
    );
}

/// A voltage of 0 to 2 V behind a chain, read against a fixed reference by a
/// converter that takes 239.5 clocks to acquire and 12.5 to convert: at a
/// clock of 252 kHz a conversion in a millisecond.
fn voltage(chain: &str, own: &str, more: &str) -> String {
    format!(
        r#"
[rails.main]
voltage = "5 V ± 0 %"
[references.vref]
voltage = "2.5 V ± 0 %"
[rails.logic]
voltage = "3.3 V ± 0 %"
[controllers.mcu]
part = "stm32f103"
supply = "logic"
[scan]
clock = "2.52 MHz"
prescaler = 10
acquisition = "239.5 cycles"
[channels.x]
quantity = "voltage"
span = "0 V to 2 V"
rate = "2 /s"
chain = [{chain}]
input = "mcu.adc.0"
{own}
reference = "vref"
{more}"#
    )
}

#[test]
fn mains_through_a_low_pass_and_the_mean_of_a_period() {
    // 10 kΩ with 1 µF has its corner at 15.9155 Hz: at 49.5 Hz 0.306091 are
    // left, and of those the mean of 20 conversions at 1000 per second keeps
    // 0.0101402. 100 mV peak leave 310.4 µV.
    let text = voltage(
        r#"{ low-pass = { r = "10 kΩ 0 %", c = "1 µF 0 %" } }"#,
        "average = 20",
        "[conditions]\nmains = \"50 Hz\"\n[interferers.mains]\namplitude = \"100 mV\"",
    );
    let found = of(&text);
    close(found.timing.readout.sample_rate_hz, 1000.0, 1e-12);
    assert_eq!(found.timing.readout.count, 20);
    assert_eq!(found.timing.readout.reading_rate_hz, 2.0);
    let mains = only(&found, "mains");
    assert!(mains.is_mains);
    assert_eq!(mains.arrivals.len(), 5);
    let first = mains.arrivals[0];
    close(first.response, 0.306_091, 1e-5);
    close(first.kept, 0.010_140_2, 1e-4);
    close(first.amplitude.unwrap(), 310.38e-6, 1e-4);
    assert_eq!(first.alias_hz, (0.0, 0.5));
    assert!(first.stands_still);
    // Nothing else damps it, so this is against direct current as well.
    close(mains.relative[0], 0.306_091, 1e-5);
    // Peaks add up, variances of arcsines as a²/2.
    let sizes: Vec<f64> = mains.arrivals.iter().filter_map(|a| a.amplitude).collect();
    assert_eq!(sizes.len(), 5);
    close(found.together.peak, sizes.iter().sum(), 1e-12);
    let power: f64 = sizes.iter().map(|a| 0.5 * a * a).sum();
    close(found.together.deviation, power.sqrt(), 1e-12);
    // The same numbers are contributors of the channel, one for each tone.
    let board = board(&text);
    let model = build(&board, &board.channels[0]).unwrap();
    let own: Vec<_> = model
        .variables
        .iter()
        .filter(|v| v.key.contains("interferers.mains"))
        .collect();
    assert_eq!(own.len(), 5);
    assert_eq!(own[0].lies, Lies::Arcsine(-sizes[0], sizes[0]));
    assert_eq!(
        (own[0].kind, own[0].varies),
        (Kind::Random, Varies::Reading)
    );
    assert_eq!(own[2].name, "mains on the sensor, 150 Hz");
}

#[test]
fn without_an_amplitude_shares_are_told_and_nothing_contributes() {
    let text = voltage("", "", "[conditions]\nmains = \"50 Hz ± 1 %\"");
    let found = of(&text);
    let mains = only(&found, "mains");
    assert!(mains.arrivals.iter().all(|a| a.amplitude.is_none()));
    close(mains.arrivals[4].kept, 1.0, 1e-12);
    assert_eq!(mains.arrivals[4].hz, (247.5, 250.0, 252.5));
    assert_eq!(found.together.peak, 0.0);
    let board = board(&text);
    let model = build(&board, &board.channels[0]).unwrap();
    assert!(
        !model
            .variables
            .iter()
            .any(|v| v.key.contains("interferers"))
    );
}

#[test]
fn ripple_of_a_rail_that_the_sensor_and_the_converter_share_cancels_where_both_follow_at_once() {
    let text = |chain: &str| {
        format!(
            r#"
[rails.main]
voltage = "5 V ± 0 %"
[converters.adc]
supply = "main"
bits = 12
[channels.x]
quantity = "temperature"
span = "20 °C to 30 °C"
rate = "10 /s"
sensor = {{ part = "platinum-1000-class-a" }}
chain = [{chain}]
input = "adc"
reference = "main"
[interferers.hum]
frequency = "100 Hz ± 0 %"
amplitude = "10 mV"
on = "main"
"#
        )
    };
    let pull = r#"{ pull-up = "1 kΩ 0 %", to = "main" }"#;
    let found = of(&text(pull));
    assert!(only(&found, "hum").arrivals[0].response < 1e-12);
    // With 1 kΩ and 1 µF behind it, fed from 1 kΩ beside 1077.9 Ω at 20 °C
    // (IEC 60751), the signal no longer follows at once: of its own half
    // |1/(1 + jx) − 1| = x/√(1 + x²) is missing, x = 2π·100·1 µF·(1 kΩ +
    // 518.8 Ω) = 0.95427: 0.690362, times R/(R + 1 kΩ) = 0.518753 at 20 °C.
    // At 30 °C, 1116.7 Ω: x = 0.959802, 0.692454·0.527566 = 0.365315.
    let filtered = format!(r#"{pull}, {{ low-pass = {{ r = "1 kΩ 0 %", c = "1 µF 0 %" }} }}"#);
    let found = of(&text(&filtered));
    let hum = only(&found, "hum");
    close(hum.arrivals[0].response, 0.365_315, 2e-4);
    close(hum.arrivals[0].amplitude.unwrap(), 3.653e-3, 3e-4);
    assert_eq!(hum.on, "rail main");
}

#[test]
fn ripple_goes_through_a_regulator_and_a_reference_as_far_as_they_let_it() {
    // 60 dB of the regulator leave a thousandth on the logic rail. The pull-up
    // takes half of it to the pin, where (2 V + 3.3 V)/2 = 2.65 V stand at the
    // upper end of the span; the reference follows by 100 ppm/V · 2.5 V =
    // 0.25 mV/V, and the reading by 2.65/2.5 of that. The phases are unknown,
    // so sizes add up.
    let text = r#"
[parts.reg]
kind = "regulator"
[parts.reg.figures]
output-voltage = { typ = "3.3 V" }
supply-rejection = { typ = "60 dB" }
[parts.ref]
kind = "series-reference"
[parts.ref.figures]
voltage = { typ = "2.5 V" }
line-regulation = { max = "100 ppm/V" }
[rails.main]
voltage = "5 V ± 0 %"
[rails.logic]
from = "main"
part = "reg"
[references.vref]
part = "ref"
supply = "logic"
[converters.adc]
supply = "logic"
bits = 12
[channels.x]
quantity = "voltage"
span = "1 V to 2 V"
rate = "10 /s"
sensor = { source-resistance = "10 kΩ 0 %" }
chain = [{ pull-up = "10 kΩ 0 %", to = "logic" }]
input = "adc"
reference = "vref"
[interferers.buck]
frequency = "300 kHz ± 10 %"
amplitude = "20 mV"
on = "main"
"#;
    let found = of(text);
    let buck = only(&found, "buck");
    let expected = 0.5e-3 + 2.65 / 2.5 * 0.25e-3 * 1e-3;
    close(buck.arrivals[0].response, expected, 1e-6);
    assert!(found.taken.iter().any(|t| t.contains("direct current")));
}

#[test]
fn through_a_capacitor_into_a_high_impedance() {
    // 2 pF into 1 MΩ at 300 kHz: ωRC = 3.76991 leaves x/√(1 + x²) = 0.966582.
    let text = voltage(
        "",
        "sensor = { source-resistance = \"1 MΩ 0 %\" }",
        "[interferers.pwm]\nfrequency = \"300 kHz ± 0 %\"\namplitude = \"1 V\"\non = \"input\"\ncoupling = \"2 pF\"",
    );
    let found = of(&text);
    let pwm = only(&found, "pwm");
    close(pwm.arrivals[0].response, 0.966_582, 1e-5);
    assert_eq!(pwm.on, "the converter's input through a capacitor");
    // Straight onto the input nothing damps it, whatever the impedance.
    let text = text.replace("coupling = \"2 pF\"", "");
    close(only(&of(&text), "pwm").arrivals[0].response, 1.0, 1e-12);
}

#[test]
fn a_channel_that_nobody_reads_in_time_has_no_answer() {
    let text = r#"
[rails.main]
voltage = "5 V ± 0 %"
[converters.adc]
supply = "main"
bits = 12
[channels.x]
quantity = "voltage"
span = "0 V to 2 V"
input = "adc"
reference = "main"
"#;
    let board = board(text);
    let fault = interference(&board, &board.channels[0]).unwrap_err();
    assert!(
        fault.message.contains("when it is read"),
        "{}",
        fault.message
    );
}

#[test]
fn ripple_gets_in_by_an_amplifier_and_by_the_converter_itself() {
    // A stage of gain 6 whose amplifier rejects 80 dB at direct current and has
    // 1 MHz: at 10 kHz no more than 1 MHz/10 kHz = 100. The gain there, with
    // the pole at 1 MHz/6, is 6/√(1 + 0.06²) = 5.98923; a hundredth of it
    // arrives.
    let text = r#"
[parts.op]
kind = "amplifier"
[parts.op.figures]
gain-bandwidth = { typ = "1 MHz" }
supply-rejection = { min = "80 dB" }
[rails.main]
voltage = "5 V ± 0 %"
[references.vref]
voltage = "2.5 V ± 0 %"
[converters.adc]
supply = "main"
bits = 12
[channels.x]
quantity = "voltage"
span = "0.1 V to 0.3 V"
rate = "10 /s"
chain = [{ non-inverting = { part = "op", supply = "main", feedback = "50 kΩ 0 %", gain-resistor = "10 kΩ 0 %" } }]
input = "adc"
reference = "vref"
[interferers.buck]
frequency = "10 kHz ± 0 %"
amplitude = "20 mV"
on = "main"
"#;
    let found = of(text);
    let buck = only(&found, "buck");
    close(buck.arrivals[0].response, 0.059_892_3, 1e-4);
    assert!(
        found.taken.iter().any(|t| t.contains("common practice")),
        "{:?}",
        found.taken
    );
    // At 10 Hz the 80 dB hold: 6·10⁻⁴.
    let slow = text.replace("10 kHz", "10 Hz");
    close(only(&of(&slow), "buck").arrivals[0].response, 6e-4, 1e-6);
}

#[test]
fn points_of_a_rejection_are_joined_in_decades() {
    // 60 dB at 1 kHz and 40 dB at 10 kHz are 50 dB at 3.1623 kHz; above the
    // last point nothing is known and 40 dB are kept. Half of the rail stands
    // at the pin.
    let text = |hz: &str| {
        format!(
            r#"
[parts.reg]
kind = "regulator"
[parts.reg.figures]
output-voltage = {{ typ = "3.3 V" }}
supply-rejection = {{ points = [["1 kHz", "60 dB"], ["10 kHz", "40 dB"]] }}
[rails.main]
voltage = "5 V ± 0 %"
[rails.logic]
from = "main"
part = "reg"
[references.vref]
voltage = "2.5 V ± 0 %"
[converters.adc]
supply = "logic"
bits = 12
[channels.x]
quantity = "voltage"
span = "1 V to 2 V"
rate = "10 /s"
sensor = {{ source-resistance = "10 kΩ 0 %" }}
chain = [{{ pull-up = "10 kΩ 0 %", to = "logic" }}]
input = "adc"
reference = "vref"
[interferers.buck]
frequency = "{hz} ± 0 %"
on = "main"
"#
        )
    };
    let response = |hz: &str| only(&of(&text(hz)), "buck").arrivals[0].response;
    close(response("100 Hz"), 0.5e-3, 1e-9);
    close(response("3.16227766 kHz"), 0.5 * 3.162_277_66e-3, 1e-6);
    close(response("1 MHz"), 0.5e-2, 1e-9);
}

/// LTC2415-1: a filter of order four with its notch at 55 Hz (from memory). A
/// sinc of that notch keeps (sin(π·50/55)/(π·50/55))⁴ = (0.281733/2.855993)⁴ =
/// 9.469e-5 of 50 Hz, 80.5 dB, whatever its 13.75 outputs a second have for
/// notches. The LTC2415 has it at 50 Hz or 60 Hz, by a pin.
#[test]
fn published_notch_of_a_filter_is_where_its_part_states_it() {
    let found = |part: &str, mains: &str| {
        of(&format!(
            r#"
[conditions]
mains = "{mains} ± 0 %"
[rails.main]
voltage = "5 V ± 0 %"
[references.vref]
voltage = "2.5 V ± 0 %"
[converters.c]
part = "{part}"
supply = "main"
[channels.x]
quantity = "voltage"
span = "0.1 V to 1 V"
rate = "10 /s"
input = "c"
reference = "vref"
"#
        ))
    };
    let notch = |i: &Interference| i.timing.readout.filter.unwrap().notch_hz;
    let one = found("ltc2415-1", "50 Hz");
    assert_eq!(notch(&one), 55.0);
    close(only(&one, "mains").arrivals[0].kept, 9.4694e-5, 1e-4);
    assert_eq!(notch(&found("ltc2415", "50 Hz")), 50.0);
    assert_eq!(notch(&found("ltc2415", "60 Hz")), 60.0);
}
