//! The inverse question: how far may one value of the board go?

mod measure;
mod setting;

use std::cell::RefCell;
use std::sync::Arc;

use board::Board;
use finding::{SourceId, nearest_of};
use parts::Library;
use quantity::{Dimension, Series};
use report::{Bound, Buy, Found, Sweep};
use uncertainty::inverse::{Answer, Search, largest, smallest};

use measure::{Measured, Measuring};
pub(crate) use setting::Varied;

pub use measure::Sought;

/// What of a value is varied.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Vary {
    /// Its nominal value.
    Value,
    /// Its tolerance.
    Tolerance,
    /// Its drift with temperature.
    Drift,
    /// The lower end of a range.
    Low,
    /// The upper end of a range.
    High,
}

/// The question.
#[derive(Clone, Debug)]
pub struct Ask<'a> {
    /// Path of the value, such as `channels.tank-1.chain.pull-up`.
    pub path: &'a str,
    /// What of it is varied.
    pub vary: Vary,
    /// Channel whose result is meant; that of the path, or all, where none is
    /// named.
    pub channel: Option<&'a str>,
    /// The result.
    pub sought: Sought,
    /// The limit it stays within, in words; the need where none is given.
    pub limit: Option<&'a str>,
    /// Whether the largest value is asked for, or the smallest.
    pub largest: bool,
    /// Lower end of the range looked at, in words.
    pub from: Option<&'a str>,
    /// Upper end.
    pub to: Option<&'a str>,
}

/// The board file the question is about.
pub struct BoardFile<'a> {
    /// Which text it is.
    pub source: SourceId,
    /// The text.
    pub text: &'a str,
    /// Parts it may name.
    pub library: &'a Library,
    /// The board as written.
    pub board: Board,
}

/// Why the question cannot be answered.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BoundFault {
    /// What is wrong.
    pub message: String,
    /// What was expected; empty for nothing in particular.
    pub expected: String,
    /// The nearest right spelling.
    pub suggestion: Option<String>,
}

impl BoundFault {
    fn new(message: impl Into<String>) -> Self {
        BoundFault {
            message: message.into(),
            expected: String::new(),
            suggestion: None,
        }
    }

    fn expecting(mut self, expected: &str) -> Self {
        expected.clone_into(&mut self.expected);
        self
    }

    fn suggest<'a>(mut self, word: &str, known: impl Iterator<Item = &'a str>) -> Self {
        self.suggestion = nearest_of(word, known).map(str::to_owned);
        self
    }
}

