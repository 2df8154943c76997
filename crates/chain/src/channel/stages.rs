//! What must hold of the stages for their voltages to be meant.

use board::Stage;
use circuit::{CheckKind, Element, Solution};
use tape::Value;

use super::Watched;
use super::site::Site;
use crate::stage::{Rated, Rating};

impl<'t> Site<'_, 't> {
    /// The checks of the amplifiers in a solved chain.
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
    ) -> Vec<Watched<'t>> {
        if !self.real || !self.instance.is_empty() || self.depth > 0 {
            return Vec::new();
        }
        let mut list = Vec::new();
        for check in solution.checks() {
            let Some(stage) = self.channel.chain.iter().find(|s| s.path == check.element) else {
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
                let working = loading(solution, stage).map(|ohm| ohm * towards / capability);
                list.push(watched(
                    kind,
                    towards,
                    capability,
                    capability - towards,
                    working,
                ));
            }
        }
        for rating in ratings {
            let actual = match &rating.rated {
                Rated::Power(element) => solution.power(element),
                Rated::Current(element) => solution.current(element).map(Value::abs),
                Rated::Across(a, b) => Some(solution.between(*a, *b).abs()),
                Rated::Above(node) | Rated::Below(node) => Some(solution.voltage(*node)),
            };
            let stage = self.channel.chain.iter().find(|s| s.path == rating.path);
            if let (Some(actual), Some(stage)) = (actual, stage) {
                let margin = match rating.rated {
                    Rated::Above(_) => actual - rating.limit,
                    _ => rating.limit - actual,
                };
                list.push(Watched {
                    kind: rating.kind,
                    name: self.stage_name(stage),
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

    /// A stage as findings name it; its place in the chain where another one
    /// of its kind is there.
    pub(super) fn stage_name(&self, stage: &Stage) -> String {
        let mut name = match stage.part("part") {
            Some(part) => format!("{} {}", stage.kind, part.id),
            None => stage.kind.to_owned(),
        };
        let same = |s: &&Stage| s.kind == stage.kind;
        if self.channel.chain.iter().filter(same).count() > 1
            && let Some(at) = self.channel.chain.iter().position(|s| s.path == stage.path)
        {
            name = format!("{name} (stage {})", at + 1);
        }
        name
    }
}

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
        .map(|f| f.source.to_string())
        .unwrap_or_default()
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
            CheckKind::CommonModeRegion => ("common-mode-region", None, &["common-mode-region"]),
        };
        Words {
            kind,
            current,
            figures,
        }
    }
}
