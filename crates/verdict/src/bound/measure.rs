//! Results that a question may be about, measured on one channel.

use board::{Board, Channel};
use chain::channel::{CODE, ERROR};
use uncertainty::{Settings, evaluate, propagate, screened, worst_case};

use super::BoundFault;
use crate::limits;
use crate::study::Study;
use crate::words;

/// A result that a question may be about.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Sought {
    /// Half-width of the error at the probability asked, by sampling, its
    /// numerical uncertainty added, so that `check` agrees.
    HalfWidth,
    /// The same by propagation.
    Propagation,
    /// The worst case.
    WorstCase,
    /// The half-width in codes of the converter.
    CodeError,
    /// The share of boards that meet the need everywhere.
    Yield,
    /// How far the reading moves from what the board as written gives, the
    /// firmware staying as it is and all else nominal.
    Shift,
    /// The same in codes.
    CodeShift,
    /// Something that must hold, by its kind: what is left of it.
    Check(String),
}

/// Their words.
const WORDS: &[(&str, Sought, &str)] = &[
    (
        "half-width",
        Sought::HalfWidth,
        "half-width of the error by Monte Carlo, its numerical uncertainty added",
    ),
    (
        "propagation",
        Sought::Propagation,
        "half-width of the error by propagation",
    ),
    ("worst-case", Sought::WorstCase, "worst case of the error"),
    (
        "code-error",
        Sought::CodeError,
        "half-width of the error by Monte Carlo, its numerical uncertainty added, in codes",
    ),
    (
        "yield",
        Sought::Yield,
        "share of boards that meet the need everywhere",
    ),
    (
        "shift",
        Sought::Shift,
        "shift of the reading, the firmware as it is and all else nominal",
    ),
    (
        "code-shift",
        Sought::CodeShift,
        "shift of the code, all else nominal",
    ),
];

impl Sought {
    /// The result of this name; the kinds of checks of a board are such
    /// names too.
    #[must_use]
    pub fn named(word: &str) -> Option<Sought> {
        WORDS
            .iter()
            .find(|(w, ..)| *w == word)
            .map(|(_, s, _)| s.clone())
    }

    /// The names that every board has.
    pub fn names() -> impl Iterator<Item = &'static str> {
        WORDS.iter().map(|(w, ..)| *w)
    }

    /// In words.
    #[must_use]
    pub fn meaning(&self) -> String {
        match self {
            Sought::Check(kind) => format!("{kind}: what there is, on the worst board"),
            other => WORDS
                .iter()
                .find(|(_, s, _)| s == other)
                .map_or_else(String::new, |(.., m)| (*m).to_owned()),
        }
    }

    /// Sampling leaves a rest of chance, so that a border cannot be closed in
    /// on further.
    pub(super) fn tolerance(&self) -> f64 {
        match self {
            Sought::HalfWidth | Sought::CodeError | Sought::Yield => 1e-3,
            _ => 1e-6,
        }
    }
}

/// What was measured.
#[derive(Clone, Debug)]
pub(super) struct Measured {
    /// The result, in `unit`.
    pub value: f64,
    /// What it is to stay within (above, for a yield).
    pub limit: f64,
    /// Unit of both.
    pub unit: String,
    /// Below or at zero while it is within.
    pub excess: f64,
    /// What decides.
    pub decides: String,
    /// Channel.
    pub channel: String,
}

/// What is measured, and against what.
pub(super) struct Measuring<'a> {
    pub sought: &'a Sought,
    /// Limit asked for, SI (codes, share); otherwise the need.
    pub limit: Option<f64>,
    /// The board as written.
    pub written: &'a std::sync::Arc<Board>,
}

