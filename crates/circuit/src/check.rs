//! What must hold for an operating point to mean something.

use tape::{Builder, Value};

use crate::element::Element;
use crate::network::Network;
use crate::plan::Stage;
use crate::solution::Point;

/// What is checked of an amplifier.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum CheckKind {
    /// The output's distance from the low end of its swing.
    OutputLow,
    /// The output's distance from the high end of its swing.
    OutputHigh,
    /// The output's current against what it can sink or source at all.
    OutputCurrent,
    /// The inputs above the low end of their range.
    InputLow,
    /// The inputs below the high end of their range.
    InputHigh,
    /// The inner nodes of an instrumentation amplifier above their low end.
    InnerLow,
    /// The inner nodes of an instrumentation amplifier below their high end.
    InnerHigh,
    /// Output and common mode inside the region a data sheet draws.
    CommonModeRegion,
}

/// What an output would have to do if nothing limited it.
#[derive(Clone, Copy, Debug)]
pub struct Needed<'t> {
    /// Output voltage, V.
    pub voltage_v: Value<'t>,
    /// Current the output would give at it, A, positive when it sources.
    pub current_a: Value<'t>,
    /// Largest current towards the supply in question at which the output
    /// still reaches that voltage, A, not negative; `None` where the swing is
    /// not stated to depend on the current.
    pub capability_a: Option<Value<'t>>,
}

/// Something that must hold for the analysis to be valid.
#[derive(Clone, Debug)]
pub struct Check<'t> {
    /// The amplifier.
    pub element: String,
    /// What of it.
    pub kind: CheckKind,
    /// How far from the limit, V or A: positive when it holds. Of an output
    /// at its limit it is negative: by how much the output needed lies
    /// beyond.
    pub margin: Value<'t>,
    /// What is compared, V or A.
    pub actual: Value<'t>,
    /// What with, in the same unit.
    pub limit: Value<'t>,
    /// For outputs, what would be needed.
    pub needed: Option<Needed<'t>>,
}

pub(crate) fn all<'t>(
    network: &Network<'t>,
    held: &Point<'t>,
    free: Option<&Point<'t>>,
) -> Vec<Check<'t>> {
    let mut list = Vec::new();
    for stage in &held.plan.stages {
        let Some((name, element)) = network.elements.get(stage.element) else {
            continue;
        };
        let writer = Writer {
            name,
            held,
            free,
            stage,
            builder: network.builder,
        };
        writer.inputs(element, &mut list);
        writer.output(&mut list);
    }
    list
}

struct Writer<'a, 't> {
    name: &'a str,
    held: &'a Point<'t>,
    free: Option<&'a Point<'t>>,
    stage: &'a Stage<'t>,
    builder: &'t Builder,
}

