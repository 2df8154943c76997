//! Networks of named nodes: the equations are derived by hand from the
//! drawing of each situation.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

use chain::channel::{CODE, ChannelModel, READING, REFERENCE, Unmodelled, VOLT, build};
use finding::Sources;
use parts::Library;
use tape::Reading;

fn read(text: &str) -> (Option<board::Board>, Vec<finding::InputFault>) {
    let mut sources = Sources::new();
    let id = sources.add("board.toml", text);
    board::read(id, text, Library::shipped(), &chain::vocabulary())
}

fn built(text: &str, channel: &str) -> Result<ChannelModel, Unmodelled> {
    let (board, faults) = read(text);
    let said: Vec<&String> = faults.iter().map(|f| &f.message).collect();
    let board = board.unwrap_or_else(|| panic!("{said:#?}"));
    let c = board.channels.iter().find(|c| c.name == channel).unwrap();
    build(&board, c)
}

fn model(text: &str, channel: &str) -> ChannelModel {
    built(text, channel).unwrap_or_else(|f| panic!("{}", f.message))
}

fn at(m: &ChannelModel, set: &[(&str, f64)]) -> Vec<f64> {
    let mut inputs = m.tape.nominal_inputs().to_vec();
    for (key, value) in set {
        let known: Vec<&String> = m.variables.iter().map(|v| &v.key).collect();
        let i = known
            .iter()
            .position(|k| k == key)
            .unwrap_or_else(|| panic!("no variable {key} in {known:#?}"));
        inputs[i] = *value;
    }
    m.tape.values(&inputs, Reading::Exact)
}

/// Quantity fault at the one place of a text.
fn fault(text: &str) -> (String, String) {
    let (_, faults) = read(text);
    assert_eq!(faults.len(), 1, "{faults:#?}");
    let f = &faults[0];
    let place = &text[f.span.start as usize..f.span.end as usize];
    (f.message.clone(), place.to_owned())
}

/// A platinum thermometer below a reference resistor; the converter compares
/// the one with the other, whatever current flows through both.
const RATIO: &str = r#"
[rails.bias]
voltage = "2 V ± 10 %"
[converters.front]
supply = "bias"
bits = 15
[networks.loop]
elements = [
  { resistor = "430 Ω", name = "fitted", from = "bias", to = "a" },
  { sensor = "room", from = "a", to = "gnd" },
]
[channels.room]
quantity = "temperature"
span = "0 °C to 250 °C"
sensor = { part = "platinum-100-class-b", figures = { self-heating = { typ = "0 K/W", max = "0 K/W" } } }
input = "front"
reference = { plus = "bias", minus = "a" }
"#;

#[test]
fn published_platinum_against_another_reference_resistor_than_assumed() {
    // A reported case: 430 Ω fitted, the firmware believes 400 Ω. 29.4 °C are
    // 111.44 Ω, read as 111.44·400/430 = 103.67 Ω or 9.39 °C; 200 °C as
    // 166.8 °C. With the right constant both are right.
    let wrong = format!(
        "{RATIO}conversion = {{ assume = {{ \"networks.loop.elements.fitted\" = \"400 Ω\" }} }}\n"
    );
    let m = model(&wrong, "room");
    let reading = |m: &ChannelModel, celsius: f64, rail: f64| {
        let set = [
            ("channels.room.quantity", celsius + 273.15),
            ("rails.bias.tolerance", rail),
        ];
        at(m, &set)[READING] - 273.15
    };
    assert!((reading(&m, 29.4, 0.0) - 9.39).abs() < 0.05);
    assert!((reading(&m, 200.0, 0.0) - 166.8).abs() < 0.1);
    let right = model(RATIO, "room");
    for celsius in [29.4, 200.0] {
        for rail in [-0.2, 0.2] {
            // One code is 430/32768 Ω, 0.035 K.
            assert!((reading(&right, celsius, rail) - celsius).abs() < 0.02);
        }
    }
    // The converter sees 430/(430 + 111.44) of the rail as its reference.
    let outputs = at(&right, &[("channels.room.quantity", 302.55)]);
    let ohm = 100.0 * (1.0 + 3.9083e-3 * 29.4 - 5.775e-7 * 29.4 * 29.4);
    assert!((outputs[REFERENCE] - 2.0 * 430.0 / (430.0 + ohm)).abs() < 1e-9);
    assert!((outputs[CODE] - 32768.0 * ohm / 430.0).abs() < 1e-6);
}