impl Measuring<'_> {
    /// The result on one channel of a board that may be changed.
    pub fn channel(&self, board: &Board, name: &str) -> Result<Measured, BoundFault> {
        let settled = system::settled(board);
        let board = settled.as_ref();
        let channel = board
            .channels
            .iter()
            .find(|c| c.name == name)
            .ok_or_else(|| BoundFault::new(format!("there is no channel `{name}`")))?;
        let mut believing;
        let channel = match self.sought {
            Sought::Shift => {
                believing = channel.clone();
                // The firmware goes on believing what is written.
                if believing.conversion.assumed.is_none() {
                    believing.conversion.assumed = Some(self.written.clone());
                }
                &believing
            }
            _ => channel,
        };
        let timing = crate::timing::of_channel(board, name);
        let study = Study::timed(board, channel, &timing)
            .map_err(|f| BoundFault::new(format!("{name}: {}", f.message)))?;
        let fault = |f: uncertainty::ModelFault| BoundFault::new(format!("{name}: {f}"));
        match self.sought {
            Sought::HalfWidth | Sought::CodeError => {
                let few = Settings {
                    // Not needed here.
                    most_boards: 1,
                    ..settings(board)
                };
                let found = evaluate(&study.lean, &few, &|_| {}).map_err(fault)?;
                let worst = found
                    .sampled
                    .iter()
                    .max_by(|a, b| a.measure().total_cmp(&b.measure()))
                    .ok_or_else(|| BoundFault::new(format!("{name}: nothing to sample")))?;
                let size = worst.sampled.half_width + worst.sampled.half_width_tolerance;
                let decides = decides(&found.propagated_there, &study);
                if *self.sought == Sought::CodeError {
                    let codes = size / code_width(&study).ok_or_else(|| no_codes(name))?;
                    return self.within(&study, codes, "codes", Some(0.5), decides);
                }
                self.error(&study, size, worst.limit, decides)
            }
            Sought::Propagation => {
                let mut worst: Option<(f64, f64, Option<f64>, Vec<f64>)> = None;
                let grid = screened(&study.lean, board.judging.probability).map_err(fault)?;
                for p in grid {
                    let limit = self.need(&study, &p.conditions);
                    let measure = p.half_width / limit.unwrap_or(1.0);
                    if worst.as_ref().is_none_or(|w| !(measure <= w.0)) {
                        worst = Some((measure, p.half_width, limit, p.conditions));
                    }
                }
                let (_, size, limit, at) =
                    worst.ok_or_else(|| BoundFault::new(format!("{name}: no conditions")))?;
                let there =
                    propagate(&study.lean, &at, board.judging.probability).map_err(fault)?;
                self.error(&study, size, limit, decides(&there, &study))
            }
            Sought::WorstCase => {
                let found = worst_case(&study.lean).map_err(fault)?;
                let worse = found.worse();
                let limit = self.need(&study, &worse.conditions);
                let there = propagate(&study.lean, &worse.conditions, board.judging.probability)
                    .map_err(fault)?;
                self.error(&study, worse.error.abs(), limit, decides(&there, &study))
            }
            Sought::Yield => {
                let found = evaluate(&study.lean, &settings(board), &|_| {}).map_err(fault)?;
                let boards = found.boards.as_ref().ok_or_else(|| {
                    BoundFault::new(format!("channel {name} has no accuracy to meet"))
                })?;
                let limit = self.limit.unwrap_or(0.99);
                Ok(Measured {
                    value: boards.share,
                    limit,
                    unit: String::new(),
                    excess: limit - boards.share,
                    decides: decides(&found.propagated_there, &study),
                    channel: name.to_owned(),
                })
            }
            Sought::Shift => {
                let written = self.as_written(name)?;
                let moved = largest_move(&study, &written, ERROR);
                let limit = self.need(&study, &study.usual_conditions());
                self.error(&study, moved, limit, String::new())
            }
            Sought::CodeShift => {
                let written = self.as_written(name)?;
                if study.codes.is_none() {
                    return Err(no_codes(name));
                }
                let moved = largest_move(&study, &written, CODE);
                self.within(&study, moved, "codes", Some(0.5), String::new())
            }
            Sought::Check(kind) => {
                let looked = study
                    .checks
                    .iter()
                    .filter(|c| c.kind == kind)
                    .map(|c| limits::look(&study, c))
                    .min_by(|a, b| a.worst.margin.total_cmp(&b.worst.margin))
                    .ok_or_else(|| BoundFault::new(format!("channel {name} has no `{kind}`")))?;
                let scale = looked.worst.limit.abs().max(f64::MIN_POSITIVE);
                Ok(Measured {
                    value: looked.worst.actual,
                    limit: looked.worst.limit,
                    unit: unit_of_check(kind).to_owned(),
                    excess: -looked.worst.margin / scale,
                    decides: looked.check.name.clone(),
                    channel: name.to_owned(),
                })
            }
        }
    }

    fn as_written(&self, name: &str) -> Result<Study<'_>, BoundFault> {
        let channel: &Channel = self
            .written
            .channels
            .iter()
            .find(|c| c.name == name)
            .ok_or_else(|| BoundFault::new(format!("there is no channel `{name}`")))?;
        let timing = crate::timing::of_channel(self.written, name);
        Study::timed(self.written, channel, &timing)
            .map_err(|f| BoundFault::new(format!("{name}: {}", f.message)))
    }

    /// The limit asked for, or the need at these conditions; SI.
    fn need(&self, study: &Study<'_>, conditions: &[f64]) -> Option<f64> {
        self.limit
            .or_else(|| study.channel.limit_at(*conditions.first()?))
    }

    /// An error, SI, against its limit.
    fn error(
        &self,
        study: &Study<'_>,
        size: f64,
        need: Option<f64>,
        decides: String,
    ) -> Result<Measured, BoundFault> {
        let name = &study.channel.name;
        let limit = self.limit.or(need).ok_or_else(|| {
            BoundFault::new(format!("channel {name} has no accuracy to stay within"))
                .expecting("--limit, such as --limit \"0.3 °C\"")
        })?;
        let unit = &study.channel.unit;
        Ok(Measured {
            value: unit.number_of_difference(size),
            limit: unit.number_of_difference(limit),
            unit: words::error_unit(study.channel).to_owned(),
            excess: size / limit - 1.0,
            decides,
            channel: name.clone(),
        })
    }

    fn within(
        &self,
        study: &Study<'_>,
        value: f64,
        unit: &str,
        usual: Option<f64>,
        decides: String,
    ) -> Result<Measured, BoundFault> {
        let limit = self.limit.or(usual).unwrap_or(f64::NAN);
        Ok(Measured {
            value,
            limit,
            unit: unit.to_owned(),
            excess: value / limit - 1.0,
            decides,
            channel: study.channel.name.clone(),
        })
    }
}

