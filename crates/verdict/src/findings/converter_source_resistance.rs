//! A source of more resistance than the converter's maker allows.

use board::Board;
use chain::time::schedule::{Schedule, Turn};
use chain::time::settle::Unsettled;
use finding::{Finding, Kind, Severity};
use parts::{Column, Figure};
use quantity::Dimension;
use report::number;

use super::{Entry, Scene};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "converter.source-resistance",
        severity: Severity::Note,
        title: "The source has more resistance than the maker allows",
        explanation: include_str!("pages/converter.source-resistance.md"),
    },
    look,
};

/// Codes within which a sample counts as settled.
const QUARTER_CODE: f64 = 0.25;
/// Codes that nobody would tell.
const NOTHING: f64 = 0.01;

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for converter in &scene.timing.converters {
        let Ok(scan) = &converter.scan else { continue };
        for u in &scan.channels {
            found.extend(finding(kind, scene.board, &converter.schedule, u));
        }
    }
}

fn finding(kind: &Kind, board: &Board, schedule: &Schedule, u: &Unsettled) -> Option<Finding> {
    let device = board.devices.get(schedule.device)?;
    let unit = device.part.converters.get(schedule.unit)?;
    let channel = board.channels.get(u.channel)?;
    let turn = schedule.turn(u.channel)?;
    let figure = unit.figures.get("source-resistance-limit")?;
    // A table against cycles holds at the clock it was made for, the largest.
    let clock = unit.figures.get("clock").and_then(|f| f.max);
    let rule = Rule { figure, clock };
    let allowed = rule.at(turn)?;
    if u.source_ohm <= allowed {
        return None;
    }
    let ohm = |x: f64| number::measured(x, "Ω", 3);
    let time = |s: f64| number::measured(s, "s", 3);
    let mut f = Finding::new(
        kind,
        &channel.name,
        format!(
            "the source has {} and is acquired for {}; the data sheet allows {}",
            ohm(u.source_ohm),
            time(turn.acquire_s),
            ohm(allowed)
        ),
    )
    .at(channel.input.as_ref().map(|i| i.span))
    .at(channel.acquisition.map(|a| a.span))
    .figure(
        &figure.name,
        format!("{} {}", figure.text, figure.conditions)
            .trim()
            .to_owned(),
        figure.source.to_string(),
    );
    let codes = u.largest_codes();
    f = f.working(format!(
        "computed with the network and the neighbours there are, {}",
        if codes <= NOTHING {
            "the sample settles to less than a hundredth of a code all the same".to_owned()
        } else if codes <= QUARTER_CODE {
            format!(
                "the sample settles to {} codes all the same",
                quantity::plain(codes, 2)
            )
        } else {
            format!("{} codes are missing", quantity::plain(codes, 2))
        }
    ));
    if let Some(seconds) = rule.enough_s(u.source_ohm) {
        f = f.remedy(format!(
            "an acquisition of {} or more, by that table",
            time(seconds)
        ));
    }
    Some(f.remedy(format!(
        "or a source of at most {}, or a buffer",
        ohm(allowed)
    )))
}

/// What a data sheet says of sources.
struct Rule<'b> {
    figure: &'b Figure,
    clock: Option<f64>,
}

impl Rule<'_> {
    /// Largest resistance allowed for a turn, Ω: by the table as far as it
    /// goes, beyond its end only the largest that is allowed at all.
    fn at(&self, turn: &Turn) -> Option<f64> {
        let most = self.figure.column(Column::Max);
        let place = match self.figure.variable {
            Some(Dimension::TIME) => Some(turn.acquire_s),
            Some(Dimension::NONE) => match self.clock {
                Some(hz) => Some(turn.acquire_s * hz),
                None => turn.cycles,
            },
            _ => None,
        };
        let last = self.figure.points.last().map(|p| p.0);
        let of_table = place
            .filter(|x| most.is_none() || last.is_some_and(|end| *x <= end))
            .and_then(|x| self.figure.at(x));
        match (of_table, most) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (one, other) => one.or(other),
        }
    }

    /// Shortest acquisition of the table that allows a resistance, s.
    fn enough_s(&self, ohm: f64) -> Option<f64> {
        let &(x, _) = self.figure.points.iter().find(|(_, y)| *y >= ohm)?;
        match self.figure.variable {
            Some(Dimension::TIME) => Some(x),
            Some(Dimension::NONE) => Some(x / self.clock?),
            _ => None,
        }
    }
}
