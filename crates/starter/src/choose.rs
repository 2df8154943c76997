//! The circuit with the smallest error, found by trying.

use board::Board;
use chain::law::Electrical;
use finding::SourceId;
use parts::Library;
use quantity::Series;
use verdict::Estimate;

use crate::sensor::Channel;
use crate::supply::{Choice, Supplies, short};
use crate::write::{self, Style};
use crate::{Effort, StarterFault};

/// Stages, reference and gain of a channel.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Circuit {
    /// What feeds the sensor, where it gives a share of that.
    pub supply: Option<String>,
    /// Stages in signal order.
    pub stages: Vec<Stage>,
    /// Position of the reference among the choices.
    pub reference: Option<usize>,
    /// Gain set in the converter.
    pub gain: Option<f64>,
}

/// A stage of a circuit.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Stage {
    /// As written in the file.
    pub text: String,
    /// What to say about it.
    pub comment: &'static str,
    /// How much smaller the error must be to be worth it.
    pub cost: f64,
}

impl Stage {
    /// Resistors.
    fn passive(text: String, comment: &'static str) -> Stage {
        Stage {
            text,
            comment,
            cost: 1.05,
        }
    }
}

/// How good a circuit is; the smaller the better, first things first.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
struct Score(usize, f64, f64);

/// Reads a board that this crate wrote.
pub(crate) fn read(library: &Library, text: &str) -> Result<Board, String> {
    // Places are of no use: nobody has the text yet.
    let (board, faults) = board::read(SourceId(u32::MAX), text, library, &chain::vocabulary());
    board.ok_or_else(|| {
        faults
            .into_iter()
            .next()
            .map_or_else(String::new, |f| f.message)
    })
}

/// Chooses circuit, input and accuracy of every channel.
pub(crate) fn circuits(
    library: &Library,
    supplies: &Supplies,
    channels: &mut [Channel],
    effort: Effort,
    told: &dyn Fn(&str),
) -> Result<(), StarterFault> {
    let needed = channels.iter().filter(|c| c.electrical.is_some()).count();
    if needed > supplies.inputs.len() {
        return Err(StarterFault::new(format!(
            "`{}` has {} analog inputs, {needed} are needed",
            supplies.part,
            supplies.inputs.len()
        ))
        .expecting("fewer sensors, or another device"));
    }
    let mut inputs = supplies.inputs.iter();
    for c in channels.iter_mut() {
        if c.electrical.is_some() {
            c.input = inputs.next().cloned();
        }
    }
    for i in 0..channels.len() {
        told(&channels[i].name);
        let mut tries = Tries {
            library,
            supplies,
            channels,
            which: i,
            best: None,
            looks: effort.looks,
        };
        match channels[i].electrical {
            Some(Electrical::Resistance) => {
                tries.pulled(&Vec::new());
                tries.amplified(|tries, behind| tries.pulled(behind));
            }
            Some(Electrical::Voltage) => {
                tries.divided(&[None]);
                tries.amplified(|tries, behind| tries.direct(&[None], behind));
                tries.instrumented(&[None]);
            }
            Some(Electrical::VoltageRatio) => {
                let fed = tries.feeds();
                tries.divided(&fed);
                tries.amplified(|tries, behind| tries.direct(&fed, behind));
                tries.instrumented(&fed);
            }
            Some(Electrical::Current) => {
                tries.loaded(&Vec::new());
                tries.amplified(|tries, behind| tries.loaded(behind));
            }
            _ => tries.consider(Circuit::default()),
        }
        let best = tries.best;
        let c = &mut channels[i];
        if let Some((_, circuit, estimate)) = best {
            c.circuit = circuit;
            let reached = 1.3 * estimate.half_width;
            c.reached = reached < 0.25 * (c.span.1 - c.span.0);
            c.accuracy = Some(rounded_up(if c.reached { reached } else { 0.0 }, c.span));
        } else {
            c.accuracy = Some(rounded_up(0.0, c.span));
        }
    }
    Ok(())
}

