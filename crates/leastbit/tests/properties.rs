//! Properties of the numbers that the whole program gives.
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests")]

use std::process::Command;

fn channel(text: &str, name: &str) -> serde_json::Value {
    let path = std::env::temp_dir().join(format!("leastbit-p-{}-{name}.toml", std::process::id()));
    std::fs::write(&path, text).unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_leastbit"))
        .arg("check")
        .arg(&path)
        .arg("--json")
        .output()
        .unwrap();
    std::fs::remove_file(&path).unwrap();
    let json: serde_json::Value = serde_json::from_slice(&output.stdout)
        .unwrap_or_else(|e| panic!("{e}: {}", String::from_utf8_lossy(&output.stderr)));
    json["channels"][0].clone()
}

fn number(c: &serde_json::Value, key: &str) -> f64 {
    c.pointer(key)
        .and_then(serde_json::Value::as_f64)
        .unwrap_or_else(|| panic!("{key} in {c}"))
}

/// A thermistor on a rail that is also the reference, with 10 Ω in the feed.
const FEED: &str = r#"
[rails.logic]
voltage = "3.3 V ± 5 %"
[converters.adc]
supply = "logic"
bits = 16
[channels.x]
quantity = "resistance"
span = "5 kΩ to 20 kΩ"
accuracy = "1 kΩ"
chain = [{ pull-up = "10 kΩ", to = "logic" }]
input = "adc"
"#;

#[test]
fn property_a_ratio_loses_the_rail_to_rounding_level() {
    let feed = FEED.replace("\"10 kΩ\"", "\"10 kΩ exact\"");
    let c = channel(&feed, "ratio");
    let with_reference = feed.replace("input = \"adc\"", "input = \"adc\"\nreference = \"vref\"")
        + "[references.vref]\nvoltage = \"3.3 V\"\n";
    let absolute = channel(&with_reference, "absolute");
    // ±5 % of the rail against a fixed reference at 20 kΩ:
    // R = r·v/(1 − v) in kΩ, v being 5 % above 2/3.
    let v: f64 = 2.0 / 3.0 * 1.05;
    let expected = 10.0 * v / (1.0 - v) - 20.0;
    let worst = number(&absolute, "/worst_case/magnitude");
    assert!((worst / expected - 1.0).abs() < 0.01, "{worst} {expected}");
    // One code of 65536 is all that is left of the ratiometric one.
    let left = number(&c, "/worst_case/magnitude");
    assert!(left < 2.0 * 30.0 * 30.0 / 10.0 / 65536.0, "{left}");
}

#[test]
fn property_halving_a_tolerance_shrinks_the_result_as_its_share_says() {
    let with = |tolerance: &str| {
        channel(
            &FEED.replace("\"10 kΩ\"", &format!("\"10 kΩ {tolerance}\"")),
            "halved",
        )
    };
    let (whole, half) = (with("0.2 %"), with("0.1 %"));
    let share: f64 = whole["contributors"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|c| c["name"].as_str().unwrap().contains("pull-up"))
        .map(|c| c["share"].as_f64().unwrap())
        .sum();
    assert!(share > 0.5);
    let predicted = (1.0 - 0.75 * share).sqrt();
    let found =
        number(&half, "/propagation/half_width") / number(&whole, "/propagation/half_width");
    assert!((found - predicted).abs() < 0.01, "{found} {predicted}");
}

#[test]
fn property_the_three_answers_are_in_order() {
    for tolerance in ["0.1 %", "1 %", "5 %"] {
        let c = channel(
            &FEED.replace("\"10 kΩ\"", &format!("\"10 kΩ {tolerance} 50 ppm/K\"")),
            "order",
        );
        assert!(
            number(&c, "/monte_carlo/half_width")
                <= number(&c, "/worst_case/magnitude") * (1.0 + 1e-9)
        );
        assert!(
            number(&c, "/monte_carlo/half_width") <= 1.05 * number(&c, "/propagation/half_width")
        );
    }
}

/// A resistance calibrated at two points, with a converter of these figures.
fn calibrated(name: &str, figures: &str) -> serde_json::Value {
    let text = FEED.replace("bits = 16", &format!("bits = 12\n{figures}"))
        + "calibrate = { at = [\"7 kΩ\", \"15 kΩ\"] }\n";
    channel(&text, name)
}

/// Largest share of the variance that a contributor of these words has.
fn share(c: &serde_json::Value, words: &str) -> f64 {
    c["contributors"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|c| c["name"].as_str().unwrap().contains(words))
        .map(|c| c["share"].as_f64().unwrap())
        .sum()
}

