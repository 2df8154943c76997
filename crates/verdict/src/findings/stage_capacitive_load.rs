//! An output drives more capacitance than it bears.

use finding::{Kind, Severity};
use report::number;

use super::Entry;
use crate::limits::{self, Looked, PLAIN, Talk};
use crate::study::Study;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "stage.capacitive-load",
        severity: Severity::Thin,
        title: "An output drives more capacitance than it bears",
        explanation: include_str!("pages/stage.capacitive-load.md"),
    },
    look: |kind, scene, found| limits::findings(kind, scene, TALKS, found),
};

const TALKS: &[Talk] = &[
    Talk {
        check: "output-capacitance",
        unit: "F",
        actual: "the capacitance at its output",
        limit: "the most it bears",
        remedies: apart,
        ..PLAIN
    },
    Talk {
        check: "sensor-capacitance",
        unit: "F",
        actual: "the capacitance at its output",
        limit: "the most it bears",
        remedies: apart,
        ..PLAIN
    },
];

fn apart(l: &Looked<'_>, study: &Study<'_>) -> Vec<String> {
    let mut list = plain(l);
    let cable = study.channel.chain.iter().find(|s| s.kind == "cable");
    let of_cable =
        cable.and_then(|c| Some((c.valued("length")?.value, c.valued("capacitance")?.value)));
    if let Some((length, per_m)) = of_cable
        && per_m.nominal > 0.0
    {
        list.push(format!(
            "{} of cable of {} are {}: the limit is reached at {}; a resistor or a damper behind the cable, at the converter’s end, does not keep the cable away from the output",
            number::about(length.nominal, "m"),
            number::about(per_m.nominal, "F/m"),
            number::measured(length.nominal * per_m.nominal, "F", 3),
            number::measured(l.worst.limit / per_m.nominal, "m", 2)
        ));
    }
    list
}

fn plain(l: &Looked<'_>) -> Vec<String> {
    vec![
        format!(
            "at most {} straight at the output: {} times less",
            number::measured(l.worst.limit, "F", 3),
            quantity::plain(l.worst.actual / l.worst.limit, 3)
        ),
        "or a resistor between the output and the capacitance, at the output’s end (some hundred ohms are usual)"
            .to_owned(),
    ]
}