/// How far one value of the board may go for a result to stay within its
/// limit; `told` is called with the number of boards looked at.
///
/// The file is read anew with every value tried, so that whatever follows
/// from it (the firmware's conversion among it, unless the result is a shift)
/// follows here too.
///
/// # Errors
/// The path, the channel, the result or a limit cannot be used, or the board
/// as written has no such result.
pub fn bound(
    file: BoardFile<'_>,
    ask: &Ask<'_>,
    told: &dyn Fn(usize),
) -> Result<Bound, BoundFault> {
    let vocabulary = chain::vocabulary();
    let setting = board::locate(file.text, ask.path).map_err(|f| {
        let last = ask.path.rsplit('.').next().unwrap_or(ask.path);
        let missing = f.message.rsplit('`').nth(1).unwrap_or(last).to_owned();
        let fault = BoundFault::new(format!("`{}` leads nowhere: {}", ask.path, f.message));
        if f.known.is_empty() {
            fault.expecting(&format!(
                "a value that the file has: write `{missing}` where it belongs, then ask how far it may go"
            ))
        } else {
            fault
                .expecting(&format!("one of {}", f.known.join(", ")))
                .suggest(&missing, f.known.iter().map(String::as_str))
        }
    })?;
    if let Some(need) = need_of(ask.path) {
        return Err(BoundFault::new(format!(
            "`{}` is the limit itself: no value of it changes what the board does",
            ask.path
        ))
        .expecting(&format!(
            "the path of a value of the circuit; `leastbit check` tells which {need} it holds"
        )));
    }
    let quoted = file
        .text
        .as_bytes()
        .get(setting.span.range().start)
        .is_some_and(|b| matches!(b, b'"' | b'\''));
    let varied = Varied::new(&setting, quoted, ask.vary)?;
    let written = Arc::new(file.board);
    let as_written = Arc::new(system::settled(&written).into_owned());
    let channels = channels(&written, ask)?;
    let limit = limit(&written, &channels, ask)?;
    known_check(&written, &channels, &ask.sought)?;
    let measuring = Measuring {
        sought: &ask.sought,
        limit,
        written: &as_written,
    };
    let measure = |board: &Board| -> Result<Measured, BoundFault> {
        let mut worst: Option<Measured> = None;
        for name in &channels {
            let one = measuring.channel(board, name)?;
            if worst.as_ref().is_none_or(|w| !(one.excess <= w.excess)) {
                worst = Some(one);
            }
        }
        worst.ok_or_else(|| BoundFault::new("the board has no channel to measure"))
    };
    let as_written = measure(&written)?;
    let tried = RefCell::new(vec![]);
    let look = |x: f64| -> Option<f64> {
        let x = if varied.whole { x.round() } else { x };
        if let Some(excess) = known(&tried.borrow(), x) {
            return excess;
        }
        told(tried.borrow().len());
        let found = at(
            &file.source,
            file.text,
            file.library,
            &vocabulary,
            ask.path,
            &varied.with(x),
        )
        .and_then(|board| measure(&board));
        let excess = found.as_ref().ok().map(|m| m.excess);
        tried.borrow_mut().push((x, found));
        excess
    };
    let (low, high) = range(&varied, ask)?;
    let search = Search {
        tolerance: ask.sought.tolerance(),
        ..Search::default()
    };
    let answer = if ask.largest {
        largest(look, low, high, 0.0, &search)
    } else {
        smallest(look, low, high, 0.0, &search)
    };
    let tried = tried.into_inner();
    report(
        &written,
        ask,
        &varied,
        &setting,
        as_written,
        answer,
        tried,
        (low, high),
        &|x| {
            at(
                &file.source,
                file.text,
                file.library,
                &vocabulary,
                ask.path,
                &varied.with(x),
            )
            .and_then(|board| measure(&board))
        },
    )
    .map(|bound| {
        let found = match bound.found {
            Found::Value { value, .. } => Some(varied.unreported(value)),
            _ => None,
        };
        let there = found.and_then(|x| {
            let text = varied.with(x);
            at(
                &file.source,
                file.text,
                file.library,
                &vocabulary,
                ask.path,
                &text,
            )
            .ok()
        });
        Bound {
            breaks: there.map_or_else(Vec::new, |board| breaks(&written, &board, &channels)),
            ..bound
        }
    })
}

/// `accuracy` or `resolution` where the path is that of a channel's need.
fn need_of(path: &str) -> Option<&str> {
    let (place, last) = path.rsplit_once('.')?;
    let of_channel = place.starts_with("channels.") || place.starts_with("derived.");
    (of_channel && matches!(last, "accuracy" | "resolution")).then_some(last)
}

/// What else fails at the value found and does not as written: the results
/// asked about apart, findings about the channels meant.
fn breaks(written: &Board, there: &Board, channels: &[String]) -> Vec<String> {
    // Findings of the accuracy say what is asked, in other words.
    let quick = uncertainty::Settings {
        most_trials: 1 << 14,
        most_boards: 1 << 10,
        ..uncertainty::Settings::default()
    };
    let fails = |board: &Board| -> Vec<(String, String)> {
        crate::check_with(board, &finding::Sources::new(), &quick, &|_, _| {})
            .findings
            .into_iter()
            .filter(|f| {
                f.severity == finding::Severity::Fail
                    && !f.id.starts_with("accuracy.")
                    && f.subjects.iter().any(|s| channels.contains(s))
            })
            .map(|f| (f.id, f.headline))
            .collect()
    };
    let now = fails(there);
    if now.is_empty() {
        return Vec::new();
    }
    let before = fails(written);
    now.into_iter()
        .filter(|(id, _)| !before.iter().any(|(known, _)| known == id))
        .map(|(id, headline)| format!("{headline} ({id})"))
        .collect()
}

