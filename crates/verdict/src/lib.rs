//! Needs against results.

use board::{Board, Channel};
use chain::channel::{ChannelModel, build};
use chain::variables::{Kind, Lies, Varies};
use report::{Contributor, Verdict};
use statistics::Shape;
use uncertainty::{
    Category, Input, Model, ModelFault, Role, Settings, propagate, sample, worst_case,
};

/// Judges every channel of a board.
#[must_use]
pub fn check(board: &Board) -> report::Check {
    let channels = board.channels.iter().map(|c| channel(board, c)).collect();
    report::Check {
        version: report::VERSION,
        board: board.name.clone(),
        channels,
    }
}

/// Judges one channel.
#[must_use]
pub fn channel(board: &Board, channel: &Channel) -> report::Channel {
    let unit = &channel.unit;
    let (low, high) = channel.span.value;
    let empty = report::Channel {
        name: channel.name.clone(),
        verdict: Verdict::Unmodelled,
        unit: unit.symbol.clone(),
        span: (unit.number(low), unit.number(high)),
        limit: None,
        worst_case: None,
        propagation: None,
        monte_carlo: None,
        monte_carlo_tolerance: None,
        probability_met: None,
        worst_at: None,
        contributors: Vec::new(),
        reason: String::new(),
    };
    let model = match build(board, channel) {
        Ok(model) => model,
        Err(fault) => {
            return report::Channel {
                reason: fault.message,
                ..empty
            };
        }
    };
    match judge(board, channel, model, empty.clone()) {
        Ok(result) => result,
        Err(fault) => report::Channel {
            reason: fault.to_string(),
            ..empty
        },
    }
}

fn judge(
    board: &Board,
    channel: &Channel,
    model: ChannelModel,
    empty: report::Channel,
) -> Result<report::Channel, ModelFault> {
    let asked = channel.accuracy.is_some();
    let sources: Vec<String> = model.variables.iter().map(|v| v.source.clone()).collect();
    let model = Model {
        inputs: model.variables.iter().map(input).collect(),
        tape: model.tape,
        error: 0,
        limit: asked.then_some(1),
    };
    let probability = board.judging.probability;
    // Cheap answers screen the grid; sampling runs at the worst point.
    let mut worst: Option<(f64, Vec<f64>, uncertainty::Propagated)> = None;
    for conditions in model.grid() {
        let p = propagate(&model, &conditions, probability)?;
        let limit = channel
            .limit_at(conditions.first().copied().unwrap_or(0.0))
            .unwrap_or(1.0);
        let ratio = p.half_width / limit.max(1e-300);
        if worst.as_ref().is_none_or(|(w, _, _)| ratio > *w) {
            worst = Some((ratio, conditions, p));
        }
    }
    let Some((_, conditions, propagated)) = worst else {
        return Err(ModelFault::BadInput("conditions".to_owned()));
    };
    let extreme = worst_case(&model)?;
    let sampled = sample(
        &model,
        &conditions,
        &Settings {
            probability,
            ..Settings::default()
        },
    )?;
    let limit = channel.limit_at(conditions.first().copied().unwrap_or(0.0));
    let verdict = match (limit, sampled.met) {
        (Some(limit), Some((_, low, high))) => {
            if high < probability {
                Verdict::Fails
            } else if low < probability {
                Verdict::Undecided
            } else if sampled.half_width > (1.0 - board.judging.accuracy_margin) * limit {
                Verdict::Thin
            } else {
                Verdict::Meets
            }
        }
        _ => Verdict::Fragment,
    };
    let scale = |si: f64| channel.unit.number_of_difference(si);
    let contributors = propagated
        .contributions
        .iter()
        .map(|c| Contributor {
            name: model.inputs[c.input].name.clone(),
            size: scale(propagated.k * c.contribution.abs()),
            share: c.share,
            source: sources.get(c.input).cloned().unwrap_or_default(),
        })
        .collect();
    Ok(report::Channel {
        verdict,
        limit: limit.map(scale),
        worst_case: Some(scale(extreme.magnitude())),
        propagation: Some(scale(propagated.half_width)),
        monte_carlo: Some(scale(sampled.half_width)),
        monte_carlo_tolerance: Some(scale(sampled.half_width_tolerance)),
        probability_met: sampled.met.map(|m| m.0),
        worst_at: conditions
            .first()
            .zip(conditions.get(1))
            .map(|(q, t)| (channel.unit.number(*q), t - 273.15)),
        contributors,
        ..empty
    })
}

/// What the chain knows of a variable, in the words of the analysis. The
/// stream is the key's own number, so equal keys are equal variables in all
/// channels.
fn input(v: &chain::variables::Variable) -> Input {
    let shape = match v.lies {
        Lies::Between(low, high) => Shape::Rectangular { low, high },
        Lies::About(mean, deviation) => Shape::Normal { mean, deviation },
        Lies::Triangular(low, high) => Shape::Triangular { low, high },
        Lies::Arcsine(low, high) => Shape::Arcsine { low, high },
    };
    let mut input = match v.varies {
        Varies::Condition => Input::condition(&v.name, &v.unit, v.grid.clone()),
        Varies::Board | Varies::Reading => Input::board(&v.name, &v.unit, shape, stream_of(&v.key)),
    };
    if v.varies == Varies::Reading {
        input.role = Role::Reading;
    }
    input.category = match v.kind {
        Kind::Fixed => Category::Fixed,
        Kind::Temperature => Category::Temperature,
        Kind::Ageing => Category::Ageing,
        Kind::Supply => Category::Supply,
        Kind::Random => Category::Random,
        Kind::Other => Category::Other,
        Kind::Conversion => Category::Conversion,
    };
    input.group = v.group.as_deref().map(|g| stream_of(g) as u32);
    input.sampled = v.sampled;
    input.linear = v.linear;
    input.cornered = v.cornered;
    input
}

/// FNV-1a (Fowler, Noll, Vo; RFC 9923) of the key.
fn stream_of(key: &str) -> u64 {
    key.bytes().fold(0xcbf2_9ce4_8422_2325, |h, b| {
        (h ^ u64::from(b)).wrapping_mul(0x0100_0000_01b3)
    })
}
