//! One channel against its need.

use board::{Board, Channel};
use chain::time::Timing;
use finding::{Sources, Span};
use report::{
    Condition, Contributor, Met, MonteCarlo, Need, Propagation, Unpublished, Verdict, WorstCase,
    Yield, number,
};
use uncertainty::{Conclusion, Evaluation, ModelFault, Progress, Propagated, Settings, evaluate};

use crate::model::category_word;
use crate::study::Study;
use crate::words;

/// A channel with everything found out about it.
pub(crate) struct Judged<'a> {
    pub channel: &'a Channel,
    /// Place of what is in the way of a model.
    pub obstacle: Option<Span>,
    /// `None` where there is no model.
    pub study: Option<Study<'a>>,
    /// `None` where the analysis had nothing to work on.
    pub evaluation: Option<Evaluation>,
    pub report: report::Channel,
}

/// How far the errors of a channel reach, in words.
pub(crate) struct Reach {
    /// Half-width found by sampling at the worst point, with its unit.
    pub reached: String,
    /// The accuracy asked there, with its unit.
    pub asked: String,
    /// The accuracy asked there, SI.
    pub limit: f64,
    /// Half-width as a share of the accuracy.
    pub share: f64,
}

impl Judged<'_> {
    /// `None` where nothing was sampled or nothing is asked.
    pub fn reach(&self) -> Option<Reach> {
        let study = self.study.as_ref()?;
        let worst = self.evaluation.as_ref()?.worst_sampled()?;
        let limit = worst.limit?;
        let sampled = &worst.sampled;
        let digits = number::digits(sampled.half_width, sampled.half_width_tolerance);
        Some(Reach {
            reached: study.size(sampled.half_width, digits),
            asked: words::limit(self.channel, limit),
            limit,
            share: sampled.half_width / limit,
        })
    }
}

/// Judges one channel with the usual amount of work.
pub(crate) fn judge<'a>(
    board: &'a Board,
    channel: &'a Channel,
    timing: &Timing,
    sources: &Sources,
    progress: &dyn Fn(Progress),
) -> Judged<'a> {
    judge_with(
        board,
        channel,
        timing,
        sources,
        &Settings::default(),
        progress,
    )
}

/// Judges one channel with another amount of work.
pub(crate) fn judge_with<'a>(
    board: &'a Board,
    channel: &'a Channel,
    timing: &Timing,
    sources: &Sources,
    settings: &Settings,
    progress: &dyn Fn(Progress),
) -> Judged<'a> {
    let empty = empty(channel);
    let study = match Study::timed(board, channel, timing) {
        Ok(study) => study,
        Err(fault) => {
            return Judged {
                channel,
                obstacle: fault.span,
                study: None,
                evaluation: None,
                report: report::Channel {
                    reason: fault.message,
                    ..empty
                },
            };
        }
    };
    let settings = Settings {
        probability: board.judging.probability,
        ..*settings
    };
    match evaluate(&study.lean, &settings, progress) {
        Ok(evaluation) => {
            let report = filled(&study, &evaluation, sources, empty);
            Judged {
                channel,
                obstacle: None,
                study: Some(study),
                evaluation: Some(evaluation),
                report,
            }
        }
        Err(fault) => Judged {
            channel,
            obstacle: None,
            study: Some(study),
            evaluation: None,
            report: report::Channel {
                reason: reason(&fault),
                ..empty
            },
        },
    }
}

fn reason(fault: &ModelFault) -> String {
    fault.to_string()
}

fn empty(channel: &Channel) -> report::Channel {
    let unit = &channel.unit;
    report::Channel {
        name: channel.name.clone(),
        quantity: channel.quantity.clone(),
        verdict: Verdict::Unmodelled,
        unit: unit.symbol.clone(),
        error_unit: words::error_unit(channel).to_owned(),
        span: (
            unit.number(channel.span.value.0),
            unit.number(channel.span.value.1),
        ),
        need: None,
        worst_case: None,
        propagation: None,
        monte_carlo: None,
        worst_at: Vec::new(),
        boards: None,
        margin: None,
        decides: String::new(),
        contributors: Vec::new(),
        unpublished: None,
        signal: None,
        doubts: Vec::new(),
        held_by: Vec::new(),
        reason: String::new(),
    }
}

