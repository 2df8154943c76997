//! Channels read over buses and as pulses, from the situation to the verdict.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

mod support;

use serde_json::Value;
use support::{run, stderr, stdout, written};

fn checked(name: &str, text: &str) -> Value {
    let board = written(name, text);
    let output = run(&["check", "--json", &board.path()]);
    serde_json::from_str(&stdout(&output)).unwrap_or_else(|e| panic!("{e}: {}", stderr(&output)))
}

fn channel<'a>(result: &'a Value, name: &str) -> &'a Value {
    result["channels"]
        .as_array()
        .unwrap()
        .iter()
        .find(|c| c["name"] == name)
        .unwrap()
}

fn headline(result: &Value, id: &str) -> Option<String> {
    let list = result["findings"].as_array().unwrap();
    let found = list.iter().find(|f| f["id"] == id)?;
    Some(found["headline"].as_str().unwrap().to_owned())
}

/// A plate thermometer on a bus, ±0.25 °C by its data sheet (ADT7420 Rev. 0).
fn plate(keys: &str, link: &str, channel: &str) -> String {
    format!(
        "[conditions]\nambient = \"10 °C to 35 °C\"\n[rails.logic]\nvoltage = \"3.3 V\"\n[devices.plate]\npart = \"adt7420\"\nsupply = \"logic\"\n{keys}\n[links.rack]\nkind = \"i2c\"\nsupply = \"logic\"\ndevices = [\"plate\"]\npull-ups = [\"4.7 kΩ 1 %\"]\ntraces = \"30 pF\"\nclock = \"100 kHz\"\n{link}\n[channels.wort]\nquantity = \"temperature\"\nspan = \"10 °C to 80 °C\"\naccuracy = \"1 °C\"\nsensor = {{ device = \"plate\", measure = \"temperature\" }}\n{channel}\n"
    )
}

/// The figures of the fitted device give the verdict: 0.5 °C of the data sheet
/// is half of what is asked.
#[test]
fn a_fitted_device_is_a_sensor() {
    let r = checked("plate", &plate("", "poll = \"1 /s\"", "rate = \"1 /s\""));
    assert_eq!(channel(&r, "wort")["verdict"], "meets", "{r:#}");
}

/// What is wrong with its bus holds the channel down: 1 kΩ asks 2.9 mA of a
/// part that sinks 1 mA (ADT7420 data sheet at 3.3 V).
#[test]
fn published_a_bus_that_does_not_work_gives_no_reading() {
    let text = plate("", "poll = \"1 /s\"", "").replace("4.7 kΩ", "1 kΩ");
    let r = checked("held", &text);
    let c = channel(&r, "wort");
    assert_eq!(c["verdict"], "fails");
    assert!(
        c["held_by"]
            .as_array()
            .unwrap()
            .contains(&"bus.pull-up-strong".into()),
        "{c:#}"
    );
}

/// A conversion takes 240 ms, 4.2 a second (ADT7420 data sheet): 10 asked fail,
/// and so do 2 where the driver asks once a second.
#[test]
fn published_rates_of_a_device() {
    let r = checked("fast", &plate("", "poll = \"10 /s\"", "rate = \"10 /s\""));
    assert!(
        headline(&r, "rate.not-met").unwrap().contains("4.17"),
        "{r:#}"
    );
    assert_eq!(channel(&r, "wort")["verdict"], "fails");
    let seldom = checked("seldom", &plate("", "poll = \"1 /s\"", "rate = \"2 /s\""));
    assert!(
        headline(&seldom, "rate.not-met")
            .unwrap()
            .contains("read 1 times a second, 2 are asked")
    );
}

/// 3.3 V × 265 µA all the time on 1 K/mW: 0.87 K; one reading a second leaves
/// 240 ms of it, and 15 µA of the rest: 0.24 × 0.8745 mW + 0.76 × 0.0495 mW =
/// 0.2475 mW, 0.25 K.
#[test]
fn published_a_sensor_that_converts_all_the_time_warms_itself() {
    let hot = "figures = { thermal-resistance = \"1000 K/W\" }";
    let r = checked("hot", &plate(hot, "", ""));
    let said = headline(&r, "sensor.own-power").unwrap();
    assert!(
        said.contains("0.87 K") || said.contains("0.87 °C"),
        "{said}"
    );
    let slow = checked("slow", &plate(hot, "poll = \"1 /s\"", ""));
    assert_eq!(headline(&slow, "sensor.own-power"), None);
}

