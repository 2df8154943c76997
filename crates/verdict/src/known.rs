//! Errors whose cause is known: how large they must be to be told, how they
//! go over the span, and how that is said.

use board::Channel;
use finding::Severity;
use quantity::Dimension;

use crate::study::Study;

/// Share of the span from which on a known error is told where no accuracy is
/// asked.
const OF_SPAN: f64 = 0.002;
/// Share of the span from which on it is a fault where no accuracy is asked.
const FAULT_OF_SPAN: f64 = 0.01;

/// A reading that has a known error, at a value of the quantity; SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Point {
    /// What the reading should be.
    pub right: f64,
    /// What it is.
    pub read: f64,
}

impl Point {
    /// Reading too high by.
    pub fn error(self) -> f64 {
        self.read - self.right
    }
}

/// How an error goes over the span.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Nature {
    /// Readings are so many times what they should be.
    Factor(f64),
    /// Readings are too high by the same everywhere.
    Offset(f64),
    /// Neither.
    Changing,
}

/// The largest error of some readings.
pub(crate) fn largest(points: &[Point]) -> Option<Point> {
    points
        .iter()
        .copied()
        .filter(|p| p.error().is_finite())
        .max_by(|a, b| a.error().abs().total_cmp(&b.error().abs()))
}

/// Whether an error is worth telling by itself, and how serious it is.
pub(crate) fn severity(study: &Study<'_>, point: Point) -> Option<Severity> {
    let (low, high) = study.channel.span.value;
    let size = point.error().abs();
    match study.channel.limit_at(point.right) {
        Some(limit) if size > limit => Some(Severity::Fail),
        Some(limit) if size > study.board.judging.known_error * limit => Some(Severity::Note),
        Some(_) => None,
        None if size > FAULT_OF_SPAN * (high - low) => Some(Severity::Fail),
        None if size > OF_SPAN * (high - low) => Some(Severity::Note),
        None => None,
    }
}

/// The zero from which a factor counts: readings of temperature are in
/// degrees Celsius.
fn zero(channel: &Channel) -> f64 {
    if channel.dimension == Dimension::TEMPERATURE {
        273.15
    } else {
        0.0
    }
}

/// How the errors of readings go over the span.
pub(crate) fn nature(channel: &Channel, points: &[Point]) -> Nature {
    let zero = zero(channel);
    let Some(most) = largest(points) else {
        return Nature::Changing;
    };
    let close = 0.02 * most.error().abs();
    if points
        .iter()
        .all(|p| (p.error() - most.error()).abs() <= close)
    {
        return Nature::Offset(most.error());
    }
    // Least squares of the reading on what it should be, through the zero.
    let (mut above, mut below) = (0.0, 0.0);
    for p in points {
        above += (p.right - zero) * (p.read - zero);
        below += (p.right - zero) * (p.right - zero);
    }
    let factor = above / below;
    if factor.is_finite()
        && points
            .iter()
            .all(|p| ((p.read - zero) - factor * (p.right - zero)).abs() <= close)
    {
        return Nature::Factor(factor);
    }
    Nature::Changing
}

/// The same in words, to go on after what is wrong.
pub(crate) fn nature_words(study: &Study<'_>, points: &[Point]) -> String {
    match nature(study.channel, points) {
        Nature::Factor(k) => format!(
            "readings are {} times what they should be",
            quantity::plain(k, 4)
        ),
        Nature::Offset(by) => format!("every reading is {}", off_by(study, by)),
        Nature::Changing => {
            let (Some(first), Some(last)) = (points.first(), points.last()) else {
                return String::new();
            };
            format!(
                "readings are {} at {} and {} at {}",
                off_by(study, first.error()),
                study.value(first.right),
                off_by(study, last.error()),
                study.value(last.right),
            )
        }
    }
}

/// What tells the nature from others, as advice; nothing where it changes.
pub(crate) fn nature_advice(study: &Study<'_>, points: &[Point]) -> String {
    match nature(study.channel, points) {
        Nature::Factor(_) => {
            "a gain error, not an offset: readings at two values of the quantity tell them apart"
                .to_owned()
        }
        Nature::Offset(by) => format!(
            "the same everywhere: one comparison at one value shows {}",
            study.size(by, 3)
        ),
        Nature::Changing => {
            let errors = || points.iter().map(|p| p.error());
            let low = errors().fold(f64::INFINITY, f64::min);
            let high = errors().fold(f64::NEG_INFINITY, f64::max);
            format!(
                "the error is not the same everywhere: a fixed offset would leave up to ±{}",
                study.size(0.5 * (high - low), 3)
            )
        }
    }
}

/// `1.2 K too high`.
pub(crate) fn off_by(study: &Study<'_>, error: f64) -> String {
    let word = if error < 0.0 { "low" } else { "high" };
    format!("{} too {word}", study.size(error.abs(), 3))
}

/// `25 °C reads 37.9 °C (12.9 K too high)`.
pub(crate) fn reads(study: &Study<'_>, p: Point) -> String {
    format!(
        "{} reads {} ({})",
        study.value(p.right),
        study.value(p.read),
        off_by(study, p.error())
    )
}

/// Values of the quantity at which errors are shown: the ends of the span, its
/// middle and quarters, and what the usual room is.
pub(crate) fn marks(channel: &Channel) -> Vec<f64> {
    let (low, high) = channel.span.value;
    let mut list: Vec<f64> = (0..=4)
        .map(|i| low + (high - low) * f64::from(i) / 4.0)
        .collect();
    let room = 298.15;
    if channel.dimension == Dimension::TEMPERATURE && low < room && room < high {
        list.push(room);
        list.sort_by(f64::total_cmp);
        list.dedup_by(|a, b| (*a - *b).abs() < 1e-6 * (high - low));
    }
    list
}
