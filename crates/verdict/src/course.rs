//! How a channel's network moves in time.

use board::{Board, Channel};
use chain::time::course::{Event, course as followed};
use chain::time::response::answering;
use report::{Course, SettlingTime, Trace};

use crate::budget::BudgetFault;
use crate::response::{chosen, standing};
use crate::words;

/// What happens to a network.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CourseEvent {
    /// The quantity steps from the low end of its span to the high one.
    Step,
    /// The quantity goes to the high end of its span for a time, s, and back.
    Burst(f64),
    /// Everything that feeds the network comes up at once.
    PowerUp,
}

/// Follows one channel's network for a time, s, or until it has settled.
///
/// # Errors
/// There is no channel of that name.
pub fn course(
    board: &Board,
    name: &str,
    event: CourseEvent,
    until_s: Option<f64>,
) -> Result<Course, BudgetFault> {
    let settled = system::settled(board);
    let board = settled.as_ref();
    let mut found = Course {
        version: report::VERSION,
        board: board.name.clone(),
        channel: name.to_owned(),
        ..Course::default()
    };
    for (_, channel) in chosen(board, Some(name))? {
        if let Err(reason) = follow(board, channel, event, until_s, &mut found) {
            found.reason = reason;
        }
    }
    Ok(found)
}

fn follow(
    board: &Board,
    channel: &Channel,
    event: CourseEvent,
    until_s: Option<f64>,
    out: &mut Course,
) -> Result<(), String> {
    let (low, high) = channel.span.value;
    let straight = answering(board, channel, &[], &[], &[0.25]).map_err(|f| f.message)?;
    let slowest = straight.poles.first().map_or(0.0, |p| p.0);
    let settled = straight
        .settling_s
        .first()
        .copied()
        .flatten()
        .unwrap_or(0.0);
    let usual = (1.5 * settled).max(5.0 * slowest);
    let length_s = match event {
        CourseEvent::Burst(length_s) => length_s,
        _ => 0.0,
    };
    let until = until_s.unwrap_or(usual + length_s);
    if !(until > 0.0) {
        return Err("nothing in the channel's network takes time".to_owned());
    }
    let middle = 0.5 * (low + high);
    let (what, text) = match event {
        CourseEvent::Step => (
            Event::Step(low, high),
            format!(
                "the {} steps from {} to {}",
                channel.quantity,
                words::value(channel, low),
                words::value(channel, high)
            ),
        ),
        CourseEvent::Burst(length_s) => (
            Event::Burst(low, high, length_s),
            format!(
                "the {} goes from {} to {} for {} and back",
                channel.quantity,
                words::value(channel, low),
                words::value(channel, high),
                report::number::measured(length_s, "s", 3)
            ),
        ),
        CourseEvent::PowerUp => (
            Event::PowerUp(middle),
            "everything that feeds the network comes up from nothing at once".to_owned(),
        ),
    };
    let found = followed(board, channel, what, until).map_err(|f| f.message)?;
    let at = match event {
        CourseEvent::Step | CourseEvent::Burst(_) => high,
        CourseEvent::PowerUp => middle,
    };
    out.event = text;
    out.at = standing(channel, at, found.kelvin);
    if event != CourseEvent::PowerUp {
        // The quantity is what happens; it stands nowhere.
        out.at.retain(|c| c.name == "ambient");
    }
    let input = found.volts.first().map_or(&[][..], |v| &v.1);
    let code = if straight.codes > 0.0 {
        (straight.codes.recip() * span_v(&straight, low, high)).abs()
    } else {
        0.0
    };
    // Of a burst it is what the network has of it at its largest.
    let end = input.last().copied().unwrap_or(0.0);
    let swing = input.iter().map(|v| (v - end).abs()).fold(0.0, f64::max);
    for (to, within) in [
        ("1 %", 0.01 * swing),
        ("half a code", 0.5 * code),
        ("a quarter of a code", 0.25 * code),
    ] {
        if within > 0.0 && swing > 0.0 {
            out.settling.push(SettlingTime {
                to: to.to_owned(),
                share: within / swing,
                seconds: settled_after(&found.time_s, input, within),
            });
        }
    }
    out.time_s = found.time_s;
    out.traces = found
        .volts
        .into_iter()
        .map(|(name, values)| Trace {
            name,
            unit: "V".to_owned(),
            values,
        })
        .collect();
    Ok(())
}

/// Voltage between the ends of the span by the gain in its middle.
fn span_v(straight: &chain::time::response::Answering, low: f64, high: f64) -> f64 {
    straight.gain * (high - low)
}

/// Time after which a series stays within something of its end; `None` where
/// it does so only in the last twentieth of the time, which proves nothing.
fn settled_after(time: &[f64], values: &[f64], within: f64) -> Option<f64> {
    let (end, last) = (*values.last()?, *time.last()?);
    let outside = values.iter().rposition(|v| (v - end).abs() > within);
    let Some(k) = outside else { return Some(0.0) };
    let (t0, t1) = (*time.get(k)?, *time.get(k + 1)?);
    let (v0, v1) = (
        (values.get(k)? - end).abs(),
        (values.get(k + 1)? - end).abs(),
    );
    let share = if v0 > v1 {
        (v0 - within) / (v0 - v1)
    } else {
        1.0
    };
    let at = t0 + share * (t1 - t0);
    (at < 0.95 * last).then_some(at)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_series_has_settled_after_it_was_last_outside() {
        let time: Vec<f64> = (0..=100).map(f64::from).collect();
        let values: Vec<f64> = time.iter().map(|t| falling(*t)).collect();
        let at = settled_after(&time, &values, 0.1).unwrap();
        assert!((at - 9.0).abs() < 1e-12, "{at}");
        assert_eq!(settled_after(&time, &values, 2.0), Some(0.0));
        // A line that never rests proves nothing.
        assert_eq!(settled_after(&time, &time, 1.0), None);
    }

    /// Falls from 1 to 0 within ten seconds, straight.
    fn falling(t: f64) -> f64 {
        (1.0 - t / 10.0).max(0.0)
    }
}
