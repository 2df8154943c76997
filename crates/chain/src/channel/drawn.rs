//! What a channel's circuit draws from its supplies and turns into heat.

use std::cell::RefCell;

use board::{Board, Channel, Supply};
use circuit::{Element, Network};
use tape::{Builder, Point, Reading, Value};

use super::site::{Site, TOLERANCE_K};
use super::{Unmodelled, sensor};
use crate::law::Electrical;
use crate::time::Timing;
use crate::variables::{Lies, Variables};

/// What a channel's circuit draws, everything nominal, over the channel's
/// span. A channel of a shared network answers for the whole network.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Drawn {
    /// Least and most current out of each supply, A; negative into it.
    pub supplies: Vec<(Supply, f64, f64)>,
    /// Least and most power in each resistor, W, by the name of the element:
    /// the path of its stage, or that of its value.
    pub resistors: Vec<(String, f64, f64)>,
}

impl Drawn {
    fn note<K: PartialEq>(list: &mut Vec<(K, f64, f64)>, key: K, value: f64) {
        match list.iter_mut().find(|(k, ..)| *k == key) {
            Some((_, low, high)) => {
                *low = low.min(value);
                *high = high.max(value);
            }
            None => list.push((key, value, value)),
        }
    }

    /// Least and most power in the component whose value has this path, W.
    #[must_use]
    pub fn power_of(&self, path: &str) -> Option<(f64, f64)> {
        let whole = |p: &str| {
            self.resistors
                .iter()
                .find(|(name, ..)| name == p)
                .map(|(_, low, high)| (*low, *high))
        };
        whole(path).or_else(|| whole(path.rsplit_once('.')?.0))
    }
}

/// Works out what a channel's circuit draws at both ends and in the middle of
/// its span; nothing for a sensor that puts out numbers or pulses.
///
/// # Errors
/// The channel has no model.
pub fn drawn(board: &Board, channel: &Channel) -> Result<Drawn, Unmodelled> {
    let mut found = Drawn::default();
    if channel.derived.is_some() {
        return Ok(found);
    }
    let (low, high) = channel.span.value;
    for quantity in [low, 0.5 * (low + high), high] {
        at(board, channel, quantity, &mut found)?;
    }
    Ok(found)
}

fn at(
    board: &Board,
    channel: &Channel,
    quantity: f64,
    found: &mut Drawn,
) -> Result<(), Unmodelled> {
    let builder = Builder::new();
    let variables = Variables::new(&builder);
    let watched = RefCell::new(Vec::new());
    let others = RefCell::new(sensor::Others::default());
    let timing = Timing::default();
    let truth = builder.constant(quantity);
    let site = Site {
        board,
        channel,
        watched: &watched,
        builder: &builder,
        variables: &variables,
        ambient: builder.constant(TOLERANCE_K),
        instance: "",
        real: false,
        quiet: true,
        trough: false,
        depth: 0,
        measured_rail: None,
        others: &others,
        timing: &timing,
    };
    let site = site.facing(truth);
    let law = site.law()?;
    let electrical = law.electrical();
    if matches!(electrical, Electrical::Reading | Electrical::Frequency) {
        return Ok(());
    }
    let mut network = Network::new(&builder);
    let written = site.written(&mut network, truth)?;
    let solution = network.solve().map_err(|f| site.unsolved(f))?;
    let mut supplies: Vec<(Supply, f64)> = Vec::new();
    let mut add = |supply: Supply, ampere: Value<'_>| {
        let ampere = ampere.nominal();
        if supply == Supply::Ground || !ampere.is_finite() {
            return;
        }
        match supplies.iter_mut().find(|(s, _)| *s == supply) {
            Some((_, sum)) => *sum += ampere,
            None => supplies.push((supply, ampere)),
        }
    };
    let rails = (0..board.rails.len()).map(Supply::Rail);
    let references = (0..board.references.len()).map(Supply::Reference);
    for supply in rails.chain(references) {
        if let Some(current) = solution.current(&site.supply_name(supply)) {
            // A source that delivers has a negative current.
            add(supply, -current);
        }
    }
    let sensor = &channel.sensor;
    if let (Some(rail), Some(current)) = (sensor.rail, solution.current("sensor")) {
        add(Supply::Rail(rail), -current);
    }
    if let Some(supply) = sensor.supply {
        match electrical {
            Electrical::Current => add(supply, written.placed.electrical.abs()),
            Electrical::VoltageRatio => {
                let fed = sensor
                    .figures
                    .get("input-resistance")
                    .or_else(|| sensor.figures.get("resistance"))
                    .and_then(parts::Figure::typical)
                    .filter(|ohm| *ohm > 0.0);
                if let Some(ohm) = fed {
                    add(supply, site.supply(supply)? * (1.0 / ohm));
                }
            }
            _ => {}
        }
    }
    // What an amplifier's output gives comes from one supply, what it takes
    // goes into the other.
    for stage in &channel.chain {
        let Some(current) = solution.current(&stage.path) else {
            continue;
        };
        if stage.part("part").is_none() || stage.supply("supply").is_none() {
            continue;
        }
        let side = if current.nominal() > 0.0 {
            "supply"
        } else {
            "negative"
        };
        if let Some(supply) = stage.supply(side) {
            add(supply.value, current);
        }
    }
    for (supply, ampere) in supplies {
        Drawn::note(&mut found.supplies, supply, ampere);
    }
    for (name, element) in solution.elements() {
        if matches!(element, Element::Resistor { .. })
            && let Some(power) = solution.power(name)
        {
            let watt = power.nominal();
            if watt.is_finite() {
                Drawn::note(&mut found.resistors, name.clone(), watt);
            }
        }
    }
    Ok(())
}

