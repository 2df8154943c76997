//! What disturbing tones leave in the readings.

use board::{Board, Channel};
use chain::channel::{CODE, READING, VOLT};
use chain::time::interferer::{
    self, Arrival, Disturbance, Family, Interference, Off, Readout, decibel,
};
use report::interference::{
    Avoid, DataRate, Disturbed, Explanation, Readout as Shown, Residue, Seen, Tone, Window,
};
use report::number;

use crate::BudgetFault;
use crate::study::Study;
use crate::words;

/// Share of an interferer's amplitude that averaging may keep outside the
/// bands to avoid.
const KEPT: f64 = 0.1;

/// Bands listed; their number is told.
const BANDS: usize = 8;

/// Averages listed.
const WINDOWS: usize = 10;

/// Longest average looked at where nothing says how long one may be, s.
const LONGEST_S: f64 = 0.2;

/// Conversions in a period of the mains beyond which fewer are proposed.
const MOST_PER_PERIOD: f64 = 1024.0;

/// Conversions proposed for each period then: harmonics up to the thirty-first
/// fall into nulls.
const SPREAD: f64 = 32.0;

/// How far a rate of readings that comes from a timer and an oscillator may be
/// off unnoticed: an untrimmed RC oscillator, a divider rounded to whole
/// numbers (common practice).
const RATE_TOLERANCE: f64 = 0.05;

/// How well a frequency seen in readings is known where nothing is said.
const SEEN_TOLERANCE: f64 = 0.02;

/// A tone that somebody sees in the readings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SeenTone {
    /// Where it is seen, Hz.
    pub hz: f64,
    /// How well that is known, Hz.
    pub tolerance_hz: Option<f64>,
}

/// What disturbs one channel, with what a volt of it comes to.
pub(crate) struct Heard {
    pub found: Interference,
    pub slopes: Slopes,
    /// Strictest permitted error, in the unit of errors.
    pub limit: Option<f64>,
    /// Share of it from which on a cause is told.
    known_error: f64,
    /// Peak taken of tones of unknown size, V.
    pub pickup_v: f64,
}

impl Heard {
    /// `None` where nothing disturbs the channel, or nothing says when it is
    /// read.
    pub fn of(study: &Study<'_>) -> Option<Self> {
        let (board, channel) = (study.board, study.channel);
        // What alternates is not told from a tone of its own frequency.
        if board.interferers.is_empty() || channel.input.is_none() || channel.ac.is_some() {
            return None;
        }
        let found = interferer::interference(board, channel).ok()?;
        Some(Heard {
            found,
            slopes: Slopes::of(study),
            limit: strictest(channel),
            known_error: board.judging.known_error,
            pickup_v: board.judging.pickup_v,
        })
    }

    /// How many times what is worth telling a peak at the converter is: the
    /// share of the permitted error, one code where nothing is asked.
    pub fn times_worth_telling(&self, peak_v: f64) -> f64 {
        let times = match self.limit.zip(self.slopes.unit_per_volt) {
            Some((limit, slope)) => peak_v * slope / (self.known_error * limit),
            None => peak_v * self.slopes.codes_per_volt.unwrap_or(0.0),
        };
        if times.is_finite() { times } else { 0.0 }
    }

    /// Peak of one of a disturbance's tones at the converter, V; that of the
    /// pickup taken where it is not known.
    pub fn peak_v(&self, a: &Arrival) -> f64 {
        a.amplitude.unwrap_or(self.pickup_v * a.response * a.kept)
    }

    /// A peak at the converter in words: in codes, and in the quantity.
    pub fn peak_words(&self, peak_v: f64, unit: &str) -> String {
        let codes = self
            .slopes
            .codes_per_volt
            .map(|s| format!("{} codes", quantity::plain(s * peak_v, 3)));
        let size = self
            .slopes
            .unit_per_volt
            .map(|s| number::measured(s * peak_v, unit, 3));
        match (size, codes) {
            (Some(size), Some(codes)) => format!("{size}, {codes}"),
            (Some(only), None) | (None, Some(only)) => only,
            (None, None) => number::measured(peak_v, "V", 3),
        }
    }

