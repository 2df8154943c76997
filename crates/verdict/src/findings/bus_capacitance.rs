//! The lines of a bus hold more charge than its mode allows.

use finding::{Finding, Kind, Severity};

use super::{Entry, Scene};
use crate::bus::{farad, segments};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "bus.capacitance",
        severity: Severity::Fail,
        title: "A bus has too much capacitance",
        explanation: include_str!("pages/bus.capacitance.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for (link, s) in segments(scene.board, scene.system) {
        if s.line_farad <= s.most_farad.value * (1.0 + 1e-9) {
            continue;
        }
        let parts: Vec<String> = s
            .shares
            .iter()
            .map(|(name, c)| format!("{name} {}", farad(*c)))
            .collect();
        let mut f = Finding::new(
            kind,
            &link.name,
            format!(
                "{} on each line, {} at most",
                farad(s.line_farad),
                farad(s.most_farad.value)
            ),
        )
        .at(link.cable.as_ref().map(|c| c.span))
        .at(link.span)
        .figure(
            "most",
            farad(s.most_farad.value),
            s.most_farad.source.clone(),
        )
        .working(format!(
            "C = {} = {}",
            parts.join(" + "),
            farad(s.line_farad)
        ));
        let rest: f64 = s
            .shares
            .iter()
            .filter(|(name, _)| name != "cable")
            .map(|(_, c)| c)
            .sum();
        if let Some(cable) = &link.cable
            && rest < s.most_farad.value
        {
            let whole = s.line_farad - rest;
            let most = cable.length_m.value.nominal * (s.most_farad.value - rest) / whole;
            f = f.remedy(format!(
                "a cable of at most {}",
                report::number::measured(most, "m", 2)
            ));
        }
        found.push(f.remedy("a bus repeater in between: each side has its own limit".to_owned()));
    }
}
