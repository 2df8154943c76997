//! A sample capacitor that visits one source after another, for ever.

use crate::linearised::Linearised;
use crate::matrix::Matrix;
use crate::system::{System, TimeFault};

/// What the converter sees at one of its pins: a source voltage behind a
/// network that may store.
#[derive(Clone, Debug)]
pub struct Pin {
    /// One stimulus, the current fed into the pin; one output, its voltage.
    system: System,
    open_v: f64,
}

impl Pin {
    /// A resistance alone.
    #[must_use]
    pub fn resistor(ohm: f64, open_v: f64) -> Self {
        let system = System {
            k: Matrix::zeros(0, 0),
            p: Matrix::zeros(0, 1),
            d: Matrix::from_fn(1, 1, |_, _| ohm),
            s: Matrix::zeros(1, 0),
        };
        Pin { system, open_v }
    }

    /// The node of a network made straight: `output` must be its voltage,
    /// `fed` the stimulus that feeds current into it, `open_v` its voltage at
    /// rest. `None` for numbers that do not exist.
    #[must_use]
    pub fn of(network: &Linearised, output: usize, fed: usize, open_v: f64) -> Option<Self> {
        network.gain(output, fed)?;
        let all = network.system();
        let n = all.stores();
        let system = System {
            k: all.k.clone(),
            p: all.p.part(0..n, fed..fed + 1),
            d: all.d.part(output..output + 1, fed..fed + 1),
            s: all.s.part(output..output + 1, 0..n),
        };
        Some(Pin { system, open_v })
    }

    /// With a capacitor from the pin to ground, F.
    #[must_use]
    pub fn with_capacitor(&self, farad: f64) -> Self {
        if farad == 0.0 {
            return self.clone();
        }
        let n = self.system.stores();
        let joined = self.joined(0.0, farad);
        let root = farad.sqrt();
        let ohm = self.system.d[(0, 0)];
        let p = |i: usize| {
            if i < n {
                self.system.p[(i, 0)]
            } else {
                root * ohm
            }
        };
        let s = |j: usize| {
            if j < n {
                self.system.s[(0, j)]
            } else {
                -root * ohm
            }
        };
        Pin {
            system: System {
                k: joined,
                p: Matrix::from_fn(n + 1, 1, |i, _| p(i)),
                d: self.system.d.clone(),
                s: Matrix::from_fn(1, n + 1, |_, j| s(j)),
            },
            open_v: self.open_v,
        }
    }

    /// With a resistor between what it was and the new pin, Ω.
    #[must_use]
    pub fn with_series(&self, ohm: f64) -> Self {
        let mut pin = self.clone();
        pin.system.d[(0, 0)] += ohm;
        pin
    }

    /// With another source voltage, V.
    #[must_use]
    pub fn with_open_v(&self, open_v: f64) -> Self {
        Pin {
            open_v,
            ..self.clone()
        }
    }

    /// Its voltage at rest, V.
    #[must_use]
    pub fn open_v(&self) -> f64 {
        self.open_v
    }

    /// Resistance behind it at direct current, Ω.
    #[must_use]
    pub fn ohm(&self) -> f64 {
        self.system.d[(0, 0)]
    }

    /// The stores with a capacitor hung on through a resistance.
    fn joined(&self, ohm: f64, farad: f64) -> Matrix<f64> {
        let n = self.system.stores();
        let root = farad.sqrt();
        Matrix::from_fn(n + 1, n + 1, |i, j| match (i < n, j < n) {
            (true, true) => self.system.k[(i, j)],
            (true, false) => -self.system.p[(i, 0)] * root,
            (false, true) => root * self.system.s[(0, j)],
            (false, false) => -farad * (self.system.d[(0, 0)] + ohm),
        })
    }
}

/// The voltage a sample capacitor begins a visit with: `kept` times the one
/// it held before, plus a fixed one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Start {
    /// Share of the voltage held before.
    pub kept: f64,
    /// Added to it, V.
    pub volt: f64,
}

impl Start {
    /// As the previous conversion left it.
    pub const PREVIOUS: Start = Start {
        kept: 1.0,
        volt: 0.0,
    };
    /// Emptied before every visit.
    pub const DISCHARGED: Start = Start {
        kept: 0.0,
        volt: 0.0,
    };

    /// Charged to a voltage before every visit, half the reference say.
    #[must_use]
    pub const fn precharged(volt: f64) -> Self {
        Start { kept: 0.0, volt }
    }
}