#[test]
fn property_a_total_unadjusted_error_does_not_calibrate_out() {
    let total = calibrated(
        "total",
        "figures = { total-unadjusted-error = { max = \"4 LSB\" } }",
    );
    let bare = calibrated("bare", "");
    // At 20 kΩ a code is R²/r·(1 + r/R)² / 4096 = 21.97 Ω wide; 4 LSB of the
    // reading alone, equally likely, are u = 4·21.97/√3 = 50.7 Ω.
    let u = number(&total, "/propagation/u");
    assert!(u > 50.7 / 1e3, "{u}");
    assert!(number(&bare, "/propagation/u") < 0.5 * u);
    // The two points and the reading each have an error of their own.
    assert!(share(&total, "total unadjusted error, calibrating at 15 kΩ") > 0.1);
    assert!(share(&total, "total unadjusted error, calibrating at 7 kΩ") > 0.01);
}

#[test]
fn property_offset_and_gain_calibrate_out_and_the_nonlinearity_stays() {
    let apart = calibrated(
        "apart",
        "figures = { total-unadjusted-error = { max = \"8 LSB\" }, offset-error = { max = \
         \"5 LSB\", part-of = \"total-unadjusted-error\" }, gain-error = { max = \"5 LSB\", \
         part-of = \"total-unadjusted-error\" }, inl = { max = \"2 LSB\", part-of = \
         \"total-unadjusted-error\" }, dnl = { max = \"1 LSB\" } }",
    );
    assert_eq!(share(&apart, "total unadjusted"), 0.0);
    assert!(share(&apart, "converter, offset") < 0.2);
    assert!(share(&apart, "converter, gain") < 0.2);
    assert!(share(&apart, "nonlinearity") > 0.1);
    assert!(share(&apart, "steps between codes") > 0.01);
}

/// A voltage between the inputs of a bipolar converter of the library.
fn bipolar(name: &str, part: &str, span: &str, extra: &str) -> serde_json::Value {
    let text = format!(
        r#"
[rails.logic]
voltage = "3.3 V"
[references.vref]
voltage = "2.5 V"
[converters.adc]
part = "{part}"
supply = "logic"
[channels.x]
quantity = "voltage"
span = "{span}"
accuracy = "1 mV"
input = "adc"
reference = "vref"
{extra}
"#
    );
    channel(&text, name)
}

#[test]
fn published_scale_of_bipolar_converters() {
    // LTC2415 data sheet: full scale at half the reference; AD7799 data sheet:
    // at the reference over the gain.
    let half = bipolar("half", "ltc2415", "0.1 V to 1 V", "");
    assert!((number(&half, "/signal/scale_high") - 1.25).abs() < 1e-6);
    assert!((number(&half, "/signal/scale_low") + 1.25).abs() < 1e-6);
    let whole = bipolar("whole", "ad7799", "0.4 V to 1 V", "");
    assert!((number(&whole, "/signal/scale_high") - 2.5).abs() < 1e-6);
    // A code is 2·1.25 V / 2^24.
    let code = number(&half, "/signal/code_width_low");
    assert!((code / (2.5 / 16_777_216.0) - 1.0).abs() < 1e-3, "{code}");
}

#[test]
fn property_gain_errors_of_a_bipolar_converter_count_from_zero_volts() {
    // 1 ppm/K from 25 °C to 45 °C is 20 ppm of the voltage, not of the code.
    let with = |name: &str, span: &str| {
        let c = bipolar(name, "ad7799", span, "[conditions]\nambient = \"45 °C\"");
        c["contributors"]
            .as_array()
            .unwrap()
            .iter()
            .find(|c| c["name"] == "converter, gain drift")
            .map(|c| c["size"].as_f64().unwrap())
            .unwrap_or_else(|| panic!("{c}"))
    };
    // At 2 V: three standard deviations of 1 ppm/K · 20 K · 2 V are 120 µV.
    let (whole, half) = (
        with("at2", "1.9999 V to 2 V"),
        with("at1", "0.9999 V to 1 V"),
    );
    assert!((whole / 120e-6 - 1.0).abs() < 0.02, "{whole}");
    assert!((half / 60e-6 - 1.0).abs() < 0.02, "{half}");
}

/// A sensor that follows its 5 V supply against a fixed reference; the
/// firmware divides by the converted supply, or does not.
fn follower(name: &str, conversion: &str) -> serde_json::Value {
    let text = format!(
        r#"
[rails.main]
voltage = "5 V ± 5 %"
[rails.logic]
voltage = "3.3 V"
[references.vref]
voltage = "2.5 V"
[converters.adc]
supply = "logic"
bits = 16
[channels.x]
quantity = "pressure"
span = "1 kPa to 10 kPa"
accuracy = "0.1 kPa"
sensor = {{ law = "ratiometric-voltage", supply = "main", figures = {{ offset-ratio = {{ typ = 0.04 }}, slope-ratio = {{ typ = "0.09 1/kPa" }} }} }}
chain = [{{ divider = {{ top = "10 kΩ exact", bottom = "8.2 kΩ exact" }} }}]
input = "adc"
reference = "vref"
{conversion}
[channels.feed]
quantity = "voltage"
span = "4.75 V to 5.25 V"
sensor = {{ rail = "main" }}
chain = [{{ divider = {{ top = "10 kΩ exact", bottom = "8.2 kΩ exact" }} }}]
input = "adc"
reference = "vref"
"#
    );
    channel(&text, name)
}

