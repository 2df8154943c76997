//! The noise of a reading before the converter's own.

use board::{Board, Channel};
use circuit::{BOLTZMANN, Band, Linearised, Noise, StimulusKind};
use parts::{ConverterUnit, Figure};
use statistics::averaging;

use super::schedule::{Schedule, Turn};
use super::settle::SamplerFigures;
use super::straight::{Origin, Point, Straight};
use crate::channel::Unmodelled;

/// How long readings are compared with each other where the file does not
/// say, s: what is slower than a tenth of a hertz counts as drift (common
/// practice, as references and amplifiers are stated from there).
pub const OBSERVED_S: f64 = 10.0;

/// Highest frequency of the wide noise of references, Hz, where a part does
/// not state it (common practice).
const WIDE_HZ: f64 = 10e3;

/// Highest frequency of a reference's wide noise, Hz.
#[must_use]
pub fn wide_hz(figure: &Figure) -> f64 {
    figure.band_hz.map_or(WIDE_HZ, |b| b.1)
}

/// Frequencies above the data rate up to which a converter that averages is
/// followed, as a multiple of it.
const RATES: f64 = 200.0;

/// Name of the element that stands for the average current of an input.
const AVERAGE_CURRENT: &str = "current of ";

/// One source of noise.
#[derive(Clone, Debug, PartialEq)]
pub struct NoiseLine {
    /// The part it comes from, and where its figure was read.
    pub origin: Origin,
    /// How it acts.
    pub kind: StimulusKind,
    /// In one conversion, referred to the converter's input, V rms.
    pub single_v: f64,
    /// In one reading, which is the mean of several conversions, V rms.
    pub reading_v: f64,
}

/// Noise of one channel at the converter's input.
#[derive(Clone, Debug, PartialEq)]
pub struct ChannelNoise {
    /// The largest first.
    pub lines: Vec<NoiseLine>,
    /// Value of the quantity at which it is largest, SI.
    pub quantity: f64,
    /// Temperature at which it was taken, K.
    pub kelvin: f64,
    /// Conversions a second within a reading, Hz.
    pub rate_hz: f64,
    /// Conversions averaged.
    pub count: u32,
    /// Lowest frequency that counts, Hz.
    pub low_hz: f64,
    /// Share of the thermal noise that the converter's own figure does not
    /// contain: a figure of noise contains the kT/C of the sample capacitor.
    pub beyond_figure: f64,
    /// Amplifiers without a figure of noise, by name.
    pub silent: Vec<String>,
}

impl ChannelNoise {
    /// All of it in one conversion, V rms.
    #[must_use]
    pub fn single_v(&self) -> f64 {
        root_of_squares(self.lines.iter().map(|l| l.single_v))
    }

    /// How many of the conversions of a reading have noise of their own where
    /// it has a bandwidth: conversions that follow each other faster than the
    /// noise changes have it in common.
    #[must_use]
    pub fn independent(&self, bandwidth_hz: f64) -> f64 {
        let count = f64::from(self.count);
        count.min((2.0 * bandwidth_hz * count / self.rate_hz).max(1.0))
    }

    /// All of it in one reading, V rms.
    #[must_use]
    pub fn reading_v(&self) -> f64 {
        root_of_squares(self.lines.iter().map(|l| l.reading_v))
    }
}

/// Whether an element makes noise: the average current of a sampled input is
/// no resistor.
pub(super) fn is_counted(element: &str) -> bool {
    !element.starts_with(AVERAGE_CURRENT)
}

fn root_of_squares(values: impl Iterator<Item = f64>) -> f64 {
    values.map(|v| v * v).sum::<f64>().sqrt()
}

/// Whether the converter's own noise is stated, and with it its kT/C.
#[must_use]
pub fn has_own_figure(board: &Board, channel: &Channel) -> bool {
    let Some(input) = &channel.input else {
        return false;
    };
    let Some(device) = board.devices.get(input.device) else {
        return false;
    };
    let Some(unit) = device.part.converters.get(input.unit) else {
        return false;
    };
    ["noise", "signal-to-noise", "effective-bits"]
        .iter()
        .any(|&f| unit.figures.contains_key(f) || device.part.figures.contains_key(f))
}