/// One pin in its turn.
#[derive(Clone, Debug)]
pub struct Visit {
    /// What stands at the pin.
    pub pin: Pin,
    /// Time the sample capacitor is connected, s.
    pub acquire_s: f64,
    /// Time after it in which it converts, disconnected, s.
    pub convert_s: f64,
    /// Conversions in a row, at least one.
    pub repeats: u32,
}

/// A sequence of visits, repeated for ever.
#[derive(Clone, Debug)]
pub struct Scan {
    /// The visits in their order.
    pub visits: Vec<Visit>,
    /// The sample capacitor, F.
    pub sample_farad: f64,
    /// Resistance of the closed switch, Ω.
    pub switch_ohm: f64,
    /// What each acquisition begins with.
    pub start: Start,
    /// Time from the last conversion of a sequence to the next sequence, s.
    pub pause_s: f64,
}

/// One visit once the scan repeats itself.
#[derive(Clone, Debug)]
pub struct Settled {
    /// Sampled voltage less the pin's voltage at rest, V, for each repeat; of
    /// very many the middle ones are one entry, their mean.
    pub error_v: Vec<f64>,
    /// How many repeats each entry stands for.
    counts: Vec<u32>,
    /// Change of the last sample of this visit for a change of each visit's
    /// source voltage by one; its own entry is what is left of it.
    pub follows: Vec<f64>,
    /// The same for the mean of this visit's samples.
    pub mean_follows: Vec<f64>,
    /// Share of the difference to the previous visit's voltage that is still
    /// there in the last sample, the pin having been visited so for ever.
    pub memory: f64,
    /// The same of one visit to a pin at rest: what the charge carried to it
    /// does at once.
    pub once: f64,
}

impl Settled {
    /// Error of the last sample, V.
    #[must_use]
    pub fn last_error_v(&self) -> f64 {
        self.error_v.last().copied().unwrap_or(0.0)
    }

    /// Error of the mean of all repeats, V.
    #[must_use]
    pub fn mean_error_v(&self) -> f64 {
        let counts = self.counts.iter().copied().map(f64::from);
        let sum: f64 = self.error_v.iter().zip(counts).map(|(e, n)| e * n).sum();
        sum / self.counts.iter().copied().map(f64::from).sum::<f64>()
    }
}

/// Why a scan has no answer.
#[derive(Clone, Debug, PartialEq)]
pub enum ScanFault {
    /// A time, a capacitance or a resistance that is negative or no number,
    /// a sample capacitor of nothing, a visit without repeats, or no visit.
    Impossible {
        /// Which.
        property: &'static str,
    },
    /// The network at a pin does not settle.
    Network {
        /// Number of the visit.
        visit: usize,
        /// Why.
        fault: TimeFault,
    },
    /// The voltages drift for ever: no pin holds them.
    Drifting,
}

impl std::fmt::Display for ScanFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            ScanFault::Impossible { property } => write!(f, "a scan cannot have such {property}"),
            ScanFault::Network { visit, fault } => write!(f, "at visit {}: {fault}", visit + 1),
            ScanFault::Drifting => f.write_str("no source holds the voltage of the pins"),
        }
    }
}

impl std::error::Error for ScanFault {}

/// Error of a sampled voltage: before·(voltage held before) +
/// own·(source voltage) + start·(fixed voltage of the start).
#[derive(Clone, Copy, Debug)]
struct Share {
    /// Samples it is the mean of.
    count: u32,
    before: f64,
    /// The part of `before` that does not come from earlier sequences.
    once: f64,
    own: f64,
    start: f64,
}

impl Share {
    fn error(self, before: f64, own: f64, start: f64) -> f64 {
        self.before * before + self.own * own + self.start * start
    }
}

impl Scan {
    /// Time of one sequence, s.
    #[must_use]
    pub fn period_s(&self) -> f64 {
        let visits = self.visits.iter();
        self.pause_s
            + visits
                .map(|v| f64::from(v.repeats) * (v.acquire_s + v.convert_s))
                .sum::<f64>()
    }

