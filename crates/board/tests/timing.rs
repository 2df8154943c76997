//! Scans, interferers and what channels say of time: read, and what is wrong
//! with a place.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::float_cmp,
    reason = "tests"
)]

use board::{
    Acquisition, Board, Field, FieldKind, InterferesOn, ReferenceFrom, ScanStart, Schema, Supply,
    Vocabulary,
};
use finding::Sources;
use parts::Library;
use quantity::Dimension;

const RESISTOR: &[Field] = &[Field::required(
    "r",
    FieldKind::Valued(Dimension::RESISTANCE),
    "resistance",
)];

fn vocabulary() -> Vocabulary {
    Vocabulary {
        stages: Vec::new(),
        elements: vec![Schema {
            name: "resistor",
            primary: Some("r"),
            fields: RESISTOR,
            meaning: "a resistor",
        }],
        laws: vec!["direct-voltage"],
        law_auxiliaries: |_| &[],
    }
}

/// Three channels on two converters; one in a network with a node `mid`.
const BASE: &str = r#"
[rails.logic]
voltage = "3.3 V"
[converters.mcu]
supply = "logic"
bits = 12
[converters.slow]
supply = "logic"
bits = 16
delta-sigma = true
figures.sample-rate = { min = "10 Hz", max = "100 Hz" }
[networks.n]
elements = [{ resistor = "1 kΩ", from = "top", to = "mid" }, { resistor = "1 kΩ", from = "mid", to = "gnd" }]
[channels.tank-1]
quantity = "voltage"
span = "0 V to 3 V"
input = "mcu"
[channels.feed]
quantity = "voltage"
span = "0 V to 3 V"
sensor = { from = "top", to = "gnd" }
network = "n"
input = { at = "mcu", plus = "mid" }
[channels.must]
quantity = "voltage"
span = "0 V to 1 V"
input = "slow"
"#;

fn read(text: &str) -> (Option<Board>, Vec<(usize, usize, finding::InputFault)>) {
    let mut sources = Sources::new();
    let id = sources.add("b.toml", text);
    let (board, faults) = board::read(id, text, &Library::new(), &vocabulary());
    let placed = faults.into_iter().map(|f| {
        let p = sources.place(f.span);
        (p.line, p.column, f)
    });
    (board, placed.collect())
}

fn good(more: &str) -> Board {
    let (board, faults) = read(&format!("{BASE}{more}"));
    assert!(faults.is_empty(), "{faults:#?}");
    board.unwrap()
}

#[test]
fn every_key_of_a_scan_is_read_and_that_of_the_device_wins() {
    let board = good(
        r#"
[scan]
clock = "12 MHz"
prescaler = 6
acquisition = "55.5 cycles"
every = "10 ms"
start = "1.65 V"
observed = "20 s"
[scan.mcu]
acquisition = "4.6 µs"
order = ["feed", "tank-1"]
start = "discharged"
reference-capacitor = "100 nF 10 %"
reference-from = "logic"
reference-wait = "10 ms"
"#,
    );
    assert_eq!(board.scans.len(), 2);
    let mcu = board.scan_of(0);
    assert_eq!(mcu.device, Some(0));
    assert_eq!(mcu.clock_hz.unwrap().value, 12e6);
    assert_eq!(mcu.prescaler.unwrap().value, 6);
    assert_eq!(mcu.acquisition.unwrap().value, Acquisition::Seconds(4.6e-6));
    assert_eq!(mcu.every_s.unwrap().value, 0.01);
    assert_eq!(mcu.start.unwrap().value, ScanStart::Discharged);
    assert_eq!(mcu.observed_s.unwrap().value, 20.0);
    let order: Vec<usize> = mcu.order.iter().map(|c| c.value).collect();
    assert_eq!(order, [1, 0]);
    assert_eq!(mcu.reference_capacitor.unwrap().value.nominal, 1e-7);
    assert_eq!(
        mcu.reference_from.unwrap().value,
        ReferenceFrom::Supply(Supply::Rail(0))
    );
    assert_eq!(mcu.reference_wait_s.unwrap().value, 0.01);
    let slow = board.scan_of(1);
    assert_eq!(slow.acquisition.unwrap().value, Acquisition::Cycles(55.5));
    assert_eq!(slow.start.unwrap().value, ScanStart::Volt(1.65));
    assert!(slow.order.is_empty() && slow.reference_wait_s.is_none());
}