/// The noise of a channel in its turn, at the place in its span where it is
/// largest.
///
/// # Errors
/// The network has no operating point or is not stable, or nothing ends its
/// noise at high frequencies.
pub fn noise(
    board: &Board,
    channel: &Channel,
    straight: &Straight,
    schedule: &Schedule,
    turn: &Turn,
    sampler: Option<&SamplerFigures>,
) -> Result<ChannelNoise, Unmodelled> {
    let unit = board
        .devices
        .get(schedule.device)
        .and_then(|d| d.part.converters.get(schedule.unit))
        .ok_or_else(|| Unmodelled::new("the channel enters no converter"))?;
    let kelvin = board.conditions.ambient_k.1;
    let observed = board.scan_of(schedule.device).observed_s.map(|s| s.value);
    let low_hz = 1.0 / observed.unwrap_or(OBSERVED_S);
    let one = turn.acquire_s + turn.convert_s;
    let rate_hz = 1.0 / one;
    let mut largest: Option<ChannelNoise> = None;
    let (low, high) = channel.span.value;
    for quantity in [low, 0.5 * (low + high), high] {
        let point = straight.at(&straight.inputs(quantity, kelvin))?;
        let powers = match &point.held {
            Some(held) if !unit.delta_sigma => {
                sampled(held, kelvin, rate_hz, turn.repeats, low_hz)?
            }
            _ if unit.delta_sigma => averaged(
                board,
                &point,
                unit,
                kelvin,
                turn.data_rate_hz.unwrap_or(rate_hz),
                turn.repeats,
                low_hz,
            )?,
            _ => {
                return Err(Unmodelled::new(
                    "the converter's part states no sample capacitor, which ends the noise at high frequencies",
                ));
            }
        };
        let beyond_figure = match sampler {
            Some(s) if has_own_figure(board, channel) && !unit.delta_sigma => {
                let thermal: f64 = powers
                    .iter()
                    .filter(|p| p.kind == StimulusKind::Thermal)
                    .map(|p| p.single)
                    .sum();
                let contained = BOLTZMANN * kelvin / s.slowest.farad;
                if thermal > 0.0 {
                    ((thermal - contained) / thermal).max(0.0)
                } else {
                    0.0
                }
            }
            _ => 1.0,
        };
        let mut lines: Vec<NoiseLine> = powers
            .into_iter()
            .filter(|p| is_counted(&p.element))
            .map(|p| {
                let share = if p.kind == StimulusKind::Thermal {
                    // What is only rounding beside kT/C is none.
                    if beyond_figure > 1e-6 {
                        beyond_figure
                    } else {
                        0.0
                    }
                } else {
                    1.0
                };
                NoiseLine {
                    origin: straight.origin(&p.element, p.kind),
                    kind: p.kind,
                    single_v: (p.single * share).max(0.0).sqrt(),
                    reading_v: (p.reading * share).max(0.0).sqrt(),
                }
            })
            .collect();
        if lines.iter().any(|l| !l.reading_v.is_finite()) {
            return Err(Unmodelled::new(
                "nothing ends the noise of the network at high frequencies",
            ));
        }
        lines.sort_by(|a, b| b.reading_v.total_cmp(&a.reading_v));
        let found = ChannelNoise {
            lines,
            quantity,
            kelvin,
            rate_hz,
            count: turn.repeats,
            low_hz,
            beyond_figure,
            silent: straight.silent.clone(),
        };
        if largest
            .as_ref()
            .is_none_or(|l| found.reading_v() > l.reading_v())
        {
            largest = Some(found);
        }
    }
    largest.ok_or_else(|| Unmodelled::new("the channel has no noise"))
}

/// Powers of one stimulus at the output, V².
struct Power {
    element: String,
    kind: StimulusKind,
    single: f64,
    reading: f64,
}

