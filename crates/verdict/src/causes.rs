//! Causes of error that can be taken away: the board without one of them, and
//! what the readings would then be.

use std::sync::Arc;

use board::{Board, Channel};
use chain::channel::ERROR;
use parts::{ConverterUnit, Part};

use crate::known::{self, Point};
use crate::study::Study;

/// A board with one channel changed.
pub(crate) fn with_channel(
    board: &Board,
    name: &str,
    change: impl FnOnce(&mut Channel),
) -> Option<Board> {
    let mut changed = board.clone();
    change(changed.channels.iter_mut().find(|c| c.name == name)?);
    Some(changed)
}

/// A board with the converter unit that a channel enters changed.
pub(crate) fn with_converter(
    board: &Board,
    channel: &Channel,
    change: impl FnOnce(&mut ConverterUnit, &mut Part),
) -> Option<Board> {
    let input = channel.input.as_ref()?;
    let mut changed = board.clone();
    let device = changed.devices.get_mut(input.device)?;
    let mut part = Part::clone(&device.part);
    let mut unit = part.converters.get(input.unit)?.clone();
    change(&mut unit, &mut part);
    *part.converters.get_mut(input.unit)? = unit;
    device.part = Arc::new(part);
    Some(changed)
}

/// Something of the same channel on a changed board.
pub(crate) fn on<T>(changed: &Board, name: &str, look: impl FnOnce(&Study<'_>) -> T) -> Option<T> {
    let channel = changed.channels.iter().find(|c| c.name == name)?;
    Study::new(changed, channel).ok().map(|s| look(&s))
}

/// What a cause does to the readings, everything nominal: at the marks of the
/// span the value, and the reading that the cause alone would make of it. Marks
/// at which the codes end, with the cause or without it, say nothing and are
/// left out.
pub(crate) fn effect(study: &Study<'_>, without: &Board) -> Option<Vec<Point>> {
    let marks = known::marks(study.channel);
    let bare = on(without, &study.channel.name, |s| {
        marks
            .iter()
            .map(|&q| (s.at_quantity(ERROR, q), s.is_on_scale(q)))
            .collect::<Vec<(f64, bool)>>()
    })?;
    let points: Vec<Point> = marks
        .iter()
        .zip(&bare)
        .filter(|&(&q, (_, on_scale))| *on_scale && study.is_on_scale(q))
        .map(|(&q, (e, _))| Point {
            right: q,
            read: q + study.at_quantity(ERROR, q) - e,
        })
        .collect();
    points.iter().all(|p| p.read.is_finite()).then_some(points)
}
