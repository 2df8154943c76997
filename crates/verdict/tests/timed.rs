//! Responses, courses, noise and schedules of boards whose equations are
//! derived by hand from the drawing.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::disallowed_methods,
    reason = "tests; the expected values are computed by another library"
)]

mod support;

use std::f64::consts::PI;

use report::{ChannelNoise, ChannelResponse, Course, Schedule};
use support::read;
use verdict::CourseEvent;

/// A source of 10 kΩ into 100 nF at a converter: one time constant of 1 ms.
const LOW_PASS: &str = r#"
[board]
name = "one time constant"
[conditions]
ambient = "25 °C"
mains = "50 Hz"
[rails.3v3]
voltage = "3.3 V"
[controllers.mcu]
part = "stm32f103"
supply = "3v3"
[scan]
clock = "12 MHz"
acquisition = "239.5 cycles"
every = "10 ms"
[channels.tap]
quantity = "voltage"
span = "0 V to 3 V"
sensor = { law = "direct-voltage" }
chain = [{ low-pass = { r = "10 kΩ exact", c = "100 nF exact" } }]
input = "mcu.adc.0"
"#;

/// A thermistor below 10 kΩ with 1 µF across it: a resistance that changes.
const THERMISTOR: &str = r#"
[board]
name = "a resistance that changes"
[conditions]
ambient = "25 °C"
[rails.3v3]
voltage = "3.3 V"
[controllers.mcu]
part = "stm32f103"
supply = "3v3"
[channels.room]
quantity = "temperature"
span = "0 °C to 50 °C"
sensor = { law = "thermistor-beta", figures = { resistance-25 = { typ = "10 kΩ" }, beta = { typ = "3950 K" } } }
chain = [{ pull-up = "10 kΩ exact", to = "3v3" }, { low-pass = { r = "0 Ω", c = "1 µF exact" } }]
input = "mcu.adc.0"
"#;

fn close(found: f64, expected: f64, relative: f64) {
    assert!(
        (found / expected - 1.0).abs() <= relative,
        "{found} for {expected}"
    );
}

fn response(text: &str, hz: &[f64]) -> ChannelResponse {
    let (board, _) = read(text);
    let mut r = verdict::response(&board, None, hz).unwrap();
    let c = r.channels.remove(0);
    assert_eq!(c.reason, "");
    c
}

fn course(text: &str, event: CourseEvent, until_s: Option<f64>) -> Course {
    let (board, _) = read(text);
    let name = board.channels[0].name.clone();
    let c = verdict::course(&board, &name, event, until_s).unwrap();
    assert_eq!(c.reason, "");
    c
}

fn value(c: &Course, seconds: f64) -> f64 {
    let k = c.time_s.iter().position(|t| *t >= seconds).unwrap();
    let v = &c.traces[0].values;
    let share = (seconds - c.time_s[k - 1]) / (c.time_s[k] - c.time_s[k - 1]);
    v[k - 1] + share * (v[k] - v[k - 1])
}

/// |H| = 1/√(1 + (2πfRC)²), settling to ε after RC·ln(1/ε): any textbook. The
/// pin's capacitance of a few picofarad adds to C; what leaks in is far off.
#[test]
fn reference_one_resistor_and_one_capacitor() {
    let c = response(LOW_PASS, &[1000.0]);
    let tau = 1e-3;
    close(c.corner_hz.unwrap(), 1.0 / (2.0 * PI * tau), 1e-3);
    close(c.gain, 1.0, 1e-2);
    close(c.poles[0].time_constant_s, tau, 1e-3);
    assert_eq!(c.poles[0].ringing_hz, 0.0);
    let turns = |hz: f64| 2.0 * PI * hz * tau;
    for n in &c.named {
        let db = 10.0 * f64::log10(1.0 + turns(n.hz) * turns(n.hz));
        close(n.attenuation_db, db, 2e-3);
        close(n.degrees, -f64::atan(turns(n.hz)).to_degrees(), 2e-3);
    }
    let names: Vec<&str> = c.named.iter().map(|n| n.name.as_str()).collect();
    assert_eq!(names.first(), Some(&"mains"));
    assert_eq!(names.last(), Some(&"asked for"));
    let settle = |to: &str| {
        let found = c.settling.iter().find(|s| s.to == to).unwrap();
        (found.share, found.seconds.unwrap())
    };
    close(settle("1 %").1, tau * f64::ln(100.0), 1e-3);
    // 3 V are 3723.6 of the 4096 codes of 3.3 V.
    let (share, seconds) = settle("half a code");
    close(share, 0.5 / (4096.0 * 3.0 / 3.3), 1e-2);
    close(seconds, tau * f64::ln(1.0 / share), 1e-3);
    let half = c.step.iter().find(|s| s.seconds >= tau).unwrap();
    close(half.share, 1.0 - f64::exp(-half.seconds / tau), 1e-3);
}

