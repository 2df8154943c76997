//! What the elements of a network fluctuate by, seen at an output.

use std::f64::consts::{PI, TAU};

use statistics::averaging;
use statistics::quadrature;

use crate::complex::Complex;
use crate::linearised::{Linearised, Noisy, Stimulus};
use crate::matrix::Matrix;
use crate::system::TimeFault;

/// Boltzmann's constant, J/K (exact, SI 2019).
pub const BOLTZMANN: f64 = 1.380_649e-23;
/// Charge of an electron, C (exact, SI 2019).
pub const ELECTRON: f64 = 1.602_176_634e-19;

/// Relative accuracy of integrals over frequency.
const ACCURACY: f64 = 1e-10;
/// Decades beyond the last pole up to which a fall is followed; there it
/// goes on as the power of the frequency it has become.
const BEYOND: f64 = 1e4;
/// Share of the largest density below which a density is what rounding left.
const ROUNDING: f64 = 1e-26;
/// Lobes of an averaging window that are followed one by one.
const LOBES: f64 = 32.0;

/// Power density of a stimulus: white + flicker/f, in its unit²/Hz.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Density {
    /// The white part, unit²/Hz.
    pub white: f64,
    /// The 1/f part: its density at 1 Hz, unit²/Hz; its power in a band is
    /// this times ln(high/low).
    pub flicker: f64,
}

impl Density {
    /// From an amplitude density, unit/√Hz, and the frequency at which 1/f
    /// noise has the power of the white, Hz; zero for none.
    #[must_use]
    pub fn with_corner(amplitude: f64, corner_hz: f64) -> Self {
        let white = amplitude * amplitude;
        Density {
            white,
            flicker: white * corner_hz,
        }
    }

    /// From an amplitude density, unit/√Hz, and the rms value in a low band,
    /// as references are stated (0.1 to 10 Hz; a peak-to-peak figure is 6.6
    /// times the rms): what the white part does not explain is 1/f.
    #[must_use]
    pub fn with_band(amplitude: f64, rms: f64, low_hz: f64, high_hz: f64) -> Self {
        let white = amplitude * amplitude;
        let rest = rms * rms - white * (high_hz - low_hz);
        Density {
            white,
            flicker: rest.max(0.0) / elementary::ln(high_hz / low_hz),
        }
    }

    /// At a frequency.
    #[must_use]
    pub fn at(&self, hz: f64) -> f64 {
        if self.flicker == 0.0 {
            self.white
        } else {
            self.white + self.flicker / hz
        }
    }
}

/// One thing that fluctuates.
#[derive(Clone, Debug, PartialEq)]
pub struct Contributor {
    /// Number of the stimulus.
    pub index: usize,
    /// What it is.
    pub stimulus: Stimulus,
    /// How much, in the unit of the stimulus.
    pub density: Density,
}

/// A band of frequencies, and what is let through of it.
pub struct Band<'a> {
    /// Lowest frequency, Hz; zero for all, which 1/f noise does not allow.
    pub low_hz: f64,
    /// Highest frequency, Hz; infinite for all.
    pub high_hz: f64,
    /// Share of the power let through at a frequency, such as |H|² of a
    /// filter.
    pub filter: &'a dyn Fn(f64) -> f64,
    /// Frequencies at which the filter bends or has a notch, Hz.
    pub breaks_hz: &'a [f64],
}

impl Band<'_> {
    /// Everything between two frequencies.
    #[must_use]
    pub fn flat(low_hz: f64, high_hz: f64) -> Band<'static> {
        Band {
            low_hz,
            high_hz,
            filter: &|_| 1.0,
            breaks_hz: &[],
        }
    }
}

/// The noise at one output.
#[derive(Clone, Debug)]
pub struct Noise<'a> {
    of: &'a Linearised,
    output: usize,
    contributors: Vec<Contributor>,
}

