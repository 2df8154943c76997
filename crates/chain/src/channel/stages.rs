//! What must hold of the stages for their voltages to be meant.

use board::Stage;
use circuit::{CheckKind, Element, Node, Solution};
use parts::Figure;
use tape::Value;

use super::Watched;
use super::site::Site;
use crate::stage::{Rated, Rating};

impl<'t> Site<'_, 't> {
    /// The checks of the sensor's output (a node) and of the stages in a
    /// solved chain.
    ///
    /// Where a swing depends on the current, a second check compares the
    /// current that the output would have to carry with what it can carry at
    /// that voltage; its working is the resistance of the load (of the feedback
    /// where there is no load) with which that current would be met, as long
    /// as all of it flows there.
    pub(super) fn of_stages(
        &self,
        solution: &Solution<'t>,
        ratings: &[Rating<'t>],
        sensor: Node,
    ) -> Vec<Watched<'t>> {
        if !self.real || !self.instance.is_empty() || self.depth > 0 {
            return Vec::new();
        }
        let stages = self.stages();
        let mut list = Vec::new();
        self.of_sensor(solution, sensor, &mut list);
        for check in solution.checks() {
            let Some(stage) = stages.iter().find(|s| s.path == check.element) else {
                continue;
            };
            let words = Words::of(check.kind);
            let watched = |kind, actual, limit, margin, working| Watched {
                kind,
                name: self.stage_name(stage),
                span: Some(stage.span),
                actual,
                limit,
                margin,
                working,
                source: source(stage, words.figures),
            };
            // What an output that reaches everything would stand at.
            let needed = check.needed.map(|n| n.voltage_v);
            list.push(watched(
                words.kind,
                check.actual,
                check.limit,
                check.margin,
                needed,
            ));
            if let (Some(needed), Some(kind)) = (check.needed, words.current)
                && let Some(capability) = needed.capability_a
            {
                let zero = self.builder.zero();
                let towards = if check.kind == CheckKind::OutputLow {
                    -needed.current_a
                } else {
                    needed.current_a
                };
                let towards = towards.max(zero);
                // Where the output would not get there without any current
                // either, the current is not what keeps it away.
                let reached = capability - LEAST_CAPABILITY_A;
                let lacking = capability - towards;
                let margin = self
                    .builder
                    .select(reached, lacking, towards + LEAST_CAPABILITY_A);
                let least = self.builder.constant(LEAST_CAPABILITY_A);
                let working =
                    loading(solution, stage).map(|ohm| ohm * towards / capability.max(least));
                list.push(watched(kind, towards, capability, margin, working));
            }
        }
        for rating in ratings {
            let actual = match &rating.rated {
                Rated::Power(element) => solution.power(element),
                Rated::Current(element) => solution.current(element).map(Value::abs),
                Rated::Forward(element) => solution.current(element),
                Rated::Backward(element) => solution.current(element).map(|i| -i),
                Rated::Farad(node) => Some(hanging_farad(solution, *node)),
                Rated::Across(a, b) => Some(solution.between(*a, *b).abs()),
                Rated::Above(node) | Rated::Below(node) => Some(solution.voltage(*node)),
            };
            let stage = stages.iter().find(|s| s.path == rating.path);
            if let (Some(actual), Some(stage)) = (actual, stage) {
                let margin = match rating.rated {
                    Rated::Above(_) => actual - rating.limit,
                    _ => rating.limit - actual,
                };
                let mut name = self.stage_name(stage);
                if !rating.of.is_empty() {
                    name = format!("{name}, {}", rating.of);
                }
                list.push(Watched {
                    kind: rating.kind,
                    name,
                    span: Some(stage.span),
                    actual,
                    limit: rating.limit,
                    margin,
                    working: None,
                    source: rating.source.clone(),
                });
            }
        }
        list
    }

    /// What the sensor's output drives, against what it may.
    fn of_sensor(&self, solution: &Solution<'t>, output: Node, list: &mut Vec<Watched<'t>>) {
        let sensor = &self.channel.sensor;
        let name = match &sensor.part {
            Some(part) => format!("sensor {}", part.id),
            None => "the sensor".to_owned(),
        };
        let mut held = |kind, actual: Value<'t>, f: &Figure, most: f64| {
            let limit = self.builder.constant(most);
            list.push(Watched {
                kind,
                name: name.clone(),
                span: Some(sensor.span),
                actual,
                limit,
                margin: limit - actual,
                working: None,
                source: f.source.to_string(),
            });
        };
        if let Some(f) = sensor.figures.get("load-current")
            && let Some(most) = f.max.or(f.typ)
            && let Some(current) = solution.current("sensor resistance")
        {
            held("sensor-load", current.abs(), f, most);
        }
        if let Some(f) = sensor.figures.get("load-capacitance")
            && let Some(most) = f.min.or(f.max).or(f.typ)
        {
            held(
                "sensor-capacitance",
                hanging_farad(solution, output),
                f,
                most,
            );
        }
    }

    /// A stage as findings name it; its place in the chain where another one
    /// of its kind is there.
    pub(crate) fn stage_name(&self, stage: &Stage) -> String {
        let mut name = match stage.part("part") {
            Some(part) => format!("{} {}", stage.kind, part.id),
            None => stage.kind.to_owned(),
        };
        if stage.path.starts_with("networks.") {
            return crate::element::title(stage);
        }
        let same = |s: &&Stage| s.kind == stage.kind;
        if self.channel.chain.iter().filter(same).count() > 1
            && let Some(at) = self.channel.chain.iter().position(|s| s.path == stage.path)
        {
            name = format!("{name} (stage {})", at + 1);
        }
        name
    }
}

