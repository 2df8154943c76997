//! Propagation of uncertainty by sensitivities (JCGM 100).

use statistics::{Shape, dof, normal, student};
use tape::{Point, Reading};

use crate::coverage::{self, Spread};
use crate::model::{Category, Model, ModelFault, share_of_limit};

/// One line of a budget: an input, or a group of inputs shown as one.
#[derive(Clone, Debug, PartialEq)]
pub struct Contribution {
    /// Position of the input; of a group, of its largest member.
    pub input: usize,
    /// Positions of all inputs of the line.
    pub inputs: Vec<usize>,
    /// Name of that input.
    pub name: String,
    /// What kind of contributor it is.
    pub category: Category,
    /// Change of the error per unit of that input, with its sign.
    pub sensitivity: f64,
    /// Standard uncertainty of that input, in its unit.
    pub u: f64,
    /// Sensitivity times u with its sign, in the unit of the error; of a group,
    /// the root of the sum of the squares of its members, with the sign of
    /// the largest.
    pub contribution: f64,
    /// Share of the variance, 0 to 1.
    pub share: f64,
    /// The limits of all its inputs are bounds.
    pub bound: bool,
    /// All its inputs rest on published or measured figures.
    pub published: bool,
}

/// What the terms of second order say (JCGM 100:2008, 5.1.2, note).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SecondOrder {
    /// Shift of the expectation, half the sum of the curvatures times u².
    pub shift: f64,
    /// Combined standard uncertainty with the terms of second order.
    pub u: f64,
}

/// A reason not to trust propagation here, and Monte Carlo instead.
#[derive(Clone, Debug, PartialEq)]
pub enum Doubt {
    /// The terms of second order are not small.
    Curved(SecondOrder),
    /// A coverage factor away, along the line on which the inputs most likely
    /// lie there, the model has left its tangent: it is curved, clips, or
    /// switches.
    Bent {
        /// Change of the error by the sensitivities.
        tangent: f64,
        /// Change of the error by the model.
        found: f64,
    },
    /// One input that is not normal makes up more than half of the variance.
    Dominated {
        /// Position of the input.
        input: usize,
        /// Its share of the variance.
        share: f64,
        /// Coverage factor of that input's rectangle, widened by a normal
        /// distribution for all others; `None` if it is not rectangular.
        k: Option<f64>,
    },
    /// The error or a sensitivity is not a number.
    Undefined,
}

/// The result of propagation at one set of conditions; lengths in the unit of
/// the error.
#[derive(Clone, Debug, PartialEq)]
pub struct Propagated {
    /// Error with every input at its mean; limits that lie unevenly about the
    /// nominal value shift it.
    pub bias: f64,
    /// Combined standard uncertainty.
    pub u: f64,
    /// Coverage factor for the probability asked.
    pub k: f64,
    /// k·u, the expanded uncertainty about `bias`.
    pub expanded: f64,
    /// Smallest h with P(|error| ≤ h) = the probability asked, bias included.
    pub half_width: f64,
    /// Effective degrees of freedom, rounded down, infinite where all are;
    /// `None` where the formula does not hold because one input that is not
    /// normal makes up more than half of the variance.
    pub dof: Option<f64>,
    /// Contributors, largest first.
    pub contributions: Vec<Contribution>,
    /// The terms of second order.
    pub second_order: SecondOrder,
    /// Why not to trust this.
    pub doubts: Vec<Doubt>,
}

/// The largest share of k·u that terms of second order may change
/// without being mentioned; the same for a departure from the tangent.
const NOTICEABLE: f64 = 0.05;

/// First order at one point: everything the screening of a grid needs.
#[derive(Clone, Debug)]
pub(crate) struct FirstOrder {
    pub bias: f64,
    pub u: f64,
    pub k: f64,
    pub dof: Option<f64>,
    pub half_width: f64,
    pub dominated: Option<(usize, f64)>,
    /// The largest permitted error at the conditions, if there is a need.
    pub limit: Option<f64>,
    centre: Vec<f64>,
    slopes: Vec<f64>,
}