    /// What takes a disturbance down by a factor: averaging over whole
    /// periods, another data rate, a filter.
    pub fn remedies(&self, study: &Study<'_>, d: &Disturbance, times: f64) -> Vec<String> {
        let readout = &self.found.timing.readout;
        let family = std::slice::from_ref(&d.family);
        let mut list = Vec::new();
        let period_s = 1.0 / d.family.nominal_hz;
        let rate_known = self.found.timing.rate_span.is_some();
        if let Some(filter) = readout.filter {
            let rates = interferer::data_rates(study.board, study.channel);
            let best = interferer::rejections(family, &rates, filter.order)
                .into_iter()
                .filter(|r| !rate_known || r.data_rate_hz >= readout.reading_rate_hz)
                .find(|r| r.kept < 0.5 * filter_keeps(readout, d));
            if let Some(r) = best {
                list.push(format!(
                    "data-rate = \"{} /s\": its notches damp {} by {} dB at least",
                    number::short(r.data_rate_hz),
                    d.name,
                    number::fixed(-decibel(r.kept), 0)
                ));
            }
        } else if d.is_mains {
            match windows(family, readout, rate_known).first() {
                Some(w) => {
                    let db = w.now_db.unwrap_or(w.exact_db);
                    list.push(format!(
                        "the mean of {} conversions over {}, a whole period{}: damps by {} dB at least",
                        w.count,
                        number::amount(w.seconds, "s"),
                        if w.now_db.is_some() {
                            String::new()
                        } else {
                            format!(", spread evenly at {} a second", number::short(w.rate_hz))
                        },
                        number::fixed(db, 0)
                    ));
                }
                None => list.push(format!(
                    "the mean of conversions over {}, a whole period; readings may then come at most {} times a second",
                    number::amount(period_s, "s"),
                    number::short(d.family.nominal_hz)
                )),
            }
        }
        if times > 1.0 {
            let db = number::fixed(decibel(times), 0);
            if d.on.starts_with("rail") {
                list.push(format!("a filter in {} that damps by {db} dB", d.on));
            } else {
                // One pole: 1/√(1 + (f/f0)²) is the share wanted.
                let corner_hz = d.family.low_hz / (times * times - 1.0).sqrt();
                list.push(format!(
                    "or a low-pass at {} or below before the converter, which damps the fundamental by {db} dB",
                    number::measured(corner_hz, "Hz", 2)
                ));
            }
        }
        list
    }
}

/// What filter and averaging keep of the worst of a disturbance's tones.
fn filter_keeps(readout: &Readout, d: &Disturbance) -> f64 {
    d.arrivals
        .iter()
        .map(|a| readout.largest(a.hz.0, a.hz.2))
        .fold(0.0, f64::max)
}

/// What disturbing tones leave in the readings of all channels that enter a
/// converter, or of one.
///
/// # Errors
/// There is no channel of that name.
pub fn interference(
    board: &Board,
    name: Option<&str>,
    seen: Option<SeenTone>,
) -> Result<report::Interference, BudgetFault> {
    let asked: Vec<&Channel> = match name {
        Some(name) => match board.channels.iter().find(|c| c.name == name) {
            Some(c) => vec![c],
            None => {
                let known = board.channels.iter().map(|c| c.name.clone()).collect();
                return Err(BudgetFault::NoChannel(known));
            }
        },
        None => board
            .channels
            .iter()
            .filter(|c| c.input.is_some())
            .collect(),
    };
    let mut result = report::Interference {
        version: report::VERSION,
        board: board.name.clone(),
        channels: Vec::new(),
        without: Vec::new(),
    };
    for channel in asked {
        match one(board, channel, seen) {
            Ok(found) => result.channels.push(found),
            Err(fault) => result.without.push((channel.name.clone(), fault.message)),
        }
    }
    Ok(result)
}

/// What a volt at the converter is in codes and in the quantity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Slopes {
    /// In the unit of the channel's errors, the largest over the span.
    pub unit_per_volt: Option<f64>,
    /// The largest over the span.
    pub codes_per_volt: Option<f64>,
}

impl Slopes {
    /// By small steps at both ends of the span and in its middle.
    pub fn of(study: &Study<'_>) -> Self {
        let (low, high) = study.channel.span.value;
        let step = 1e-3 * (high - low);
        let mut slopes = Slopes {
            unit_per_volt: None,
            codes_per_volt: None,
        };
        for from in [low, 0.5 * (low + high), high - step] {
            let change = |output: usize| {
                study.at_quantity(output, from + step) - study.at_quantity(output, from)
            };
            let volt = change(VOLT);
            let larger = |old: Option<f64>, output: usize| {
                let slope = (change(output) / volt).abs();
                if slope.is_finite() {
                    Some(old.map_or(slope, |o| o.max(slope)))
                } else {
                    old
                }
            };
            slopes = Slopes {
                unit_per_volt: larger(slopes.unit_per_volt, READING),
                codes_per_volt: larger(slopes.codes_per_volt, CODE),
            };
        }
        slopes.unit_per_volt = slopes
            .unit_per_volt
            .map(|s| study.channel.unit.number_of_difference(s));
        slopes
    }

    /// What a tone's peak comes to, alone or with others.
    fn residue(self, peak_v: f64, deviation_v: f64) -> Residue {
        Residue {
            peak_v,
            peak_codes: self.codes_per_volt.map(|s| s * peak_v),
            peak: self.unit_per_volt.map(|s| s * peak_v),
            u: self.unit_per_volt.map(|s| s * deviation_v),
        }
    }
}