#[test]
fn an_order_for_all_devices_is_split_among_them() {
    let board = good("[scan]\norder = [\"must\", \"feed\", \"tank-1\"]\n");
    let of = |d: usize| -> Vec<usize> { board.scan_of(d).order.iter().map(|c| c.value).collect() };
    assert_eq!(of(0), [1, 0]);
    assert_eq!(of(1), [2]);
    // One device named in full does not oblige to name the other.
    let board = good("[scan]\norder = [\"feed\", \"tank-1\"]\n");
    assert!(board.scan_of(1).order.is_empty());
}

#[test]
fn without_a_scan_nothing_is_said() {
    let board = good("");
    let scan = board.scan_of(0);
    assert!(scan.clock_hz.is_none() && scan.order.is_empty() && scan.start.is_none());
    assert_eq!(scan.span, board.devices[0].span);
    assert!(board.scan_of(9).clock_hz.is_none());
    assert!(board.interferers.is_empty());
}

#[test]
fn channels_say_their_acquisition_data_rate_and_time_awake() {
    let text = BASE
        .replace(
            "input = \"mcu\"",
            "input = \"mcu\"\nacquisition = \"239.5 cycles\"\nawake = \"50 ms\"",
        )
        .replace(
            "input = \"slow\"",
            "input = \"slow\"\ndata-rate = \"25 /s\"",
        );
    let (board, faults) = read(&text);
    assert!(faults.is_empty(), "{faults:#?}");
    let board = board.unwrap();
    assert_eq!(
        board.channels[0].acquisition.unwrap().value,
        Acquisition::Cycles(239.5)
    );
    assert_eq!(board.channels[0].awake_s.unwrap().value, 0.05);
    assert_eq!(board.channels[2].data_rate_hz.unwrap().value, 25.0);
}

#[test]
fn mains_have_a_range_and_are_an_interferer() {
    let board = good("[conditions]\nmains = \"50 Hz\"\n");
    assert_eq!(board.conditions.mains_range_hz, Some((49.5, 50.5)));
    assert_eq!(board.interferers.len(), 1);
    let mains = &board.interferers[0];
    assert_eq!((mains.name.as_str(), mains.harmonics), ("mains", 5));
    assert_eq!(mains.frequency_hz.value, (49.5, 50.0, 50.5));
    assert!(mains.amplitude_v.is_empty() && mains.channels.is_empty());

    let board = good(
        "[conditions]\nmains = \"60 Hz ± 1 %\"\n[interferers.mains]\namplitude = \"30 mV\"\non = \"input\"\n",
    );
    assert_eq!(board.conditions.mains_hz, Some(60.0));
    assert_eq!(board.interferers.len(), 1);
    let mains = &board.interferers[0];
    let (low, _, high) = mains.frequency_hz.value;
    assert!((low - 59.4).abs() < 1e-9 && (high - 60.6).abs() < 1e-9);
    // The n-th harmonic has the n-th part.
    for (n, a) in mains.amplitude_v.iter().enumerate() {
        assert!((a - 0.03 / f64::from(u32::try_from(n).unwrap() + 1)).abs() < 1e-15);
    }
    assert_eq!(mains.amplitude_v.len(), 5);
    assert_eq!(mains.on, InterferesOn::Input);
    // Mains of their own where no condition names any.
    let board = good("[interferers.mains]\nfrequency = \"16.7 Hz\"\n");
    let (low, _, high) = board.interferers[0].frequency_hz.value;
    assert!((low - 16.2).abs() < 1e-9 && (high - 17.2).abs() < 1e-9);
}

#[test]
fn interferers_reach_sensors_inputs_rails_and_nodes() {
    let board = good(
        r#"
[interferers.buck]
frequency = "300 kHz ± 10 %"
harmonics = 3
amplitude = ["20 mV", "5 mV"]
on = "logic"
[interferers.pump]
frequency = "1 kHz"
on = "mid"
coupling = "2 pF 20 %"
channels = ["feed"]
"#,
    );
    let [buck, pump] = &board.interferers[..] else {
        panic!("{:#?}", board.interferers);
    };
    assert_eq!(buck.amplitude_v, [0.02, 0.005, 0.0]);
    assert_eq!(buck.on, InterferesOn::Rail(0));
    assert_eq!(pump.on, InterferesOn::Node("mid".to_owned()));
    assert_eq!(pump.channels, [1]);
    assert_eq!(pump.frequency_hz.value, (1e3, 1e3, 1e3));
    assert_eq!(pump.coupling_farad.as_ref().unwrap().value.nominal, 2e-12);
    assert_eq!((buck.harmonics, pump.harmonics), (3, 1));
}