impl FirstOrder {
    /// How much of the limit is used, or the half-width itself without one.
    pub fn measure(&self) -> f64 {
        share_of_limit(self.half_width, self.limit)
    }
}

/// Working space of propagation.
#[derive(Default)]
pub(crate) struct Propagator {
    point: Point,
}

impl Propagator {
    pub fn first_order(
        &mut self,
        model: &Model,
        conditions: &[f64],
        probability: f64,
    ) -> Result<FirstOrder, ModelFault> {
        let centre = model.centre(conditions, |i| i.propagates())?;
        let mut slopes = vec![0.0; model.inputs.len()];
        self.point.evaluate(&model.tape, &centre, Reading::Smooth);
        let bias = self.point.output(&model.tape, model.error);
        let limit = model.limit.map(|o| self.point.output(&model.tape, o));
        self.point
            .gradient(&model.tape, model.error, Reading::Smooth, &mut slopes);
        let mut variance = 0.0;
        let mut largest = (0usize, 0.0_f64);
        let mut pairs = Vec::new();
        for (i, input) in model.inputs.iter().enumerate() {
            if !input.propagates() {
                slopes[i] = 0.0;
            }
            if slopes[i] == 0.0 {
                continue;
            }
            let part = slopes[i] * input.shape.propagated_uncertainty();
            variance += part * part;
            if part * part > largest.1 {
                largest = (i, part * part);
            }
            pairs.push((part, input.dof.min(input.shape.dof())));
        }
        let u = f64::sqrt(variance);
        let (input, part) = largest;
        let dominated = (part > 0.5 * variance
            && model.inputs.get(input).is_some_and(|i| {
                !matches!(i.shape, Shape::Normal { .. } | Shape::StudentT { .. })
            }))
        .then(|| (input, part / variance));
        let effective = dof::rounded_down(dof::welch_satterthwaite(&pairs));
        let dof = match dominated {
            Some(_) => None,
            None => Some(effective),
        };
        let spread = match dof {
            Some(dof) if dof.is_finite() => Spread::Student { u, dof },
            _ => Spread::Normal { u },
        };
        let upper = 0.5 + 0.5 * probability;
        let k = match dof {
            Some(dof) if dof.is_finite() => student::quantile(upper, dof),
            _ => normal::quantile(upper),
        };
        Ok(FirstOrder {
            bias,
            u,
            k,
            dof,
            half_width: coverage::half_width(&spread, bias, probability),
            dominated,
            limit,
            centre,
            slopes,
        })
    }

    /// Terms of second order from sensitivities one standard uncertainty
    /// either side: Σ over i, j of (½·f_ij² + f_i·f_ijj)·u_i²·u_j² adds to the
    /// variance, ½·Σ f_ii·u_i² to the expectation.
    fn second_order(&mut self, model: &Model, first: &FirstOrder) -> SecondOrder {
        let count = model.inputs.len();
        let mut at = first.centre.clone();
        let (mut up, mut down) = (vec![0.0; count], vec![0.0; count]);
        let (mut added, mut shift) = (0.0, 0.0);
        let scale: Vec<f64> = model
            .inputs
            .iter()
            .map(|i| {
                if i.propagates() {
                    i.shape.propagated_uncertainty()
                } else {
                    0.0
                }
            })
            .collect();
        for j in 0..count {
            let h = scale[j];
            if !(h > 0.0) || !h.is_finite() || !model.tape.uses_input(j) {
                continue;
            }
            for (step, slopes) in [(h, &mut up), (-h, &mut down)] {
                at[j] = first.centre[j] + step;
                self.point.evaluate(&model.tape, &at, Reading::Smooth);
                self.point
                    .gradient(&model.tape, model.error, Reading::Smooth, slopes);
            }
            at[j] = first.centre[j];
            for i in 0..count {
                if scale[i] == 0.0 {
                    continue;
                }
                // In units of the inputs' uncertainties h: f_ij·u_i·u_j and
                // f_i·f_ijj·u_i²·u_j².
                let cross = 0.5 * (up[i] - down[i]) * scale[i];
                let slope = first.slopes[i] * scale[i];
                let third = (up[i] - 2.0 * first.slopes[i] + down[i]) * scale[i];
                added += 0.5 * cross * cross + slope * third;
                if i == j {
                    shift += 0.5 * cross;
                }
            }
        }
        SecondOrder {
            shift,
            u: (first.u * first.u + added).max(0.0).sqrt(),
        }
    }

