//! Words against data sheets, standards and the catalogue of checks.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

use board::{Board, Form, Vocabulary, Word};
use finding::SourceId;
use parts::Library;
use system::words::{self, bits_of, crc, decode, limits, number};

fn vocabulary() -> Vocabulary {
    Vocabulary {
        stages: Vec::new(),
        elements: Vec::new(),
        laws: vec!["digital", "direct-voltage"],
        law_auxiliaries: |_| &[],
    }
}

fn read(text: &str) -> Board {
    let library = Library::shipped();
    let (board, faults) = board::read(SourceId(0), text, library, &vocabulary());
    assert!(faults.is_empty(), "{faults:#?}");
    board.unwrap()
}

fn faults(text: &str) -> Vec<String> {
    let library = Library::shipped();
    board::read(SourceId(0), text, library, &vocabulary())
        .1
        .into_iter()
        .map(|f| f.message)
        .collect()
}

/// A board with one word and a channel that stands by.
fn word(keys: &str) -> Word {
    let text =
        format!("[channels.x]\nquantity = \"voltage\"\nspan = \"0 V to 1 V\"\n[words.w]\n{keys}\n");
    read(&text).words.remove(0)
}

/// The checks of the nine digits "123456789" by the catalogue of
/// parametrised checks (from memory; each is widely restated): SMBus packet
/// error code, Maxim's one-wire check, CCITT false, XModem, Modbus, ARC, USB.
#[test]
fn published_checks_of_nine_digits() {
    let digits = b"123456789";
    for (width, polynomial, initial, reflect, last, expected) in [
        (8, 0x07, 0x00, false, 0x00, 0xF4),
        (8, 0x31, 0x00, true, 0x00, 0xA1),
        (8, 0x31, 0xFF, false, 0x00, 0xF7),
        (16, 0x1021, 0xFFFF, false, 0x0000, 0x29B1),
        (16, 0x1021, 0x0000, false, 0x0000, 0x31C3),
        (16, 0x8005, 0xFFFF, true, 0x0000, 0x4B37),
        (16, 0x8005, 0x0000, true, 0x0000, 0xBB3D),
        (16, 0x8005, 0xFFFF, true, 0xFFFF, 0xB4C8),
    ] {
        assert_eq!(
            crc(width, polynomial, initial, reflect, last, digits),
            expected,
            "{polynomial:#x} {initial:#x} {reflect}"
        );
    }
}

/// SHT4x data sheet, section on the check sum: 0xBEEF gives 0x92 (from
/// memory; the same example stands in the maker's other data sheets).
#[test]
fn published_check_of_beef() {
    assert_eq!(crc(8, 0x31, 0xFF, false, 0, &[0xBE, 0xEF]), 0x92);
}

/// ADT7420 data sheet Rev. 0, tables of 13-bit and 16-bit temperature data
/// (from memory): -40 °C is 1 1101 1000 0000 in 13 bits, -0.0625 °C
/// 1 1111 1111 1111, +50 °C 0 0011 0010 0000, +150 °C 0 1001 0110 0000; in 16
/// bits -40 °C is 0xEC00, +150 °C 0x4B00.
#[test]
fn published_temperature_register() {
    let w = word(
        "quantity = \"temperature\"\nbits = 13\nbytes = 2\nalign = \"left\"\nform = \"twos-complement\"\nstep = \"0.0625 °C\"",
    );
    for (celsius, raw) in [
        (-40.0, 0x1D80),
        (-0.0625, 0x1FFF),
        (0.0, 0),
        (50.0, 0x320),
        (150.0, 0x960),
    ] {
        let code = words::nearest(&w, celsius + 273.15);
        assert_eq!(bits_of(w.form, w.bits, code), Some(raw), "{celsius}");
        let seen = words::bytes(&w, raw);
        let back = decode(&w, &seen).unwrap();
        assert!((back.value - 273.15 - celsius).abs() < 1e-9, "{celsius}");
    }
    assert_eq!(words::bytes(&w, 0x1D80), [0xEC, 0x00]);
}

/// Arithmetic of the forms on four bits (common practice, as in any text on
/// computer arithmetic): the code 1001.
#[test]
fn published_forms_of_four_bits() {
    for (form, value, low, high) in [
        (Form::Unsigned, 9, 0, 15),
        (Form::TwosComplement, -7, -8, 7),
        (Form::OnesComplement, -6, -7, 7),
        (Form::SignMagnitude, -1, -7, 7),
        (Form::OffsetBinary, 1, -8, 7),
    ] {
        assert_eq!(number(form, 4, 0b1001), value, "{form:?}");
        assert_eq!(limits(form, 4), (low, high), "{form:?}");
    }
}

/// Every number that a form holds comes back from its bits.
#[test]
fn property_bits_and_back() {
    for (_, form) in Form::ALL {
        for bits in [1_u8, 2, 8, 13] {
            let (low, high) = limits(form, bits);
            for n in low..=high {
                let raw = bits_of(form, bits, n).unwrap();
                assert_eq!(number(form, bits, raw), n, "{form:?} {bits}");
            }
            assert_eq!(bits_of(form, bits, high + 1), None);
            assert_eq!(bits_of(form, bits, low - 1), None);
        }
    }
}

