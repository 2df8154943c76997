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

#[test]
fn every_device_with_every_kind_of_sensor_makes_a_board_that_can_be_judged() {
    let list: Vec<(&Part, &Part)> = devices(Library::shipped())
        .flat_map(|d| one_of_each().into_iter().map(move |s| (d, s)))
        .collect();
    assert!(list.len() > 300, "{}", list.len());
    let next = AtomicUsize::new(0);
    std::thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| {
                while let Some((device, sensor)) = list.get(next.fetch_add(1, Ordering::Relaxed)) {
                    let what = format!("{} with {}", device.id, sensor.id);
                    let made = starter(
                        Library::shipped(),
                        "trial",
                        &device.id,
                        &[wish(sensor)],
                        // What is tested is that it can be read and judged.
                        Effort { looks: 6 },
                        &|_| {},
                    )
                    .unwrap_or_else(|f| panic!("{what}: {f:?}"));
                    assert!(!made.channels.is_empty());
                    checked(&made.text, &what);
                }
            });
        }
    });
}
