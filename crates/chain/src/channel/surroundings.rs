//! What happens around a channel, read onto its tape: rails that sag, parts
//! that are warmed, feet that stand above the converter's ground.

use board::{RailSource, Swing};
use circuit::{Network, Node};
use quantity::Dimension;
use tape::Value;

use super::site::Site;
use crate::law::ZERO_CELSIUS_K;
use crate::variables::{Kind, Lies, Trace, Variable};

/// Coefficients of the saturation vapour pressure over water,
/// 6.112 hPa · exp(17.62·t / (243.12 °C + t)), −45 °C to 60 °C
/// (WMO-No. 8, annex 4.B; from memory).
const MAGNUS: (f64, f64) = (17.62, 243.12);

impl<'t> Site<'_, 't> {
    /// A value known between limits: as usual, and what it may be off that.
    fn moved(&self, key: &str, unit: &str, swing: &Swing, kind: Kind) -> Value<'t> {
        let usual = self.builder.constant(swing.usual);
        let lies = Lies::Between(swing.low - swing.usual, swing.high - swing.usual);
        let trace = Trace {
            source: "worked out from the board file".to_owned(),
            ..Trace::board(Some(swing.span))
        };
        usual + self.deviation(Variable::board(key, &swing.cause, unit, lies, kind, trace))
    }

    fn sum(&self, key: &str, unit: &str, swings: &[Swing], kind: Kind) -> Value<'t> {
        let mut sum = self.builder.zero();
        for (i, s) in swings.iter().enumerate() {
            sum = sum + self.moved(&format!("{key}.{i}"), unit, s, kind);
        }
        sum
    }

    /// By how much a rail sags under its load, V; `None` where nothing is
    /// known to pull it down.
    pub(super) fn sag(&self, rail: usize) -> Option<Value<'t>> {
        let swing = self.board.surroundings.rail_sag_v.get(&rail)?;
        let rail = self.board.rails.get(rail)?;
        let diode =
            matches!(&rail.source, RailSource::Regulator { part, .. } if part.kind == "diode");
        if !self.real {
            // Everybody knows that there is a diode.
            return diode.then(|| self.builder.constant(swing.usual));
        }
        Some(self.moved(
            &format!("rails.{}.sag", rail.name),
            "V",
            swing,
            Kind::Supply,
        ))
    }

    /// By how much a component is warmer than the ambient, K; `None` where
    /// nothing warms it. Of several components of one value each is.
    pub(super) fn warming(&self, path: &str) -> Option<Value<'t>> {
        let all = &self.board.surroundings.warming_k;
        if all.is_empty() || !self.real {
            return None;
        }
        let whole = |p: &str| all.get(p).map(|s| (p.to_owned(), s));
        let (path, swings) =
            whole(path).or_else(|| path.rsplit_once('.').and_then(|(p, _)| whole(p)))?;
        Some(self.sum(
            &format!("warming of {path}"),
            "K",
            swings,
            Kind::Temperature,
        ))
    }

    /// What the sensor meets at `truth` where something near it warms it.
    pub(super) fn met_warmed(&self, truth: Value<'t>) -> Value<'t> {
        let at = self.position();
        match self.board.surroundings.sensor_warming_k.get(&at) {
            Some(swings) if self.real => {
                let key = format!("channels.{}.warming", self.channel.name);
                let kelvin = self.sum(&key, "K", swings, Kind::Other);
                self.warmer(truth, kelvin)
            }
            _ => truth,
        }
    }

    /// The quantity `truth` as a sensor meets it that is `kelvin` warmer: a
    /// temperature is higher by that much; the water in the air fills a
    /// smaller share of what warmer air could hold, RH·es(T)/es(T + ΔT).
    /// Other quantities are what they are.
    pub(super) fn warmer(&self, truth: Value<'t>, kelvin: Value<'t>) -> Value<'t> {
        if self.channel.dimension == Dimension::TEMPERATURE {
            return truth + kelvin;
        }
        if self.channel.dimension != Dimension::HUMIDITY {
            return truth;
        }
        let exponent = |t: Value<'t>| {
            let celsius = t - ZERO_CELSIUS_K;
            celsius * MAGNUS.0 / (celsius + MAGNUS.1)
        };
        truth * (exponent(self.ambient) - exponent(self.ambient + kelvin)).exp()
    }

    /// By how much all that the converter sees stands above its own ground, V;
    /// `None` where nothing is known to lift it.
    pub(super) fn input_lift(&self) -> Option<f64> {
        let lift = self.board.surroundings.input_v.get(&self.position())?;
        self.real.then_some(*lift)
    }

    /// By how much a reference part gives more than it should, V.
    pub(super) fn reference_lift(&self, reference: usize) -> f64 {
        let lift = self.board.surroundings.reference_v.get(&reference);
        lift.copied().filter(|_| self.real).unwrap_or(0.0)
    }

    /// The ground as the sensor of this channel finds it: a node that a
    /// current through a shared return lifts, where one does.
    pub(super) fn foot_node(&self, network: &mut Network<'t>) -> Node {
        let Some(volt) = self.foot_shift() else {
            return Node::GROUND;
        };
        let name = format!("foot of {}", self.channel.name);
        if let Some(node) = network.find(&name) {
            return node;
        }
        let node = network.node(&name);
        network.voltage_source(&name, node, Node::GROUND, volt);
        node
    }

    /// By how much the foot of this channel's sensor stands above the
    /// converter's ground, V.
    pub(super) fn foot_shift(&self) -> Option<Value<'t>> {
        let swings = self.board.surroundings.foot_v.get(&self.position())?;
        self.real.then(|| {
            let key = format!("channels.{}.foot", self.channel.name);
            self.sum(&key, "V", swings, Kind::Other)
        })
    }

    /// Position of the channel on its board.
    pub(super) fn position(&self) -> usize {
        self.board
            .channels
            .iter()
            .position(|c| c.name == self.channel.name)
            .unwrap_or(usize::MAX)
    }
}
