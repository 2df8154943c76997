//! Disturbing tones on their way into a channel's readings: the mains,
//! switching regulators and whatever else the board file names.

use std::collections::BTreeMap;
use std::f64::consts::TAU;

use board::{Board, Channel, Interferer, InterferesOn, RailSource, Supply};
use circuit::{Complex, StimulusKind};
use finding::Span;
use parts::Figure;
use quantity::Dimension;

use super::noise::notch_hz;
use super::schedule;
use crate::channel::{Place, SERIES, Straight, Unmodelled, compared, straight};

pub use circuit::interference::{
    Arrival, Avoid, Explanation, Family, NullWindow, Off, Readout, Rejection, SincFilter, Together,
    arrivals, decibel, explain_tone, null_windows, rejections, rms_window, to_avoid, zero_beats,
};

/// How a channel's readings are made, and what of it nobody wrote.
#[derive(Clone, Debug, PartialEq)]
pub struct Timing {
    /// Rates, average and filter.
    pub readout: Readout,
    /// Where the rate of the readings is written. Where it is not, that of the
    /// readout is how fast it could be read, and says nothing of where tones
    /// show.
    pub rate_span: Option<Span>,
    /// What was taken for granted, in words.
    pub taken: Vec<String>,
}

/// What one interferer leaves in a channel's readings.
#[derive(Clone, Debug, PartialEq)]
pub struct Disturbance {
    /// Its name; `mains` for the one of the conditions.
    pub name: String,
    /// Where it gets in, in words.
    pub on: String,
    /// It is the mains.
    pub is_mains: bool,
    /// Its tones.
    pub family: Family,
    /// How much less than a slow change at the same place arrives at the
    /// converter at each tone's worst frequency: one where nothing is damped.
    /// Against the whole tone where it does not come with the signal.
    pub relative: Vec<f64>,
    /// What arrives of each tone.
    pub arrivals: Vec<Arrival>,
    /// Where it is written.
    pub span: Span,
}

/// What disturbs one channel.
#[derive(Clone, Debug, PartialEq)]
pub struct Interference {
    /// How its readings are made.
    pub timing: Timing,
    /// One for each interferer that reaches it.
    pub list: Vec<Disturbance>,
    /// What all tones of known amplitude leave.
    pub together: Together,
    /// What was taken for granted on their way, in words.
    pub taken: Vec<String>,
}

/// Order of a delta-sigma converter's filter where its part states none: the
/// least that is built.
const LEAST_ORDER: u32 = 1;

/// How a channel's readings are made from conversions; `None` where it has no
/// converter, or nothing says how fast it converts or is read.
#[must_use]
pub fn timing(board: &Board, channel: &Channel) -> Option<Timing> {
    let input = channel.input.as_ref()?;
    let device = board.devices.get(input.device)?;
    let unit = device.part.converters.get(input.unit)?;
    let position = board.channels.iter().position(|c| c.name == channel.name);
    let scan = board.scan_of(input.device);
    let asked = channel.rate_hz.as_ref();
    let every = scan.every_s.as_ref();
    let wanted_hz = asked
        .map(|r| r.value)
        .or_else(|| every.map(|e| 1.0 / e.value));
    let count = input.average.max(1);
    let mut taken = Vec::new();
    let schedule = schedule::schedule(board, input.device, input.unit);
    let turn = schedule.as_ref().zip(position).and_then(|(s, i)| s.turn(i));
    let sample_rate_hz = match (turn, wanted_hz) {
        (Some(t), _) => t
            .data_rate_hz
            .unwrap_or_else(|| 1.0 / (t.acquire_s + t.convert_s)),
        (None, Some(hz)) => {
            if count > 1 {
                taken.push(format!(
                    "nothing says how fast it converts: {count} conversions spread over the time between readings"
                ));
            }
            hz * f64::from(count)
        }
        (None, None) => return None,
    };
    let mut filter = None;
    if unit.delta_sigma {
        if channel.data_rate_hz.is_none() {
            taken.push(format!(
                "no `data-rate` is written: {} outputs a second",
                quantity::plain(sample_rate_hz, 3)
            ));
        }
        let order = unit
            .figures
            .get("filter-order")
            .and_then(Figure::typical)
            .filter(|k| (1.0..=8.0).contains(k))
            .map(|k| k.round() as u32);
        if order.is_none() {
            taken.push(format!(
                "{} states no order of its filter: one mean, the least there is",
                device.name
            ));
        }
        filter = Some(SincFilter {
            order: order.unwrap_or(LEAST_ORDER),
            notch_hz: notch_hz(board, unit, sample_rate_hz),
            decimation: None,
        });
    } else if let Some(t) = turn
        && count > 1
        && !t.stated
    {
        taken.push(format!(
            "no acquisition is written: a conversion in {}",
            quantity::engineering(1.0 / sample_rate_hz, "s", 3)
        ));
    }
    let reading_rate_hz = match wanted_hz {
        Some(hz) => hz,
        None => {
            taken.push(
                "no `rate` is written: where tones show in the readings is not told".to_owned(),
            );
            sample_rate_hz / f64::from(count)
        }
    };
    let readout = Readout {
        sample_rate_hz,
        count,
        reading_rate_hz,
        filter,
    };
    let usable = |hz: f64| hz > 0.0 && hz.is_finite();
    (usable(sample_rate_hz) && usable(reading_rate_hz)).then_some(Timing {
        readout,
        rate_span: asked.map(|r| r.span).or(every.map(|e| e.span)),
        taken,
    })
}

