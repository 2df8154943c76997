//! Resistors of a stage drift apart with temperature.

use board::Stage;
use chain::channel::{CODE, ERROR, VOLT};
use finding::{Finding, Kind, Severity};
use report::number;
use tape::{Point as Values, Reading};

use super::{Entry, Scene};
use crate::judge::conditions;
use crate::known::{self, Point};
use crate::study::Study;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "stage.resistor-drift",
        severity: Severity::Fail,
        title: "A stage's resistors drift apart with temperature",
        explanation: include_str!("pages/stage.resistor-drift.md"),
    },
    look,
};

/// Part of the permitted error from which on it is told by itself; below that
/// it is one contributor among others.
const WORTH: f64 = 0.5;
/// What resistors of one network usually track to, 1/K (common practice).
const TRACKING_PER_K: f64 = 5e-6;

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for judged in scene.judged {
        if let Some(study) = &judged.study {
            for stage in &study.channel.chain {
                found.extend(finding(kind, study, stage));
            }
        }
    }
}

/// What the drifts of a stage's resistors do together at some conditions, all
/// at the limits that hurt.
struct Apart {
    at: Vec<f64>,
    error: f64,
    volt: f64,
    code: f64,
    /// Largest error for a drift of one per kelvin of one resistor.
    each: f64,
}

fn apart(study: &Study<'_>, inputs: &[usize], at: &[f64]) -> Apart {
    let mut values = study.model.tape.nominal_inputs().to_vec();
    for (&i, &x) in study.model.conditions().iter().zip(at) {
        if let Some(v) = values.get_mut(i) {
            *v = x;
        }
    }
    let mut point = Values::default();
    point.evaluate(&study.model.tape, &values, Reading::Smooth);
    let mut slopes = vec![0.0; values.len()];
    let mut sum = |output: usize| {
        point.gradient(&study.model.tape, output, Reading::Smooth, &mut slopes);
        let mut total = 0.0;
        let mut each = 0.0_f64;
        for &i in inputs {
            let (Some(slope), Some(input)) = (slopes.get(i), study.model.inputs.get(i)) else {
                continue;
            };
            let (low, high) = input.corners();
            total += slope.abs() * low.abs().max(high.abs());
            each = each.max(slope.abs());
        }
        (total, each)
    };
    let (error, each) = sum(ERROR);
    Apart {
        at: at.to_vec(),
        error,
        volt: sum(VOLT).0,
        code: sum(CODE).0,
        each,
    }
}

fn finding(kind: &Kind, study: &Study<'_>, stage: &Stage) -> Option<Finding> {
    let prefix = format!("{}.", stage.path);
    let inputs: Vec<usize> = study
        .variables
        .iter()
        .enumerate()
        .filter(|(_, v)| v.key.starts_with(&prefix) && v.key.ends_with(".drift") && v.unit == "1/K")
        .map(|(i, _)| i)
        .collect();
    if inputs.is_empty() {
        return None;
    }
    let worst = study
        .model
        .grid()
        .iter()
        .map(|at| apart(study, &inputs, at))
        .max_by(|a, b| a.error.total_cmp(&b.error))?;
    let q = worst.at.first().copied()?;
    let severity = known::severity(
        study,
        Point {
            right: q,
            read: q + worst.error,
        },
    )?;
    if let Some(limit) = study.channel.limit_at(q)
        && worst.error < WORTH * limit
    {
        return None;
    }
    let where_: Vec<String> = conditions(study, &worst.at)
        .iter()
        .map(|c| format!("{} {}", c.name, number::about(c.value, &c.unit)))
        .collect();
    let zero = if study.channel.dimension == quantity::Dimension::TEMPERATURE {
        273.15
    } else {
        0.0
    };
    let share = worst.error / (q - zero).abs();
    let relative = if share.is_finite() {
        format!(" ({} % of the reading)", quantity::plain(100.0 * share, 2))
    } else {
        String::new()
    };
    let names: Vec<String> = inputs
        .iter()
        .filter_map(|&i| {
            let v = study.variables.get(i)?;
            Some(format!("{}: {}", v.name, crate::remedy::limits(v, 1.0)))
        })
        .collect();
    let what = if inputs.len() == 1 {
        "one resistor drifts"
    } else {
        "resistors drift apart"
    };
    let mut f = Finding::new(
        kind,
        &study.channel.name,
        format!(
            "{}: {what} with temperature by up to ±{}{relative}, at {}",
            stage.kind,
            study.size(worst.error, 3),
            where_.join(", ")
        ),
    )
    .severity(severity)
    .at(stage.span);
    for name in &names {
        f = f.working(name.clone());
    }
    if study.codes.is_some() {
        f = f.working(format!(
            "as much as {} at the converter, {} codes",
            number::measured(worst.volt, "V", 2),
            quantity::plain(worst.code, 2)
        ));
    }
    let tracked = worst.each * TRACKING_PER_K;
    f = f.remedy(format!(
        "resistors of one network, which track to {} (common practice), would leave ±{}",
        number::amount(TRACKING_PER_K, "1/K"),
        study.size(tracked, 2)
    ));
    if let Some(limit) = study.channel.limit_at(q) {
        f = f.remedy(format!(
            "to take a fifth of the permitted error they must track to {}",
            number::measured(0.2 * limit / worst.each, "1/K", 2)
        ));
    }
    Some(f.remedy(
        "keep all of them away from what gets warm, and from warming themselves".to_owned(),
    ))
}
