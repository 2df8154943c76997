//! When converters read their channels, and what of it settles.

use board::{Board, ScanStart};
use chain::time::schedule::Misfit;
use chain::time::settle::{Advice, SettledScan, Unsettled};
use chain::time::{Converter, Timing};
use rayon::prelude::*;
use report::{ConverterSchedule, Memory, Schedule, SettlingError, Turn, number};

use crate::{timing, words};

/// Largest settling error taken for none, codes.
const LIMIT_CODES: f64 = 0.25;
/// What is only rounding beside a rate.
const ROUNDING: f64 = 1e-9;

/// The schedule of every converter of a board.
#[must_use]
pub fn schedule(board: &Board) -> Schedule {
    let timing = timing::of(board);
    let mut converters: Vec<ConverterSchedule> = timing
        .converters
        .iter()
        .map(|c| converter(board, &timing, c))
        .collect();
    // Those whose part does not say how long it takes.
    let mut units: Vec<(usize, usize)> = Vec::new();
    for input in board.channels.iter().filter_map(|c| c.input.as_ref()) {
        let unit = (input.device, input.unit);
        let known = timing
            .converters
            .iter()
            .any(|c| (c.schedule.device, c.schedule.unit) == unit);
        if !known && !units.contains(&unit) {
            units.push(unit);
        }
    }
    converters.extend(units.into_iter().map(|(device, unit)| ConverterSchedule {
        name: name(board, device, unit),
        reason: "its part does not say how long a conversion takes".to_owned(),
        ..ConverterSchedule::default()
    }));
    Schedule {
        version: report::VERSION,
        board: board.name.clone(),
        converters,
    }
}

fn name(board: &Board, device: usize, unit: usize) -> String {
    let Some(d) = board.devices.get(device) else {
        return String::new();
    };
    match d.part.converters.get(unit) {
        Some(u) => format!("{}.{}", d.name, u.name),
        None => d.name.clone(),
    }
}

fn converter(board: &Board, timing: &Timing, c: &Converter) -> ConverterSchedule {
    let s = &c.schedule;
    let scan = c.scan.as_ref();
    let sampler = scan.ok().map(|s| &s.sampler);
    let start = match board.scan_of(s.device).start.map(|s| s.value) {
        Some(ScanStart::Discharged) => "nothing on it".to_owned(),
        Some(ScanStart::Volt(v)) => number::about(v, "V"),
        Some(ScanStart::Previous) | None => "what the channel before left".to_owned(),
    };
    let mut assumed = Vec::new();
    if !s.clock_stated
        && let Some(hz) = s.clock_hz
    {
        assumed.push(format!(
            "no clock is written: {} taken, the fastest its part allows; [scan] clock = \"…\"",
            number::about(hz, "Hz")
        ));
    }
    if s.turns.iter().any(|t| !t.stated) {
        assumed.push(
            "where no acquisition or data rate is written, the longest (or slowest) that the rates allow is taken; [scan] acquisition = \"…\", [channels.NAME] data-rate = \"…\""
                .to_owned(),
        );
    }
    if sampler.is_some_and(|f| f.no_switch) {
        assumed.push("its part states no resistance of the switch: none is taken".to_owned());
    }
    let mut from_s = 0.0;
    let begun: Vec<(&chain::time::schedule::Turn, f64)> = s
        .turns
        .iter()
        .map(|t| {
            let own = from_s;
            from_s += t.seconds();
            (t, own)
        })
        .collect();
    // Of all channels together: once is enough.
    let fastest = scan.ok().and_then(SettledScan::fastest);
    let turns = begun
        .into_par_iter()
        .map(|(t, from_s)| turn(board, timing, c, t, from_s, fastest))
        .collect();
    ConverterSchedule {
        name: name(board, s.device, s.unit),
        clock_hz: s.clock_hz,
        sample_farad: sampler.map(|f| f.slowest.farad),
        switch_ohm: sampler.map(|f| f.slowest.ohm),
        start,
        sequence_s: s.busy_s,
        period_s: s.period_s,
        busy: s.busy_s / s.period_s,
        turns,
        fastest_hz: fastest
            .map(|factor| 1.0 / (factor * s.period_s))
            .filter(|hz| hz.is_finite()),
        misfits: s.misfits.iter().map(|m| misfit(board, m)).collect(),
        assumed,
        reason: String::new(),
    }
}

