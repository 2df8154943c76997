//! All answers together, cheap ones first.

use statistics::quantile::numerical_tolerance;

use crate::boards::{Yield, yield_share};
use crate::grid::refine;
use crate::model::{Model, ModelFault, share_of_limit};
use crate::propagation::{FirstOrder, Propagated, Propagator, propagate};
use crate::sampling::{Sampled, sample};
use crate::settings::Settings;
use crate::tails::sample_tails;
use crate::worst::{WorstCase, worst_case_from};

/// Whether the need is met.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Conclusion {
    /// With at least the probability asked.
    Meets,
    /// With less.
    Fails,
    /// The trials made do not tell.
    Undecided,
}

impl Conclusion {
    /// From the 95 % interval of the probability that the need is met.
    #[must_use]
    pub fn from_interval(low: f64, high: f64, probability: f64) -> Conclusion {
        if low >= probability {
            Conclusion::Meets
        } else if high < probability {
            Conclusion::Fails
        } else {
            Conclusion::Undecided
        }
    }
}

/// First order at one point of the grid.
#[derive(Clone, Debug, PartialEq)]
pub struct Screened {
    /// One value per condition.
    pub conditions: Vec<f64>,
    /// Error with every input at its mean.
    pub bias: f64,
    /// Combined standard uncertainty.
    pub u: f64,
    /// Smallest h with P(|error| ≤ h) = the probability asked.
    pub half_width: f64,
    /// The largest permitted error there, if there is a need.
    pub limit: Option<f64>,
}

/// Monte Carlo at one of the worst points.
#[derive(Clone, Debug, PartialEq)]
pub struct SampledPoint {
    /// One value per condition.
    pub conditions: Vec<f64>,
    /// The largest permitted error there, if there is a need.
    pub limit: Option<f64>,
    /// What was found.
    pub sampled: Sampled,
}

impl SampledPoint {
    /// The half-width as a share of the limit; without one, itself.
    #[must_use]
    pub fn measure(&self) -> f64 {
        share_of_limit(self.sampled.half_width, self.limit)
    }
}

/// Propagation held against Monte Carlo (JCGM 101:2008, clause 8).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Validation {
    /// |lower end by propagation − lower end by Monte Carlo|.
    pub low_difference: f64,
    /// |upper end by propagation − upper end by Monte Carlo|.
    pub high_difference: f64,
    /// What either may differ: half a unit of the last meaningful digit of u.
    pub tolerance: f64,
    /// Numerical uncertainty of the ends by Monte Carlo, 95 %.
    pub numerical: f64,
    /// Both differences are within the tolerance, or not; `None` if the
    /// numerical uncertainty leaves it open.
    pub valid: Option<bool>,
}

impl Validation {
    /// Compares bias ± k·u with the interval of `sampled`; `digits` of u are
    /// meaningful.
    #[must_use]
    pub fn new(bias: f64, u: f64, expanded: f64, sampled: &Sampled, digits: u32) -> Validation {
        let low_difference = (bias - expanded - sampled.interval.0).abs();
        let high_difference = (bias + expanded - sampled.interval.1).abs();
        let tolerance = numerical_tolerance(u, digits);
        let numerical = sampled.interval_tolerance;
        let larger = low_difference.max(high_difference);
        let valid = if larger + numerical <= tolerance {
            Some(true)
        } else if larger - numerical > tolerance {
            Some(false)
        } else {
            None
        };
        Validation {
            low_difference,
            high_difference,
            tolerance,
            numerical,
            valid,
        }
    }
}

/// What is being done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stage {
    /// Propagation over the grid.
    Screening,
    /// The worst case.
    WorstCase,
    /// Monte Carlo at the worst points.
    Sampling,
    /// The yield.
    Yield,
}

/// How far an evaluation has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Progress {
    /// What is being done.
    pub stage: Stage,
    /// Steps of it done.
    pub done: usize,
    /// Steps of it in all.
    pub of: usize,
}