/// Two thermometers on one current, each between its own pair of wires.
const FOUR_WIRES: &str = r#"
[rails.main]
voltage = "3.3 V ± 5 %"
[converters.adc]
supply = "main"
bits = 24
differential = true
[networks.loop]
elements = [
  { current-source = "0.5 mA ± 20 %", from = "main", to = "top" },
  { lead = "5 Ω ± 4 Ω", name = "forth", from = "top", to = "a" },
  { sensor = "upper", from = "a", to = "b" },
  { lead = "5 Ω ± 4 Ω", from = "b", to = "c" },
  { sensor = "lower", from = "c", to = "d" },
  { lead = "5 Ω ± 4 Ω", name = "back", from = "d", to = "e" },
  { resistor = "1 kΩ 0.01 %", name = "standard", from = "e", to = "gnd" },
]
[channels.upper]
quantity = "temperature"
span = "0 °C to 100 °C"
sensor = { part = "platinum-100-class-a", figures = { self-heating = { typ = "0 K/W", max = "0 K/W" } } }
input = "adc.0-1"
reference = { plus = "e" }
[channels.lower]
quantity = "temperature"
span = "0 °C to 100 °C"
sensor = { part = "platinum-100-class-a", figures = { self-heating = { typ = "0 K/W", max = "0 K/W" } } }
input = "adc.2-3"
reference = { plus = "e" }
"#;

#[test]
fn property_four_wires_and_a_shared_standard_leave_neither_current_nor_leads() {
    let m = model(FOUR_WIRES, "upper");
    let boiling = 373.15;
    let plain = at(&m, &[("channels.upper.quantity", boiling)]);
    // 138.5055 Ω (IEC 60751:2008, R100/R0 = 1.385 055) of 1 kΩ.
    let code = 16_777_216.0 * 0.138_505_5;
    assert!((plain[CODE] - code).abs() < 0.5, "{}", plain[CODE]);
    let all = at(
        &m,
        &[
            ("channels.upper.quantity", boiling),
            ("channels.lower.quantity", 273.15),
            ("networks.loop.elements.0.i.tolerance", 0.1e-3),
            ("networks.loop.elements.1.r.tolerance", 4.0),
            ("networks.loop.elements.3.r.tolerance", -4.0),
            ("networks.loop.elements.5.r.tolerance", 4.0),
        ],
    );
    assert!((all[CODE] - code).abs() < 1e-3, "{}", all[CODE]);
    // The standard is all that is left: 0.01 % of it are 0.01 % of the ratio.
    let off = at(
        &m,
        &[
            ("channels.upper.quantity", boiling),
            ("networks.loop.elements.6.r.tolerance", 0.1),
        ],
    );
    assert!((off[CODE] * 1.0001 - code).abs() < 1.0);
    // Both share the standard and the current: one variable each.
    let keys = |channel: &str| -> Vec<String> {
        let m = model(FOUR_WIRES, channel);
        m.variables.iter().map(|v| v.key.clone()).collect()
    };
    for channel in ["upper", "lower"] {
        for shared in [
            "networks.loop.elements.0.i.tolerance",
            "networks.loop.elements.6.r.tolerance",
        ] {
            assert!(keys(channel).iter().any(|k| k == shared));
        }
    }
}

