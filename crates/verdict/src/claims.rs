//! Claims: suspected causes and quoted figures, held against the model.

use board::{Board, Cause, CauseKind, Channel, Claim, FigureOf, ShiftOf, Supply, Swing};
use chain::channel::{CODE, ERROR, READING, REFERENCE, VOLT};

use crate::study::Study;

/// What one way of a suspected cause does to the reading.
#[derive(Clone, Debug)]
pub(crate) struct Effect {
    /// The cause.
    pub cause: String,
    /// Which way it is taken, where there are several.
    pub way: &'static str,
    /// The quantity and by how much the reading moves there, SI.
    pub points: Vec<(f64, f64)>,
    /// How large the shift is, V.
    pub shift_v: Option<f64>,
    /// The shift of this way alone, for another size.
    pub kind: Option<(ShiftOf, bool)>,
}

impl Effect {
    /// Where it moves the reading most.
    pub fn largest(&self) -> Option<(f64, f64)> {
        self.points
            .iter()
            .copied()
            .filter(|p| p.1.is_finite())
            .max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))
    }
}

/// The board a claim is about, settled.
pub(crate) fn board_of<'a>(board: &'a Board, claim: &Claim) -> &'a Board {
    claim
        .scenario
        .and_then(|i| board.scenarios.get(i)?.board.as_deref())
        .unwrap_or(board)
}

/// The values of the quantity a claim is looked at.
pub(crate) fn places(channel: &Channel, claim: &Claim) -> Vec<f64> {
    if !claim.at.is_empty() {
        return claim.at.clone();
    }
    let (low, high) = channel.span.value;
    vec![low, 0.5 * (low + high), high]
}

/// Reading less quantity at some places; `None` where the channel has no
/// model.
fn errors(board: &Board, channel: usize, at: &[f64]) -> Option<Vec<f64>> {
    let study = Study::new(board, board.channels.get(channel)?).ok()?;
    Some(at.iter().map(|&q| study.at_quantity(ERROR, q)).collect())
}

/// A board on which something stands higher than it should; `whole` says that
/// all the converter sees does, where the ground is meant.
pub(crate) fn shifted(board: &Board, channel: usize, of: ShiftOf, whole: bool, volt: f64) -> Board {
    let mut other = system::settled(board).into_owned();
    let around = &mut other.surroundings;
    match of {
        ShiftOf::Ground if whole => *around.input_v.entry(channel).or_default() += volt,
        ShiftOf::Input => *around.input_v.entry(channel).or_default() += volt,
        ShiftOf::Ground | ShiftOf::Foot => {
            let span = other
                .channels
                .get(channel)
                .map_or(finding::Span::new(finding::SourceId(0), 0..0), |c| {
                    c.sensor.span
                });
            around.foot_v.entry(channel).or_default().push(Swing {
                low: volt,
                usual: volt,
                high: volt,
                cause: "shift claimed".to_owned(),
                span,
            });
        }
        ShiftOf::Supply(Supply::Rail(i)) => {
            let span = other
                .rails
                .get(i)
                .map_or(finding::Span::new(finding::SourceId(0), 0..0), |r| r.span);
            let swing = around.rail_sag_v.entry(i).or_insert(Swing {
                low: 0.0,
                usual: 0.0,
                high: 0.0,
                cause: "shift claimed".to_owned(),
                span,
            });
            swing.low -= volt;
            swing.usual -= volt;
            swing.high -= volt;
        }
        ShiftOf::Supply(Supply::Reference(i)) => {
            *around.reference_v.entry(i).or_default() += volt;
        }
        ShiftOf::Supply(Supply::Ground | Supply::Internal(..)) => {}
    }
    other
}