/// What is written behind [`BASE`], and of its one fault: line and column
/// counted from there, message, what was expected, the nearest name.
const WRONG: &[(&str, usize, usize, &str, &str, Option<&str>)] = &[
    (
        "[scan]\nclok = \"1 MHz\"\n",
        2,
        1,
        "unknown key `clok` in [scan]",
        "acquisition, clock, every",
        Some("clock"),
    ),
    (
        "[scan]\nclock = \"0 Hz\"\n",
        2,
        9,
        "`clock` must be above zero",
        "\"12 MHz\"",
        None,
    ),
    (
        "[scan]\nclock = \"-3 MHz\"\n",
        2,
        9,
        "`clock` must be above zero",
        "\"12 MHz\"",
        None,
    ),
    ("[scan]\nclock = \"3 ms\"\n", 2, 10, "", "", None),
    (
        "[scan]\nprescaler = 0\n",
        2,
        13,
        "`prescaler` is 0",
        "from 1 to 65536",
        None,
    ),
    (
        "[scan]\nevery = \"0 s\"\n",
        2,
        9,
        "`every` must be above zero",
        "\"10 ms\"",
        None,
    ),
    (
        "[scan]\nevery = 0\n",
        2,
        9,
        "`every` is a whole number",
        "a quantity in quotes, for example \"10 ms\"",
        None,
    ),
    (
        "[scan]\nobserved = \"-1 s\"\n",
        2,
        12,
        "`observed` must be above zero",
        "\"10 s\"",
        None,
    ),
    (
        "[scan]\nacquisition = \"-3 cycles\"\n",
        2,
        15,
        "longer than nothing",
        "55.5 cycles",
        None,
    ),
    (
        "[scan]\nacquisition = \"many cycles\"\n",
        2,
        15,
        "no number of cycles",
        "55.5 cycles",
        None,
    ),
    (
        "[scan]\nstart = \"previus\"\n",
        2,
        9,
        "\"previus\" is not one of the words",
        "\"discharged\"",
        Some("previous"),
    ),
    (
        "[scan]\nreference-from = \"logik\"\n",
        2,
        18,
        "no rail or reference is named `logik`",
        "logic",
        Some("logic"),
    ),
    (
        "[scan]\nreference-wait = \"-1 ms\"\n",
        2,
        18,
        "`reference-wait` is negative",
        "\"10 ms\"",
        None,
    ),
    (
        "[scan]\nreference-capacitor = \"0 F\"\n",
        2,
        23,
        "`reference-capacitor` must be above zero",
        "\"100 nF 10 %\"",
        None,
    ),
    (
        "[scan.mcuu]\nclock = \"1 MHz\"\n",
        1,
        7,
        "no controller or converter is named `mcuu`",
        "one of mcu, slow",
        Some("mcu"),
    ),
    (
        "[scan]\norder = [\"tank-1\", \"fed\"]\n",
        2,
        20,
        "no channel is named `fed`",
        "tank-1, feed, must",
        Some("feed"),
    ),
    (
        "[scan]\norder = [\"tank-1\", \"feed\", \"tank-1\"]\n",
        2,
        28,
        "`tank-1` is named twice",
        "every channel once",
        None,
    ),
    (
        "[scan]\norder = [\"tank-1\"]\n",
        2,
        9,
        "the order leaves out feed, converted by mcu as well",
        "every channel of a converter",
        None,
    ),
    (
        "[scan.slow]\norder = [\"must\", \"feed\"]\n",
        2,
        18,
        "`feed` is converted by mcu",
        "channels that enter slow",
        None,
    ),
    (
        "[interferers.buck]\namplitude = \"1 mV\"\n",
        1,
        1,
        "interferer buck has no `frequency`",
        "300 kHz",
        None,
    ),
    (
        "[interferers.buck]\nfrequency = \"0 Hz\"\n",
        2,
        13,
        "`frequency` must be above zero",
        "50 Hz",
        None,
    ),
    (
        "[interferers.buck]\nfrequency = \"1 kHz ± 100 %\"\n",
        2,
        13,
        "`frequency` reaches down to zero",
        "50 Hz",
        None,
    ),
    (
        "[interferers.buck]\nfrequency = \"1 kHz hum\"\n",
        2,
        13,
        "`hum` says nothing about `frequency`",
        "50 Hz",
        None,
    ),
    (
        "[interferers.buck]\nfrequency = \"1 kHz\"\nharmonics = 1\namplitude = [\"1 mV\", \"1 mV\"]\n",
        4,
        13,
        "2 amplitudes for 1 harmonics",
        "one for each harmonic",
        None,
    ),
    (
        "[interferers.buck]\nfrequency = \"1 kHz\"\namplitude = \"-1 mV\"\n",
        3,
        13,
        "an amplitude is negative",
        "20 mV",
        None,
    ),
    (
        "[interferers.buck]\nfrequency = \"1 kHz\"\namplitude = []\n",
        3,
        13,
        "the list of amplitudes is empty",
        "20 mV",
        None,
    ),
    (
        "[interferers.buck]\nfrequency = \"1 kHz\"\non = \"lgic\"\n",
        3,
        6,
        "nothing an interferer could be on is named `lgic`",
        "sensor, input, logic, mid, top",
        Some("logic"),
    ),
    (
        "[interferers.buck]\nfrequency = \"1 kHz\"\non = \"mid\"\n",
        3,
        6,
        "through which capacitor it reaches node `mid`",
        "coupling = \"2 pF\"",
        None,
    ),
    (
        "[interferers.buck]\nfrequency = \"1 kHz\"\non = \"logic\"\ncoupling = \"2 pF\"\n",
        4,
        12,
        "ripple of a rail comes through no capacitor",
        "no `coupling`",
        None,
    ),
    (
        "[interferers.buck]\nfrequency = \"1 kHz\"\nchannels = [\"mast\"]\n",
        3,
        13,
        "no channel is named `mast`",
        "must",
        Some("must"),
    ),
    (
        "[conditions]\nmains = \"0 Hz\"\n",
        2,
        9,
        "`mains` must be above zero",
        "50 Hz",
        None,
    ),
    (
        "[channels.more]\nquantity = \"voltage\"\nspan = \"0 V to 1 V\"\nacquisition = \"1 cycle\"\n",
        4,
        15,
        "channel more has `acquisition` but enters no converter",
        "input =",
        None,
    ),
    (
        "[channels.more]\nquantity = \"voltage\"\nspan = \"0 V to 1 V\"\ninput = \"slow\"\ndata-rate = \"200 /s\"\n",
        5,
        13,
        "`slow` gives no outputs at that rate",
        "from 10.0 Hz to 100 Hz",
        None,
    ),
    (
        "[channels.more]\nquantity = \"voltage\"\nspan = \"0 V to 1 V\"\ninput = \"mcu\"\ndata-rate = \"20 /s\"\n",
        5,
        13,
        "converter `adc` of mcu samples an instant and has no data rate",
        "no `data-rate`",
        None,
    ),
    (
        "[channels.more]\nquantity = \"voltage\"\nspan = \"0 V to 1 V\"\nawake = \"0 s\"\n",
        4,
        9,
        "`awake` must be above zero",
        "\"50 ms\"",
        None,
    ),
];

