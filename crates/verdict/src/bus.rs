//! What findings about buses have in common.

use board::{Board, Link};
use finding::Span;
use report::number;
use system::buses::segment::Segment;

/// A resistance as shown.
pub(crate) fn ohm(value: f64) -> String {
    number::measured(value, "Ω", 3)
}

/// A current as shown.
pub(crate) fn ampere(value: f64) -> String {
    number::measured(value, "A", 3)
}

/// A time as shown.
pub(crate) fn second(value: f64) -> String {
    number::measured(value, "s", 3)
}

/// A frequency as shown.
pub(crate) fn hertz(value: f64) -> String {
    number::measured(value, "Hz", 3)
}

/// A frequency to be set, rounded down so that it still holds.
pub(crate) fn hertz_at_most(value: f64) -> String {
    at_most(value, "Hz")
}

/// A largest value, rounded down to three digits so that it still holds.
fn at_most(value: f64, unit: &str) -> String {
    if !(value > 0.0 && value.is_finite()) {
        return report::number::about(value, unit);
    }
    let mut step = 1e-9;
    while step * 1000.0 <= value {
        step *= 10.0;
    }
    // A whole number of steps that is only rounding below itself stays.
    let whole = (value / step * (1.0 + 1e-12)).floor();
    report::number::about(whole * step, unit)
}

/// A capacitance as shown.
pub(crate) fn farad(value: f64) -> String {
    number::measured(value, "F", 3)
}

/// A two-wire address as it is written.
pub(crate) fn address(value: u8) -> String {
    format!("0x{value:02X}")
}

/// Names in a sentence.
pub(crate) fn names(list: &[String]) -> String {
    match list {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// Two-wire segments with their links.
pub(crate) fn segments<'a>(
    board: &'a Board,
    system: &'a system::Analysis,
) -> impl Iterator<Item = (&'a Link, &'a Segment)> {
    system
        .buses
        .segments
        .iter()
        .filter_map(|s| Some((board.links.get(s.link)?, s)))
}

/// Where a link's pull-ups are written, or the link.
pub(crate) fn pull_up_span(link: &Link, segment: &Segment) -> Span {
    segment.pull_ups.first().map_or(link.span, |p| p.span)
}

/// What may be bought or left, in words.
pub(crate) fn proposals(s: &Segment) -> Vec<String> {
    let mut list = Vec::new();
    if let Some(keep) = &s.proposal.keep {
        let kept: Vec<String> = keep
            .iter()
            .filter_map(|i| s.pull_ups.get(*i))
            .map(|p| ohm(p.ohm.nominal))
            .collect();
        let gone = s.pull_ups.len() - kept.len();
        list.push(format!(
            "take the pull-ups off {gone} of the {} boards and keep {}",
            s.pull_ups.len(),
            names(&kept)
        ));
    }
    if let Some(value) = s.proposal.ohm {
        list.push(format!("one pull-up of {} a line in all", ohm(value)));
    }
    list
}

/// The longest cable with which a line has at most `most_farad`, in words;
/// none where there is no cable or nothing is left for one.
pub(crate) fn shorter_cable(link: &Link, s: &Segment, most_farad: f64) -> Option<String> {
    let cable = link.cable.as_ref()?;
    let of_cable: f64 = s
        .shares
        .iter()
        .filter(|(name, _)| name == "cable")
        .map(|(_, c)| c)
        .sum();
    let left = most_farad - (s.line_farad - of_cable);
    let most = cable.length_m.value.nominal * left / of_cable;
    (most > 0.0 && most.is_finite() && left < of_cable)
        .then(|| format!("or a cable of at most {}", at_most(most, "m")))
}

/// How many boards with usual resistors the bus bears, in words.
pub(crate) fn boards(s: &Segment) -> Option<String> {
    let each: Vec<String> = s
        .proposal
        .boards
        .iter()
        .filter(|(_, n)| *n > 0)
        .map(|(o, n)| {
            let boards = if *n == 1 { "board" } else { "boards" };
            format!("{n} {boards} with {} each", ohm(*o))
        })
        .collect();
    (!each.is_empty()).then(|| format!("the bus bears {}", each.join(", or ")))
}

#[cfg(test)]
mod tests {
    use super::hertz_at_most;

    #[test]
    fn a_clock_to_be_set_is_never_above_what_holds() {
        // 1/(2 · 90 ns) = 5.5556 MHz.
        assert_eq!(hertz_at_most(0.5 / 90e-9), "5.55 MHz");
        assert_eq!(hertz_at_most(992_063.5), "992 kHz");
        assert_eq!(hertz_at_most(100e3), "100 kHz");
    }
}
