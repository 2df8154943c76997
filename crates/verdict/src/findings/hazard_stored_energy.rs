//! Energy that stays when the supply is off, and what a short circuit draws.

use finding::{Finding, Kind, Severity};
use quantity::Series;
use report::number;
use system::energy::Store;

use super::{Entry, Scene};
use crate::caution;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "hazard.stored-energy",
        severity: Severity::Hazard,
        title: "Energy is stored on the board",
        explanation: include_str!("pages/hazard.stored-energy.md"),
    },
    look,
};

/// Energy, and power, that burn and melt (IEC 60950-1, 1.2.8.10, hazardous
/// energy level: 20 J or 240 VA at 2 V and more; from memory).
const HAZARDOUS_J: f64 = 20.0;
const HAZARDOUS_VA: f64 = 240.0;
/// A store is to be empty this long after its supply is off, s (usual
/// practice).
const EMPTY_S: f64 = 5.0;

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    let board = scene.board;
    let stores = &scene.system.energy.stores;
    let shorts = &scene.system.energy.shorts;
    let mut places = caution::named(scene, "stored-energy");
    let large = |s: &&Store| s.joule() >= HAZARDOUS_J;
    places.extend(stores.iter().filter(large).map(|s| s.span));
    places.extend(
        shorts
            .iter()
            .filter(|s| s.ampere().is_some_and(|a| a * s.volt >= HAZARDOUS_VA))
            .map(|s| s.span),
    );
    if places.is_empty() {
        return;
    }
    let mut said = Vec::new();
    if !stores.is_empty() {
        let all: f64 = stores.iter().map(Store::joule).sum();
        said.push(format!("capacitors hold {}", number::measured(all, "J", 3)));
    }
    let most = shorts
        .iter()
        .filter_map(|s| Some((s, s.ampere()?)))
        .max_by(|a, b| a.1.total_cmp(&b.1));
    if let Some((_, ampere)) = most {
        said.push(format!(
            "cells give {} into a short circuit",
            number::measured(ampere, "A", 2)
        ));
    }
    let numbers = if said.is_empty() {
        String::new()
    } else {
        format!(" ({})", said.join(", "))
    };
    let mut f = caution::hazard(
        kind,
        format!(
            "capacitors, cells or springs hold energy after the supply is off{numbers}: a short circuit burns and throws metal"
        ),
        &places,
        &[],
    );
    for s in stores {
        f = f.working(format!(
            "rail {}: ½ · {} · ({})² = {}",
            s.rail,
            number::amount(s.farad, "F"),
            number::amount(s.volt, "V"),
            number::measured(s.joule(), "J", 3)
        ));
    }
    for s in shorts {
        let (Some(ohm), Some(ampere)) = (s.ohm, s.ampere()) else {
            continue;
        };
        f = f.working(format!(
            "rail {}: {} / {} = {}, {}",
            s.rail,
            number::amount(s.volt, "V"),
            number::measured(ohm, "Ω", 3),
            number::measured(ampere, "A", 3),
            number::measured(ampere * s.volt, "W", 2),
        ));
    }
    if !stores.is_empty() || !shorts.is_empty() {
        f = f.figure(
            "what burns",
            format!(
                "{}, or {} VA",
                number::amount(HAZARDOUS_J, "J"),
                number::short(HAZARDOUS_VA)
            ),
            "IEC 60950-1, hazardous energy level (from memory)".to_owned(),
        );
    }
    let safe_v = if board.conditions.wet { 35.0 } else { 60.0 };
    let bleeders: Vec<String> = stores
        .iter()
        .filter_map(|s| {
            let ohm = Series::E24.at_most(s.bleeder_ohm(safe_v, EMPTY_S)?)?;
            Some(format!(
                "a bleeder of {} (E24) on rail {} brings it below {} within {}; it takes {} all the time",
                number::amount(ohm, "Ω"),
                s.rail,
                number::amount(safe_v, "V"),
                number::amount(EMPTY_S, "s"),
                number::measured(s.volt * s.volt / ohm, "W", 2)
            ))
        })
        .collect();
    if bleeders.is_empty() {
        f = f.remedy(format!(
            "a bleeder that brings every store below {} within {} (usual practice), and a mark where it is slower",
            number::amount(safe_v, "V"),
            number::amount(EMPTY_S, "s")
        ));
    }
    for line in bleeders {
        f = f.remedy(line);
    }
    f = f.remedy(match most {
        Some((s, ampere)) => format!(
            "a fuse at the cells of rail {} that breaks {} at {}, before the first wire",
            s.rail,
            number::measured(ampere, "A", 2),
            number::amount(s.volt, "V")
        ),
        None => "a fuse at each store rated to break its short-circuit current".to_owned(),
    });
    // The pointer to practice stands last.
    f.remedies.rotate_left(1);
    found.push(f);
}
