//! Words that digital parts put out: what they can hold, what the span's ends
//! look like on the bus, what a wrong reading of the same bytes would give, and
//! decoding of bytes that were seen.

mod form;
mod guard;

use board::{Board, CheckRule, Form, Word};

pub use form::{bits_of, limits, mask, number};
pub use guard::{crc, guard, is_sound};

/// What one word can say.
#[derive(Clone, Debug, PartialEq)]
pub struct WordAnalysis {
    /// Position among the board's words.
    pub word: usize,
    /// Lowest and highest number.
    pub codes: (i64, i64),
    /// The quantity at the lowest and at the highest of them, the lower one
    /// first, SI.
    pub holds: (f64, f64),
    /// What is to be read must lie within this, SI.
    pub range: Option<(f64, f64)>,
    /// Whether an end of that range is beyond what the word holds.
    pub is_too_small: bool,
    /// The ends of the range, or of what the word holds, as they look on the
    /// bus.
    pub ends: Vec<End>,
}

/// One value of the quantity on the bus.
#[derive(Clone, Debug, PartialEq)]
pub struct End {
    /// The quantity, SI.
    pub value: f64,
    /// The nearest number that the word holds.
    pub code: i64,
    /// The bytes, in the order in which they come, with the check.
    pub bytes: Vec<u8>,
    /// What it would be taken for.
    pub misread: Vec<Misread>,
}

/// The same bytes taken in a wrong way.
#[derive(Clone, Debug, PartialEq)]
pub struct Misread {
    /// In which.
    pub how: &'static str,
    /// What is read, SI.
    pub value: f64,
    /// Whether that is within the range, and so could be believed.
    pub is_plausible: bool,
}

/// What bytes that were seen say.
#[derive(Clone, Debug, PartialEq)]
pub struct Decoded {
    /// The bits of the number.
    pub raw: u64,
    /// The number.
    pub code: i64,
    /// The quantity, SI.
    pub value: f64,
    /// The flags by name, and whether each is set so that the number is not to
    /// be used.
    pub flags: Vec<(String, bool, bool)>,
    /// Whether the check agrees, with what it should have been; none where
    /// there is no check or its bytes were not given.
    pub is_sound: Option<(bool, Vec<u8>)>,
    /// What the same bytes would be taken for.
    pub misread: Vec<Misread>,
}

/// What every word of a board can say.
#[must_use]
pub fn analyse(board: &Board) -> Vec<WordAnalysis> {
    board
        .words
        .iter()
        .enumerate()
        .map(|(i, w)| analysis(i, w))
        .collect()
}

fn analysis(position: usize, word: &Word) -> WordAnalysis {
    let codes = limits(word.form, word.bits);
    let (a, b) = (meaning(word, codes.0), meaning(word, codes.1));
    let holds = (a.min(b), a.max(b));
    let range = word.range.as_ref().map(|r| r.value);
    // Half a code beyond the last one is still rounded to it.
    let slack = 0.5 * word.step.abs();
    let is_too_small = range.is_some_and(|(l, h)| l < holds.0 - slack || h > holds.1 + slack);
    let shown = range.unwrap_or(holds);
    let ends = [shown.0, shown.1]
        .into_iter()
        .filter_map(|value| end(word, value))
        .collect();
    WordAnalysis {
        word: position,
        codes,
        holds,
        range,
        is_too_small,
        ends,
    }
}

/// The quantity that a number means: zero + step · number, SI.
#[must_use]
#[allow(clippy::cast_precision_loss, reason = "a number has at most 48 bits")]
pub fn meaning(word: &Word, code: i64) -> f64 {
    word.zero + word.step * code as f64
}

/// The number nearest to a quantity, held within what the word can hold.
#[must_use]
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    reason = "held within at most 48 bits before"
)]
pub fn nearest(word: &Word, value: f64) -> i64 {
    let (low, high) = limits(word.form, word.bits);
    let exact = (value - word.zero) / word.step;
    exact.round().clamp(low as f64, high as f64) as i64
}

fn end(word: &Word, value: f64) -> Option<End> {
    let code = nearest(word, value);
    let raw = bits_of(word.form, word.bits, code)?;
    let mut bytes = bytes(word, raw);
    let misread = misread(word, &bytes);
    if let Some(check) = &word.check {
        bytes.extend(guard(check, &bytes));
    }
    Some(End {
        value: meaning(word, code),
        code,
        bytes,
        misread,
    })
}

/// The bytes of a word whose number has these bits; every flag is in the state
/// in which the number may be used.
#[must_use]
pub fn bytes(word: &Word, raw: u64) -> Vec<u8> {
    let mut whole = (raw & mask(word.bits)) << word.below;
    for flag in &word.flags {
        if flag.bad == Some(false) {
            whole |= 1 << flag.bit.min(63);
        }
    }
    if let Some(CheckRule::Parity { bit, is_odd }) = word.check.as_ref().map(|c| c.rule)
        && (whole.count_ones() % 2 == 1) != is_odd
    {
        whole ^= 1 << bit.min(63);
    }
    let count = usize::from(word.bytes).min(8);
    let mut bytes = whole
        .to_le_bytes()
        .get(..count)
        .unwrap_or_default()
        .to_vec();
    if !word.is_low_first {
        bytes.reverse();
    }
    bytes
}