type Tried = (f64, Result<Measured, BoundFault>);

fn known(tried: &[Tried], x: f64) -> Option<Option<f64>> {
    tried
        .iter()
        .find(|(at, _)| *at == x)
        .map(|(_, m)| m.as_ref().ok().map(|m| m.excess))
}

/// The board with another text at the path.
fn at(
    source: &SourceId,
    text: &str,
    library: &Library,
    vocabulary: &board::Vocabulary,
    path: &str,
    value: &str,
) -> Result<Board, BoundFault> {
    let changed = board::with_value(text, path, value).map_err(|f| BoundFault::new(f.message))?;
    let (board, faults) = board::read(*source, &changed, library, vocabulary);
    board.ok_or_else(|| {
        BoundFault::new(faults.into_iter().next().map_or_else(
            || "the board cannot be read".to_owned(),
            |f| format!("with \"{value}\" the board cannot be read: {}", f.message),
        ))
    })
}

/// The channels whose result is meant.
fn channels(board: &Board, ask: &Ask<'_>) -> Result<Vec<String>, BoundFault> {
    let known: Vec<&str> = board.channels.iter().map(|c| c.name.as_str()).collect();
    let named = ask.channel.or_else(|| {
        let rest = ask.path.strip_prefix("channels.")?;
        known
            .iter()
            .copied()
            .find(|c| rest.strip_prefix(c).is_some_and(|r| r.starts_with('.')))
    });
    if let Some(name) = named {
        if known.contains(&name) {
            return Ok(vec![name.to_owned()]);
        }
        return Err(
            BoundFault::new(format!("the board has no channel `{name}`"))
                .expecting(&format!("one of {}", known.join(", ")))
                .suggest(name, known.iter().copied()),
        );
    }
    // All that can be asked: with a need, or with codes.
    let codes = matches!(ask.sought, Sought::CodeError | Sought::CodeShift);
    let check = match &ask.sought {
        Sought::Check(kind) => Some(kind),
        _ => None,
    };
    let some: Vec<String> = board
        .channels
        .iter()
        .filter(|c| match check {
            Some(kind) => kinds(board, &c.name).contains(kind),
            None if codes => c.input.is_some(),
            None => c.accuracy.is_some() || board.channels.len() == 1,
        })
        .map(|c| c.name.clone())
        .collect();
    if some.is_empty() {
        return Err(BoundFault::new("no channel of the board has such a result")
            .expecting(&format!("--channel: one of {}", known.join(", "))));
    }
    Ok(some)
}

/// The kinds of checks that a channel has.
fn kinds(board: &Board, name: &str) -> Vec<String> {
    board
        .channels
        .iter()
        .find(|c| c.name == name)
        .and_then(|c| crate::study::Study::new(board, c).ok())
        .map(|s| s.checks.iter().map(|c| c.kind.to_owned()).collect())
        .unwrap_or_default()
}

/// A result that is the name of a check must be one that a channel has.
fn known_check(board: &Board, channels: &[String], sought: &Sought) -> Result<(), BoundFault> {
    let Sought::Check(kind) = sought else {
        return Ok(());
    };
    let mut there: Vec<String> = channels.iter().flat_map(|c| kinds(board, c)).collect();
    there.sort();
    there.dedup();
    if there.contains(kind) {
        return Ok(());
    }
    let mut all: Vec<&str> = Sought::names().collect();
    all.extend(there.iter().map(String::as_str));
    Err(BoundFault::new(format!("there is no result `{kind}` here"))
        .expecting(&format!("one of {}", all.join(", ")))
        .suggest(kind, all.iter().copied()))
}

