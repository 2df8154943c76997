//! How much digital temperature sensors warm themselves by converting.

use board::Board;
use quantity::Dimension;

use super::polling::Polling;
use super::segment::cited;
use crate::levels::supply::volts;

/// One channel whose fitted device warms itself.
#[derive(Clone, Debug, PartialEq)]
pub struct Warming {
    /// Position of the channel.
    pub channel: usize,
    /// Position of the device.
    pub device: usize,
    /// Its name.
    pub name: String,
    /// Power while it converts, W.
    pub active_w: f64,
    /// Power in between, W.
    pub idle_w: f64,
    /// Share of the time in which it converts.
    pub duty: f64,
    /// Time of a conversion, s.
    pub conversion_s: Option<f64>,
    /// Junction to ambient, K/W.
    pub kelvin_per_w: f64,
    /// What comes of it, K: (active · duty + idle · (1 − duty)) · K/W.
    pub rise_k: f64,
    /// The figures: name, value, source.
    pub figures: Vec<(String, String, String)>,
}

/// Warming of every temperature channel whose sensor is a fitted device with
/// a thermal resistance and a supply current.
///
/// It converts all the time unless its polling, its conversion time and a
/// standby current say otherwise.
#[must_use]
pub fn analyse(board: &Board, polling: &Polling) -> Vec<Warming> {
    let mut found = Vec::new();
    for (position, channel) in board.channels.iter().enumerate() {
        if channel.dimension != Dimension::TEMPERATURE {
            continue;
        }
        let Some(index) = channel.sensor.device else {
            continue;
        };
        let Some(device) = board.devices.get(index) else {
            continue;
        };
        let part = &device.part;
        let most = |name: &str| {
            let f = part.figure(name)?;
            Some((f.max.or(f.typ).or(f.min)?, cited(part, f)))
        };
        let (Some(heat), Some(active), Some(supply)) = (
            most("thermal-resistance"),
            most("supply-current"),
            device.supply.and_then(|r| volts(board, r)),
        ) else {
            continue;
        };
        let idle = most("standby-current");
        let poll = polling.polls.iter().find(|p| p.device == index);
        let conversion_s = poll.and_then(|p| p.conversion_s.as_ref()).map(|c| c.value);
        let rate = poll.and_then(|p| p.rate_hz);
        let duty = match (rate, conversion_s, &idle) {
            (Some(hz), Some(s), Some(_)) => (hz * s).min(1.0),
            _ => 1.0,
        };
        let active_w = supply.high * active.0;
        let idle_w = idle.as_ref().map_or(0.0, |i| supply.high * i.0);
        let mut figures = vec![
            (
                "thermal resistance".to_owned(),
                quantity::engineering(heat.0, "K/W", 3),
                heat.1,
            ),
            (
                "supply current".to_owned(),
                quantity::engineering(active.0, "A", 3),
                active.1,
            ),
        ];
        if let Some((a, source)) = idle {
            figures.push((
                "standby current".to_owned(),
                quantity::engineering(a, "A", 3),
                source,
            ));
        }
        found.push(Warming {
            channel: position,
            device: index,
            name: device.name.clone(),
            active_w,
            idle_w,
            duty,
            conversion_s,
            kelvin_per_w: heat.0,
            rise_k: (active_w * duty + idle_w * (1.0 - duty)) * heat.0,
            figures,
        });
    }
    found
}