/// Voltage of a supply, V: least, nominal, most.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SupplyRange {
    /// Least over tolerances, travel and ambient.
    pub low_v: f64,
    /// As it is meant.
    pub nominal_v: f64,
    /// Most.
    pub high_v: f64,
}

/// How often all inputs are gone through in search of the ends of a supply.
const PASSES: usize = 3;

/// The range a supply moves through over its tolerance, its travel, the
/// ambient and the sag that [`board::Surroundings`] tell of. Where only a
/// typical figure is known its limits are taken at three standard deviations.
///
/// Each input is moved to the end that helps, all of them again until nothing
/// helps: exact where the voltage rises or falls with every input, as that of
/// a rail does.
///
/// # Errors
/// The supply has no voltage.
pub fn supply_range(board: &Board, supply: Supply) -> Result<SupplyRange, Unmodelled> {
    let builder = Builder::new();
    let variables = Variables::new(&builder);
    let watched = RefCell::new(Vec::new());
    let others = RefCell::new(sensor::Others::default());
    let timing = Timing::default();
    let channel = Channel::none();
    let ambient = super::ambient(board, &variables);
    let site = Site {
        board,
        channel: &channel,
        watched: &watched,
        builder: &builder,
        variables: &variables,
        ambient,
        instance: "",
        real: true,
        quiet: true,
        trough: false,
        depth: 0,
        measured_rail: None,
        others: &others,
        timing: &timing,
    };
    let nominal = site.assumed().supply(supply)?.nominal();
    let volt = site.supply(supply)?;
    let tape = builder.finish(&[volt]);
    let ends: Vec<(f64, f64)> = variables
        .finish()
        .iter()
        .map(|v| match v.lies {
            Lies::Between(a, b) | Lies::Triangular(a, b) | Lies::Arcsine(a, b) => (a, b),
            Lies::About(mean, u) => (mean - 3.0 * u, mean + 3.0 * u),
        })
        .collect();
    let mut point = Point::default();
    let mut read = |inputs: &[f64]| {
        point.evaluate(&tape, inputs, Reading::Smooth);
        point.output(&tape, 0)
    };
    let mut search = |sign: f64| {
        let mut inputs = tape.nominal_inputs().to_vec();
        let mut best = read(&inputs);
        for _ in 0..PASSES {
            let before = best;
            for (i, &(a, b)) in ends.iter().enumerate() {
                for end in [a, b] {
                    let Some(kept) = inputs.get(i).copied() else {
                        continue;
                    };
                    inputs[i] = end;
                    let there = read(&inputs);
                    if sign * there > sign * best {
                        best = there;
                    } else {
                        inputs[i] = kept;
                    }
                }
            }
            if best == before {
                break;
            }
        }
        best
    };
    Ok(SupplyRange {
        low_v: search(-1.0),
        nominal_v: nominal,
        high_v: search(1.0),
    })
}