#[test]
fn property_a_thermometer_on_two_wires_of_a_network_reads_its_leads() {
    // The same loop tapped outside of the leads of the upper one: 10 Ω more.
    let text = FOUR_WIRES.replace(
        "input = \"adc.0-1\"",
        "input = { at = \"adc.0-1\", plus = \"top\", minus = \"c\" }",
    );
    let m = model(&text, "upper");
    let outputs = at(&m, &[("channels.upper.quantity", 373.15)]);
    assert!((outputs[CODE] - 16_777_216.0 * 0.148_505_5).abs() < 0.5);
    // Copper at 2 K above 25 °C has 0.77 % more (0.393 %/K at 20 °C).
    let text = text.replace(
        "[rails.main]",
        "[conditions]\nambient = \"25 °C to 27 °C\"\n[rails.main]",
    );
    let m = model(&text, "upper");
    let warm = at(
        &m,
        &[("channels.upper.quantity", 373.15), ("ambient", 300.15)],
    );
    let copper = 10.0 * 2.0 * 0.003_93 / (1.0 + 5.0 * 0.003_93);
    let more = (warm[CODE] - outputs[CODE]) / 16_777.216;
    assert!((more - copper).abs() < 1e-6, "{more} {copper}");
}

fn gauges(elements: &str) -> String {
    format!(
        r#"
[rails.main]
voltage = "4 V ± 5 %"
[converters.adc]
supply = "main"
bits = 24
differential = true
bipolar = true
[networks.bridge]
elements = [
{elements}]
[channels.arm]
quantity = "strain"
span = "-0.003 to 0.003"
sensor = {{ law = "gauge", figures = {{ nominal-resistance = {{ typ = "350 Ω", max = "351 Ω", min = "349 Ω" }}, gauge-factor = {{ typ = 2, max = 2.02, min = 1.98 }} }} }}
input = {{ at = "adc.0-1", plus = "p", minus = "m" }}
"#
    )
}

const FIXED: &str = r#"  { resistor = "350 Ω", from = "main", to = "m" },
  { resistor = "350 Ω", from = "m", to = "gnd" },
"#;

#[test]
fn reference_quarter_half_and_full_bridges_by_their_dividers() {
    // x = k·ε; each node divides the 4 V of the rail by its own two arms.
    let x: f64 = 2.0 * 0.003;
    let quarter = format!(
        "{FIXED}  {{ sensor = \"arm\", from = \"p\", to = \"gnd\" }},\n  {{ resistor = \"350 Ω\", from = \"main\", to = \"p\" }},\n"
    );
    let half = format!(
        "{FIXED}  {{ sensor = \"arm\", from = \"p\", to = \"gnd\" }},\n  {{ sensor = \"arm\", times = -1, from = \"main\", to = \"p\" }},\n"
    );
    let poisson = format!(
        "{FIXED}  {{ sensor = \"arm\", from = \"p\", to = \"gnd\" }},\n  {{ sensor = \"arm\", times = -0.3, from = \"main\", to = \"p\" }},\n"
    );
    let full = r#"  { sensor = "arm", from = "p", to = "gnd" },
  { sensor = "arm", times = -0.3, from = "main", to = "p" },
  { sensor = "arm", times = -0.3, from = "m", to = "gnd" },
  { sensor = "arm", from = "main", to = "m" },
"#
    .to_owned();
    let share = |low: f64, high: f64| (1.0 + low) / (2.0 + low + high);
    for (elements, ratio) in [
        (quarter, share(x, 0.0) - 0.5),
        (half, share(x, -x) - 0.5),
        (poisson, share(x, -0.3 * x) - 0.5),
        (full, share(x, -0.3 * x) - share(-0.3 * x, x)),
    ] {
        let m = model(&gauges(&elements), "arm");
        let outputs = at(&m, &[("channels.arm.quantity", 0.003)]);
        assert!((outputs[VOLT] - 4.0 * ratio).abs() < 1e-12, "{elements}");
        // The firmware's inverse gives the strain back within a code.
        let step = 0.006 / (16_777_216.0 * ratio.abs());
        assert!(
            (outputs[READING] - 0.003).abs() < step,
            "{} {elements}",
            outputs[READING]
        );
    }
}

