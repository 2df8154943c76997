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
    /// Grows with time.
    Ageing,
    /// Comes with a supply.
    Supply,
    /// Different in every reading.
    Random,
    /// Rounding and arithmetic.
    Conversion,
    /// Anything the circuit does not know.
    Other,
}

/// Where a value lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Lies {
    /// Between limits, equally likely.
    Between(f64, f64),
    /// Normally about a mean with a standard deviation; not a bound.
    About(f64, f64),
    /// Between limits, triangular.
    Triangular(f64, f64),
    /// Between limits, arcsine.
    Arcsine(f64, f64),
}

impl Lies {
    /// The same, stretched and moved: x·factor + shift.
    #[must_use]
    pub fn scaled(self, factor: f64, shift: f64) -> Lies {
        let at = |x: f64| x * factor + shift;
        let ordered = |a: f64, b: f64| {
            if at(a) <= at(b) {
                (at(a), at(b))
            } else {
                (at(b), at(a))
            }
        };
        match self {
            Lies::Between(a, b) => Lies::Between(ordered(a, b).0, ordered(a, b).1),
            Lies::Triangular(a, b) => Lies::Triangular(ordered(a, b).0, ordered(a, b).1),
            Lies::Arcsine(a, b) => Lies::Arcsine(ordered(a, b).0, ordered(a, b).1),
            Lies::About(m, u) => Lies::About(at(m), u * factor.abs()),
        }
    }

    /// Whether nothing is uncertain and the value is zero.
    #[must_use]
    pub fn is_zero(self) -> bool {
        match self {
            Lies::Between(a, b)
            | Lies::Triangular(a, b)
            | Lies::Arcsine(a, b)
            | Lies::About(a, b) => a == 0.0 && b == 0.0,
        }
    }
}

/// What a variable rests on.
#[derive(Clone, Debug, PartialEq)]
pub struct Trace {
    /// Document and table, or the board file.
    pub source: String,
    /// How well that figure is founded; `None` where the board file itself
    /// states the limits, or where they follow from arithmetic.
    pub basis: Option<Basis>,
    /// Where it is written.
    pub span: Option<Span>,
}

impl Trace {
    /// Follows from arithmetic or from the board file itself.
    #[must_use]
    pub fn board(span: Option<Span>) -> Trace {
        Trace {
            source: "the board file".to_owned(),
            basis: None,
            span,
        }
    }

    /// Follows from how numbers are kept.
    #[must_use]
    pub fn arithmetic() -> Trace {
        Trace {
            source: "whole numbers".to_owned(),
            basis: None,
            span: None,
        }
    }

    /// A rule of the trade.
    #[must_use]
    pub fn practice(what: &str) -> Trace {
        Trace {
            source: what.to_owned(),
            basis: Some(Basis::CommonPractice),
            span: None,
        }
    }

    /// A part's figure.
    #[must_use]
    pub fn figure(figure: &Figure) -> Trace {
        Trace {
            source: figure.source.to_string(),
            basis: Some(figure.basis),
            span: Some(figure.span),
        }
    }
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
    /// Takes part in Monte Carlo.
    pub sampled: bool,
    /// Takes part in propagation.
    pub linear: bool,
    /// Takes part in the worst case.
    pub cornered: bool,
    /// Variables of one group are shown as one contributor.
    pub group: Option<String>,
    /// The figure it rests on, as written.
    pub source: String,
    /// How well that figure is founded; `None` where the board file itself
    /// states the limits, or where they follow from arithmetic.
    pub basis: Option<Basis>,
    /// Where that figure is written.
    pub span: Option<Span>,
}

impl Variable {
    /// A variable of the board, taking part everywhere.
    #[must_use]
    pub fn board(
        key: &str,
        name: &str,
        unit: &str,
        lies: Lies,
        kind: Kind,
        trace: Trace,
    ) -> Variable {
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
            cornered: true,
            group: None,
            source: trace.source,
            basis: trace.basis,
            span: trace.span,
        }
    }

    /// The same, fresh for every reading.
    #[must_use]
    pub fn per_reading(self) -> Variable {
        Variable {
            varies: Varies::Reading,
            ..self
        }
    }

    /// The same, taking part only in the named readings of the model.
    #[must_use]
    pub fn only(self, sampled: bool, linear: bool, cornered: bool) -> Variable {
        Variable {
            sampled,
            linear,
            cornered,
            ..self
        }
    }

    /// The same, shown together with others under a name.
    #[must_use]
    pub fn grouped(self, group: &str) -> Variable {
        Variable {
            group: Some(group.to_owned()),
            ..self
        }
    }
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

    /// A condition over its points; nominal in the middle.
    pub fn condition(
        &self,
        key: &str,
        name: &str,
        unit: &str,
        grid: Vec<f64>,
        span: Option<Span>,
    ) -> Value<'t> {
        let middle = grid.get(grid.len() / 2).copied().unwrap_or(0.0);
        let ends = (
            grid.first().copied().unwrap_or(0.0),
            grid.last().copied().unwrap_or(0.0),
        );
        let lies = Lies::Between(ends.0, ends.1);
        let mut variable = Variable::board(key, name, unit, lies, Kind::Fixed, Trace::board(span));
        variable.varies = Varies::Condition;
        variable.grid = grid;
        self.value(variable, middle)
    }

    /// A deviation: a variable about zero, or zero where there is none.
    pub fn deviation(&self, variable: Variable) -> Value<'t> {
        if variable.lies.is_zero() {
            return self.builder.zero();
        }
        self.value(variable, 0.0)
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
        let lies = match spread.shape {
            SpreadShape::Rectangular { low, high } => Lies::Between(low, high),
            SpreadShape::Triangular { low, high } => Lies::Triangular(low, high),
            SpreadShape::Arcsine { low, high } => Lies::Arcsine(low, high),
            SpreadShape::Normal { mean, u } => Lies::About(mean, u),
            SpreadShape::Fixed { value } => Lies::Between(value, value),
        };
        let lies = lies.scaled(1.0, -spread.centre);
        self.deviation(Variable::board(
            key,
            name,
            unit,
            lies,
            kind,
            Trace::figure(figure),
        ))
    }

    /// All variables, in the order of the tape's inputs.
    #[must_use]
    pub fn finish(self) -> Vec<Variable> {
        self.list.into_inner().into_iter().map(|(v, _)| v).collect()
    }
}
