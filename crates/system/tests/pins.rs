//! Pins: what clashes, what cannot be, and what is proposed.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

use finding::SourceId;
use parts::Library;
use system::pins::{DevicePins, Trouble, analyse};

fn read(text: &str) -> Result<board::Board, Vec<String>> {
    let (board, faults) = board::read(SourceId(0), text, Library::shipped(), &chain::vocabulary());
    board.ok_or_else(|| {
        faults
            .iter()
            .map(|f| format!("{} {:?}", f.message, f.suggestion))
            .collect()
    })
}

const HEAD: &str = r#"
[rails.logic]
voltage = "3.3 V ± 3 %"
[controllers.mcu]
part = "stm32f103"
supply = "logic"
[devices.room]
part = "sht41"
supply = "logic"
[devices.scale]
part = "adxl345"
supply = "logic"
"#;

fn pins(more: &str) -> DevicePins {
    let board = read(&format!("{HEAD}{more}")).unwrap();
    analyse(&board)
        .devices
        .into_iter()
        .find(|d| d.device == 0)
        .unwrap()
}

const ROOM: &str = r#"
[links.room]
kind = "i2c"
controller = "mcu"
devices = ["room"]
"#;

#[test]
fn two_users_of_one_pin_are_told() {
    let d = pins(&format!(
        "{ROOM}pins = {{ clock = \"PB6\", data = \"PB7\" }}\n[links.lamp]\nkind = \"wire\"\ndriver = \"mcu.PB7\"\nreceivers = [\"scale\"]\n"
    ));
    assert_eq!(d.troubles, [Trouble::DoubleUse(1, 2)]);
    assert_eq!(d.uses[2].user, "link lamp");
}

#[test]
fn one_pin_may_drive_two_wires() {
    let d = pins(
        "[links.a]\nkind = \"wire\"\ndriver = \"mcu.PB0\"\nreceivers = [\"scale\"]\n[links.b]\nkind = \"wire\"\ndriver = \"mcu.PB0\"\nreceivers = [\"room\"]\n",
    );
    assert_eq!(d.troubles, []);
}

#[test]
fn a_pin_that_drives_and_listens_is_told_and_so_are_two_drivers() {
    let d = pins(
        "[links.a]\nkind = \"wire\"\ndriver = \"mcu.PB0\"\nreceivers = [\"scale\"]\n[links.b]\nkind = \"wire\"\ndriver = \"room\"\nreceivers = [\"mcu.PB0\"]\n",
    );
    assert_eq!(d.troubles, [Trouble::Directions(0, 1)]);
    let d = pins(
        "[links.a]\nkind = \"wire\"\ndriver = \"scale\"\nreceivers = [\"mcu.PB0\"]\n[links.b]\nkind = \"wire\"\ndriver = \"room\"\nreceivers = [\"mcu.PB0\"]\n",
    );
    assert_eq!(d.troubles, [Trouble::TwoDrivers(0, 1)]);
}

#[test]
fn published_a_clock_must_be_at_a_pin_of_the_unit() {
    // STM32F103 data sheet, table 5: the clock of the first two-wire unit is
    // at PB6, or at PB8 when remapped.
    let d = pins(&format!(
        "{ROOM}pins = {{ clock = \"PB0\", data = \"PB7\" }}\n"
    ));
    let [
        Trouble::NoFunction {
            usage: 0,
            has,
            others,
        },
    ] = d.troubles.as_slice()
    else {
        panic!("{:?}", d.troubles);
    };
    assert_eq!(has, &["adc.8"]);
    assert_eq!(others, &["PB6", "PB8"]);
}

#[test]
fn pins_are_proposed_for_what_is_open() {
    let d = pins(&format!(
        "{ROOM}[links.fast]\nkind = \"spi\"\ncontroller = \"mcu\"\ndevices = [\"scale\"]\n[pins.mcu]\nPB6 = \"lamp\"\nPA5 = \"bell\"\n"
    ));
    assert_eq!(d.proposal.without, [] as [&str; 0]);
    let got: Vec<(&str, &str)> = d
        .proposal
        .assigned
        .iter()
        .map(|a| (a.role.as_str(), a.pin.as_str()))
        .collect();
    // PB6 is taken, so the clock goes to PB8 and the data stays in the unit;
    // the first serial unit has lost its clock at PA5, the second one serves.
    assert_eq!(
        got,
        [
            ("clock", "PB8"),
            ("data", "PB7"),
            ("clock", "PB13"),
            ("out", "PB15"),
            ("in", "PB14")
        ]
    );
}