/// A capability below this is none, A.
const LEAST_CAPABILITY_A: f64 = 1e-15;

/// Resistor that a stage's output drives, Ω: its load, else its feedback.
fn loading<'t>(solution: &Solution<'t>, stage: &Stage) -> Option<Value<'t>> {
    ["load", "feedback"].iter().find_map(|key| {
        let name = format!("{}.{key}", stage.path);
        solution.elements().iter().find_map(|(n, e)| match e {
            Element::Resistor { ohm, .. } if *n == name => Some(*ohm),
            _ => None,
        })
    })
}

/// Where the figure of a stage's part that a check rests on was read.
fn source(stage: &Stage, figures: &[&str]) -> String {
    stage
        .part("part")
        .and_then(|part| figures.iter().find_map(|f| part.figure(f)))
        .map_or_else(
            || "nothing inside a part goes beyond its supplies".to_owned(),
            |f| f.source.to_string(),
        )
}

/// Resistances below this do not keep a capacitance away from what drives it,
/// Ω: fifty and more in series are the usual cure of an output that rings
/// (common practice).
const SMALL_OHM: f64 = 50.0;

/// Capacitance at a node and behind small resistances, F.
pub(super) fn hanging_farad<'t>(solution: &Solution<'t>, node: Node) -> Value<'t> {
    let mut reached = vec![node];
    let mut next = 0;
    let mut sum = solution.builder().zero();
    let mut counted: Vec<&str> = Vec::new();
    while let Some(&here) = reached.get(next) {
        next += 1;
        for (name, element) in solution.elements() {
            match element {
                Element::Resistor { a, b, ohm }
                    if ohm.nominal() < SMALL_OHM && (*a == here || *b == here) =>
                {
                    let other = if *a == here { *b } else { *a };
                    if other != Node::GROUND && !reached.contains(&other) {
                        reached.push(other);
                    }
                }
                Element::Capacitor { a, b, farad, .. }
                    if (*a == here || *b == here) && !counted.contains(&name.as_str()) =>
                {
                    counted.push(name);
                    sum = sum + *farad;
                }
                _ => {}
            }
        }
    }
    sum
}

/// How a check of the circuit is called, and the figures it rests on.
struct Words {
    kind: &'static str,
    current: Option<&'static str>,
    figures: &'static [&'static str],
}

impl Words {
    fn of(kind: CheckKind) -> Words {
        let (kind, current, figures): (_, _, &'static [&'static str]) = match kind {
            CheckKind::OutputLow => ("output-low", Some("output-sink"), &["swing-low"]),
            CheckKind::OutputHigh => ("output-high", Some("output-source"), &["swing-high"]),
            CheckKind::OutputCurrent => (
                "output-current",
                None,
                &["output-current", "swing-low-current", "swing-high-current"],
            ),
            CheckKind::InputLow => ("input-low", None, &["input-headroom-low"]),
            CheckKind::InputHigh => ("input-high", None, &["input-headroom-high"]),
            CheckKind::InnerLow => ("inner-low", None, &["inner-headroom-low", "swing-low"]),
            CheckKind::InnerHigh => ("inner-high", None, &["inner-headroom-high", "swing-high"]),
            CheckKind::CommonModeRegion => (
                "common-mode-region",
                None,
                &["common-mode-high", "common-mode-low"],
            ),
        };
        Words {
            kind,
            current,
            figures,
        }
    }
}