impl Linearised {
    /// The noise its elements make at an output: resistances 4kT/R beside
    /// them, at the temperature `kelvin` gives for their names (H. Nyquist,
    /// Physical Review 32, 1928); conductors 2qI (W. Schottky, Annalen der
    /// Physik 57, 1918); amplifiers as stated. Empty unless the network was
    /// made straight with its noise. `None` for an output that does not
    /// exist.
    #[must_use]
    pub fn noise(&self, output: usize, kelvin: impl Fn(&str) -> f64) -> Option<Noise<'_>> {
        if output >= self.outputs() {
            return None;
        }
        let contributors = self
            .noisy()
            .iter()
            .enumerate()
            .filter_map(|(index, (stimulus, noisy))| {
                let density = match *noisy {
                    Noisy::Not => return None,
                    Noisy::Thermal { siemens } => Density {
                        white: 4.0 * BOLTZMANN * kelvin(&stimulus.element) * siemens,
                        flicker: 0.0,
                    },
                    Noisy::Shot { ampere } => Density {
                        white: 2.0 * ELECTRON * ampere,
                        flicker: 0.0,
                    },
                    Noisy::Stated { white, corner_hz } => Density::with_corner(white, corner_hz),
                };
                Some(Contributor {
                    index,
                    stimulus: stimulus.clone(),
                    density,
                })
            })
            .collect();
        Some(Noise {
            of: self,
            output,
            contributors,
        })
    }
}