/// Data rates that a channel's converter can be set to, Hz, as far as its part
/// lists them.
#[must_use]
pub fn data_rates(board: &Board, channel: &Channel) -> Vec<f64> {
    let unit = channel.input.as_ref().and_then(|i| {
        let device = board.devices.get(i.device)?;
        device.part.converters.get(i.unit)
    });
    let listed = unit.and_then(|u| u.figures.get("data-rates"));
    listed.map_or_else(Vec::new, |f| f.choices.clone())
}

/// Interferers that reach a channel.
fn reaching<'b>(board: &'b Board, channel: &Channel) -> Vec<&'b Interferer> {
    let position = board.channels.iter().position(|c| c.name == channel.name);
    board
        .interferers
        .iter()
        .filter(|i| i.channels.is_empty() || position.is_some_and(|p| i.channels.contains(&p)))
        .filter(|i| match &i.on {
            InterferesOn::Node(_) => channel.network.is_some(),
            _ => true,
        })
        .collect()
}

/// Whether an amplitude of it is known.
fn is_known(i: &Interferer) -> bool {
    i.amplitude_v.iter().any(|a| *a != 0.0)
}

/// What the interferers of known amplitude leave in one reading of a channel,
/// as far as that matters to its error; none where there are no such. Where
/// nothing says how fast it converts no average is credited.
///
/// # Errors
/// [`Unmodelled`] where the channel has no analog signal.
pub fn known(board: &Board, channel: &Channel) -> Result<Vec<Disturbance>, Unmodelled> {
    let mut reaching = reaching(board, channel);
    reaching.retain(|i| is_known(i));
    if reaching.is_empty() || channel.input.is_none() {
        return Ok(Vec::new());
    }
    let single = Readout {
        sample_rate_hz: 1.0,
        count: 1,
        reading_rate_hz: 1.0,
        filter: None,
    };
    let readout = timing(board, channel).map_or(single, |t| t.readout);
    disturbances(board, channel, &reaching, &readout, &mut Vec::new())
}

/// What disturbs a channel, worst over its span.
///
/// # Errors
/// [`Unmodelled`] where it has no converter, no analog signal, or nothing says
/// when it is read.
pub fn interference(board: &Board, channel: &Channel) -> Result<Interference, Unmodelled> {
    let timing = timing(board, channel).ok_or_else(|| {
        Unmodelled::at(
            if channel.input.is_some() {
                "nothing says when it is read: a `rate` of the channel, or a `[scan]`"
            } else {
                "it enters no converter"
            },
            channel.place,
        )
    })?;
    let mut taken = Vec::new();
    let reaching = reaching(board, channel);
    let list = disturbances(board, channel, &reaching, &timing.readout, &mut taken)?;
    taken.sort();
    taken.dedup();
    let all: Vec<Arrival> = list
        .iter()
        .filter(|d| d.family.amplitudes.iter().any(|a| *a != 0.0))
        .flat_map(|d| d.arrivals.iter().copied())
        .collect();
    Ok(Interference {
        timing,
        together: Together::of(&all),
        list,
        taken,
    })
}

