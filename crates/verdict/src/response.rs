//! How converters' inputs follow their sensors.

use std::f64::consts::TAU;

use board::{Board, Channel};
use chain::time::response::{Answering, answering};
use parts::Figure;
use rayon::prelude::*;
use report::{
    ChannelResponse, Condition, NamedFrequency, Pole, ResponsePoint, SensorLag, SettlingTime,
    StepPoint,
};

use crate::budget::BudgetFault;
use crate::words;

/// What a step is said to have settled to, as shares of it.
const SHARES: [(&str, f64); 2] = [("1 %", 0.01), ("0.1 %", 0.001)];
/// The same in codes of a step over the whole span.
const CODES: [(&str, f64); 2] = [("half a code", 0.5), ("a quarter of a code", 0.25)];
/// Harmonics of an interferer that are named.
const HARMONICS: u32 = 10;

/// The channels that are asked about: one by its name, or all.
///
/// # Errors
/// There is no channel of that name.
pub(crate) fn chosen<'a>(
    board: &'a Board,
    name: Option<&str>,
) -> Result<Vec<(usize, &'a Channel)>, BudgetFault> {
    let all = board.channels.iter().enumerate();
    let Some(name) = name else {
        return Ok(all.collect());
    };
    let found: Vec<(usize, &Channel)> = all.filter(|(_, c)| c.name == name).collect();
    if found.is_empty() {
        let known = board.channels.iter().map(|c| c.name.clone()).collect();
        return Err(BudgetFault::NoChannel(known));
    }
    Ok(found)
}

/// Where a network stands: its quantity and the ambient.
pub(crate) fn standing(channel: &Channel, quantity: f64, kelvin: f64) -> Vec<Condition> {
    vec![
        Condition {
            name: channel.quantity.clone(),
            value: channel.unit.number(quantity),
            unit: channel.unit.symbol.clone(),
        },
        Condition {
            name: "ambient".to_owned(),
            value: kelvin - 273.15,
            unit: "°C".to_owned(),
        },
    ]
}

/// The response of one channel, or of all, with the mains, the interferers
/// and `asked_hz` (Hz, above zero) among the frequencies that are named.
///
/// # Errors
/// There is no channel of that name.
pub fn response(
    board: &Board,
    name: Option<&str>,
    asked_hz: &[f64],
) -> Result<report::Response, BudgetFault> {
    let settled = system::settled(board);
    let board = settled.as_ref();
    let channels = chosen(board, name)?
        .into_par_iter()
        .map(|(i, c)| one(board, i, c, asked_hz))
        .collect();
    Ok(report::Response {
        version: report::VERSION,
        board: board.name.clone(),
        channels,
    })
}

fn one(board: &Board, i: usize, channel: &Channel, asked_hz: &[f64]) -> ChannelResponse {
    let mut named: Vec<(String, f64)> = Vec::new();
    let mut name = |name: String, hz: f64| {
        let known = named.iter().any(|(_, h)| *h == hz);
        if !known && hz.is_finite() && hz > 0.0 {
            named.push((name, hz));
        }
    };
    for interferer in &board.interferers {
        if !interferer.channels.is_empty() && !interferer.channels.contains(&i) {
            continue;
        }
        for n in 1..=interferer.harmonics.clamp(1, HARMONICS) {
            let text = match n {
                1 => interferer.name.clone(),
                n => format!("{} × {n}", interferer.name),
            };
            name(text, f64::from(n) * interferer.frequency_hz.value.1);
        }
    }
    for &hz in asked_hz {
        name("asked for".to_owned(), hz);
    }
    let hz: Vec<f64> = named.iter().map(|n| n.1).collect();
    let bare = ChannelResponse {
        name: channel.name.clone(),
        quantity: channel.quantity.clone(),
        ..ChannelResponse::default()
    };
    match answering(
        board,
        channel,
        &hz,
        &SHARES.map(|s| s.1),
        &CODES.map(|c| c.1),
    ) {
        Ok(found) => told(channel, &found, &named, bare),
        Err(fault) => ChannelResponse {
            reason: fault.message,
            ..bare
        },
    }
}