#[test]
fn property_each_gauge_has_a_resistance_of_its_own_and_one_lot_a_factor() {
    let half = format!(
        "{FIXED}  {{ sensor = \"arm\", from = \"p\", to = \"gnd\" }},\n  {{ sensor = \"arm\", times = -1, from = \"main\", to = \"p\" }},\n"
    );
    let m = model(&gauges(&half), "arm");
    // Gauges of 351 Ω and 349 Ω without strain: 351/700 of the rail less half.
    let outputs = at(
        &m,
        &[
            ("channels.arm.quantity", 0.0),
            ("channels.arm.sensor.nominal-resistance", 1.0),
            ("networks.bridge.elements.3.nominal-resistance", -1.0),
        ],
    );
    assert!((outputs[VOLT] - 4.0 * (351.0 / 700.0 - 0.5)).abs() < 1e-12);
    let factors = m
        .variables
        .iter()
        .filter(|v| v.key.contains("gauge-factor"));
    assert_eq!(factors.count(), 1);
}

#[test]
fn property_a_cell_shares_its_excitation_with_the_reference_of_its_converter() {
    // A cell of 2 mV/V and 400 Ω behind two leads of 20 Ω: 10/11 of the rail
    // at its terminals, where the reference is sensed as well.
    let text = r#"
[rails.main]
voltage = "5 V ± 5 %"
[converters.adc]
supply = "main"
bits = 24
differential = true
[networks.cell]
elements = [
  { lead = "20 Ω ± 5 Ω", from = "main", to = "top" },
  { lead = "20 Ω ± 5 Ω", from = "foot", to = "gnd" },
  { sensor = "scale", from = "top", to = "foot", plus = "p", minus = "m" },
]
[channels.scale]
quantity = "mass"
span = "0 kg to 20 kg"
sensor = { law = "bridge", figures = { sensitivity = { min = "2 mV/V", typ = "2 mV/V", max = "2 mV/V" }, rated = { max = "20 kg" }, input-resistance = { min = "400 Ω", typ = "400 Ω", max = "400 Ω" } } }
input = { at = "adc.0-1", gain = 128 }
reference = { plus = "top", minus = "foot" }
"#;
    let m = model(text, "scale");
    let full = ("channels.scale.quantity", 20.0);
    let outputs = at(&m, &[full]);
    assert!((outputs[REFERENCE] - 5.0 * 400.0 / 440.0).abs() < 1e-12);
    assert!((outputs[VOLT] - 10e-3 * 400.0 / 440.0).abs() < 1e-12);
    let code = 16_777_216.0 * 128.0 * 0.002;
    assert!((outputs[CODE] - code).abs() < 1e-3);
    let leads = at(
        &m,
        &[
            full,
            ("networks.cell.elements.0.r.tolerance", 5.0),
            ("rails.main.tolerance", -0.25),
        ],
    );
    assert!((leads[CODE] - code).abs() < 1e-3);
}

#[test]
fn property_faults_of_nodes_stand_at_their_places() {
    let misspelt = RATIO.replace("minus = \"a\"", "minus = \"aa\"");
    let (message, place) = fault(&misspelt);
    assert!(
        message.contains("network `loop` has no node `aa`"),
        "{message}"
    );
    assert_eq!(place, "{ plus = \"bias\", minus = \"aa\" }");
    let dangling = RATIO.replace(
        "from = \"a\", to = \"gnd\" },",
        "from = \"a\", to = \"gnd\" },\n  { resistor = \"1 kΩ\", from = \"a\", to = \"b\" },",
    );
    let (message, place) = fault(&dangling);
    assert!(
        message.contains("nothing else is connected to node `b`"),
        "{message}"
    );
    assert_eq!(place, "\"b\"");
}