#[test]
fn property_no_pin_is_proposed_twice_or_where_it_is_used() {
    let mut text = String::new();
    for n in 0..6 {
        text.push_str(&format!(
            "[links.l{n}]\nkind = \"i2c\"\ncontroller = \"mcu\"\ndevices = [\"room\"]\n"
        ));
    }
    let d = pins(&text);
    let mut pins: Vec<&str> = d.proposal.assigned.iter().map(|a| a.pin.as_str()).collect();
    let all = pins.len();
    pins.sort_unstable();
    pins.dedup();
    assert_eq!(pins.len(), all);
    // Three clocks and three data pins exist; six links want twelve.
    assert_eq!(all, 6);
    assert_eq!(d.proposal.without.len(), 6);
}

#[test]
fn a_pin_that_the_part_does_not_list_is_told() {
    let d = pins(&format!(
        "{ROOM}pins = {{ clock = \"PB66\", data = \"PB7\" }}\n"
    ));
    assert_eq!(d.troubles, [Trouble::Unlisted(0)]);
    let faults = read(&format!("{HEAD}[pins.mcv]\nPB6 = \"lamp\"\n")).unwrap_err();
    assert_eq!(faults, ["no device is named `mcv` Some(\"mcu\")"]);
}

#[test]
fn a_carrier_keeps_pins_to_itself() {
    let board = read(&format!(
        "{}{ROOM}pins = {{ clock = \"PB6\", data = \"PC0\" }}\n",
        HEAD.replace("stm32f103", "press-house-f103")
    ))
    .unwrap();
    let d = analyse(&board).devices.remove(0);
    let [Trouble::NotExposed { usage: 1, others }] = d.troubles.as_slice() else {
        panic!("{:?}", d.troubles);
    };
    assert_eq!(others, &["PB7", "PB9"]);
}

#[test]
fn a_wire_from_a_pin_to_itself_is_a_fault() {
    let faults = read(&format!(
        "{HEAD}[links.a]\nkind = \"wire\"\ndriver = \"mcu.PB0\"\nreceivers = [\"mcu.PB0\"]\n"
    ))
    .unwrap_err();
    assert_eq!(faults, ["link a is driven and heard by the same pin None"]);
}

#[test]
fn two_drivers_meet_on_a_pin_of_a_part_that_lists_none() {
    let board = read(&format!(
        "{HEAD}[links.a]\nkind = \"wire\"\ndriver = \"mcu.PB0\"\nreceivers = [\"scale.INT1\"]\n[links.b]\nkind = \"wire\"\ndriver = \"room\"\nreceivers = [\"scale.INT1\"]\n"
    ))
    .unwrap();
    let d = analyse(&board)
        .devices
        .into_iter()
        .find(|d| d.device == 2)
        .unwrap();
    assert_eq!(d.troubles, [Trouble::TwoDrivers(0, 1)]);
}

#[test]
fn published_pins_that_only_listen_or_decide_the_start() {
    // ESP32 data sheet, pin list: GPIO34 to 39 have no output; GPIO0 and
    // others are read at the start and belong to the converter that the radio
    // uses.
    let board = read(
        "[rails.logic]\nvoltage = \"3.3 V\"\n[controllers.mcu]\npart = \"esp32\"\nsupply = \"logic\"\n[devices.room]\npart = \"sht41\"\nsupply = \"logic\"\n[links.a]\nkind = \"wire\"\ndriver = \"mcu.34\"\nreceivers = [\"room\"]\n[links.b]\nkind = \"wire\"\ndriver = \"mcu.0\"\nreceivers = [\"room\"]\n",
    )
    .unwrap();
    let d = analyse(&board).devices.remove(0);
    assert!(
        matches!(
            d.troubles.as_slice(),
            [Trouble::InputOnly { usage: 0, .. }, Trouble::Strapping(1)]
        ),
        "{:?}",
        d.troubles
    );
}
