//! Channels of one converter compare against more voltages than it has
//! reference pins.

use board::{Against, Board, Channel, Device, Supply};
use finding::{Finding, Kind, Severity};
use parts::ConverterUnit;

use super::{Entry, Scene};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "reference.pin-shared",
        severity: Severity::Fail,
        title: "One reference pin cannot carry two voltages",
        explanation: include_str!("pages/reference.pin-shared.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for (d, device) in scene.board.devices.iter().enumerate() {
        for (u, unit) in device.part.converters.iter().enumerate() {
            let channels = scene.board.channels.iter().filter(|c| {
                c.input
                    .as_ref()
                    .is_some_and(|i| i.device == d && i.unit == u)
            });
            found.extend(finding(kind, scene.board, device, unit, channels));
        }
    }
}

fn finding<'a>(
    kind: &Kind,
    board: &Board,
    device: &Device,
    unit: &ConverterUnit,
    channels: impl Iterator<Item = &'a Channel>,
) -> Option<Finding> {
    // A converter written in place does not say how many pins it has.
    if unit.references.is_empty() {
        return None;
    }
    let pins = unit
        .references
        .iter()
        .filter(|r| r.name.starts_with("external"))
        .count();
    let mut voltages: Vec<(Supply, Vec<&Channel>)> = Vec::new();
    for channel in channels {
        let Some(Against::Supply(supply)) = channel.reference.as_ref().map(|r| &r.value) else {
            continue;
        };
        if !is_external(device, unit, *supply) {
            continue;
        }
        match voltages.iter_mut().find(|(v, _)| v == supply) {
            Some((_, list)) => list.push(channel),
            None => voltages.push((*supply, vec![channel])),
        }
    }
    if voltages.len() <= pins {
        return None;
    }
    let last = voltages.last()?.1.first()?;
    let names: Vec<String> = voltages.iter().map(|(v, _)| name(board, *v)).collect();
    let wanted = match (pins, names.len()) {
        (0, _) => format!(
            "no reference pin, but {} is asked of it",
            names.join(" and ")
        ),
        (1, n) => format!("one reference pin, but {n} voltages: {}", names.join(", ")),
        (p, n) => format!("{p} reference pins, but {n} voltages: {}", names.join(", ")),
    };
    let mut f = Finding::new(
        kind,
        &last.name,
        format!("{} {} has {wanted}", device.name, unit.name),
    )
    .at(last.reference.as_ref().map(|r| r.span));
    for (supply, list) in &voltages {
        let channels: Vec<&str> = list.iter().map(|c| c.name.as_str()).collect();
        f = f.working(format!("{}: {}", name(board, *supply), channels.join(", ")));
    }
    let choices: Vec<&str> = unit.references.iter().map(|r| r.name.as_str()).collect();
    f = f.figure(
        "references it can choose from",
        choices.join(", "),
        device.part.source.to_string(),
    );
    f = f.remedy(match pins {
        0 => format!("compare against what it has: {}", choices.join(" or ")),
        _ => "compare all of them against one voltage".to_owned(),
    });
    if pins > 0 {
        f = f.remedy(
            "for a sensor that follows another supply: convert that supply too, on a channel of its \
             own, and divide by its reading, or give the sensor a converter of its own"
                .to_owned(),
        );
    }
    Some(f)
}

/// Whether a voltage must come in by a pin.
fn is_external(device: &Device, unit: &ConverterUnit, supply: Supply) -> bool {
    match supply {
        Supply::Internal(..) | Supply::Ground => false,
        Supply::Reference(_) => true,
        Supply::Rail(rail) => {
            let own = device.analog_supply.or(device.supply) == Some(rail);
            !(own && unit.references.iter().any(|r| r.from.is_some()))
        }
    }
}

fn name(board: &Board, supply: Supply) -> String {
    match supply {
        Supply::Rail(i) => board.rails.get(i).map(|r| r.name.clone()),
        Supply::Reference(i) => board.references.get(i).map(|r| r.name.clone()),
        Supply::Ground | Supply::Internal(..) => None,
    }
    .unwrap_or_default()
}
