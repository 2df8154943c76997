//! The worst case: the largest and the smallest error found.

mod climb;

use crate::grid::refine;
use crate::model::{Model, ModelFault, share_of_limit as measure};
use crate::settings::Settings;
use climb::Climber;

/// One end of the worst case.
#[derive(Clone, Debug, PartialEq)]
pub struct Extreme {
    /// The error there.
    pub error: f64,
    /// The largest permitted error there, if there is a need.
    pub limit: Option<f64>,
    /// Values of the conditions.
    pub conditions: Vec<f64>,
    /// Values of all inputs, conditions included.
    pub inputs: Vec<f64>,
}

impl Extreme {
    /// The error as a share of its limit, or the error itself without one,
    /// counted positive in the direction of the extreme.
    fn measure(&self, direction: f64) -> f64 {
        direction * measure(self.error, self.limit)
    }
}

/// Largest and smallest error found over all conditions and corners.
#[derive(Clone, Debug, PartialEq)]
pub struct WorstCase {
    /// The largest error.
    pub high: Extreme,
    /// The smallest error.
    pub low: Extreme,
    /// Every input that matters has limits that are a bound; otherwise three
    /// standard uncertainties stand for limits that there are not.
    pub bound: bool,
    /// How often the model was evaluated.
    pub evaluations: u64,
    /// Points of the grid at which the error is not a number.
    pub undefined: usize,
}

impl WorstCase {
    /// The larger magnitude of the two ends.
    #[must_use]
    pub fn magnitude(&self) -> f64 {
        self.high.error.abs().max(self.low.error.abs())
    }

    /// Climbs from further inputs (one value per input, conditions included)
    /// and keeps what is worse.
    ///
    /// # Errors
    /// The model does not fit its tape.
    pub fn climb_from(&mut self, model: &Model, starts: &[Vec<f64>]) -> Result<(), ModelFault> {
        model.check()?;
        let mut climber = Climber::new(model)?;
        for (end, direction) in [(&mut self.high, 1.0), (&mut self.low, -1.0)] {
            let best = (starts.iter())
                .filter(|s| s.len() == model.inputs.len())
                .map(|start| climber.from(start, direction))
                .filter(|e| !e.measure(direction).is_nan())
                .reduce(|a, b| {
                    if b.measure(direction) > a.measure(direction) {
                        b
                    } else {
                        a
                    }
                });
            let Some(mut extreme) = best else { continue };
            climber.polish(&mut extreme, direction);
            let better = extreme.measure(direction) > end.measure(direction);
            if better || end.error.is_nan() {
                between_points(model, &mut climber, &mut extreme, direction);
                *end = extreme;
            }
        }
        self.bound &= climber.bound();
        self.evaluations += climber.evaluations;
        Ok(())
    }

    /// The end whose magnitude is the larger share of its limit; without a
    /// limit, the larger one.
    #[must_use]
    pub fn worse(&self) -> &Extreme {
        let size = |e: &Extreme| measure(e.error, e.limit).abs();
        if size(&self.low) > size(&self.high) {
            &self.low
        } else {
            &self.high
        }
    }
}

/// [`worst_case_from`] without starts and with the usual settings.
///
/// # Errors
/// The model does not fit its tape.
pub fn worst_case(model: &Model) -> Result<WorstCase, ModelFault> {
    worst_case_from(model, &Settings::default(), &[])
}