fn turn(
    board: &Board,
    timing: &Timing,
    c: &Converter,
    t: &chain::time::schedule::Turn,
    from_s: f64,
    fastest: Option<f64>,
) -> Turn {
    let channel = &board.channels[t.channel];
    let asked_hz = channel.rate_hz.as_ref().map(|r| r.value);
    let rate_hz = c.schedule.rate_hz();
    let mut out = Turn {
        channel: channel.name.clone(),
        error_unit: words::error_unit(channel).to_owned(),
        from_s,
        acquire_s: t.acquire_s,
        convert_s: t.convert_s,
        repeats: t.repeats,
        rate_hz,
        asked_hz,
        is_in_time: asked_hz.map(|asked| rate_hz >= asked * (1.0 - ROUNDING)),
        limit_codes: LIMIT_CODES,
        ..Turn::default()
    };
    let unit = board
        .devices
        .get(c.schedule.device)
        .and_then(|d| d.part.converters.get(c.schedule.unit));
    if unit.is_some_and(|u| u.delta_sigma) {
        out.reason =
            "its converter averages while it converts: no sample is taken at an instant".to_owned();
        return out;
    }
    let place = match &c.scan {
        Ok(scan) => scan
            .channels
            .iter()
            .position(|u| u.channel == t.channel)
            .map(|k| (scan, k)),
        Err(reason) => {
            out.reason.clone_from(reason);
            return out;
        }
    };
    let Some((scan, k)) = place else {
        out.reason = timing
            .channel(t.channel)
            .map(|s| s.no_noise.clone())
            .filter(|r| !r.is_empty())
            .unwrap_or_else(|| "its network has no answer".to_owned());
        return out;
    };
    let advice = scan.advice(k);
    settling(board, scan, k, advice.as_ref(), &mut out);
    if out.settles == Some(false)
        && let Some(advice) = advice
    {
        out.proposal = proposal(c, t, &advice, fastest);
    }
    out
}

fn settling(board: &Board, scan: &SettledScan, k: usize, advice: Option<&Advice>, out: &mut Turn) {
    let u: &Unsettled = &scan.channels[k];
    let channel = &board.channels[u.channel];
    let slope = slopes(board, u);
    let error = |at: f64, volt: f64| SettlingError {
        at: channel.unit.number(at),
        codes: volt * u.codes_per_volt,
        error: channel.unit.number_of_difference(volt / slope(at)),
    };
    out.errors = u
        .quantity
        .iter()
        .zip(&u.error_v)
        .map(|(&q, &(low, high))| error(q, if low.abs() > high.abs() { low } else { high }))
        .collect();
    out.worst = Some(error(u.largest_at, u.largest_v));
    let mut memory: Vec<Memory> = u
        .memory
        .iter()
        .filter_map(|&(other, share)| {
            Some(Memory {
                of: board.channels.get(other)?.name.clone(),
                share,
            })
        })
        .collect();
    memory.sort_by(|a, b| b.share.abs().total_cmp(&a.share.abs()));
    out.memory = memory;
    out.settles = Some(u.largest_v <= u.limit_v);
    out.source_ohm = Some(u.source_ohm);
    out.largest_ohm = scan.largest_source_ohm(k);
    if let Some(a) = advice {
        out.shortest_acquire_s = a.shortest_s;
        out.pin_farad = a.pin_farad.filter(|f| *f > 0.0);
    }
}

/// Voltage for each unit of the quantity, by the chain's own voltages at the
/// places where settling was worked out.
fn slopes<'a>(board: &Board, u: &'a Unsettled) -> impl Fn(f64) -> f64 + 'a {
    let channel = &board.channels[u.channel];
    let (low, high) = channel.span.value;
    let whole = u
        .swings
        .iter()
        .find(|s| s.0 == u.channel)
        .map_or(f64::NAN, |s| (s.2 - s.1) / (high - low));
    let kelvin = 0.5 * (board.conditions.ambient_k.0 + board.conditions.ambient_k.1);
    let found = chain::time::spectrum::slopes(board, channel, &u.quantity, kelvin);
    let at: Vec<(f64, f64)> = u
        .quantity
        .iter()
        .copied()
        .zip(found.unwrap_or_default())
        .map(|(q, slope)| (q, slope.abs()))
        .collect();
    move |q: f64| {
        let nearest = at
            .iter()
            .min_by(|a, b| (a.0 - q).abs().total_cmp(&(b.0 - q).abs()));
        nearest.map_or(whole, |n| n.1)
    }
}

