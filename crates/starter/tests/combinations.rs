//! Starter boards for whatever the library holds.
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests")]

use std::collections::BTreeSet;
use std::sync::atomic::{AtomicUsize, Ordering};

use finding::Sources;
use parts::{Library, Part};
use starter::{Effort, Wish, devices, sensors, starter};

/// One part of every kind of sensor: by law and quantity, digital parts each.
fn one_of_each() -> Vec<&'static Part> {
    let mut seen = BTreeSet::new();
    sensors(Library::shipped())
        .filter(|p| {
            let what = match p.kind.as_str() {
                "sensor" => (
                    p.law.clone(),
                    p.quantity.clone(),
                    p.options.get("type").cloned(),
                ),
                _ => (Some(p.id.clone()), None, None),
            };
            seen.insert(what)
        })
        .collect()
}

fn wish(part: &Part) -> Wish {
    Wish {
        name: None,
        part: part.id.clone(),
    }
}

/// Reads the board and looks at every channel of it.
fn checked(text: &str, what: &str) {
    let mut sources = Sources::new();
    let id = sources.add("starter.toml", text);
    let (board, faults) = board::read(id, text, Library::shipped(), &chain::vocabulary());
    let said: Vec<String> = faults
        .iter()
        .map(|f| format!("{} {}", sources.place(f.span), f.message))
        .collect();
    let board = board.unwrap_or_else(|| panic!("{what}: {said:#?}\n{text}"));
    for c in &board.channels {
        if let Err(message) = verdict::estimate(&board, &c.name) {
            panic!("{what}, {}: {message}\n{text}", c.name);
        }
    }
}

/// Makes and judges boards for all pairs, on two threads.
fn all(list: &[(&str, &Part)], effort: Effort, look: &(dyn Fn(&str, &str) + Sync)) {
    let next = AtomicUsize::new(0);
    std::thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| {
                while let Some((device, sensor)) = list.get(next.fetch_add(1, Ordering::Relaxed)) {
                    let what = format!("{device} with {}", sensor.id);
                    let made = starter(
                        Library::shipped(),
                        "trial",
                        device,
                        &[wish(sensor)],
                        effort,
                        &|_| {},
                    )
                    .unwrap_or_else(|f| panic!("{what}: {f:?}"));
                    assert!(!made.channels.is_empty());
                    checked(&made.text, &what);
                    look(&made.text, &what);
                }
            });
        }
    });
}

#[test]
fn every_listed_sensor_has_a_model_on_controllers_and_a_converter() {
    let list: Vec<(&str, &Part)> = ["stm32g474", "rp2040", "ad7799"]
        .into_iter()
        .flat_map(|d| sensors(Library::shipped()).map(move |s| (d, s)))
        .collect();
    assert!(list.len() > 200, "{}", list.len());
    all(&list, Effort { looks: 4 }, &|_, _| {});
}

/// Signals that go below the ground of a single-ended converter: they are
/// lifted until all of the span is on the scale and nothing else is broken.
#[test]
fn sources_of_either_sign_are_lifted_onto_the_scale() {
    const LIST: &[&str] = &[
        "glass-electrode",
        "current-transformer",
        "thermocouple-k-class-1",
        "thermocouple-s",
        "current-shunt-10-milliohm",
        "load-cell",
        "mpxv7002",
        "adxl335",
        "potentiometer",
    ];
    let list: Vec<(&str, &Part)> = ["stm32g474", "rp2040", "esp32"]
        .into_iter()
        .flat_map(|d| {
            LIST.iter()
                .map(move |s| (d, Library::shipped().get(s).unwrap()))
        })
        .collect();
    all(&list, Effort { looks: 150 }, &|text, what| {
        let (board, _) = board::read(
            finding::SourceId(u32::MAX),
            text,
            Library::shipped(),
            &chain::vocabulary(),
        );
        let board = board.unwrap();
        for c in &board.channels {
            let seen = verdict::estimate(&board, &c.name).unwrap();
            assert!(seen.beyond < 1e-6, "{what}, {}: {seen:?}\n{text}", c.name);
            // What a figure alone breaks, such as a load of 100 µA, does not
            // count here.
            let broken: Vec<&str> = verdict::broken(&board, &c.name)
                .unwrap()
                .into_iter()
                .filter(|b| b.starts_with("input-"))
                .collect();
            assert!(broken.is_empty(), "{what}, {}: {broken:?}\n{text}", c.name);
        }
        if what.ends_with("glass-electrode") {
            // Its resistance of 100 MΩ and more bears only picoamperes.
            assert!(text.contains("foot = \"mid\""), "{what}\n{text}");
            assert!(text.contains("ada4530-1"), "{what}\n{text}");
            assert!(text.contains("temperature = \"ph-temperature\""), "{text}");
        }
        if what.ends_with("current-transformer") {
            assert!(text.contains("to = \"mid\""), "{what}\n{text}");
        }
    });
}

#[test]
fn every_device_with_every_kind_of_sensor_makes_a_board_that_can_be_judged() {
    let list: Vec<(&Part, &Part)> = devices(Library::shipped())
        .flat_map(|d| one_of_each().into_iter().map(move |s| (d, s)))
        .collect();
    assert!(list.len() > 300, "{}", list.len());
    let list: Vec<(&str, &Part)> = list.iter().map(|(d, s)| (d.id.as_str(), *s)).collect();
    // What is tested is that it can be read and judged.
    all(&list, Effort { looks: 6 }, &|_, _| {});
}
