//! Many readings of a tape at once: the loop everything waits for.

use crate::compile::{Step, System, Tape};
use crate::linear::solve_fully_pivoted;
use crate::op::{Op, Reading, larger, single, smaller};
use crate::scalar::{GUARD_LIMIT, has_moved};

/// Trials per block unless asked otherwise: the working set of a usual model
/// then fits the second-level cache while the cost of choosing the operation
/// is spread thin.
pub const DEFAULT_LANES: usize = 512;

/// The values of one place, one per trial, at the start of a cache line: wide
/// loads that straddle two lines cost twice.
#[derive(Debug, Default)]
struct Row {
    values: Vec<f64>,
    start: usize,
    lanes: usize,
}

impl Row {
    fn new(lanes: usize, value: f64) -> Self {
        const LINE: usize = 64 / size_of::<f64>();
        let values = vec![value; lanes + LINE - 1];
        // An allocation need not say where it stands; then nothing is gained
        // and nothing lost.
        let start = match values.as_ptr().align_offset(64) {
            start if start < LINE => start,
            _ => 0,
        };
        Row {
            values,
            start,
            lanes,
        }
    }
}

impl std::ops::Deref for Row {
    type Target = [f64];
    fn deref(&self) -> &[f64] {
        self.values
            .get(self.start..self.start + self.lanes)
            .unwrap_or_default()
    }
}

impl std::ops::DerefMut for Row {
    fn deref_mut(&mut self) -> &mut [f64] {
        self.values
            .get_mut(self.start..self.start + self.lanes)
            .unwrap_or_default()
    }
}

/// Working space for reading a tape for a block of trials at a time.
///
/// Allocates when made, never when run. Inputs keep their values from one run
/// to the next.
///
/// ```
/// let builder = tape::Builder::new();
/// let x = builder.input("x", "", 1.0);
/// let tape = builder.finish(&[x * x]);
/// let mut block = tape::Block::new(&tape, 4);
/// block.input_mut(0).copy_from_slice(&[1.0, 2.0, 3.0, 4.0]);
/// block.run(&tape, tape::Reading::Exact);
/// assert_eq!(block.output(&tape, 0), &[1.0, 4.0, 9.0, 16.0]);
/// ```
#[derive(Debug)]
pub struct Block {
    lanes: usize,
    slots: Vec<Row>,
    input_slots: Vec<Option<usize>>,
    unused: Vec<f64>,
    scratch: Vec<f64>,
    /// Which trials have arrived, once for every depth of iterations.
    arrived: Vec<Vec<bool>>,
    /// Linear solutions repeated with full pivoting since the block was made.
    pub resolved: u64,
    /// Iterations that did not arrive since the block was made.
    pub unsettled: u64,
}

impl Block {
    /// Space for `lanes` trials of `tape`; all inputs at their nominal values.
    #[must_use]
    pub fn new(tape: &Tape, lanes: usize) -> Self {
        let lanes = lanes.max(1);
        let mut slots: Vec<Row> = (0..tape.slot_count).map(|_| Row::new(lanes, 0.0)).collect();
        for (i, op) in tape.ops.iter().enumerate() {
            if let Op::Constant(c) = *op {
                slots[tape.slots[i] as usize].fill(c);
            }
        }
        let input_slots: Vec<Option<usize>> = tape
            .input_nodes
            .iter()
            .map(|n| n.map(|n| tape.slots[n as usize] as usize))
            .collect();
        for (n, slot) in input_slots.iter().enumerate() {
            if let Some(slot) = *slot {
                slots[slot].fill(tape.nominal_inputs[n]);
            }
        }
        let largest = tape
            .steps
            .iter()
            .map(|s| match s {
                Step::Guard(s) => s.size * (s.size + 1),
                _ => 0,
            })
            .max()
            .unwrap_or(0);
        Block {
            lanes,
            slots,
            input_slots,
            unused: vec![0.0; lanes],
            scratch: vec![0.0; largest],
            arrived: vec![vec![false; lanes]; depth(&tape.steps)],
            resolved: 0,
            unsettled: 0,
        }
    }

    /// Number of trials.
    #[must_use]
    pub fn lanes(&self) -> usize {
        self.lanes
    }

    /// The values of one input, one per trial. An input that no output needs
    /// may be written too; nothing comes of it.
    pub fn input_mut(&mut self, input: usize) -> &mut [f64] {
        match self.input_slots.get(input).copied().flatten() {
            Some(slot) => &mut self.slots[slot],
            None => &mut self.unused,
        }
    }

