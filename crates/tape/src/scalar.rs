//! One reading of a tape, forwards and backwards.

use crate::compile::{Region, Step, System, Tape};
use crate::linear::solve_fully_pivoted;
use crate::op::{Index, Op, Reading, apply};

/// Relative residual above which a linear solution is computed again.
pub(crate) const GUARD_LIMIT: f64 = 1e-9;

/// Working space for reading a tape at single points.
#[derive(Clone, Debug, Default)]
pub struct Point {
    values: Vec<f64>,
    slopes: Vec<f64>,
    /// Linear solutions that had to be repeated with full pivoting.
    pub resolved: u64,
    /// Iterations that did not arrive.
    pub unsettled: u64,
}

impl Tape {
    /// All outputs at the given inputs (one number per input, in order;
    /// missing ones are NaN).
    #[must_use]
    pub fn values(&self, inputs: &[f64], reading: Reading) -> Vec<f64> {
        let mut point = Point::default();
        point.evaluate(self, inputs, reading);
        (0..self.outputs.len())
            .map(|k| point.output(self, k))
            .collect()
    }

    /// d(output)/d(input) for all inputs at the given point.
    ///
    /// # Panics
    /// Never; an output that does not exist has slope zero.
    #[must_use]
    pub fn gradient(&self, inputs: &[f64], output: usize, reading: Reading) -> Vec<f64> {
        let mut point = Point::default();
        point.evaluate(self, inputs, reading);
        let mut gradient = vec![0.0; self.inputs.len()];
        point.gradient(self, output, reading, &mut gradient);
        gradient
    }
}

impl Point {
    /// Reads the tape forwards.
    pub fn evaluate(&mut self, tape: &Tape, inputs: &[f64], reading: Reading) {
        self.values.clear();
        self.values.resize(tape.ops.len(), f64::NAN);
        self.run(tape, inputs, reading, 0..tape.steps.len());
    }

    /// An output of the last evaluation.
    #[must_use]
    pub fn output(&self, tape: &Tape, output: usize) -> f64 {
        tape.outputs
            .get(output)
            .map_or(f64::NAN, |&i| self.values[i as usize])
    }

    pub(crate) fn node(&self, index: Index) -> f64 {
        self.values[index as usize]
    }

    fn run(
        &mut self,
        tape: &Tape,
        inputs: &[f64],
        reading: Reading,
        range: std::ops::Range<usize>,
    ) {
        let mut at = range.start;
        while at < range.end {
            match &tape.steps[at] {
                Step::Compute(i) => {
                    let op = tape.ops[*i as usize];
                    match op {
                        Op::Input(n) => {
                            self.values[*i as usize] =
                                inputs.get(n as usize).copied().unwrap_or(f64::NAN);
                        }
                        Op::Iterate { .. } => {}
                        _ => {
                            if let Some(v) =
                                apply(op, reading, &tape.tables, |k| self.values[k as usize])
                            {
                                self.values[*i as usize] = v;
                            }
                        }
                    }
                }
                Step::FixedPoint(region, body) => {
                    self.iterate(tape, inputs, reading, region, body.clone())
                }
                Step::Guard(system) => self.check(system),
            }
            at += 1;
        }
    }

    fn iterate(
        &mut self,
        tape: &Tape,
        inputs: &[f64],
        reading: Reading,
        region: &Region,
        body: std::ops::Range<usize>,
    ) {
        for (&u, &s) in region.unknowns.iter().zip(&region.start) {
            self.values[u as usize] = self.values[s as usize];
        }
        for _ in 0..region.settings.most {
            self.run(tape, inputs, reading, body.clone());
            let mut moved = false;
            for (&u, &n) in region.unknowns.iter().zip(&region.next) {
                let (old, new) = (self.values[u as usize], self.values[n as usize]);
                moved |= has_moved(old, new, region.settings.absolute, region.settings.relative);
                self.values[u as usize] = new;
            }
            if !moved {
                return;
            }
        }
        self.unsettled += 1;
    }

    fn check(&mut self, system: &System) {
        if self.values[system.guard as usize] <= GUARD_LIMIT {
            return;
        }
        self.resolved += 1;
        let b = self.solved_again(system);
        for &(node, part) in &system.solved {
            self.values[node as usize] = b[part as usize];
        }
    }

    /// The solution of a linear system by elimination with full pivoting, and
    /// the sign of its determinant behind it.
    fn solved_again(&self, system: &System) -> Vec<f64> {
        let n = system.size;
        let mut a = vec![0.0; n * n];
        for &(i, j, v) in &system.entries {
            a[i as usize * n + j as usize] += self.values[v as usize];
        }
        let mut b: Vec<f64> = system
            .right
            .iter()
            .map(|&v| self.values[v as usize])
            .collect();
        let sign = solve_fully_pivoted(&mut a, &mut b);
        b.push(sign);
        b
    }