impl Noise<'_> {
    /// With the noise of one of the network's sources, as its part states it:
    /// a reference's, a regulator's. Nothing happens for a stimulus that does
    /// not exist.
    #[must_use]
    pub fn with(mut self, stimulus: usize, density: Density) -> Self {
        if let Some((named, _)) = self.of.noisy().get(stimulus) {
            self.contributors.push(Contributor {
                index: stimulus,
                stimulus: named.clone(),
                density,
            });
        }
        self
    }

    /// Everything that fluctuates; results have this order.
    #[must_use]
    pub fn contributors(&self) -> &[Contributor] {
        &self.contributors
    }

    /// Power density at the output, V²/Hz (or A²/Hz), of each contributor.
    /// Contributors are independent: their powers add.
    #[must_use]
    pub fn density(&self, hz: f64) -> Vec<f64> {
        let transfers = self.of.transfers(self.output, hz).unwrap_or_default();
        self.contributors
            .iter()
            .map(|c| {
                transfers
                    .get(c.index)
                    .map_or(f64::NAN, |h| h.squared_abs() * c.density.at(hz))
            })
            .collect()
    }

    /// Power in a band, V² (or A²), of each contributor: ∫ S(f)·filter(f) df.
    ///
    /// Infinite for 1/f noise from zero frequency on, and for noise that
    /// nothing ends at high frequencies.
    ///
    /// # Errors
    /// [`TimeFault`] where the network is not stable: its noise has no
    /// spectrum.
    pub fn power(&self, band: &Band<'_>) -> Result<Vec<f64>, TimeFault> {
        let modes = self.of.modes()?;
        modes.stable()?;
        let mut corners: Vec<f64> = modes.poles().iter().map(|p| p.abs() / TAU).collect();
        corners.extend(band.breaks_hz.iter().copied().filter(|&f| f > 0.0));
        let lowest = corners.iter().copied().fold(f64::INFINITY, f64::min);
        let highest = corners.iter().copied().fold(0.0, f64::max);
        let count = self.contributors.len();
        let density = |hz: f64, out: &mut [f64]| {
            let filter = (band.filter)(hz);
            for (out, density) in out.iter_mut().zip(self.density(hz)) {
                *out = density * filter;
            }
        };
        let mut total = vec![0.0; count];
        let mut low = band.low_hz;
        if low <= 0.0 {
            low = if lowest.is_finite() {
                lowest / BEYOND
            } else if band.high_hz.is_finite() {
                band.high_hz / BEYOND
            } else {
                1.0
            };
            let mut at = vec![0.0; count];
            density(low, &mut at);
            for (k, c) in self.contributors.iter().enumerate() {
                total[k] += if c.density.flicker > 0.0 && at[k] > 0.0 {
                    f64::INFINITY
                } else {
                    at[k] * low
                };
            }
        }
        let mut high = band.high_hz;
        if !high.is_finite() {
            high = highest.max(low) * BEYOND;
            let (mut near, mut far) = (vec![0.0; count], vec![0.0; count]);
            density(high * 0.5, &mut near);
            density(high, &mut far);
            let mut peak = vec![0.0; count];
            for &hz in corners.iter().chain([&low]) {
                let mut at = vec![0.0; count];
                density(hz, &mut at);
                for (peak, at) in peak.iter_mut().zip(at) {
                    *peak = at.max(*peak);
                }
            }
            for k in 0..count {
                total[k] += if far[k] <= ROUNDING * peak[k] {
                    0.0
                } else {
                    tail(near[k], far[k], high)
                };
            }
        }
        if high > low {
            let mut breaks = vec![elementary::ln(low), elementary::ln(high)];
            breaks.extend(
                corners
                    .iter()
                    .filter(|&&f| f > low && f < high)
                    .map(|&f| elementary::ln(f)),
            );
            let integral = quadrature::adaptive(&mut breaks, ACCURACY, count, |u, out| {
                let hz = elementary::exp(u);
                density(hz, out);
                for x in out.iter_mut() {
                    *x *= hz;
                }
            });
            for (total, part) in total.iter_mut().zip(integral) {
                *total += part;
            }
        }
        Ok(total)
    }

    /// Variance of the mean of `count` samples taken at `rate_hz`, V², of
    /// each contributor, seen over a time that ends 1/f noise at `low_hz`.
    ///
    /// White noise of the whole bandwidth counts, however slow the sampling,
    /// for sampling folds it; samples are correlated as far as the network
    /// remembers, and the correlated answer is given:
    /// (1/N²)·ΣΣ R((i − j)/rate), R exact from the modes. 1/f noise is
    /// integrated over the window's response and hardly averages.
    ///
    /// # Errors
    /// See [`power`](Noise::power).
    pub fn sampled(&self, rate_hz: f64, count: u32, low_hz: f64) -> Result<Vec<f64>, TimeFault> {
        let slow = if self.contributors.iter().any(|c| c.density.flicker > 0.0) {
            self.flicker(rate_hz, count, low_hz)?
        } else {
            vec![0.0; self.contributors.len()]
        };
        let covariance = Covariance::new(self, rate_hz, count)?;
        Ok(self
            .contributors
            .iter()
            .zip(slow)
            .map(|(c, slow)| {
                let white = c.density.white;
                slow + if white == 0.0 {
                    0.0
                } else {
                    white * covariance.of(c.index)
                }
            })
            .collect())
    }

    /// The 1/f parts alone, through the window.
    fn flicker(&self, rate_hz: f64, count: u32, low_hz: f64) -> Result<Vec<f64>, TimeFault> {
        let count = count.max(1);
        let parts = Noise {
            of: self.of,
            output: self.output,
            contributors: self
                .contributors
                .iter()
                .map(|c| Contributor {
                    // Only the share that falls with the frequency.
                    density: Density {
                        white: f64::from(u8::from(c.density.flicker > 0.0)),
                        flicker: 0.0,
                    },
                    ..c.clone()
                })
                .collect(),
        };
        // From zero frequency on there is no end to it.
        let endless = !(low_hz > 0.0);
        let amounts: Vec<f64> = self
            .contributors
            .iter()
            .map(|c| c.density.flicker)
            .collect();
        let whole = f64::from(count);
        let half = 0.5 * rate_hz;
        let followed = (LOBES * rate_hz / whole).min(half);
        let window = move |hz: f64| {
            let share = if hz <= followed {
                averaging::window_power(hz / rate_hz, count)
            } else if hz <= half {
                // Mean over a lobe.
                let s = elementary::sin(PI * hz / rate_hz);
                0.5 / (whole * whole * s * s)
            } else {
                // Mean over a period.
                1.0 / whole
            };
            share / hz
        };
        let mut breaks = vec![followed, half];
        let mut lobe = rate_hz / whole;
        while lobe < followed {
            breaks.push(lobe);
            lobe += rate_hz / whole;
        }
        let power = parts.power(&Band {
            low_hz,
            high_hz: f64::INFINITY,
            filter: &window,
            breaks_hz: &breaks,
        })?;
        Ok(power
            .into_iter()
            .zip(amounts)
            .map(|(p, a)| match (a == 0.0, endless) {
                (true, _) => 0.0,
                (false, true) => f64::INFINITY,
                (false, false) => p * a,
            })
            .collect())
    }
}

/// What is left beyond a frequency of a density that falls as a power of it.
fn tail(near: f64, far: f64, high: f64) -> f64 {
    if far <= 0.0 {
        return 0.0;
    }
    let power = elementary::log2(near / far);
    if power > 1.0 + 1e-6 {
        far * high / (power - 1.0)
    } else {
        f64::INFINITY
    }
}

