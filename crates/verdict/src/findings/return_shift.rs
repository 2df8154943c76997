//! A current through a shared return lifts what a sensor stands on.

use board::Board;
use finding::{Finding, Kind, Severity};
use parts::Figure;
use report::number;

use super::{Entry, Scene};
use crate::known;
use crate::rails::shifted;
use crate::study::Study;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "return.shift",
        severity: Severity::Note,
        title: "A shared return lifts the ground of a sensor",
        explanation: include_str!("pages/return.shift.md"),
    },
    look,
};

/// Rejection of the common mode taken where the converter's part says none
/// (common practice for a differential input).
const REJECTION: f64 = 1000.0;

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for (i, r) in scene.system.returns.iter().enumerate() {
        for &c in &r.channels {
            found.extend(one(kind, scene.board, i, r, c));
        }
    }
}

fn one(
    kind: &Kind,
    board: &Board,
    i: usize,
    r: &system::returns::Return,
    c: usize,
) -> Option<Finding> {
    let channel = board.channels.get(c)?;
    let shift = shifted(board, i, c)?;
    let study = Study::new(board, channel).ok()?;
    let point = known::Point {
        right: shift.at,
        read: shift.at + shift.error,
    };
    // What is far below any need is not worth a line.
    let severity = known::severity(&study, point)?;
    let volt = |v: f64| number::about(v, "V");
    let mut f = Finding::new(
        kind,
        &channel.name,
        format!(
            "{} lifts what the sensor stands on by {}: {} at {}",
            r.name,
            volt(r.volt.2 * r.left),
            known::off_by(&study, shift.error),
            study.value(shift.at)
        ),
    )
    .severity(severity)
    .at(r.span)
    .working(format!(
        "{} · {} = {}",
        number::about(r.ampere.2, "A"),
        number::about(r.ohm.2, "Ω"),
        volt(r.volt.2)
    ));
    for (name, ohm, source) in &r.pieces {
        f = f.figure(name, number::about(*ohm, "Ω"), source.clone());
    }
    for &p in &shift.points {
        f = f.working(known::reads(&study, p));
    }
    if let Some(codes) = shift.codes {
        f = f.working(format!(
            "{} codes at the converter, at most",
            number::measured(codes, "", 2)
        ));
    }
    if r.left >= 1.0 {
        let (ratio, source) = rejection(board, channel);
        f = f.remedy(format!(
            "measure against the sensor's own foot, with a sense wire or a differential input: a rejection of {} ({source}) leaves {}",
            quantity::plain(ratio, 3),
            study.size(shift.error.abs() / ratio, 2)
        ));
    }
    if let Some(limit) = channel.limit_at(shift.at) {
        let most = r.ohm.2 * limit * board.judging.known_error / shift.error.abs();
        f = f.remedy(format!(
            "or a return of {} or less for the sensor: then the error is {} of the accuracy",
            number::measured(most, "Ω", 2),
            number::share(board.judging.known_error)
        ));
    }
    Some(f.remedy(
        "or a return of its own for the sensor, joined at the converter's minus".to_owned(),
    ))
}

/// Common-mode rejection of the channel's converter, and where it was read.
fn rejection(board: &Board, channel: &board::Channel) -> (f64, String) {
    let figure = channel.input.as_ref().and_then(|input| {
        let device = board.devices.get(input.device)?;
        let unit = device.part.converters.get(input.unit)?;
        unit.figure("common-mode-rejection")
    });
    let value = figure.and_then(|f: &Figure| f.min.or_else(|| f.typical()));
    match (value, figure) {
        (Some(ratio), Some(f)) if ratio > 1.0 => (ratio, f.source.to_string()),
        _ => (REJECTION, "common practice".to_owned()),
    }
}
