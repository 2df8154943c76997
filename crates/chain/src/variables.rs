//! The uncertain inputs of a channel's model, each made once.

use std::cell::RefCell;

use finding::Span;
use parts::{Basis, Figure, SpreadShape};
use tape::{Builder, Value};

/// How an input varies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Varies {
    /// Swept over its range.
    Condition,
    /// Drawn once per board.
    Board,
    /// Fresh for every reading.
    Reading,
}

/// What kind of contributor an input is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// The same for the board's life.
    Fixed,
    /// Changes with temperature.
    Temperature,
    /// Comes with a supply.
    Supply,
    /// Rounding and arithmetic.
    Conversion,
}

/// Where a value lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Lies {
    /// Between limits, equally likely.
    Between(f64, f64),
    /// Normally about a mean with a standard deviation; not a bound.
    About(f64, f64),
}

/// One uncertain input; there is one per tape input, in the same order.
#[derive(Clone, Debug)]
pub struct Variable {
    /// Unique key: the same key is the same variable throughout the board.
    pub key: String,
    /// Name as shown.
    pub name: String,
    /// Unit symbol.
    pub unit: String,
    /// How it varies.
    pub varies: Varies,
    /// Kind of contributor.
    pub kind: Kind,
    /// Where it lies.
    pub lies: Lies,
    /// Points of a condition.
    pub grid: Vec<f64>,
    /// Takes part in Monte Carlo, in propagation and in the worst case.
    pub sampled: bool,
    /// See `sampled`.
    pub linear: bool,
    /// The figure it rests on, as written.
    pub source: String,
    /// How well that figure is founded; `None` where the board file itself
    /// states the limits, or where they follow from the code's width.
    pub basis: Option<Basis>,
    /// Where that figure is written.
    pub span: Option<Span>,
}

/// All variables of one model.
pub struct Variables<'t> {
    builder: &'t Builder,
    list: RefCell<Vec<(Variable, Value<'t>)>>,
}

impl<'t> Variables<'t> {
    /// None yet; every input of `builder` must be made here.
    #[must_use]
    pub fn new(builder: &'t Builder) -> Self {
        Variables {
            builder,
            list: RefCell::new(Vec::new()),
        }
    }

    /// The value of a variable, made when its key is first asked for.
    pub fn value(&self, variable: Variable, nominal: f64) -> Value<'t> {
        if let Some((_, v)) = self
            .list
            .borrow()
            .iter()
            .find(|(old, _)| old.key == variable.key)
        {
            return *v;
        }
        let value = self.builder.input(&variable.name, &variable.unit, nominal);
        self.list.borrow_mut().push((variable, value));
        value
    }

    /// A condition over its points.
    pub fn condition(&self, key: &str, name: &str, unit: &str, grid: Vec<f64>) -> Value<'t> {
        let middle = grid.get(grid.len() / 2).copied().unwrap_or(0.0);
        let ends = (
            grid.first().copied().unwrap_or(0.0),
            grid.last().copied().unwrap_or(0.0),
        );
        self.value(
            Variable {
                key: key.to_owned(),
                name: name.to_owned(),
                unit: unit.to_owned(),
                varies: Varies::Condition,
                kind: Kind::Fixed,
                lies: Lies::Between(ends.0, ends.1),
                grid,
                sampled: true,
                linear: true,
                source: String::new(),
                basis: None,
                span: None,
            },
            middle,
        )
    }

    /// A deviation of the board within limits, zero where there is none.
    pub fn deviation(
        &self,
        key: &str,
        name: &str,
        unit: &str,
        limits: (f64, f64),
        kind: Kind,
        source: &str,
    ) -> Value<'t> {
        if limits == (0.0, 0.0) {
            return self.builder.zero();
        }
        self.value(
            Variable {
                key: key.to_owned(),
                name: name.to_owned(),
                unit: unit.to_owned(),
                varies: Varies::Board,
                kind,
                lies: Lies::Between(limits.0, limits.1),
                grid: Vec::new(),
                sampled: true,
                linear: true,
                source: source.to_owned(),
                basis: None,
                span: None,
            },
            0.0,
        )
    }

    /// The deviation of a part's figure from its centre: between its limits,
    /// or about them where only a typical value is known. Zero where the
    /// figure counts as exact or has no number.
    pub fn figure(
        &self,
        key: &str,
        name: &str,
        unit: &str,
        figure: &Figure,
        kind: Kind,
    ) -> Value<'t> {
        let Some(spread) = figure.spread() else {
            return self.builder.zero();
        };
        if spread.low == spread.high {
            return self.builder.zero();
        }
        let lies = match spread.shape {
            SpreadShape::Normal { mean, u } => Lies::About(mean - spread.centre, u),
            _ => Lies::Between(spread.low - spread.centre, spread.high - spread.centre),
        };
        self.value(
            Variable {
                key: key.to_owned(),
                name: name.to_owned(),
                unit: unit.to_owned(),
                varies: Varies::Board,
                kind,
                lies,
                grid: Vec::new(),
                sampled: true,
                linear: true,
                source: figure.source.to_string(),
                basis: Some(figure.basis),
                span: Some(figure.span),
            },
            0.0,
        )
    }

    /// All variables, in the order of the tape's inputs.
    #[must_use]
    pub fn finish(self) -> Vec<Variable> {
        self.list.into_inner().into_iter().map(|(v, _)| v).collect()
    }
}
