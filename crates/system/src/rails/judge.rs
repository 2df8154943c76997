//! What each rail must hold, as values beside their limits.

use board::{Board, Burst, Rail, RailSource, Supply};
use chain::channel::dropout;
use finding::Span;
use quantity::{Series, engineering};

use super::loads::{LoadKind, Loads};
use super::solve::{Power, RailState, limits, source_rail};

/// Share of its voltage by which bursts may pull a rail down where neither the
/// board nor the parts on it say more (common practice).
const DROOP: f64 = 0.05;

/// How long a regulator takes to answer a step of its load, s (common
/// practice: some tens of microseconds).
const ANSWER_S: f64 = 1e-4;

/// What is held against a limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum What {
    /// Everything the rail gives at once, against what it may give.
    Current,
    /// What feeds its regulator, against output and drop-out.
    Dropout,
    /// What feeds its regulator, against the regulator's own range.
    Input,
    /// Its voltage at the supply of a part.
    PartSupply,
    /// Current while it rises.
    Inrush,
    /// How far bursts pull it down.
    Droop,
    /// How far the rail before it falls as an empty capacitor is switched on.
    Sharing,
    /// The capacitor a part asks for at its pin.
    Decoupling,
    /// The capacitor its regulator needs.
    OutputCapacitor,
    /// How long its cells last.
    BatteryLife,
    /// What its regulator leaves of the ripple before it.
    Ripple,
}

/// One value of a rail beside what it may be.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// What it is.
    pub what: What,
    /// The same in words, with the part it is about.
    pub name: String,
    /// The value at its worst.
    pub value: f64,
    /// Unit, without prefix.
    pub unit: &'static str,
    /// Least it may be.
    pub low: Option<f64>,
    /// Most it may be.
    pub high: Option<f64>,
    /// A further value that helps: what to choose instead, in the unit of
    /// [`Row::help_unit`].
    pub help: Option<f64>,
    /// Unit of that.
    pub help_unit: &'static str,
    /// The formula with the numbers put in.
    pub working: String,
    /// Where the limit was read.
    pub source: String,
    /// Where it is written.
    pub span: Span,
}

impl Row {
    fn new(what: What, name: &str, value: f64, unit: &'static str, span: Span) -> Row {
        Row {
            what,
            name: name.to_owned(),
            value,
            unit,
            low: None,
            high: None,
            help: None,
            help_unit: unit,
            working: String::new(),
            source: "the board file".to_owned(),
            span,
        }
    }

    /// What is left to the nearer limit, negative beyond it.
    #[must_use]
    pub fn margin(&self) -> Option<f64> {
        let below = self.low.map(|l| self.value - l);
        let above = self.high.map(|h| h - self.value);
        match (below, above) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (one, other) => one.or(other),
        }
    }
}

fn shown(value: f64, unit: &str) -> String {
    engineering(value, unit, 4)
}

/// Every row of every rail.
#[must_use]
pub fn judge(board: &Board, loads: &Loads, power: &Power) -> Vec<Vec<Row>> {
    board
        .rails
        .iter()
        .enumerate()
        .map(|(i, rail)| {
            let Some(state) = power.rails.get(i) else {
                return Vec::new();
            };
            let seen = Seen {
                board,
                loads,
                power,
                rail,
                i,
                state,
            };
            let mut rows = seen.current();
            rows.extend(seen.regulator());
            rows.extend(seen.parts());
            rows.extend(seen.start());
            rows.extend(seen.droops());
            rows.extend(seen.decoupling());
            rows.extend(seen.battery());
            rows.extend(seen.ripple());
            rows
        })
        .collect()
}

struct Seen<'a> {
    board: &'a Board,
    loads: &'a Loads,
    power: &'a Power,
    rail: &'a Rail,
    i: usize,
    state: &'a RailState,
}