/// What each suspected cause does, every way it can be taken.
pub(crate) fn effects(board: &Board, claim: &Claim, causes: &[Cause]) -> Option<Vec<Effect>> {
    let base = board_of(board, claim);
    let channel = base.channels.get(claim.channel)?;
    let at = places(channel, claim);
    let settled = system::settled(base);
    let before = errors(&settled, claim.channel, &at)?;
    let moved = |other: &Board| -> Option<Vec<(f64, f64)>> {
        let after = errors(other, claim.channel, &at)?;
        Some(
            at.iter()
                .zip(before.iter().zip(&after))
                .map(|(&q, (b, a))| (q, a - b))
                .collect(),
        )
    };
    let mut list = Vec::new();
    for cause in causes {
        match &cause.kind {
            CauseKind::Shift { volt, of } => {
                let ways: &[(bool, &'static str)] = match of {
                    ShiftOf::Ground => &[
                        (true, "all that the converter sees"),
                        (false, "the foot of the sensor alone"),
                    ],
                    _ => &[(true, "")],
                };
                for &(whole, way) in ways {
                    let other = shifted(base, claim.channel, *of, whole, *volt);
                    list.push(Effect {
                        cause: cause.text.clone(),
                        way,
                        points: moved(&other)?,
                        shift_v: Some(*volt),
                        kind: Some((*of, whole)),
                    });
                }
            }
            CauseKind::Set { board: other, .. } => {
                let other = system::settled(other.as_deref()?);
                list.push(Effect {
                    cause: cause.text.clone(),
                    way: "",
                    points: moved(&other)?,
                    shift_v: None,
                    kind: None,
                });
            }
        }
    }
    Some(list)
}

/// The shift with which one way of a cause moves the reading by `wanted` at a
/// value of the quantity; `None` where none up to a thousandfold does.
pub(crate) fn needed_v(
    board: &Board,
    claim: &Claim,
    effect: &Effect,
    at: f64,
    wanted: f64,
) -> Option<f64> {
    let (of, whole) = effect.kind?;
    let volt = effect.shift_v?;
    let base = board_of(board, claim);
    let before = errors(&system::settled(base), claim.channel, &[at])?;
    let moved = |v: f64| -> Option<f64> {
        let after = errors(
            &shifted(base, claim.channel, of, whole, v),
            claim.channel,
            &[at],
        )?;
        Some(after.first()? - before.first()?)
    };
    let first = moved(volt)?;
    if first == 0.0 || first.signum() != wanted.signum() {
        return None;
    }
    // Outwards by doubling, then inwards by halving.
    let (mut low, mut high) = (0.0, volt);
    for _ in 0..10 {
        let there = moved(high)?;
        if !there.is_finite() {
            return None;
        }
        if there.abs() >= wanted.abs() {
            break;
        }
        low = high;
        high *= 2.0;
    }
    if moved(high)?.abs() < wanted.abs() {
        return None;
    }
    for _ in 0..18 {
        let middle = 0.5 * (low + high);
        if moved(middle)?.abs() < wanted.abs() {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(high)
}

/// A quoted result at each place, SI.
pub(crate) fn figures(board: &Board, claim: &Claim, result: FigureOf) -> Option<Vec<(f64, f64)>> {
    let base = system::settled(board_of(board, claim));
    let channel = base.channels.get(claim.channel)?;
    let study = Study::new(&base, channel).ok()?;
    let (low, high) = channel.span.value;
    let step = 1e-4 * (high - low);
    Some(
        places(channel, claim)
            .into_iter()
            .map(|q| {
                let at = |output| study.at_quantity(output, q);
                let value = match result {
                    FigureOf::PinVoltage => at(VOLT),
                    FigureOf::Reference => at(REFERENCE),
                    FigureOf::Code => at(CODE),
                    FigureOf::Reading => at(READING),
                    FigureOf::Error => at(ERROR),
                    FigureOf::CodesPerVolt => study.codes_per_volt(),
                    FigureOf::CodeWidth => {
                        let (a, b) = (q - 0.5 * step, q + 0.5 * step);
                        let codes = study.at_quantity(CODE, b) - study.at_quantity(CODE, a);
                        (step / codes).abs()
                    }
                };
                (q, value)
            })
            .collect(),
    )
}
