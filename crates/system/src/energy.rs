//! Energy that stays on the board, and what cells give into a short circuit.

use board::Board;
use finding::Span;

/// Stores and cells of a board.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Energy {
    /// Capacitors that hold rails.
    pub stores: Vec<Store>,
    /// Cells that feed rails.
    pub shorts: Vec<Short>,
}

/// A capacitor on a rail.
#[derive(Clone, Debug, PartialEq)]
pub struct Store {
    /// The rail.
    pub rail: String,
    /// Largest capacitance, F.
    pub farad: f64,
    /// Highest voltage, V.
    pub volt: f64,
    /// Where it is written.
    pub span: Span,
}

impl Store {
    /// Energy in it, ½·C·V², J.
    #[must_use]
    pub fn joule(&self) -> f64 {
        0.5 * self.farad * self.volt * self.volt
    }

    /// Largest resistor that brings it to a voltage in a time, Ω:
    /// t/(C·ln(V/V1)); `None` where it is below already.
    #[must_use]
    pub fn bleeder_ohm(&self, to_v: f64, within_s: f64) -> Option<f64> {
        (self.volt > to_v && to_v > 0.0)
            .then(|| within_s / (self.farad * elementary::ln(self.volt / to_v)))
    }
}

/// Cells with nothing but their own resistance across them.
#[derive(Clone, Debug, PartialEq)]
pub struct Short {
    /// The rail.
    pub rail: String,
    /// Cells in series.
    pub cells: u32,
    /// Strings in parallel.
    pub strings: u32,
    /// Nominal voltage, V.
    pub nominal_v: Option<f64>,
    /// Highest voltage, V.
    pub volt: f64,
    /// Least resistance of all of them over the ambient, Ω; none where none is
    /// stated.
    pub ohm: Option<f64>,
    /// Where they are written.
    pub span: Span,
}

impl Short {
    /// Current into a short circuit, A.
    #[must_use]
    pub fn ampere(&self) -> Option<f64> {
        self.ohm.map(|ohm| self.volt / ohm)
    }
}

/// Highest voltage of a rail by what the file says of it, V.
fn highest_v(rail: &board::Rail) -> Option<f64> {
    let set = rail.voltage.as_ref().map(|v| {
        v.value
            .tolerance
            .map_or(v.value.nominal, |t| t.limits(v.value.nominal).1)
    });
    let moved = rail.travel.as_ref().map(|t| t.value.high);
    match (set, moved) {
        (Some(a), Some(b)) => Some(a.max(b)),
        (a, b) => a.or(b),
    }
}

/// What a board stores, and what its cells give.
#[must_use]
pub fn analyse(board: &Board) -> Energy {
    let mut energy = Energy::default();
    let (cold, hot) = board.conditions.ambient_k;
    for rail in &board.rails {
        let Some(volt) = highest_v(rail) else {
            continue;
        };
        if let Some(r) = &rail.power.reservoir {
            let c = &r.capacitance.value;
            energy.stores.push(Store {
                rail: rail.name.clone(),
                farad: c.tolerance.map_or(c.nominal, |t| t.limits(c.nominal).1),
                volt,
                span: r.capacitance.span,
            });
        }
        if let Some(b) = &rail.power.battery {
            let ohm = b.ohm_at(cold).min(b.ohm_at(hot));
            energy.shorts.push(Short {
                rail: rail.name.clone(),
                cells: b.cells,
                strings: b.strings,
                nominal_v: rail.voltage.as_ref().map(|v| v.value.nominal),
                volt,
                ohm: (ohm > 0.0).then_some(ohm),
                span: b.span,
            });
        }
    }
    energy
}