/// The course with every limit is the response after a step where there is no
/// limit to meet.
#[test]
fn reference_course_of_one_time_constant() {
    let c = course(LOW_PASS, CourseEvent::Step, None);
    let tau = 1e-3;
    let end = *c.traces[0].values.last().unwrap();
    close(end, 3.0, 1e-2);
    assert!(c.traces[0].values[0].abs() < 1e-2);
    for t in [0.2e-3, 1e-3, 3e-3] {
        let expected = end * (1.0 - f64::exp(-t / tau));
        assert!((value(&c, t) - expected).abs() < 3e-3, "{t}");
    }
    let percent = c.settling.iter().find(|s| s.to == "1 %").unwrap();
    close(percent.seconds.unwrap(), tau * f64::ln(100.0), 5e-3);
}

/// A resistance steps: before it the node stands where the old one holds it,
/// after it the capacitor follows the new one with C·(R ∥ Rp).
#[test]
fn reference_course_of_a_resistance_that_changes() {
    let c = course(THERMISTOR, CourseEvent::Step, None);
    let ohm = |celsius: f64| 10e3 * f64::exp(3950.0 * (1.0 / (celsius + 273.15) - 1.0 / 298.15));
    let volt = |r: f64| 3.3 * r / (r + 10e3);
    let (cold, hot) = (ohm(0.0), ohm(50.0));
    close(c.traces[0].values[0], volt(cold), 2e-3);
    close(*c.traces[0].values.last().unwrap(), volt(hot), 2e-3);
    let tau = 1e-6 / (1.0 / hot + 1.0 / 10e3);
    for share in [0.3, 1.0, 2.0] {
        let t = share * tau;
        let left = (volt(cold) - volt(hot)) * f64::exp(-share);
        assert!((value(&c, t) - volt(hot) - left).abs() < 5e-3, "{share}");
    }
    // The response about the middle has the resistance of the middle.
    let r = response(THERMISTOR, &[]);
    let tau = 1e-6 / (1.0 / ohm(25.0) + 1.0 / 10e3);
    close(r.poles[0].time_constant_s, tau, 5e-3);
    let per_kelvin = -3950.0 / (298.15 * 298.15);
    close(r.gain, 3.3 / 4.0 * per_kelvin, 5e-3);
    assert_eq!(r.gain_unit, "V/K");
}

/// An amplifier follows a step of 2 V no faster than its slew rate: 1 V/µs
/// (AD8628; the figure is from memory in its part file), so half of the way
/// takes a microsecond, where the linear response would take 50 ns.
#[test]
fn reference_course_with_a_slew_rate() {
    let text = LOW_PASS
        .replace(
            "[controllers.mcu]",
            "[rails.5v]\nvoltage = \"5 V\"\n[controllers.mcu]",
        )
        .replace("0 V to 3 V", "0.5 V to 2.5 V")
        .replace(
            "low-pass = { r = \"10 kΩ exact\", c = \"100 nF exact\" }",
            "buffer = \"ad8628\", supply = \"5v\"",
        );
    let c = course(&text, CourseEvent::Step, Some(5e-6));
    for (t, volt) in [(0.5e-6, 1.0), (1e-6, 1.5), (1.5e-6, 2.0)] {
        assert!((value(&c, t) - volt).abs() < 0.1, "{t}: {}", value(&c, t));
    }
    assert!((c.traces[0].values.last().unwrap() - 2.5).abs() < 0.01);
    let r = response(&text, &[]);
    let percent = r.settling.iter().find(|s| s.to == "1 %").unwrap();
    assert!(percent.seconds.unwrap() < 0.5e-6);
}

#[test]
fn a_network_comes_up_from_nothing() {
    let c = course(THERMISTOR, CourseEvent::PowerUp, None);
    let v = &c.traces[0].values;
    assert!(v[0].abs() < 0.02, "{}", v[0]);
    close(*v.last().unwrap(), 3.3 / 2.0, 5e-3);
    assert!(v.windows(2).all(|w| w[1] >= w[0] - 1e-6));
}

#[test]
fn a_course_is_as_long_as_asked() {
    let c = course(LOW_PASS, CourseEvent::Step, Some(0.5e-3));
    assert_eq!(c.time_s.last(), Some(&0.5e-3));
    // It has not come to rest by then, so nothing is said of settling.
    assert!(c.settling.iter().all(|s| s.seconds.is_none()));
}

