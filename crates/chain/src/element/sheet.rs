//! What an element needs to be written into a network.

use board::{NodeRef, Stage};
use circuit::{Network, Node};
use tape::Value;

use super::title;
use crate::channel::{STRAY, Site, Unmodelled, Usual};
use crate::variables::Kind;

/// A sensor that stands in the network.
#[derive(Clone)]
pub struct Placement<'t> {
    /// Whose sensor it is.
    pub channel: usize,
    /// What this piece meets is the quantity times this.
    pub times: f64,
    /// Its electrical value, in the unit of its law.
    pub electrical: Value<'t>,
    /// Element whose current heats it, where it is a resistance.
    pub heated: Option<String>,
    /// Nodes its signal stands between; `None` for a current.
    pub across: Option<(Node, Node)>,
}

/// Where a network is written.
pub struct Sheet<'a, 't> {
    /// The network so far.
    pub network: &'a mut Network<'t>,
    /// Where the channel is being built.
    pub site: &'a Site<'a, 't>,
    /// What the channel's own sensor meets.
    pub met: Value<'t>,
    /// Sensors placed so far.
    pub placed: Vec<Placement<'t>>,
}

impl<'t> Sheet<'_, 't> {
    /// A component's value with its tolerance and drift; `None` where it is
    /// not given.
    pub fn component(&self, element: &Stage, key: &str) -> Option<Value<'t>> {
        let v = element.valued(key)?;
        let mut name = title(element);
        if element.kind != key && key.len() > 1 {
            name = format!("{name}, {key}");
        }
        // A wire, an open switch, an insulation: no component.
        let usual = match (element.kind, key) {
            ("lead", _) | (_, "insulation" | "on" | "off") => Some(&STRAY),
            _ => Usual::of(v.value.dimension),
        };
        Some(self.site.valued_or(
            &format!("{}.{key}", element.path),
            &name,
            v.value,
            Kind::Fixed,
            Some(v.span),
            usual,
        ))
    }

    /// A component's value.
    ///
    /// # Errors
    /// It is not given.
    pub fn value(&self, element: &Stage, key: &str) -> Result<Value<'t>, Unmodelled> {
        self.component(element, key)
            .ok_or_else(|| missing(element, key))
    }

    /// A named node or a supply.
    ///
    /// # Errors
    /// The supply has no voltage.
    pub fn node(&mut self, node: &NodeRef) -> Result<Node, Unmodelled> {
        self.site.node(self.network, node)
    }

    /// The node written for a key.
    ///
    /// # Errors
    /// There is none.
    pub fn at(&mut self, element: &Stage, key: &str) -> Result<Node, Unmodelled> {
        match element.node(key) {
            Some(node) => self.node(node),
            None => Err(missing(element, key)),
        }
    }

    /// Both ends of an element of two terminals.
    ///
    /// # Errors
    /// One is not given.
    pub fn ends(&mut self, element: &Stage) -> Result<(Node, Node), Unmodelled> {
        Ok((self.at(element, "from")?, self.at(element, "to")?))
    }
}

fn missing(element: &Stage, key: &str) -> Unmodelled {
    Unmodelled::at(format!("{} has no `{key}`", title(element)), element.span)
}
