//! Propagation of uncertainty by sensitivities.

use statistics::{dof, student};
use tape::{Point, Reading};

use crate::model::{Model, ModelFault, Role};

/// One line of a budget.
#[derive(Clone, Debug, PartialEq)]
pub struct Contribution {
    /// Position of the input.
    pub input: usize,
    /// Change of the error per unit of the input, with its sign.
    pub sensitivity: f64,
    /// Standard uncertainty of the input.
    pub u: f64,
    /// sensitivity · u, with its sign.
    pub contribution: f64,
    /// Share of the variance, 0 to 1.
    pub share: f64,
}

/// The result of propagation at one point.
#[derive(Clone, Debug, PartialEq)]
pub struct Propagated {
    /// Error with every input at its mean.
    pub bias: f64,
    /// Combined standard uncertainty.
    pub u: f64,
    /// Coverage factor for the probability asked.
    pub k: f64,
    /// Bias and k·u together: |bias| + k·u.
    pub half_width: f64,
    /// Effective degrees of freedom, rounded down; `None` where the formula
    /// does not hold because one input that is not normal makes up more than
    /// half of the variance.
    pub dof: Option<f64>,
    /// Contributors, largest first.
    pub contributions: Vec<Contribution>,
}

/// Propagates standard uncertainties through the sensitivities at one set of
/// conditions (JCGM 100:2008, 5.1.2, formula 10; degrees of freedom G.4.1).
///
/// Variables shared between places of the model are one input, so correlation
/// needs no covariances. Rounding is read smoothly.
///
/// # Errors
/// The model does not fit its tape or the conditions.
pub fn propagate(
    model: &Model,
    conditions: &[f64],
    probability: f64,
) -> Result<Propagated, ModelFault> {
    let centre = model.centre(conditions, |i| i.linear && i.role != Role::Condition)?;
    let mut point = Point::default();
    point.evaluate(&model.tape, &centre, Reading::Smooth);
    let bias = point.output(&model.tape, model.error);
    let mut slopes = vec![0.0; model.inputs.len()];
    point.gradient(&model.tape, model.error, Reading::Smooth, &mut slopes);
    let mut contributions: Vec<Contribution> = model
        .inputs
        .iter()
        .enumerate()
        .filter(|(i, input)| input.linear && input.role != Role::Condition && slopes[*i] != 0.0)
        .map(|(i, input)| {
            let u = input.shape.propagated_uncertainty();
            Contribution {
                input: i,
                sensitivity: slopes[i],
                u,
                contribution: slopes[i] * u,
                share: 0.0,
            }
        })
        .collect();
    let variance: f64 = contributions
        .iter()
        .map(|c| c.contribution * c.contribution)
        .sum();
    let u = variance.sqrt();
    for c in &mut contributions {
        c.share = if variance > 0.0 {
            c.contribution * c.contribution / variance
        } else {
            0.0
        };
    }
    let pairs: Vec<(f64, f64)> = contributions
        .iter()
        .map(|c| (c.contribution.abs(), model.inputs[c.input].dof))
        .collect();
    let dominated = contributions.iter().any(|c| {
        c.share > 0.5
            && !matches!(
                model.inputs[c.input].shape,
                statistics::Shape::Normal { .. } | statistics::Shape::StudentT { .. }
            )
    });
    let effective = dof::rounded_down(dof::welch_satterthwaite(&pairs));
    let k = if dominated || !effective.is_finite() {
        statistics::normal::quantile(0.5 + 0.5 * probability)
    } else {
        student::quantile(0.5 + 0.5 * probability, effective)
    };
    contributions.sort_by(|a, b| b.share.total_cmp(&a.share).then(a.input.cmp(&b.input)));
    Ok(Propagated {
        bias,
        u,
        k,
        half_width: bias.abs() + k * u,
        dof: (!dominated).then_some(effective),
        contributions,
    })
}