/// All answers for one model.
#[derive(Clone, Debug, PartialEq)]
pub struct Evaluation {
    /// Propagation at every point of the grid.
    pub screened: Vec<Screened>,
    /// The point, on the grid or between, at which propagation is worst.
    pub worst_conditions: Vec<f64>,
    /// Propagation there.
    pub propagated: Propagated,
    /// The worst case.
    pub worst_case: WorstCase,
    /// Monte Carlo at the worst points, worst first.
    pub sampled: Vec<SampledPoint>,
    /// Propagation at the worst of those points.
    pub propagated_there: Propagated,
    /// That against Monte Carlo.
    pub validation: Validation,
    /// The share of boards that meet the need everywhere, where there is one.
    pub boards: Option<Yield>,
    /// Whether the need is met at the worst of those points, where there is
    /// one.
    pub conclusion: Option<Conclusion>,
    /// Trials and boards drawn.
    pub trials: u64,
}

impl Evaluation {
    /// Monte Carlo at the worst point.
    #[must_use]
    pub fn worst_sampled(&self) -> Option<&SampledPoint> {
        self.sampled.first()
    }
}

/// Evaluates a model: propagation and the worst case screen the whole grid,
/// Monte Carlo runs at the few worst points, its worst trials are starts for
/// another look at the worst case, and boards are drawn for the yield.
///
/// # Errors
/// The model does not fit its tape, or a setting has no sense.
pub fn evaluate(
    model: &Model,
    settings: &Settings,
    progress: &dyn Fn(Progress),
) -> Result<Evaluation, ModelFault> {
    model.check()?;
    settings.check()?;
    let tell = |stage, done, of| progress(Progress { stage, done, of });
    let grid = model.grid();
    let (screened, worst_conditions) = screen(model, &grid, settings, &tell)?;
    let propagated = propagate(model, &worst_conditions, settings.probability)?;

    tell(Stage::WorstCase, 0, 2);
    let mut worst_case = worst_case_from(model, settings, &[])?;
    tell(Stage::WorstCase, 1, 2);

    let points = points(&screened, &worst_conditions, &worst_case, settings);
    let mut sampled = Vec::with_capacity(points.len());
    for (n, conditions) in points.iter().enumerate() {
        tell(Stage::Sampling, n, points.len());
        let found = sample(model, conditions, settings)?;
        sampled.push(SampledPoint {
            conditions: conditions.clone(),
            limit: limit_at(model, conditions)?,
            sampled: found,
        });
    }
    tell(Stage::Sampling, points.len(), points.len());
    sampled.sort_by(worse_first);
    let mut trials: u64 = sampled.iter().map(|s| s.sampled.trials).sum();

    let starts: Vec<Vec<f64>> = sampled
        .iter()
        .flat_map(|s| s.sampled.worst_trials.iter().map(|t| t.1.clone()))
        .collect();
    worst_case.climb_from(model, &starts)?;
    tell(Stage::WorstCase, 2, 2);

    tell(Stage::Yield, 0, 1);
    let boards = yield_share(model, settings)?;
    tell(Stage::Yield, 1, 1);
    trials += boards.as_ref().map_or(0, |b| b.boards);

    let Some(worst) = sampled.first_mut() else {
        return Err(ModelFault::BadInput("conditions".to_owned()));
    };
    let concluded = |met: Option<(f64, f64, f64)>| {
        met.map(|(_, low, high)| Conclusion::from_interval(low, high, settings.probability))
    };
    let mut conclusion = concluded(worst.sampled.met);
    if conclusion == Some(Conclusion::Undecided) {
        // Near the limit plain trials tell too little; those in the tails
        // are looked at alone.
        let tails = sample_tails(model, &worst.conditions, settings)?;
        trials += tails.trials;
        worst.sampled.met = tails.met;
        conclusion = concluded(tails.met);
    }
    let worst = &*worst;
    let propagated_there = propagate(model, &worst.conditions, settings.probability)?;
    let validation = Validation::new(
        propagated_there.bias,
        propagated_there.u,
        propagated_there.expanded,
        &worst.sampled,
        settings.digits,
    );
    Ok(Evaluation {
        screened,
        worst_conditions,
        propagated,
        worst_case,
        sampled,
        propagated_there,
        validation,
        boards,
        conclusion,
        trials,
    })
}

