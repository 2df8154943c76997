//! Courses.

use std::fmt::Write as _;

use report::{Course, number};

use super::{check, ink, lines};

/// Moments shown.
const MOMENTS: usize = 12;

/// The answer of `course`.
pub(crate) fn course(c: &Course) -> String {
    let mut out = format!("{}\n\n{}\n", ink::title(&c.board), ink::title(&c.channel));
    let mut line = |label: &str, text: &str| out.push_str(&check::labelled(label, text));
    if !c.reason.is_empty() {
        line("none", &c.reason);
        return out;
    }
    line("happens", &c.event);
    if !c.at.is_empty() {
        line("at", &check::conditions(&c.at));
    }
    let settling: Vec<String> = c
        .settling
        .iter()
        .map(|s| match s.seconds {
            Some(t) => format!("to {} in {}", s.to, number::measured(t, "s", 3)),
            None => format!("to {} not in this time", s.to),
        })
        .collect();
    if !settling.is_empty() {
        line("settles", &settling.join(", "));
    }
    out.push('\n');
    out.push_str(&table(c));
    out
}

fn table(c: &Course) -> String {
    let Some(&end) = c.time_s.last() else {
        return String::new();
    };
    let (time_factor, time_unit) = number::prefixed(end, "s");
    let mut head = vec![format!("time, {time_unit}")];
    let mut scales = Vec::new();
    for t in &c.traces {
        let largest = t.values.iter().fold(0.0_f64, |a, v| a.max(v.abs()));
        let (factor, unit) = number::prefixed(largest, &t.unit);
        head.push(format!("{}, {unit}", t.name));
        scales.push((factor, number::decimals(largest * factor, 4)));
    }
    let mut before = vec!["before".to_owned()];
    for (t, (factor, decimals)) in c.traces.iter().zip(&scales) {
        let value = t.values.first().copied().unwrap_or(f64::NAN);
        before.push(number::fixed(value * factor + 0.0, *decimals));
    }
    let mut rows = vec![head, before];
    for i in 0..=MOMENTS {
        let moment = end * i as f64 / MOMENTS as f64;
        // After a step where there is one at that moment.
        let at = c.time_s.iter().take_while(|t| **t <= moment).count();
        let mut row = vec![number::measured(moment * time_factor, "", 3)];
        for (t, (factor, decimals)) in c.traces.iter().zip(&scales) {
            let value = between(&c.time_s, &t.values, at, moment);
            row.push(number::fixed(value * factor + 0.0, *decimals));
        }
        rows.push(row);
    }
    let mut out = String::new();
    let right = vec![true; c.traces.len() + 1];
    for line in lines::table(&rows, &right) {
        let _ = writeln!(out, "  {line}");
    }
    out
}

/// A value at a moment, straight between those computed; `after` counts the
/// moments computed up to it.
fn between(time: &[f64], values: &[f64], after: usize, moment: f64) -> f64 {
    let get = |i: usize| Some((*time.get(i)?, *values.get(i)?));
    let before = after.checked_sub(1).and_then(get);
    match (before, get(after)) {
        (Some(a), Some(b)) if b.0 > a.0 => a.1 + (b.1 - a.1) * (moment - a.0) / (b.0 - a.0),
        (Some(only), _) | (None, Some(only)) => only.1,
        (None, None) => f64::NAN,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_between_moments_lie_on_straight_lines() {
        let (time, values) = ([0.0, 1.0, 1.0, 3.0], [0.0, 1.0, 5.0, 9.0]);
        let at = |m: f64| {
            between(
                &time,
                &values,
                time.iter().take_while(|t| **t <= m).count(),
                m,
            )
        };
        assert_eq!(at(0.5), 0.5);
        assert_eq!(at(1.0), 5.0);
        assert_eq!(at(2.0), 7.0);
        assert_eq!(at(3.0), 9.0);
    }
}