impl Seen<'_> {
    /// All limits of its current: what it may give, where that was read.
    fn current_limits(&self) -> Vec<(f64, String, Span)> {
        let mut list = Vec::new();
        if let Some(l) = &self.rail.limit_a {
            list.push((l.value, "limit in the board file".to_owned(), l.span));
        }
        if let Some(c) = &self.rail.power.connector
            && let Some(each) = &c.each_a
        {
            list.push((
                each.value * f64::from(c.pins),
                format!(
                    "{} contact{} of {} each",
                    c.pins,
                    if c.pins == 1 { "" } else { "s" },
                    shown(each.value, "A")
                ),
                c.span,
            ));
        }
        if let RailSource::Regulator { part, .. } = &self.rail.source
            && let Some(f) = part
                .figure("output-current")
                .or_else(|| part.figure("forward-current"))
            && let Some(most) = f.max.or_else(|| f.typical())
        {
            list.push((most, f.source.to_string(), self.rail.span));
        }
        list
    }

    fn current(&self) -> Vec<Row> {
        let most = self.state.most_a;
        let list: Vec<String> = self
            .all_loads()
            .into_iter()
            .map(|(name, ampere)| format!("{name} {}", shown(ampere, "A")))
            .collect();
        let working = format!("{} = {}", list.join(" + "), shown(most, "A"));
        let row = |limit: Option<(f64, String, Span)>| {
            let span = limit.as_ref().map_or(self.rail.span, |l| l.2);
            let mut row = Row::new(What::Current, "current", most, "A", span);
            row.working.clone_from(&working);
            if let Some((most, source, _)) = limit {
                row.high = Some(most);
                row.source = source;
            }
            row
        };
        let limits = self.current_limits();
        let mut rows: Vec<Row> = limits.into_iter().map(|l| row(Some(l))).collect();
        rows.extend(self.carried());
        if rows.is_empty() {
            rows.push(row(None));
        }
        rows
    }

    /// What a carrier that stands on the rail gives to everything plugged onto
    /// it: all but its own controller.
    fn carried(&self) -> Vec<Row> {
        let mut rows = Vec::new();
        for d in &self.board.devices {
            if d.supply != Some(self.i) {
                continue;
            }
            let brought = d.part.rails.iter().filter(|r| !r.feeds.is_empty());
            for out in brought {
                let Some(f) = out.figures.get("output-current") else {
                    continue;
                };
                let Some(most) = f.max.or_else(|| f.typical()) else {
                    continue;
                };
                let others: Vec<(String, f64)> = self
                    .all_loads()
                    .into_iter()
                    .filter(|(name, _)| *name != d.name)
                    .collect();
                let sum: f64 = others.iter().map(|o| o.1).sum();
                let mut row = Row::new(
                    What::Current,
                    &format!("current that {} brings out", d.name),
                    sum,
                    "A",
                    d.span,
                );
                row.high = Some(most);
                row.source = f.source.to_string();
                row.working = format!(
                    "{} = {}",
                    others
                        .iter()
                        .map(|(name, a)| format!("{name} {}", shown(*a, "A")))
                        .collect::<Vec<_>>()
                        .join(" + "),
                    shown(sum, "A")
                );
                rows.push(row);
            }
        }
        rows
    }

    /// The most its source gives before it folds back: a regulator up to its
    /// current limit.
    fn source_limit(&self) -> Option<(f64, String, Span)> {
        let mut most = self.current_limits();
        if let RailSource::Regulator { part, .. } = &self.rail.source
            && let Some(f) = part.figure("current-limit")
            && let Some(least) = f.min.or_else(|| f.typical())
        {
            most.retain(|l| l.1 == "limit in the board file");
            most.push((least, f.source.to_string(), self.rail.span));
        }
        most.into_iter().min_by(|a, b| a.0.total_cmp(&b.0))
    }

    /// The smallest current that anything on the way may give while the rail
    /// rises: its own source, and the rails that feed it through regulators,
    /// switches and wires.
    fn start_limit(&self) -> Option<(f64, String, Span)> {
        let mut most: Vec<(f64, String, Span)> = self.source_limit().into_iter().collect();
        let mut rail = self.rail;
        // Rails come after what feeds them; the count guards against rings.
        for _ in 0..self.board.rails.len() {
            let (RailSource::Direct { from } | RailSource::Regulator { from, .. }) = &rail.source
            else {
                break;
            };
            let Some(above) = self.board.rails.get(*from) else {
                break;
            };
            rail = above;
            most.extend(rail.limit_a.as_ref().map(|l| {
                (
                    l.value,
                    format!("limit of rail {} in the board file", rail.name),
                    l.span,
                )
            }));
        }
        most.into_iter().min_by(|a, b| a.0.total_cmp(&b.0))
    }

    /// What the source lacks of a burst beside everything else, A; all of it
    /// where nothing is known of the source.
    fn lacking(&self, burst: &Burst) -> f64 {
        let regulated = matches!(
            self.rail.source,
            RailSource::Regulator { .. } | RailSource::Switching { .. }
        );
        match self.source_limit() {
            Some((limit, ..)) => {
                let others = self.state.most_a - burst.current_a * burst.duty();
                (burst.current_a - (limit - others).max(0.0)).clamp(0.0, burst.current_a)
            }
            None if regulated => 0.0,
            None => burst.current_a,
        }
    }

    /// What the rail gives to whom at most, A.
    fn all_loads(&self) -> Vec<(String, f64)> {
        let mut list: Vec<(String, f64)> = self
            .loads
            .of_rail
            .get(self.i)
            .into_iter()
            .flatten()
            .map(|l| {
                let ampere = if l.power_w > 0.0 && self.state.low_v > 0.0 {
                    l.power_w / self.state.low_v
                } else if l.kind == LoadKind::Burst && self.rail.power.reservoir.is_some() {
                    l.average_a
                } else {
                    l.most_a
                };
                (l.name.clone(), ampere)
            })
            .collect();
        for (child, state) in self.board.rails.iter().zip(&self.power.rails) {
            if source_rail(child) == Some(self.i) {
                let most = super::solve::passed(child, state, self.state)[2];
                list.push((format!("rail {}", child.name), most));
            }
        }
        list
    }

    fn fed_by(&self) -> Option<&RailState> {
        self.power.rails.get(source_rail(self.rail)?)
    }

    fn regulator(&self) -> Vec<Row> {
        let mut rows = Vec::new();
        let RailSource::Regulator { part, from } = &self.rail.source else {
            return rows;
        };
        let (Some(own), Some(fed), Some(parent)) =
            (self.state.free, self.fed_by(), self.board.rails.get(*from))
        else {
            return rows;
        };
        if let Some(f) = part.figure("dropout") {
            let drop = dropout(Some(f), own.nominal_v);
            let set = self.rail.voltage.as_ref().map_or_else(
                || {
                    part.figure("output-voltage")
                        .and_then(parts::Figure::typical)
                        .unwrap_or(own.nominal_v)
                },
                |v| v.value.nominal,
            );
            let mut row = Row::new(
                What::Dropout,
                &format!("input from {}", parent.name),
                fed.low_v,
                "V",
                self.rail.span,
            );
            row.low = Some(set + drop);
            row.source = f.source.to_string();
            row.working = format!(
                "{} at its lowest under load, {} + {} needed",
                shown(fed.low_v, "V"),
                shown(set, "V"),
                shown(drop, "V")
            );
            rows.push(row);
        }
        if let Some(f) = part.figure("supply")
            && let Some(range) = fed.free
            && let Some(most) = f.max
        {
            let mut row = Row::new(
                What::Input,
                &format!("input from {}", parent.name),
                range.high_v,
                "V",
                self.rail.span,
            );
            row.high = Some(most);
            row.source = f.source.to_string();
            row.working = format!("{} at its highest", shown(range.high_v, "V"));
            rows.push(row);
        }
        rows
    }

    /// Its voltage at the parts that it feeds.
    fn parts(&self) -> Vec<Row> {
        let mut rows = Vec::new();
        let Some(free) = self.state.free else {
            return rows;
        };
        for (name, f, span) in self.fed_parts() {
            let name = format!("supply of {name}");
            if let Some(low) = f.min {
                let mut row = Row::new(What::PartSupply, &name, self.state.low_v, "V", span);
                row.low = Some(low);
                row.source = f.source.to_string();
                row.working = format!("{} at its lowest", shown(self.state.low_v, "V"));
                rows.push(row);
            }
            if let Some(high) = f.max {
                let mut row = Row::new(What::PartSupply, &name, free.high_v, "V", span);
                row.high = Some(high);
                row.source = f.source.to_string();
                row.working = format!("{} at its highest", shown(free.high_v, "V"));
                rows.push(row);
            }
        }
        rows
    }

    /// What hangs on the rail and states the range of its supply: its name,
    /// that range, its place. Amplifiers have checks of their own.
    fn fed_parts(&self) -> Vec<(String, &parts::Figure, Span)> {
        let mut list = Vec::new();
        for d in &self.board.devices {
            if let (true, Some(f)) = (d.supply == Some(self.i), d.part.figure("supply")) {
                list.push((d.name.clone(), f, d.span));
            }
        }
        let here = Some(Supply::Rail(self.i));
        for c in &self.board.channels {
            // A part that measures several quantities is looked at once.
            let of_device = c
                .sensor
                .part
                .as_ref()
                .is_some_and(|p| self.board.devices.iter().any(|d| d.part.id == p.id));
            if let (true, Some(f)) = (
                c.sensor.supply == here && !of_device,
                c.sensor.figures.get("supply"),
            ) {
                list.push((format!("the sensor of {}", c.name), f, c.sensor.span));
            }
        }
        list
    }

    /// Capacitance on the rail at most, F.
    fn capacitance(&self) -> f64 {
        let reservoir = self
            .rail
            .power
            .reservoir
            .as_ref()
            .map_or(0.0, |r| limits(&r.capacitance.value).1);
        let pins: f64 = self
            .board
            .devices
            .iter()
            .filter(|d| d.supply == Some(self.i))
            .filter_map(|d| d.draws.decoupling_f.as_ref().map(|c| c.value))
            .sum();
        reservoir + pins
    }

    fn start(&self) -> Vec<Row> {
        let mut rows = Vec::new();
        let farad = self.capacitance();
        let Some(range) = self.state.free else {
            return rows;
        };
        let volt = range.high_v;
        if farad <= 0.0 {
            return rows;
        }
        let place = self
            .rail
            .power
            .reservoir
            .as_ref()
            .map_or(self.rail.span, |r| r.capacitance.span);
        let limit = self.start_limit();
        let load = self.state.usual_a;
        if let Some(start) = &self.rail.power.start_s {
            let ampere = farad * volt / start.value;
            let mut row = Row::new(What::Inrush, "inrush", ampere + load, "A", start.span);
            row.high = limit.as_ref().map(|l| l.0);
            row.working = format!(
                "{} · {} / {} = {}, and {} of load",
                shown(farad, "F"),
                shown(volt, "V"),
                shown(start.value, "s"),
                shown(ampere, "A"),
                shown(load, "A")
            );
            if let Some((most, source, _)) = &limit {
                row.source.clone_from(source);
                // The time in which the limit would fill it.
                row.help = (most > &load).then(|| farad * volt / (most - load));
                row.help_unit = "s";
            }
            rows.push(row);
        } else if self.state.feed.least_ohm > 0.0
            && !matches!(self.rail.source, RailSource::Regulator { .. })
        {
            let esr = self
                .rail
                .power
                .reservoir
                .as_ref()
                .and_then(|r| r.esr.as_ref())
                .map_or(0.0, |e| limits(&e.value).0);
            let ohm = self.state.feed.least_ohm + esr;
            let ampere = volt / ohm;
            let mut row = Row::new(What::Inrush, "inrush, switched on hard", ampere, "A", place);
            row.high = limit.as_ref().map(|l| l.0);
            row.working = format!(
                "{} / {} = {}",
                shown(volt, "V"),
                shown(ohm, "Ω"),
                shown(ampere, "A")
            );
            if let Some((most, source, _)) = &limit {
                row.source.clone_from(source);
                row.help = (most > &load).then(|| farad * volt / (most - load));
                row.help_unit = "s";
            }
            rows.push(row);
        }
        if let (RailSource::Direct { from }, true) = (&self.rail.source, self.rail.power.switched)
            && self.rail.power.start_s.is_none()
            && let Some(parent) = self.board.rails.get(*from)
            && let Some(reservoir) = &parent.power.reservoir
        {
            // C1·V / (C1 + C2): what the two capacitors agree on.
            let own = limits(&reservoir.capacitance.value).0;
            let after = volt * own / (own + farad);
            let mut row = Row::new(
                What::Sharing,
                &format!("{} as {} is switched on", parent.name, self.rail.name),
                after,
                "V",
                place,
            );
            row.low = self.fed_floor(*from).or(Some(volt * (1.0 - DROOP)));
            row.source = "parts on the rail, else 5 % of it (common practice)".to_owned();
            row.working = format!(
                "{} · {} / ({} + {}) = {}",
                shown(volt, "V"),
                shown(own, "F"),
                shown(own, "F"),
                shown(farad, "F"),
                shown(after, "V")
            );
            rows.push(row);
        }
        rows
    }

    /// Highest of the lowest voltages that what hangs on a rail bears, V.
    fn fed_floor(&self, rail: usize) -> Option<f64> {
        let parts = self
            .board
            .devices
            .iter()
            .filter(|d| d.supply == Some(rail))
            .filter_map(|d| d.part.figure("supply")?.min);
        let regulators = self.board.rails.iter().filter_map(|r| match &r.source {
            RailSource::Regulator { from, part } if *from == rail => {
                let set = r.voltage.as_ref().map(|v| v.value.nominal).or_else(|| {
                    part.figure("output-voltage")
                        .and_then(parts::Figure::typical)
                })?;
                Some(set + dropout(part.figure("dropout"), set))
            }
            _ => None,
        });
        parts.chain(regulators).max_by(f64::total_cmp)
    }

    fn bursts(&self) -> impl Iterator<Item = &Burst> {
        let devices = self
            .board
            .devices
            .iter()
            .filter(|d| d.supply == Some(self.i))
            .flat_map(|d| &d.draws.bursts);
        self.rail.power.bursts.iter().chain(devices)
    }

    fn droops(&self) -> Vec<Row> {
        let Some(free) = self.state.free else {
            return Vec::new();
        };
        let all: f64 = self.bursts().map(|b| b.current_a).sum();
        // Without any of them.
        let low = if self.rail.power.reservoir.is_some() {
            self.state.low_v
        } else {
            self.state.low_v + all * self.state.feed.most_ohm
        };
        let (allowed, source) = match (&self.rail.power.droop_v, self.fed_floor(self.i)) {
            (Some(d), _) => (d.value, "droop in the board file".to_owned()),
            (None, Some(floor)) if low > floor => (
                low - floor,
                format!("the part that needs most, {}", shown(floor, "V")),
            ),
            (None, _) => (
                DROOP * free.nominal_v,
                "5 % of the rail (common practice)".to_owned(),
            ),
        };
        self.bursts()
            .filter_map(|b| self.droop(b, allowed, &source))
            .collect()
    }

    fn droop(&self, b: &Burst, allowed: f64, source: &str) -> Option<Row> {
        let mut row = Row::new(What::Droop, &b.name, 0.0, "V", b.span);
        row.high = Some(allowed);
        row.source = source.to_owned();
        row.help_unit = "F";
        if let Some(r) = &self.rail.power.reservoir {
            let farad = limits(&r.capacitance.value).0;
            let esr = r.esr.as_ref().map_or(0.0, |e| limits(&e.value).1);
            let regulated = matches!(
                self.rail.source,
                RailSource::Regulator { .. } | RailSource::Switching { .. }
            );
            let lacking = self.lacking(b);
            // A regulator gives nothing more until it has answered.
            let alone_s = if regulated {
                b.for_s.min(ANSWER_S)
            } else {
                0.0
            };
            let mut charge = b.current_a * alone_s + lacking * (b.for_s - alone_s);
            let ohm = self.state.feed.most_ohm;
            if ohm > 0.0 && !regulated && self.source_limit().is_none() {
                // Behind a resistance alone: I·R·(1 − exp(−t/(R·C))).
                let share = 1.0 - elementary::exp(-b.for_s / (ohm * farad));
                charge = b.current_a * ohm * share * farad;
            }
            row.value = charge / farad + b.current_a * esr;
            row.working = format!(
                "the reservoir gives {} of {} · {}: {} / {} + {} · {} = {}",
                shown(charge, "C"),
                shown(b.current_a, "A"),
                shown(b.for_s, "s"),
                shown(charge, "C"),
                shown(farad, "F"),
                shown(b.current_a, "A"),
                shown(esr, "Ω"),
                shown(row.value, "V")
            );
            let left = allowed - b.current_a * esr;
            row.help = (left > 0.0)
                .then(|| charge / left)
                .and_then(|c| Series::E6.at_least(c));
            return Some(row);
        }
        let ohm = self.state.feed.most_ohm;
        row.value = b.current_a * ohm;
        row.working = format!(
            "{} · {} = {}",
            shown(b.current_a, "A"),
            shown(ohm, "Ω"),
            shown(row.value, "V")
        );
        row.help = Series::E6.at_least(b.current_a * b.for_s / allowed);
        (ohm > 0.0).then_some(row)
    }

    fn decoupling(&self) -> Vec<Row> {
        let mut rows = Vec::new();
        for d in &self.board.devices {
            if d.supply != Some(self.i) {
                continue;
            }
            if let Some(f) = d.part.figure("decoupling")
                && let Some(asked) = f.min.or_else(|| f.typical())
            {
                let fitted = d.draws.decoupling_f.as_ref().map_or(0.0, |c| c.value);
                let span = d.draws.decoupling_f.as_ref().map_or(d.span, |c| c.span);
                let mut row = Row::new(What::Decoupling, &d.name, fitted, "F", span);
                row.low = Some(asked);
                row.source = f.source.to_string();
                row.help = Some(asked);
                row.help_unit = "F";
                row.working = if fitted > 0.0 {
                    format!("{} fitted", shown(fitted, "F"))
                } else {
                    "none is written".to_owned()
                };
                rows.push(row);
            }
        }
        if let RailSource::Regulator { part, .. } = &self.rail.source
            && let Some(f) = part.figure("load-capacitance")
            && let Some(asked) = f.min.or_else(|| f.typical())
            && let Some(r) = &self.rail.power.reservoir
        {
            let fitted = limits(&r.capacitance.value).0;
            let mut row = Row::new(
                What::OutputCapacitor,
                &part.id,
                fitted,
                "F",
                r.capacitance.span,
            );
            row.low = Some(asked);
            row.source = f.source.to_string();
            row.help = Series::E6.at_least(asked);
            row.help_unit = "F";
            row.working = format!("{} at its least", shown(fitted, "F"));
            rows.push(row);
        }
        rows
    }

    fn battery(&self) -> Vec<Row> {
        let Some(b) = &self.rail.power.battery else {
            return Vec::new();
        };
        let Some(capacity) = &b.capacity_as else {
            return Vec::new();
        };
        let charge = capacity.value * f64::from(b.strings) * b.usable;
        let ampere = self.state.average_a;
        if ampere <= 0.0 {
            return Vec::new();
        }
        // dQ/dt = −I − s·Q runs out at ln(1 + s·Q/I)/s.
        let s = b.self_discharge_per_s;
        let life = if s > 0.0 {
            elementary::ln(1.0 + s * charge / ampere) / s
        } else {
            charge / ampere
        };
        let mut row = Row::new(What::BatteryLife, "battery life", life, "s", b.span);
        if let Some(asked) = &b.life_s {
            row.low = Some(asked.value);
            row.span = asked.span;
            row.help = Some(charge / asked.value);
            row.help_unit = "A";
        }
        row.working = format!(
            "{} at {} on average",
            shown(charge / 3600.0, "A·h"),
            shown(ampere, "A")
        );
        vec![row]
    }

    fn ripple(&self) -> Vec<Row> {
        let RailSource::Regulator { part, from } = &self.rail.source else {
            return Vec::new();
        };
        let Some(before) = self
            .board
            .rails
            .get(*from)
            .and_then(|r| r.power.ripple.as_ref())
        else {
            return Vec::new();
        };
        let Some(f) = part.figure("supply-rejection") else {
            return Vec::new();
        };
        // The least rejection that is printed: of its frequency nothing is
        // known here.
        let least = f
            .min
            .into_iter()
            .chain(f.points.iter().map(|p| p.1))
            .chain(f.typ)
            .min_by(f64::total_cmp);
        let Some(ratio) = least.filter(|r| *r > 1.0) else {
            return Vec::new();
        };
        let volt = limits(&before.value).1;
        let mut row = Row::new(
            What::Ripple,
            "ripple behind the regulator",
            volt / ratio,
            "V",
            before.span,
        );
        row.source = f.source.to_string();
        row.working = format!(
            "{} / {ratio:.0}, the least rejection that is printed",
            shown(volt, "V")
        );
        vec![row]
    }
}
