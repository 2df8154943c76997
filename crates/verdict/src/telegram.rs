//! Digital words: what they hold, and what bytes that were seen mean.

use board::{Board, CheckRule, Word};
use report::{BehindReading, Misread, SeenWord, ShownReading, WordEnd, Words};
use system::words as words_of;

/// Why words cannot be told.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum WordsFault {
    /// There is none of that name; those there are.
    NoWord(Vec<String>),
    /// A reading that no word can be about.
    NoReading(String),
}

/// What every word of a board can say, or the named one, with `seen`, each
/// the bytes of one word as they came, taken as each of them.
///
/// `shown` are readings that a driver gives, each with its unit: for the words
/// whose quantity it can be, what may stand behind it.
///
/// # Errors
/// There is no word of that name, or a reading fits none of the words.
pub fn words(
    board: &Board,
    name: Option<&str>,
    seen: &[Vec<u8>],
    shown: &[String],
) -> Result<Words, WordsFault> {
    let all: Vec<&str> = board.words.iter().map(|w| w.name.as_str()).collect();
    if let Some(name) = name
        && !all.contains(&name)
    {
        return Err(WordsFault::NoWord(
            all.into_iter().map(str::to_owned).collect(),
        ));
    }
    for text in shown {
        let fits = |w: &&Word| {
            name.is_none_or(|n| n == w.name) && quantity::value(text, w.dimension).is_ok()
        };
        if !board.words.iter().any(|w| fits(&w)) {
            return Err(WordsFault::NoReading(text.clone()));
        }
    }
    let analyses = words_of::analyse(board);
    let words = board
        .words
        .iter()
        .zip(&analyses)
        .filter(|(w, _)| name.is_none_or(|n| n == w.name))
        .map(|(w, a)| told(board, w, a, seen, shown))
        .collect();
    Ok(Words {
        version: report::VERSION,
        board: board.name.clone(),
        words,
    })
}

fn told(
    board: &Board,
    word: &Word,
    analysis: &words_of::WordAnalysis,
    seen: &[Vec<u8>],
    shown: &[String],
) -> report::Word {
    let show = |si: f64| word.unit.number(si);
    report::Word {
        name: word.name.clone(),
        device: word
            .device
            .and_then(|d| board.devices.get(d))
            .map(|d| d.name.clone()),
        channel: word
            .channel
            .and_then(|c| board.channels.get(c))
            .map(|c| c.name.clone()),
        unit: word.unit.symbol.clone(),
        difference_unit: if word.unit.symbol == "°C" {
            "K".to_owned()
        } else {
            word.unit.symbol.clone()
        },
        bits: word.bits,
        bytes: word.bytes,
        below: word.below,
        form: word.form.word().to_owned(),
        order: if word.bytes < 2 {
            "one byte".to_owned()
        } else if word.is_low_first {
            "low byte first".to_owned()
        } else {
            "high byte first".to_owned()
        },
        check: word
            .check
            .as_ref()
            .map_or_else(String::new, |c| rule(c.rule)),
        step: word.unit.number_of_difference(word.step),
        codes: analysis.codes,
        holds: (show(analysis.holds.0), show(analysis.holds.1)),
        range: analysis.range.map(|(l, h)| (show(l), show(h))),
        is_too_small: analysis.is_too_small,
        source: word.source.clone(),
        ends: analysis
            .ends
            .iter()
            .map(|e| WordEnd {
                value: show(e.value),
                code: e.code,
                bytes: hex(&e.bytes),
                misread: misread(word, &e.misread),
            })
            .collect(),
        seen: seen.iter().map(|bytes| decoded(word, bytes)).collect(),
        shown: shown
            .iter()
            .filter_map(|text| quantity::value(text, word.dimension).ok())
            .map(|q| reading(word, analysis, q.value))
            .collect(),
    }
}

/// What may stand behind a reading.
fn reading(word: &Word, analysis: &words_of::WordAnalysis, si: f64) -> ShownReading {
    let show = |si: f64| word.unit.number(si);
    ShownReading {
        value: show(si),
        is_possible: si >= analysis.holds.0 && si <= analysis.holds.1,
        behind: words_of::behind(word, si)
            .into_iter()
            .map(|b| BehindReading {
                how: b.how.to_owned(),
                values: (show(b.values.0), show(b.values.1)),
                bytes: hex(&b.bytes),
            })
            .collect(),
    }
}

fn decoded(word: &Word, bytes: &[u8]) -> SeenWord {
    let found = match words_of::decode(word, bytes) {
        Ok(found) => found,
        Err((own, all)) => {
            let wanted = if own == all {
                format!("{own}")
            } else {
                format!("{own}, or {all} with the check")
            };
            return SeenWord {
                bytes: hex(bytes),
                reason: format!("{} bytes, where {wanted} are a word", bytes.len()),
                ..SeenWord::default()
            };
        }
    };
    let (is_sound, check) = match &found.is_sound {
        None if word.check.is_some() => (true, "not among these bytes".to_owned()),
        None => (true, String::new()),
        Some((true, _)) => (true, "agrees".to_owned()),
        Some((false, right)) if right.is_empty() => (false, "does not agree".to_owned()),
        Some((false, right)) => (
            false,
            format!("does not agree: these bytes have {}", hex(right)),
        ),
    };
    let forbids = found.flags.iter().any(|(_, _, is_bad)| *is_bad);
    let within = word
        .range
        .as_ref()
        .is_none_or(|r| found.value >= r.value.0 && found.value <= r.value.1);
    SeenWord {
        bytes: hex(bytes),
        reason: String::new(),
        code: found.code,
        value: word.unit.number(found.value),
        flags: found
            .flags
            .iter()
            .filter(|(_, is_set, is_bad)| *is_set || *is_bad)
            .map(|(name, _, is_bad)| {
                if *is_bad {
                    format!("{name}: not to be used")
                } else {
                    name.clone()
                }
            })
            .collect(),
        check,
        is_usable: is_sound && !forbids && within,
        misread: misread(word, &found.misread),
    }
}

fn misread(word: &Word, list: &[words_of::Misread]) -> Vec<Misread> {
    list.iter()
        .map(|m| Misread {
            how: m.how.to_owned(),
            value: word.unit.number(m.value),
            is_plausible: m.is_plausible,
        })
        .collect()
}

/// A rule in words.
fn rule(rule: CheckRule) -> String {
    match rule {
        CheckRule::Crc {
            width,
            polynomial,
            initial,
            reflect,
            last,
        } => format!(
            "{width}-bit check, polynomial {polynomial:#04x}, begins with {initial:#04x}{}{}",
            if reflect { ", lowest bit first" } else { "" },
            if last == 0 {
                String::new()
            } else {
                format!(", ends with {last:#04x}")
            }
        ),
        CheckRule::Sum => "sum of the bytes".to_owned(),
        CheckRule::SumToZero => "sum to zero".to_owned(),
        CheckRule::Xor => "exclusive or of the bytes".to_owned(),
        CheckRule::Parity { bit, is_odd } => format!(
            "{} parity in bit {bit}",
            if is_odd { "odd" } else { "even" }
        ),
    }
}

/// Bytes as they are written in files.
fn hex(bytes: &[u8]) -> String {
    bytes
        .iter()
        .map(|b| format!("0x{b:02X}"))
        .collect::<Vec<_>>()
        .join(" ")
}