#[test]
fn property_a_network_without_solution_says_where() {
    // Only a capacitor leads to ground from p and q.
    let floating = RATIO.replace(
        "from = \"a\", to = \"gnd\" },",
        "from = \"a\", to = \"gnd\" },\n  { resistor = \"1 kΩ\", from = \"p\", to = \"q\" },\n  { capacitor = \"1 µF\", from = \"p\", to = \"q\" },",
    );
    let Err(f) = built(&floating, "room") else {
        panic!("a floating network")
    };
    assert!(
        f.message.contains("no direct-current path to ground"),
        "{}",
        f.message
    );
    let span = f.span.expect("a place");
    let place = &floating[span.start as usize..span.end as usize];
    assert!(place.starts_with("{ resistor = \"1 kΩ\""), "{place}");
    // Two voltages stand against each other.
    let clash = RATIO.replace(
        "from = \"a\", to = \"gnd\" },",
        "from = \"a\", to = \"gnd\" },\n  { voltage-source = \"1 V\", name = \"second\", from = \"bias\", to = \"gnd\" },",
    );
    let Err(f) = built(&clash, "room") else {
        panic!("two voltages at one node")
    };
    let span = f.span.expect("a place");
    let place = &clash[span.start as usize..span.end as usize];
    assert!(
        place.contains("second") && f.message.contains("second"),
        "{place}: {}",
        f.message
    );
}

#[test]
fn property_a_sensor_that_stands_nowhere_is_named() {
    let text = RATIO.replace(
        "  { sensor = \"room\", from = \"a\", to = \"gnd\" },",
        "  { resistor = \"100 Ω\", from = \"a\", to = \"gnd\" },",
    ) + "network = \"loop\"\n";
    let Err(f) = built(&text, "room") else {
        panic!("no sensor")
    };
    assert!(
        f.message.contains("stands nowhere in network `loop`"),
        "{}",
        f.message
    );
    // With its nodes it stands there.
    let text = text.replace(
        "part = \"platinum-100-class-b\",",
        "part = \"platinum-100-class-b\", from = \"a\", to = \"gnd\",",
    );
    let m = model(&text, "room");
    let outputs = at(&m, &[("channels.room.quantity", 273.15)]);
    assert!((outputs[CODE] - 32768.0 * 50.0 / 430.0).abs() < 1e-6);
}

#[test]
fn property_an_amplifier_of_elements_is_the_amplifier_of_a_stage() {
    // A non-inverting amplifier of 1 + 30/10 = 4 in elements.
    let text = r#"
[rails.main]
voltage = "5 V"
[converters.adc]
supply = "main"
bits = 16
[networks.gain]
elements = [
  { sensor = "x", from = "in", to = "gnd" },
  { amplifier = "ad8655", plus = "in", minus = "back", out = "out", supply = "main" },
  { resistor = "30 kΩ", from = "out", to = "back" },
  { resistor = "10 kΩ", from = "back", to = "gnd" },
]
[channels.x]
quantity = "voltage"
span = "0.1 V to 1 V"
input = { at = "adc", plus = "out" }
"#;
    let m = model(text, "x");
    let outputs = at(&m, &[("channels.x.quantity", 0.5)]);
    // The typical gain of the amplifier is far above 10^5.
    assert!((outputs[VOLT] - 2.0).abs() < 1e-3, "{}", outputs[VOLT]);
    let check = m.checks.iter().find(|c| c.kind == "output-high").unwrap();
    assert_eq!(check.name, "amplifier 2");
}

