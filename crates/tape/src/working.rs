//! A tape as text: each named value with its formula and the numbers put in.

use std::collections::HashMap;

use crate::compile::Tape;
use crate::op::{Index, Op, Reading};
use crate::scalar::Point;

/// One line of working: `name = formula = numbers = value`.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// What is computed.
    pub name: String,
    /// The formula in names.
    pub formula: String,
    /// The formula with the numbers put in.
    pub numbers: String,
    /// The result, in the unit below.
    pub value: f64,
    /// Unit symbol, empty for a pure number.
    pub unit: String,
}

/// How strongly an expression holds together.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Binding {
    Sum,
    Product,
    Whole,
}

struct Text {
    names: String,
    numbers: String,
    binding: Binding,
}

/// A formula longer than this many characters is cut into steps.
const LONGEST: usize = 90;

impl Tape {
    /// The working of one output at the given inputs, in the order in which
    /// one would compute it by hand. `format` writes a number with its unit.
    ///
    /// Intermediate values that have no name and are used more than once, or
    /// would make a formula too long, get one (`a1`, `a2`, …).
    #[must_use]
    pub fn working(
        &self,
        output: usize,
        inputs: &[f64],
        reading: Reading,
        format: &dyn Fn(f64, &str) -> String,
    ) -> Vec<Line> {
        let Some(&end) = self.outputs.get(output) else {
            return Vec::new();
        };
        let mut point = Point::default();
        point.evaluate(self, inputs, reading);
        let mut uses: HashMap<Index, usize> = HashMap::new();
        let mut reachable = vec![false; self.ops.len()];
        reachable[end as usize] = true;
        for i in (0..=end).rev() {
            if reachable[i as usize] {
                self.ops[i as usize].operands(|o| {
                    *uses.entry(o).or_default() += 1;
                    reachable[o as usize] = true;
                });
            }
        }
        let mut writer = Writer {
            tape: self,
            point: &point,
            format,
            texts: HashMap::new(),
            lines: Vec::new(),
            unnamed: 0,
        };
        for i in 0..=end {
            if reachable[i as usize] {
                let shared = uses.get(&i).copied().unwrap_or(0) > 1;
                writer.node(i, shared, i == end);
            }
        }
        writer.lines
    }
}

struct Writer<'a> {
    tape: &'a Tape,
    point: &'a Point,
    format: &'a dyn Fn(f64, &str) -> String,
    texts: HashMap<Index, Text>,
    lines: Vec<Line>,
    unnamed: usize,
}

impl Writer<'_> {
    fn node(&mut self, i: Index, shared: bool, last: bool) {
        let value = self.point.node(i);
        let text = match self.tape.ops[i as usize] {
            Op::Constant(c) => {
                let text = (self.format)(c, "");
                Text {
                    binding: if c < 0.0 {
                        Binding::Sum
                    } else {
                        Binding::Whole
                    },
                    names: text.clone(),
                    numbers: text,
                }
            }
            Op::Input(n) => {
                let label = &self.tape.inputs[n as usize];
                Text {
                    names: label.name.clone(),
                    numbers: (self.format)(value, &label.unit),
                    binding: Binding::Whole,
                }
            }
            Op::Iterate { .. } => {
                let text = (self.format)(value, "");
                Text {
                    names: "solution by iteration".to_owned(),
                    numbers: text,
                    binding: Binding::Whole,
                }
            }
            op => self.operation(op),
        };
        let label = self.tape.labels[i as usize].clone();
        let plain = matches!(self.tape.ops[i as usize], Op::Constant(_) | Op::Input(_));
        let long = text.names.chars().count() > LONGEST || text.numbers.chars().count() > LONGEST;
        if plain || !(label.is_some() || shared || long || last) {
            self.texts.insert(i, text);
            return;
        }
        let (name, unit) = match label {
            Some(label) => (label.name, label.unit),
            None => {
                self.unnamed += 1;
                (format!("a{}", self.unnamed), String::new())
            }
        };
        let shown = (self.format)(value, &unit);
        let binding = if value < 0.0 {
            Binding::Sum
        } else {
            Binding::Whole
        };
        self.lines.push(Line {
            name: name.clone(),
            formula: text.names,
            numbers: text.numbers,
            value,
            unit,
        });
        self.texts.insert(
            i,
            Text {
                names: name,
                numbers: shown,
                binding,
            },
        );
    }

    fn operation(&self, op: Op) -> Text {
        let infix = |a, sign: &str, b, binding, right| {
            let (a, b) = (self.operand(a, binding), self.operand(b, right));
            Text {
                names: format!("{} {sign} {}", a.0, b.0),
                numbers: format!("{} {sign} {}", a.1, b.1),
                binding,
            }
        };
        let call = |name: &str, list: &[Index]| {
            let mut names = Vec::new();
            let mut numbers = Vec::new();
            for &i in list {
                let (n, v) = self.operand(i, Binding::Sum);
                names.push(n);
                numbers.push(v);
            }
            Text {
                names: format!("{name}({})", names.join("; ")),
                numbers: format!("{name}({})", numbers.join("; ")),
                binding: Binding::Whole,
            }
        };
        match op {
            Op::Add(a, b) => infix(a, "+", b, Binding::Sum, Binding::Sum),
            Op::Sub(a, b) => infix(a, "−", b, Binding::Sum, Binding::Product),
            Op::Mul(a, b) => infix(a, "·", b, Binding::Product, Binding::Product),
            Op::Div(a, b) => infix(a, "/", b, Binding::Product, Binding::Whole),
            Op::Neg(a) => {
                let (n, v) = self.operand(a, Binding::Product);
                Text {
                    names: format!("−{n}"),
                    numbers: format!("−{v}"),
                    binding: Binding::Sum,
                }
            }
            Op::Abs(a) => call("abs", &[a]),
            Op::Sqrt(a) => call("√", &[a]),
            Op::Exp(a) => call("exp", &[a]),
            Op::Ln(a) => call("ln", &[a]),
            Op::Sin(a) => call("sin", &[a]),
            Op::Cos(a) => call("cos", &[a]),
            Op::Min(a, b) => call("min", &[a, b]),
            Op::Max(a, b) => call("max", &[a, b]),
            Op::Quantise(a) | Op::Floor(a) => call("whole part of ", &[a]),
            Op::Single(a) => call("single precision of ", &[a]),
            Op::Select(c, a, b) => call("if positive ", &[c, a, b]),
            Op::Lookup { at, .. } => call("table", &[at]),
            Op::Solved { raw, .. } => {
                let (n, v) = self.operand(raw, Binding::Sum);
                let binding = self.texts.get(&raw).map_or(Binding::Whole, |t| t.binding);
                Text {
                    names: n,
                    numbers: v,
                    binding,
                }
            }
            Op::Constant(_) | Op::Input(_) | Op::Iterate { .. } => Text {
                names: String::new(),
                numbers: String::new(),
                binding: Binding::Whole,
            },
        }
    }

    /// An operand's names and numbers, in brackets where it binds less.
    fn operand(&self, i: Index, needed: Binding) -> (String, String) {
        match self.texts.get(&i) {
            Some(t) if t.binding >= needed => (t.names.clone(), t.numbers.clone()),
            Some(t) => (format!("({})", t.names), format!("({})", t.numbers)),
            None => (String::new(), String::new()),
        }
    }
}
