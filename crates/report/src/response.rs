//! The answer of `response`.

use serde::Serialize;

use crate::check::Condition;

/// How the converter's input follows its sensor over frequency and in time.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Response {
    /// See [`crate::VERSION`].
    pub version: u32,
    /// Name of the board.
    pub board: String,
    /// One per channel asked for, in the order of the file.
    pub channels: Vec<ChannelResponse>,
}

/// One channel's response, linear about its operating point.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct ChannelResponse {
    /// Its name.
    pub name: String,
    /// The quantity in words.
    pub quantity: String,
    /// Where the network stands while it is moved a little.
    pub at: Vec<Condition>,
    /// What moves, in words.
    pub stimulus: String,
    /// Volt at the converter's input per unit of what moves, at rest.
    pub gain: f64,
    /// Unit of it, such as V/V or V/A.
    pub gain_unit: String,
    /// Where the gain has fallen by half its power (3.01 dB) for good, Hz;
    /// none where it never does in the range looked at.
    pub corner_hz: Option<f64>,
    /// Over frequency, rising.
    pub points: Vec<ResponsePoint>,
    /// At frequencies that have a name: the mains, its harmonics, those asked
    /// for.
    pub named: Vec<NamedFrequency>,
    /// After a step of what moves, in time.
    pub step: Vec<StepPoint>,
    /// When it has come within what for good.
    pub settling: Vec<SettlingTime>,
    /// Where the network's own motions die away, the slowest first.
    pub poles: Vec<Pole>,
    /// How slow the sensor itself is, which stands before all of the above;
    /// none where nothing states it.
    pub sensor: Option<SensorLag>,
    /// Why there is no response, where there is none.
    pub reason: String,
}

/// The response at one frequency.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ResponsePoint {
    /// Frequency, Hz.
    pub hz: f64,
    /// Magnitude against that at rest, dB; no number where nothing passes at
    /// rest.
    pub db: f64,
    /// Phase against that at rest, degrees, without jumps.
    pub degrees: f64,
}

/// The response at a frequency with a name.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct NamedFrequency {
    /// Its name.
    pub name: String,
    /// Frequency, Hz.
    pub hz: f64,
    /// What is lost against rest, dB; negative where it is more than at rest.
    pub attenuation_db: f64,
    /// Phase against that at rest, degrees.
    pub degrees: f64,
}

/// The response to a step at one moment.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct StepPoint {
    /// Time since the step, s.
    pub seconds: f64,
    /// How far it has come: 1 is where it ends.
    pub share: f64,
}

/// When a step's response stays within something.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SettlingTime {
    /// Within what, in words: "1 %", "half a code".
    pub to: String,
    /// The same as a share of the step.
    pub share: f64,
    /// Time since the step, s; none where it never does.
    pub seconds: Option<f64>,
}

/// How slow a sensor is by itself, taken as one time constant.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SensorLag {
    /// Time in which it comes to 63 % of a step, s.
    pub time_constant_s: f64,
    /// Where it has fallen by 3.01 dB, Hz.
    pub corner_hz: f64,
    /// When it has come within what, as for the network.
    pub settling: Vec<SettlingTime>,
    /// What is stated, in words.
    pub stated: String,
    /// Where.
    pub source: String,
    /// How well that is founded; empty where the board file states it.
    pub basis: String,
}

/// One of a network's own motions.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Pole {
    /// Time in which it falls to 1/e, s; negative where it grows.
    pub time_constant_s: f64,
    /// Frequency at which it rings, Hz; 0 where it does not.
    pub ringing_hz: f64,
}