/// An instant of the voltage on the sample capacitor, and the mean of several.
fn sampled(
    held: &Linearised,
    kelvin: f64,
    rate_hz: f64,
    count: u32,
    low_hz: f64,
) -> Result<Vec<Power>, Unmodelled> {
    let told = |f: circuit::TimeFault| Unmodelled::new(f.to_string());
    let noise = held
        .noise(0, |_| kelvin)
        .ok_or_else(|| Unmodelled::new("the network has no output"))?;
    powers(&noise, count, |count| {
        noise.sampled(rate_hz, count, low_hz).map_err(told)
    })
}

/// Powers of all contributors in one conversion and in the mean of several,
/// as `power` has them for a number of conversions, V².
fn powers(
    noise: &Noise<'_>,
    count: u32,
    power: impl Fn(u32) -> Result<Vec<f64>, Unmodelled>,
) -> Result<Vec<Power>, Unmodelled> {
    let single = power(1)?;
    let reading = if count > 1 {
        power(count)?
    } else {
        single.clone()
    };
    Ok(noise
        .contributors()
        .iter()
        .zip(single.into_iter().zip(reading))
        .map(|(c, (single, reading))| Power {
            element: c.stimulus.element.clone(),
            kind: c.stimulus.kind,
            single,
            reading,
        })
        .collect())
}

/// What a converter that averages leaves of the noise at its input: its
/// filter is taken as a moving average of the period of its first notch, so
/// many times over as its order.
fn averaged(
    board: &Board,
    point: &Point,
    unit: &ConverterUnit,
    kelvin: f64,
    rate_hz: f64,
    count: u32,
    low_hz: f64,
) -> Result<Vec<Power>, Unmodelled> {
    let told = |f: circuit::TimeFault| Unmodelled::new(f.to_string());
    let order = filter_order(unit);
    let notch_hz = notch_hz(board, unit, rate_hz);
    let noise = point
        .pin
        .noise(0, |_| kelvin)
        .ok_or_else(|| Unmodelled::new("the network has no output"))?;
    // The moving average itself: a window without samples.
    let lobe = move |hz: f64, rate: f64| {
        let x = std::f64::consts::PI * hz / rate;
        let sinc = if x.abs() < 1e-8 {
            1.0
        } else {
            elementary::sin(x) / x
        };
        sinc * sinc
    };
    let breaks: Vec<f64> = (1..=20).map(|k| f64::from(k) * notch_hz).collect();
    powers(&noise, count, |count| {
        let band = Band {
            low_hz,
            high_hz: RATES * notch_hz,
            filter: &|hz| {
                let one = lobe(hz, notch_hz);
                let filter = (0..order).fold(1.0, |p, _| p * one);
                filter * averaging::window_power(hz / rate_hz, count)
            },
            breaks_hz: &breaks,
        };
        noise.power(&band).map_err(told)
    })
}

/// First notch of the filter of a converter that averages, Hz: the data rate
/// where its part does not state another. Of several that a pin selects it is
/// the one nearest to the mains the board lives with.
#[must_use]
pub fn notch_hz(board: &Board, unit: &ConverterUnit, data_rate_hz: f64) -> f64 {
    let stated = unit.figures.get("filter-notch");
    let Some(stated) = stated.and_then(|f| f.at_rate(data_rate_hz)) else {
        return data_rate_hz;
    };
    let mains = board.interferers.iter().find(|i| i.name == "mains");
    let away = |hz: f64| mains.map_or(hz, |m| (hz - m.frequency_hz.value.1).abs());
    let choices = stated.choices.iter().copied();
    choices
        .min_by(|a, b| away(*a).total_cmp(&away(*b)))
        .or(stated.min)
        .or_else(|| stated.typical())
        .filter(|hz| *hz > 0.0)
        .unwrap_or(data_rate_hz)
}

/// Order of the filter of a converter that averages; one where the part does
/// not say, which lets the most through.
#[must_use]
pub fn filter_order(unit: &ConverterUnit) -> u32 {
    let order = unit.figures.get("filter-order").and_then(|f| f.typical());
    order.map_or(1, |n| n.clamp(1.0, 8.0) as u32)
}