    fn check(&self) -> Result<(), ScanFault> {
        let impossible = |property| Err(ScanFault::Impossible { property });
        let usable = |x: f64| x >= 0.0 && x.is_finite();
        if self.visits.is_empty() {
            return impossible("a number of visits");
        }
        if !(usable(self.sample_farad) && self.sample_farad > 0.0) {
            return impossible("a sample capacitor");
        }
        if !usable(self.switch_ohm) {
            return impossible("a switch resistance");
        }
        if !(usable(self.pause_s)
            && self
                .visits
                .iter()
                .all(|v| usable(v.acquire_s) && usable(v.convert_s)))
        {
            return impossible("a time");
        }
        if self.visits.iter().any(|v| v.repeats == 0) {
            return impossible("a number of repeats");
        }
        if !(self.start.kept.is_finite()
            && self.start.volt.is_finite()
            && self.visits.iter().all(|v| v.pin.open_v.is_finite()))
        {
            return impossible("a voltage");
        }
        Ok(())
    }

    /// The state in which every sequence is like the one before it, exactly:
    /// each pin's network is carried through its own visit and through the
    /// rest of the period by matrix exponentials; only the sample capacitor
    /// joins one visit to the next.
    ///
    /// # Errors
    /// See [`ScanFault`].
    pub fn settled(&self) -> Result<Vec<Settled>, ScanFault> {
        self.prepared()?.settled()
    }

    /// The scan with every pin's own part of the answer worked out, so that
    /// one pin after another can be varied without doing the others again.
    ///
    /// # Errors
    /// See [`ScanFault`].
    pub fn prepared(&self) -> Result<Prepared, ScanFault> {
        self.check()?;
        let period = self.period_s();
        let shares: Vec<Vec<Share>> = self
            .visits
            .iter()
            .enumerate()
            .map(|(k, visit)| self.shares(k, visit, period))
            .collect::<Result<_, _>>()?;
        Ok(Prepared {
            scan: self.clone(),
            period,
            shares,
        })
    }

    /// One visit's samples, over the voltage its first begins from.
    ///
    /// All is counted from rest. The state is carried along as a matrix: one
    /// column for each store of the pin, then the sample capacitor's start,
    /// the source voltage and the start's fixed voltage.
    fn shares(&self, number: usize, visit: &Visit, period: f64) -> Result<Vec<Share>, ScanFault> {
        let fault = |fault| ScanFault::Network {
            visit: number,
            fault,
        };
        let network = |k: Matrix<f64>| {
            let n = k.rows();
            let system = System {
                k,
                p: Matrix::zeros(n, 0),
                d: Matrix::zeros(0, 0),
                s: Matrix::zeros(0, n),
            };
            let modes = system.modes().map_err(fault)?;
            modes.stable().map_err(fault)?;
            Ok(modes)
        };
        let n = visit.pin.system.stores();
        let alone = network(visit.pin.system.k.clone())?;
        let joined = network(visit.pin.joined(self.switch_ohm, self.sample_farad))?;
        let acquire = joined.propagator(visit.acquire_s);
        let convert = alone.propagator(visit.convert_s);
        let busy = f64::from(visit.repeats) * (visit.acquire_s + visit.convert_s);
        let rest = alone.propagator((period - busy).max(0.0));
        let root = self.sample_farad.sqrt();
        // Columns: stores, start, source, fixed.
        let mut state = Matrix::from_fn(n + 1, n + 3, |i, j| {
            if i < n {
                f64::from(u8::from(i == j))
            } else {
                f64::from(u8::from(j == n)) * root
            }
        });
        // Acquired, then converted with the sample capacitor away.
        let mut away = Matrix::identity(n + 1);
        for i in 0..n {
            for j in 0..n {
                away[(i, j)] = convert[(i, j)];
            }
        }
        let carried = away.times(&acquire);
        let mut samples: Vec<(u32, Vec<f64>)> = Vec::new();
        let told = |state: &Matrix<f64>, count: u32| {
            let row = |j| state[(n, j)] / (root * f64::from(count));
            (count, (0..n + 3).map(row).collect::<Vec<f64>>())
        };
        state = carried.times(&state);
        samples.push(told(&state, 1));
        if visit.repeats > 1 {
            // Every further one is a·state + b.
            let begun = Matrix::from_fn(n + 1, n + 1, |i, j| {
                let kept = if i == n { self.start.kept } else { 1.0 };
                f64::from(u8::from(i == j)) * kept
            });
            let fixed = Matrix::from_fn(n + 1, n + 3, |i, j| match (i == n, j) {
                (true, j) if j == n + 1 => (self.start.kept - 1.0) * root,
                (true, j) if j == n + 2 => root,
                _ => 0.0,
            });
            let (a, b) = (carried.times(&begun), carried.times(&fixed));
            // The first ones and the last one by themselves.
            let singly = (visit.repeats - 1).min(SINGLY);
            for _ in 0..singly {
                state = a.times(&state).plus(&b);
                samples.push(told(&state, 1));
            }
            let further = visit.repeats - 1 - singly;
            if further > 1 {
                let (sum, end) = row_of(&a, &b, &state, further - 1);
                samples.push(told(&sum, further - 1));
                state = end;
            }
            if further > 0 {
                state = a.times(&state).plus(&b);
                samples.push(told(&state, 1));
            }
        }
        // What the stores begin with is what the rest of the period leaves.
        let left = rest.times(&state.part(0..n, 0..n + 3));
        let begin = Matrix::identity(n)
            .minus(&left.part(0..n, 0..n))
            .solve(left.part(0..n, n..n + 3))
            .ok_or(ScanFault::Drifting)?;
        Ok(samples
            .into_iter()
            .map(|(count, sample)| {
                let of = |column: usize| {
                    sample[n + column] + (0..n).map(|i| sample[i] * begin[(i, column)]).sum::<f64>()
                };
                // The first start is kept·before + fixed − source.
                let first = of(0);
                Share {
                    count,
                    before: first * self.start.kept,
                    once: sample[n] * self.start.kept,
                    own: of(1) - first,
                    start: of(2) + first,
                }
            })
            .collect())
    }