/// The lower probability first, then the wider.
fn worse_first(a: &SampledPoint, b: &SampledPoint) -> std::cmp::Ordering {
    let met = |s: &SampledPoint| s.sampled.met.map_or(0.0, |m| m.0);
    met(a)
        .total_cmp(&met(b))
        .then(b.measure().total_cmp(&a.measure()))
}

fn limit_at(model: &Model, conditions: &[f64]) -> Result<Option<f64>, ModelFault> {
    let Some(output) = model.limit else {
        return Ok(None);
    };
    let centre = model.centre(conditions, crate::Input::is_drawn)?;
    let mut point = tape::Point::default();
    point.evaluate(&model.tape, &centre, tape::Reading::Smooth);
    Ok(Some(point.output(&model.tape, output)))
}

/// First-order propagation at every point of the grid, for searches that look
/// at many models: no terms of second order, no doubts, no sampling.
///
/// # Errors
/// The model does not fit its tape, or the probability has no sense.
pub fn screened(model: &Model, probability: f64) -> Result<Vec<Screened>, ModelFault> {
    model.check()?;
    if !(probability > 0.0 && probability < 1.0) {
        return Err(ModelFault::BadSetting("probability"));
    }
    let mut propagator = Propagator::default();
    model
        .grid()
        .into_iter()
        .map(|conditions| {
            let first = propagator.first_order(model, &conditions, probability)?;
            Ok(Screened {
                bias: first.bias,
                u: first.u,
                half_width: first.half_width,
                limit: first.limit,
                conditions,
            })
        })
        .collect()
}

/// Propagation over the grid, and the worst conditions between its points.
fn screen(
    model: &Model,
    grid: &[Vec<f64>],
    settings: &Settings,
    tell: &dyn Fn(Stage, usize, usize),
) -> Result<(Vec<Screened>, Vec<f64>), ModelFault> {
    let mut propagator = Propagator::default();
    let mut screened = Vec::with_capacity(grid.len());
    let mut worst: Option<(f64, &Vec<f64>)> = None;
    for (n, conditions) in grid.iter().enumerate() {
        if n % 64 == 0 {
            tell(Stage::Screening, n, grid.len());
        }
        let first = propagator.first_order(model, conditions, settings.probability)?;
        let measure = orderly(&first);
        if worst.is_none_or(|(w, _)| measure > w) {
            worst = Some((measure, conditions));
        }
        screened.push(Screened {
            conditions: conditions.clone(),
            bias: first.bias,
            u: first.u,
            half_width: first.half_width,
            limit: first.limit,
        });
    }
    tell(Stage::Screening, grid.len(), grid.len());
    let Some((start, conditions)) = worst else {
        return Err(ModelFault::BadInput("conditions".to_owned()));
    };
    let mut at = conditions.clone();
    refine(&model.axes(), &mut at, start, |conditions| {
        propagator
            .first_order(model, conditions, settings.probability)
            .map_or(f64::NAN, |f| orderly(&f))
    });
    Ok((screened, at))
}

/// The measure with no number counted as the worst of all.
fn orderly(first: &FirstOrder) -> f64 {
    let measure = first.measure();
    if measure.is_nan() {
        f64::INFINITY
    } else {
        measure
    }
}

/// The conditions at which Monte Carlo runs: where propagation is worst, the
/// ends of the worst case, and the next worst of the grid, each once.
fn points(
    screened: &[Screened],
    worst: &[f64],
    worst_case: &WorstCase,
    settings: &Settings,
) -> Vec<Vec<f64>> {
    let mut points: Vec<Vec<f64>> = vec![worst.to_vec()];
    let mut order: Vec<&Screened> = screened.iter().collect();
    let measure = |s: &Screened| share_of_limit(s.half_width, s.limit);
    order.sort_by(|a, b| measure(b).total_cmp(&measure(a)));
    let others = [&worst_case.worse().conditions]
        .into_iter()
        .chain(order.iter().map(|s| &s.conditions));
    for conditions in others {
        if points.len() >= settings.worst_points.max(1) {
            break;
        }
        if !points.contains(conditions) {
            points.push(conditions.clone());
        }
    }
    points
}
