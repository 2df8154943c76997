//! The voltage of each rail with its limits.

use board::{Board, Rail, RailSource};
use quantity::Valued;

use super::line::Volts;

/// The rail that has this rail's voltage: a rail taken from another one
/// directly is the same net.
#[must_use]
pub fn root(board: &Board, mut rail: usize) -> usize {
    // Rails come after what feeds them, so this ends.
    while let Some(Rail {
        source: RailSource::Direct { from },
        voltage: None,
        ..
    }) = board.rails.get(rail)
    {
        if *from >= rail {
            break;
        }
        rail = *from;
    }
    rail
}

fn limits(v: &Valued, board: &Board) -> Volts {
    let (low, high) = v
        .tolerance
        .as_ref()
        .map_or((v.nominal, v.nominal), |t| t.limits(v.nominal));
    // A tolerance counts at 25 °C, the drift from there.
    let (cold, hot) = board.conditions.ambient_k;
    let away = (298.15 - cold).abs().max((hot - 298.15).abs());
    let drift = v.drift_per_k.unwrap_or(0.0).abs() * v.nominal.abs() * away
        + v.drift_absolute_per_k.unwrap_or(0.0).abs() * away;
    Volts {
        low: low - drift,
        nominal: v.nominal,
        high: high + drift,
    }
}

/// Voltage of a rail over its set point's tolerance and what it moves through;
/// none where nothing says it.
#[must_use]
pub fn volts(board: &Board, rail: usize) -> Option<Volts> {
    let rail = root(board, rail);
    let r = board.rails.get(rail)?;
    let set = r.voltage.as_ref().map(|v| limits(&v.value, board));
    match &r.source {
        RailSource::External => match (set, &r.travel) {
            (set, None) => set,
            (set, Some(travel)) => {
                let (low, high) = (travel.value.low, travel.value.high);
                let set = set.unwrap_or(Volts::exact(0.5 * (low + high)));
                Some(Volts {
                    low: low + (set.low - set.nominal),
                    nominal: set.nominal,
                    high: high + (set.high - set.nominal),
                })
            }
        },
        RailSource::Switching { .. } => set,
        RailSource::Direct { from } => {
            set.or_else(|| (*from < rail).then(|| volts(board, *from)).flatten())
        }
        RailSource::Divided { from, top, bottom } => {
            let from = (*from < rail).then(|| volts(board, *from)).flatten()?;
            let (t, b) = (limits(&top.value, board), limits(&bottom.value, board));
            Some(Volts {
                low: from.low * b.low / (b.low + t.high),
                nominal: from.nominal * b.nominal / (b.nominal + t.nominal),
                high: from.high * b.high / (b.high + t.low),
            })
        }
        RailSource::Regulator { from, part } => {
            let input = (*from < rail).then(|| volts(board, *from)).flatten();
            if part.kind == "diode" {
                let drop = part.figure("forward-voltage")?;
                let points = drop.points.iter().map(|(_, v)| *v);
                let least = drop
                    .min
                    .or_else(|| points.clone().reduce(f64::min))
                    .or(drop.typ)
                    .or(drop.max)?;
                let most = drop
                    .max
                    .or_else(|| points.reduce(f64::max))
                    .or(drop.typ)
                    .or(drop.min)?;
                let usual = drop.typ.unwrap_or(0.5 * (least + most));
                return set.or_else(|| {
                    input.map(|i| Volts {
                        low: i.low - most,
                        nominal: i.nominal - usual,
                        high: i.high - least,
                    })
                });
            }
            let mut out = match set {
                Some(set) => set,
                None => {
                    let f = part.figure("output-voltage")?;
                    let typical = f.typical()?;
                    Volts {
                        low: f.min.unwrap_or(typical),
                        nominal: typical,
                        high: f.max.unwrap_or(typical),
                    }
                }
            };
            for name in ["accuracy", "initial-accuracy"] {
                let Some(f) = part.figure(name).filter(|f| f.part_of.is_none()) else {
                    continue;
                };
                let most = f.max.or(f.typ).unwrap_or(0.0).abs();
                let least = f.min.unwrap_or(-most);
                out.low += least * out.nominal;
                out.high += most * out.nominal;
            }
            if let (Some(input), Some(f)) = (input, part.figure("dropout")) {
                let drop = f.max.or(f.typ).or(f.min).unwrap_or(0.0);
                out.low = out.low.min(input.low - drop).max(0.0);
            }
            Some(out)
        }
    }
}