impl<'t> Writer<'_, 't> {
    fn check(
        &self,
        kind: CheckKind,
        margin: Value<'t>,
        actual: Value<'t>,
        limit: Value<'t>,
    ) -> Check<'t> {
        Check {
            element: self.name.to_owned(),
            kind,
            margin,
            actual,
            limit,
            needed: None,
        }
    }

    /// The given voltages between the supplies, each side with its headroom.
    fn between(
        &self,
        kinds: [CheckKind; 2],
        voltages: [Value<'t>; 2],
        headrooms: [Option<Value<'t>>; 2],
        list: &mut Vec<Check<'t>>,
    ) {
        let [x, y] = voltages;
        if let Some(headroom) = headrooms[0] {
            let (lowest, limit) = (x.min(y), self.held.voltage(self.stage.low) + headroom);
            list.push(self.check(kinds[0], lowest - limit, lowest, limit));
        }
        if let Some(headroom) = headrooms[1] {
            let (highest, limit) = (x.max(y), self.held.voltage(self.stage.high) - headroom);
            list.push(self.check(kinds[1], limit - highest, highest, limit));
        }
    }

    fn inputs(&self, element: &Element<'t>, list: &mut Vec<Check<'t>>) {
        let kinds = [CheckKind::InputLow, CheckKind::InputHigh];
        match element {
            Element::Amplifier {
                plus, minus, model, ..
            } => {
                let inputs = [self.held.voltage(plus.0), self.held.voltage(minus.0)];
                let headrooms = [model.input_low_headroom, model.input_high_headroom];
                self.between(kinds, inputs, headrooms, list);
            }
            Element::Instrumentation {
                plus, minus, model, ..
            } => {
                let inputs = [self.held.voltage(plus.0), self.held.voltage(minus.0)];
                let headrooms = [model.input_low_headroom, model.input_high_headroom];
                self.between(kinds, inputs, headrooms, list);
                let common = (inputs[0] + inputs[1]) * 0.5;
                if let Some(gain) = model.first_stage_gain {
                    // The offset sits before the first stage and is amplified
                    // with the difference.
                    let swing = (inputs[0] - inputs[1] + model.offset_in_v) * (gain * 0.5);
                    let inner = [common + swing, common - swing];
                    let kinds = [CheckKind::InnerLow, CheckKind::InnerHigh];
                    let headrooms = [model.inner_low_headroom, model.inner_high_headroom];
                    self.between(kinds, inner, headrooms, list);
                }
                if let Some((margin, reach)) =
                    inside(&model.region, self.held.voltage(self.stage.out), common)
                {
                    list.push(self.check(CheckKind::CommonModeRegion, margin, common, reach));
                }
            }
            _ => {}
        }
    }

    fn output(&self, list: &mut Vec<Check<'t>>) {
        let Some(held_a) = self.held.current(self.stage.element) else {
            return;
        };
        let zero = self.builder.zero();
        let voltage = self.held.voltage(self.stage.out);
        // Beyond its limits a position says by how much the inputs parted.
        let port = self.stage.port;
        let past = self.held.answer.position[port] - self.held.answer.source[port];
        let sides = [
            (CheckKind::OutputLow, &self.stage.swing_low, -1.0),
            (CheckKind::OutputHigh, &self.stage.swing_high, 1.0),
        ];
        for (kind, swing, direction) in sides {
            let Some(swing) = swing else { continue };
            let supply = if direction < 0.0 {
                self.stage.low
            } else {
                self.stage.high
            };
            // How far the output may go at a current.
            let reach = |ampere: Value<'t>, supply: Value<'t>| {
                let towards = (ampere * direction).max(zero);
                supply - swing.distance_v(towards) * direction
            };
            let limit = reach(held_a, self.held.voltage(supply));
            let within = (limit - voltage) * direction;
            let beyond = past * direction;
            let mut lacking = -beyond;
            let needed = self.free.and_then(|free| {
                let (volt, supply) = (free.voltage(self.stage.out), free.voltage(supply));
                let ampere = free.current(self.stage.element)?;
                lacking = lacking.min((reach(ampere, supply) - volt) * direction);
                Some(Needed {
                    voltage_v: volt,
                    current_a: ampere,
                    capability_a: swing
                        .varies()
                        .then(|| swing.capability_a((supply - volt) * direction)),
                })
            });
            let margin = self.builder.select(beyond, lacking, within);
            list.push(Check {
                needed,
                ..self.check(kind, margin, voltage, limit)
            });
            if let Some(limit) = swing.limit_a() {
                let wanted = needed.map_or(held_a, |n| n.current_a) * direction;
                list.push(self.check(CheckKind::OutputCurrent, limit - wanted, wanted, limit));
            }
        }
    }
}

/// Smallest distance of a point inside a convex region from its edges, and
/// the common mode at which the nearest edge in that direction is met.
fn inside<'t>(
    corners: &[(Value<'t>, Value<'t>)],
    x: Value<'t>,
    y: Value<'t>,
) -> Option<(Value<'t>, Value<'t>)> {
    if corners.len() < 3 {
        return None;
    }
    let edges = || corners.iter().zip(corners.iter().cycle().skip(1));
    let area: f64 = edges()
        .map(|(a, c)| a.0.nominal() * c.1.nominal() - c.0.nominal() * a.1.nominal())
        .sum();
    let turn = if area < 0.0 { -1.0 } else { 1.0 };
    let mut best: Option<(Value<'t>, Value<'t>)> = None;
    for (a, c) in edges() {
        let (ex, ey) = (c.0 - a.0, c.1 - a.1);
        let length = (ex.squared() + ey.squared()).sqrt();
        let distance = (ex * (y - a.1) - ey * (x - a.0)) * turn / length;
        let point = y - distance * turn * ex / length;
        best = Some(match best {
            None => (distance, point),
            Some((d, p)) => {
                let nearer = d - distance;
                let builder = x.builder();
                (
                    builder.select(nearer, distance, d),
                    builder.select(nearer, point, p),
                )
            }
        });
    }
    best
}
