//! A sensor that is fed only to be read.
//!
//! After its supply is switched on the sensor itself has to start, then the
//! network between it and the converter has to charge, then the conversions
//! of one reading have to happen. All of it must fit into the time it is fed.

use board::{Board, Channel};
use parts::Figure;

use super::schedule::Schedule;
use super::straight::Straight;

/// Share of a code to which the network has to settle.
const OF_A_CODE: f64 = 0.25;

/// What the time a sensor is fed must hold.
#[derive(Clone, Debug)]
pub struct Awake<'b> {
    /// How long it is fed for a reading, s.
    pub awake_s: f64,
    /// The sensor's own start, where its part states one, s, with the figure.
    pub sensor: Option<(f64, &'b Figure)>,
    /// Until the network has charged to a quarter of a code, s; zero where
    /// nothing is stored, `None` where that is not known.
    pub network_s: Option<f64>,
    /// The conversions of one reading, s, with the figure where it is a
    /// digital sensor's own; `None` where that is not known.
    pub reading: Option<(f64, Option<&'b Figure>)>,
}

impl<'b> Awake<'b> {
    /// For a channel that says how long its sensor is fed; `None` for others.
    #[must_use]
    pub fn of(board: &'b Board, channel: &'b Channel, schedules: &[Schedule]) -> Option<Awake<'b>> {
        let awake_s = channel.awake_s?.value;
        let figure = |name: &str| {
            let own = channel.sensor.figures.get(name);
            own.or_else(|| channel.sensor.part.as_ref()?.figures.get(name))
        };
        let longest = |f: &Figure| f.max.or_else(|| f.typical()).filter(|s| *s > 0.0);
        let timed = |name: &str| figure(name).and_then(|f| Some((longest(f)?, f)));
        let sensor = timed("settling-time").or_else(|| timed("start-up-time"));
        let (network_s, reading) = match &channel.input {
            Some(input) => {
                let place = board.channels.iter().position(|c| c.name == channel.name);
                let turn = schedules
                    .iter()
                    .filter(|s| s.device == input.device && s.unit == input.unit)
                    .find_map(|s| s.turn(place?));
                (network_s(board, channel), turn.map(|t| (t.seconds(), None)))
            }
            None => (
                Some(0.0),
                timed("conversion-time").map(|(s, f)| (s, Some(f))),
            ),
        };
        Some(Awake {
            awake_s,
            sensor,
            network_s,
            reading,
        })
    }

    /// All that is known to be needed, s.
    #[must_use]
    pub fn needed_s(&self) -> f64 {
        self.sensor.map_or(0.0, |s| s.0)
            + self.network_s.unwrap_or(0.0)
            + self.reading.map_or(0.0, |r| r.0)
    }

    /// Whether it fits, as far as it is known.
    #[must_use]
    pub fn fits(&self) -> bool {
        self.needed_s() <= self.awake_s
    }
}

/// Time from nothing until what the quantity drives is within a quarter of a
/// code of its end, the slower end of the span counting, s.
///
/// The network is the one at rest, made straight: it charges with the same
/// time constants when it is switched on, as long as no stage is at its limit
/// on the way.
fn network_s(board: &Board, channel: &Channel) -> Option<f64> {
    let straight = Straight::of(board, channel, None, 0.0).ok()?;
    let (low, high) = channel.span.value;
    let mut slowest: f64 = 0.0;
    for quantity in [low, high] {
        let point = straight.nominal(quantity).ok()?;
        let codes = (point.volt * point.codes_per_volt).abs();
        // Nothing has to be reached.
        if !(codes > OF_A_CODE) {
            continue;
        }
        let step = point.pin.response(0, point.quantity?)?.step().ok()?;
        let allowed = step.last().abs() * OF_A_CODE / codes;
        slowest = slowest.max(step.settling_s(allowed)?);
    }
    Some(slowest)
}
