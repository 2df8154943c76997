//! Writing a tape: values that read like formulas.

use std::cell::RefCell;
use std::collections::HashMap;

use crate::linear::solve_fully_pivoted;
use crate::op::{Index, Op, Reading, apply};
use crate::scalar::{GUARD_LIMIT, has_moved};
use crate::table::Table;
use crate::value::Value;

/// Name and unit shown where a node's working is written out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Label {
    /// What the value is called, for example `reference voltage`.
    pub name: String,
    /// Symbol of its unit, for example `V`; empty for a pure number.
    pub unit: String,
}

/// An iteration to a fixed point: unknowns, where they start, what follows.
#[derive(Clone, Debug)]
pub(crate) struct FixedPoint {
    pub unknowns: Vec<Index>,
    pub start: Vec<Index>,
    pub next: Vec<Index>,
    /// Nodes written while the step was: from here up to `end`.
    pub end: Index,
    pub settings: Iteration,
}

/// A linear system whose elimination is on the tape.
#[derive(Clone, Debug)]
pub(crate) struct LinearSystem {
    pub size: usize,
    pub entries: Vec<(u32, u32, Index)>,
    pub right: Vec<Index>,
    pub guard: Index,
    pub raw: Vec<Index>,
}

/// When an iteration has arrived and when it gives up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Iteration {
    /// Steps at the most.
    pub most: u32,
    /// Arrived when every unknown moves by less than `absolute` +
    /// `relative`·|unknown|.
    pub absolute: f64,
    /// See `absolute`.
    pub relative: f64,
}

impl Default for Iteration {
    fn default() -> Self {
        Iteration {
            most: 60,
            absolute: 1e-15,
            relative: 1e-13,
        }
    }
}

#[derive(Default)]
pub(crate) struct Inner {
    pub ops: Vec<Op>,
    /// Value of every node at the nominal inputs.
    pub nominal: Vec<f64>,
    pub labels: HashMap<Index, Label>,
    pub inputs: Vec<Label>,
    pub input_nodes: Vec<Index>,
    pub tables: Vec<Table>,
    pub fixed_points: Vec<FixedPoint>,
    pub systems: Vec<LinearSystem>,
    known: HashMap<(u8, u64, u64, u64), Index>,
}

/// Collects operations; [`finish`](Builder::finish) makes a
/// [`Tape`](crate::Tape) of those that the wanted outputs need.
///
/// Every node carries its value at the nominal inputs, so that choices which
/// must be made once (a pivot order, a table's range) can be made while the
/// model is written. Equal operations on equal operands are one node.
///
/// ```
/// let builder = tape::Builder::new();
/// let volt = builder.input("supply", "V", 5.0);
/// let top = builder.input("top", "Ω", 10e3);
/// let bottom = builder.input("bottom", "Ω", 15e3);
/// let out = volt * bottom / (top + bottom);
/// assert_eq!(out.nominal(), 3.0);
/// let tape = builder.finish(&[out]);
/// assert_eq!(tape.values(&[4.0, 10e3, 10e3], tape::Reading::Exact), vec![2.0]);
/// ```
#[derive(Default)]
pub struct Builder {
    pub(crate) inner: RefCell<Inner>,
}

