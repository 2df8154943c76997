//! What depends on one another does not come to rest.

use finding::{Finding, Kind, Severity};
use report::number;

use super::{Entry, Scene};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "rail.not-settled",
        severity: Severity::Fail,
        title: "Currents, voltages and powers that need each other do not settle",
        explanation: include_str!("pages/rail.not-settled.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    let board = scene.board;
    for ring in &scene.system.rails.power.settled.restless {
        let named = |name: &str| {
            ring.names
                .iter()
                .any(|n| n.ends_with(&format!(" of {name}")))
        };
        let rail = board.rails.iter().find(|r| named(&r.name));
        let heat = board.heats.iter().find(|h| named(&h.name));
        let (subject, span) = match (heat, rail) {
            (Some(h), _) => (h.name.clone(), Some(h.span)),
            (None, Some(r)) => (
                r.name.clone(),
                Some(r.power.load_w.as_ref().map_or(r.span, |l| l.span)),
            ),
            (None, None) => (String::new(), None),
        };
        // The usual and the largest values of one ring are one trouble.
        if found
            .iter()
            .any(|f| f.id == kind.id && f.subject == subject)
        {
            continue;
        }
        let shown = |v: f64| {
            if v.is_finite() {
                number::about(v, ring.unit)
            } else {
                "without bound".to_owned()
            }
        };
        let mut f = Finding::new(
            kind,
            &subject,
            format!(
                "{} do not settle: {} went from {} to {} in round {}",
                ring.names.join(" and "),
                ring.most,
                shown(ring.before),
                shown(ring.after),
                ring.rounds
            ),
        )
        .at(span);
        if let Some(h) = heat {
            let ohm = h.resistance.as_ref().map_or(0.0, |r| r.value.nominal);
            f = f
                .working(format!(
                    "each kelvin raises the power by {}, and each watt the temperature by {}: it runs away where power · {} · {} reaches 1",
                    number::about(h.power_drift_per_k, "1/K"),
                    number::about(ohm, "K/W"),
                    number::about(ohm, "K/W"),
                    number::about(h.power_drift_per_k, "1/K")
                ))
                .remedy("carry the heat away better, or limit the power".to_owned());
        } else if let Some(r) = rail {
            let state = board
                .rails
                .iter()
                .position(|x| x.name == r.name)
                .and_then(|i| scene.system.rails.power.rails.get(i));
            if let Some(s) = state
                && let Some(free) = s.free
                && s.feed.most_ohm > 0.0
            {
                // V²/4R is the most that a source gives, at half its voltage.
                let most = free.low_v * free.low_v / (4.0 * s.feed.most_ohm);
                f = f
                    .working(format!(
                        "{} behind {} gives {}² / (4 · {}) = {} at most, whatever the load",
                        number::about(free.low_v, "V"),
                        number::about(s.feed.most_ohm, "Ω"),
                        number::about(free.low_v, "V"),
                        number::about(s.feed.most_ohm, "Ω"),
                        number::about(most, "W")
                    ))
                    .remedy(
                        "less resistance between source and load, a higher voltage, or a smaller load"
                            .to_owned(),
                    );
            }
        }
        found.push(f);
    }
}