/// The strictest permitted error over the span, in the unit of errors.
pub(crate) fn strictest(channel: &Channel) -> Option<f64> {
    let (low, high) = channel.span.value;
    let at = |q: f64| channel.limit_at(q);
    let least = at(low)?.min(at(high)?).min(at(0.5 * (low + high))?);
    Some(channel.unit.number_of_difference(least))
}

fn one(
    board: &Board,
    channel: &Channel,
    seen: Option<SeenTone>,
) -> Result<Disturbed, chain::channel::Unmodelled> {
    let found = interferer::interference(board, channel)?;
    let study = Study::new(board, channel)?;
    let slopes = Slopes::of(&study);
    let limit = strictest(channel);
    let readout = &found.timing.readout;
    let rate_known = found.timing.rate_span.is_some();
    let tones = found
        .list
        .iter()
        .flat_map(|d| {
            d.arrivals.iter().zip(&d.relative).map(|(a, relative)| {
                let shown = tone(board, d, a, *relative, slopes, limit);
                if rate_known { shown } else { unseen(shown) }
            })
        })
        .collect();
    let known = found.together.peak > 0.0;
    let mains: Vec<Family> = found
        .list
        .iter()
        .filter(|d| d.is_mains)
        .map(|d| d.family.clone())
        .collect();
    let mut taken = found.timing.taken.clone();
    taken.extend(found.taken.iter().cloned());
    Ok(Disturbed {
        channel: channel.name.clone(),
        unit: words::error_unit(channel).to_owned(),
        readout: Shown {
            sample_rate_hz: readout.sample_rate_hz,
            count: readout.count,
            window_s: readout.window_s(),
            reading_rate_hz: rate_known.then_some(readout.reading_rate_hz),
            filter_order: readout.filter.map(|f| f.order),
            filter_notch_hz: readout.filter.map(|f| f.notch_hz),
        },
        unit_per_volt: slopes.unit_per_volt,
        codes_per_volt: slopes.codes_per_volt,
        limit,
        known_error: board.judging.known_error,
        tones,
        together: known.then(|| slopes.residue(found.together.peak, found.together.deviation)),
        windows: windows(&mains, readout, rate_known),
        both_grids: both_grids(&mains)
            .and_then(|grids| windows(&grids, readout, rate_known).first().copied()),
        data_rates: data_rates(board, channel, &mains, readout),
        avoid: found
            .list
            .iter()
            .filter_map(|d| avoid(d, readout))
            .collect(),
        seen: seen
            .filter(|_| rate_known)
            .map(|s| explained(s, &found.list, readout)),
        taken,
    })
}

fn tone(
    board: &Board,
    d: &Disturbance,
    a: &Arrival,
    relative: f64,
    slopes: Slopes,
    limit: Option<f64>,
) -> Tone {
    let share = a.response * a.kept;
    let bearable = limit
        .zip(slopes.unit_per_volt)
        .map(|(limit, slope)| board.judging.known_error * limit / (slope * share));
    Tone {
        source: d.name.clone(),
        on: d.on.clone(),
        number: a.number,
        low_hz: a.hz.0,
        nominal_hz: a.hz.1,
        high_hz: a.hz.2,
        response: a.response,
        chain_db: -decibel(relative),
        averaging_nominal_db: -decibel(a.kept_nominal),
        averaging_db: a.kept_db(),
        seen_low_hz: Some(a.alias_hz.0),
        seen_high_hz: Some(a.alias_hz.1),
        seen_nominal_hz: Some(a.alias_nominal_hz),
        stands_still: a.stands_still,
        amplitude_v: d.family.amplitude(a.number),
        left: a
            .amplitude
            .map(|v| slopes.residue(v, v * std::f64::consts::FRAC_1_SQRT_2)),
        bearable_v: bearable.filter(|v| v.is_finite()),
    }
}

/// A tone of which nobody knows where it shows.
fn unseen(tone: Tone) -> Tone {
    Tone {
        seen_low_hz: None,
        seen_high_hz: None,
        seen_nominal_hz: None,
        stands_still: false,
        ..tone
    }
}

