//! Monte Carlo (JCGM 101).

mod control;
mod draw;
mod summary;
mod tail;

use crate::model::{Model, ModelFault};
use crate::settings::{Points, Settings};
use control::LinearPart;
use draw::Drawer;

pub(crate) use draw::{Worker, keyed, workers};

/// Independent scrambles of low-discrepancy points.
pub const SCRAMBLES: usize = 16;

/// Counts over equal cells, for drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct Histogram {
    /// Smallest error, where the first cell begins.
    pub low: f64,
    /// Largest error, where the last cell ends.
    pub high: f64,
    /// Trials per cell.
    pub counts: Vec<u64>,
}

/// What sampling found at one set of conditions; lengths in the unit of the
/// error.
#[derive(Clone, Debug, PartialEq)]
pub struct Sampled {
    /// Trials made.
    pub trials: u64,
    /// Mean error.
    pub mean: f64,
    /// Standard deviation of the error.
    pub deviation: f64,
    /// Ends of the probabilistically symmetric interval at the probability
    /// asked (JCGM 101:2008, 7.7.2).
    pub interval: (f64, f64),
    /// Numerical uncertainty of either end, 95 %; the larger of the two.
    pub interval_tolerance: f64,
    /// Smallest h with |error| ≤ h in the share of trials asked for.
    pub half_width: f64,
    /// Numerical uncertainty of the half-width, 95 %.
    pub half_width_tolerance: f64,
    /// Share of trials within the limit with its 95 % interval (estimate,
    /// lower end, upper end), where there is a limit. An evaluation that
    /// would be left undecided puts the answer of [`crate::sample_tails`] here.
    pub met: Option<(f64, f64, f64)>,
    /// The tolerance asked for was reached before the cap.
    pub reached: bool,
    /// Trials whose error was not a number; they count as not met.
    pub lost: u64,
    /// How the errors are distributed.
    pub histogram: Histogram,
    /// The two largest and the two smallest errors, with all inputs of the
    /// trial: places to climb from in search of the worst case.
    pub worst_trials: Vec<(f64, Vec<f64>)>,
    /// Linear solutions repeated with full pivoting.
    pub resolved: u64,
    /// Iterations that did not arrive.
    pub unsettled: u64,
    /// Correlation with the linear part that sharpened the half-width, zero
    /// if none was used.
    pub control_correlation: f64,
}

/// Samples the error at one set of conditions (JCGM 101:2008, clause 7),
/// doubling the number of trials until the half-width is known to the
/// tolerance, and a need is known to be met or not, or the cap is reached.
///
/// What is drawn depends on the seed, the inputs' streams and the number of
/// the trial alone, sums have a fixed order, and so the result is the same
/// for any number of threads and any block size. Rounding is exact; inputs
/// that are not sampled stay at their nominal values. The limit is read once,
/// at the conditions.
///
/// The tolerance of the half-width is that of the share of trials within it
/// (binomial, or the scatter over the scrambles), carried to the ordered
/// errors (R. S. Woodruff, "Confidence intervals for medians and other
/// position measures", J. Am. Stat. Assoc. 47, 1952). As it is looked at
/// after each doubling, it is met by luck a little more often than 5 %.
///
/// # Errors
/// The model does not fit its tape, the conditions, or a setting has no
/// sense.
pub fn sample(
    model: &Model,
    conditions: &[f64],
    settings: &Settings,
) -> Result<Sampled, ModelFault> {
    model.check()?;
    settings.check()?;
    let drawer = Drawer::new(model, conditions, settings)?;
    let replicates = match settings.points {
        Points::Streams => 1,
        Points::Scrambled => SCRAMBLES,
    };
    let mut each = per_replicate(settings.first_trials, replicates, settings.points);
    let most = per_replicate(settings.most_trials, replicates, settings.points).max(1);
    each = each.min(most);
    let mut trials = draw::Trials::new(replicates, drawer.linear().is_some());
    loop {
        drawer.extend(&mut trials, each);
        let look = summary::look(&drawer, &trials, settings);
        if each >= most || (look.reached && decided(look.met, settings)) {
            let mut result = summary::summarise(&trials, settings, look);
            result.worst_trials = drawer.worst_trials(&trials);
            return Ok(result);
        }
        each = (each * 2).min(most);
    }
}

/// Trials per replicate; scrambled points are balanced in powers of two only.
fn per_replicate(trials: u64, replicates: usize, points: Points) -> usize {
    let each = usize::try_from(trials / replicates as u64)
        .unwrap_or(usize::MAX)
        .max(1);
    match points {
        Points::Streams => each,
        Points::Scrambled => 1 << each.ilog2(),
    }
}

/// Whether more trials could not change what is said about the need.
pub(crate) fn decided(met: Option<(f64, f64, f64)>, settings: &Settings) -> bool {
    met.is_none_or(|(_, low, high)| low >= settings.probability || high < settings.probability)
}
