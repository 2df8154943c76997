//! Linear systems whose elimination is written onto the tape.

use std::collections::BTreeMap;

use crate::builder::{Builder, LinearSystem};
use crate::op::Op;
use crate::value::Value;

/// A pivot smaller than this share of the largest entry of its row is not
/// taken while a better one exists.
const THRESHOLD: f64 = 1e-3;
/// A row or column whose entries are all below this share of what they were
/// computed from holds nothing but rounding.
const NOTHING: f64 = 1e-13;

/// No pivot is left: the equations do not determine the unknowns.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Singular {
    /// Unknowns (columns) without a pivot.
    pub unknowns: Vec<usize>,
    /// Equations (rows) without a pivot.
    pub equations: Vec<usize>,
}

/// A sparse square system A·x = b of values on a tape.
pub struct Linear<'t> {
    size: usize,
    rows: Vec<BTreeMap<usize, Value<'t>>>,
    right: Vec<Value<'t>>,
}

impl<'t> Linear<'t> {
    /// A system of `size` equations, all zero.
    #[must_use]
    pub fn new(builder: &'t Builder, size: usize) -> Self {
        Linear {
            size,
            rows: vec![BTreeMap::new(); size],
            right: vec![builder.zero(); size],
        }
    }

    /// Adds `value` to the coefficient of `unknown` in `equation`; both below
    /// the size (others are ignored, which serves the reference node).
    pub fn add(&mut self, equation: usize, unknown: usize, value: Value<'t>) {
        if let Some(row) = self.rows.get_mut(equation)
            && unknown < self.size
        {
            row.entry(unknown)
                .and_modify(|v| *v = *v + value)
                .or_insert(value);
        }
    }

    /// Adds `value` to the right side of `equation`.
    pub fn add_right(&mut self, equation: usize, value: Value<'t>) {
        if let Some(right) = self.right.get_mut(equation) {
            *right = *right + value;
        }
    }

