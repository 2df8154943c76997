//! Values without a tolerance count as exact.

use std::collections::BTreeSet;

use board::{Board, FieldValue, RailSource};
use finding::{Finding, Kind, Severity, Span};
use quantity::{Dimension, Valued};
use report::number;

use super::{Entry, Scene};
use crate::words;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "figure.assumed-exact",
        severity: Severity::Note,
        title: "Values without a tolerance count as exact",
        explanation: include_str!("pages/figure.assumed-exact.md"),
    },
    look,
};

/// A value written without a tolerance.
struct Bare {
    path: String,
    name: String,
    span: Span,
}

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    // What has limits all the same is a variable of some channel.
    let limited: BTreeSet<&str> = scene
        .judged
        .iter()
        .filter_map(|j| j.study.as_ref())
        .flat_map(|s| &s.variables)
        .filter_map(|v| v.key.strip_suffix(".tolerance"))
        .collect();
    let list: Vec<Bare> = bare(scene.board)
        .into_iter()
        .filter(|b| !limited.contains(b.path.as_str()))
        .collect();
    if list.is_empty() {
        return;
    }
    let mut names: Vec<String> = list.iter().take(4).map(|b| b.name.clone()).collect();
    if list.len() > 4 {
        names.push(format!("{} more", list.len() - 4));
    }
    let headline = if list.len() == 1 {
        format!(
            "written without a tolerance, this counts as exact: {}",
            names.concat()
        )
    } else {
        format!(
            "{} values are written without a tolerance and count as exact: {}",
            list.len(),
            words::listed(&names)
        )
    };
    let mut f = Finding::new(kind, "", headline);
    for b in &list {
        f = f.at(b.span);
    }
    found.push(
        f.remedy(
            "write the tolerance behind the value, for example \"10 kΩ 1 % 100 ppm/K\"".to_owned(),
        )
        .remedy("or ± 0 % where it is meant to be exact".to_owned()),
    );
}

fn bare(board: &Board) -> Vec<Bare> {
    let mut list = Vec::new();
    let mut push = |path: String, name: &str, v: &Valued, span: Span| {
        if v.tolerance.is_none() {
            let unit = quantity::symbol(v.dimension).unwrap_or("");
            list.push(Bare {
                path,
                name: format!("{name} {}", number::amount(v.nominal, unit)),
                span,
            });
        }
    };
    for rail in &board.rails {
        let key = format!("rails.{}", rail.name);
        if let RailSource::Divided { top, bottom, .. } = &rail.source {
            push(
                format!("{key}.top"),
                &format!("{} top", rail.name),
                &top.value,
                top.span,
            );
            push(
                format!("{key}.bottom"),
                &format!("{} bottom", rail.name),
                &bottom.value,
                bottom.span,
            );
        }
    }
    for r in &board.references {
        let key = format!("references.{}", r.name);
        if let Some(v) = &r.voltage {
            push(key, &r.name, &v.value, v.span);
        }
    }
    for c in &board.channels {
        for stage in &c.chain {
            for (field, value) in &stage.fields {
                // Resistances are what chains are made of; other values of a
                // stage are settings and ratings.
                if let FieldValue::Valued(v) = &value.value
                    && v.dimension == Dimension::RESISTANCE
                {
                    push(
                        format!("{}.{field}", stage.path),
                        &format!("{}, {}", c.name, stage.kind),
                        v,
                        value.span,
                    );
                }
            }
        }
    }
    list
}