/// The largest and the smallest error over the grid of conditions and the
/// limits of the inputs.
///
/// At each point of the grid the signs of the sensitivities pick a corner;
/// there the sensitivities are taken again and signs flipped until nothing
/// changes. The few worst points are then looked at closely: every input is
/// tried at its other limit, inputs whose sensitivity changes sign are
/// searched inside their limits and, up to eight of them, in all combinations
/// of limits; conditions move between the points of the grid. `starts` are
/// further inputs to climb from (one value per input, conditions included),
/// such as [`Sampled::worst_trials`](crate::Sampled).
///
/// This is the largest *found*. For a model that is monotone in every input,
/// or has no more than eight and none with its extreme inside, it is the
/// largest there is. Rounding is read smoothly and moves as an input of its
/// own. Inputs without limits, or with limits that are no bound, go to three
/// standard uncertainties or those limits, and [`WorstCase::bound`] is false.
///
/// With a limit, the condition counts where the error is the largest share of
/// its limit, which must depend on the conditions alone.
///
/// # Errors
/// The model does not fit its tape.
pub fn worst_case_from(
    model: &Model,
    settings: &Settings,
    starts: &[Vec<f64>],
) -> Result<WorstCase, ModelFault> {
    model.check()?;
    settings.check()?;
    let mut climber = Climber::new(model)?;
    let grid = model.grid();
    let mut undefined = vec![false; grid.len()];
    let mut ends = Vec::with_capacity(2);
    for direction in [1.0, -1.0] {
        ends.push(extreme(
            model,
            settings,
            &mut climber,
            &grid,
            &mut undefined,
            direction,
        ));
    }
    let (Some(low), Some(high)) = (ends.pop(), ends.pop()) else {
        return Err(ModelFault::BadInput("conditions".to_owned()));
    };
    let mut found = WorstCase {
        high,
        low,
        bound: climber.bound(),
        evaluations: climber.evaluations,
        undefined: undefined.iter().filter(|u| **u).count(),
    };
    if !starts.is_empty() {
        found.climb_from(model, starts)?;
    }
    Ok(found)
}

/// The smallest error alone, as [`worst_case`] finds it, for half the work.
///
/// # Errors
/// The model does not fit its tape.
pub fn smallest_case(model: &Model) -> Result<Extreme, ModelFault> {
    model.check()?;
    let mut climber = Climber::new(model)?;
    let grid = model.grid();
    let mut undefined = vec![false; grid.len()];
    Ok(extreme(
        model,
        &Settings::default(),
        &mut climber,
        &grid,
        &mut undefined,
        -1.0,
    ))
}

/// One end: from the corner at each point of the grid, the worst few of them
/// looked at closely. Points at which the error is no number are marked.
fn extreme(
    model: &Model,
    settings: &Settings,
    climber: &mut Climber<'_>,
    grid: &[Vec<f64>],
    undefined: &mut [bool],
    direction: f64,
) -> Extreme {
    let mut found: Vec<Extreme> = Vec::with_capacity(grid.len());
    for (conditions, undefined) in grid.iter().zip(undefined) {
        let extreme = climber.corner(conditions, direction);
        *undefined |= extreme.error.is_nan();
        found.push(extreme);
    }
    found.retain(|e| !e.measure(direction).is_nan());
    found.sort_by(|a, b| b.measure(direction).total_cmp(&a.measure(direction)));
    found.truncate(settings.worst_points.max(1));
    let mut best: Option<Extreme> = None;
    for mut extreme in found {
        climber.polish(&mut extreme, direction);
        between_points(model, climber, &mut extreme, direction);
        if best
            .as_ref()
            .is_none_or(|b| extreme.measure(direction) > b.measure(direction))
        {
            best = Some(extreme);
        }
    }
    best.unwrap_or_else(|| Extreme {
        error: f64::NAN,
        limit: None,
        conditions: grid.first().cloned().unwrap_or_default(),
        inputs: model.tape.nominal_inputs().to_vec(),
    })
}

/// Moves the conditions of an extreme to where it is worse, between the
/// neighbouring points of the grid.
fn between_points(model: &Model, climber: &mut Climber<'_>, extreme: &mut Extreme, direction: f64) {
    let axes = model.axes();
    let mut at = extreme.conditions.clone();
    let start = extreme.measure(direction);
    let corner = extreme.inputs.clone();
    let found = refine(&axes, &mut at, start, |conditions| {
        climber
            .near(&corner, conditions, direction)
            .measure(direction)
    });
    if found > start {
        let mut moved = climber.near(&corner, &at, direction);
        climber.polish(&mut moved, direction);
        if moved.measure(direction) > start {
            *extreme = moved;
        }
    }
}
