//! The gate of a translating transistor has too little voltage.

use finding::{Finding, Kind, Severity};
use report::number;

use super::{Entry, Scene};
use crate::link::volt;

/// Gate voltage above the threshold below which a transistor only begins to
/// conduct, V (common practice: its on-resistance is rated volts above it).
const AMPLE_V: f64 = 0.5;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "link.translator-gate",
        severity: Severity::Fail,
        title: "The transistor between two segments does not surely conduct",
        explanation: include_str!("pages/link.translator-gate.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for t in &scene.system.levels.translators.transistors {
        if t.overdrive_v >= AMPLE_V {
            continue;
        }
        let (Some(link), Some(device)) = (
            scene.board.links.get(t.link),
            scene.board.devices.get(t.device),
        ) else {
            continue;
        };
        let fails = t.overdrive_v <= 0.0;
        let headline = format!(
            "the gate of {} is at {}, {} at least, and its threshold may be {}: {} {}",
            device.name,
            t.gate,
            volt(t.gate_v.low),
            volt(t.threshold_v),
            volt(t.overdrive_v.abs()),
            if fails {
                "too little to conduct"
            } else {
                "left to conduct with"
            }
        );
        found.push(
            Finding::new(kind, &link.name, headline)
                .severity(if fails {
                    Severity::Fail
                } else {
                    Severity::Thin
                })
                .at(link.span)
                .at(device.span)
                .working(format!(
                    "{} − {} = {}, at {}",
                    volt(t.gate_v.low),
                    volt(t.threshold_v),
                    volt(t.overdrive_v),
                    number::measured(t.at_k - 273.15, "°C", 3)
                ))
                .remedy(format!(
                    "a transistor whose threshold stays below {}, or a translator part made for {}",
                    volt((t.gate_v.low - AMPLE_V).max(0.0)),
                    volt(t.gate_v.nominal)
                )),
        );
    }
}
