//! The circuit with the smallest error, found by trying.

use board::Board;
use chain::law::Electrical;
use finding::SourceId;
use parts::Library;
use quantity::Series;
use verdict::Estimate;

use crate::sensor::Channel;
use crate::supply::{Choice, Rail, Supplies, short};
use crate::write::{self, Style};
use crate::{Effort, StarterFault};

/// Stages, reference and gain of a channel.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Circuit {
    /// What feeds the sensor, where it gives a share of that.
    pub supply: Option<String>,
    /// What the sensor's lower end stands on, if not ground.
    pub foot: Option<&'static str>,
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

/// Share of the scale by which a signal may seem beyond it because numbers
/// end somewhere.
const ROUNDING: f64 = 1e-6;

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
    // What others need comes first.
    let mut order: Vec<usize> = (0..channels.len()).collect();
    order.sort_by_key(|&i| channels.get(i).is_some_and(|c| needs_another(c, channels)));
    for i in order {
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
                if channels[i].floats {
                    tries.lifted();
                }
                tries.divided(&[None]);
                tries.buffered(&[None]);
                tries.amplified(|tries, behind| tries.direct(&[None], behind));
                tries.instrumented(&[None]);
            }
            Some(Electrical::VoltageRatio) => {
                let fed = tries.feeds();
                tries.divided(&fed);
                tries.buffered(&fed);
                tries.amplified(|tries, behind| tries.direct(&fed, behind));
                tries.instrumented(&fed);
            }
            Some(Electrical::Current) => {
                if channels[i].floats {
                    tries.lifted_current();
                }
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

/// Whether a channel's conversion takes the reading of another one.
fn needs_another(c: &Channel, all: &[Channel]) -> bool {
    c.keys.iter().any(|(_, v)| {
        let named = v.trim_matches('"');
        named != c.name && all.iter().any(|o| o.name == named)
    })
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
            usize::from(estimate.beyond > ROUNDING),
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
                    "2.2 kΩ", "4.7 kΩ", "6.8 kΩ", "10 kΩ", "15 kΩ", "22 kΩ", "33 kΩ", "47 kΩ",
                ] {
                    self.consider(Circuit {
                        stages: vec![divider(top, "10 kΩ")],
                        ..plain.clone()
                    });
                }
            }
        }
        // Outputs that bear less of a load.
        if !self.is_good() {
            for feed in feeds {
                for reference in self.references() {
                    for top in ["22 kΩ", "33 kΩ", "47 kΩ", "68 kΩ", "100 kΩ", "220 kΩ"] {
                        self.consider(Circuit {
                            supply: feed.clone(),
                            reference: Some(reference),
                            stages: vec![divider(top, "47 kΩ")],
                            ..Circuit::default()
                        });
                    }
                }
            }
        }
        self.gains();
    }

    /// A source of either sign that floats: its lower end on half the supply,
    /// and the signal repeated or amplified about that.
    fn lifted(&mut self) {
        let lifted = |text: String, comment: &'static str, cost: f64| Circuit {
            foot: Some("mid"),
            stages: vec![Stage {
                text,
                comment,
                cost,
            }],
            ..Circuit::default()
        };
        // The amplifier that the source bears, by itself; then its gain.
        let parts: Vec<String> = amplifiers(self.library, self.supplies, "amplifier")
            .iter()
            .map(|a| format!("part = \"{}\", supply = \"{}\"", a.part, a.rail))
            .collect();
        for named in &parts {
            self.with_each_reference(&lifted(
                format!("{{ buffer = {{ {named} }} }}"),
                "keeps the converter away from the source",
                1.2,
            ));
        }
        let borne = parts.iter().find(|named| {
            self.best
                .as_ref()
                .is_some_and(|(_, c, _)| c.stages.iter().any(|s| s.text.contains(named.as_str())))
        });
        let Some(named) = borne else { return };
        for ohm in Series::E3.between(1e3, 470e3) {
            self.with_each_reference(&lifted(
                format!(
                    "{{ non-inverting = {{ {named}, feedback = \"{} 0.1 % 25 ppm/K\", gain-resistor = \"1 kΩ 0.1 % 25 ppm/K\", to = \"mid\" }} }}",
                    ohms(ohm)
                ),
                "makes the signal as large as the converter's range",
                1.3,
            ));
        }
        self.gains();
    }

    /// A circuit against every reference there is.
    fn with_each_reference(&mut self, circuit: &Circuit) {
        for reference in self.references() {
            self.consider(Circuit {
                reference: Some(reference),
                ..circuit.clone()
            });
        }
    }

    /// A current of either sign that floats, over a burden about half the
    /// supply.
    fn lifted_current(&mut self) {
        for reference in self.references() {
            self.resistor(|ohm| Circuit {
                foot: Some("mid"),
                stages: vec![Stage::passive(
                    format!(
                        "{{ burden = \"{} 0.1 % 25 ppm/K\", to = \"mid\" }}",
                        ohms(ohm)
                    ),
                    "turns the current into a voltage about half the supply",
                )],
                reference: Some(reference),
                ..Circuit::default()
            });
        }
        self.gains();
    }

    /// A voltage repeated by an amplifier before anything loads it, then as
    /// it is or divided.
    fn buffered(&mut self, feeds: &[Option<String>]) {
        if self.is_good() && !self.is_loaded() {
            return;
        }
        for amplifier in amplifiers(self.library, self.supplies, "amplifier") {
            let buffer = Stage {
                text: format!(
                    "{{ buffer = {{ part = \"{}\", supply = \"{}\" }} }}",
                    amplifier.part, amplifier.rail
                ),
                comment: "keeps what follows away from the source",
                cost: 1.2,
            };
            self.direct(feeds, std::slice::from_ref(&buffer));
            for top in ["4.7 kΩ", "10 kΩ"] {
                self.direct(feeds, &[buffer.clone(), divider(top, "10 kΩ")]);
            }
            // An amplifier on a lower rail than the sensor's needs the divider
            // ahead of it.
            for top in ["22 kΩ", "33 kΩ", "47 kΩ"] {
                self.direct(feeds, &[divider(top, "47 kΩ"), buffer.clone()]);
            }
        }
    }

    /// Whether the converter has an input resistance that may load a source.
    fn is_loaded(&self) -> bool {
        self.library
            .get(&self.supplies.chip)
            .and_then(|p| p.converters.first())
            .is_some_and(|u| u.figure("input-resistance").is_some())
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
        for Amplifier { part: id, rail } in
            amplifiers(self.library, self.supplies, "instrumentation-amplifier")
        {
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
        let named = |a: &Amplifier| format!("part = \"{}\", supply = \"{}\"", a.part, a.rail);
        let stage = |a: &Amplifier, ohm: f64| Stage {
            text: format!(
                "{{ non-inverting = {{ {}, feedback = \"{} 0.1 % 25 ppm/K\", gain-resistor = \"1 kΩ 0.1 % 25 ppm/K\" }} }}",
                named(a),
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
                let text = s.text.replace(&named(first), &named(other));
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
pub(crate) fn ohms(ohm: f64) -> String {
    let (x, unit) = if ohm >= 1e6 {
        (ohm * 1e-6, "MΩ")
    } else if ohm >= 1e3 {
        (ohm * 1e-3, "kΩ")
    } else {
        (ohm, "Ω")
    };
    format!("{} {unit}", short(x))
}

/// A divider to ground.
fn divider(top: &str, bottom: &str) -> Stage {
    Stage::passive(
        format!(
            "{{ divider = {{ top = \"{top} 0.1 % 25 ppm/K\", bottom = \"{bottom} 0.1 % 25 ppm/K\" }} }}"
        ),
        "brings the signal into the converter's range",
    )
}

/// An amplifier and the rail it is fed from.
struct Amplifier {
    part: String,
    rail: String,
}

/// Amplifiers of a kind that work from a rail there is: those of the device's
/// own supply first, whose output cannot harm it, then the smallest offset;
/// three, and the one with the smallest bias current.
fn amplifiers(library: &Library, supplies: &Supplies, kind: &str) -> Vec<Amplifier> {
    let size = |p: &parts::Part, name: &str| {
        p.figure(name)
            .and_then(|f| f.max.or(f.typ))
            .unwrap_or(f64::INFINITY)
    };
    let fed = |p: &parts::Part| {
        let range = p.figure("supply")?;
        let works = |r: &&Rail| {
            range.min.is_none_or(|m| m <= r.low) && range.max.is_none_or(|m| r.high <= m)
        };
        let own = supplies.rails.iter().filter(|r| r.name == supplies.supply);
        own.chain(&supplies.rails).find(works)
    };
    let mut list: Vec<(&parts::Part, &Rail)> = library
        .iter()
        .filter(|p| p.kind == kind)
        .filter_map(|p| Some((p, fed(p)?)))
        .collect();
    list.sort_by(|(a, fed_a), (b, fed_b)| {
        let foreign = |r: &Rail| r.name != supplies.supply;
        foreign(fed_a)
            .cmp(&foreign(fed_b))
            .then(size(a, "offset-voltage").total_cmp(&size(b, "offset-voltage")))
    });
    let gentlest = list
        .iter()
        .map(|(p, _)| size(p, "bias-current"))
        .fold(f64::INFINITY, f64::min);
    list.into_iter()
        .enumerate()
        .filter(|(i, (p, _))| *i < 3 || size(p, "bias-current") <= gentlest)
        .map(|(_, (p, rail))| Amplifier {
            part: p.id.clone(),
            rail: rail.name.clone(),
        })
        .collect()
}