/// A check that follows the bytes makes a word sound, and any single bit
/// turned makes it unsound: what every one of the rules promises.
#[test]
fn property_a_turned_bit_is_seen() {
    for check in [
        "{ kind = \"crc\", polynomial = \"0x31\", initial = \"0xFF\" }",
        "{ kind = \"crc\", width = 16, polynomial = \"0x1021\", initial = \"0xFFFF\", order = \"low-first\" }",
        "{ kind = \"sum\", before = \"0xB4 0x07\" }",
        "{ kind = \"sum-to-zero\" }",
        "{ kind = \"xor\" }",
        "{ kind = \"odd-parity\", bit = 15 }",
    ] {
        let w = word(&format!(
            "quantity = \"humidity\"\nbits = 14\nbytes = 2\nstep = \"0.01 %RH\"\ncheck = {check}"
        ));
        let rule = w.check.clone().unwrap();
        let mut seen = words::bytes(&w, 0x1234);
        let after = words::guard(&rule, &seen);
        seen.extend(after);
        assert!(decode(&w, &seen).unwrap().is_sound.unwrap().0, "{check}");
        for bit in 0..8 * seen.len() {
            let mut turned = seen.clone();
            turned[bit / 8] ^= 1 << (bit % 8);
            assert!(
                !decode(&w, &turned).unwrap().is_sound.unwrap().0,
                "{check}: bit {bit}"
            );
        }
    }
}

/// The word of a thermocouple interface with 14 bits above two others: what is
/// taken for an unsigned number reads a slight frost as a great heat.
#[test]
fn published_negative_number_taken_as_unsigned() {
    let w = word(
        "quantity = \"temperature\"\nrange = \"-20 °C to 400 °C\"\nbits = 14\nbelow = 2\nform = \"twos-complement\"\nstep = \"0.25 °C\"\nflags = [{ bit = 0, name = \"open\", bad = 1 }]",
    );
    // -1 °C is -4 codes: 16384 - 4 = 16380, shifted by two 0xFFF0.
    let seen = decode(&w, &[0xFF, 0xF0]).unwrap();
    assert!((seen.value - 272.15).abs() < 1e-9);
    let unsigned = seen.misread.iter().find(|m| m.how == "unsigned").unwrap();
    // 16380 codes of 0.25 °C.
    assert!((unsigned.value - 273.15 - 4095.0).abs() < 1e-9);
    assert!(!unsigned.is_plausible);
    assert_eq!(
        decode(&w, &[0, 1]).unwrap().flags,
        [("open".to_owned(), true, true)]
    );
    assert_eq!(decode(&w, &[0]), Err((2, 2)));
}

/// What a part's file says of its number need not be written again.
#[test]
fn the_part_says_what_a_code_means() {
    let w = word("part = \"sht41\"\nmeasure = \"humidity\"");
    assert_eq!(w.bits, 16);
    // -6 + 125 · code / 65535, SHT4x data sheet.
    assert!((words::meaning(&w, 65_535) - 119.0).abs() < 1e-4);
    assert_eq!(
        w.source,
        "step: part sht41, from memory; zero: part sht41, from memory"
    );
}

#[test]
fn faults_of_words_are_named() {
    let with = |keys: &str| {
        faults(&format!(
            "[channels.x]\nquantity = \"voltage\"\nspan = \"0 V to 1 V\"\n[words.w]\n{keys}\n"
        ))
    };
    for (keys, said) in [
        ("bits = 8", "says not what its number means"),
        (
            "quantity = \"temperature\"\nstep = \"1 °C\"",
            "says not how many bits",
        ),
        (
            "quantity = \"temperature\"\nbits = 8",
            "says not what one code means",
        ),
        ("quantity = \"temprature\"\nbits = 8", "unknown quantity"),
        (
            "quantity = \"temperature\"\nbits = 12\nbytes = 1\nstep = \"1 °C\"",
            "do not fit",
        ),
        (
            "quantity = \"temperature\"\nbits = 8\nstep = \"0 °C\"",
            "means nothing",
        ),
        (
            "quantity = \"temperature\"\nbits = 8\nstep = \"1 °C\"\nform = \"two-complement\"",
            "not one of the words",
        ),
        (
            "quantity = \"temperature\"\nbits = 8\nstep = \"1 °C\"\nflags = [{ bit = 3, name = \"x\" }]",
            "not beside the number",
        ),
        (
            "quantity = \"temperature\"\nbits = 8\nstep = \"1 °C\"\ncheck = { kind = \"crc\", polynomial = \"0x131\" }",
            "no number of 8 bits",
        ),
        (
            "quantity = \"temperature\"\nbits = 8\nstep = \"1 °C\"\ncheck = { kind = \"crc\" }",
            "has no `polynomial`",
        ),
        (
            "device = \"nobody\"\nquantity = \"temperature\"\nbits = 8\nstep = \"1 °C\"",
            "no device is named",
        ),
        (
            "part = \"sht41\"\nmeasure = \"temprature\"",
            "nothing here measures",
        ),
        (
            "quantity = \"temperature\"\nbits = 8\nstep = \"1 °C\"\nfrom = 3",
            "unknown key",
        ),
    ] {
        let list = with(keys);
        assert!(list.iter().any(|m| m.contains(said)), "{keys}: {list:?}");
    }
}