/// The next number of a row of handy ones; a twentieth of the span where the
/// error is not known.
fn rounded_up(size: f64, span: (f64, f64)) -> f64 {
    let least = 1e-6 * (span.1 - span.0);
    let size = if size > least {
        size
    } else {
        0.05 * (span.1 - span.0)
    };
    let mut ten = 1e-9;
    while ten * 10.0 <= size {
        ten *= 10.0;
    }
    let handy = [1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0];
    handy
        .iter()
        .map(|h| h * ten)
        .find(|x| *x >= size)
        .unwrap_or(10.0 * ten)
}

struct Tries<'a> {
    library: &'a Library,
    supplies: &'a Supplies,
    channels: &'a [Channel],
    which: usize,
    best: Option<(Score, Circuit, Estimate)>,
    /// Circuits that may still be looked at.
    looks: usize,
}

impl Tries<'_> {
    /// Looks at one circuit and keeps it if it is the best so far.
    fn consider(&mut self, circuit: Circuit) {
        let Some((score, estimate)) = self.look(&circuit) else {
            return;
        };
        if self.best.as_ref().is_none_or(|(best, ..)| score < *best) {
            self.best = Some((score, circuit, estimate));
        }
    }

    fn look(&mut self, circuit: &Circuit) -> Option<(Score, Estimate)> {
        // Enough is enough, as long as there is something to show.
        if self.looks == 0 && self.best.is_some() {
            return None;
        }
        self.looks = self.looks.saturating_sub(1);
        let mut own = self.channels[self.which].clone();
        own.circuit = circuit.clone();
        // The others it needs, as far as they are.
        let mut list: Vec<Channel> = self
            .channels
            .iter()
            .filter(|c| {
                own.keys
                    .iter()
                    .any(|(_, v)| v.trim_matches('"') == c.name && c.name != own.name)
            })
            .cloned()
            .collect();
        let name = own.name.clone();
        list.push(own);
        let text = write::board("trial", self.supplies, &list, Style::Bare);
        let board = read(self.library, &text).ok()?;
        let estimate = verdict::estimate(&board, &name).ok()?;
        let cost = circuit
            .reference
            .and_then(|r| self.supplies.choices.get(r))
            .map_or(1.0, |c| c.cost);
        let stages: f64 = circuit.stages.iter().map(|s| s.cost).product();
        let mut score = Score(
            usize::from(estimate.beyond > 0.0),
            // To hundredths, so that rounding does not decide.
            (100.0 * estimate.beyond).round(),
            estimate.half_width * cost * stages,
        );
        // What must hold takes longest to look at.
        if self.best.as_ref().is_none_or(|(best, ..)| score < *best) {
            score.0 += verdict::broken(&board, &name).ok()?.len();
        }
        Some((score, estimate))
    }

    /// Positions of all references.
    fn references(&self) -> Vec<usize> {
        (0..self.supplies.choices.len()).collect()
    }

    fn choice(&self, reference: usize) -> Option<&Choice> {
        self.supplies.choices.get(reference)
    }

    /// A resistance in a divider with a pull-up to the very reference, so
    /// that it cancels.
    fn pulled(&mut self, behind: &[Stage]) {
        for reference in self.references() {
            // A reference inside the device feeds nothing: then the supply.
            let Some(choice) = self.choice(reference) else {
                continue;
            };
            let to = choice
                .supply
                .clone()
                .unwrap_or_else(|| self.supplies.supply.clone());
            self.resistor(|ohm| Circuit {
                stages: vec![Stage::passive(
                    format!(
                        "{{ pull-up = \"{} 0.1 % 25 ppm/K\", to = \"{to}\" }}",
                        ohms(ohm)
                    ),
                    "against the reference, so that the reference cancels",
                )]
                .into_iter()
                .chain(behind.iter().cloned())
                .collect(),
                reference: Some(reference),
                ..Circuit::default()
            });
        }
        self.gains();
    }

    /// A current over a resistor to ground.
    fn loaded(&mut self, behind: &[Stage]) {
        for reference in self.references() {
            self.resistor(|ohm| Circuit {
                stages: vec![Stage::passive(
                    format!("{{ pull-down = \"{} 0.1 % 25 ppm/K\" }}", ohms(ohm)),
                    "turns the current into a voltage",
                )]
                .into_iter()
                .chain(behind.iter().cloned())
                .collect(),
                reference: Some(reference),
                ..Circuit::default()
            });
        }
        self.gains();
    }

    /// Rails and references that may feed the sensor.
    fn feeds(&self) -> Vec<Option<String>> {
        let (low, high) = self.channels[self.which].supply_range;
        let mut list: Vec<Option<String>> = self
            .supplies
            .rails
            .iter()
            .filter(|r| r.low >= 0.98 * low && r.high <= 1.001 * high)
            .map(|r| Some(r.name.clone()))
            .collect();
        if list.is_empty() {
            // Nothing fits; what comes nearest is at least said to be wrong.
            list.extend(self.supplies.rails.first().map(|r| Some(r.name.clone())));
        }
        list
    }

    /// A voltage as it is, or divided.
    fn divided(&mut self, feeds: &[Option<String>]) {
        for feed in feeds {
            for reference in self.references() {
                let plain = Circuit {
                    supply: feed.clone(),
                    reference: Some(reference),
                    ..Circuit::default()
                };
                self.consider(plain.clone());
                for top in [
                    "2.2 kΩ", "4.7 kΩ", "6.8 kΩ", "10 kΩ", "15 kΩ", "22 kΩ", "33 kΩ",
                ] {
                    self.consider(Circuit {
                        stages: vec![Stage::passive(
                            format!(
                                "{{ divider = {{ top = \"{top} 0.1 % 25 ppm/K\", bottom = \"10 kΩ 0.1 % 25 ppm/K\" }} }}"
                            ),
                            "brings the signal into the converter's range",
                        )],
                        ..plain.clone()
                    });
                }
            }
        }
        self.gains();
    }

    /// A voltage as it is, with stages behind it.
    fn direct(&mut self, feeds: &[Option<String>], behind: &[Stage]) {
        for feed in feeds {
            for reference in self.references() {
                self.consider(Circuit {
                    supply: feed.clone(),
                    stages: behind.to_vec(),
                    reference: Some(reference),
                    ..Circuit::default()
                });
            }
        }
    }

    /// Whether the best circuit so far uses the converter well.
    fn is_good(&self) -> bool {
        self.best
            .as_ref()
            .is_some_and(|(score, _, e)| score.0 == 0 && e.codes.is_none_or(|c| c > 0.3))
    }

    /// Small voltages, of either sign or about the middle of a bridge, by an
    /// instrumentation amplifier whose output stands on ground or on half the
    /// supply.
    fn instrumented(&mut self, feeds: &[Option<String>]) {
        if self.is_good() {
            return;
        }
        let rail = self.supplies.supply.clone();
        for id in amplifiers(self.library, self.supplies, "instrumentation-amplifier") {
            let of_part = self
                .library
                .get(&id)
                .and_then(|p| p.figure("gain-resistance"))
                .and_then(parts::Figure::typical);
            for gain in [5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0] {
                let resistors = match of_part {
                    Some(own) => match Series::E96.nearest(own / (gain - 1.0)) {
                        Some(ohm) => format!("gain-resistor = \"{} 0.1 % 25 ppm/K\"", ohms(ohm)),
                        None => continue,
                    },
                    None => format!(
                        "feedback = \"{} 0.1 % 25 ppm/K\", gain-resistor = \"1 kΩ 0.1 % 25 ppm/K\"",
                        Series::E96
                            .nearest(1e3 * (gain - 1.0))
                            .map_or_else(String::new, ohms)
                    ),
                };
                for to in ["", ", reference = \"mid\""] {
                    self.direct(
                        feeds,
                        &[Stage {
                            text: format!(
                                "{{ instrumentation = {{ part = \"{id}\", supply = \"{rail}\", {resistors}{to} }} }}"
                            ),
                            comment: "amplifies the difference of the sensor's two wires",
                            cost: 1.3,
                        }],
                    );
                }
            }
        }
    }

    /// The same with an amplifier behind, where the signal uses few codes.
    fn amplified(&mut self, with: impl Fn(&mut Self, &[Stage])) {
        if self.is_good() {
            return;
        }
        let parts = amplifiers(self.library, self.supplies, "amplifier");
        let rail = self.supplies.supply.clone();
        let stage = |part: &str, ohm: f64| Stage {
            text: format!(
                "{{ non-inverting = {{ part = \"{part}\", supply = \"{rail}\", feedback = \"{} 0.1 % 25 ppm/K\", gain-resistor = \"1 kΩ 0.1 % 25 ppm/K\" }} }}",
                ohms(ohm)
            ),
            comment: "makes the signal as large as the converter's range",
            cost: 1.3,
        };
        let Some(first) = parts.first() else { return };
        for ohm in Series::E3.between(1e3, 470e3) {
            with(self, &[stage(first, ohm)]);
        }
        // The same circuit with other amplifiers.
        let Some((_, best, _)) = self.best.clone() else {
            return;
        };
        for other in parts.iter().skip(1) {
            let mut circuit = best.clone();
            let mut changed = false;
            for s in &mut circuit.stages {
                let text = s
                    .text
                    .replace(&format!("\"{first}\""), &format!("\"{other}\""));
                changed |= text != s.text;
                s.text = text;
            }
            if changed {
                self.consider(circuit);
            }
        }
    }

    /// The best gain of the converter for the best circuit.
    fn gains(&mut self) {
        let Some((_, best, _)) = self.best.clone() else {
            return;
        };
        for &gain in &self.supplies.gains {
            if gain != 1.0 {
                self.consider(Circuit {
                    gain: Some(gain),
                    ..best.clone()
                });
            }
        }
    }

    /// The best resistor: decades first, then its neighbours.
    fn resistor(&mut self, with: impl Fn(f64) -> Circuit) {
        let mut best: Option<(Score, f64)> = None;
        let mut look = |tries: &mut Self, ohm: f64| {
            let circuit = with(ohm);
            if let Some((score, estimate)) = tries.look(&circuit) {
                if best.is_none_or(|(b, _)| score < b) {
                    best = Some((score, ohm));
                }
                if tries.best.as_ref().is_none_or(|(b, ..)| score < *b) {
                    tries.best = Some((score, circuit, estimate));
                }
            }
            best.map(|(_, ohm)| ohm)
        };
        let mut at = None;
        for ohm in Series::E3.between(10.0, 1e6) {
            at = look(self, ohm);
        }
        if let Some(ohm) = at {
            for near in Series::E12.between(ohm / 2.1, ohm * 2.1) {
                look(self, near);
            }
        }
    }
}