#[test]
fn property_dividing_by_the_converted_supply_makes_a_ratio() {
    let fixed = follower("fixed", "");
    let divided = follower(
        "divided",
        "conversion = { formula = \"(code / feed.code - 0.04) / 0.09\" }",
    );
    // ±5 % of the output at 10 kPa, 0.94 of the supply: 0.05·0.94/0.09 = 0.522 kPa.
    let worst = number(&fixed, "/worst_case/magnitude");
    assert!((worst / 0.522 - 1.0).abs() < 0.01, "{worst}");
    // Left are the codes' own steps: one of about 59000, and as much of the other.
    let left = number(&divided, "/worst_case/magnitude");
    assert!(left < 2.0 * 10.5 / 50_000.0, "{left}");
}

#[test]
fn property_a_rail_that_is_measured_sets_what_hangs_on_it() {
    // The reference is half of what is measured: the code cannot change.
    let text = r#"
[rails.main]
voltage = "5 V ± 5 %"
[rails.half]
from = "main"
divider = { top = "10 kΩ exact", bottom = "10 kΩ exact" }
[converters.adc]
supply = "main"
bits = 12
[channels.x]
quantity = "voltage"
span = "4.75 V to 5.25 V"
accuracy = "50 mV"
sensor = { rail = "main" }
chain = [{ divider = { top = "30 kΩ exact", bottom = "10 kΩ exact" } }]
input = "adc"
reference = "half"
"#;
    let c = channel(text, "hangs");
    assert_eq!(c["verdict"], "unmodelled");
    assert!(
        c["reason"]
            .as_str()
            .unwrap()
            .contains("does not depend on the quantity"),
        "{c}"
    );
}

#[test]
fn property_a_resistor_without_tolerance_is_an_ordinary_one() {
    // 1 % and 100 ppm/K, said in the budget as common practice; "exact" is
    // exact.
    let with = |written: &str| channel(&FEED.replace("\"10 kΩ\"", written), "usual");
    let bare = with("\"10 kΩ\"");
    let stated = with("\"10 kΩ 1 % 100 ppm/K\"");
    let exact = with("\"10 kΩ ± 0 %\"");
    let worst = |c: &serde_json::Value| number(c, "/worst_case/magnitude");
    assert_eq!(worst(&bare), worst(&stated));
    assert!(worst(&exact) < 0.1 * worst(&bare));
    assert_eq!(worst(&exact), worst(&with("\"10 kΩ exact\"")));
    let contributor = |c: &serde_json::Value| {
        c["contributors"]
            .as_array()
            .unwrap()
            .iter()
            .find(|c| c["name"] == "pull-up, tolerance")
            .cloned()
            .unwrap_or_default()
    };
    assert_eq!(contributor(&bare)["basis"], "common practice");
    assert_eq!(
        contributor(&bare)["source"],
        "no tolerance is written: 1 %, 100 ppm/K taken"
    );
    assert_eq!(contributor(&stated)["basis"], "");
    assert!(number(&bare, "/unpublished/share") > 0.5);
    assert_eq!(number(&stated, "/unpublished/share"), 0.0);
}

#[test]
fn property_an_accuracy_of_a_ratio_is_a_ratio() {
    // 60 ppm of gas, not 60 ppm of the reading.
    let c = channel(
        r#"
[channels.gas]
quantity = "ratio"
span = "400 ppm to 5000 ppm"
accuracy = "100 ppm"
sensor = { law = "digital", figures = { accuracy = { max = "60 ppm" } } }
"#,
        "gas",
    );
    let worst = number(&c, "/worst_case/magnitude");
    assert!((worst - 60.0).abs() < 1e-6, "{worst}");
}

#[test]
fn property_a_source_on_a_foot_stands_that_much_higher() {
    let with = |name: &str, sensor: &str| {
        let c = channel(
            &format!(
                r#"
[rails.logic]
voltage = "3.3 V"
[references.vref]
voltage = "2.5 V"
[references.bias]
voltage = "1.25 V"
[converters.adc]
supply = "logic"
bits = 12
[channels.x]
quantity = "voltage"
span = "-0.5 V to 0.5 V"
{sensor}
input = "adc"
reference = "vref"
"#
            ),
            name,
        );
        (number(&c, "/signal/at_low"), number(&c, "/signal/at_high"))
    };
    assert_eq!(with("ground", ""), (-0.5, 0.5));
    let (low, high) = with("foot", "sensor = { foot = \"bias\" }");
    assert!((low - 0.75).abs() < 1e-12 && (high - 1.75).abs() < 1e-12);
}