/// What to write so that a channel settles; `fastest` is the factor on all
/// times that lets every channel settle.
fn proposal(
    c: &Converter,
    t: &chain::time::schedule::Turn,
    advice: &Advice,
    fastest: Option<f64>,
) -> String {
    let s = &c.schedule;
    let mut ways = Vec::new();
    if let Some(shortest) = advice.shortest_s {
        let choice = s
            .choices_s
            .iter()
            .copied()
            // What is set already does not settle.
            .filter(|x| *x >= shortest && *x > t.acquire_s)
            .reduce(f64::min);
        let (text, seconds) = match (choice, s.clock_hz) {
            (Some(x), Some(hz)) => (
                format!("acquisition = \"{} cycles\"", number::short(x * hz)),
                x,
            ),
            _ => (
                format!("acquisition = \"{}\"", number::measured(shortest, "s", 3)),
                shortest,
            ),
        };
        let busy = s.busy_s + f64::from(t.repeats) * (seconds - t.acquire_s);
        if choice.is_some() || (s.choices_s.is_empty() && shortest > t.acquire_s) {
            let late = if busy > s.period_s {
                format!(
                    ", and the sequence then takes {}",
                    number::measured(busy, "s", 3)
                )
            } else {
                String::new()
            };
            ways.push(format!("{text}{late}"));
        }
    }
    if let Some(farad) = advice.pin_farad.filter(|f| *f > 0.0) {
        ways.push(format!(
            "a capacitor of {} or more at the pin",
            number::measured(farad, "F", 2)
        ));
    }
    if ways.is_empty()
        && let Some(factor) = fastest.filter(|f| *f > 1.0)
    {
        // All times alike: a slower clock and as much longer a pause.
        let every = number::measured(factor * s.period_s, "s", 3);
        ways.push(match s.clock_hz {
            Some(hz) => format!(
                "a clock of {} or less, and every = \"{every}\"",
                number::measured(hz / factor, "Hz", 3)
            ),
            None => format!("every = \"{every}\", with acquisitions as much longer"),
        });
    }
    if ways.is_empty() {
        ways.push("a buffer before the pin, or a source of less resistance".to_owned());
    }
    ways.join("; or ")
}

fn misfit(board: &Board, m: &Misfit) -> String {
    let channel = |i: &usize| board.channels.get(*i).map_or("", |c| c.name.as_str());
    let hz = |x: f64| number::about(x, "Hz");
    let list = |choices: &[f64], unit: &str| {
        let list: Vec<String> = choices.iter().map(|c| number::about(*c, unit)).collect();
        list.join(", ")
    };
    match m {
        Misfit::Clock { hz: set, limits } => {
            let limits = match limits {
                (Some(a), Some(b)) => format!("{} to {}", hz(*a), hz(*b)),
                (None, Some(b)) => format!("{} at most", hz(*b)),
                (Some(a), None) => format!("{} at least", hz(*a)),
                (None, None) => String::new(),
            };
            format!("a clock of {} is set, the part allows {limits}", hz(*set))
        }
        Misfit::Acquisition {
            channel: i,
            cycles,
            nearest,
            choices,
        } => format!(
            "{}: an acquisition of {} cycles cannot be set; {} is the nearest above, there are {}",
            channel(i),
            number::short(*cycles),
            number::short(*nearest),
            list(choices, "")
        ),
        Misfit::TooShort {
            channel: i,
            seconds,
            least_s,
        } => format!(
            "{}: acquires {}, the part asks for {} at least",
            channel(i),
            number::about(*seconds, "s"),
            number::about(*least_s, "s")
        ),
        Misfit::Overrun { busy_s, every_s } => format!(
            "a sequence takes {} and is to start every {}",
            number::about(*busy_s, "s"),
            number::about(*every_s, "s")
        ),
        Misfit::DataRate {
            channel: i,
            hz: set,
            choices,
        } => format!(
            "{}: a data rate of {} cannot be set; there are {}",
            channel(i),
            hz(*set),
            list(choices, "Hz")
        ),
    }
}
