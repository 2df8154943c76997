//! What a stage needs to be written into a network.

use board::{Field, FieldKind, Stage, Supply};
use circuit::{Network, Node};
use parts::Part;
use quantity::Dimension;
use tape::Value;

use crate::channel::{Fitted, Site, Unmodelled};
use crate::variables::Kind;

/// A resistance in a schema.
pub(super) const OHM: FieldKind = FieldKind::Valued(Dimension::RESISTANCE);
/// A capacitance in a schema.
pub(super) const FARAD: FieldKind = FieldKind::Valued(Dimension::CAPACITANCE);

/// The amplifier of a stage.
pub(super) const PART: Field = Field::required(
    "part",
    FieldKind::Part(&["amplifier"]),
    "operational amplifier, from the library or in place",
);
/// Its high supply.
pub(super) const SUPPLY: Field = Field::required(
    "supply",
    FieldKind::Supply,
    "rail at the amplifier's positive supply pin",
);
/// Its low supply.
pub(super) const NEGATIVE: Field = Field::optional(
    "negative",
    FieldKind::Supply,
    "rail at the amplifier's negative supply pin; ground if not given",
);

/// What its other input goes to.
pub(super) const TO: Field = Field::optional(
    "to",
    FieldKind::Supply,
    "rail or reference the output counts from; ground if not given",
);
/// What else its output drives.
pub(super) const LOAD: Field = Field::optional(
    "load",
    OHM,
    "further resistor that the output drives, to `load-to`",
);
/// Where that goes.
pub(super) const LOAD_TO: Field = Field::optional(
    "load-to",
    FieldKind::Supply,
    "where the load ends; ground if not given",
);

/// What is compared with a rating.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Rated {
    /// Power the named element takes in, W.
    Power(String),
    /// Current through the named element either way, A.
    Current(String),
    /// Current through the named element from its first node to its second, A.
    Forward(String),
    /// The same the other way.
    Backward(String),
    /// Capacitance that hangs at a node, F: behind small resistances it counts
    /// as well, because they do not keep it away from what drives the node.
    Farad(Node),
    /// Voltage between two nodes either way, V.
    Across(Node, Node),
    /// Voltage of a node against ground, V, which must not be below the limit.
    Above(Node),
    /// The same, which must not be above it.
    Below(Node),
}

/// A rating of one of a stage's elements.
pub struct Rating<'t> {
    /// Kind of the check it becomes.
    pub kind: &'static str,
    /// Path of the stage.
    pub path: String,
    /// Which of the stage's parts, as it is shown; empty for the stage itself.
    pub of: String,
    /// What is compared.
    pub rated: Rated,
    /// How much it may be.
    pub limit: Value<'t>,
    /// Where that was read.
    pub source: String,
}

/// Where a stage is written: the network so far and the node the signal
/// stands on.
pub struct Bench<'a, 't> {
    /// The network being written.
    pub network: &'a mut Network<'t>,
    /// The node the signal stands on; a stage may move it.
    pub signal: Node,
    /// The node the signal is counted from: ground, but for bridges and
    /// other sources between two nodes. A stage may move it; what stands
    /// across the signal goes to it and not to ground.
    pub minus: Node,
    /// Where the channel is being built: components, parts and supplies.
    pub site: &'a Site<'a, 't>,
    /// Ratings to be held against the solution.
    pub ratings: Vec<Rating<'t>>,
}