#[test]
fn each_fault_is_told_at_its_place_with_what_was_expected_and_the_nearest_name() {
    let before = BASE.matches('\n').count();
    for &(more, line, column, message, expected, near) in WRONG {
        let (board, faults) = read(&format!("{BASE}{more}"));
        assert!(board.is_none(), "{more}");
        let [(l, c, fault)] = &faults[..] else {
            panic!("{more}: {faults:#?}");
        };
        assert_eq!((*l - before, *c), (line, column), "{more}: {fault:?}");
        assert!(fault.message.contains(message), "{more}: {fault:?}");
        assert!(fault.expected.contains(expected), "{more}: {fault:?}");
        assert_eq!(fault.suggestion.as_deref(), near, "{more}: {fault:?}");
    }
}

#[test]
fn a_device_named_like_a_key_of_the_scan_is_a_fault() {
    let text = BASE
        .replace("[converters.slow]", "[converters.clock]")
        .replace("\"slow\"", "\"clock\"");
    let (board, faults) = read(&text);
    assert!(
        board.is_some() && faults.is_empty(),
        "without [scan] the name is free: {faults:#?}"
    );
    let (_, faults) = read(&format!("{text}[scan]\nprescaler = 2\n"));
    let [(line, column, fault)] = &faults[..] else {
        panic!("{faults:#?}");
    };
    assert_eq!((*line, *column), (7, 1));
    assert!(
        fault.message.contains("`clock` is a key of [scan]"),
        "{fault:?}"
    );
}