#[test]
fn reference_a_divided_reference_is_loaded_by_its_pin() {
    // Half of 5 V from two 10 kΩ, 5 kΩ inside, into 32 kΩ of a reference pin:
    // 2.5 V · 32/37 = 2.162 V, so that 1 V reads as 1 V · 37/32.
    let text = r#"
[rails.main]
voltage = "5 V"
[rails.half]
from = "main"
divider = { top = "10 kΩ", bottom = "10 kΩ" }
[converters.adc]
supply = "main"
bits = 16
[converters.adc.figures]
reference-input-resistance = { min = "20 kΩ", typ = "32 kΩ", max = "50 kΩ" }
[channels.x]
quantity = "voltage"
span = "0 V to 2 V"
input = "adc"
reference = "half"
"#;
    let m = model(text, "x");
    let outputs = at(&m, &[("channels.x.quantity", 1.0)]);
    assert!((outputs[REFERENCE] - 2.5 * 32.0 / 37.0).abs() < 1e-12);
    assert!((outputs[READING] - 37.0 / 32.0).abs() < 1e-4);
    // 12 kΩ less at the pin than the typical 32 kΩ: 2.5 V · 20/25.
    let least = at(
        &m,
        &[
            ("channels.x.quantity", 1.0),
            ("adc.adc.reference-pin", -12e3),
        ],
    );
    assert!(
        (least[REFERENCE] - 2.0).abs() < 1e-12,
        "{}",
        least[REFERENCE]
    );
}

#[test]
fn reference_a_capacitor_of_a_network_leaks_by_its_dielectric() {
    // 1 µF of X7R has 500 s/1 µF = 500 MΩ at least: across 1 MΩ fed by
    // another 1 MΩ it takes 500 kΩ/500.5 MΩ of half the voltage.
    let text = r#"
[rails.main]
voltage = "3 V"
[converters.adc]
supply = "main"
bits = 16
[networks.rc]
elements = [
  { sensor = "x", from = "a", to = "gnd" },
  { resistor = "1 MΩ", from = "main", to = "a" },
  { capacitor = "1 µF X7R", from = "a", to = "gnd" },
]
[channels.x]
quantity = "resistance"
span = "0.5 MΩ to 2 MΩ"
input = "adc"
"#;
    let m = model(text, "x");
    let dry = at(&m, &[("channels.x.quantity", 1e6)]);
    assert!((dry[VOLT] - 1.5).abs() < 1e-12);
    let leaky = at(
        &m,
        &[
            ("channels.x.quantity", 1e6),
            ("networks.rc.elements.2.c.insulation", 1.0),
        ],
    );
    assert!(
        (leaky[VOLT] - 1.5 * 500.0 / 500.5).abs() < 1e-9,
        "{}",
        leaky[VOLT]
    );
}

#[test]
fn property_the_page_on_networks_is_what_the_program_reads() {
    let page = include_str!("../../../docs/networks.md");
    for element in chain::element::ELEMENTS {
        let name = element.schema.name;
        assert!(
            page.contains(&format!("`{name}`")),
            "{name} is not on the page"
        );
        for field in element.schema.fields {
            let own =
                matches!(field.key, "from" | "to") || Some(field.key) == element.schema.primary;
            assert!(
                own || page.contains(&format!("`{}`", field.key)),
                "{name}: {}",
                field.key
            );
        }
    }
    // The first example, with a rail, a converter and the firmware's belief.
    let start = page.find("```toml\n").unwrap() + 8;
    let end = start + page[start..].find("```").unwrap();
    let text = format!(
        "[rails.bias]\nvoltage = \"0.2 V\"\n[converters.front]\nsupply = \"bias\"\nbits = 15\n{}conversion = {{ assume = {{ \"networks.loop.elements.standard\" = \"400 Ω\" }} }}\n",
        &page[start..end]
    );
    let m = model(&text, "room");
    let outputs = at(&m, &[("channels.room.quantity", 302.55)]);
    // As in the reported case above; so little current warms nothing.
    assert!(
        (outputs[READING] - 273.15 - 9.39).abs() < 0.2,
        "{}",
        outputs[READING]
    );
}
