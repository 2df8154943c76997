//! Which faults are looked at.

use board::{Board, Stands, Supply, Terminal};
use chain::channel::Unmodelled;
use chain::channel::fault::{Faulty, Harm, Wire};

use super::{FaultKind, Planned};

/// The faults of the wires: cut, on ground and on the sensor's own supply in
/// any case, and what the file says may happen besides.
pub(super) fn wires(
    board: &Board,
    faulty: &Faulty<'_>,
    said: Option<&Terminal>,
) -> Result<Vec<Planned>, Unmodelled> {
    let channel = faulty.channel();
    let wires = match said.and_then(|t| t.node.as_ref()) {
        Some(node) => vec![(
            Wire::Node(node.value.clone()),
            format!("wire {}", node.value),
        )],
        None => faulty.wires()?,
    };
    let mut list = Vec::new();
    let place = said.map_or(channel.sensor.span, |t| t.span);
    let mut add = |kind: FaultKind, name: Option<&str>, what: String, harm: Harm, span| {
        list.push(Planned {
            kind,
            what,
            harms: vec![harm],
            span: Some(span),
            judged: true,
            must_detect: said.is_some_and(|t| {
                t.must_detect.asks(kind.word()) || name.is_some_and(|n| t.must_detect.asks(n))
            }),
        });
    };
    let own_node = said.is_some_and(|t| t.node.is_some());
    for (wire, name) in &wires {
        // A node that is no terminal of the sensor is not cut off from it.
        if !own_node {
            add(
                FaultKind::Open,
                None,
                format!("{name} is cut"),
                Harm::Open(wire.clone()),
                place,
            );
        }
    }
    let signals: Vec<&(Wire, String)> = wires
        .iter()
        .filter(|(w, _)| matches!(w, Wire::Signal | Wire::Minus | Wire::Node(_)))
        .collect();
    for (wire, name) in &signals {
        add(
            FaultKind::ToGround,
            None,
            format!("{name} on ground"),
            Harm::Tied(wire.clone(), Supply::Ground),
            place,
        );
    }
    if let [(a, _), (b, _), ..] = signals.as_slice()
        && !own_node
    {
        add(
            FaultKind::Short,
            None,
            "its wires on each other".to_owned(),
            Harm::Joined(a.clone(), b.clone()),
            place,
        );
    }
    let mut rails: Vec<(Supply, finding::Span)> = channel
        .sensor
        .supply
        .filter(|s| *s != Supply::Ground)
        .map(|s| (s, channel.sensor.span))
        .into_iter()
        .collect();
    for rail in said.into_iter().flat_map(|t| &t.rails_in_cable) {
        if !rails.iter().any(|(s, _)| *s == rail.value) {
            rails.push((rail.value, rail.span));
        }
    }
    for (rail, span) in rails {
        for (wire, name) in &signals {
            add(
                FaultKind::ToRail,
                None,
                format!("{name} on {}", supply_name(board, rail)),
                Harm::Tied(wire.clone(), rail),
                span,
            );
        }
    }
    let Some(said) = said else {
        return Ok(list);
    };
    for over in &said.over_voltages_v {
        for (wire, name) in &signals {
            add(
                FaultKind::OverVoltage,
                None,
                format!("{} on {name}", quantity::engineering(over.value, "V", 3)),
                Harm::Driven {
                    wire: wire.clone(),
                    low_v: over.value,
                    high_v: over.value,
                    ohm: said.over_voltage_ohm,
                },
                over.span,
            );
        }
    }
    if said.reversed {
        add(
            FaultKind::Reversed,
            None,
            "its wires swapped".to_owned(),
            Harm::Reversed,
            said.span,
        );
    }
    for state in &said.states {
        let harm = match state.stands {
            Stands::Open => match wires.first() {
                Some((wire, _)) if !own_node => Harm::Open(wire.clone()),
                _ => Harm::Stands(Stands::Open),
            },
            other => Harm::Stands(other),
        };
        add(
            FaultKind::State,
            Some(&state.name),
            format!("the sensor: {}", state.name),
            harm,
            state.span,
        );
    }
    Ok(list)
}

/// Wires that touch those of other channels: held anywhere where the other's
/// signal may be, through nothing.
pub(super) fn neighbours(
    board: &Board,
    faulty: &Faulty<'_>,
    said: &Terminal,
    heads: &[(usize, f64, f64)],
) -> Result<Vec<Planned>, Unmodelled> {
    let wires = match &said.node {
        Some(node) => vec![(
            Wire::Node(node.value.clone()),
            format!("wire {}", node.value),
        )],
        None => faulty.wires()?,
    };
    let Some((wire, name)) = wires.first() else {
        return Ok(Vec::new());
    };
    Ok(said
        .neighbours
        .iter()
        .filter_map(|n| {
            let &(_, low_v, high_v) = heads.iter().find(|h| h.0 == n.value)?;
            let other = board.channels.get(n.value)?;
            Some(Planned {
                kind: FaultKind::Neighbour,
                what: format!("{name} on that of {}", other.name),
                harms: vec![Harm::Driven {
                    wire: wire.clone(),
                    low_v,
                    high_v,
                    ohm: 0.0,
                }],
                span: Some(n.span),
                judged: true,
                must_detect: said.must_detect.asks(FaultKind::Neighbour.word()),
            })
        })
        .collect())
}

/// Every component open and shorted.
pub(super) fn components(faulty: &Faulty<'_>, said: Option<&Terminal>) -> Vec<Planned> {
    let judged = said.is_some_and(|t| t.components);
    let must_detect = said.is_some_and(|t| {
        t.must_detect.words.iter().any(|w| w == "components") || (t.must_detect.all && t.components)
    });
    let Ok(components) = faulty.components() else {
        return Vec::new();
    };
    let mut list = Vec::new();
    for c in components {
        for open in [true, false] {
            if open && !c.opens {
                continue;
            }
            list.push(Planned {
                kind: if open {
                    FaultKind::ComponentOpen
                } else {
                    FaultKind::ComponentShort
                },
                what: format!("{} {}", c.name, if open { "open" } else { "shorted" }),
                harms: vec![Harm::Component {
                    element: c.element.clone(),
                    open,
                }],
                span: Some(c.span),
                judged,
                must_detect,
            });
        }
    }
    list
}

/// Name of a supply, as written in the file.
pub(super) fn supply_name(board: &Board, supply: Supply) -> String {
    match supply {
        Supply::Ground => "ground".to_owned(),
        Supply::Rail(i) => board
            .rails
            .get(i)
            .map_or_else(String::new, |r| r.name.clone()),
        Supply::Reference(i) => board
            .references
            .get(i)
            .map_or_else(String::new, |r| r.name.clone()),
        Supply::Internal(d, ..) => board
            .devices
            .get(d)
            .map_or_else(String::new, |d| format!("the reference of {}", d.name)),
    }
}
