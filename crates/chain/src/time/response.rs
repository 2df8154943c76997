//! How the voltage at the converter's input follows the quantity, over
//! frequency and after a step.

use std::f64::consts::TAU;

use board::{Board, Channel};

use super::settle::SamplerFigures;
use super::straight::Straight;
use crate::channel::Unmodelled;

/// Points for each decade of frequency.
const PER_DECADE: i32 = 20;
/// Points of a step's response.
const STEP_POINTS: u32 = 240;
/// Lowest and highest frequency looked at, as powers of ten, Hz.
const DECADES: (i32, i32) = (-6, 9);
/// Attenuation beyond which nothing more is looked at, dB.
const NOTHING_DB: f64 = 120.0;

/// A channel's network answering its quantity.
#[derive(Clone, Debug, PartialEq)]
pub struct Answering {
    /// Value of the quantity about which it is moved, SI.
    pub quantity: f64,
    /// Ambient, K.
    pub kelvin: f64,
    /// Change of the voltage at the converter's input for a slow change of
    /// the quantity by one (SI), V.
    pub gain: f64,
    /// Codes between the ends of the span; zero without a converter.
    pub codes: f64,
    /// Where the magnitude has fallen to 1/√2, Hz; `None` if it never does.
    pub corner_hz: Option<f64>,
    /// Frequency, Hz; magnitude against rest, dB; phase against rest, degrees.
    pub points: Vec<(f64, f64, f64)>,
    /// The same at the frequencies asked for.
    pub asked: Vec<(f64, f64, f64)>,
    /// Time after a step, s, and the share of it that has come.
    pub step: Vec<(f64, f64)>,
    /// For each share asked for the time after which no more than it is left,
    /// s; `None` where the share is none.
    pub settling_s: Vec<Option<f64>>,
    /// Time constant, s, and frequency of ringing, Hz, of each of the
    /// network's own motions, the slowest first.
    pub poles: Vec<(f64, f64)>,
}

/// The response of a channel's network in the middle of its span and of the
/// ambient, everything else nominal. `shares` are shares of a step;
/// `code_shares` codes of a step over the whole span.
///
/// # Errors
/// The channel has no analog network, it has no operating point, it is not
/// stable, or nothing in it follows the quantity.
pub fn answering(
    board: &Board,
    channel: &Channel,
    asked_hz: &[f64],
    shares: &[f64],
    code_shares: &[f64],
) -> Result<Answering, Unmodelled> {
    let figures = channel
        .input
        .as_ref()
        .and_then(|n| SamplerFigures::of(board, n.device, n.unit));
    let pin_farad = figures.map_or(0.0, |f| f.pin_farad);
    let straight = Straight::of(board, channel, None, pin_farad)?;
    let (low, high) = channel.span.value;
    let (cold, hot) = board.conditions.ambient_k;
    let (quantity, kelvin) = (0.5 * (low + high), 0.5 * (cold + hot));
    let at = |q: f64| straight.at(&straight.inputs(q, kelvin));
    let point = at(quantity)?;
    let span_v = (at(high)?.volt - at(low)?.volt).abs();
    let codes = (span_v * point.codes_per_volt).abs();
    let stimulus = point.quantity.ok_or_else(|| {
        Unmodelled::new("nothing in the channel's network follows the quantity by itself")
    })?;
    let response = point
        .pin
        .response(0, stimulus)
        .ok_or_else(|| Unmodelled::new("the network has no output"))?;
    let told = |f: circuit::TimeFault| Unmodelled::new(f.to_string());
    let mut poles: Vec<(f64, f64)> = point
        .pin
        .poles()
        .map_err(told)?
        .iter()
        .filter(|p| p.im >= 0.0)
        .map(|p| (-1.0 / p.re, p.im / TAU))
        .collect();
    poles.sort_by(|a, b| b.0.total_cmp(&a.0));
    let gain = point.pin.gain(0, stimulus).unwrap_or(0.0);
    let corner_hz = response.falls_to(std::f64::consts::FRAC_1_SQRT_2);
    let row = |hz: &[f64]| -> Vec<(f64, f64, f64)> {
        // Against rest: an inverting network begins half a turn away.
        let turned = if gain < 0.0 { 180.0 } else { 0.0 };
        let phases = response.phase_deg(hz);
        let turned = match phases.first() {
            Some(first) if *first < 0.0 => -turned,
            _ => turned,
        };
        hz.iter()
            .zip(phases)
            .map(|(&hz, degrees)| (hz, -response.attenuation_db(hz), degrees - turned))
            .collect()
    };
    let corners: Vec<f64> = poles
        .iter()
        .map(|(tau, ringing)| (1.0 / (TAU * tau.abs())).max(*ringing))
        .filter(|hz| hz.is_finite() && *hz > 0.0)
        .chain(corner_hz)
        .chain(asked_hz.iter().copied())
        .collect();
    let hz = frequencies(&corners, |hz| response.attenuation_db(hz) > NOTHING_DB);
    // The phase goes on without jumps from the lowest frequency on.
    let mut all: Vec<f64> = hz.iter().chain(asked_hz).copied().collect();
    all.sort_by(f64::total_cmp);
    all.dedup();
    let all = row(&all);
    let pick = |list: &[f64]| -> Vec<(f64, f64, f64)> {
        let found = |hz: &f64| all.iter().find(|p| p.0 == *hz).copied();
        list.iter().filter_map(found).collect()
    };
    let after = response.step().map_err(told)?;
    let last = after.last();
    let shares: Vec<f64> = shares
        .iter()
        .copied()
        .chain(code_shares.iter().map(|c| c / codes))
        .collect();
    let settling_s: Vec<Option<f64>> = shares
        .iter()
        .map(|s| after.settling_s(s * last.abs()).filter(|t| t.is_finite()))
        .collect();
    let slowest = poles.first().map_or(0.0, |p| p.0);
    let longest = settling_s.iter().flatten().copied().fold(0.0, f64::max);
    let until = if longest > 0.0 {
        1.2 * longest
    } else {
        8.0 * slowest
    };
    let step = if until > 0.0 && last != 0.0 {
        (0..=STEP_POINTS)
            .map(|i| until * f64::from(i) / f64::from(STEP_POINTS))
            .map(|s| (s, after.at(s) / last))
            .collect()
    } else {
        Vec::new()
    };
    Ok(Answering {
        quantity,
        kelvin,
        gain,
        codes,
        corner_hz,
        points: pick(&hz),
        asked: pick(asked_hz),
        step,
        settling_s,
        poles,
    })
}