    /// The values of one output after a run; empty if there is no such output.
    #[must_use]
    pub fn output<'a>(&'a self, tape: &Tape, output: usize) -> &'a [f64] {
        match tape.outputs.get(output) {
            Some(&i) => &self.slots[tape.slots[i as usize] as usize],
            None => &[],
        }
    }

    /// Reads the tape for all trials.
    pub fn run(&mut self, tape: &Tape, reading: Reading) {
        self.range(tape, reading, 0..tape.steps.len());
    }

    fn range(&mut self, tape: &Tape, reading: Reading, range: std::ops::Range<usize>) {
        let mut at = range.start;
        while at < range.end {
            // Plain operations are run together, so that the choice of wide
            // instructions is made once for many.
            let plain = tape.steps[at..range.end]
                .iter()
                .take_while(|s| matches!(s, Step::Compute(_)))
                .count();
            if plain > 0 {
                compute(tape, reading, &tape.steps[at..at + plain], &mut self.slots);
                at += plain;
                continue;
            }
            match &tape.steps[at] {
                Step::Compute(_) => {}
                Step::FixedPoint(region, body) => {
                    let place = |i: u32| tape.slots[i as usize] as usize;
                    for (&u, &s) in region.unknowns.iter().zip(&region.start) {
                        copy(&mut self.slots, place(s), place(u));
                    }
                    let mut arrived = self.arrived.pop().unwrap_or_default();
                    arrived.fill(false);
                    let mut open = true;
                    for _ in 0..region.settings.most {
                        self.range(tape, reading, body.clone());
                        open = self.advance(tape, region, &mut arrived);
                        if !open {
                            break;
                        }
                    }
                    if open {
                        self.unsettled += arrived.iter().filter(|a| !**a).count() as u64;
                    }
                    self.arrived.push(arrived);
                }
                Step::Guard(system) => self.check(tape, system),
            }
            at += 1;
        }
    }

    /// Moves the unknowns of the trials that have not arrived; whether any
    /// is left.
    fn advance(
        &mut self,
        tape: &Tape,
        region: &crate::compile::Region,
        arrived: &mut [bool],
    ) -> bool {
        let place = |i: u32| tape.slots[i as usize] as usize;
        let mut open = false;
        for (lane, arrived) in arrived.iter_mut().enumerate() {
            if *arrived {
                continue;
            }
            let mut moved = false;
            for (&u, &n) in region.unknowns.iter().zip(&region.next) {
                let (old, new) = (self.slots[place(u)][lane], self.slots[place(n)][lane]);
                moved |= has_moved(old, new, region.settings.absolute, region.settings.relative);
            }
            for (&u, &n) in region.unknowns.iter().zip(&region.next) {
                self.slots[place(u)][lane] = self.slots[place(n)][lane];
            }
            *arrived = !moved;
            open |= moved;
        }
        open
    }

    fn check(&mut self, tape: &Tape, system: &System) {
        let guard = tape.slots[system.guard as usize] as usize;
        let all_good = self.slots[guard]
            .iter()
            .fold(true, |good, &g| good & (g <= GUARD_LIMIT));
        if all_good {
            return;
        }
        let n = system.size;
        for lane in 0..self.lanes {
            if self.slots[guard][lane] <= GUARD_LIMIT {
                continue;
            }
            self.resolved += 1;
            let (a, rest) = self.scratch.split_at_mut(n * n);
            let b = &mut rest[..n];
            a.fill(0.0);
            for &(i, j, v) in &system.entries {
                a[i as usize * n + j as usize] += self.slots[tape.slots[v as usize] as usize][lane];
            }
            for (b, &v) in b.iter_mut().zip(&system.right) {
                *b = self.slots[tape.slots[v as usize] as usize][lane];
            }
            let sign = solve_fully_pivoted(a, b);
            for &(node, part) in &system.solved {
                let value = b.get(part as usize).copied().unwrap_or(sign);
                self.slots[tape.slots[node as usize] as usize][lane] = value;
            }
        }
    }
}

/// How deep iterations stand within iterations.
fn depth(steps: &[Step]) -> usize {
    let bodies: Vec<&std::ops::Range<usize>> = steps
        .iter()
        .filter_map(|s| match s {
            Step::FixedPoint(_, body) => Some(body),
            _ => None,
        })
        .collect();
    let around = |inner: &std::ops::Range<usize>| {
        bodies
            .iter()
            .filter(|b| b.start <= inner.start && inner.end <= b.end)
            .count()
    };
    bodies.iter().map(|b| around(b)).max().unwrap_or(0)
}

