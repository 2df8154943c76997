//! A quoted figure is confirmed, or put right.

use board::{Channel, Claim, Claimed, FigureOf};
use finding::{Finding, Kind, Severity};
use quantity::Valued;
use report::number;

use super::{Entry, Scene};
use crate::{claims, words};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "claim.figure",
        severity: Severity::Note,
        title: "A quoted figure is checked",
        explanation: include_str!("pages/claim.figure.md"),
    },
    look,
};

/// What a figure without a tolerance may be off, as a share (common practice:
/// quoted figures are rounded).
const ROUNDED: f64 = 0.02;

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for claim in &scene.board.claims {
        let Some(channel) = scene.board.channels.get(claim.channel) else {
            continue;
        };
        if let Claimed::Figure { result, value } = &claim.what {
            found.push(finding(kind, scene, channel, claim, *result, &value.value).at(claim.span));
        }
    }
}

fn shown(channel: &Channel, result: FigureOf, si: f64) -> String {
    match result {
        FigureOf::PinVoltage | FigureOf::Reference => number::measured(si, "V", 4),
        FigureOf::Code => quantity::plain(si, 5),
        FigureOf::CodesPerVolt => format!("{} codes/V", quantity::plain(si, 5)),
        FigureOf::Reading => words::value(channel, si),
        FigureOf::Error | FigureOf::CodeWidth => words::size(channel, si, 3),
    }
}

fn finding(
    kind: &Kind,
    scene: &Scene<'_, '_>,
    channel: &Channel,
    claim: &Claim,
    result: FigureOf,
    said: &Valued,
) -> Finding {
    let head = if claim.name.is_empty() {
        String::new()
    } else {
        format!("\u{201c}{}\u{201d}: ", claim.name)
    };
    let what = result.word().replace('-', " ");
    let Some(points) = claims::figures(scene.board, claim, result) else {
        return Finding::new(
            kind,
            &channel.name,
            format!("{head}the {what} cannot be checked: the channel has no model"),
        );
    };
    let (low, high) = said.tolerance.map_or_else(
        || {
            // A reading is counted from its own zero.
            let size = match result {
                FigureOf::Reading => channel.unit.number(said.nominal).abs() * channel.unit.factor,
                _ => said.nominal.abs(),
            };
            (said.nominal - ROUNDED * size, said.nominal + ROUNDED * size)
        },
        |t| t.limits(said.nominal),
    );
    let told = |si: f64| shown(channel, result, si);
    let fits = points.iter().find(|p| p.1 >= low && p.1 <= high);
    let alike = points.iter().all(|p| {
        points
            .first()
            .is_some_and(|f| (p.1 - f.1).abs() <= 1e-9 * p.1.abs())
    });
    let headline = match (fits, points.first()) {
        (Some(&(q, v)), _) => {
            let place = if alike {
                String::new()
            } else {
                format!(" at {}", words::value(channel, q))
            };
            format!(
                "{head}the {what} is {}{place}: {} is right",
                told(v),
                told(said.nominal)
            )
        }
        (None, Some(_)) => {
            let nearest = points
                .iter()
                .copied()
                .min_by(|a, b| {
                    (a.1 - said.nominal)
                        .abs()
                        .total_cmp(&(b.1 - said.nominal).abs())
                })
                .unwrap_or((0.0, f64::NAN));
            let place = if alike {
                String::new()
            } else {
                format!(" at {}", words::value(channel, nearest.0))
            };
            let ratio = said.nominal / nearest.1;
            let off = if ratio.is_finite() && ratio > 0.0 && result != FigureOf::Reading {
                format!(", quoted {} times as large", quantity::plain(ratio, 3))
            } else {
                String::new()
            };
            format!(
                "{head}the {what} is {}{place}, not {}{off}",
                told(nearest.1),
                told(said.nominal)
            )
        }
        (None, None) => format!("{head}the {what} has no value"),
    };
    let mut f = Finding::new(kind, &channel.name, headline);
    if !alike {
        for &(q, v) in &points {
            f = f.working(format!(
                "{what} at {}: {}",
                words::value(channel, q),
                told(v)
            ));
        }
    }
    f
}