    /// Joins the visits through the sample capacitor; answers for those asked.
    fn closed(
        &self,
        shares: &[&[Share]],
        volts: &[f64],
        asked: std::ops::Range<usize>,
    ) -> Result<Vec<Settled>, ScanFault> {
        let n = shares.len();
        let last: Vec<Share> = shares.iter().filter_map(|s| s.last().copied()).collect();
        let around: f64 = last.iter().map(|s| s.before).product();
        if !(around.abs() < 1.0 - 1e-12) {
            return Err(ScanFault::Drifting);
        }
        // From one visit to a later one a voltage is carried by all between.
        let follow = |j: usize| {
            let mut row = vec![0.0; n];
            let mut carried = 1.0 / (1.0 - around);
            for back in 0..n {
                let k = (j + n - back) % n;
                row[k] = (1.0 + last[k].own) * carried;
                carried *= last[k].before;
            }
            row
        };
        let mean_follow = |j: usize| {
            let repeats: f64 = shares[j].iter().map(|s| f64::from(s.count)).sum();
            let mean = |of: &dyn Fn(&Share) -> f64| {
                let all = shares[j].iter().map(|s| of(s) * f64::from(s.count));
                all.sum::<f64>() / repeats
            };
            let (before, own) = (mean(&|s| s.before), mean(&|s| s.own));
            let mut row = follow((j + n - 1) % n);
            for x in &mut row {
                *x *= before;
            }
            row[j] += 1.0 + own;
            row
        };
        let source = |k: usize| volts[k];
        let pass = |mut before: f64| {
            (0..n)
                .map(|k| {
                    before = source(k) + last[k].error(before, source(k), self.start.volt);
                    before
                })
                .collect::<Vec<f64>>()
        };
        // Once round from nothing tells where the loop closes.
        let opened = pass(0.0).last().copied().unwrap_or(0.0);
        let end = pass(opened / (1.0 - around));
        Ok(asked
            .map(|j| {
                let before = end[(j + n - 1) % n];
                Settled {
                    error_v: shares[j]
                        .iter()
                        .map(|s| s.error(before, source(j), self.start.volt))
                        .collect(),
                    counts: shares[j].iter().map(|s| s.count).collect(),
                    mean_follows: mean_follow(j),
                    follows: follow(j),
                    memory: last[j].before,
                    once: last[j].once,
                }
            })
            .collect())
    }

    fn volts(&self) -> Vec<f64> {
        self.visits.iter().map(|v| v.pin.open_v).collect()
    }

    /// Error of the mean of a visit's samples, V, with everything else as it
    /// is; infinite where the scan has no answer.
    fn error_of(&self, visit: usize) -> f64 {
        self.settled()
            .ok()
            .and_then(|list| list.get(visit).map(|s| s.mean_error_v().abs()))
            .unwrap_or(f64::INFINITY)
    }