    /// Coefficient of `unknown` in `equation`, if any was added.
    #[must_use]
    pub fn entry(&self, equation: usize, unknown: usize) -> Option<Value<'t>> {
        self.rows
            .get(equation)
            .and_then(|r| r.get(&unknown))
            .copied()
    }

    /// Writes the elimination and returns the unknowns.
    ///
    /// The pivot order is found once from the nominal values: least fill
    /// (H. Markowitz, Management Science 3, 1957) among entries that are not
    /// small in their row. With `guarded`, the relative residual
    /// max |A·x − b| / (|A|·|x| + |b|) is computed along, and trials in which
    /// it exceeds 1e-9 are solved again with full pivoting, and counted.
    /// Matrices that need no pivoting at any value (symmetric, diagonally
    /// dominant conductances) may leave the guard out.
    ///
    /// # Errors
    /// [`Singular`] names the unknowns and equations left without a pivot.
    pub fn solve(self, builder: &'t Builder, guarded: bool) -> Result<Vec<Value<'t>>, Singular> {
        self.eliminated(builder, guarded)
            .map(|(solution, _)| solution)
    }

    /// As [`solve`](Linear::solve), with the sign of the determinant, ±1.
    ///
    /// ```
    /// let b = tape::Builder::new();
    /// let mut system = tape::Linear::new(&b, 2);
    /// for (i, j) in [(0, 1), (1, 0)] {
    ///     system.add(i, j, b.input("a", "", 2.0));
    /// }
    /// system.add_right(0, b.one());
    /// let (_, sign) = system.solve_signed(&b, true)?;
    /// assert_eq!(sign.nominal(), -1.0);
    /// # Ok::<(), tape::Singular>(())
    /// ```
    ///
    /// # Errors
    /// As [`solve`](Linear::solve).
    pub fn solve_signed(
        self,
        builder: &'t Builder,
        guarded: bool,
    ) -> Result<(Vec<Value<'t>>, Value<'t>), Singular> {
        self.eliminated(builder, guarded)
    }

    /// The unknowns and the sign of the determinant.
    fn eliminated(
        self,
        builder: &'t Builder,
        guarded: bool,
    ) -> Result<(Vec<Value<'t>>, Value<'t>), Singular> {
        let n = self.size;
        let original = self.rows.clone();
        let right = self.right.clone();
        let mut rows = self.rows;
        let mut side = self.right;
        let scale: Vec<f64> = rows
            .iter()
            .map(|r| r.values().map(|v| v.nominal().abs()).fold(0.0, f64::max))
            .collect();
        let mut row_open = vec![true; n];
        let mut column_open = vec![true; n];
        let mut order = Vec::with_capacity(n);
        for _ in 0..n {
            let Some((pivot_row, pivot_column)) = choose(&rows, &row_open, &column_open, &scale)
            else {
                return Err(Singular {
                    unknowns: (0..n).filter(|&j| column_open[j]).collect(),
                    equations: (0..n).filter(|&i| row_open[i]).collect(),
                });
            };
            row_open[pivot_row] = false;
            column_open[pivot_column] = false;
            order.push((pivot_row, pivot_column));
            let pivot_entries = rows[pivot_row].clone();
            let Some(&pivot) = pivot_entries.get(&pivot_column) else {
                continue;
            };
            let pivot_side = side[pivot_row];
            for i in 0..n {
                if !row_open[i] {
                    continue;
                }
                let Some(entry) = rows[i].remove(&pivot_column) else {
                    continue;
                };
                if entry.is_zero() {
                    continue;
                }
                let factor = entry / pivot;
                for (&j, &v) in &pivot_entries {
                    if j == pivot_column || !column_open[j] {
                        continue;
                    }
                    let product = factor * v;
                    let updated = rows[i].get(&j).map_or(-product, |&old| old - product);
                    rows[i].insert(j, updated);
                }
                side[i] = side[i] - factor * pivot_side;
            }
        }
        let mut solution = vec![builder.zero(); n];
        for &(i, j) in order.iter().rev() {
            let mut sum = side[i];
            for (&k, &v) in &rows[i] {
                if k != j && !v.is_zero() && !solution[k].is_zero() {
                    sum = sum - v * solution[k];
                }
            }
            let Some(&pivot) = rows[i].get(&j) else {
                continue;
            };
            solution[j] = sum / pivot;
        }
        let sign = sign_of(builder, &order, &rows);
        if !guarded || solution.iter().all(|v| v.as_constant().is_some()) {
            return Ok((solution, sign));
        }
        solution.push(sign);
        let mut checked = guard(builder, &original, &right, &solution);
        let sign = checked.pop().unwrap_or(sign);
        Ok((checked, sign))
    }
}

/// Sign of the determinant from the pivots, given by row and column.
fn sign_of<'t>(
    builder: &'t Builder,
    order: &[(usize, usize)],
    rows: &[BTreeMap<usize, Value<'t>>],
) -> Value<'t> {
    let mut column_of = vec![0; order.len()];
    for &(row, column) in order {
        column_of[row] = column;
    }
    let (one, other) = (builder.one(), builder.constant(-1.0));
    let mut sign = if is_even(&column_of) { one } else { other };
    for (row, column) in order {
        if let Some(&pivot) = rows[*row].get(column) {
            sign = sign * builder.select(pivot, one, other);
        }
    }
    sign
}

/// Whether a permutation is made of an even number of exchanges.
fn is_even(permutation: &[usize]) -> bool {
    let mut seen = vec![false; permutation.len()];
    let mut even = true;
    for start in 0..permutation.len() {
        // A cycle of n members is n − 1 exchanges.
        let mut at = start;
        while !std::mem::replace(&mut seen[at], true) {
            at = permutation[at];
            if !seen[at] {
                even = !even;
            }
        }
    }
    even
}