#[test]
fn all_faults_of_a_scan_come_at_once() {
    let (_, faults) = read(&format!(
        "{BASE}[scan]\nclock = \"0 Hz\"\nevery = \"0 s\"\nx = 1\n[scan.mcu]\ny = 1\n[interferers.a]\nz = 1\n"
    ));
    assert_eq!(faults.len(), 6, "{faults:#?}");
}

/// Texts and values that nobody writes on purpose, under every key: each is a
/// fault or is read as a finite number, and none ends the program.
#[test]
fn property_hostile_values_are_faults_or_finite() {
    let values = [
        "\"\"",
        "\" \"",
        "\"1e999 Hz\"",
        "\"1e999 s\"",
        "\"1e999 V\"",
        "\"-1e999 V\"",
        "\"1e-320 s\"",
        "\"1e-320 Hz\"",
        "\"NaN Hz\"",
        "\"inf cycles\"",
        "\"1e999 cycles\"",
        "\"cycles\"",
        "\"cycle\"",
        "\"1 cycles cycles\"",
        "\"µ cycles\"",
        "\"50 Hz ± 1e999 Hz\"",
        "\"50 Hz ± 200 %\"",
        "\"50 Hz ± NaN %\"",
        "\"1 F ± 100 %\"",
        "\"gnd\"",
        "\"mcu\"",
        "\"mcu.\"",
        "\".\"",
        "\"\\u0000\"",
        "1e308",
        "-9223372036854775808",
        "9223372036854775807",
        "true",
        "[]",
        "[[]]",
        "{}",
        "{ clock = \"1 Hz\" }",
        "1979-05-27",
    ];
    let finite = |b: &Board| {
        let scan = b.scan_of(0);
        let numbers = [
            scan.clock_hz.map(|x| x.value),
            scan.every_s.map(|x| x.value),
            scan.observed_s.map(|x| x.value),
            scan.reference_wait_s.map(|x| x.value),
            scan.acquisition.map(|a| match a.value {
                Acquisition::Cycles(x) | Acquisition::Seconds(x) => x,
            }),
            scan.reference_capacitor.map(|c| c.value.nominal),
            b.conditions.mains_range_hz.map(|m| m.0 + m.1),
        ];
        let tones = b.interferers.iter().flat_map(|i| {
            let (low, nominal, high) = i.frequency_hz.value;
            i.amplitude_v
                .iter()
                .copied()
                .chain([low, nominal, high])
                .collect::<Vec<f64>>()
        });
        numbers
            .into_iter()
            .flatten()
            .chain(tones)
            .all(f64::is_finite)
    };
    let keys = [
        ("scan", "clock"),
        ("scan", "prescaler"),
        ("scan", "acquisition"),
        ("scan", "order"),
        ("scan", "every"),
        ("scan", "start"),
        ("scan", "observed"),
        ("scan", "reference-capacitor"),
        ("scan", "reference-from"),
        ("scan", "reference-wait"),
        ("scan", "mcu"),
        ("scan.mcu", "slow"),
        ("conditions", "mains"),
        ("interferers", "a"),
        ("interferers.mains", "frequency"),
        ("interferers.mains", "harmonics"),
        ("interferers.mains", "amplitude"),
        ("interferers.mains", "on"),
        ("interferers.mains", "coupling"),
        ("interferers.mains", "channels"),
    ];
    for (table, key) in keys {
        for value in values {
            let (board, faults) = read(&format!("{BASE}[{table}]\n{key} = {value}\n"));
            assert_eq!(board.is_none(), !faults.is_empty(), "{table} {key} {value}");
            if let Some(board) = board {
                assert!(finite(&board), "{table} {key} {value}");
            }
        }
    }
}
