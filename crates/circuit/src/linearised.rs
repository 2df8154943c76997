//! A network made straight: frequency response and steps.

use std::f64::consts::{PI, TAU};

use crate::complex::Complex;
use crate::matrix::Matrix;
use crate::step::StepResponse;
use crate::system::{Modes, System, TimeFault};

/// How a stimulus acts, and with it the unit of a response to it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum StimulusKind {
    /// The voltage of a voltage source, per volt.
    Voltage,
    /// The current of a current source, per ampere.
    Current,
    /// A current fed into a node, per ampere; the stimulus is named after it.
    Fed,
    /// A current beside a resistance, from its first node to its second, per
    /// ampere.
    Thermal,
    /// A current beside a conductor, per ampere.
    Shot,
    /// A voltage in series with the non-inverting input, per volt.
    InputVoltage,
    /// A current into the node at the non-inverting input, per ampere.
    PlusCurrent,
    /// A current into the node at the inverting input, per ampere.
    MinusCurrent,
    /// A voltage added to the output of an instrumentation amplifier, per
    /// volt.
    OutputVoltage,
    /// Several of the others at once, in the shares they were joined with.
    Joined,
}

/// Something that may change by a little.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Stimulus {
    /// The element it belongs to; of a fed node, the node's name.
    pub element: String,
    /// How it acts.
    pub kind: StimulusKind,
}

/// How much a stimulus fluctuates by itself.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Noisy {
    Not,
    Thermal { siemens: f64 },
    Shot { ampere: f64 },
    Stated { white: f64, corner_hz: f64 },
}

/// A network made straight at one operating point, in numbers.
#[derive(Clone, Debug)]
pub struct Linearised {
    stimuli: Vec<(Stimulus, Noisy)>,
    system: System,
}

impl Linearised {
    pub(crate) fn new(stimuli: Vec<(Stimulus, Noisy)>, system: System) -> Self {
        Linearised { stimuli, system }
    }

    pub(crate) fn system(&self) -> &System {
        &self.system
    }

    pub(crate) fn noisy(&self) -> &[(Stimulus, Noisy)] {
        &self.stimuli
    }

    /// All stimuli: the network's sources and the inputs of its amplifiers in
    /// the order of its elements, then the fed nodes, then the noise of its
    /// elements. Ripple of a supply reaches an amplifier's input divided by
    /// its rejection, besides what its own circuit lets through.
    pub fn stimuli(&self) -> impl Iterator<Item = &Stimulus> {
        self.stimuli.iter().map(|(s, _)| s)
    }

    /// Number of a stimulus.
    #[must_use]
    pub fn find(&self, element: &str, kind: StimulusKind) -> Option<usize> {
        self.stimuli()
            .position(|s| s.element == element && s.kind == kind)
    }

    /// The same with one more stimulus: several others at once, each times its
    /// share. With it its number. Shares of stimuli that do not exist count
    /// for nothing.
    #[must_use]
    pub fn joined(mut self, name: &str, parts: &[(usize, f64)]) -> (Self, usize) {
        let number = self.stimuli.len();
        let sum = |m: &Matrix<f64>, i: usize| {
            let parts = parts.iter().filter(|(k, _)| *k < number);
            parts.map(|&(k, share)| m[(i, k)] * share).sum::<f64>()
        };
        let wider = |m: &Matrix<f64>| {
            Matrix::from_fn(m.rows(), number + 1, |i, j| {
                if j < number { m[(i, j)] } else { sum(m, i) }
            })
        };
        self.system.p = wider(&self.system.p);
        self.system.d = wider(&self.system.d);
        let stimulus = Stimulus {
            element: name.to_owned(),
            kind: StimulusKind::Joined,
        };
        self.stimuli.push((stimulus, Noisy::Not));
        (self, number)
    }

    /// Number of outputs.
    #[must_use]
    pub fn outputs(&self) -> usize {
        self.system.d.rows()
    }

    /// An output's change for a slow change of a stimulus by one.
    ///
    /// `None` for numbers that do not exist.
    #[must_use]
    pub fn gain(&self, output: usize, stimulus: usize) -> Option<f64> {
        (output < self.outputs() && stimulus < self.stimuli.len())
            .then(|| self.system.d[(output, stimulus)])
    }

    /// From every stimulus to one output at a frequency, in one solution, to
    /// about 10⁻¹⁵ of the largest response: what is damped by more than
    /// 240 dB is rounding.
    ///
    /// `None` for an output that does not exist, and at a frequency at which
    /// a network without any loss would be driven exactly at its resonance.
    #[must_use]
    pub fn transfers(&self, output: usize, hz: f64) -> Option<Vec<Complex>> {
        if output >= self.outputs() || !hz.is_finite() {
            return None;
        }
        self.system.transfers(output, hz)
    }