/// Unit of what a check compares, by the words of its kind.
fn unit_of_check(kind: &str) -> &'static str {
    let has = |words: &[&str]| kind.split('-').any(|w| words.contains(&w));
    if has(&["gain"]) {
        ""
    } else if has(&["capacitance"]) {
        "F"
    } else if has(&["power"]) {
        "W"
    } else if has(&["heating"]) {
        "K"
    } else if has(&["timer"]) {
        "Hz"
    } else if has(&["current", "load", "sink", "source", "into"]) {
        "A"
    } else {
        "V"
    }
}

/// How much work one board is worth.
fn settings(board: &Board) -> Settings {
    Settings {
        probability: board.judging.probability,
        ..Settings::default()
    }
}

fn no_codes(name: &str) -> BoundFault {
    BoundFault::new(format!(
        "channel {name} enters no converter, so it has no codes"
    ))
}

/// Width of the narrowest code at the ends of the span, SI.
fn code_width(study: &Study<'_>) -> Option<f64> {
    let signal = study.signal()?;
    let narrow = signal.code_width_low.min(signal.code_width_high);
    (narrow > 0.0).then_some(narrow * study.channel.unit.factor)
}

/// Largest difference of an output over the conditions, all else nominal.
fn largest_move(changed: &Study<'_>, written: &Study<'_>, output: usize) -> f64 {
    // The changed board may have other conditions; the same point of the
    // grid is compared.
    let (there, before) = (changed.model.grid(), written.model.grid());
    there
        .iter()
        .zip(&before)
        .map(|(a, b)| (changed.nominal(output, a) - written.nominal(output, b)).abs())
        .fold(0.0, |most, x| if x <= most { most } else { x })
}

fn decides(there: &uncertainty::Propagated, study: &Study<'_>) -> String {
    words::decides(&crate::judge::contributors(study, there))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn checks_have_the_unit_that_findings_talk_about_them_with() {
        let here = concat!(env!("CARGO_MANIFEST_DIR"), "/src/findings");
        let mut seen = 0;
        for entry in std::fs::read_dir(here).unwrap() {
            let Ok(text) = std::fs::read_to_string(entry.unwrap().path()) else {
                continue;
            };
            let value = |line: &str, key: &str| {
                let rest = line.trim().strip_prefix(key)?;
                Some(rest.trim_matches(['"', ',']).to_owned())
            };
            let mut kind: Option<String> = None;
            for line in text.lines() {
                if let Some(k) = value(line, "check: ") {
                    kind = Some(k);
                }
                if let (Some(k), Some(unit)) = (&kind, value(line, "unit: ")) {
                    assert_eq!(unit_of_check(k), unit, "{k}");
                    seen += 1;
                    kind = None;
                }
            }
        }
        assert!(seen > 15, "{seen}");
    }
}