    /// Largest resistance in series with a pin for which the error of the
    /// mean of its samples stays within a limit, Ω, between `most_ohm`/10⁶ and
    /// `most_ohm`. `None` if not even none does, or the visit does not exist.
    #[must_use]
    pub fn largest_series_ohm(&self, visit: usize, limit_v: f64, most_ohm: f64) -> Option<f64> {
        let prepared = self.prepared().ok()?;
        let pin = &self.visits.get(visit)?.pin;
        let with = |ohm: f64| prepared.error_with(visit, &pin.with_series(ohm)) <= limit_v;
        if with(most_ohm) {
            return Some(most_ohm);
        }
        let least = most_ohm * 1e-6;
        if !with(least) {
            return with(0.0).then_some(0.0);
        }
        Some(boundary(least, most_ohm, with))
    }

    /// Shortest acquisition of a visit for which the error of the mean of its
    /// samples stays within a limit, s, up to `most_s`. The other times stay.
    /// `None` if not even that one is enough.
    #[must_use]
    pub fn shortest_acquire_s(&self, visit: usize, limit_v: f64, most_s: f64) -> Option<f64> {
        let with = |seconds: f64| {
            let mut scan = self.clone();
            if let Some(v) = scan.visits.get_mut(visit) {
                v.acquire_s = seconds;
            }
            scan.error_of(visit) <= limit_v
        };
        if !with(most_s) {
            return None;
        }
        let least = most_s * 1e-9;
        if with(least) {
            return Some(least);
        }
        Some(boundary(most_s, least, with))
    }

    /// Smallest capacitor at a pin, F, with which the error of the mean of its
    /// samples stays within a limit, up to `most_farad`: one that holds its
    /// voltage while it fills the sample capacitor. Zero if none is needed,
    /// `None` if none helps: between a few picofarads and the answer a
    /// capacitor makes it worse, and where the source cannot refill a large
    /// one between two visits none is large enough.
    #[must_use]
    pub fn pin_farad(&self, visit: usize, limit_v: f64, most_farad: f64) -> Option<f64> {
        let prepared = self.prepared().ok()?;
        let pin = &self.visits.get(visit)?.pin;
        let with = |farad: f64| prepared.error_with(visit, &pin.with_capacitor(farad)) <= limit_v;
        if with(0.0) {
            return Some(0.0);
        }
        let mut below = self.sample_farad;
        while below < most_farad {
            let above = (below * 1.25).min(most_farad);
            if with(above) {
                return Some(boundary(above, below, with));
            }
            below = above;
        }
        None
    }

    /// Factor on all times (the period of the converter's clock) down to
    /// which every error stays within its limit, V, one for each visit;
    /// between 10⁻⁶ and 10⁶. `None` if no clock is slow enough: a source that
    /// loses to leakage or to the average current of the sample capacitor.
    #[must_use]
    pub fn fastest(&self, limits_v: &[f64]) -> Option<f64> {
        let with = |factor: f64| {
            let mut scan = self.clone();
            scan.pause_s *= factor;
            for v in &mut scan.visits {
                v.acquire_s *= factor;
                v.convert_s *= factor;
            }
            scan.settled().is_ok_and(|list| {
                list.iter()
                    .zip(limits_v)
                    .all(|(s, limit)| s.mean_error_v().abs() <= *limit)
            })
        };
        // From the present clock outwards in both directions.
        if with(1.0) {
            let mut good = 1.0;
            while good > 1e-6 {
                if !with(good * 0.5) {
                    return Some(boundary(good, good * 0.5, with));
                }
                good *= 0.5;
            }
            return Some(good);
        }
        let mut bad = 1.0;
        while bad < 1e6 {
            if with(bad * 2.0) {
                return Some(boundary(bad * 2.0, bad, with));
            }
            bad *= 2.0;
        }
        None
    }
}

/// A scan whose pins are worked out; see [`Scan::prepared`].
#[derive(Clone, Debug)]
pub struct Prepared {
    scan: Scan,
    period: f64,
    shares: Vec<Vec<Share>>,
}

impl Prepared {
    /// As [`Scan::settled`].
    ///
    /// # Errors
    /// See [`ScanFault`].
    pub fn settled(&self) -> Result<Vec<Settled>, ScanFault> {
        let all = 0..self.shares.len();
        let shares: Vec<&[Share]> = self.shares.iter().map(Vec::as_slice).collect();
        self.scan.closed(&shares, &self.scan.volts(), all)
    }