    /// The response of an output to a stimulus.
    ///
    /// `None` for numbers that do not exist.
    #[must_use]
    pub fn response(&self, output: usize, stimulus: usize) -> Option<Response<'_>> {
        self.gain(output, stimulus)?;
        Some(Response {
            of: self,
            output,
            stimulus,
        })
    }

    /// Poles, 1/s: real parts are negative in a stable network, and each
    /// time constant is −1/real part.
    ///
    /// # Errors
    /// See [`TimeFault`].
    pub fn poles(&self) -> Result<Vec<Complex>, TimeFault> {
        Ok(self.modes()?.poles())
    }

    pub(crate) fn modes(&self) -> Result<Modes, TimeFault> {
        self.system.modes()
    }
}

/// From one stimulus to one output over frequency.
#[derive(Clone, Copy, Debug)]
pub struct Response<'a> {
    of: &'a Linearised,
    output: usize,
    stimulus: usize,
}

/// Decades searched for a −3 dB frequency on both sides of the poles.
const DECADES: f64 = 3.0;

impl Response<'_> {
    pub(crate) fn network(&self) -> &Linearised {
        self.of
    }

    /// The response at a frequency. Not a number where there is none.
    #[must_use]
    pub fn at(&self, hz: f64) -> Complex {
        self.of
            .transfers(self.output, hz)
            .and_then(|list| list.get(self.stimulus).copied())
            .unwrap_or(Complex::new(f64::NAN, f64::NAN))
    }

    /// Magnitude at a frequency as a share of the gain at direct current;
    /// infinite where there is none.
    #[must_use]
    pub fn relative(&self, hz: f64) -> f64 {
        self.at(hz).abs() / self.at(0.0).abs()
    }

    /// How much less than at direct current is left at a frequency, dB.
    #[must_use]
    pub fn attenuation_db(&self, hz: f64) -> f64 {
        -20.0 * elementary::log10(self.relative(hz))
    }

    /// Phase at a list of rising frequencies, degrees, without jumps from one
    /// to the next: a third-order filter goes on to −270°.
    #[must_use]
    pub fn phase_deg(&self, hz: &[f64]) -> Vec<f64> {
        let mut last = 0.0;
        let mut first = true;
        hz.iter()
            .map(|&f| {
                let mut angle = self.at(f).angle_rad() * (180.0 / PI);
                if !first {
                    angle += 360.0 * ((last - angle) / 360.0).round();
                }
                first = false;
                last = angle;
                angle
            })
            .collect()
    }

    /// Lowest frequency at which the magnitude has fallen to a share of that
    /// at direct current, Hz; 1/√2 for the usual −3 dB. `None` if it never
    /// does, and without stores.
    #[must_use]
    pub fn falls_to(&self, share: f64) -> Option<f64> {
        let poles = self.of.poles().ok()?;
        let frequencies: Vec<f64> = poles
            .iter()
            .map(|p| p.abs() / TAU)
            .filter(|hz| *hz > 0.0 && hz.is_finite())
            .collect();
        let low = frequencies.iter().copied().reduce(f64::min)?;
        let high = frequencies.iter().copied().reduce(f64::max)?;
        let wide = elementary::pow(10.0, DECADES);
        let (low, high) = (low / wide, high * wide);
        let full = self.at(0.0).abs() * share;
        // Fine enough that only a notch of a quality above 25 slips through.
        let ratio = 1.02;
        let mut below = low;
        while below < high {
            let above = below * ratio;
            if self.at(above).abs() <= full {
                let (mut inside, mut outside) = (below, above);
                for _ in 0..60 {
                    let middle = (inside * outside).sqrt();
                    if self.at(middle).abs() > full {
                        inside = middle;
                    } else {
                        outside = middle;
                    }
                }
                return Some((inside * outside).sqrt());
            }
            below = above;
        }
        None
    }

    /// What the output does after the stimulus has risen by one.
    ///
    /// # Errors
    /// See [`TimeFault`].
    pub fn step(&self) -> Result<StepResponse, TimeFault> {
        let system = &self.of.system;
        let stores: Vec<f64> = (0..system.stores())
            .map(|i| system.p[(i, self.stimulus)])
            .collect();
        let last = system.d[(self.output, self.stimulus)];
        StepResponse::new(&self.of.modes()?, &stores, self.output, last)
    }
}
