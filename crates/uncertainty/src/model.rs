//! A tape and what is known of its inputs.

use std::collections::HashMap;

use statistics::Shape;

/// How an input varies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Role {
    /// Swept: the quantity, the ambient, a supply's travel. Worst over the
    /// grid, never averaged.
    Condition,
    /// Drawn once per board.
    Board,
    /// Fresh for every reading.
    Reading,
}

/// Kinds of contributor, for showing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Category {
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

/// One input of a model.
#[derive(Clone, Debug)]
pub struct Input {
    /// Name as shown.
    pub name: String,
    /// Unit symbol.
    pub unit: String,
    /// How it varies.
    pub role: Role,
    /// What kind of contributor it is.
    pub category: Category,
    /// Distribution, for board and reading inputs.
    pub shape: Shape,
    /// Points of a condition, its ends first and last.
    pub grid: Vec<f64>,
    /// Takes part in Monte Carlo.
    pub sampled: bool,
    /// Takes part in propagation.
    pub linear: bool,
    /// Takes part in the worst case.
    pub cornered: bool,
    /// Its limits are a bound and not three times a typical figure.
    pub bound: bool,
    /// Rests on a published or measured figure.
    pub published: bool,
    /// The caller's own number for it, carried through.
    pub tag: usize,
    /// Stream it is drawn from: the same number is the same variable in every
    /// model of a board.
    pub stream: u64,
    /// Degrees of freedom behind its standard uncertainty.
    pub dof: f64,
    /// Inputs with the same number are shown as one contributor, for example
    /// the knots of one curve.
    pub group: Option<u32>,
}

impl Input {
    /// A board input with a distribution, taking part everywhere.
    #[must_use]
    pub fn board(name: &str, unit: &str, shape: Shape, stream: u64) -> Input {
        Input {
            name: name.to_owned(),
            unit: unit.to_owned(),
            role: Role::Board,
            category: Category::Fixed,
            dof: shape.dof(),
            bound: shape.limits().is_some(),
            shape,
            grid: Vec::new(),
            sampled: true,
            linear: true,
            cornered: true,
            published: true,
            tag: 0,
            stream,
            group: None,
        }
    }

    /// A condition with its points.
    #[must_use]
    pub fn condition(name: &str, unit: &str, grid: Vec<f64>) -> Input {
        let value = grid.first().copied().unwrap_or(0.0);
        Input {
            role: Role::Condition,
            grid,
            bound: true,
            ..Input::board(name, unit, Shape::Fixed { value }, 0)
        }
    }

    /// Lower and upper corner: the limits where there are any, else three
    /// standard uncertainties about the mean.
    #[must_use]
    pub fn corners(&self) -> (f64, f64) {
        self.shape.limits().unwrap_or_else(|| {
            let (mean, u) = (self.shape.mean(), self.shape.propagated_uncertainty());
            (mean - 3.0 * u, mean + 3.0 * u)
        })
    }

    /// Whether propagation varies it.
    pub(crate) fn propagates(&self) -> bool {
        self.linear && self.role != Role::Condition
    }

    /// Whether the worst case varies it.
    pub(crate) fn is_cornered(&self) -> bool {
        self.cornered && self.role != Role::Condition
    }

    /// Whether Monte Carlo draws it.
    pub(crate) fn is_drawn(&self) -> bool {
        self.sampled && self.role != Role::Condition
    }
}

/// A tape with its inputs and the meaning of its outputs.
#[derive(Clone, Debug)]
pub struct Model {
    /// The formulas.
    pub tape: tape::Tape,
    /// One entry per tape input, in the same order.
    pub inputs: Vec<Input>,
    /// Output that is reading minus truth.
    pub error: usize,
    /// Output that is the largest permitted error at the conditions, if there
    /// is a need.
    pub limit: Option<usize>,
}

/// A length as a share of the limit, or itself without one. A limit of zero
/// is very small instead, so that no error is no share of it.
pub(crate) fn share_of_limit(length: f64, limit: Option<f64>) -> f64 {
    match limit {
        Some(limit) => length / limit.max(f64::MIN_POSITIVE),
        None => length,
    }
}