/// A resistance as one writes it.
fn ohms(ohm: f64) -> String {
    let (x, unit) = if ohm >= 1e6 {
        (ohm * 1e-6, "MΩ")
    } else if ohm >= 1e3 {
        (ohm * 1e-3, "kΩ")
    } else {
        (ohm, "Ω")
    };
    format!("{} {unit}", short(x))
}

/// Amplifiers of a kind that work from the device's supply, the smallest
/// offset first, at most three.
fn amplifiers(library: &Library, supplies: &Supplies, kind: &str) -> Vec<String> {
    let Some(rail) = supplies.rails.iter().find(|r| r.name == supplies.supply) else {
        return Vec::new();
    };
    let offset = |p: &parts::Part| {
        p.figure("offset-voltage")
            .and_then(|f| f.max.or(f.typ))
            .unwrap_or(f64::INFINITY)
    };
    let mut list: Vec<&parts::Part> = library
        .iter()
        .filter(|p| p.kind == kind)
        .filter(|p| {
            p.figure("supply").is_some_and(|f| {
                f.min.is_none_or(|m| m <= rail.low) && f.max.is_none_or(|m| rail.high <= m)
            })
        })
        .collect();
    list.sort_by(|a, b| offset(a).total_cmp(&offset(b)));
    list.into_iter().take(3).map(|p| p.id.clone()).collect()
}