/// All bits of a word from its bytes.
fn whole(bytes: &[u8], is_low_first: bool) -> u64 {
    let join = |sum: u64, byte: &u8| (sum << 8) | u64::from(*byte);
    if is_low_first {
        bytes.iter().rev().fold(0, join)
    } else {
        bytes.iter().fold(0, join)
    }
}

/// Reads bytes as they came: those of the word, then those of its check, which
/// may be left out.
///
/// # Errors
/// How many bytes are needed, and how many with the check, where there are
/// others.
pub fn decode(word: &Word, seen: &[u8]) -> Result<Decoded, (usize, usize)> {
    let count = usize::from(word.bytes);
    let guards = word.check.as_ref().map_or(0, |c| c.rule.bytes());
    if seen.len() != count && seen.len() != count + guards {
        return Err((count, count + guards));
    }
    let (own, after) = seen.split_at(count.min(seen.len()));
    let all = whole(own, word.is_low_first);
    let raw = (all >> word.below) & mask(word.bits);
    let code = number(word.form, word.bits, raw);
    let is_sound = word
        .check
        .as_ref()
        .filter(|_| guards == 0 || !after.is_empty())
        .map(|check| (is_sound(check, own, after), guard(check, own)));
    let flags = word
        .flags
        .iter()
        .map(|f| {
            let is_set = all >> f.bit.min(63) & 1 == 1;
            (f.name.clone(), is_set, f.bad == Some(is_set))
        })
        .collect();
    Ok(Decoded {
        raw,
        code,
        value: meaning(word, code),
        flags,
        is_sound,
        misread: misread(word, own),
    })
}

/// What a driver that takes the bytes in a wrong way would read: another sign
/// form, the bytes the wrong way round, the number not moved down to its
/// lowest bit, everything late or early by one bit of the clock. Those that
/// give the right number by chance are left out.
fn misread(word: &Word, own: &[u8]) -> Vec<Misread> {
    let all = whole(own, word.is_low_first);
    let take = |all: u64, form: Form| number(form, word.bits, all >> word.below);
    let right = take(all, word.form);
    let bus = 8 * word.bytes.min(8);
    let mut list: Vec<(&'static str, i64)> = Form::ALL
        .iter()
        .filter(|(_, form)| *form != word.form)
        .map(|(name, form)| (*name, take(all, *form)))
        .collect();
    if word.bytes > 1 {
        list.push((
            "bytes the other way round",
            take(whole(own, !word.is_low_first), word.form),
        ));
    }
    if word.below > 0 {
        let wide = (word.bits + word.below).min(62);
        list.push(("not moved down", number(word.form, wide, all)));
    } else if bus > word.bits {
        let moved = all >> (bus - word.bits);
        list.push(("taken as left-aligned", number(word.form, word.bits, moved)));
    }
    list.push(("one bit late", take(all >> 1, word.form)));
    list.push(("one bit early", take(all << 1, word.form)));
    let range = word
        .range
        .as_ref()
        .map_or_else(|| analysis_range(word), |r| r.value);
    list.into_iter()
        .filter(|(_, code)| *code != right)
        .map(|(how, code)| {
            let value = meaning(word, code);
            Misread {
                how,
                value,
                is_plausible: value >= range.0 && value <= range.1,
            }
        })
        .collect()
}

/// A true value that a driver would show as another one.
#[derive(Clone, Debug, PartialEq)]
pub struct Behind {
    /// The wrong way of reading.
    pub how: &'static str,
    /// Lowest and highest quantity that shows so, SI.
    pub values: (f64, f64),
    /// The bytes of the first of them.
    pub bytes: Vec<u8>,
}

/// Bits of a number up to which every code is tried.
const TRIED_BITS: u8 = 16;

/// Which values within the range would show as `shown`, SI, in which wrong way
/// of reading: to half a code, or to a relative 10⁻³ of what is shown. Empty
/// for numbers of more than 16 bits, of which not every code is tried.
///
/// Of 14 bits in two's complement with steps of 0.25 °C, 4095 °C is −1 °C taken
/// for an unsigned number: 16 384 − 4 = 16 380 codes.
#[must_use]
pub fn behind(word: &Word, shown: f64) -> Vec<Behind> {
    let mut found: Vec<Behind> = Vec::new();
    if word.bits > TRIED_BITS {
        return found;
    }
    let range = word
        .range
        .as_ref()
        .map_or_else(|| analysis_range(word), |r| r.value);
    let near = (0.5 * word.step.abs()).max(1e-3 * (shown - word.zero).abs());
    let (low, high) = limits(word.form, word.bits);
    for code in low..=high {
        let value = meaning(word, code);
        if value < range.0 || value > range.1 {
            continue;
        }
        let Some(raw) = bits_of(word.form, word.bits, code) else {
            continue;
        };
        let own = bytes(word, raw);
        for m in misread(word, &own) {
            if (m.value - shown).abs() > near {
                continue;
            }
            match found.iter_mut().find(|b| b.how == m.how) {
                Some(b) => {
                    b.values = (b.values.0.min(value), b.values.1.max(value));
                }
                None => found.push(Behind {
                    how: m.how,
                    values: (value, value),
                    bytes: own.clone(),
                }),
            }
        }
    }
    found
}

fn analysis_range(word: &Word) -> (f64, f64) {
    let (low, high) = limits(word.form, word.bits);
    let (a, b) = (meaning(word, low), meaning(word, high));
    (a.min(b), a.max(b))
}