fn noise(text: &str) -> ChannelNoise {
    let (board, sources) = read(text);
    let mut n = verdict::noise(&board, None, &sources).unwrap();
    let c = n.channels.remove(0);
    assert_eq!(c.reason, "");
    c
}

/// 10 kΩ at 298.15 K makes √(4kTR) = 12.8 nV/√Hz; with the capacitor its
/// noise is √(kT/C) = 203 nV, whatever the resistance (J. Johnson, H. Nyquist,
/// Physical Review 32, 1928).
#[test]
fn reference_noise_of_a_resistor_and_a_capacitor() {
    let c = noise(LOW_PASS);
    let resistor = c
        .contributors
        .iter()
        .find(|n| n.kind == "thermal" && n.name.contains("low-pass"))
        .unwrap();
    let kt = 1.380_649e-23 * 298.15;
    close(resistor.densities[0], (4.0 * kt * 10e3_f64).sqrt(), 2e-2);
    // A hundred corners above nothing of it is left.
    assert!(resistor.densities[2] < 1e-2 * resistor.densities[0]);
    let powers: f64 = c.contributors.iter().map(|n| n.volt * n.volt).sum();
    close(powers.sqrt(), c.conversion.volt, 1e-9);
    let shares: f64 = c.contributors.iter().map(|n| n.share).sum();
    close(shares, 1.0, 1e-9);
    close(c.conversion.codes, c.conversion.volt * 4096.0 / 3.3, 1e-2);
    close(c.conversion.quantity, c.conversion.volt, 1e-2);
    // 17 bits free of its noise are 12 of the converter.
    let bits = f64::log2(4096.0 / c.conversion.codes);
    assert!(bits > 15.0);
    close(c.conversion.effective_bits, 12.0, 1e-6);
    close(c.conversion.noise_free_bits, 12.0, 1e-6);
}

#[test]
fn averaging_makes_the_reading_quieter_than_a_conversion() {
    let one = noise(LOW_PASS);
    let many = noise(&LOW_PASS.replace(
        "input = \"mcu.adc.0\"",
        "input = \"mcu.adc.0\"\naverage = 16",
    ));
    close(many.conversion.volt, one.conversion.volt, 1e-6);
    assert_eq!((one.averaged, many.averaged), (1, 16));
    assert!(many.reading.volt < many.conversion.volt);
    assert!(many.reading.volt >= many.conversion.volt / 4.0 * (1.0 - 1e-6));
}

fn schedule(text: &str) -> Schedule {
    verdict::schedule(&read(text).0)
}

/// 239.5 + 12.5 clocks of 12 MHz are 21 µs (STM32F103x8 data sheet, section
/// 5.3.18: a conversion is the sampling time and 12.5 cycles).
#[test]
fn published_times_of_a_conversion() {
    let s = schedule(LOW_PASS);
    let c = &s.converters[0];
    assert_eq!(c.name, "mcu.adc");
    close(c.clock_hz.unwrap(), 12e6, 1e-12);
    close(c.turns[0].acquire_s, 239.5 / 12e6, 1e-9);
    close(c.sequence_s, 252.0 / 12e6, 1e-9);
    close(c.period_s, 10e-3, 1e-12);
    close(c.busy, 2.1e-3, 1e-9);
    close(c.turns[0].rate_hz, 100.0, 1e-9);
    assert!(c.misfits.is_empty());
}

#[test]
fn a_clock_beyond_the_part_and_a_rate_too_high_are_told() {
    let s = schedule(
        &LOW_PASS
            .replace("clock = \"12 MHz\"", "clock = \"28 MHz\"")
            .replace("every = \"10 ms\"", "every = \"5 µs\""),
    );
    let c = &s.converters[0];
    assert_eq!(c.misfits.len(), 2, "{:?}", c.misfits);
    assert!(c.misfits[0].contains("28 MHz"), "{:?}", c.misfits);
    assert!(!s.is_met());
}

