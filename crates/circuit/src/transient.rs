//! A network's course in time, with its clamps, swings and slew rates.
//!
//! Each moment is the network itself with every store replaced by what an
//! implicit formula makes of it, a conductance and a current, and solved as
//! an operating point is. The formula is the trapezoidal rule over a part of
//! the step followed by the second backward difference (R. Bank et al., IEEE
//! Transactions CAD 4, 1985), whose two halves need the same conductances;
//! its error is estimated as M. Hosea and L. Shampine do (Applied Numerical
//! Mathematics 20, 1996).

use std::collections::BTreeMap;

use tape::{Point, Reading, Tape};

use crate::element::Element;
use crate::fault::Fault;
use crate::linearise::Output;
use crate::network::Network;
use crate::solution::Solution;
use crate::store::{Given, Moment, Store, stores};

/// Share of the step the trapezoidal rule takes: 2 − √2.
const FIRST: f64 = 2.0 - std::f64::consts::SQRT_2;
/// First step after an event, as a share of the whole course.
const AFTER_EVENT: f64 = 1e-12;
/// Longest step, as a share of the whole course.
const LONGEST: f64 = 0.02;
/// Steps after which a course is given up.
const MOST_STEPS: usize = 200_000;
/// Voltage below which differences do not matter, V.
const LEAST_V: f64 = 1e-9;
/// Current below which differences do not matter, A.
const LEAST_A: f64 = 1e-12;

/// How a source's strength goes: straight lines between points (s, V or A) in
/// order of time; two points at one time make a step. It has the first
/// value before the first point, the last after the last.
#[derive(Clone, Debug, PartialEq)]
pub struct Drive {
    points: Vec<(f64, f64)>,
}

impl Drive {
    /// Through these points; `None` without any, for numbers that are none
    /// and for times that go back.
    #[must_use]
    pub fn new(points: Vec<(f64, f64)>) -> Option<Self> {
        let usable = !points.is_empty()
            && points.iter().all(|p| p.0.is_finite() && p.1.is_finite())
            && points.windows(2).all(|p| p[0].0 <= p[1].0);
        usable.then_some(Drive { points })
    }

    /// One value for ever.
    #[must_use]
    pub fn constant(value: f64) -> Self {
        Drive {
            points: vec![(0.0, value)],
        }
    }

    /// From one value to another at a time.
    #[must_use]
    pub fn step(at_s: f64, from: f64, to: f64) -> Self {
        Drive {
            points: vec![(at_s, from), (at_s, to)],
        }
    }

    /// The value at a time; where it steps, the one before or after.
    fn value(&self, at_s: f64, after: bool) -> f64 {
        let passed = |p: &&(f64, f64)| if after { p.0 <= at_s } else { p.0 < at_s };
        let count = self.points.iter().take_while(passed).count();
        let before = count.checked_sub(1).and_then(|k| self.points.get(k));
        match (before, self.points.get(count)) {
            (Some(a), Some(b)) => a.1 + (b.1 - a.1) * (at_s - a.0) / (b.0 - a.0),
            (Some(only), None) | (None, Some(only)) => only.1,
            (None, None) => 0.0,
        }
    }
}

/// Why a course was not found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CourseFault {
    /// A duration or an accuracy that is not positive, or not as many drives
    /// as driven sources.
    Impossible,
    /// The network has no solution at this time, s.
    NoSolution {
        /// When.
        at_s: f64,
    },
    /// Too many steps were needed up to this time, s: something oscillates
    /// much faster than the course is long.
    TooManySteps {
        /// When.
        at_s: f64,
    },
}

impl std::fmt::Display for CourseFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            CourseFault::Impossible => f.write_str("a course needs a duration and an accuracy"),
            CourseFault::NoSolution { at_s } => {
                write!(f, "the network has no solution {at_s} s after the start")
            }
            CourseFault::TooManySteps { at_s } => write!(
                f,
                "too many steps were needed up to {at_s} s: something oscillates much faster"
            ),
        }
    }
}

impl std::error::Error for CourseFault {}

/// A network ready to be followed in time.
#[derive(Clone, Debug)]
pub struct Transient {
    rest: Tape,
    moment: Tape,
    /// Inputs the tape had before those added here.
    own_inputs: usize,
    driven: usize,
    /// Whether each store holds a voltage.
    voltages: Vec<bool>,
    outputs: usize,
}