fn copy(slots: &mut [Row], from: usize, to: usize) {
    if from != to {
        let mut target = std::mem::take(&mut slots[to]);
        target.copy_from_slice(&slots[from]);
        slots[to] = target;
    }
}

macro_rules! one {
    ($out:ident, $slots:ident, $a:expr, |$x:ident| $body:expr) => {
        for (o, &$x) in $out.iter_mut().zip(&$slots[$a][..]) {
            *o = $body;
        }
    };
}
/// A constant operand is not read from its place: that would cost as much as
/// a variable one.
macro_rules! two {
    ($out:ident, $slots:ident, $tape:ident, $at:ident, $a:expr, $b:expr, |$x:ident, $y:ident| $body:expr) => {
        match ($tape.ops[$a as usize], $tape.ops[$b as usize]) {
            (_, Op::Constant($y)) => one!($out, $slots, $at($a), |$x| $body),
            (Op::Constant($x), _) => one!($out, $slots, $at($b), |$y| $body),
            _ => {
                for ((o, &$x), &$y) in $out
                    .iter_mut()
                    .zip(&$slots[$at($a)][..])
                    .zip(&$slots[$at($b)][..])
                {
                    *o = $body;
                }
            }
        }
    };
}

/// Plain operations, one after the other, each over all trials.
#[allow(
    unsafe_code,
    reason = "choosing among compiled variants by what the processor offers"
)]
#[multiversion::multiversion(targets(
    "x86_64+avx512f+avx512dq+avx512vl+avx512bw+avx512cd",
    "x86_64+avx2+fma"
))]
fn compute(tape: &Tape, reading: Reading, steps: &[Step], slots: &mut [Row]) {
    for step in steps {
        let Step::Compute(i) = *step else { continue };
        let place = tape.slots[i as usize] as usize;
        let at = |k: u32| tape.slots[k as usize] as usize;
        // Taken out while it is written: a result's place never equals one of
        // its operands'.
        let mut row = std::mem::take(&mut slots[place]);
        let out = &mut row[..];
        match tape.ops[i as usize] {
            Op::Constant(_) | Op::Input(_) | Op::Iterate { .. } => {}
            Op::Solved { raw, .. } => out.copy_from_slice(&slots[at(raw)]),
            Op::Add(a, b) => two!(out, slots, tape, at, a, b, |x, y| x + y),
            Op::Sub(a, b) => two!(out, slots, tape, at, a, b, |x, y| x - y),
            Op::Mul(a, b) => two!(out, slots, tape, at, a, b, |x, y| x * y),
            Op::Div(a, b) => two!(out, slots, tape, at, a, b, |x, y| x / y),
            Op::Min(a, b) => two!(out, slots, tape, at, a, b, |x, y| smaller(x, y)),
            Op::Max(a, b) => two!(out, slots, tape, at, a, b, |x, y| larger(x, y)),
            Op::Neg(a) => one!(out, slots, at(a), |x| -x),
            Op::Abs(a) => one!(out, slots, at(a), |x| x.abs()),
            Op::Sqrt(a) => one!(out, slots, at(a), |x| x.sqrt()),
            Op::Exp(a) => one!(out, slots, at(a), |x| elementary::exp(x)),
            Op::Ln(a) => one!(out, slots, at(a), |x| elementary::ln(x)),
            Op::Sin(a) => one!(out, slots, at(a), |x| elementary::sin(x)),
            Op::Cos(a) => one!(out, slots, at(a), |x| elementary::cos(x)),
            Op::Quantise(a) => match reading {
                Reading::Exact => one!(out, slots, at(a), |x| x.floor()),
                Reading::Smooth => one!(out, slots, at(a), |x| x - 0.5),
            },
            Op::Floor(a) => one!(out, slots, at(a), |x| x.floor()),
            Op::Single(a) => one!(out, slots, at(a), |x| single(x)),
            Op::Select(c, a, b) => {
                let (c, a, b) = (&slots[at(c)][..], &slots[at(a)][..], &slots[at(b)][..]);
                for (((o, &c), &a), &b) in out.iter_mut().zip(c).zip(a).zip(b) {
                    *o = if c > 0.0 { a } else { b };
                }
            }
            Op::Lookup { table, at: x } => {
                let table = &tape.tables[table as usize];
                one!(out, slots, at(x), |x| table.value(x));
            }
        }
        slots[place] = row;
    }
}