/// A megohm without a capacitor at the pin settles in no 1.5 clocks; the
/// proposal does.
#[test]
fn what_is_proposed_settles() {
    let slow = LOW_PASS
        .replace(
            "r = \"10 kΩ exact\", c = \"100 nF exact\"",
            "r = \"100 kΩ exact\", c = \"1 pF exact\"",
        )
        .replace("239.5 cycles\"", "1.5 cycles\"\nstart = \"discharged\"");
    let s = schedule(&slow);
    let t = &s.converters[0].turns[0];
    assert_eq!(t.settles, Some(false), "{t:#?}");
    assert!(t.worst.unwrap().codes.abs() > 0.25);
    assert!(t.proposal.starts_with("acquisition = \""), "{}", t.proposal);
    let cycles = t.proposal.split('"').nth(1).unwrap();
    let better = schedule(&slow.replace("1.5 cycles", cycles));
    assert_eq!(better.converters[0].turns[0].settles, Some(true));
    // And the resistance that is said to be the most is: a little more is too
    // much.
    let most = better.converters[0].turns[0].largest_ohm.unwrap();
    let plain = |ohm: f64| {
        let sensor = format!("\"direct-voltage\", source-resistance = \"{ohm:.0} Ω exact\"");
        let chain = "chain = [{ low-pass = { r = \"10 kΩ exact\", c = \"100 nF exact\" } }]\n";
        let text = LOW_PASS
            .replace("\"direct-voltage\"", &sensor)
            .replace(chain, "")
            .replace(
                "239.5 cycles\"",
                &format!("{cycles}\"\nstart = \"discharged\""),
            );
        schedule(&text).converters[0].turns[0].settles
    };
    assert_eq!(plain(0.99 * most), Some(true));
    assert_eq!(plain(1.05 * most), Some(false));
}

#[test]
fn channels_without_a_network_say_so() {
    let (board, sources) = read(
        r#"
[board]
name = "digital"
[rails.3v3]
voltage = "3.3 V"
[controllers.mcu]
part = "stm32f103"
supply = "3v3"
[channels.room]
quantity = "temperature"
span = "0 °C to 40 °C"
sensor = "sht41"
"#,
    );
    let r = verdict::response(&board, Some("room"), &[]).unwrap();
    assert_eq!(r.channels[0].reason, "the channel has no analog network");
    let n = verdict::noise(&board, Some("room"), &sources).unwrap();
    assert!(!n.channels[0].reason.is_empty());
    let c = verdict::course(&board, "room", CourseEvent::Step, None).unwrap();
    assert_eq!(c.reason, "the channel has no analog network");
    assert!(verdict::schedule(&board).converters.is_empty());
    assert!(verdict::response(&board, Some("rom"), &[]).is_err());
    assert!(verdict::course(&board, "rom", CourseEvent::Step, None).is_err());
}

/// What the response says at rest is the slope of the static model, which has
/// equations of its own for every channel of the shipped boards.
#[test]
fn property_gain_at_rest_is_the_slope_of_the_static_model() {
    let examples = std::path::PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    let mut compared = 0;
    for name in [
        "cellar-rack.toml",
        "battery-trolley.toml",
        "first-board.toml",
    ] {
        let (board, _) = read(&std::fs::read_to_string(examples.join(name)).unwrap());
        let answers = verdict::response(&board, None, &[]).unwrap();
        for (channel, answer) in board.channels.iter().zip(&answers.channels) {
            if !answer.reason.is_empty() {
                continue;
            }
            let model = chain::channel::build(&board, channel).unwrap();
            let (low, high) = channel.span.value;
            let (cold, hot) = board.conditions.ambient_k;
            let volt = |q: f64| {
                let mut inputs = model.tape.nominal_inputs().to_vec();
                for (i, v) in model.variables.iter().enumerate() {
                    if v.key == format!("channels.{}.quantity", channel.name) {
                        inputs[i] = q;
                    } else if v.key == "ambient" {
                        inputs[i] = 0.5 * (cold + hot);
                    }
                }
                model.tape.values(&inputs, tape::Reading::Smooth)[chain::channel::VOLT]
            };
            let (middle, step) = (0.5 * (low + high), 1e-4 * (high - low));
            let slope = (volt(middle + step) - volt(middle - step)) / (2.0 * step);
            let per_unit = slope / channel.unit.number_of_difference(1.0);
            // A thermometer's own warming, which the response leaves away,
            // changes its slope by less than this.
            let off = (answer.gain / per_unit - 1.0).abs();
            assert!(
                off < 2e-3,
                "{name} {}: {} for {per_unit}",
                channel.name,
                answer.gain
            );
            compared += 1;
        }
    }
    assert!(compared >= 10, "{compared}");
}

/// 15 s in still air (TDK B57861 data sheet): a lag of first order has 1 %
/// left after ln 100 time constants.
#[test]
fn published_slowness_of_a_thermistor() {
    let text = THERMISTOR.replace(
        "sensor = { law = \"thermistor-beta\", figures = { resistance-25 = { typ = \"10 kΩ\" }, beta = { typ = \"3950 K\" } } }",
        "sensor = \"ntc-10k-3950-1-percent\"",
    );
    assert_ne!(text, THERMISTOR);
    let lag = response(&text, &[]).sensor.unwrap();
    close(lag.time_constant_s, 15.0, 1e-12);
    close(lag.corner_hz, 1.0 / (2.0 * PI * 15.0), 1e-12);
    let percent = lag.settling.iter().find(|s| s.to == "1 %").unwrap();
    close(percent.seconds.unwrap(), 15.0 * f64::ln(100.0), 1e-12);
    assert!(lag.source.contains("TDK"), "{}", lag.source);
    assert!(response(THERMISTOR, &[]).sensor.is_none());
}