impl Builder {
    /// An empty tape.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// A new input with its name, unit and nominal value. Inputs are numbered
    /// in the order of creation.
    pub fn input(&self, name: &str, unit: &str, nominal: f64) -> Value<'_> {
        let mut inner = self.inner.borrow_mut();
        let number = inner.inputs.len() as u32;
        inner.inputs.push(Label {
            name: name.to_owned(),
            unit: unit.to_owned(),
        });
        let index = inner.push(Op::Input(number), nominal);
        inner.input_nodes.push(index);
        drop(inner);
        self.wrap(index)
    }

    /// Number of inputs so far.
    #[must_use]
    pub fn input_count(&self) -> usize {
        self.inner.borrow().inputs.len()
    }

    /// A fixed number.
    pub fn constant(&self, value: f64) -> Value<'_> {
        self.emit(Op::Constant(value))
    }

    /// Zero.
    pub fn zero(&self) -> Value<'_> {
        self.constant(0.0)
    }

    /// One.
    pub fn one(&self) -> Value<'_> {
        self.constant(1.0)
    }

    /// b where `condition` > 0, else c.
    pub fn select<'t>(&'t self, condition: Value<'t>, b: Value<'t>, c: Value<'t>) -> Value<'t> {
        self.emit(Op::Select(condition.index, b.index, c.index))
    }

    /// The function given by points, at x.
    pub fn lookup<'t>(&'t self, table: &Table, x: Value<'t>) -> Value<'t> {
        let number = {
            let mut inner = self.inner.borrow_mut();
            match inner.tables.iter().position(|t| t == table) {
                Some(found) => found as u32,
                None => {
                    inner.tables.push(table.clone());
                    inner.tables.len() as u32 - 1
                }
            }
        };
        self.emit(Op::Lookup {
            table: number,
            at: x.index,
        })
    }

    /// Solves x = step(x) by iteration from `start`.
    ///
    /// `step` must return the next iterate, normally a full Newton step
    /// x − J⁻¹·F(x). The values returned are one more step taken from the
    /// converged point; where the step is Newton's, the derivative of that
    /// last step alone is the derivative of the solution (implicit function
    /// theorem), so no iteration needs to be differentiated.
    ///
    /// Each trial stops by itself: its result does not depend on which other
    /// trials share its block.
    pub fn fixed_point<'t>(
        &'t self,
        start: &[Value<'t>],
        settings: Iteration,
        step: impl FnOnce(&[Value<'t>]) -> Vec<Value<'t>>,
    ) -> Vec<Value<'t>> {
        let (region, unknowns) = {
            let mut inner = self.inner.borrow_mut();
            let region = inner.fixed_points.len() as u32;
            let unknowns: Vec<Index> = start
                .iter()
                .enumerate()
                .map(|(part, s)| {
                    let nominal = inner.nominal[s.index as usize];
                    inner.push(
                        Op::Iterate {
                            region,
                            part: part as u32,
                        },
                        nominal,
                    )
                })
                .collect();
            inner.fixed_points.push(FixedPoint {
                unknowns: unknowns.clone(),
                start: start.iter().map(|v| v.index).collect(),
                next: Vec::new(),
                end: 0,
                settings,
            });
            (region, unknowns)
        };
        let first = self.inner.borrow().ops.len();
        let handed: Vec<Value<'t>> = unknowns.iter().map(|&i| self.wrap(i)).collect();
        let next = step(&handed);
        let mut inner = self.inner.borrow_mut();
        let next_indices: Vec<Index> = next.iter().map(|v| v.index).collect();
        inner.settle(first, &unknowns, &next_indices, settings);
        let end = inner.ops.len() as Index;
        let point = &mut inner.fixed_points[region as usize];
        point.next = next_indices;
        point.end = end;
        drop(inner);
        next
    }

    /// The finished tape: what `outputs` need, in order, nothing else. All
    /// inputs keep their numbers, used or not.
    #[must_use]
    pub fn finish(&self, outputs: &[Value<'_>]) -> crate::Tape {
        crate::Tape::compile(
            &self.inner.borrow(),
            &outputs.iter().map(|v| v.index).collect::<Vec<_>>(),
        )
    }

    pub(crate) fn wrap(&self, index: Index) -> Value<'_> {
        Value {
            builder: self,
            index,
        }
    }

    /// Adds an operation, simplified and shared where possible.
    pub(crate) fn emit(&self, op: Op) -> Value<'_> {
        let index = self.inner.borrow_mut().emit(op);
        self.wrap(index)
    }
}

impl Inner {
    pub(crate) fn push(&mut self, op: Op, nominal: f64) -> Index {
        self.ops.push(op);
        self.nominal.push(nominal);
        self.ops.len() as Index - 1
    }

    fn constant_of(&self, index: Index) -> Option<f64> {
        match self.ops[index as usize] {
            Op::Constant(c) => Some(c),
            _ => None,
        }
    }

    /// What `op` is equal to, if something simpler.
    fn simplified(&mut self, op: Op) -> Result<Index, Op> {
        let c = |i| self.constant_of(i);
        match op {
            Op::Add(a, b) if c(a) == Some(0.0) => return Ok(b),
            Op::Add(a, b) | Op::Sub(a, b) if c(b) == Some(0.0) => return Ok(a),
            Op::Sub(a, b) if c(a) == Some(0.0) => return Err(Op::Neg(b)),
            Op::Mul(a, b) if c(a) == Some(1.0) => return Ok(b),
            Op::Mul(a, b) | Op::Div(a, b) if c(b) == Some(1.0) => return Ok(a),
            Op::Mul(a, _) if c(a) == Some(0.0) => return Ok(a),
            Op::Mul(_, b) if c(b) == Some(0.0) => return Ok(b),
            Op::Div(a, b) if c(a) == Some(0.0) && c(b) != Some(0.0) => return Ok(a),
            Op::Mul(a, b) if c(a) == Some(-1.0) => return Err(Op::Neg(b)),
            Op::Neg(a) => {
                if let Op::Neg(inner) = self.ops[a as usize] {
                    return Ok(inner);
                }
            }
            Op::Select(_, b, c) if b == c => return Ok(b),
            _ => {}
        }
        // An operation on constants alone is a constant.
        let mut any = false;
        let mut all = true;
        op.operands(|i| {
            any = true;
            all &= matches!(self.ops[i as usize], Op::Constant(_));
        });
        let fold = !matches!(op, Op::Quantise(_) | Op::Solved { .. });
        if any
            && all
            && fold
            && let Some(v) = apply(op, Reading::Exact, &self.tables, |i| {
                self.nominal[i as usize]
            })
        {
            return Err(Op::Constant(v));
        }
        Err(op)
    }

