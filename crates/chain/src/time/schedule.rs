//! When each channel of a converter has its turn.

use board::{Acquisition, Board, ScanSpec};
use parts::{ConverterUnit, Figure};

/// One channel's turn in a sequence.
#[derive(Clone, Debug, PartialEq)]
pub struct Turn {
    /// Its number on the board.
    pub channel: usize,
    /// Time the sample capacitor is connected, s; zero for a converter that
    /// averages by its nature.
    pub acquire_s: f64,
    /// Acquisition in clocks of the converter, where the part counts it so.
    pub cycles: Option<f64>,
    /// Time from the end of acquisition to the code, s.
    pub convert_s: f64,
    /// Results a second of a converter that averages, Hz.
    pub data_rate_hz: Option<f64>,
    /// Conversions in a row.
    pub repeats: u32,
    /// The file says how long it acquires.
    pub stated: bool,
}

impl Turn {
    /// How long it lasts, s.
    #[must_use]
    pub fn seconds(&self) -> f64 {
        f64::from(self.repeats) * (self.acquire_s + self.convert_s)
    }
}

/// Something of the settings that the part does not do.
#[derive(Clone, Debug, PartialEq)]
pub enum Misfit {
    /// The clock, Hz, lies outside of what the part allows.
    Clock {
        /// What is set, Hz.
        hz: f64,
        /// Lowest and highest, Hz.
        limits: (Option<f64>, Option<f64>),
    },
    /// The acquisition is none of those that can be set.
    Acquisition {
        /// Number of the channel on the board.
        channel: usize,
        /// What is set, clocks.
        cycles: f64,
        /// The nearest above it, clocks; the longest where there is none.
        nearest: f64,
        /// All of them, clocks.
        choices: Vec<f64>,
    },
    /// A shorter acquisition than the part allows, s.
    TooShort {
        /// Number of the channel on the board.
        channel: usize,
        /// What is set, s.
        seconds: f64,
        /// The least, s.
        least_s: f64,
    },
    /// A sequence takes longer than the time after which the next begins.
    Overrun {
        /// How long it takes, s.
        busy_s: f64,
        /// After how long the next begins, s.
        every_s: f64,
    },
    /// The data rate is none of those that can be set.
    DataRate {
        /// Number of the channel on the board.
        channel: usize,
        /// What is set, Hz.
        hz: f64,
        /// All of them, Hz.
        choices: Vec<f64>,
    },
}

/// A converter's sequence.
#[derive(Clone, Debug, PartialEq)]
pub struct Schedule {
    /// Number of the device on the board.
    pub device: usize,
    /// Number of its converter unit.
    pub unit: usize,
    /// Clock of the converter, Hz; `None` where the part counts no clocks.
    pub clock_hz: Option<f64>,
    /// The file states the clock.
    pub clock_stated: bool,
    /// Channels in their turn.
    pub turns: Vec<Turn>,
    /// Time one sequence takes, s.
    pub busy_s: f64,
    /// Time from one sequence to the next, s.
    pub period_s: f64,
    /// What cannot be as it is set.
    pub misfits: Vec<Misfit>,
    /// Acquisitions that can be set, s.
    pub choices_s: Vec<f64>,
}

impl Schedule {
    /// How often each channel is read, Hz.
    #[must_use]
    pub fn rate_hz(&self) -> f64 {
        1.0 / self.period_s
    }

    /// The turn of a channel.
    #[must_use]
    pub fn turn(&self, channel: usize) -> Option<&Turn> {
        self.turns.iter().find(|t| t.channel == channel)
    }
}

/// What is known of a unit's timing.
struct Times<'a> {
    board: &'a Board,
    unit: &'a ConverterUnit,
    scan: ScanSpec,
    clock_hz: Option<f64>,
    choices: Vec<f64>,
}

/// Sequences of all converters whose times are known, in the order of the
/// file.
#[must_use]
pub fn schedules(board: &Board) -> Vec<Schedule> {
    let mut units: Vec<(usize, usize)> = Vec::new();
    for input in board.channels.iter().filter_map(|c| c.input.as_ref()) {
        if !units.contains(&(input.device, input.unit)) {
            units.push((input.device, input.unit));
        }
    }
    units
        .into_iter()
        .filter_map(|(device, unit)| schedule(board, device, unit))
        .collect()
}