    /// Tangent and model a coverage factor away along the line of the most
    /// likely inputs, whichever direction differs more.
    fn bend(&mut self, model: &Model, first: &FirstOrder) -> Option<(f64, f64)> {
        if !(first.u > 0.0) {
            return None;
        }
        let mut worst: Option<(f64, f64)> = None;
        for direction in [1.0, -1.0] {
            let mut at = first.centre.clone();
            let mut tangent = 0.0;
            for (i, input) in model.inputs.iter().enumerate() {
                if first.slopes[i] == 0.0 {
                    continue;
                }
                let u = input.shape.propagated_uncertainty();
                let wanted = direction * first.k * first.slopes[i] * u * u / first.u;
                // A bounded input cannot go beyond its limits.
                let (low, high) = input.corners();
                let mean = first.centre[i];
                let step = wanted.clamp((low - mean).min(0.0), (high - mean).max(0.0));
                at[i] = mean + step;
                tangent += first.slopes[i] * step;
            }
            self.point.evaluate(&model.tape, &at, Reading::Smooth);
            let found = self.point.output(&model.tape, model.error) - first.bias;
            let gap = |w: (f64, f64)| (w.1 - w.0).abs();
            if worst.is_none_or(|w| !(gap((tangent, found)) <= gap(w))) {
                worst = Some((tangent, found));
            }
        }
        worst
    }
}

/// Propagates standard uncertainties through the sensitivities at one set of
/// conditions (JCGM 100:2008, 5.1.2, formula 10; degrees of freedom G.4.1).
///
/// Variables shared between places of the model are one input, so correlation
/// needs no covariances. Rounding is read smoothly; where it matters, the
/// model has an input of its own for it.
///
/// `probability` lies between 0 and 1.
///
/// # Errors
/// The model does not fit its tape or the conditions.
pub fn propagate(
    model: &Model,
    conditions: &[f64],
    probability: f64,
) -> Result<Propagated, ModelFault> {
    model.check()?;
    if !(probability > 0.0 && probability < 1.0) {
        return Err(ModelFault::BadSetting("probability"));
    }
    let mut propagator = Propagator::default();
    let first = propagator.first_order(model, conditions, probability)?;
    let second_order = propagator.second_order(model, &first);
    let doubts = doubts(&mut propagator, model, &first, second_order, probability);
    Ok(Propagated {
        bias: first.bias,
        u: first.u,
        k: first.k,
        expanded: first.k * first.u,
        half_width: first.half_width,
        dof: first.dof,
        contributions: contributions(model, &first),
        second_order,
        doubts,
    })
}

fn doubts(
    propagator: &mut Propagator,
    model: &Model,
    first: &FirstOrder,
    second: SecondOrder,
    probability: f64,
) -> Vec<Doubt> {
    let mut doubts = Vec::new();
    if first.bias.is_nan() || first.slopes.iter().any(|s| s.is_nan()) {
        doubts.push(Doubt::Undefined);
    }
    let with_second = coverage::half_width(
        &Spread::Normal { u: second.u },
        first.bias + second.shift,
        probability,
    );
    let without = coverage::half_width(&Spread::Normal { u: first.u }, first.bias, probability);
    if !((with_second - without).abs() <= NOTICEABLE * first.k * first.u) && second.u > 0.0 {
        doubts.push(Doubt::Curved(second));
    }
    if let Some((tangent, found)) = propagator.bend(model, first)
        && !((found - tangent).abs() <= NOTICEABLE * first.k * first.u)
    {
        doubts.push(Doubt::Bent { tangent, found });
    }
    if let Some((input, share)) = first.dominated {
        let k = model.inputs.get(input).and_then(|i| match i.shape {
            Shape::Rectangular { .. } => {
                let wide = first.u * share.sqrt();
                let rest = first.u * (1.0 - share).max(0.0).sqrt();
                let spread = Spread::Rectangular {
                    half_width: wide * 3.0_f64.sqrt(),
                    u: rest,
                };
                Some(coverage::half_width(&spread, 0.0, probability) / first.u)
            }
            _ => None,
        });
        doubts.push(Doubt::Dominated { input, share, k });
    }
    doubts
}