    pub(crate) fn emit(&mut self, op: Op) -> Index {
        let op = match self.simplified(op) {
            Ok(existing) => return existing,
            Err(op) => op,
        };
        let key = key_of(op);
        if let Some(&existing) = self.known.get(&key) {
            return existing;
        }
        let nominal = apply(op, Reading::Smooth, &self.tables, |i| {
            self.nominal[i as usize]
        })
        .unwrap_or(f64::NAN);
        let index = self.push(op, nominal);
        self.known.insert(key, index);
        index
    }

    /// Brings the nominal values of a fixed point and of everything computed
    /// from it to convergence.
    fn settle(&mut self, first: usize, unknowns: &[Index], next: &[Index], settings: Iteration) {
        self.iterate(first, self.ops.len(), unknowns, next, settings);
    }

    /// Iterates the nodes from `first` to before `end` until the unknowns
    /// stand still.
    fn iterate(
        &mut self,
        first: usize,
        end: usize,
        unknowns: &[Index],
        next: &[Index],
        settings: Iteration,
    ) {
        for _ in 0..settings.most {
            let mut moved = false;
            for (&u, &n) in unknowns.iter().zip(next) {
                let (old, new) = (self.nominal[u as usize], self.nominal[n as usize]);
                moved |= has_moved(old, new, settings.absolute, settings.relative);
                self.nominal[u as usize] = new;
            }
            self.refresh(first, end);
            if !moved {
                break;
            }
        }
    }

    /// Computes the nominal values of the nodes from `first` to before `end`
    /// again, inner iterations and repeated eliminations as when reading.
    fn refresh(&mut self, first: usize, end: usize) {
        let mut i = first;
        while i < end {
            let value = match self.ops[i] {
                Op::Iterate { region, .. } => {
                    let point = self.fixed_points[region as usize].clone();
                    for (&u, &s) in point.unknowns.iter().zip(&point.start) {
                        self.nominal[u as usize] = self.nominal[s as usize];
                    }
                    i += point.unknowns.len();
                    self.refresh(i, point.end as usize);
                    self.iterate(
                        i,
                        point.end as usize,
                        &point.unknowns,
                        &point.next,
                        point.settings,
                    );
                    i = point.end as usize;
                    continue;
                }
                Op::Solved { region, part, raw } => {
                    let system = &self.systems[region as usize];
                    if self.nominal[system.guard as usize] <= GUARD_LIMIT {
                        Some(self.nominal[raw as usize])
                    } else {
                        let at = |i: Index| self.nominal[i as usize];
                        Some(system.solved_again(at)[part as usize])
                    }
                }
                op => apply(op, Reading::Smooth, &self.tables, |k| {
                    self.nominal[k as usize]
                }),
            };
            if let Some(v) = value {
                self.nominal[i] = v;
            }
            i += 1;
        }
    }
}

impl LinearSystem {
    /// The solution by elimination with full pivoting, and the sign of the
    /// determinant behind it.
    fn solved_again(&self, value: impl Fn(Index) -> f64) -> Vec<f64> {
        let n = self.size;
        let mut a = vec![0.0; n * n];
        for &(i, j, v) in &self.entries {
            a[i as usize * n + j as usize] += value(v);
        }
        let mut b: Vec<f64> = self.right.iter().map(|&v| value(v)).collect();
        let sign = solve_fully_pivoted(&mut a, &mut b);
        b.push(sign);
        b
    }
}

/// A hashable identity of an operation.
fn key_of(op: Op) -> (u8, u64, u64, u64) {
    let two = |tag, a: Index, b: Index| (tag, u64::from(a), u64::from(b), 0);
    let one = |tag, a: Index| (tag, u64::from(a), 0, 0);
    // Sums and products are the same either way round.
    let either = |tag, a: Index, b: Index| two(tag, a.min(b), a.max(b));
    match op {
        Op::Constant(c) => (0, c.to_bits(), 0, 0),
        Op::Input(n) => one(1, n),
        Op::Iterate { region, part } => two(2, region, part),
        Op::Solved { region, part, raw } => (3, u64::from(region), u64::from(part), u64::from(raw)),
        Op::Add(a, b) => either(4, a, b),
        Op::Sub(a, b) => two(5, a, b),
        Op::Mul(a, b) => either(6, a, b),
        Op::Div(a, b) => two(7, a, b),
        Op::Neg(a) => one(8, a),
        Op::Abs(a) => one(9, a),
        Op::Sqrt(a) => one(10, a),
        Op::Exp(a) => one(11, a),
        Op::Ln(a) => one(12, a),
        Op::Sin(a) => one(13, a),
        Op::Cos(a) => one(14, a),
        Op::Min(a, b) => two(15, a, b),
        Op::Max(a, b) => two(16, a, b),
        Op::Quantise(a) => one(17, a),
        Op::Floor(a) => one(18, a),
        Op::Single(a) => one(19, a),
        Op::Select(a, b, c) => (20, u64::from(a), u64::from(b), u64::from(c)),
        Op::Lookup { table, at } => two(21, table, at),
    }
}
