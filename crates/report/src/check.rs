//! The answer of `check`.

use serde::Serialize;

use crate::finding::Finding;
use crate::links::LinkResult;
use crate::rails::RailResult;

/// A board, judged.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Check {
    /// See [`crate::VERSION`].
    pub version: u32,
    /// Name of the board.
    pub board: String,
    /// What it must live with, in words.
    pub conditions: Vec<String>,
    /// Share of readings that must be within the accuracy at the worst point.
    pub probability: f64,
    /// How many channels stand how.
    pub counts: Counts,
    /// One per channel, in the order of the file.
    pub channels: Vec<Channel>,
    /// One for each link, in the order of the file.
    pub links: Vec<LinkResult>,
    /// One for each rail, each after the one that feeds it.
    pub rails: Vec<RailResult>,
    /// Findings, the most serious first.
    pub findings: Vec<Finding>,
    /// How the board stands in other circumstances, in the order of the file.
    pub scenarios: Vec<ScenarioVerdict>,
}

impl Check {
    /// Whether every need is met, as far as the board states any.
    #[must_use]
    pub fn is_met(&self) -> bool {
        let channels = self.channels.iter().all(|c| c.verdict.is_met());
        let findings = self
            .findings
            .iter()
            .all(|f| f.severity != finding::Severity::Fail);
        channels && findings
    }
}

/// How the board stands in other circumstances.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ScenarioVerdict {
    /// The scenario.
    pub name: String,
    /// After which of its events, s; none where it has none.
    pub after_s: Option<f64>,
    /// How many channels stand how.
    pub counts: Counts,
    /// Channels that stand otherwise than on the board as written: before,
    /// then.
    pub changes: Vec<(String, Verdict, Verdict)>,
    /// Findings that fail then and not before: id and headline.
    pub fails: Vec<(String, String)>,
    /// The same in one line.
    pub text: String,
}

/// How many channels stand how.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Counts {
    /// See [`Verdict::Meets`].
    pub meets: usize,
    /// See [`Verdict::Thin`].
    pub thin: usize,
    /// See [`Verdict::Fails`].
    pub fails: usize,
    /// See [`Verdict::Undecided`].
    pub undecided: usize,
    /// See [`Verdict::Fragment`].
    pub fragments: usize,
    /// See [`Verdict::Unmodelled`].
    pub unmodelled: usize,
}

impl Counts {
    /// Of these verdicts.
    #[must_use]
    pub fn of(verdicts: impl IntoIterator<Item = Verdict>) -> Counts {
        let mut counts = Counts::default();
        for v in verdicts {
            *match v {
                Verdict::Meets => &mut counts.meets,
                Verdict::Thin => &mut counts.thin,
                Verdict::Fails => &mut counts.fails,
                Verdict::Undecided => &mut counts.undecided,
                Verdict::Fragment => &mut counts.fragments,
                Verdict::Unmodelled => &mut counts.unmodelled,
            } += 1;
        }
        counts
    }
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

impl Verdict {
    /// Whether nothing stands against building it.
    #[must_use]
    pub fn is_met(self) -> bool {
        matches!(self, Verdict::Meets | Verdict::Thin | Verdict::Fragment)
    }

    /// The word shown.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Meets => "meets",
            Verdict::Thin => "thin",
            Verdict::Fails => "fails",
            Verdict::Undecided => "undecided",
            Verdict::Fragment => "values without a verdict",
            Verdict::Unmodelled => "cannot be judged",
        }
    }

    /// The shape shown beside the word, so that colour is never alone.
    #[must_use]
    pub fn shape(self) -> &'static str {
        match self {
            Verdict::Meets => "●",
            Verdict::Thin | Verdict::Undecided => "◐",
            Verdict::Fails => "○",
            Verdict::Fragment | Verdict::Unmodelled => "·",
        }
    }
}