/// Outputs over time.
#[derive(Clone, Debug)]
pub struct Series {
    /// Times, s, not falling; two equal ones stand before and after a step.
    pub time_s: Vec<f64>,
    /// For each output its value at each time.
    pub values: Vec<Vec<f64>>,
}

impl Series {
    /// An output at any time of the course, straight between the steps.
    /// `None` for an output or a time outside.
    #[must_use]
    pub fn at(&self, output: usize, seconds: f64) -> Option<f64> {
        let values = self.values.get(output)?;
        let after = self.time_s.iter().position(|&t| t >= seconds)?;
        let (t1, v1) = (self.time_s[after], *values.get(after)?);
        let Some(before) = after.checked_sub(1) else {
            return (t1 == seconds).then_some(v1);
        };
        let (t0, v0) = (self.time_s[before], values[before]);
        Some(v0 + (v1 - v0) * (seconds - t0) / (t1 - t0))
    }

    /// The last value of an output.
    #[must_use]
    pub fn last(&self, output: usize) -> Option<f64> {
        self.values.get(output)?.last().copied()
    }
}

impl Transient {
    /// Prepares a solved network whose sources named in `driven` will change.
    /// New inputs are added to the tape's builder; those there were keep
    /// their numbers. Tapes finished later from the same builder have them
    /// too: take a builder of its own for it.
    ///
    /// # Errors
    /// [`Fault`] as when the network was solved; a driven source or an output
    /// that does not exist is a [`Fault::UnknownElement`].
    pub fn new(
        solution: &Solution<'_>,
        driven: &[&str],
        outputs: &[Output],
    ) -> Result<Self, Fault> {
        let builder = solution.builder();
        let own_inputs = builder.input_count();
        let mut strengths = BTreeMap::new();
        for name in driven {
            let value = solution
                .elements()
                .iter()
                .find(|(n, _)| n == name)
                .and_then(|(_, element)| match element {
                    Element::VoltageSource { volt, .. } => Some(*volt),
                    Element::CurrentSource { ampere, .. } => Some(*ampere),
                    _ => None,
                });
            let Some(value) = value else {
                return Err(Fault::UnknownElement {
                    element: "a driven source".to_owned(),
                    control: (*name).to_owned(),
                });
            };
            let input = builder.input(&format!("strength of {name}"), "", value.nominal());
            strengths.insert((*name).to_owned(), input);
        }
        let all: Vec<(&str, Store<'_>)> = solution
            .elements()
            .iter()
            .flat_map(|(name, e)| stores(e).into_iter().map(move |s| (name.as_str(), s)))
            .collect();
        let network = |moment| Network {
            builder,
            names: solution.names().clone(),
            elements: solution.elements().to_vec(),
            given: Given {
                driven: strengths.clone(),
                moment,
            },
        };
        let seen = |solved: &Solution<'_>, name: &str| Fault::UnknownElement {
            element: "an output".to_owned(),
            control: if solved.position(name).is_some() {
                format!("{name}, whose current is not known")
            } else {
                name.to_owned()
            },
        };
        let rest = network(None).solve()?;
        let mut at_rest = Vec::new();
        for (name, store) in &all {
            at_rest.push(store.held(&rest, name).ok_or_else(|| seen(&rest, name))?);
        }
        // Any rate will do to write the moment; that of a microsecond is
        // between what boards know.
        let rate = builder.input("rate of the moment", "1/s", 1e6);
        let history = at_rest
            .iter()
            .zip(&all)
            .map(|(held, (name, _))| {
                builder.input(&format!("history of {name}"), "", held.nominal() * 1e6)
            })
            .collect();
        let moment = network(Some(Moment { rate, history })).solve()?;
        let mut tapes = Vec::new();
        for solved in [&rest, &moment] {
            let mut values = Vec::new();
            for (name, store) in &all {
                values.push(store.held(solved, name).ok_or_else(|| seen(solved, name))?);
            }
            for output in outputs {
                values.push(match output {
                    Output::Voltage { plus, minus } => {
                        if plus.0.max(minus.0) >= solution.names().count() {
                            return Err(Fault::ForeignNode {
                                element: "an output".to_owned(),
                            });
                        }
                        solved.between(*plus, *minus)
                    }
                    Output::Current(name) => {
                        solved.current(name).ok_or_else(|| seen(solved, name))?
                    }
                });
            }
            tapes.push(builder.finish(&values));
        }
        let (Some(moment), Some(rest)) = (tapes.pop(), tapes.pop()) else {
            return Err(Fault::NoConvergence {
                elements: Vec::new(),
            });
        };
        Ok(Transient {
            rest,
            moment,
            own_inputs,
            driven: driven.len(),
            voltages: all.iter().map(|(_, s)| s.holds_voltage()).collect(),
            outputs: outputs.len(),
        })
    }