/// Averages of a sampling converter that null the mains, up to what the time
/// between readings holds.
fn windows(mains: &[Family], readout: &Readout, rate_known: bool) -> Vec<Window> {
    if readout.filter.is_some() {
        return Vec::new();
    }
    let longest_s = if rate_known {
        (1.0 / readout.reading_rate_hz).min(LONGEST_S)
    } else {
        LONGEST_S
    };
    // What would take thousands of conversions is better spread over the time.
    let slowest_hz = mains
        .iter()
        .map(|f| f.nominal_hz)
        .fold(f64::INFINITY, f64::min);
    let is_spread = readout.sample_rate_hz > MOST_PER_PERIOD * slowest_hz;
    let rate_hz = if is_spread {
        SPREAD * slowest_hz
    } else {
        readout.sample_rate_hz
    };
    interferer::null_windows(mains, rate_hz, longest_s, WINDOWS)
        .into_iter()
        .map(|w| Window {
            seconds: w.seconds,
            count: w.count,
            rate_hz: w.rate_hz,
            now_db: (!is_spread).then(|| -decibel(w.kept)),
            exact_db: -decibel(w.kept_exact),
        })
        .collect()
}

/// The grids of 50 Hz and of 60 Hz as the board takes its own.
fn both_grids(mains: &[Family]) -> Option<[Family; 2]> {
    let own = mains
        .iter()
        .find(|f| f.nominal_hz == 50.0 || f.nominal_hz == 60.0)?;
    Some([50.0, 60.0].map(|hz| Family {
        low_hz: hz * own.low_hz / own.nominal_hz,
        nominal_hz: hz,
        high_hz: hz * own.high_hz / own.nominal_hz,
        ..own.clone()
    }))
}

fn data_rates(
    board: &Board,
    channel: &Channel,
    mains: &[Family],
    readout: &Readout,
) -> Vec<DataRate> {
    let (Some(filter), false) = (readout.filter, mains.is_empty()) else {
        return Vec::new();
    };
    let mut rates = interferer::data_rates(board, channel);
    let used = readout.sample_rate_hz;
    // A part with a notch of its own and no rates to choose from.
    if rates.is_empty() && (filter.notch_hz / used - 1.0).abs() > 1e-9 {
        return Vec::new();
    }
    let is_used = |hz: f64| (hz / used - 1.0).abs() < 1e-9;
    if !rates.iter().any(|hz| is_used(*hz)) {
        rates.push(used);
    }
    interferer::rejections(mains, &rates, filter.order)
        .into_iter()
        .map(|r| DataRate {
            rate_hz: r.data_rate_hz,
            nominal_db: -decibel(r.kept_nominal),
            worst_db: -decibel(r.kept),
            used: is_used(r.data_rate_hz),
        })
        .collect()
}

/// Where an interferer above the conversion rate must not lie; only averages
/// leave room beside the multiples of the rate.
fn avoid(d: &Disturbance, readout: &Readout) -> Option<Avoid> {
    let family = &d.family;
    if d.is_mains || family.low_hz < 0.5 * readout.sample_rate_hz {
        return None;
    }
    let range_hz = (family.low_hz, family.high_hz);
    let found = interferer::to_avoid(readout.sample_rate_hz, readout.count, KEPT, range_hz, BANDS)?;
    Some(Avoid {
        source: d.name.clone(),
        range_hz,
        rate_hz: readout.sample_rate_hz,
        half_width_hz: found.half_width_hz,
        kept: KEPT,
        bands_hz: found.bands_hz,
        count: found.count,
        covered: found.covered,
    })
}

/// What a tone seen in the readings may be.
fn explained(seen: SeenTone, list: &[Disturbance], readout: &Readout) -> Seen {
    let tolerance_hz = seen.tolerance_hz.unwrap_or(SEEN_TOLERANCE * seen.hz);
    let rate_hz = readout.reading_rate_hz;
    let mut explanations = Vec::new();
    let mut still = Vec::new();
    for d in list {
        let f = &d.family;
        let range = (f.low_hz, f.nominal_hz, f.high_hz);
        let found = interferer::explain_tone(
            seen.hz,
            tolerance_hz,
            range,
            rate_hz,
            RATE_TOLERANCE,
            f.harmonics,
        );
        explanations.extend(found.into_iter().map(|e| {
            Explanation {
                source: d.name.clone(),
                number: e.harmonic,
                multiple: e.multiple,
                off: match e.off {
                    Off::Nothing => "nothing",
                    Off::Fundamental => "frequency",
                    Off::Rate => "rate",
                }
                .to_owned(),
                fundamental_hz: e.fundamental_hz,
                rate_hz: e.rate_hz,
                stretch: e.stretch,
                plausible: e.plausible(),
                moves_hz: e.moves_hz,
            }
        }));
        still.extend(
            interferer::zero_beats(f.nominal_hz, rate_hz, f.harmonics)
                .into_iter()
                .map(|(n, m)| (d.name.clone(), n, m)),
        );
    }
    explanations.sort_by(|a, b| {
        a.stretch
            .total_cmp(&b.stretch)
            .then(a.number.cmp(&b.number))
    });
    Seen {
        hz: seen.hz,
        tolerance_hz,
        rate_tolerance: RATE_TOLERANCE,
        explanations,
        still,
    }
}