/// The limit asked for, in the unit results are compared in: SI, codes, or a
/// share.
fn limit(board: &Board, channels: &[String], ask: &Ask<'_>) -> Result<Option<f64>, BoundFault> {
    let Some(text) = ask.limit else {
        return Ok(None);
    };
    let plain = |what: &str| {
        let text = text
            .trim()
            .trim_end_matches("codes")
            .trim_end_matches("code")
            .trim_end();
        quantity::value(text, Dimension::NONE)
            .map(|q| q.value)
            .map_err(|f| BoundFault::new(format!("--limit: {}", f.message)).expecting(what))
    };
    let value = match &ask.sought {
        Sought::CodeError | Sought::CodeShift => plain("a number of codes, such as 0.5")?,
        Sought::Yield => {
            let share = plain("a share, such as \"99 %\"")?;
            if !(share > 0.0 && share <= 1.0) {
                return Err(
                    BoundFault::new(format!("--limit: {text} is no share of boards"))
                        .expecting("above 0 %, at most 100 %"),
                );
            }
            share
        }
        Sought::Check(_) => {
            return Err(BoundFault::new(
                "--limit: what must hold has its limit in a part's figures",
            ));
        }
        _ => {
            let mut dimension = None;
            for name in channels {
                let Some(c) = board.channels.iter().find(|c| c.name == *name) else {
                    continue;
                };
                if dimension.is_some_and(|d| d != c.dimension) {
                    return Err(BoundFault::new(
                        "--limit: the channels measure different quantities",
                    )
                    .expecting("--channel, to say which is meant"));
                }
                dimension = Some(c.dimension);
            }
            let text = text.trim().trim_start_matches('±').trim_start();
            quantity::difference(text, dimension.unwrap_or(Dimension::NONE))
                .map_err(|f| {
                    BoundFault::new(format!("--limit \"{text}\": {}", f.message))
                        .expecting(&f.expected)
                })?
                .value
        }
    };
    if value > 0.0 {
        Ok(Some(value))
    } else {
        Err(BoundFault::new(format!(
            "--limit: {text} is not above zero"
        )))
    }
}

/// The range looked at, in the unit written.
fn range(varied: &Varied, ask: &Ask<'_>) -> Result<(f64, f64), BoundFault> {
    let given = |text: Option<&str>| text.map(|t| varied.read(t)).transpose();
    let (from, to) = (given(ask.from)?, given(ask.to)?);
    let missing = || {
        BoundFault::new("nothing tells over which range to look")
            .expecting("--from and --to, such as --from \"1 Ω\" --to \"1 MΩ\"")
    };
    let usual = varied.usual;
    let low = from.or(usual.map(|u| u.0)).ok_or_else(missing)?;
    let high = to.or(usual.map(|u| u.1)).ok_or_else(missing)?;
    if low < high {
        Ok((low, high))
    } else {
        Err(BoundFault::new(format!(
            "the range from {} to {} is empty",
            varied.show(low),
            varied.show(high)
        ))
        .expecting("--from below --to"))
    }
}