/// Half of 13 bits of 0.0625 °C does not tell 0.01 °C apart.
#[test]
fn a_word_with_too_large_steps() {
    let word = "resolution = \"0.01 °C\"\n[words.wort]\nchannel = \"wort\"\nbits = 13\nbytes = 2\nalign = \"left\"\nform = \"twos-complement\"\nstep = \"0.0625 °C\"\n";
    let r = checked("coarse", &plate("", "", word));
    assert!(headline(&r, "word.too-coarse").is_some());
    let narrow = word
        .replace("bits = 13", "bits = 8")
        .replace("0.0625 °C", "0.5 °C")
        .replace("resolution = \"0.01 °C\"\n", "");
    // 127 codes of 0.5 °C: 63.5 °C of 80 °C.
    let r = checked("narrow", &plate("", "", &narrow));
    assert!(headline(&r, "word.too-small").unwrap().contains("63.5 °C"));
    assert_eq!(channel(&r, "wort")["verdict"], "fails");
}

fn meter(how: &str, low: &str) -> String {
    format!(
        "[channels.glycol]\nquantity = \"flow\"\nspan = \"{low} L/min to 20 L/min\"\naccuracy = [\"1 % of reading\", \"0.005 L/min\"]\nsensor = {{ law = \"pulse-rate\", figures = {{ pulses-per-unit = \"450 1/L\" }} }}\n{how}\n"
    )
}

/// A meter of 450 pulses for each litre gives 15 Hz at 2 L/min. One second of
/// gate leaves a count in fifteen, 6.7 %; a timer of 1 MHz a count in 66 667.
#[test]
fn published_a_period_is_finer_than_a_gate_for_slow_pulses() {
    let gate = checked("gate", &meter("gate = \"1 s\"", "2"));
    assert_eq!(channel(&gate, "glycol")["verdict"], "fails", "{gate:#}");
    let period = checked(
        "period",
        &meter(
            "period = { clock = \"1 MHz\", bits = 24 }\nclock-tolerance = \"50 ppm\"",
            "2",
        ),
    );
    assert_eq!(channel(&period, "glycol")["verdict"], "meets", "{period:#}");
}

/// 16 bits at 1 MHz end after 65.5 ms, 15.26 Hz: 15 Hz is too slow for it; one
/// more bit or half the clock would do.
#[test]
fn published_a_timer_overflows() {
    let r = checked(
        "overflow",
        &meter("period = { clock = \"1 MHz\", bits = 16 }", "2"),
    );
    let said = headline(&r, "pulse.timer-overflow").unwrap();
    assert!(said.contains("15.3 Hz") || said.contains("15.26"), "{said}");
    let ok = checked(
        "timer",
        &meter("period = { clock = \"1 MHz\", bits = 16 }", "3"),
    );
    assert_eq!(headline(&ok, "pulse.timer-overflow"), None);
}

/// Input levels of pulses are those of the wire that is named.
#[test]
fn a_wire_that_is_misunderstood_holds_a_pulse_channel_down() {
    let text = format!(
        "[rails.v]\nvoltage = \"5 V\"\n[rails.w]\nvoltage = \"1.8 V\"\n[devices.pickup]\npart = \"levels-1v8\"\nsupply = \"w\"\n[devices.counter]\npart = \"mm74hc125\"\nsupply = \"v\"\n[links.meter]\nkind = \"wire\"\ndriver = \"pickup\"\nreceivers = [\"counter\"]\n{}",
        meter("gate = \"60 s\"", "2").replace(
            "law = \"pulse-rate\"",
            "law = \"pulse-rate\", link = \"meter\""
        )
    );
    let r = checked("wire", &text);
    let c = channel(&r, "glycol");
    assert_eq!(c["verdict"], "fails", "{r:#}");
    assert!(
        c["held_by"]
            .as_array()
            .unwrap()
            .iter()
            .any(|h| h.as_str().unwrap().starts_with("link.")),
        "{c:#}"
    );
}

#[test]
fn sensors_and_timers_that_cannot_be_are_refused() {
    for (from, to, said) in [
        (
            "device = \"plate\"",
            "device = \"plat\"",
            "no device is named `plat`",
        ),
        (
            "device = \"plate\"",
            "device = \"plate\", part = \"sht41\"",
            "both say what the sensor is",
        ),
        (
            "device = \"plate\"",
            "device = \"plate\", link = \"rak\"",
            "no link is named `rak`",
        ),
    ] {
        let board = written("refused", plate("", "", "").replace(from, to));
        let output = run(&["check", &board.path()]);
        assert!(
            stderr(&output).contains(said),
            "{said}: {}",
            stderr(&output)
        );
    }
    let both = meter("gate = \"1 s\"\nperiod = { clock = \"1 MHz\" }", "2");
    let board = written("both", both);
    assert!(stderr(&run(&["check", &board.path()])).contains("one of them"));
}