/// Variance of the mean of samples for a unit of white density.
struct Covariance<'a> {
    noise: &'a Noise<'a>,
    rate: Matrix<Complex>,
    into: Matrix<Complex>,
    /// Row from modes to the output.
    seen: Vec<Complex>,
    /// Weighted sum over the lags, from modes to the output.
    window: Vec<Complex>,
    straight: Vec<f64>,
}

impl<'a> Covariance<'a> {
    fn new(noise: &'a Noise<'a>, rate_hz: f64, count: u32) -> Result<Self, TimeFault> {
        let modes = noise.of.modes()?;
        modes.stable()?;
        let n = modes.rate.rows();
        let seen: Vec<Complex> = (0..n).map(|j| modes.seen[(noise.output, j)]).collect();
        // (1/N²)·(N + 2·Σ (N − k)·F^k), F the decay from one sample to the
        // next, by Horner: the sum is kept as a row.
        let whole = f64::from(count.max(1));
        let decay = crate::schur::exp_triangular(&modes.rate.map(|x| x.times(1.0 / rate_hz)));
        let mut window: Vec<Complex> = vec![Complex::ZERO; n];
        for k in (1..count.max(1)).rev() {
            let weight = 2.0 * (whole - f64::from(k));
            let sum: Vec<Complex> = window
                .iter()
                .zip(&seen)
                .map(|(&w, &s)| w + s.times(weight))
                .collect();
            window = row_times(&sum, &decay);
        }
        let window = window
            .iter()
            .zip(&seen)
            .map(|(&w, &s)| (w + s.times(whole)).times(1.0 / (whole * whole)))
            .collect();
        let system = noise.of.system();
        let straight = (0..system.d.columns())
            .map(|w| system.d[(noise.output, w)])
            .collect();
        Ok(Covariance {
            noise,
            rate: modes.rate,
            into: modes.into,
            seen,
            window,
            straight,
        })
    }

    /// For one stimulus, per unit of one-sided density.
    fn of(&self, stimulus: usize) -> f64 {
        let n = self.rate.rows();
        let system = self.noise.of.system();
        let p = Matrix::from_fn(system.stores(), 1, |i, _| {
            Complex::real(system.p[(i, stimulus)])
        });
        let jump = self.into.times(&p);
        // What passes at once, without any store: white noise of infinite
        // power.
        let direct = self.straight.get(stimulus).copied().unwrap_or(0.0);
        let mut through = Complex::real(direct);
        let mut size = direct.abs();
        for (s, j) in self.seen.iter().zip((0..n).map(|i| jump[(i, 0)])) {
            through = through - *s * j;
            size += s.abs() * j.abs();
        }
        if through.abs() > 1e-9 * size {
            return f64::INFINITY;
        }
        let drive = self.rate.times(&jump);
        // rate·X + X·rateᴴ = −drive·driveᴴ/2, from the last corner backwards
        // (R. Bartels, G. Stewart, Communications of the ACM 15, 1972).
        let mut x: Matrix<Complex> = Matrix::zeros(n, n);
        for i in (0..n).rev() {
            for j in (0..n).rev() {
                let mut sum = (drive[(i, 0)] * drive[(j, 0)].conjugate()).times(-0.5);
                for k in i + 1..n {
                    sum = sum - self.rate[(i, k)] * x[(k, j)];
                }
                for k in j + 1..n {
                    sum = sum - x[(i, k)] * self.rate[(j, k)].conjugate();
                }
                x[(i, j)] = sum / (self.rate[(i, i)] + self.rate[(j, j)].conjugate());
            }
        }
        let mut total = Complex::ZERO;
        for i in 0..n {
            for j in 0..n {
                total += self.window[i] * x[(i, j)] * self.seen[j].conjugate();
            }
        }
        total.re
    }
}

fn row_times(row: &[Complex], m: &Matrix<Complex>) -> Vec<Complex> {
    (0..m.columns())
        .map(|j| {
            row.iter()
                .enumerate()
                .fold(Complex::ZERO, |sum, (i, &x)| sum + x * m[(i, j)])
        })
        .collect()
}