/// Time constants after which a first-order lag has no more than a share of a
/// step left: ln(1/share).
#[must_use]
pub fn time_constants_to(share: f64) -> f64 {
    -elementary::ln(share)
}

/// Frequencies from well below to well above all corners, whole decades, up to
/// where nothing is left.
fn frequencies(corners: &[f64], nothing: impl Fn(f64) -> bool) -> Vec<f64> {
    let least = corners.iter().copied().fold(f64::INFINITY, f64::min);
    let most = corners.iter().copied().fold(0.0, f64::max);
    let decade = |hz: f64| elementary::log10(hz).floor() as i32;
    let (first, last) = if most > 0.0 {
        (decade(least) - 1, decade(most) + 2)
    } else {
        (0, 6)
    };
    let (first, last) = (first.clamp(DECADES.0, 0), last.clamp(3, DECADES.1));
    let mut list = Vec::new();
    for d in first..=last {
        // To the last bit what the digits say.
        let ten: f64 = format!("1e{d}").parse().unwrap_or(1.0);
        for k in 0..PER_DECADE {
            let hz = ten * elementary::pow(10.0, f64::from(k) / f64::from(PER_DECADE));
            list.push(if k == 0 { ten } else { hz });
            if d == last {
                break;
            }
        }
        if nothing(ten) && d > 1 {
            break;
        }
    }
    list
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn frequencies_span_whole_decades_about_the_corners() {
        let list = frequencies(&[159.0], |_| false);
        assert_eq!(list.first(), Some(&1.0));
        assert_eq!(list.last(), Some(&1e4));
        for e in 0..=4 {
            let ten: f64 = format!("1e{e}").parse().unwrap();
            assert!(list.contains(&ten));
        }
        assert!(list.windows(2).all(|w| w[0] < w[1]));
        // Without a corner the audible range is as good as any.
        assert_eq!(frequencies(&[], |_| false).last(), Some(&1e6));
        assert!(frequencies(&[1.0, 1e9], |hz| hz > 1e4).last().unwrap() < &1e6);
    }
}