    /// Passes the slope of one component of A·x = b on to A and b, where the
    /// elimination on the tape was bad and its own slopes are no better:
    /// with Aᵀ·λ = slope·e, b's slopes are λ and A's −λ·xᵀ.
    fn through_system(&mut self, system: &System, part: u32, slope: f64) {
        let n = system.size;
        let x = self.solved_again(system);
        let mut transposed = vec![0.0; n * n];
        for &(i, j, v) in &system.entries {
            transposed[j as usize * n + i as usize] += self.values[v as usize];
        }
        let mut lambda = vec![0.0; n];
        if let Some(place) = lambda.get_mut(part as usize) {
            *place = slope;
        }
        solve_fully_pivoted(&mut transposed, &mut lambda);
        for (&v, &l) in system.right.iter().zip(&lambda) {
            self.slopes[v as usize] += l;
        }
        for &(i, j, v) in &system.entries {
            self.slopes[v as usize] -= lambda[i as usize] * x[j as usize];
        }
    }

    /// Slopes of one output by all inputs, at the last evaluation; `gradient`
    /// has one place per input.
    pub fn gradient(&mut self, tape: &Tape, output: usize, reading: Reading, gradient: &mut [f64]) {
        gradient.fill(0.0);
        let Some(&start) = tape.outputs.get(output) else {
            return;
        };
        self.slopes.clear();
        self.slopes.resize(tape.ops.len(), 0.0);
        self.slopes[start as usize] = 1.0;
        for i in (0..=start as usize).rev() {
            let slope = self.slopes[i];
            if slope == 0.0 {
                continue;
            }
            self.backwards(tape, i, slope, reading, gradient);
        }
    }

    #[inline]
    fn backwards(
        &mut self,
        tape: &Tape,
        i: usize,
        slope: f64,
        reading: Reading,
        gradient: &mut [f64],
    ) {
        if let Op::Solved { region, part, .. } = tape.ops[i]
            && let Some(Some(at)) = tape.checks.get(region as usize)
            && let Some(Step::Guard(system)) = tape.steps.get(*at)
            && !(self.values[system.guard as usize] <= GUARD_LIMIT)
        {
            self.through_system(system, part, slope);
            return;
        }
        let v = |k: Index| self.values[k as usize];
        let result = self.values[i];
        let mut pass = |k: Index, by: f64| self.slopes[k as usize] += slope * by;
        match tape.ops[i] {
            Op::Constant(_) | Op::Iterate { .. } | Op::Floor(_) => {}
            Op::Input(n) => {
                if let Some(g) = gradient.get_mut(n as usize) {
                    *g += slope;
                }
            }
            Op::Solved { raw: a, .. } | Op::Single(a) => pass(a, 1.0),
            Op::Quantise(a) => {
                if reading == Reading::Smooth {
                    pass(a, 1.0);
                }
            }
            Op::Add(a, b) => {
                pass(a, 1.0);
                pass(b, 1.0);
            }
            Op::Sub(a, b) => {
                pass(a, 1.0);
                pass(b, -1.0);
            }
            Op::Mul(a, b) => {
                let (va, vb) = (v(a), v(b));
                pass(a, vb);
                pass(b, va);
            }
            Op::Div(a, b) => {
                let vb = v(b);
                pass(a, 1.0 / vb);
                pass(b, -result / vb);
            }
            Op::Neg(a) => pass(a, -1.0),
            Op::Abs(a) => {
                let sign = if v(a) > 0.0 { 1.0 } else { -1.0 };
                pass(a, sign);
            }
            Op::Sqrt(a) => pass(a, 0.5 / result),
            Op::Exp(a) => pass(a, result),
            Op::Ln(a) => {
                let va = v(a);
                pass(a, 1.0 / va);
            }
            Op::Sin(a) => {
                let va = v(a);
                pass(a, elementary::cos(va));
            }
            Op::Cos(a) => {
                let va = v(a);
                pass(a, -elementary::sin(va));
            }
            Op::Min(a, b) => pass(if v(a) < v(b) { a } else { b }, 1.0),
            Op::Max(a, b) => pass(if v(a) > v(b) { a } else { b }, 1.0),
            Op::Select(c, a, b) => pass(if v(c) > 0.0 { a } else { b }, 1.0),
            Op::Lookup { table, at } => {
                let x = v(at);
                let by = tape.tables.get(table as usize).map_or(0.0, |t| t.slope(x));
                pass(at, by);
            }
        }
    }
}

/// Whether an unknown still moves; a value that is no number cannot get
/// better and counts as arrived.
#[inline(always)]
pub(crate) fn has_moved(old: f64, new: f64, absolute: f64, relative: f64) -> bool {
    (new - old).abs() > absolute + relative * new.abs()
}