    /// One visit's answer with another pin in its place.
    ///
    /// # Errors
    /// See [`ScanFault`]; [`ScanFault::Impossible`] for a visit that does not
    /// exist.
    pub fn with_pin(&self, visit: usize, pin: &Pin) -> Result<Settled, ScanFault> {
        let here = self.visit(visit)?;
        self.with_visit(
            visit,
            &Visit {
                pin: pin.clone(),
                ..here.clone()
            },
        )
    }

    fn visit(&self, visit: usize) -> Result<&Visit, ScanFault> {
        self.scan.visits.get(visit).ok_or(ScanFault::Impossible {
            property: "a number of visits",
        })
    }

    /// One visit's answer with another one in its place; a sequence begins as
    /// often as before.
    ///
    /// # Errors
    /// As [`with_pin`](Prepared::with_pin).
    pub fn with_visit(&self, visit: usize, changed: &Visit) -> Result<Settled, ScanFault> {
        self.visit(visit)?;
        let one = Scan {
            visits: vec![changed.clone()],
            sample_farad: self.scan.sample_farad,
            switch_ohm: self.scan.switch_ohm,
            start: self.scan.start,
            pause_s: self.scan.pause_s,
        };
        one.check()?;
        let own = one.shares(visit, changed, self.period)?;
        let mut shares: Vec<&[Share]> = self.shares.iter().map(Vec::as_slice).collect();
        shares[visit] = &own;
        let mut volts = self.scan.volts();
        volts[visit] = changed.pin.open_v;
        let answer = self.scan.closed(&shares, &volts, visit..visit + 1)?;
        answer.into_iter().next().ok_or(ScanFault::Impossible {
            property: "a number of visits",
        })
    }

    /// Shortest acquisition of a visit for which the error of the mean of its
    /// samples stays within a limit, s, up to `most_s`, sequences beginning as often
    /// as before. `None` if not even that one is enough.
    #[must_use]
    pub fn shortest_acquire_s(&self, visit: usize, limit_v: f64, most_s: f64) -> Option<f64> {
        let here = self.visit(visit).ok()?;
        let with = |acquire_s: f64| {
            let changed = Visit {
                acquire_s,
                ..here.clone()
            };
            self.with_visit(visit, &changed)
                .is_ok_and(|s| s.mean_error_v().abs() <= limit_v)
        };
        if !with(most_s) {
            return None;
        }
        let least = most_s * 1e-9;
        if with(least) {
            return Some(least);
        }
        Some(boundary(most_s, least, with))
    }

    fn error_with(&self, visit: usize, pin: &Pin) -> f64 {
        self.with_pin(visit, pin)
            .map_or(f64::INFINITY, |s| s.mean_error_v().abs())
    }
}

/// Repeats after the first that are told one by one.
const SINGLY: u32 = 256;

/// Sum of the next `steps` states of x → a·x + b from x, and the last of them,
/// in as many doublings as the number has digits.
fn row_of(
    a: &Matrix<f64>,
    b: &Matrix<f64>,
    x: &Matrix<f64>,
    steps: u32,
) -> (Matrix<f64>, Matrix<f64>) {
    let (n, m) = (b.rows(), b.columns());
    // After k steps the state is p·x + q, the sum of all so far s·x + r.
    let (mut p, mut q) = (Matrix::identity(n), Matrix::zeros(n, m));
    let (mut s, mut r) = (Matrix::zeros(n, n), Matrix::zeros(n, m));
    for bit in (0..u32::BITS - steps.leading_zeros()).rev() {
        r = r.plus(&r).plus(&s.times(&q));
        s = s.plus(&s.times(&p));
        q = p.times(&q).plus(&q);
        p = p.times(&p);
        if steps >> bit & 1 == 1 {
            p = a.times(&p);
            q = a.times(&q).plus(b);
            s = s.plus(&p);
            r = r.plus(&q);
        }
    }
    (s.times(x).plus(&r), p.times(x).plus(&q))
}

/// The last value that holds between one that does and one that does not, to
/// one part in 10⁹.
fn boundary(mut holds: f64, mut fails: f64, with: impl Fn(f64) -> bool) -> f64 {
    while (holds / fails - 1.0).abs() > 1e-9 {
        let middle = (holds * fails).sqrt();
        if middle == holds || middle == fails {
            break;
        }
        if with(middle) {
            holds = middle;
        } else {
            fails = middle;
        }
    }
    holds
}
