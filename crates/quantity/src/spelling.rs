//! The nearest right spelling of a unit.

use crate::dimension::Dimension;
use crate::unit::unit;
use crate::unit_table::{PREFIXES, UNITS};

/// Longest text for which a spelling is looked for.
const LONGEST: usize = 16;

/// The unit that was probably meant by `written`, of the wanted dimension if there is one.
pub(crate) fn nearest(written: &str, wanted: Option<Dimension>) -> Option<String> {
    let length = written.chars().count();
    if length == 0 || length > LONGEST {
        return None;
    }
    let lower = written.to_lowercase();
    // One slip in a short unit, two in a long one; a single letter only by its case.
    let bound = match length {
        1 => 0,
        2..=5 => 1,
        _ => 2,
    };
    let mut best: Option<(usize, String)> = None;
    for candidate in candidates() {
        if candidate.chars().count().abs_diff(length) > bound {
            continue;
        }
        let slips = edit_distance(&lower, &candidate.to_lowercase());
        // Another symbol of two letters is a guess unless the dimension confirms it.
        if slips > bound || (slips > 0 && length <= 2 && wanted.is_none()) {
            continue;
        }
        let Some(found) = unit(&candidate) else {
            continue;
        };
        if wanted.is_some_and(|dimension| dimension != found.dimension) {
            continue;
        }
        // Letters that differ only by case decide between equals: MHZ is MHz, not mHz.
        let cost = 8 * slips + edit_distance(written, &candidate);
        if best.as_ref().is_none_or(|(least, _)| cost < *least) {
            best = Some((cost, found.symbol));
        }
    }
    best.map(|(_, symbol)| symbol)
}

/// "J/kg·K" with the brackets that make it a unit, if that is all it lacks.
pub(crate) fn bracketed(written: &str) -> Option<String> {
    let (above, below) = written.split_once('/')?;
    below.find(['·', '⋅', '*'])?;
    unit(&format!("{above}/({below})")).map(|found| found.symbol)
}

/// Whether `word` is a prefix and nothing else.
pub(crate) fn is_prefix(word: &str) -> bool {
    PREFIXES.iter().any(|p| p.spelling == word) && unit(word).is_none()
}

/// A prefix completed by the unit of the wanted dimension.
pub(crate) fn with_prefix(word: &str, wanted: Option<Dimension>) -> Option<String> {
    unit(&format!("{word}{}", wanted?.kind()?.symbol)).map(|u| u.symbol)
}

/// A word written like a value code, "3V3" or "4u7", where codes are not read.
///
/// `None` if it is not one; `Some(None)` if it is, but no value of the wanted
/// dimension can be made of it.
pub(crate) fn of_code(word: &str, wanted: Option<Dimension>) -> Option<Option<String>> {
    let at = word.find(|c: char| !c.is_ascii_digit())?;
    let letter = word
        .get(at..)?
        .chars()
        .next()
        .filter(|c| c.is_alphabetic())?;
    let (whole, fraction) = (word.get(..at)?, word.get(at + letter.len_utf8()..)?);
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    if !digits(whole) || !digits(fraction) {
        return None;
    }
    let symbol = wanted
        .and_then(|dimension| dimension.kind())
        .map_or("", |kind| kind.symbol);
    let letters = [letter, letter.to_ascii_lowercase()];
    let written_unit = letters.iter().find_map(|letter| {
        [letter.to_string(), format!("{letter}{symbol}")]
            .iter()
            .filter_map(|text| unit(text))
            .find(|found| Some(found.dimension) == wanted)
    });
    Some(written_unit.map(|found| format!("{whole}.{fraction} {}", found.symbol)))
}

/// A right spelling for a well-formed text of another dimension, where one slip explains it.
pub(crate) fn for_dimension(written: &str, wanted: Dimension) -> Option<String> {
    let split = written.find(|c: char| {
        !(c.is_ascii_digit() || matches!(c, '.' | '+' | '-' | '\u{2212}') || c.is_whitespace())
    })?;
    let number = written.get(..split)?.trim_end();
    let symbol = written.get(split..)?;
    let replaced = match (symbol, wanted) {
        ("C", Dimension::TEMPERATURE) => "°C",
        ("K" | "k", Dimension::RESISTANCE) => "kΩ",
        ("M", Dimension::RESISTANCE) => "MΩ",
        ("%", Dimension::HUMIDITY) => "%RH",
        ("S", Dimension::TIME) => "s",
        ("mS", Dimension::TIME) => "ms",
        ("s", Dimension::CONDUCTANCE) => "S",
        ("ms", Dimension::CONDUCTANCE) => "mS",
        ("g", Dimension::ACCELERATION) => "gn",
        _ => {
            // "ppm/C": the coulomb for the degree.
            let repaired = unit(&format!("{}/K", symbol.strip_suffix("/C")?))?;
            return (repaired.dimension == wanted).then(|| format!("{number} {}", repaired.symbol));
        }
    };
    Some(format!("{number} {replaced}"))
}

/// Every unit name, alone and with the prefixes in common use.
fn candidates() -> impl Iterator<Item = String> {
    let plain = UNITS
        .iter()
        .flat_map(|u| std::iter::once(u.symbol).chain(u.spellings.iter().copied()))
        .map(str::to_owned);
    let prefixed = UNITS.iter().filter(|u| u.prefixable).flat_map(|u| {
        PREFIXES
            .iter()
            .filter(|p| p.spelling != "K" && (!p.restricted || u.small_prefixes))
            .flat_map(|p| {
                std::iter::once(u.symbol)
                    .chain(u.spellings.iter().copied())
                    .map(|name| format!("{}{name}", p.spelling))
            })
    });
    let composed = [
        "ppm/K", "%/K", "mV/K", "µV/K", "nV/√Hz", "nV/rtHz", "mV/V", "L/min", "m³/h", "m/s²",
        "V/µs", "mW/K", "K/W", "S/s", "kS/s", "1/s", "pulses/L",
    ]
    .into_iter()
    .map(str::to_owned);
    plain.chain(prefixed).chain(composed)
}

/// Least number of insertions, deletions, substitutions and swaps of neighbours
/// (Damerau 1964, as optimal string alignment).
fn edit_distance(a: &str, b: &str) -> usize {
    let a: Vec<char> = a.chars().collect();
    let b: Vec<char> = b.chars().collect();
    let width = b.len() + 1;
    let mut cells = vec![0; (a.len() + 1) * width];
    let at = |i: usize, j: usize| i * width + j;
    for i in 0..=a.len() {
        for j in 0..=b.len() {
            cells[at(i, j)] = if i == 0 || j == 0 {
                i + j
            } else {
                let differs = usize::from(a[i - 1] != b[j - 1]);
                let mut least = (cells[at(i - 1, j - 1)] + differs)
                    .min(cells[at(i - 1, j)] + 1)
                    .min(cells[at(i, j - 1)] + 1);
                let swapped = i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1];
                if swapped {
                    least = least.min(cells[at(i - 2, j - 2)] + 1);
                }
                least
            };
        }
    }
    cells[at(a.len(), b.len())]
}
