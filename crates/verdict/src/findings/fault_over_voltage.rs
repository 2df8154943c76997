//! Clamps hold a voltage from outside.

use chain::channel::fault::State;
use finding::{Finding, Kind, Severity};
use report::number;
use system::faults::{FaultKind, Row, Told};

use super::{Entry, Scene};
use crate::faults;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "fault.over-voltage",
        severity: Severity::Note,
        title: "A clamp holds a voltage from outside",
        explanation: include_str!("pages/fault.over-voltage.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for f in &scene.system.faults.channels {
        let Some(channel) = scene.board.channels.get(f.channel) else {
            continue;
        };
        let rows: Vec<&Row> = f
            .rows
            .iter()
            .filter(|r| {
                r.judged
                    && matches!(r.kind, FaultKind::OverVoltage | FaultKind::ToRail)
                    && r.damage.iter().all(|d| d.mild)
                    && r.state
                        .as_ref()
                        .is_some_and(|s| !faults::into_rails(scene.board, s).is_empty())
            })
            .collect();
        let largest = |r: &&&Row| {
            r.state.as_ref().map_or(0.0, |s| {
                faults::into_rails(scene.board, s)
                    .iter()
                    .map(|x| x.1)
                    .fold(0.0, f64::max)
            })
        };
        let Some(worst) = rows
            .iter()
            .max_by(|a, b| largest(a).total_cmp(&largest(b)))
            .copied()
        else {
            continue;
        };
        let Some(state) = &worst.state else { continue };
        let Some(pin) = state.pins.first() else {
            continue;
        };
        let fed = faults::into_rails(scene.board, state);
        let Some((rail, ampere)) = fed.first() else {
            continue;
        };
        let load = state
            .rails
            .first()
            .and_then(|r| scene.system.faults.drawn_a.get(r.rail).copied().flatten());
        let uses = load.map_or_else(
            || "which must use more itself, or it rises; nothing states its load".to_owned(),
            |a| format!("which uses {} itself at the least", number::about(a, "A")),
        );
        let seen = match worst.told {
            Told::Yes(_) => "the reading shows that it is beyond its range, not how far",
            Told::No { .. } => "the reading passes for a value",
            Told::Harmless | Told::Unknown => "the reading goes on",
        };
        let mut one = Finding::new(
            kind,
            &channel.name,
            format!(
                "{}: {} stands at {}, {} within its limit ({} at the worst corner); {} flow into rail {rail}, {uses}; {seen}",
                worst.what,
                pin.name,
                number::measured(pin.volt.nominal, "V", 3),
                number::measured(-pin.beyond_nominal_v, "V", 2),
                number::measured(-pin.beyond_v, "V", 2),
                usual(state, *ampere),
            ),
        )
        .at(worst.span)
        .figure(
            &format!("limit of {}", pin.name),
            number::measured(pin.limit_high_v, "V", 3),
            pin.source.clone(),
        );
        for row in &rows {
            let Some(s) = &row.state else { continue };
            let (Some(p), fed) = (s.pins.first(), faults::into_rails(scene.board, s)) else {
                continue;
            };
            let list: Vec<String> = fed
                .iter()
                .map(|(rail, a)| format!("{} into rail {rail}", usual(s, *a)))
                .collect();
            one = one.working(format!(
                "{}: {} at {}, {}",
                row.what,
                p.name,
                number::measured(p.volt.nominal, "V", 3),
                list.join(", ")
            ));
        }
        if load.is_none() {
            one = one.remedy(format!(
                "a load on rail {rail} of more than {} at all times (`load` states it), a shunt regulator on it, or a clamp to ground",
                number::measured(*ampere, "A", 3)
            ));
        }
        found.push(one);
    }
}

/// A current into a rail as it usually is, and how far it goes.
fn usual(state: &State, most: f64) -> String {
    let nominal = state
        .rails
        .iter()
        .find(|r| r.ampere.high == most)
        .map_or(most, |r| r.ampere.nominal);
    let text = number::measured(nominal, "A", 3);
    if most > 1.005 * nominal {
        format!("{text} (up to {})", number::measured(most, "A", 3))
    } else {
        text
    }
}
