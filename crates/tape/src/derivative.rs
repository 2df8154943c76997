//! Derivatives written onto the tape, for Newton's method.

use std::collections::HashMap;

use crate::builder::Builder;
use crate::op::{Index, Op};
use crate::value::Value;

impl Builder {
    /// d`of`/d`by` as a value on the tape, by the chain rule forwards.
    ///
    /// Exact rounding has slope one, tables have the slope of their piece,
    /// choices the slope of the chosen branch. Only what lies between the two
    /// nodes is visited.
    pub fn derivative<'t>(&'t self, of: Value<'t>, by: Value<'t>) -> Value<'t> {
        let first = by.index;
        let last = of.index;
        if last < first {
            return self.zero();
        }
        let ops: Vec<Op> = self.inner.borrow().ops[first as usize..=last as usize].to_vec();
        // Which nodes does `of` need?
        let mut needed = vec![false; ops.len()];
        needed[(last - first) as usize] = true;
        for i in (0..ops.len()).rev() {
            if needed[i] {
                ops[i].operands(|k| {
                    if k >= first {
                        needed[(k - first) as usize] = true;
                    }
                });
            }
        }
        let mut slopes: HashMap<Index, Value<'t>> = HashMap::new();
        slopes.insert(first, self.one());
        for (i, &op) in ops.iter().enumerate() {
            let index = first + i as Index;
            if !needed[i] || index == first {
                continue;
            }
            if let Some(slope) = self.slope_of(op, self.wrap(index), &slopes) {
                slopes.insert(index, slope);
            }
        }
        slopes.get(&last).copied().unwrap_or_else(|| self.zero())
    }

    fn slope_of<'t>(
        &'t self,
        op: Op,
        result: Value<'t>,
        slopes: &HashMap<Index, Value<'t>>,
    ) -> Option<Value<'t>> {
        let d = |i: Index| slopes.get(&i).copied();
        let v = |i: Index| self.wrap(i);
        let sum = |a: Option<Value<'t>>, b: Option<Value<'t>>| match (a, b) {
            (Some(a), Some(b)) => Some(a + b),
            (a, b) => a.or(b),
        };
        match op {
            Op::Constant(_) | Op::Input(_) | Op::Iterate { .. } | Op::Floor(_) => None,
            Op::Solved { raw, .. } => d(raw),
            Op::Add(a, b) => sum(d(a), d(b)),
            Op::Sub(a, b) => sum(d(a), d(b).map(|s| -s)),
            Op::Mul(a, b) => sum(d(a).map(|s| s * v(b)), d(b).map(|s| s * v(a))),
            Op::Div(a, b) => sum(d(a).map(|s| s / v(b)), d(b).map(|s| -(s * result / v(b)))),
            Op::Neg(a) => d(a).map(|s| -s),
            Op::Abs(a) => d(a).map(|s| self.select(v(a), s, -s)),
            Op::Sqrt(a) => d(a).map(|s| s * 0.5 / result),
            Op::Exp(a) => d(a).map(|s| s * result),
            Op::Ln(a) => d(a).map(|s| s / v(a)),
            Op::Sin(a) => d(a).map(|s| s * v(a).cos()),
            Op::Cos(a) => d(a).map(|s| -(s * v(a).sin())),
            Op::Quantise(a) | Op::Single(a) => d(a),
            Op::Min(a, b) => self.either(v(b) - v(a), d(a), d(b)),
            Op::Max(a, b) => self.either(v(a) - v(b), d(a), d(b)),
            Op::Select(c, a, b) => self.either(v(c), d(a), d(b)),
            Op::Lookup { table, at } => d(at).map(|s| s * self.table_slope(table, v(at))),
        }
    }

    fn either<'t>(
        &'t self,
        condition: Value<'t>,
        a: Option<Value<'t>>,
        b: Option<Value<'t>>,
    ) -> Option<Value<'t>> {
        if a.is_none() && b.is_none() {
            return None;
        }
        Some(self.select(
            condition,
            a.unwrap_or_else(|| self.zero()),
            b.unwrap_or_else(|| self.zero()),
        ))
    }

    /// Slope of a table as another table: constant per piece would jump, so
    /// it is joined by lines between the slopes at the knots, which is exact
    /// at the knots and close between them.
    fn table_slope<'t>(&'t self, table: u32, at: Value<'t>) -> Value<'t> {
        let slopes = {
            let inner = self.inner.borrow();
            let Some(table) = inner.tables.get(table as usize) else {
                return self.zero();
            };
            let x = table.knots().to_vec();
            let y: Vec<f64> = x.iter().map(|&x| table.slope(x)).collect();
            crate::Table::lines(&x, &y)
        };
        match slopes {
            Ok(slopes) => self.lookup(&slopes, at),
            Err(_) => self.zero(),
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::{Builder, Reading};

    #[test]
    fn derivative_of_a_formula_agrees_with_differences() {
        let b = Builder::new();
        let x = b.input("x", "", 1.3);
        let y = (x * 2.0).exp() / (x.squared() + 1.0) - (x + 3.0).ln() * x.sin()
            + x.sqrt().max(x.cos());
        let dy = b.derivative(y, x);
        let tape = b.finish(&[y, dy]);
        for x in [0.4, 1.0, 1.3, 2.2] {
            let h = 1e-5;
            let up = tape.values(&[x + h], Reading::Exact)[0];
            let down = tape.values(&[x - h], Reading::Exact)[0];
            let slope = tape.values(&[x], Reading::Exact)[1];
            assert!(
                ((up - down) / (2.0 * h) - slope).abs() < 1e-7 * slope.abs().max(1.0),
                "{x}"
            );
        }
    }
}