    /// The course from rest (the operating point with the drives as they are
    /// before t = 0) to `until_s`. `inputs` are those of the solved network's
    /// tape, `drives` one for each driven source.
    ///
    /// Every step's error is kept below `accuracy` times the largest voltage
    /// (current, for an inductor) met so far.
    ///
    /// # Errors
    /// See [`CourseFault`].
    pub fn run(
        &self,
        inputs: &[f64],
        drives: &[Drive],
        until_s: f64,
        accuracy: f64,
    ) -> Result<Series, CourseFault> {
        let positive = |x: f64| x > 0.0 && x.is_finite();
        if drives.len() != self.driven || !positive(until_s) || !positive(accuracy) {
            return Err(CourseFault::Impossible);
        }
        let mut all: Vec<f64> = inputs.to_vec();
        all.resize(self.own_inputs, f64::NAN);
        all.resize(self.own_inputs + self.driven, 0.0);
        all.resize(all.len() + 1 + self.voltages.len(), 0.0);
        let mut course = Course {
            of: self,
            inputs: all,
            drives,
            point: Point::default(),
            accuracy,
            largest_v: LEAST_V,
            largest_a: LEAST_A,
            series: Series {
                time_s: Vec::new(),
                values: vec![Vec::new(); self.outputs],
            },
            steps: 0,
        };
        course.run(until_s)?;
        Ok(course.series)
    }
}

struct Course<'a> {
    of: &'a Transient,
    inputs: Vec<f64>,
    drives: &'a [Drive],
    point: Point,
    accuracy: f64,
    largest_v: f64,
    largest_a: f64,
    series: Series,
    steps: usize,
}

/// What the stores hold and how it changes.
#[derive(Clone)]
struct State {
    held: Vec<f64>,
    change: Vec<f64>,
}