fn disturbances(
    board: &Board,
    channel: &Channel,
    reaching: &[&Interferer],
    readout: &Readout,
    taken: &mut Vec<String>,
) -> Result<Vec<Disturbance>, Unmodelled> {
    if reaching.is_empty() {
        return Ok(Vec::new());
    }
    let mut places = vec![Place::Head, Place::Pin];
    for i in reaching {
        if let InterferesOn::Node(name) = &i.on {
            let place = Place::Named(name.clone());
            if !places.contains(&place) {
                places.push(place);
            }
        }
    }
    let networks = straight(board, channel, &places)?;
    reaching
        .iter()
        .map(|i| {
            let way = Way {
                board,
                channel,
                interferer: i,
                places: &places,
            };
            way.disturbance(&networks, readout, taken)
        })
        .collect()
}

/// One interferer on its way into one channel.
struct Way<'a> {
    board: &'a Board,
    channel: &'a Channel,
    interferer: &'a Interferer,
    places: &'a [Place],
}

/// Where a voltage lies between the converter's inputs, with what the
/// converter compares against.
struct Seen {
    volt: Vec<Complex>,
    reference: Vec<Complex>,
    outputs: Vec<Vec<Complex>>,
    /// Voltage over reference where that stands in the network, else none.
    share: f64,
}

impl Seen {
    fn at(straight: &Straight, is_between: bool, places: usize, hz: f64) -> Option<Self> {
        let network = &straight.network;
        let share = match straight.reference {
            Some(reference) if is_between && reference != 0.0 => straight.volt / reference,
            _ => 0.0,
        };
        Some(Seen {
            volt: network.transfers(Straight::VOLT, hz)?,
            reference: network.transfers(Straight::REFERENCE, hz)?,
            outputs: (0..places)
                .map(|k| network.transfers(Straight::FIRST_NODE + k, hz))
                .collect::<Option<_>>()?,
            share,
        })
    }

    /// Change of what the converter takes for its input voltage.
    fn error(&self, stimulus: usize) -> Complex {
        let of = |list: &[Complex]| list.get(stimulus).copied().unwrap_or(Complex::ZERO);
        of(&self.volt) - of(&self.reference).times(self.share)
    }
}

