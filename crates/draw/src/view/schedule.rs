//! Schedules: whose turn it is when, and what settling leaves.

use report::{ConverterSchedule, Schedule, Turn, number};

use super::without;
use crate::{Bar, Bars, Block, Picture, Row, Sheet, Timeline};

/// Blocks of one channel beyond which they are drawn as one.
const BLOCKS: u32 = 64;

/// Errors below this are not told apart, codes.
const LEAST_CODES: f64 = 0.001;

/// The sheet of a schedule: for each converter one sequence, a row for each
/// channel, and what settling leaves of each.
#[must_use]
pub fn schedule(s: &Schedule) -> Sheet {
    let shown: Vec<&ConverterSchedule> = s
        .converters
        .iter()
        .filter(|c| c.reason.is_empty())
        .collect();
    let mut pictures = Vec::new();
    for c in &shown {
        pictures.push(Picture::Timeline(timeline(c)));
        pictures.extend(errors(c).map(Picture::Bars));
    }
    let none = s.converters.iter().map(|c| (&*c.name, &*c.reason));
    pictures.extend(without(none).map(Picture::Words));
    let description = shown
        .iter()
        .map(|c| sentence(c))
        .collect::<Vec<_>>()
        .join(" ");
    Sheet {
        title: format!("{}: schedule", s.board),
        lead: description.clone(),
        description,
        pictures,
    }
}

/// One converter in words.
fn sentence(c: &ConverterSchedule) -> String {
    let time = |s: f64| number::about(s, "s");
    let turns = if c.turns.len() == 1 { "turn" } else { "turns" };
    format!(
        "{}: {} {turns} in {}, again every {}, busy {} of the time.",
        c.name,
        c.turns.len(),
        time(c.sequence_s),
        time(c.period_s),
        number::share(c.busy)
    )
}

fn timeline(c: &ConverterSchedule) -> Timeline {
    // A long pause is said, not drawn: the turns would be too thin to see.
    let drawn = c.busy >= 0.2 && c.period_s > 0.0;
    let end_s = if drawn { c.period_s } else { c.sequence_s };
    let mut rows: Vec<Row> = c.turns.iter().map(row).collect();
    let pause = c.period_s - c.sequence_s;
    if pause > 1e-9 * c.period_s {
        rows.push(Row {
            name: "waits".to_owned(),
            blocks: if drawn {
                vec![Block {
                    from_s: c.sequence_s,
                    to_s: c.period_s,
                    kind: 2,
                }]
            } else {
                Vec::new()
            },
            note: format!("{} until the next sequence", number::about(pause, "s")),
        });
    }
    Timeline {
        heading: format!("{}: one sequence", c.name),
        label: "time in the sequence".to_owned(),
        end_s,
        kinds: ["acquire", "convert", "wait"].map(str::to_owned).to_vec(),
        rows,
    }
}

fn row(t: &Turn) -> Row {
    let one = t.acquire_s + t.convert_s;
    let mut blocks = Vec::new();
    if t.repeats > BLOCKS {
        let whole = one * f64::from(t.repeats);
        let acquire = whole * t.acquire_s / one;
        blocks.extend([
            (t.from_s, t.from_s + acquire, 0),
            (t.from_s + acquire, t.from_s + whole, 1),
        ]);
    } else {
        for n in 0..t.repeats {
            let from = t.from_s + one * f64::from(n);
            let sampled = from + t.acquire_s;
            blocks.extend([(from, sampled, 0), (sampled, from + one, 1)]);
        }
    }
    let mut note = if t.acquire_s > 0.0 {
        format!(
            "acquires {}, converts {}",
            number::about(t.acquire_s, "s"),
            number::about(t.convert_s, "s")
        )
    } else {
        // A converter that averages takes no sample at an instant.
        format!("averages {}", number::about(t.convert_s, "s"))
    };
    if t.repeats > 1 {
        note.push_str(&format!(", {} in a row", t.repeats));
    }
    if t.repeats > BLOCKS {
        note.push_str(" (drawn as one)");
    }
    note.push_str(&format!(
        "; {} readings a second",
        number::about(t.rate_hz, "")
    ));
    Row {
        name: t.channel.clone(),
        blocks: blocks
            .into_iter()
            .map(|(from_s, to_s, kind)| Block { from_s, to_s, kind })
            .collect(),
        note,
    }
}

/// The largest error of each turn beside what is taken for none.
fn errors(c: &ConverterSchedule) -> Option<Bars> {
    let bars: Vec<Bar> = c
        .turns
        .iter()
        .filter_map(|t| {
            let worst = t.worst.as_ref()?;
            Some(Bar {
                name: t.channel.clone(),
                value: worst.codes.abs(),
                text: if worst.codes.abs() < LEAST_CODES {
                    format!("less than {} codes", number::short(LEAST_CODES))
                } else {
                    format!(
                        "{} codes, {}",
                        number::measured(worst.codes, "", 2),
                        number::measured(worst.error, &t.error_unit, 2)
                    )
                },
                note: t.proposal.clone(),
                kind: usize::from(t.settles == Some(false)),
            })
        })
        .collect();
    let limit = c.turns.first().map_or(0.25, |t| t.limit_codes);
    (!bars.is_empty()).then(|| Bars {
        heading: format!("{}: what settling leaves", c.name),
        kinds: vec![
            format!("within {} code", number::short(limit)),
            "more".to_owned(),
        ],
        bars,
    })
}