/// The sequence of one converter; `None` where its part does not say how long
/// a conversion takes.
#[must_use]
pub fn schedule(board: &Board, device: usize, unit: usize) -> Option<Schedule> {
    let part = &board.devices.get(device)?.part;
    let converter = part.converters.get(unit)?;
    let scan = board.scan_of(device);
    let mut order: Vec<usize> = scan.order.iter().map(|c| c.value).collect();
    let own = |i: usize| {
        let input = board.channels.get(i).and_then(|c| c.input.as_ref());
        input.is_some_and(|n| n.device == device && n.unit == unit)
    };
    order.retain(|&i| own(i));
    for i in (0..board.channels.len()).filter(|&i| own(i)) {
        if !order.contains(&i) {
            order.push(i);
        }
    }
    let mut misfits = Vec::new();
    let figure = |name: &str| {
        let own = converter.figures.get(name);
        own.or_else(|| part.figures.get(name))
    };
    let clock = figure("clock");
    let stated = scan.clock_hz.as_ref().map(|c| {
        let by = scan.prescaler.as_ref().map_or(1, |p| p.value.max(1));
        c.value / f64::from(by)
    });
    let clock_hz = stated.or_else(|| clock.and_then(|f| f.max.or_else(|| f.typical())));
    if let (Some(hz), Some(f)) = (stated, clock)
        && (f.max.is_some_and(|m| hz > m * (1.0 + ROUNDING))
            || f.min.is_some_and(|m| hz < m * (1.0 - ROUNDING)))
    {
        misfits.push(Misfit::Clock {
            hz,
            limits: (f.min, f.max),
        });
    }
    let times = Times {
        board,
        unit: converter,
        choices: figure("sample-cycles").map_or_else(Vec::new, |f| f.choices.clone()),
        scan,
        clock_hz,
    };
    let rate = order
        .iter()
        .filter_map(|&i| board.channels[i].rate_hz.as_ref().map(|r| r.value))
        .reduce(f64::max);
    let every = times.scan.every_s.as_ref().map(|e| e.value);
    let every = every.or_else(|| rate.map(|r| 1.0 / r));
    let turns = if converter.delta_sigma {
        times.averaging(&order, every, &mut misfits)?
    } else {
        times.sampling(&order, every, &figure, &mut misfits)?
    };
    let busy_s: f64 = turns.iter().map(Turn::seconds).sum();
    if let Some(every_s) = every
        && busy_s > every_s * (1.0 + ROUNDING)
    {
        misfits.push(Misfit::Overrun { busy_s, every_s });
    }
    let choices_s = times.clock_hz.map_or_else(Vec::new, |hz| {
        times.choices.iter().map(|n| n / hz).collect()
    });
    Some(Schedule {
        device,
        unit,
        clock_hz,
        clock_stated: stated.is_some(),
        turns,
        busy_s,
        period_s: every.map_or(busy_s, |e| e.max(busy_s)),
        misfits,
        choices_s,
    })
}

/// What is only rounding beside a limit.
const ROUNDING: f64 = 1e-9;

