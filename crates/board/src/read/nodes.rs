//! Nodes of networks: which channels belong to a network, and whether every
//! name of a node is one.

use std::collections::BTreeMap;

use document::Faults;
use finding::{InputFault, Span, nearest_of};

use crate::model::{Against, Channel, FieldValue, NetworkSpec, NodeRef};

/// Puts every channel whose sensor is an element of a network into that
/// network, and checks the names of nodes.
pub(super) fn bind(faults: &Faults, networks: &[NetworkSpec], channels: &mut [Channel]) {
    for (n, network) in networks.iter().enumerate() {
        for element in &network.elements {
            let sensors = element.fields.values().filter_map(|f| match f.value {
                FieldValue::Channel(i) => Some((i, f.span)),
                _ => None,
            });
            for (i, span) in sensors {
                let Some(channel) = channels.get_mut(i) else {
                    continue;
                };
                if channel.sensor.between.is_some() {
                    faults.add(
                        span,
                        format!(
                            "the sensor of `{}` already stands between the nodes named with it",
                            channel.name
                        ),
                        "either `from` and `to` of the sensor, or an element",
                    );
                }
                match channel.network {
                    None => channel.network = Some(n),
                    Some(other) if other != n => faults.add(
                        span,
                        format!(
                            "the sensor of `{}` belongs to network `{}`",
                            channel.name,
                            networks.get(other).map_or("", |o| o.name.as_str())
                        ),
                        "one network for a sensor",
                    ),
                    Some(_) => {}
                }
            }
        }
    }
    let mut used: Vec<BTreeMap<&str, (usize, Span)>> = vec![BTreeMap::new(); networks.len()];
    for (known, network) in used.iter_mut().zip(networks) {
        for field in network.elements.iter().flat_map(|e| e.fields.values()) {
            if let FieldValue::Node(NodeRef::Named(name)) = &field.value {
                known.entry(name).or_insert((0, field.span)).0 += 1;
            }
        }
    }
    // A channel whose input names no node is tapped at its sensor.
    for (known, network) in used.iter_mut().zip(networks) {
        for element in &network.elements {
            let untapped = element.fields.values().any(|f| {
                matches!(f.value, FieldValue::Channel(i) if channels
                    .get(i)
                    .is_some_and(|c| c.input.as_ref().is_none_or(|n| n.plus.is_none())))
            });
            if !untapped {
                continue;
            }
            for field in element.fields.values() {
                if let FieldValue::Node(NodeRef::Named(name)) = &field.value
                    && let Some(found) = known.get_mut(name.as_str())
                {
                    found.0 += 1;
                }
            }
        }
    }
    for channel in channels.iter() {
        let Some(n) = channel.network else { continue };
        let Some(known) = used.get_mut(n) else {
            continue;
        };
        let sensor = channel.sensor.between.iter().flat_map(|(a, b)| [a, b]);
        let sensor: Vec<&NodeRef> = sensor.collect();
        let input = channel.input.as_ref();
        let taps = input.map(|i| [i.plus.as_ref(), i.minus.as_ref()]);
        let taps: Vec<&NodeRef> = taps.into_iter().flatten().flatten().collect();
        let against: Vec<&NodeRef> = match channel.reference.as_ref().map(|r| &r.value) {
            Some(Against::Nodes(plus, minus)) => vec![plus, minus],
            _ => Vec::new(),
        };
        let sensor_place = channel.sensor.span;
        let input_place = input.map_or(channel.place, |i| i.span);
        let against_place = channel.reference.as_ref().map_or(channel.place, |r| r.span);
        for (nodes, place, makes) in [
            (sensor, sensor_place, true),
            (taps, input_place, false),
            (against, against_place, false),
        ] {
            for node in nodes {
                let NodeRef::Named(name) = node else { continue };
                match known.get_mut(name.as_str()) {
                    Some(found) => found.0 += 1,
                    // A sensor's own terminals may be where others are tapped.
                    None if makes => {
                        known.insert(name, (1, place));
                    }
                    None => {
                        let list: Vec<&str> = known.keys().copied().collect();
                        faults.push(
                            InputFault::new(
                                place,
                                format!(
                                    "network `{}` has no node `{name}`",
                                    networks.get(n).map_or("", |o| o.name.as_str())
                                ),
                                format!("one of {}", list.join(", ")),
                            )
                            .suggest(nearest_of(name, list.iter().copied())),
                        );
                    }
                }
            }
        }
    }
    for known in &used {
        for (name, (count, span)) in known {
            if *count > 1 {
                continue;
            }
            let others = known.keys().copied().filter(|k| k != name);
            faults.push(
                InputFault::new(
                    *span,
                    format!("nothing else is connected to node `{name}`"),
                    "a node that a second element or a channel's input names as well",
                )
                .suggest(nearest_of(name, others)),
            );
        }
    }
}