#[allow(clippy::too_many_arguments, reason = "one caller, named values")]
fn report(
    board: &Board,
    ask: &Ask<'_>,
    varied: &Varied,
    setting: &board::Setting,
    as_written: Measured,
    answer: Answer,
    mut tried: Vec<Tried>,
    range: (f64, f64),
    measure: &dyn Fn(f64) -> Result<Measured, BoundFault>,
) -> Result<Bound, BoundFault> {
    tried.sort_by(|a, b| a.0.total_cmp(&b.0));
    let there = |x: f64| {
        tried
            .iter()
            .find(|(at, _)| *at == if varied.whole { x.round() } else { x })
            .and_then(|(_, m)| m.as_ref().ok())
    };
    let mut deciding = as_written.clone();
    let mut beyond = String::new();
    let found = match answer {
        Answer::NoRange => return Err(BoundFault::new("the range looked at is no range")),
        Answer::Always => Found::Always,
        Answer::Never => {
            // Why there is no result, if there is none anywhere.
            if tried.iter().all(|(_, m)| m.is_err())
                && let Some((_, Err(f))) = tried.first()
            {
                beyond.clone_from(&f.message);
            }
            Found::Never
        }
        Answer::Value {
            value,
            tolerance,
            other_crossings,
            ..
        } => {
            let value = if varied.whole { value.round() } else { value };
            let at = there(value);
            if let Some(m) = at {
                deciding = m.clone();
            }
            let outside = |p: &&Tried| {
                if ask.largest {
                    p.0 > value
                } else {
                    p.0 < value
                }
            };
            let next = if ask.largest {
                tried.iter().find(outside)
            } else {
                tried.iter().rev().find(outside)
            };
            if let Some((_, Err(f))) = next {
                beyond.clone_from(&f.message);
            }
            Found::Value {
                value: varied.reported(value),
                tolerance: varied.reported(tolerance),
                result: at.map_or(f64::NAN, |m| m.value),
                other_crossings: other_crossings
                    .iter()
                    .map(|&x| varied.reported(x))
                    .collect(),
            }
        }
    };
    let buy = match &found {
        Found::Value { value, .. } => buy(varied, ask, *value, measure),
        _ => Vec::new(),
    };
    let mut result = ask.sought.meaning();
    let calibrated = |c: &&board::Channel| c.name == deciding.channel && c.calibration.is_some();
    if ask.sought == Sought::Shift && board.channels.iter().any(|c| calibrated(&c)) {
        result.push_str(", after its calibration");
    }
    Ok(Bound {
        version: report::VERSION,
        board: board.name.clone(),
        path: ask.path.to_owned(),
        varied: match ask.vary {
            Vary::Value => "value",
            Vary::Tolerance => "tolerance",
            Vary::Drift => "drift",
            Vary::Low => "low end",
            Vary::High => "high end",
        }
        .to_owned(),
        written: setting.text.clone(),
        written_value: varied.written.map(|x| varied.reported(x)),
        largest: ask.largest,
        channel: deciding.channel.clone(),
        result,
        result_unit: deciding.unit.clone(),
        limit: deciding.limit,
        within: !matches!(ask.sought, Sought::Yield),
        as_written: Some(as_written.value),
        value_unit: varied.unit().to_owned(),
        found,
        range: (varied.reported(range.0), varied.reported(range.1)),
        sweep: Sweep {
            points: tried
                .iter()
                .map(|(x, m)| (varied.reported(*x), m.as_ref().ok().map(|m| m.value)))
                .collect(),
        },
        buy,
        decides: deciding.decides,
        beyond,
        breaks: Vec::new(),
    })
}

/// Preferred values on the safe side, with the result each gives.
fn buy(
    varied: &Varied,
    ask: &Ask<'_>,
    value: f64,
    measure: &dyn Fn(f64) -> Result<Measured, BoundFault>,
) -> Vec<Buy> {
    let bought =
        varied.dimension == Dimension::RESISTANCE || varied.dimension == Dimension::CAPACITANCE;
    if !bought || ask.vary != Vary::Value {
        return Vec::new();
    }
    let mut list: Vec<Buy> = Vec::new();
    for (name, series) in [("E24", Series::E24), ("E96", Series::E96)] {
        let preferred = if ask.largest {
            series.at_most(value)
        } else {
            series.at_least(value)
        };
        let Some(preferred) = preferred else {
            continue;
        };
        // A tolerable stretch may be narrower than the step of a series.
        let Ok(m) = measure(varied.unreported(preferred)) else {
            continue;
        };
        if m.excess <= 0.0 && !list.iter().any(|b| b.value == preferred) {
            list.push(Buy {
                series: name.to_owned(),
                value: preferred,
                result: m.value,
            });
        }
    }
    list
}
