//! Spectral densities at the converter's input.

use board::{Board, Channel};
use circuit::StimulusKind;

use super::noise::is_counted;
use super::settle::SamplerFigures;
use super::straight::Straight;
use crate::channel::Unmodelled;

/// Densities of every source of noise in a channel's network.
#[derive(Clone, Debug, PartialEq)]
pub struct Spectra {
    /// Change of the voltage at the input for the quantity, V per SI unit.
    pub volt_per_quantity: f64,
    /// Codes for each volt.
    pub codes_per_volt: f64,
    /// One for each source of noise.
    pub lines: Vec<SpectrumLine>,
}

/// Density of one source of noise.
#[derive(Clone, Debug, PartialEq)]
pub struct SpectrumLine {
    /// The part, as a line of [`super::noise::ChannelNoise`] names it.
    pub name: String,
    /// How it acts.
    pub kind: StimulusKind,
    /// At each frequency asked for, V/√Hz.
    pub densities: Vec<f64>,
}

/// The densities at a value of the quantity and an ambient, the sample
/// capacitor away.
///
/// # Errors
/// As [`Straight::of`].
pub fn spectra(
    board: &Board,
    channel: &Channel,
    quantity: f64,
    kelvin: f64,
    hz: &[f64],
) -> Result<Spectra, Unmodelled> {
    let figures = channel
        .input
        .as_ref()
        .and_then(|n| SamplerFigures::of(board, n.device, n.unit));
    let straight = Straight::of(board, channel, None, figures.map_or(0.0, |f| f.pin_farad))?;
    let point = straight.at(&straight.inputs(quantity, kelvin))?;
    let noise = point
        .pin
        .noise(0, |_| kelvin)
        .ok_or_else(|| Unmodelled::new("the network has no output"))?;
    let mut lines: Vec<SpectrumLine> = noise
        .contributors()
        .iter()
        .map(|c| SpectrumLine {
            name: straight.origin(&c.stimulus.element, c.stimulus.kind).name,
            kind: c.stimulus.kind,
            densities: Vec::new(),
        })
        .collect();
    for &hz in hz {
        for (line, power) in lines.iter_mut().zip(noise.density(hz)) {
            line.densities.push(power.max(0.0).sqrt());
        }
    }
    let counted: Vec<bool> = noise
        .contributors()
        .iter()
        .map(|c| is_counted(&c.stimulus.element))
        .collect();
    let mut counted = counted.into_iter();
    lines.retain(|_| counted.next().unwrap_or(false));
    Ok(Spectra {
        volt_per_quantity: point.volt_per_quantity,
        codes_per_volt: point.codes_per_volt,
        lines,
    })
}

/// Change of the voltage between the converter's inputs for the quantity at
/// each of its values given, V per SI unit.
///
/// # Errors
/// As [`Straight::of`].
pub fn slopes(
    board: &Board,
    channel: &Channel,
    quantities: &[f64],
    kelvin: f64,
) -> Result<Vec<f64>, Unmodelled> {
    let straight = Straight::of(board, channel, None, 0.0)?;
    quantities
        .iter()
        .map(|&q| Ok(straight.at(&straight.inputs(q, kelvin))?.volt_per_quantity))
        .collect()
}

/// Powers of ten between which densities are looked at, Hz.
const DECADES: (i32, i32) = (-1, 7);
/// Points for each decade.
const PER_DECADE: i32 = 5;

/// Frequencies at which a spectrum is usually looked at, 0.1 Hz to 10 MHz.
#[must_use]
pub fn frequencies() -> Vec<f64> {
    let (first, last) = (DECADES.0 * PER_DECADE, DECADES.1 * PER_DECADE);
    let power = |k: i32| f64::from(k) / f64::from(PER_DECADE);
    (first..=last)
        .map(|k| elementary::pow(10.0, power(k)))
        .collect()
}

/// What kind of noise a stimulus makes, in a word.
#[must_use]
pub fn kind_word(kind: StimulusKind) -> &'static str {
    match kind {
        StimulusKind::Thermal => "thermal",
        StimulusKind::Shot => "shot",
        StimulusKind::InputVoltage | StimulusKind::OutputVoltage => "amplifier, voltage",
        StimulusKind::PlusCurrent | StimulusKind::MinusCurrent => "amplifier, current",
        _ => "other",
    }
}