impl Way<'_> {
    fn family(&self) -> Family {
        let (low_hz, nominal_hz, high_hz) = self.interferer.frequency_hz.value;
        Family {
            low_hz,
            nominal_hz,
            high_hz,
            harmonics: self.interferer.harmonics,
            amplitudes: self.interferer.amplitude_v.clone(),
        }
    }

    fn is_in_series(&self) -> bool {
        self.interferer.on == InterferesOn::Sensor && self.interferer.coupling_farad.is_none()
    }

    fn words(&self) -> String {
        let through = if self.interferer.coupling_farad.is_some() {
            " through a capacitor"
        } else {
            ""
        };
        match &self.interferer.on {
            InterferesOn::Sensor => format!("the sensor{through}"),
            InterferesOn::Input => format!("the converter's input{through}"),
            InterferesOn::Rail(i) => format!(
                "rail {}",
                self.board.rails.get(*i).map_or("", |r| r.name.as_str())
            ),
            InterferesOn::Node(name) => format!("node {name}{through}"),
        }
    }

    fn disturbance(
        &self,
        networks: &[Straight],
        readout: &Readout,
        taken: &mut Vec<String>,
    ) -> Result<Disturbance, Unmodelled> {
        let family = self.family();
        if let Some(s) = networks.first() {
            // Once, for what is taken for granted.
            self.size(s, family.nominal_hz, taken);
            if s.is_current && self.is_in_series() {
                taken.push(format!(
                    "{}: no voltage in series gets into a sensor that gives a current; what is damped is told of its current",
                    self.interferer.name
                ));
            }
        }
        let gain = |number: u32| {
            let tone = family.tone(number);
            let (mut absolute, mut relative): (f64, f64) = (0.0, 0.0);
            for s in networks {
                let slow = self.slow(s);
                for hz in s.network.looked_at(tone.low_hz, tone.high_hz) {
                    let size = self.size(s, hz, &mut Vec::new());
                    absolute = absolute.max(size.0);
                    relative = relative.max(size.1 / slow);
                }
            }
            (absolute, relative)
        };
        let gains: Vec<(f64, f64)> = (1..=family.harmonics.max(1)).map(gain).collect();
        let responses: Vec<f64> = gains.iter().map(|g| g.0).collect();
        let arrivals = arrivals(&family, readout, &responses).ok_or_else(|| {
            Unmodelled::at("its frequencies cannot be used", self.interferer.span)
        })?;
        Ok(Disturbance {
            name: self.interferer.name.clone(),
            on: self.words(),
            is_mains: self.interferer.name == "mains",
            relative: gains.iter().map(|g| g.1).collect(),
            arrivals,
            family,
            span: self.interferer.span,
        })
    }

    /// Size at direct current of what comes with the signal; one for all that
    /// does not.
    fn slow(&self, s: &Straight) -> f64 {
        if !self.is_in_series() {
            return 1.0;
        }
        let slow = self.size(s, 0.0, &mut Vec::new()).1;
        if slow > 0.0 { slow } else { 1.0 }
    }

    /// Magnitude at the converter for one volt where it gets in, and what is
    /// compared with direct current.
    fn size(&self, s: &Straight, hz: f64, taken: &mut Vec<String>) -> (f64, f64) {
        let is_between = compared(self.channel).is_none();
        let Some(seen) = Seen::at(s, is_between, self.places.len(), hz) else {
            return (f64::INFINITY, f64::INFINITY);
        };
        let same = |x: f64| (x, x);
        match (&self.interferer.on, &self.interferer.coupling_farad) {
            (InterferesOn::Rail(i), _) => same(self.ripple(s, &seen, *i, hz, taken)),
            (InterferesOn::Input, None) => same(1.0),
            (InterferesOn::Sensor, None) => {
                let series = s
                    .network
                    .find(SERIES, StimulusKind::Voltage)
                    .map_or(0.0, |k| seen.error(k).abs());
                if !s.is_current {
                    return same(series);
                }
                let fed = s
                    .network
                    .find(&s.head, StimulusKind::Fed)
                    .map_or(0.0, |k| seen.error(k).abs());
                (series, fed)
            }
            (on, Some(farad)) => {
                let place = match on {
                    InterferesOn::Input => Place::Pin,
                    InterferesOn::Node(name) => Place::Named(name.clone()),
                    _ => Place::Head,
                };
                same(self.coupled(s, &seen, &place, farad.value.nominal, hz))
            }
            (InterferesOn::Node(_), None) => same(1.0),
        }
    }

    /// Through a capacitor into a node: what flows is what the capacitor lets
    /// through into the impedance there.
    fn coupled(&self, s: &Straight, seen: &Seen, place: &Place, farad: f64, hz: f64) -> f64 {
        let name = match place {
            Place::Head => &s.head,
            Place::Pin => &s.pin,
            Place::Named(name) => name,
        };
        let number = self.places.iter().position(|p| p == place);
        // Two places may be one node, which is then fed twice by one name.
        let (Some(number), Some(fed)) = (number, s.network.find(name, StimulusKind::Fed)) else {
            return 0.0;
        };
        let there = seen
            .outputs
            .get(number)
            .and_then(|list| list.get(fed))
            .copied()
            .unwrap_or(Complex::ZERO);
        let admittance = Complex::new(0.0, TAU * hz * farad);
        let flows = admittance / (Complex::ONE + admittance * there);
        (flows * seen.error(fed)).abs()
    }

    /// Ripple of a rail, through every source that follows it. What comes
    /// straight from the rail adds up by phase; what went through a regulator
    /// or a reference has a phase that no data sheet tells, so such ways add
    /// up by size.
    fn ripple(
        &self,
        s: &Straight,
        seen: &Seen,
        rail: usize,
        hz: f64,
        taken: &mut Vec<String>,
    ) -> f64 {
        let mut ways: BTreeMap<String, Complex> = BTreeMap::new();
        let mut add = |way: String, value: Complex| {
            *ways.entry(way).or_insert(Complex::ZERO) += value;
        };
        for f in &s.followers {
            let Some(stimulus) = s.network.find(&f.element, f.kind) else {
                continue;
            };
            let Some((share, mut way)) = follows(self.board, f.supply, rail, hz, taken) else {
                continue;
            };
            let mut factor = f.factor * share;
            if let Some(path) = &f.amplifier {
                let Some(rejection) = self.amplifier_rejection(path, hz, taken) else {
                    continue;
                };
                factor /= rejection;
                way = format!("{way} {path}");
            }
            add(way, seen.error(stimulus).times(factor));
        }
        // What is compared against stands outside the network here.
        if let (Some(supply), Some(reference)) = (compared(self.channel), s.reference)
            && let Some((share, way)) = follows(self.board, supply, rail, hz, taken)
            && reference != 0.0
        {
            add(way, Complex::real(-s.volt / reference * share));
        }
        if let Some((share, way)) = self.converter(rail, hz, taken) {
            add(format!("{way} converter"), Complex::real(share));
        }
        ways.values().map(|c| c.abs()).sum()
    }

    /// What the converter itself lets in of its supply's ripple.
    fn converter(&self, rail: usize, hz: f64, taken: &mut Vec<String>) -> Option<(f64, String)> {
        let input = self.channel.input.as_ref()?;
        let device = self.board.devices.get(input.device)?;
        let unit = device.part.converters.get(input.unit)?;
        let f = unit.figures.get("supply-rejection")?;
        let supply = device.analog_supply.or(device.supply)?;
        let (share, way) = follows(self.board, Supply::Rail(supply), rail, hz, taken)?;
        let rejection = rejection(f, hz, &device.name, taken)?;
        Some((share / rejection, way))
    }

    /// Rejection of an amplifier's supplies at a frequency, a ratio. The
    /// figure of a data sheet holds at direct current; above it an amplifier
    /// rejects no better than its gain without feedback, which is its
    /// gain-bandwidth product over the frequency (common practice).
    fn amplifier_rejection(&self, path: &str, hz: f64, taken: &mut Vec<String>) -> Option<f64> {
        let stages = self.board.channels.iter().flat_map(|c| &c.chain);
        let elements = self.board.networks.iter().flat_map(|n| &n.elements);
        let stage = stages.chain(elements).find(|s| s.path == path)?;
        let part = stage.part("part")?;
        let Some(f) = part.figure("supply-rejection") else {
            taken.push(format!(
                "{} states no rejection of its supply: none of its ripple counted",
                part.id
            ));
            return None;
        };
        if f.variable == Some(Dimension::FREQUENCY) {
            return rejection(f, hz, &part.id, taken);
        }
        let slow = f.min.or_else(|| f.typical()).filter(|r| *r > 0.0)?;
        let bandwidth = part
            .figure("gain-bandwidth")
            .and_then(|b| b.typical().or(b.min));
        Some(match bandwidth {
            Some(product) if hz > 0.0 => {
                taken.push(format!(
                    "{} rejects its supply at direct current as stated, above by no more than {} over the frequency (common practice)",
                    part.id,
                    quantity::engineering(product, "Hz", 3)
                ));
                slow.min((product / hz).max(1.0))
            }
            _ => {
                taken.push(format!(
                    "{} rejects its supply as at direct current",
                    part.id
                ));
                slow
            }
        })
    }
}

