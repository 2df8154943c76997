//! The nearest right spelling of a unit.

use crate::dimension::Dimension;
use crate::unit::unit;
use crate::unit_table::{PREFIXES, UNITS};

/// Longest text for which a spelling is looked for.
const LONGEST: usize = 16;

/// The unit that was probably meant by `written`, preferring the wanted dimension.
pub(crate) fn nearest(written: &str, wanted: Option<Dimension>) -> Option<String> {
    let length = written.chars().count();
    if length == 0 || length > LONGEST {
        return None;
    }
    let lower = written.to_lowercase();
    let mut best: Option<(usize, String)> = None;
    for candidate in candidates() {
        let fits = unit(&candidate).is_some_and(|u| Some(u.dimension) == wanted);
        // Case is the commonest slip and costs nothing; another dimension costs one edit.
        let distance = if candidate.to_lowercase() == lower {
            0
        } else {
            2 * edit_distance(&lower, &candidate.to_lowercase())
        };
        let bound = match length {
            1 => 0,
            2 => 2,
            _ => 4,
        };
        if distance > bound {
            continue;
        }
        let cost = distance + usize::from(!fits);
        if best.as_ref().is_none_or(|(least, _)| cost < *least) {
            best = Some((cost, candidate));
        }
    }
    best.map(|(_, candidate)| unit(&candidate).map_or(candidate, |u| u.symbol))
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
        ("s", Dimension::CONDUCTANCE) => "S",
        ("mS", Dimension::TIME) => "ms",
        ("ms", Dimension::CONDUCTANCE) => "mS",
        ("g", Dimension::ACCELERATION) => "gn",
        _ => return None,
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

/// Least number of insertions, deletions, substitutions (Levenshtein 1966).
fn edit_distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.chars().enumerate() {
        let mut diagonal = i;
        let mut left = i + 1;
        for (y, cell) in b.iter().zip(row.iter_mut().skip(1)) {
            let cost = diagonal + usize::from(x != *y);
            diagonal = *cell;
            left = cost.min(left + 1).min(*cell + 1);
            *cell = left;
        }
        if let Some(first) = row.first_mut() {
            *first = i + 1;
        }
    }
    row.last().copied().unwrap_or(0)
}