/// The lines of the budget, largest first.
fn contributions(model: &Model, first: &FirstOrder) -> Vec<Contribution> {
    let mut lines: Vec<(Option<u32>, Contribution)> = Vec::new();
    let variance = first.u * first.u;
    let mut order: Vec<(usize, f64)> = model
        .inputs
        .iter()
        .enumerate()
        .filter(|(i, _)| first.slopes[*i] != 0.0)
        .map(|(i, input)| (i, first.slopes[i] * input.shape.propagated_uncertainty()))
        .collect();
    order.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()).then(a.0.cmp(&b.0)));
    for (i, part) in order {
        let input = &model.inputs[i];
        let known = match input.group {
            Some(_) => lines.iter_mut().find(|(g, _)| *g == input.group),
            None => None,
        };
        match known {
            Some((_, line)) => {
                line.inputs.push(i);
                let size = (line.contribution * line.contribution + part * part).sqrt();
                line.contribution = size.copysign(line.contribution);
                line.bound &= input.bound;
                line.published &= input.published;
            }
            None => lines.push((
                input.group,
                Contribution {
                    input: i,
                    inputs: vec![i],
                    name: input.name.clone(),
                    category: input.category,
                    sensitivity: first.slopes[i],
                    u: input.shape.propagated_uncertainty(),
                    contribution: part,
                    share: 0.0,
                    bound: input.bound,
                    published: input.published,
                },
            )),
        }
    }
    let mut lines: Vec<Contribution> = lines.into_iter().map(|(_, line)| line).collect();
    for line in &mut lines {
        line.share = if variance > 0.0 {
            line.contribution * line.contribution / variance
        } else {
            0.0
        };
    }
    lines.sort_by(|a, b| b.share.total_cmp(&a.share).then(a.input.cmp(&b.input)));
    lines
}

/// First-order covariances of several outputs at one set of conditions:
/// entry (a, b) of the result, row a, is Σ c_a·c_b·u² over all inputs that
/// propagate (JCGM 100:2008, H.2.3). Correlation between the outputs comes
/// from the inputs they share.
///
/// # Errors
/// The model does not fit its tape or the conditions, or an output does not
/// exist.
pub fn covariance(
    model: &Model,
    conditions: &[f64],
    outputs: &[usize],
) -> Result<Vec<Vec<f64>>, ModelFault> {
    model.check()?;
    if let Some(&missing) = outputs.iter().find(|&&o| o >= model.tape.output_count()) {
        return Err(ModelFault::NoOutput(missing));
    }
    let centre = model.centre(conditions, |i| i.propagates())?;
    let mut point = Point::default();
    point.evaluate(&model.tape, &centre, Reading::Smooth);
    let parts: Vec<Vec<f64>> = outputs
        .iter()
        .map(|&output| {
            let mut slopes = vec![0.0; model.inputs.len()];
            point.gradient(&model.tape, output, Reading::Smooth, &mut slopes);
            for (slope, input) in slopes.iter_mut().zip(&model.inputs) {
                *slope = if input.propagates() {
                    *slope * input.shape.propagated_uncertainty()
                } else {
                    0.0
                };
            }
            slopes
        })
        .collect();
    Ok(parts
        .iter()
        .map(|a| {
            parts
                .iter()
                .map(|b| a.iter().zip(b).map(|(a, b)| a * b).sum())
                .collect()
        })
        .collect())
}