impl<'t> Bench<'_, 't> {
    /// A component's value with its tolerance and drift.
    ///
    /// # Errors
    /// The stage does not state it.
    pub fn component(&self, stage: &Stage, key: &str) -> Result<Value<'t>, Unmodelled> {
        self.instance(stage, key, "")
    }

    /// One of several components of a stage that have the same value on paper
    /// and each its own deviation.
    ///
    /// # Errors
    /// The stage does not state it.
    pub fn instance(&self, stage: &Stage, key: &str, which: &str) -> Result<Value<'t>, Unmodelled> {
        let v = stage.valued(key).ok_or_else(|| missing(stage, key))?;
        let mut name = stage.kind.to_owned();
        let mut path = format!("{}.{key}", stage.path);
        if stage.kind != key && key != "r" {
            name = format!("{name} {key}");
        }
        if !which.is_empty() {
            name = format!("{name} {which}");
            path = format!("{path}.{which}");
        }
        Ok(self
            .site
            .valued(&path, &name, v.value, Kind::Fixed, Some(v.span)))
    }

    /// The node of a supply; ground where the stage names none.
    pub fn supply(&mut self, stage: &Stage, key: &str) -> Node {
        match supply_of(stage, key) {
            Supply::Ground => Node::GROUND,
            other => self.network.node(&self.site.supply_name(other)),
        }
    }

    /// The amplifier of a stage.
    ///
    /// # Errors
    /// The stage names no part.
    fn part<'s>(&self, stage: &'s Stage) -> Result<&'s Part, Unmodelled> {
        stage
            .part("part")
            .map(AsRef::as_ref)
            .ok_or_else(|| missing(stage, "part"))
    }

    /// Puts the stage's operational amplifier between three nodes, with the
    /// resistances of its inputs to ground.
    ///
    /// # Errors
    /// A figure or a supply cannot be used.
    pub fn amplifier(
        &mut self,
        stage: &Stage,
        plus: Node,
        minus: Node,
        out: Node,
    ) -> Result<(), Unmodelled> {
        let part = self.part(stage)?;
        let name = format!("{} {}", stage.kind, part.id);
        let fitted = Fitted {
            path: &stage.path,
            name: &name,
            span: stage.span_of("supply"),
            part,
            high: supply_of(stage, "supply"),
            low: supply_of(stage, "negative"),
        };
        let model = self.site.amplifier(&fitted)?;
        let (high, low) = (self.supply(stage, "supply"), self.supply(stage, "negative"));
        self.network
            .amplifier(&stage.path, plus, minus, out, high, low, model);
        self.output_ratings(&fitted, out)?;
        self.input_resistances(&fitted, plus, minus)
    }

    /// What an amplifier's output may be loaded with: the load at which its
    /// swing is stated, and the largest capacitance.
    ///
    /// A load that is stated as a resistance carries no more than the whole
    /// supply over that resistance, wherever its other end is.
    ///
    /// # Errors
    /// A supply cannot be used.
    pub(super) fn output_ratings(
        &mut self,
        fitted: &Fitted<'_>,
        out: Node,
    ) -> Result<(), Unmodelled> {
        if let Some(f) = fitted.part.figure("swing-load")
            && let Some(load) = f.typical().filter(|r| *r > 0.0)
        {
            let limit = if f.dimension == Dimension::RESISTANCE {
                (self.site.supply(fitted.high)? - self.site.supply(fitted.low)?) / load
            } else {
                self.network.builder().constant(load)
            };
            self.ratings.push(Rating {
                kind: "output-load",
                path: fitted.path.to_owned(),
                of: String::new(),
                rated: Rated::Current(fitted.path.to_owned()),
                limit,
                source: f.source.to_string(),
            });
        }
        if let Some(f) = fitted.part.figure("load-capacitance")
            && let Some(most) = f.min.or(f.max).or(f.typ)
        {
            self.ratings.push(Rating {
                kind: "output-capacitance",
                path: fitted.path.to_owned(),
                of: String::new(),
                rated: Rated::Farad(out),
                limit: self.network.builder().constant(most),
                source: f.source.to_string(),
            });
        }
        Ok(())
    }

    /// Resistances of both inputs to ground.
    pub(super) fn input_resistances(
        &mut self,
        fitted: &Fitted<'_>,
        plus: Node,
        minus: Node,
    ) -> Result<(), Unmodelled> {
        let Some(ohm) = self.site.input_resistance(fitted, "input-resistance")? else {
            return Ok(());
        };
        for (which, node) in [("plus", plus), ("minus", minus)] {
            let name = format!("{}.input-resistance.{which}", fitted.path);
            self.network.resistor(&name, node, Node::GROUND, ohm);
        }
        Ok(())
    }

    /// The stage's output and its inverting input, joined by `feedback`; one
    /// node where there is none.
    ///
    /// # Errors
    /// As [`Bench::component`].
    pub fn feedback(&mut self, stage: &Stage) -> Result<(Node, Node), Unmodelled> {
        let out = self.network.fresh(&stage.path);
        if stage.valued("feedback").is_none() {
            return Ok((out, out));
        }
        let ohm = self.component(stage, "feedback")?;
        let inverting = self.network.fresh(&format!("{}.inverting", stage.path));
        self.network
            .resistor(&format!("{}.feedback", stage.path), out, inverting, ohm);
        Ok((out, inverting))
    }

    /// A load from the stage's output, if it has one: `load` to the supply
    /// `load-to`, or to ground.
    ///
    /// # Errors
    /// As [`Bench::component`].
    pub fn load(&mut self, stage: &Stage, out: Node) -> Result<(), Unmodelled> {
        if stage.valued("load").is_none() {
            return Ok(());
        }
        let ohm = self.component(stage, "load")?;
        let to = self.supply(stage, "load-to");
        self.network
            .resistor(&format!("{}.load", stage.path), out, to, ohm);
        Ok(())
    }

    /// A capacitor: nothing passes it but what its insulation lets through,
    /// where its dielectric is named.
    ///
    /// # Errors
    /// As [`Bench::component`].
    pub fn capacitor(
        &mut self,
        stage: &Stage,
        key: &str,
        a: Node,
        b: Node,
    ) -> Result<(), Unmodelled> {
        let farad = self.component(stage, key)?;
        let path = format!("{}.{key}", stage.path);
        self.network.capacitor(&path, a, b, farad, None);
        let name = format!("{} {key}", stage.kind);
        if let Some(siemens) = self.site.insulation(stage, key, &name, farad) {
            self.network
                .conductance(&format!("{path}.insulation"), a, b, siemens);
        }
        Ok(())
    }
}

/// The supply a stage names under a key; ground where it names none.
pub(super) fn supply_of(stage: &Stage, key: &str) -> Supply {
    stage.supply(key).map_or(Supply::Ground, |s| s.value)
}

/// A key that the stage should have.
pub(super) fn missing(stage: &Stage, key: &str) -> Unmodelled {
    Unmodelled::at(
        format!("the stage `{}` has no `{key}`", stage.kind),
        stage.span,
    )
}
