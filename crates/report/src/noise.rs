//! The answer of `noise`.

use serde::Serialize;

use crate::check::Condition;

/// What makes readings of a steady quantity differ.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Noise {
    /// See [`crate::VERSION`].
    pub version: u32,
    /// Name of the board.
    pub board: String,
    /// One per channel asked for, in the order of the file.
    pub channels: Vec<ChannelNoise>,
}

/// One channel's noise about its operating point.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct ChannelNoise {
    /// Its name.
    pub name: String,
    /// The quantity in words.
    pub quantity: String,
    /// Unit of an error of the quantity.
    pub error_unit: String,
    /// Where the network stands.
    pub at: Vec<Condition>,
    /// Frequencies of the densities given, Hz.
    pub densities_hz: Vec<f64>,
    /// What makes noise, the largest first.
    pub contributors: Vec<NoiseContributor>,
    /// All of it in one conversion.
    pub conversion: NoiseTotal,
    /// All of it in one reading.
    pub reading: NoiseTotal,
    /// Conversions averaged for a reading.
    pub averaged: u32,
    /// Noise slower than one swing in this time counts as drift, s.
    pub observed_s: f64,
    /// Largest share of a code by which the average of readings stays off
    /// because the noise is too small to spread the rounding, codes.
    pub bias_left_codes: f64,
    /// What was taken for granted, in sentences.
    pub assumed: Vec<String>,
    /// Why there is no number, where there is none.
    pub reason: String,
}

/// The noise of conversions or of readings, one standard deviation.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct NoiseTotal {
    /// At the converter's input, V.
    pub volt: f64,
    /// In codes.
    pub codes: f64,
    /// In the quantity's error unit.
    pub quantity: f64,
    /// log₂ of the full scale over it.
    pub effective_bits: f64,
    /// log₂ of the full scale over 6.6 times it: what hardly ever flickers.
    pub noise_free_bits: f64,
}

/// One source of noise.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct NoiseContributor {
    /// Its name.
    pub name: String,
    /// What kind of noise: thermal, amplifier, reference, converter, …
    pub kind: String,
    /// Spectral density at the converter's input at the frequencies named,
    /// V/√Hz; not a number for noise that is known as one figure only.
    pub densities: Vec<f64>,
    /// In one conversion.
    pub volt: f64,
    /// The same in codes.
    pub codes: f64,
    /// The same in the quantity's error unit.
    pub quantity: f64,
    /// In one reading, in the quantity's error unit.
    pub reading: f64,
    /// Share of the reading's variance.
    pub share: f64,
    /// The figure it rests on.
    pub source: String,
    /// How well that is founded; empty where the board file states it or it
    /// follows from physics.
    pub basis: String,
    /// Density at the converter's input over frequency, rising; empty for
    /// noise that is known as one figure only.
    pub spectrum: Vec<SpectrumPoint>,
}

/// A density at one frequency.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct SpectrumPoint {
    /// Frequency, Hz.
    pub hz: f64,
    /// Density, V/√Hz.
    pub density: f64,
}