/// Row and column of the next pivot.
fn choose(
    rows: &[BTreeMap<usize, Value<'_>>],
    row_open: &[bool],
    column_open: &[bool],
    scale: &[f64],
) -> Option<(usize, usize)> {
    let mut column_count = vec![0usize; rows.len()];
    for (i, row) in rows.iter().enumerate() {
        if row_open[i] {
            for (&j, v) in row {
                if column_open[j] && !v.is_zero() {
                    column_count[j] += 1;
                }
            }
        }
    }
    let mut best: Option<(usize, usize, usize, f64)> = None;
    for (i, row) in rows.iter().enumerate() {
        if !row_open[i] {
            continue;
        }
        let open = row.iter().filter(|(j, v)| column_open[**j] && !v.is_zero());
        let count = open.clone().count();
        let largest = open
            .clone()
            .map(|(_, v)| v.nominal().abs())
            .fold(0.0, f64::max);
        if !(largest > NOTHING * scale[i]) {
            continue;
        }
        for (&j, v) in open {
            let magnitude = v.nominal().abs();
            if magnitude < THRESHOLD * largest {
                continue;
            }
            let cost = (count - 1) * column_count[j].saturating_sub(1);
            let better = match best {
                None => true,
                Some((_, _, c, m)) => cost < c || (cost == c && magnitude / largest > m),
            };
            if better {
                best = Some((i, j, cost, magnitude / largest));
            }
        }
    }
    best.map(|(i, j, _, _)| (i, j))
}

/// Adds the residual check and returns the guarded unknowns, with the sign of
/// the determinant behind them.
fn guard<'t>(
    builder: &'t Builder,
    rows: &[BTreeMap<usize, Value<'t>>],
    right: &[Value<'t>],
    solution: &[Value<'t>],
) -> Vec<Value<'t>> {
    let mut worst = builder.zero();
    for (row, &b) in rows.iter().zip(right) {
        let mut residual = -b;
        let mut size = b.abs();
        for (&j, &v) in row {
            let term = v * solution[j];
            residual = residual + term;
            size = size + term.abs();
        }
        if size.is_zero() {
            continue;
        }
        worst = worst.max(residual.abs() / (size + 1e-300));
    }
    let entries = rows
        .iter()
        .enumerate()
        .flat_map(|(i, row)| row.iter().map(move |(&j, v)| (i as u32, j as u32, v.index)))
        .collect();
    let region = {
        let mut inner = builder.inner.borrow_mut();
        inner.systems.push(LinearSystem {
            size: rows.len(),
            entries,
            right: right.iter().map(|v| v.index).collect(),
            guard: worst.index,
            raw: solution.iter().map(|v| v.index).collect(),
        });
        inner.systems.len() as u32 - 1
    };
    solution
        .iter()
        .enumerate()
        .map(|(part, v)| {
            builder.emit(Op::Solved {
                region,
                part: part as u32,
                raw: v.index,
            })
        })
        .collect()
}

/// Solves a small dense system by Gaussian elimination with full pivoting.
/// `a` holds the rows one after the other and is used up, `b` becomes the
/// solution; returns the sign of the determinant. A singular system gives
/// NaN.
pub(crate) fn solve_fully_pivoted(a: &mut [f64], b: &mut [f64]) -> f64 {
    let n = b.len();
    let mut sign = 1.0;
    let mut column_of: Vec<usize> = (0..n).collect();
    for k in 0..n {
        let mut best = (k, k, 0.0_f64);
        for i in k..n {
            for j in k..n {
                let m = a[i * n + j].abs();
                if m > best.2 {
                    best = (i, j, m);
                }
            }
        }
        let (pi, pj, magnitude) = best;
        if !(magnitude > 0.0) {
            b.fill(f64::NAN);
            return f64::NAN;
        }
        if (pi != k) != (pj != k) {
            sign = -sign;
        }
        if pi != k {
            for j in 0..n {
                a.swap(pi * n + j, k * n + j);
            }
            b.swap(pi, k);
        }
        if pj != k {
            for i in 0..n {
                a.swap(i * n + pj, i * n + k);
            }
            column_of.swap(pj, k);
        }
        if a[k * n + k] < 0.0 {
            sign = -sign;
        }
        for i in k + 1..n {
            let factor = a[i * n + k] / a[k * n + k];
            if factor != 0.0 {
                for j in k..n {
                    a[i * n + j] -= factor * a[k * n + j];
                }
                b[i] -= factor * b[k];
            }
        }
    }
    for k in (0..n).rev() {
        let mut sum = b[k];
        for j in k + 1..n {
            sum -= a[k * n + j] * b[j];
        }
        b[k] = sum / a[k * n + k];
    }
    let permuted = b.to_vec();
    for (k, &column) in column_of.iter().enumerate() {
        b[column] = permuted[k];
    }
    sign
}
