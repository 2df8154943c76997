//! How fast lines behind a translating transistor rise.

use finding::{Finding, Kind, Severity};
use report::number;
use system::levels::translator::{Rise, TO_HIGH};

use super::{Entry, Scene};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "link.translator-rise",
        severity: Severity::Fail,
        title: "A line behind a translating transistor rises by its pull-up alone",
        explanation: include_str!("pages/link.translator-rise.md"),
    },
    look,
};

/// Capacitance of a short segment with a few parts, F, for the pull-up that it
/// would need (common practice).
const SHORT_F: f64 = 200e-12;

fn farad(f: f64) -> String {
    number::measured(f, "F", 3)
}

fn hertz(hz: f64) -> String {
    number::about(hz, "Hz")
}

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for t in &scene.system.levels.translators.transistors {
        let Some(device) = scene.board.devices.get(t.device) else {
            continue;
        };
        for side in told(&t.sides) {
            let Some(link) = scene.board.links.get(side.link) else {
                continue;
            };
            let Some((severity, headline)) = headline(&link.name, side) else {
                continue;
            };
            let mut f = Finding::new(kind, &link.name, headline)
                .severity(severity)
                .at(link.span)
                .at(device.span)
                .working(format!(
                    "rise to 0.7 of the supply: t = R·C·ln(1/0.3) = {} · R·C with {}",
                    quantity::plain(TO_HIGH, 4),
                    number::measured(side.ohm, "Ω", 3)
                ));
            if let (Some(hz), Some(most)) = (side.clock_hz, side.farad_at_clock) {
                f = f.working(format!(
                    "half a period of {}: {} / ({} · {}) = {}",
                    hertz(hz),
                    number::about(0.5 / hz, "s"),
                    quantity::plain(TO_HIGH, 4),
                    number::measured(side.ohm, "Ω", 3),
                    farad(most)
                ));
            }
            if let Some((rise, most, ohm)) = side.mode {
                f = f.working(format!(
                    "rise time of the bus, {} from 30 % to 70 % (UM10204, table 10): {} at most with these pull-ups",
                    number::about(rise, "s"),
                    farad(most)
                ));
                let (at, ohm) = match (side.farad, ohm) {
                    (Some(f), Some(ohm)) => (f, ohm),
                    _ => (SHORT_F, rise / (0.8473 * SHORT_F)),
                };
                f = f.remedy(format!(
                    "with {} a pull-up of {} at most",
                    farad(at),
                    number::measured(ohm, "Ω", 3)
                ));
            }
            if let Some(share) = t.added_share {
                f = f.working(format!(
                    "its on-resistance of {} adds {} of the supply to a low level: the transistor itself hardly matters",
                    number::about(t.on_ohm, "Ω"),
                    number::relative(share, 2)
                ));
            }
            if let (Some(hz), Some(c)) = (side.clock_hz, side.farad) {
                f = f.remedy(format!(
                    "a pull-up of {} at most on this side for {}",
                    number::measured(0.5 / hz / (TO_HIGH * c), "Ω", 3),
                    hertz(hz)
                ));
            } else {
                f = f.remedy(
                    "say what the line has, traces = \"30 pF\" or a cable with its capacitance, and it is judged"
                        .to_owned(),
                );
            }
            found.push(f);
        }
    }
}

/// Sides that are worth telling: each that is too slow; where none is, that of
/// which least is permitted.
fn told(sides: &[Rise]) -> Vec<&Rise> {
    let slow = |s: &&Rise| matches!((s.highest_clock_hz, s.clock_hz), (Some(m), Some(a)) if m < a);
    let failing: Vec<&Rise> = sides.iter().filter(slow).collect();
    if !failing.is_empty() {
        return failing;
    }
    let permitted = |s: &Rise| {
        s.farad_at_clock
            .or(s.mode.map(|m| m.1))
            .unwrap_or(f64::INFINITY)
    };
    sides
        .iter()
        .filter(|s| s.farad.is_none())
        .min_by(|a, b| permitted(a).total_cmp(&permitted(b)))
        .into_iter()
        .collect()
}

/// What there is to say of a side, if anything.
fn headline(name: &str, side: &Rise) -> Option<(Severity, String)> {
    let ohm = number::measured(side.ohm, "Ω", 3);
    match (side.highest_clock_hz, side.clock_hz, side.farad) {
        (Some(most), Some(asked), Some(f)) if most < asked => Some((
            Severity::Fail,
            format!(
                "{name} rises through {ohm} into {} too slowly: {} at most, {} asked",
                farad(f),
                hertz(most),
                hertz(asked)
            ),
        )),
        (Some(_), ..) => None,
        (None, Some(asked), _) => Some((
            Severity::Note,
            format!(
                "{name} rises through {ohm} alone: at {} a line may have {} at most",
                hertz(asked),
                farad(side.farad_at_clock?)
            ),
        )),
        (None, None, _) => side.mode.map(|(_, most, _)| {
            (
                Severity::Note,
                format!(
                    "{name} rises through {ohm} alone: a line may have {} at most",
                    farad(most)
                ),
            )
        }),
    }
}