fn told(
    channel: &Channel,
    found: &Answering,
    named: &[(String, f64)],
    bare: ChannelResponse,
) -> ChannelResponse {
    let settling = SHARES
        .iter()
        .copied()
        .chain(CODES.iter().map(|(to, codes)| (*to, codes / found.codes)))
        .zip(&found.settling_s)
        .filter(|((_, share), _)| share.is_finite() && *share > 0.0)
        .map(|((to, share), seconds)| SettlingTime {
            to: to.to_owned(),
            share,
            seconds: *seconds,
        })
        .collect();
    let named = named
        .iter()
        .filter_map(|(name, hz)| {
            let (_, db, degrees) = *found.asked.iter().find(|a| a.0 == *hz)?;
            Some(NamedFrequency {
                name: name.clone(),
                hz: *hz,
                attenuation_db: -db,
                degrees,
            })
        })
        .collect();
    ChannelResponse {
        sensor: lag(channel, found.codes),
        at: standing(channel, found.quantity, found.kelvin),
        stimulus: format!("the {}", channel.quantity),
        // One of the shown unit is so many of SI.
        gain: found.gain / channel.unit.number_of_difference(1.0),
        gain_unit: format!("V/{}", words::error_unit(channel)),
        corner_hz: found.corner_hz,
        points: found
            .points
            .iter()
            .map(|&(hz, db, degrees)| ResponsePoint { hz, db, degrees })
            .collect(),
        named,
        step: found
            .step
            .iter()
            .map(|&(seconds, share)| StepPoint { seconds, share })
            .collect(),
        settling,
        poles: found
            .poles
            .iter()
            .map(|&(time_constant_s, ringing_hz)| Pole {
                time_constant_s,
                ringing_hz,
            })
            .collect(),
        ..bare
    }
}

/// The sensor's own slowness, where its figures state it as a time constant,
/// as the time from 10 % to 90 % of a step (ln 9 time constants) or to 63 %,
/// or as the frequency where it has lost 3 dB.
fn lag(channel: &Channel, codes: f64) -> Option<SensorLag> {
    /// Time constants from 10 % to 90 % of a step: ln 9.
    const TEN_TO_NINETY: f64 = 2.197_224_577_336_219_6;
    let figures = &channel.sensor.figures;
    let size = |f: &Figure| f.max.or_else(|| f.typical()).filter(|x| *x > 0.0);
    let (f, tau, word) = if let Some(f) = figures.get("time-constant") {
        (f, size(f)?, "time constant")
    } else if let Some(f) = figures.get("response-time") {
        let tau = if f.conditions.contains("63 %") {
            size(f)?
        } else if f.conditions.contains("10 % to 90 %") {
            size(f)? / TEN_TO_NINETY
        } else {
            // To which share is not said.
            return None;
        };
        (f, tau, "response time")
    } else {
        // The lowest there may be is the slowest.
        let f = figures.get("bandwidth")?;
        let hz = f.min.or_else(|| f.typical()).filter(|x| *x > 0.0)?;
        (f, 1.0 / (TAU * hz), "bandwidth")
    };
    let settling = SHARES
        .iter()
        .copied()
        .chain(CODES.iter().map(|(to, c)| (*to, c / codes)))
        .filter(|(_, share)| *share > 0.0 && *share < 1.0)
        .map(|(to, share)| SettlingTime {
            to: to.to_owned(),
            share,
            seconds: Some(tau * chain::time::response::time_constants_to(share)),
        })
        .collect();
    let stated = match f.conditions.as_str() {
        "" => word.to_owned(),
        conditions => format!("{word}, {conditions}"),
    };
    Some(SensorLag {
        time_constant_s: tau,
        corner_hz: 1.0 / (TAU * tau),
        settling,
        stated,
        source: f.source.to_string(),
        basis: f.basis.word().to_owned(),
    })
}