impl Course<'_> {
    fn run(&mut self, until: f64) -> Result<(), CourseFault> {
        let mut events: Vec<f64> = self
            .drives
            .iter()
            .flat_map(|d| d.points.iter().map(|p| p.0))
            .filter(|&t| t > 0.0 && t < until)
            .chain([0.0, until])
            .collect();
        events.sort_by(f64::total_cmp);
        events.dedup();
        self.drive(0.0, false);
        let rest = self.of.rest.clone();
        let Some(held) = self.solved(&rest) else {
            return Err(CourseFault::NoSolution { at_s: 0.0 });
        };
        self.record(0.0, &rest);
        let mut state = State {
            change: vec![0.0; held.len()],
            held,
        };
        self.meet(&state);
        for span in events.windows(2) {
            state = self.span(span[0], span[1], until, state)?;
        }
        Ok(())
    }

    /// From one event to the next.
    fn span(
        &mut self,
        from: f64,
        to: f64,
        until: f64,
        mut state: State,
    ) -> Result<State, CourseFault> {
        let mut t = from;
        // Behind an event the rates of change are not known: one short step
        // by the first backward difference finds them.
        let mut step = (until * AFTER_EVENT).max(from * 1e-15).min(to - from);
        loop {
            self.drive(t + step, t + step < to);
            match self.stage(1.0 / step, |k| state.held[k] / step) {
                Some(next) => {
                    state = next;
                    t += step;
                    break;
                }
                None => step *= 0.25,
            }
            if step < until * 1e-20 {
                return Err(CourseFault::NoSolution { at_s: t });
            }
        }
        self.accept(t, &state);
        while t < to {
            self.steps += 1;
            if self.steps > MOST_STEPS {
                return Err(CourseFault::TooManySteps { at_s: t });
            }
            step = step.min(until * LONGEST);
            let left = to - t;
            // No tiny last step.
            let last = step > left * 0.999;
            if last {
                step = left;
            } else if step > 0.5 * left {
                step = 0.5 * left;
            }
            let tried = self.step(t, step, to, &state);
            let factor = match &tried {
                Some((_, error)) if *error <= 1.0 => growth(*error),
                Some((_, error)) => growth(*error).min(0.8),
                None => 0.25,
            };
            match tried {
                Some((next, error)) if error <= 1.0 => {
                    t = if last { to } else { t + step };
                    state = next;
                    self.accept(t, &state);
                }
                _ if step < until * 1e-18 || t + step == t => {
                    return Err(CourseFault::NoSolution { at_s: t });
                }
                _ => {}
            }
            step *= factor;
        }
        Ok(state)
    }

    /// One step and its error in units of what is allowed.
    fn step(&mut self, t: f64, step: f64, to: f64, from: &State) -> Option<(State, f64)> {
        let rate = 2.0 / (FIRST * step);
        self.drive(t + FIRST * step, true);
        let middle = self.stage(rate, |k| rate * from.held[k] + from.change[k])?;
        let (near, far) = (1.0 / (FIRST * (1.0 - FIRST)), (1.0 - FIRST) / FIRST);
        self.drive(t + step, t + step < to);
        let end = self.stage(rate, |k| {
            (near * middle.held[k] - far * from.held[k]) / step
        })?;
        let size = (-3.0 * FIRST * FIRST + 4.0 * FIRST - 2.0) / (12.0 * (2.0 - FIRST));
        let error = (0..end.held.len())
            .map(|k| {
                let bend = from.change[k] / FIRST - near * middle.change[k]
                    + end.change[k] / (1.0 - FIRST);
                let largest = if self.of.voltages[k] {
                    self.largest_v
                } else {
                    self.largest_a
                };
                let allowed = self.accuracy * largest.max(end.held[k].abs());
                (2.0 * size * step * bend).abs() / allowed
            })
            .fold(0.0, f64::max);
        Some((end, error))
    }

    /// The stores where they change at rate·held − history.
    fn stage(&mut self, rate: f64, history: impl Fn(usize) -> f64) -> Option<State> {
        let first = self.of.own_inputs + self.of.driven;
        self.inputs[first] = rate;
        let histories: Vec<f64> = (0..self.of.voltages.len()).map(history).collect();
        self.inputs[first + 1..].copy_from_slice(&histories);
        let of = self.of;
        let held = self.solved(&of.moment)?;
        let change = held
            .iter()
            .zip(&histories)
            .map(|(z, h)| rate * z - h)
            .collect();
        Some(State { held, change })
    }

    fn drive(&mut self, t: f64, after: bool) {
        for (k, drive) in self.drives.iter().enumerate() {
            self.inputs[self.of.own_inputs + k] = drive.value(t, after);
        }
    }

    fn solved(&mut self, tape: &Tape) -> Option<Vec<f64>> {
        let unsettled = self.point.unsettled;
        self.point.evaluate(tape, &self.inputs, Reading::Exact);
        let count = self.of.voltages.len();
        let held: Vec<f64> = (0..count).map(|k| self.point.output(tape, k)).collect();
        let usable = held.iter().all(|z| z.is_finite()) && self.point.unsettled == unsettled;
        usable.then_some(held)
    }

    fn accept(&mut self, t: f64, state: &State) {
        self.meet(state);
        let of = self.of;
        self.record(t, &of.moment);
    }

    fn meet(&mut self, state: &State) {
        for (z, &voltage) in state.held.iter().zip(&self.of.voltages) {
            if voltage {
                self.largest_v = self.largest_v.max(z.abs());
            } else {
                self.largest_a = self.largest_a.max(z.abs());
            }
        }
    }

    fn record(&mut self, t: f64, tape: &Tape) {
        self.series.time_s.push(t);
        let first = self.of.voltages.len();
        for (k, values) in self.series.values.iter_mut().enumerate() {
            values.push(self.point.output(tape, first + k));
        }
    }
}

/// How the next step compares with one of this error: its third power counts.
fn growth(error: f64) -> f64 {
    let root = elementary::exp(-elementary::ln(error.max(1e-9)) / 3.0);
    (0.85 * root).clamp(0.2, 4.0)
}
