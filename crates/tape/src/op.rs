//! The primitive operations a tape is made of.

/// Position of a node on the tape.
pub type Index = u32;

/// One primitive operation; operands are the positions of earlier nodes.
///
/// Everything a model computes is a list of these, so that evaluating,
/// sampling, differentiating, explaining and translating need know nothing
/// else.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Op {
    /// A number fixed when the model was built.
    Constant(f64),
    /// The input with this number.
    Input(u32),
    /// The iterate `part` of the fixed point `region`; converged when the
    /// operations after it run, and without a derivative of its own (the
    /// step taken from it carries the derivative of the solution).
    Iterate {
        /// Which fixed point.
        region: u32,
        /// Which of its unknowns.
        part: u32,
    },
    /// Component `part` of the guarded linear solution `region`: the value
    /// of `raw` unless the elimination had to be repeated with full pivoting.
    Solved {
        /// Which linear system.
        region: u32,
        /// Which unknown of it.
        part: u32,
        /// The node that the straight elimination produced.
        raw: Index,
    },
    /// a + b
    Add(Index, Index),
    /// a − b
    Sub(Index, Index),
    /// a · b
    Mul(Index, Index),
    /// a / b
    Div(Index, Index),
    /// −a
    Neg(Index),
    /// |a|
    Abs(Index),
    /// Square root.
    Sqrt(Index),
    /// e to the power a.
    Exp(Index),
    /// Natural logarithm.
    Ln(Index),
    /// Sine, radians.
    Sin(Index),
    /// Cosine, radians.
    Cos(Index),
    /// The smaller of two.
    Min(Index, Index),
    /// The larger of two.
    Max(Index, Index),
    /// Largest whole number not above a. In smooth reading it is a − ½, the
    /// mean over all fractions, with slope one: the rounding itself is then a
    /// contributor of its own.
    Quantise(Index),
    /// Largest whole number not above a, in every reading; slope zero.
    Floor(Index),
    /// Nearest single-precision number; slope one.
    Single(Index),
    /// b where a > 0, else c.
    Select(Index, Index, Index),
    /// The function given by table `table` at a.
    Lookup {
        /// Which table.
        table: u32,
        /// Where it is read.
        at: Index,
    },
}

impl Op {
    /// Calls `f` with every operand.
    pub fn operands(&self, mut f: impl FnMut(Index)) {
        match *self {
            Op::Constant(_) | Op::Input(_) | Op::Iterate { .. } => {}
            Op::Solved { raw: a, .. }
            | Op::Neg(a)
            | Op::Abs(a)
            | Op::Sqrt(a)
            | Op::Exp(a)
            | Op::Ln(a)
            | Op::Sin(a)
            | Op::Cos(a)
            | Op::Quantise(a)
            | Op::Floor(a)
            | Op::Single(a)
            | Op::Lookup { at: a, .. } => f(a),
            Op::Add(a, b)
            | Op::Sub(a, b)
            | Op::Mul(a, b)
            | Op::Div(a, b)
            | Op::Min(a, b)
            | Op::Max(a, b) => {
                f(a);
                f(b);
            }
            Op::Select(a, b, c) => {
                f(a);
                f(b);
                f(c);
            }
        }
    }

    /// The same operation with every operand replaced by `f` of it.
    #[must_use]
    pub fn renamed(&self, mut f: impl FnMut(Index) -> Index) -> Op {
        match *self {
            Op::Constant(_) | Op::Input(_) | Op::Iterate { .. } => *self,
            Op::Solved { region, part, raw } => Op::Solved {
                region,
                part,
                raw: f(raw),
            },
            Op::Neg(a) => Op::Neg(f(a)),
            Op::Abs(a) => Op::Abs(f(a)),
            Op::Sqrt(a) => Op::Sqrt(f(a)),
            Op::Exp(a) => Op::Exp(f(a)),
            Op::Ln(a) => Op::Ln(f(a)),
            Op::Sin(a) => Op::Sin(f(a)),
            Op::Cos(a) => Op::Cos(f(a)),
            Op::Quantise(a) => Op::Quantise(f(a)),
            Op::Floor(a) => Op::Floor(f(a)),
            Op::Single(a) => Op::Single(f(a)),
            Op::Lookup { table, at } => Op::Lookup { table, at: f(at) },
            Op::Add(a, b) => Op::Add(f(a), f(b)),
            Op::Sub(a, b) => Op::Sub(f(a), f(b)),
            Op::Mul(a, b) => Op::Mul(f(a), f(b)),
            Op::Div(a, b) => Op::Div(f(a), f(b)),
            Op::Min(a, b) => Op::Min(f(a), f(b)),
            Op::Max(a, b) => Op::Max(f(a), f(b)),
            Op::Select(a, b, c) => Op::Select(f(a), f(b), f(c)),
        }
    }
}

/// How rounding to whole numbers is read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reading {
    /// As the hardware does it.
    Exact,
    /// As its mean, with slope one.
    Smooth,
}

/// Value of `op` when its operands are given by `value`; `None` for the
/// operations that need more than their operands.
#[inline]
pub(crate) fn apply(
    op: Op,
    reading: Reading,
    tables: &[crate::Table],
    value: impl Fn(Index) -> f64,
) -> Option<f64> {
    Some(match op {
        Op::Constant(c) => c,
        Op::Input(_) | Op::Iterate { .. } => return None,
        Op::Solved { raw, .. } => value(raw),
        Op::Add(a, b) => value(a) + value(b),
        Op::Sub(a, b) => value(a) - value(b),
        Op::Mul(a, b) => value(a) * value(b),
        Op::Div(a, b) => value(a) / value(b),
        Op::Neg(a) => -value(a),
        Op::Abs(a) => value(a).abs(),
        Op::Sqrt(a) => value(a).sqrt(),
        Op::Exp(a) => elementary::exp(value(a)),
        Op::Ln(a) => elementary::ln(value(a)),
        Op::Sin(a) => elementary::sin(value(a)),
        Op::Cos(a) => elementary::cos(value(a)),
        Op::Min(a, b) => smaller(value(a), value(b)),
        Op::Max(a, b) => larger(value(a), value(b)),
        Op::Quantise(a) => match reading {
            Reading::Exact => value(a).floor(),
            Reading::Smooth => value(a) - 0.5,
        },
        Op::Floor(a) => value(a).floor(),
        Op::Single(a) => single(value(a)),
        Op::Select(a, b, c) => {
            if value(a) > 0.0 {
                value(b)
            } else {
                value(c)
            }
        }
        Op::Lookup { table, at } => tables
            .get(table as usize)
            .map_or(f64::NAN, |t| t.value(value(at))),
    })
}

/// Minimum that keeps a NaN, so that a fault is seen and not swallowed.
#[inline(always)]
pub(crate) fn smaller(a: f64, b: f64) -> f64 {
    if a < b || a.is_nan() { a } else { b }
}

/// Maximum that keeps a NaN.
#[inline(always)]
pub(crate) fn larger(a: f64, b: f64) -> f64 {
    if a > b || a.is_nan() { a } else { b }
}

#[inline(always)]
#[allow(
    clippy::cast_possible_truncation,
    reason = "rounding to single precision is the purpose"
)]
pub(crate) fn single(a: f64) -> f64 {
    f64::from(a as f32)
}