/// Why a model cannot be analysed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ModelFault {
    /// Not one entry per tape input.
    InputCount {
        /// Inputs of the tape.
        tape: usize,
        /// Entries given.
        given: usize,
    },
    /// An output that does not exist.
    NoOutput(usize),
    /// A condition without points, or a distribution that is none.
    BadInput(String),
    /// Two inputs are drawn from the same stream: what is one variable must be
    /// one input.
    SharedStream(String, String),
    /// A setting without sense.
    BadSetting(&'static str),
    /// Not one value per condition.
    ConditionCount {
        /// Conditions of the model.
        model: usize,
        /// Values given.
        given: usize,
    },
}

impl std::fmt::Display for ModelFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            ModelFault::InputCount { tape, given } => {
                write!(f, "the tape has {tape} inputs, {given} are described")
            }
            ModelFault::NoOutput(n) => write!(f, "the tape has no output {n}"),
            ModelFault::BadInput(name) => {
                write!(f, "nothing usable is known of the input `{name}`")
            }
            ModelFault::SharedStream(a, b) => {
                write!(f, "`{a}` and `{b}` are drawn from the same stream")
            }
            ModelFault::BadSetting(name) => write!(f, "the setting `{name}` has no sense"),
            ModelFault::ConditionCount { model, given } => {
                write!(f, "{model} conditions, {given} values")
            }
        }
    }
}

impl std::error::Error for ModelFault {}

impl Model {
    /// Checks that inputs and outputs fit the tape.
    ///
    /// # Errors
    /// The first thing that does not fit.
    pub fn check(&self) -> Result<(), ModelFault> {
        if self.inputs.len() != self.tape.input_count() {
            return Err(ModelFault::InputCount {
                tape: self.tape.input_count(),
                given: self.inputs.len(),
            });
        }
        for output in [Some(self.error), self.limit].into_iter().flatten() {
            if output >= self.tape.output_count() {
                return Err(ModelFault::NoOutput(output));
            }
        }
        for input in &self.inputs {
            let good = match input.role {
                Role::Condition => {
                    !input.grid.is_empty() && input.grid.iter().all(|x| x.is_finite())
                }
                Role::Board | Role::Reading => input.shape.check().is_ok(),
            };
            if !good {
                return Err(ModelFault::BadInput(input.name.clone()));
            }
        }
        self.check_streams()
    }

    /// One variable is one input: two inputs on one stream would move together
    /// in one reader and apart in another.
    fn check_streams(&self) -> Result<(), ModelFault> {
        let takes: [fn(&Input) -> bool; 2] = [|i| i.sampled, |i| i.linear];
        for takes_part in takes {
            let mut owner: HashMap<u64, &Input> = HashMap::new();
            for input in self
                .inputs
                .iter()
                .filter(|i| i.role != Role::Condition && takes_part(i))
            {
                if let Some(other) = owner.insert(input.stream, input) {
                    return Err(ModelFault::SharedStream(
                        other.name.clone(),
                        input.name.clone(),
                    ));
                }
            }
        }
        Ok(())
    }

    /// Positions of the conditions among the inputs.
    #[must_use]
    pub fn conditions(&self) -> Vec<usize> {
        (0..self.inputs.len())
            .filter(|&i| self.inputs[i].role == Role::Condition)
            .collect()
    }

    /// All inputs at their means where `takes_part` says so and at their
    /// nominal values elsewhere, the conditions as given.
    ///
    /// # Errors
    /// Not one value per condition.
    pub(crate) fn centre(
        &self,
        conditions: &[f64],
        takes_part: impl Fn(&Input) -> bool,
    ) -> Result<Vec<f64>, ModelFault> {
        let places = self.conditions();
        if places.len() != conditions.len() {
            return Err(ModelFault::ConditionCount {
                model: places.len(),
                given: conditions.len(),
            });
        }
        let nominal = self.tape.nominal_inputs();
        let mut values: Vec<f64> = self
            .inputs
            .iter()
            .zip(nominal)
            .map(|(input, &n)| {
                if takes_part(input) {
                    input.shape.mean()
                } else {
                    n
                }
            })
            .collect();
        for (&i, &x) in places.iter().zip(conditions) {
            values[i] = x;
        }
        Ok(values)
    }
}