/// Conditions by name, in units to be shown.
pub(crate) fn conditions(study: &Study<'_>, values: &[f64]) -> Vec<Condition> {
    study
        .model
        .conditions()
        .into_iter()
        .zip(values)
        .map(|(i, &x)| {
            let input = &study.model.inputs[i];
            let measured = study
                .board
                .channels
                .iter()
                .find(|c| study.variables[i].key == format!("channels.{}.quantity", c.name));
            let (value, unit) = match (measured, input.unit.as_str()) {
                (Some(c), _) => (c.unit.number(x), c.unit.symbol.clone()),
                (None, "K") => (x - 273.15, "°C".to_owned()),
                (None, other) => (x, other.to_owned()),
            };
            Condition {
                name: input.name.clone(),
                value,
                unit,
            }
        })
        .collect()
}

/// Contributors at one point, largest first, as shown.
pub(crate) fn contributors(study: &Study<'_>, there: &Propagated) -> Vec<Contributor> {
    let scale = |si: f64| study.channel.unit.number_of_difference(si);
    there
        .contributions
        .iter()
        .map(|c| {
            let variable = &study.variables[c.input];
            Contributor {
                name: c.name.clone(),
                kind: category_word(c.category).to_owned(),
                size: scale(there.k * c.contribution.abs()),
                share: c.share,
                source: variable.source.clone(),
                basis: variable.basis.map(|b| b.to_string()).unwrap_or_default(),
                bound: c.bound,
            }
        })
        .collect()
}

fn filled(
    study: &Study<'_>,
    evaluation: &Evaluation,
    sources: &Sources,
    empty: report::Channel,
) -> report::Channel {
    let channel = study.channel;
    let scale = |si: f64| channel.unit.number_of_difference(si);
    let pair = |(low, high): (f64, f64)| (scale(low), scale(high));
    let Some(worst) = evaluation.worst_sampled() else {
        return empty;
    };
    let there = &evaluation.propagated_there;
    let extreme = evaluation.worst_case.worse();
    let limit = worst.limit;
    // Of nothing permitted no share is left.
    let margin = limit
        .filter(|limit| *limit > 0.0)
        .map(|limit| 1.0 - worst.sampled.half_width / limit);
    let verdict = match evaluation.conclusion {
        None => Verdict::Fragment,
        Some(Conclusion::Fails) => Verdict::Fails,
        Some(Conclusion::Undecided) => Verdict::Undecided,
        Some(Conclusion::Meets) => {
            if margin.is_none_or(|m| m < study.board.judging.accuracy_margin) {
                Verdict::Thin
            } else {
                Verdict::Meets
            }
        }
    };
    let contributors = contributors(study, there);
    let loose: Vec<&Contributor> = contributors
        .iter()
        .zip(&there.contributions)
        .filter(|(_, c)| !c.published)
        .map(|(line, _)| line)
        .collect();
    let unpublished = Unpublished {
        share: loose.iter().map(|c| c.share).sum(),
        figures: loose
            .iter()
            .map(|c| (c.name.clone(), c.basis.clone()))
            .collect(),
    };
    report::Channel {
        verdict,
        need: channel.accuracy.as_ref().map(|a| Need {
            text: words::accuracy(sources.slice(a.span)),
            unit: words::accuracy_unit(channel, sources.slice(a.span)),
            limit: scale(limit.unwrap_or(f64::NAN)),
        }),
        worst_case: Some(WorstCase {
            magnitude: scale(extreme.error.abs()),
            low: scale(evaluation.worst_case.low.error),
            high: scale(evaluation.worst_case.high.error),
            bound: evaluation.worst_case.bound,
            at: conditions(study, &extreme.conditions),
        }),
        propagation: Some(Propagation {
            half_width: scale(there.half_width),
            bias: scale(there.bias),
            u: scale(there.u),
            k: there.k,
            dof: there.dof.filter(|d| d.is_finite()),
            valid: evaluation.validation.valid,
        }),
        monte_carlo: Some(MonteCarlo {
            half_width: scale(worst.sampled.half_width),
            tolerance: scale(worst.sampled.half_width_tolerance),
            interval: pair(worst.sampled.interval),
            trials: worst.sampled.trials,
            met: worst
                .sampled
                .met
                .map(|(share, low, high)| Met { share, low, high }),
        }),
        worst_at: conditions(study, &worst.conditions),
        boards: evaluation.boards.as_ref().map(|b| Yield {
            share: b.share,
            at_least: b.lower_95,
            boards: b.boards,
        }),
        margin,
        decides: words::decides(&contributors),
        contributors,
        unpublished: Some(unpublished),
        signal: study.signal(),
        doubts: words::doubts(study, there),
        ..empty
    }
}
