//! What renderers see: one serialisable, versioned type per question.

use serde::Serialize;

/// Version of the types below; changes when a field changes its meaning.
pub const VERSION: u32 = 1;

/// The answer of `check`.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Check {
    /// See [`VERSION`].
    pub version: u32,
    /// Name of the board.
    pub board: String,
    /// One per channel, in the order of the file.
    pub channels: Vec<Channel>,
}

/// How a channel stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Verdict {
    /// The need is met.
    Meets,
    /// Met with little margin.
    Thin,
    /// Not met.
    Fails,
    /// The sampling cannot tell.
    Undecided,
    /// No need was stated: values without a verdict.
    Fragment,
    /// Uses something that has no equations yet.
    Unmodelled,
}

/// One channel. Errors and limits are in the channel's unit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Channel {
    /// Its name.
    pub name: String,
    /// How it stands.
    pub verdict: Verdict,
    /// Unit of the numbers below.
    pub unit: String,
    /// Ends of the span.
    pub span: (f64, f64),
    /// Permitted error at the worst point.
    pub limit: Option<f64>,
    /// Largest error found over conditions and limits.
    pub worst_case: Option<f64>,
    /// Expanded by propagation, at the probability asked.
    pub propagation: Option<f64>,
    /// Half-width by sampling, at the probability asked.
    pub monte_carlo: Option<f64>,
    /// Numerical uncertainty of `monte_carlo`, 95 %.
    pub monte_carlo_tolerance: Option<f64>,
    /// Share of readings within the limit at the worst point.
    pub probability_met: Option<f64>,
    /// Quantity and ambient (°C) of the worst point.
    pub worst_at: Option<(f64, f64)>,
    /// Contributors, largest first: name, share of the variance, source.
    pub contributors: Vec<Contributor>,
    /// Why there is no number, where there is none.
    pub reason: String,
}

/// One contributor.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Contributor {
    /// Its name.
    pub name: String,
    /// Its expanded contribution, in the channel's unit.
    pub size: f64,
    /// Share of the variance.
    pub share: f64,
    /// The figure it rests on.
    pub source: String,
}