/// One channel. Values are in `unit`, errors and limits in `error_unit`.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Channel {
    /// Its name.
    pub name: String,
    /// The quantity in words.
    pub quantity: String,
    /// How it stands.
    pub verdict: Verdict,
    /// Unit of values.
    pub unit: String,
    /// Unit of errors and limits: that of values, kelvin for °C.
    pub error_unit: String,
    /// Ends of the span.
    pub span: (f64, f64),
    /// What is asked of it, if anything.
    pub need: Option<Need>,
    /// Largest error found over conditions and limits.
    pub worst_case: Option<WorstCase>,
    /// By the sensitivities (JCGM 100).
    pub propagation: Option<Propagation>,
    /// By sampling (JCGM 101).
    pub monte_carlo: Option<MonteCarlo>,
    /// Whether the three answers belong to one model: conditions of the worst
    /// point, at which propagation and sampling are given.
    pub worst_at: Vec<Condition>,
    /// Share of the boards that meet the need at all conditions.
    pub boards: Option<Yield>,
    /// What is left of the limit, as a share of it; negative if exceeded.
    pub margin: Option<f64>,
    /// What decides, in a sentence.
    pub decides: String,
    /// Contributors at the worst point, largest first.
    pub contributors: Vec<Contributor>,
    /// What rests on figures that no document states.
    pub unpublished: Option<Unpublished>,
    /// How the signal lies on the converter's scale.
    pub signal: Option<Signal>,
    /// Why not to trust propagation here.
    pub doubts: Vec<String>,
    /// Ids of findings that make the verdict worse than the errors alone would.
    pub held_by: Vec<String>,
    /// Why there is no number, where there is none.
    pub reason: String,
}

/// What is asked of a channel.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Need {
    /// As written in the file; several terms as a sum.
    pub text: String,
    /// The unit it is written in, for showing errors beside it; kelvin for
    /// °C, the error unit where only shares are asked.
    pub unit: String,
    /// Permitted error at the worst point.
    pub limit: f64,
}

/// The ends of the worst case.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WorstCase {
    /// The larger magnitude of the two.
    pub magnitude: f64,
    /// Smallest error found.
    pub low: f64,
    /// Largest error found.
    pub high: f64,
    /// Every limit it stands on is a bound; otherwise three standard
    /// uncertainties stand for limits that there are not.
    pub bound: bool,
    /// Conditions of the larger one.
    pub at: Vec<Condition>,
}

/// One condition's value.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Condition {
    /// What it is.
    pub name: String,
    /// Its value.
    pub value: f64,
    /// Its unit.
    pub unit: String,
}

/// Propagation at the worst point.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Propagation {
    /// Smallest h with |error| ≤ h at the probability asked.
    pub half_width: f64,
    /// Error with all inputs at their means.
    pub bias: f64,
    /// Combined standard uncertainty.
    pub u: f64,
    /// Coverage factor.
    pub k: f64,
    /// Effective degrees of freedom; none where the formula does not hold or
    /// they are infinite.
    pub dof: Option<f64>,
    /// Whether it agrees with sampling (JCGM 101, clause 8); none if the
    /// sampling leaves it open.
    pub valid: Option<bool>,
}

/// Sampling at the worst point.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MonteCarlo {
    /// Smallest h with |error| ≤ h in the share of trials asked for.
    pub half_width: f64,
    /// Numerical uncertainty of it, 95 %.
    pub tolerance: f64,
    /// Probabilistically symmetric interval.
    pub interval: (f64, f64),
    /// Trials made.
    pub trials: u64,
    /// Share of readings within the limit, where there is one.
    pub met: Option<Met>,
}

/// A share with its interval.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Met {
    /// Estimate.
    pub share: f64,
    /// Lower end of the 95 % interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// The share of boards that meet the need at all conditions.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Yield {
    /// Estimate.
    pub share: f64,
    /// One-sided lower bound, 95 %.
    pub at_least: f64,
    /// Boards drawn.
    pub boards: u64,
}

/// One contributor.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Contributor {
    /// Its name.
    pub name: String,
    /// Its kind: fixed, temperature, …
    pub kind: String,
    /// Its expanded contribution, in the error unit.
    pub size: f64,
    /// Share of the variance.
    pub share: f64,
    /// The figure it rests on.
    pub source: String,
    /// How well that is founded; empty where the board file states it.
    pub basis: String,
    /// Its limits are a bound and not a multiple of a typical figure.
    pub bound: bool,
}

/// What rests on figures that no document states.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Unpublished {
    /// Share of the variance.
    pub share: f64,
    /// Which figures: name and basis, the largest first.
    pub figures: Vec<(String, String)>,
}

/// How the signal lies on the converter's scale, everything at its nominal
/// value.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Signal {
    /// Voltage of the lowest code, V.
    pub scale_low: f64,
    /// Voltage at which the codes end, V.
    pub scale_high: f64,
    /// Voltage at the low end of the span, V.
    pub at_low: f64,
    /// Voltage at the high end of the span, V.
    pub at_high: f64,
    /// Codes there are.
    pub codes: f64,
    /// Codes the span uses.
    pub codes_used: f64,
    /// Quantity per code at the low end of the span, error unit.
    pub code_width_low: f64,
    /// Quantity per code at the high end.
    pub code_width_high: f64,
}

impl Signal {
    /// Share of the codes that the span uses.
    #[must_use]
    pub fn share(&self) -> f64 {
        self.codes_used / self.codes
    }
}
