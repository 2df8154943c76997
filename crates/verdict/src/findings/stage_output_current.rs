//! An output must carry more current than it can.

use finding::{Kind, Severity};
use quantity::Series;
use report::number;

use super::Entry;
use crate::limits::{self, Looked, PLAIN, Talk};
use crate::study::Study;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "stage.output-current",
        severity: Severity::Fail,
        title: "An output must carry more current than it can",
        explanation: include_str!("pages/stage.output-current.md"),
    },
    look: |kind, scene, found| limits::findings(kind, scene, TALKS, found),
};

const TALKS: &[Talk] = &[
    Talk {
        check: "output-sink",
        unit: "A",
        actual: "the current its output must sink",
        limit: "what it can sink there",
        working: |l, s| stops(l, s, "output-low"),
        thin: |j| j.current_margin,
        remedies: resistor,
        ..PLAIN
    },
    Talk {
        check: "output-source",
        unit: "A",
        actual: "the current its output must source",
        limit: "what it can source there",
        working: |l, s| stops(l, s, "output-high"),
        thin: |j| j.current_margin,
        remedies: resistor,
        ..PLAIN
    },
    Talk {
        check: "output-current",
        unit: "A",
        actual: "its output current",
        limit: "the most it gives",
        thin: |j| j.current_margin,
        remedies: |l, _| {
            vec![format!(
                "a load that takes {} or less",
                number::measured(l.worst.limit, "A", 3)
            )]
        },
        ..PLAIN
    },
];

/// How many times too much it is, and where the output stops for it.
fn stops(l: &Looked<'_>, study: &Study<'_>, kind: &str) -> Vec<String> {
    let times = |s: &crate::limits::Side| quantity::plain(s.actual / s.limit, 2);
    let mut list = vec![format!(
        "{} times what it can with everything nominal, {} times on the worst board",
        times(&l.nominal),
        times(&l.worst)
    )];
    if let Some(swing) = study
        .checks
        .iter()
        .find(|c| c.kind == kind && c.name == l.check.name)
    {
        let at = &l.nominal.at;
        let (stands, needed) = (
            study.nominal(swing.actual, at),
            study.nominal(swing.working, at),
        );
        if study.nominal(swing.margin, at) < 0.0 {
            list.push(format!(
                "its output stops at {} where {} is needed",
                number::measured(stands, "V", 3),
                number::measured(needed, "V", 3)
            ));
        }
    }
    list
}

/// The resistor it drives must be larger.
fn resistor(l: &Looked<'_>, _: &Study<'_>) -> Vec<String> {
    let (Some(nominal), Some(worst)) = (l.nominal.working, l.worst.working) else {
        return Vec::new();
    };
    let mut list = vec![format!(
        "the resistor it drives (load or feedback): at least {} with everything nominal, at least {} for the worst board",
        number::measured(nominal, "Ω", 3),
        number::measured(worst, "Ω", 4)
    )];
    if let Some(preferred) = Series::E24.at_least(worst) {
        list.push(format!(
            "{} (E24) is on the safe side",
            number::amount(preferred, "Ω")
        ));
    }
    list.push("or an amplifier whose output reaches its rail at that current".to_owned());
    list
}