impl Times<'_> {
    /// A converter that samples an instant.
    fn sampling<'f>(
        &self,
        order: &[usize],
        every: Option<f64>,
        figure: &dyn Fn(&str) -> Option<&'f Figure>,
        misfits: &mut Vec<Misfit>,
    ) -> Option<Vec<Turn>> {
        let least = |f: &Figure| f.min.or_else(|| f.typical());
        let period = self.clock_hz.map(|hz| 1.0 / hz);
        let convert_s = match (period, figure("conversion-cycles")) {
            (Some(s), Some(f)) => Some(s * f.max.or_else(|| f.typical())?),
            _ => None,
        };
        let limits = figure("sample-cycles");
        let whole = figure("conversion-time").and_then(|f| f.max.or_else(|| f.typical()));
        let fastest = figure("sample-rate").and_then(|f| f.max.or_else(|| f.typical()));
        let whole = whole.or_else(|| fastest.map(|hz| 1.0 / hz));
        let least_s = match (limits.and_then(least), period) {
            (Some(cycles), Some(s)) => Some(cycles * s),
            _ => figure("sample-time").and_then(least),
        };
        // Where only the whole conversion is stated, what is not acquisition
        // converts.
        let convert_s = convert_s.or_else(|| {
            let whole = whole?;
            Some((whole - least_s.unwrap_or(0.0)).max(0.0))
        })?;
        let repeats = |i: usize| {
            let input = self.board.channels[i].input.as_ref();
            input.map_or(1, |n| n.average.max(1))
        };
        // What nobody stated is taken as long as the rates allow: the best
        // there is.
        let conversions: f64 = order.iter().map(|&i| f64::from(repeats(i))).sum();
        let fits = |s: f64| every.is_none_or(|e| conversions * (s + convert_s) <= e);
        let usual: Option<(f64, Option<f64>)> = match period {
            Some(p) if !self.choices.is_empty() => {
                let mut choices = self.choices.clone();
                choices.sort_by(f64::total_cmp);
                let longest = choices.iter().rev().copied().find(|n| fits(n * p));
                let n = longest.or_else(|| choices.first().copied())?;
                Some((n * p, Some(n)))
            }
            Some(p) => limits.and_then(|f| {
                let n = f.max.filter(|n| fits(n * p)).or_else(|| least(f))?;
                Some((n * p, Some(n)))
            }),
            None => None,
        };
        let usual = usual.or_else(|| Some((least_s?, None)));
        let mut turns = Vec::new();
        for &i in order {
            let own = self.board.channels[i].acquisition.as_ref();
            let stated = own.or(self.scan.acquisition.as_ref()).map(|a| a.value);
            let (acquire_s, cycles) = match (stated, period) {
                (Some(Acquisition::Seconds(s)), p) => {
                    (s, p.filter(|_| !self.choices.is_empty()).map(|p| s / p))
                }
                (Some(Acquisition::Cycles(n)), Some(p)) => (n * p, Some(n)),
                (Some(Acquisition::Cycles(_)), None) | (None, _) => usual?,
            };
            if let (Some(n), Some(_)) = (cycles, stated)
                && !self.choices.is_empty()
                && !self.choices.iter().any(|c| (c / n - 1.0).abs() < SAME)
            {
                let longest = self.choices.iter().copied().fold(0.0, f64::max);
                let above = self.choices.iter().copied().filter(|c| *c > n);
                misfits.push(Misfit::Acquisition {
                    channel: i,
                    cycles: n,
                    nearest: above.reduce(f64::min).unwrap_or(longest),
                    choices: self.choices.clone(),
                });
            } else if let Some(least_s) = least_s
                && acquire_s < least_s * (1.0 - ROUNDING)
            {
                misfits.push(Misfit::TooShort {
                    channel: i,
                    seconds: acquire_s,
                    least_s,
                });
            }
            turns.push(Turn {
                channel: i,
                acquire_s,
                cycles,
                convert_s,
                data_rate_hz: None,
                repeats: repeats(i),
                stated: stated.is_some(),
            });
        }
        Some(turns)
    }

    /// A converter that averages: one result for each period of its data
    /// rate, and several after it was switched to another channel.
    fn averaging(
        &self,
        order: &[usize],
        every: Option<f64>,
        misfits: &mut Vec<Misfit>,
    ) -> Option<Vec<Turn>> {
        let figures = &self.unit.figures;
        let rates = figures.get("data-rates");
        let choices = rates.map_or_else(Vec::new, |f| f.choices.clone());
        let only = figures.get("sample-rate");
        // Rows of a figure may each hold at a rate of their own.
        let at = |name: &str, hz: f64| {
            let f = figures.get(name)?.at_rate(hz)?;
            f.max.or_else(|| f.typical())
        };
        // After a switch the filter still holds what was before: as many
        // outputs as it has orders, unless the part says.
        let outputs = |hz: f64| {
            if order.len() == 1 {
                return 1.0;
            }
            let stated = at("settling-conversions", hz);
            stated.or_else(|| at("filter-order", hz)).unwrap_or(1.0)
        };
        // Once it has settled, every further output counts.
        let repeats = |i: usize| {
            let input = self.board.channels[i].input.as_ref();
            input.map_or(1, |n| n.average.max(1))
        };
        let needed = |i: usize, hz: f64| outputs(hz) - 1.0 + f64::from(repeats(i));
        let set = |i: usize| {
            self.board.channels[i]
                .data_rate_hz
                .as_ref()
                .map(|r| r.value)
        };
        // A sequence reads all of them: those whose rate nobody set share what
        // the others leave of it.
        let taken: f64 = order
            .iter()
            .filter_map(|&i| Some(needed(i, set(i)?) / set(i)?))
            .sum();
        let open = order.iter().filter(|&&i| set(i).is_none()).count();
        let slot_s = every.map(|e| (e - taken) / open.max(1) as f64);
        let mut turns = Vec::new();
        for &i in order {
            let repeats = repeats(i);
            let stated = set(i);
            let needed = |hz: f64| needed(i, hz);
            // The slowest that gives every channel its rate.
            let enough = choices
                .iter()
                .copied()
                .filter(|hz| slot_s.is_none_or(|s| needed(*hz) <= s * hz * (1.0 + ROUNDING)));
            let slowest = enough.reduce(f64::min);
            let fastest = choices.iter().copied().reduce(f64::max);
            let usual = slowest.or(fastest).or_else(|| {
                let (low, high) = limits(only?)?;
                let hz = match slot_s {
                    None => low,
                    Some(s) if s > 0.0 => needed(high) / s,
                    Some(_) => high,
                };
                Some(hz.clamp(low, high))
            });
            let hz = stated.or(usual)?;
            if let Some(hz) = stated
                && !choices.is_empty()
                && !choices.iter().any(|c| (c / hz - 1.0).abs() < SAME_RATE)
            {
                misfits.push(Misfit::DataRate {
                    channel: i,
                    hz,
                    choices: choices.clone(),
                });
            }
            turns.push(Turn {
                channel: i,
                acquire_s: 0.0,
                cycles: None,
                convert_s: needed(hz) / (hz * f64::from(repeats)),
                data_rate_hz: Some(hz),
                repeats,
                stated: stated.is_some(),
            });
        }
        Some(turns)
    }
}

/// Slowest and fastest of all rows of a rate.
fn limits(rate: &Figure) -> Option<(f64, f64)> {
    let rows = || std::iter::once(rate).chain(&rate.alternatives);
    let low = rows().filter_map(|f| f.min.or_else(|| f.typical()));
    let high = rows().filter_map(|f| f.max.or_else(|| f.typical()));
    let (low, high) = (low.reduce(f64::min)?, high.reduce(f64::max)?);
    (0.0 < low && low <= high).then_some((low, high))
}

/// Acquisitions nearer than this are one setting.
const SAME: f64 = 1e-6;
/// Data rates are printed to three digits.
const SAME_RATE: f64 = 5e-3;