/// A pulse through one time constant reaches V·(1 − exp(−T/τ)) and dies away
/// from there (any textbook).
#[test]
fn published_course_of_a_burst() {
    let step = course(LOW_PASS, CourseEvent::Step, None);
    let (low, high) = (
        step.traces[0].values[0],
        *step.traces[0].values.last().unwrap(),
    );
    let burst = course(LOW_PASS, CourseEvent::Burst(0.5e-3), None);
    let input = &burst.traces[0].values;
    let peak = input.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    close((peak - low) / (high - low), 1.0 - (-0.5_f64).exp(), 1e-3);
    close(
        (value(&burst, 1.5e-3) - low) / (peak - low),
        (-1.0_f64).exp(),
        5e-3,
    );
    // A resistance that changes has only its step, and says so.
    let (board, _) = read(THERMISTOR);
    let name = board.channels[0].name.clone();
    let none = verdict::course(&board, &name, CourseEvent::Burst(1e-3), None).unwrap();
    assert!(none.reason.contains("only its step"), "{}", none.reason);
}

/// The mean of several conversions is what is judged, with its parts where
/// they make it worst; so is what is proposed, and never what is set already.
#[test]
fn what_is_proposed_settles_a_mean_too() {
    let text = r#"
[rails.main]
voltage = "3.3 V"
[controllers.mcu]
part = "stm32f103"
supply = "main"
[scan.mcu]
clock = "14 MHz"
acquisition = "7.5 cycles"
[channels.a]
quantity = "voltage"
span = "0.1 V to 3 V"
chain = [{ low-pass = { r = "20 kΩ", c = "1 pF" } }]
input = "mcu.adc.1"
average = 4
[channels.b]
quantity = "voltage"
span = "0.1 V to 3 V"
chain = [{ low-pass = { r = "1 kΩ", c = "1 pF" } }]
input = "mcu.adc.2"
"#;
    let s = schedule(text);
    let c = &s.converters[0];
    let t = &c.turns[0];
    assert_eq!(t.settles, Some(false));
    assert!(t.shortest_acquire_s.unwrap() > t.acquire_s);
    assert!(c.fastest_hz.unwrap() < t.rate_hz);
    let cycles = t.proposal.split('"').nth(1).unwrap();
    let better = schedule(&text.replace("7.5 cycles", cycles));
    let t = &better.converters[0].turns[0];
    assert_eq!(t.settles, Some(true), "{t:#?}");
}

/// ADR504x data sheet, Rev. B: 150 µV rms of 2.5 V from 10 Hz to 10 kHz. By
/// hand at 12 MHz and 252 clocks: 21 µs from one conversion to the next, 16 in
/// 336 µs, in which noise of 10 kHz has 2·10 kHz·336 µs = 6.72 values; of 1 V
/// against 2.5 V a conversion has 150 µV·(1/2.5) = 60 µV, their mean √6.72
/// less.
#[test]
fn published_wide_noise_of_the_reference_is_whole_in_a_conversion() {
    let text = |average: &str| {
        format!(
            r#"
[rails.main]
voltage = "3.3 V"
[references.vref]
part = "adr5041"
supply = "main"
series = "100 Ω"
[controllers.mcu]
part = "stm32f103"
supply = "main"
[scan.mcu]
clock = "12 MHz"
acquisition = "239.5 cycles"
[channels.a]
quantity = "voltage"
span = "0.999 V to 1 V"
input = "mcu.adc.1"
reference = "vref"
{average}
"#
        )
    };
    let wide = |average: &str| {
        let found = noise(&text(average));
        let line = found
            .contributors
            .iter()
            .find(|c| c.name.contains("noise up to"));
        let line = line.unwrap_or_else(|| panic!("{found:#?}")).clone();
        (line.quantity, line.reading)
    };
    let (one, sixteen) = (wide(""), wide("average = 16"));
    close(one.0, 60e-6, 2e-3);
    close(one.1, one.0, 1e-9);
    close(sixteen.0, one.0, 1e-9);
    close(sixteen.1, one.0 / 6.72_f64.sqrt(), 1e-3);
}
