//! What rails, heat and returns do to the channels, written into the board.

use std::borrow::Cow;

use board::{Board, RailSource, Supply, Surroundings, Swing};

use crate::{heat, rails, returns};

/// The board with what its rails, its heat and its shared returns do to its
/// channels, so that their models tell of it: the same board where nothing of
/// that kind is written.
#[must_use]
pub fn settled(board: &Board) -> Cow<'_, Board> {
    let fed = board.rails.iter().any(|r| {
        let p = &r.power;
        p.source_resistance.is_some()
            || p.cable.is_some()
            || matches!(&r.source, RailSource::Regulator { part, .. } if part.kind == "diode")
            || p.connector.as_ref().is_some_and(|c| c.contact.is_some())
            || p.battery.as_ref().is_some_and(|b| !b.cell_ohm.is_empty())
    });
    // A clamp must bring less into a rail than the rail gives away.
    let clamped: Vec<usize> = board
        .channels
        .iter()
        .flat_map(|c| &c.chain)
        .filter(|s| s.kind == "clamp")
        .filter_map(|s| match s.supply("to")?.value {
            Supply::Rail(i) => Some(i),
            _ => None,
        })
        .collect();
    let quiet = !fed && clamped.is_empty() && board.heats.is_empty() && board.returns.is_empty();
    if quiet || !board.surroundings.is_quiet() {
        return Cow::Borrowed(board);
    }
    let loads = rails::gather(board);
    let power = rails::solve(board, &loads);
    let heats = heat::analyse(board, &power);
    let found = returns::analyse(board, &loads, &power);
    let mut around = Surroundings::default();
    for (i, (rail, state)) in board.rails.iter().zip(&power.rails).enumerate() {
        let (low, usual, high) = state.sag_v();
        if high > 0.0 && high.is_finite() && usual.is_finite() {
            around.rail_sag_v.insert(
                i,
                Swing {
                    low: low.min(usual),
                    usual,
                    high: high.max(usual),
                    cause: format!("rail {}, load", rail.name),
                    span: rail.span,
                },
            );
        }
    }
    for rail in clamped {
        let unknown = loads.unknown.iter().any(|u| u.0 == rail);
        let least = power.rails.get(rail).map_or(0.0, |r| r.least_a);
        if !unknown && least > 0.0 {
            around.rail_load_a.insert(rail, least);
        }
    }
    heat::surround(board, &heats, &mut around);
    returns::surround(&found, &mut around);
    Cow::Owned(Board {
        surroundings: around,
        ..board.clone()
    })
}

/// The board as it was read, with nothing around its channels.
pub(crate) fn quiet(board: &Board) -> Cow<'_, Board> {
    if board.surroundings.is_quiet() {
        return Cow::Borrowed(board);
    }
    Cow::Owned(Board {
        surroundings: Surroundings::default(),
        ..board.clone()
    })
}
