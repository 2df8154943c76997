//! What to change, computed.

use chain::variables::{Lies, Variable};
use report::number;
use statistics::Shape;
use uncertainty::inverse::{Answer, Search, largest};
use uncertainty::{Contribution, Model, propagate};

use crate::judge::Judged;
use crate::study::Study;

/// A shape drawn together about its mean.
fn narrowed(shape: Shape, factor: f64) -> Shape {
    let mean = shape.mean();
    let about = |x: f64| mean + factor * (x - mean);
    match shape {
        Shape::Rectangular { low, high } => Shape::Rectangular {
            low: about(low),
            high: about(high),
        },
        Shape::Normal { mean, deviation } => Shape::Normal {
            mean,
            deviation: factor * deviation,
        },
        Shape::Triangular { low, high } => Shape::Triangular {
            low: about(low),
            high: about(high),
        },
        Shape::Arcsine { low, high } => Shape::Arcsine {
            low: about(low),
            high: about(high),
        },
        Shape::Trapezoidal { low, high, beta } => Shape::Trapezoidal {
            low: about(low),
            high: about(high),
            beta,
        },
        Shape::CurvilinearTrapezoidal { low, high, inexact } => Shape::CurvilinearTrapezoidal {
            low: about(low),
            high: about(high),
            inexact: factor * inexact,
        },
        Shape::StudentT { mean, scale, dof } => Shape::StudentT {
            mean,
            scale: factor * scale,
            dof,
        },
        Shape::Fixed { value } => Shape::Fixed { value },
    }
}

/// Half-width by propagation with some inputs narrowed (or widened) by a
/// factor, carried to what sampling found with the factor one.
pub(crate) fn half_width_with(judged: &Judged<'_>, inputs: &[usize], factor: f64) -> Option<f64> {
    let (study, evaluation) = (judged.study.as_ref()?, judged.evaluation.as_ref()?);
    let worst = evaluation.worst_sampled()?;
    let mut model: Model = study.lean.clone();
    for &i in inputs {
        if let Some(input) = model.inputs.get_mut(i) {
            input.shape = narrowed(input.shape, factor);
        }
    }
    let probability = study.board.judging.probability;
    let changed = propagate(&model, &worst.conditions, probability).ok()?;
    let as_it_is = evaluation.propagated_there.half_width;
    Some(changed.half_width * worst.sampled.half_width / as_it_is.max(f64::MIN_POSITIVE))
}

/// A limit with its unit; a small number without one is a relative change.
fn limit(value: f64, unit: &str, digits: usize) -> String {
    if unit.is_empty() && value != 0.0 && value.abs() < 0.2 {
        return number::relative(value, digits);
    }
    number::measured(value, unit, digits)
}

/// A variable's limits, in words.
pub(crate) fn limits(variable: &Variable, factor: f64) -> String {
    match variable.lies {
        Lies::Between(low, high) | Lies::Triangular(low, high) | Lies::Arcsine(low, high)
            if low == -high =>
        {
            format!("±{}", limit(factor * high, &variable.unit, 2))
        }
        Lies::Between(low, high) | Lies::Triangular(low, high) | Lies::Arcsine(low, high) => {
            let middle = 0.5 * (low + high);
            let end = |x: f64| limit(middle + factor * (x - middle), &variable.unit, 3);
            format!("{} to {}", end(low), end(high))
        }
        Lies::About(_, deviation) => format!(
            "a standard deviation of {}",
            limit(factor * deviation, &variable.unit, 2)
        ),
    }
}

/// The share of its present size to which some inputs must shrink for the
/// half-width to be within `target`, SI.
fn factor_for(judged: &Judged<'_>, inputs: &[usize], target: f64) -> Answer {
    let search = Search {
        scan: 9,
        tolerance: 1e-3,
    };
    largest(
        |factor| half_width_with(judged, inputs, factor),
        0.0,
        1.0,
        target,
        &search,
    )
}

/// The factor by which some inputs may grow for the half-width to stay within
/// `target`, SI, up to a hundred; `None` where it is not within it now.
pub(crate) fn widest(judged: &Judged<'_>, inputs: &[usize], target: f64) -> Option<f64> {
    let search = Search {
        scan: 9,
        tolerance: 1e-2,
    };
    match largest(
        |factor| half_width_with(judged, inputs, factor),
        1.0,
        100.0,
        target,
        &search,
    ) {
        Answer::Value { value, .. } => Some(value),
        _ => None,
    }
}

/// Single contributors that could be made small enough for the half-width to
/// be within `target`, SI, each with the limits it would need; if no single
/// one can, the fewest of the largest that can together.
pub(crate) fn tighten(judged: &Judged<'_>, target: f64) -> Vec<String> {
    let (Some(study), Some(evaluation)) = (&judged.study, &judged.evaluation) else {
        return Vec::new();
    };
    let changeable: Vec<&Contribution> = evaluation
        .propagated_there
        .contributions
        .iter()
        .filter(|c| is_choice(study, c))
        .take(4)
        .collect();
    let mut lines = Vec::new();
    for c in &changeable {
        if let Answer::Value { value, .. } = factor_for(judged, &c.inputs, target)
            && value >= 0.02
        {
            let variable = &study.variables[c.input];
            lines.push(format!(
                "{}: from {} to {}",
                c.name,
                limits(variable, 1.0),
                limits(variable, value)
            ));
        }
        if lines.len() == 2 {
            break;
        }
    }
    if lines.is_empty() {
        let mut inputs = Vec::new();
        let mut names = Vec::new();
        for c in &changeable {
            inputs.extend(&c.inputs);
            names.push(c.name.as_str());
            if names.len() > 1
                && let Answer::Value { value, .. } = factor_for(judged, &inputs, target)
                && value >= 0.02
            {
                lines.push(format!(
                    "no single figure is enough; {} together at {} of their present limits are",
                    names.join(", "),
                    number::share(value)
                ));
                break;
            }
        }
    }
    lines
}

/// Whether an engineer can choose it: rounding follows from the code width.
fn is_choice(study: &Study<'_>, c: &Contribution) -> bool {
    study
        .variables
        .get(c.input)
        .is_some_and(|v| v.kind != chain::variables::Kind::Conversion || v.basis.is_some())
}