/// A rejection at a frequency, a ratio of at least one.
fn rejection(f: &Figure, hz: f64, of: &str, taken: &mut Vec<String>) -> Option<f64> {
    let against = f.variable == Some(Dimension::FREQUENCY);
    let value = if against {
        between(&f.points, hz)
    } else {
        taken.push(format!("{of} rejects its supply as at direct current"));
        f.min.or_else(|| f.typical())
    };
    value.filter(|r| *r > 0.0).map(|r| r.max(1.0))
}

/// A ratio against frequency between the points of a data sheet, straight
/// where both are drawn in decades; as at the ends beyond them.
fn between(points: &[(f64, f64)], hz: f64) -> Option<f64> {
    let mut below: Option<(f64, f64)> = None;
    for &(at, ratio) in points {
        if hz <= at {
            return Some(match below {
                Some((x, y)) if x > 0.0 && y > 0.0 && ratio > 0.0 && x < at => {
                    let share = elementary::ln(hz / x) / elementary::ln(at / x);
                    y * elementary::pow(ratio / y, share)
                }
                _ => ratio,
            });
        }
        below = Some((at, ratio));
    }
    below.map(|(_, ratio)| ratio)
}

/// Share of a rail's ripple that another supply has at a frequency, and the
/// regulators and references it goes through; `None` where it does not follow
/// that rail.
fn follows(
    board: &Board,
    supply: Supply,
    rail: usize,
    hz: f64,
    taken: &mut Vec<String>,
) -> Option<(f64, String)> {
    match supply {
        Supply::Ground => None,
        Supply::Rail(i) if i == rail => Some((1.0, String::new())),
        Supply::Rail(i) => {
            let own = board.rails.get(i)?;
            match &own.source {
                RailSource::External | RailSource::Switching { .. } => None,
                RailSource::Direct { from } => follows(board, Supply::Rail(*from), rail, hz, taken),
                RailSource::Divided { from, top, bottom } => {
                    let (share, way) = follows(board, Supply::Rail(*from), rail, hz, taken)?;
                    let (a, b) = (top.value.nominal, bottom.value.nominal);
                    Some((share * b / (a + b), way))
                }
                RailSource::Regulator { from, part } => {
                    let (share, way) = follows(board, Supply::Rail(*from), rail, hz, taken)?;
                    let rejected = match part.figure("supply-rejection") {
                        Some(f) => rejection(f, hz, &part.id, taken)?,
                        None => {
                            taken.push(format!(
                                "{} states no rejection of its input's ripple: all of it passes",
                                part.id
                            ));
                            1.0
                        }
                    };
                    Some((share / rejected, format!("{way} {}", own.name)))
                }
            }
        }
        Supply::Reference(i) => {
            let r = board.references.get(i)?;
            let part = r.part.as_ref()?;
            let (share, way) = follows(board, Supply::Rail(r.supply?), rail, hz, taken)?;
            let let_in = let_in(&|name| part.figure(name), &part.id, hz, taken);
            Some((share * let_in, format!("{way} {}", r.name)))
        }
        Supply::Internal(device, unit, choice) => {
            let d = board.devices.get(device)?;
            let r = d.part.converters.get(unit)?.references.get(choice)?;
            let fed = d.analog_supply.or(d.supply)?;
            let (share, way) = follows(board, Supply::Rail(fed), rail, hz, taken)?;
            if r.from.is_some() {
                return Some((share * r.share, way));
            }
            let name = format!("{} {}", d.name, r.name);
            let let_in = let_in(&|figure| r.figures.get(figure), &name, hz, taken);
            Some((share * let_in, format!("{way} {name}")))
        }
    }
}

/// What a reference lets through of the ripple of what feeds it.
fn let_in<'f>(
    figure: &dyn Fn(&str) -> Option<&'f Figure>,
    name: &str,
    hz: f64,
    taken: &mut Vec<String>,
) -> f64 {
    if let Some(ratio) = figure("supply-rejection").and_then(|f| rejection(f, hz, name, taken)) {
        return 1.0 / ratio;
    }
    let line = figure("line-regulation").and_then(|f| f.max.or_else(|| f.typical()));
    let volt = figure("voltage").and_then(Figure::typical);
    match (line, volt) {
        (Some(relative_per_v), Some(volt)) => {
            taken.push(format!(
                "{name} states no rejection of ripple: its line regulation, which holds at direct current"
            ));
            (relative_per_v * volt).abs().min(1.0)
        }
        _ => {
            taken.push(format!(
                "{name} states no rejection of ripple: all of it passes"
            ));
            1.0
        }
    }
}
