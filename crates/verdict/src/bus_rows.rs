//! What buses have with limits, as rows of a link's result.

use board::{Board, Judging};
use report::{Judged, Verdict};
use system::Analysis;
use system::buses::two_wire;

use crate::bus::{farad, hertz, second};

/// One row with its verdict: beyond a limit it fails, within `thin` of one (a
/// share of it) it is thin.
fn row(
    name: &str,
    value: f64,
    unit: &str,
    limits: (Option<f64>, Option<f64>),
    thin: f64,
    working: String,
    source: String,
) -> Judged {
    let to_low = limits.0.map(|l| (value - l, l));
    let to_high = limits.1.map(|h| (h - value, h));
    let nearer = match (to_low, to_high) {
        (Some(a), Some(b)) => Some(if b.0 < a.0 { b } else { a }),
        (one, other) => one.or(other),
    };
    let verdict = match nearer {
        None => Verdict::Fragment,
        Some((left, limit)) if left < -1e-9 * limit.abs() => Verdict::Fails,
        Some((left, limit)) if left < thin * limit.abs() * (1.0 - 1e-9) => Verdict::Thin,
        Some(_) => Verdict::Meets,
    };
    Judged {
        name: name.to_owned(),
        value,
        unit: unit.to_owned(),
        low: limits.0,
        high: limits.1,
        margin: nearer.map(|n| n.0),
        verdict,
        working,
        source,
    }
}

/// The rows of one link.
pub(crate) fn rows(board: &Board, system: &Analysis, link: usize) -> Vec<Judged> {
    let j = &board.judging;
    let mut out = Vec::new();
    let buses = &system.buses;
    for s in buses.segments.iter().filter(|s| s.link == link) {
        segment(s, j, &mut out);
    }
    for s in buses.serials.iter().filter(|s| s.link == link) {
        serial(s, &mut out);
    }
    for a in buses.asynchronous.iter().filter(|a| a.link == link) {
        out.push(row(
            "clock error",
            100.0 * a.together(),
            "%",
            (None, Some(100.0 * a.permitted)),
            j.window_margin,
            format!(
                "near {} ({}) and far {} ({})",
                report::number::relative(a.near.value, 2),
                a.near.source,
                report::number::relative(a.far.value, 2),
                a.far.source
            ),
            "sampling in the middle of the last bit, common practice".to_owned(),
        ));
    }
    for w in buses.singles.iter().filter(|w| w.link == link) {
        single(w, j, &mut out);
    }
    polling(system, j, link, &mut out);
    out
}

fn segment(s: &system::buses::segment::Segment, j: &Judging, out: &mut Vec<Judged>) {
    let joined = |a: &str, b: &str| match (a.is_empty(), b.is_empty()) {
        (false, false) => format!("{a}; {b}"),
        _ => format!("{a}{b}"),
    };
    let (low, high) = (s.lowest.as_ref(), s.largest.as_ref());
    let text = |b: Option<&system::buses::segment::Bound>, source: bool| {
        b.map_or_else(String::new, |b| {
            if source {
                b.source.clone()
            } else {
                b.working.clone()
            }
        })
    };
    let window = (
        low.map(|b| b.ohm).filter(|o| o.is_finite()),
        high.map(|b| b.ohm).filter(|o| o.is_finite()),
    );
    let working = joined(&text(low, false), &text(high, false));
    let source = joined(&text(low, true), &text(high, true));
    // Each end of the fitted tolerance against the limit on its side.
    let fitted = s.fitted.map(|f| {
        let near_low = window
            .0
            .is_some_and(|l| window.1.is_none_or(|h| f.low / l - 1.0 < 1.0 - f.high / h));
        if near_low { f.low } else { f.high }
    });
    let mut pull = row(
        "pull-up",
        fitted.unwrap_or(f64::NAN),
        "Ω",
        window,
        j.window_margin,
        working,
        source,
    );
    if s.fitted.is_none() {
        pull.verdict = Verdict::Fails;
        pull.margin = None;
    } else if s.is_too_strong() == Some(true) || s.is_too_weak() == Some(true) {
        pull.verdict = Verdict::Fails;
    }
    out.push(pull);
    if let (Some(a), Some((name, sink))) = (s.sink_a, &s.weakest) {
        out.push(row(
            "current of a low level",
            a,
            "A",
            (None, Some(sink.value.current_a)),
            0.0,
            format!("into {name}"),
            sink.source.clone(),
        ));
    }
    if let Some(rise) = s.rise_s {
        out.push(row(
            "rise time",
            rise,
            "s",
            (None, Some(two_wire::limits(s.mode).rise_s)),
            0.0,
            format!("0.8473 × R × {} = {}", farad(s.line_farad), second(rise)),
            format!("UM10204, 7.1 and table 10, mode {}", s.mode.word()),
        ));
    }
    let shares: Vec<String> = s
        .shares
        .iter()
        .map(|(n, c)| format!("{n} {}", farad(*c)))
        .collect();
    out.push(row(
        "capacitance of a line",
        s.line_farad,
        "F",
        (None, Some(s.most_farad.value)),
        0.0,
        shares.join(" + "),
        s.most_farad.source.clone(),
    ));
    if let Some(most) = s.proposal.farad {
        out.push(row(
            "capacitance that rises in time",
            s.line_farad,
            "F",
            (None, Some(most)),
            0.0,
            format!("t_r/(0.8473 R) = {}", farad(most)),
            format!("UM10204, 7.1 and table 10, mode {}", s.mode.word()),
        ));
    }
    let slowest = s
        .contacts
        .iter()
        .filter_map(|c| Some((c.clock_hz.as_ref()?, &c.name)))
        .map(|(r, n)| (r.value.1, format!("{n}: {}", r.source)))
        .chain([(
            two_wire::limits(s.mode).clock_hz,
            format!("UM10204, table 10, mode {}", s.mode.word()),
        )])
        .reduce(|a, b| if b.0 < a.0 { b } else { a });
    if let Some((most, source)) = slowest {
        out.push(row(
            "clock",
            s.clock_hz,
            "Hz",
            (None, Some(most)),
            0.0,
            s.assumed.join("; "),
            source,
        ));
    }
    if let Some(trip) = s.round_trip_s {
        let left = two_wire::delay_left(s.mode, s.clock_hz);
        out.push(row(
            "cable there and back",
            trip,
            "s",
            (None, Some(left.max(0.0))),
            0.0,
            "t_LOW − t_VD;DAT − t_SU;DAT is left".to_owned(),
            format!("UM10204, table 10, mode {}", s.mode.word()),
        ));
    }
}

fn serial(s: &system::buses::serial::Serial, out: &mut Vec<Judged>) {
    let Some(clock) = s.clock_hz else { return };
    let slowest = s
        .limits
        .iter()
        .min_by(|a, b| a.hz.total_cmp(&b.hz))
        .map(|l| (l.hz, format!("{}: {}", l.name, l.source)));
    out.push(row(
        "clock",
        clock,
        "Hz",
        (None, slowest.as_ref().map(|l| l.0)),
        0.0,
        String::new(),
        slowest.map_or_else(String::new, |l| l.1),
    ));
    if s.trip.total_s() > 0.0 {
        let t = &s.trip;
        let longest = s.longest_m.map_or_else(String::new, |m| {
            format!(
                "; the cable may be {} long",
                report::number::measured(m.max(0.0), "m", 3)
            )
        });
        out.push(row(
            "there and back",
            t.total_s(),
            "s",
            (None, Some(s.share / clock)),
            0.0,
            format!(
                "2 × {} + {} + {} + {}; {} at most{longest}",
                second(t.cable_s),
                second(t.drivers_s),
                second(t.valid_s),
                second(t.set_up_s),
                hertz(s.fastest_hz)
            ),
            std::iter::once(if s.is_share_stated {
                "share of a period: the board file".to_owned()
            } else {
                "half a period: data change on one edge and are taken on the other".to_owned()
            })
            .chain(s.assumed.iter().cloned())
            .collect::<Vec<_>>()
            .join("; "),
        ));
    }
}

fn single(w: &system::buses::serial::SingleWire, j: &Judging, out: &mut Vec<Judged>) {
    let text = |b: Option<&system::buses::segment::Said<f64>>| {
        b.map_or_else(String::new, |b| b.source.clone())
    };
    let (low, high) = (w.lowest.as_ref(), w.largest.as_ref());
    if let Some(f) = w.fitted {
        out.push(row(
            "pull-up",
            f.nominal,
            "Ω",
            (low.map(|b| b.value), high.map(|b| b.value)),
            j.window_margin,
            [text(low), text(high)].join("; "),
            "common practice".to_owned(),
        ));
    }
    if let Some(rise) = w.rise_s {
        out.push(row(
            "time to read high",
            rise,
            "s",
            (None, Some(w.time_s)),
            0.0,
            w.assumed.join("; "),
            "a quarter of a bit, common practice".to_owned(),
        ));
    }
}

fn polling(system: &Analysis, j: &Judging, link: usize, out: &mut Vec<Judged>) {
    let polling = &system.buses.polling;
    for p in polling.polls.iter().filter(|p| p.link == link) {
        let (Some(rate), Some(most), Some(c)) = (p.rate_hz, p.fastest_hz(), &p.conversion_s) else {
            continue;
        };
        let mut line = row(
            &format!("readings of {}", p.name),
            rate,
            "Hz",
            (None, Some(most)),
            0.0,
            format!("1/{} of a conversion", second(c.value)),
            c.source.clone(),
        );
        // A number that is only repeated is no failure.
        if line.verdict == Verdict::Fails && !p.is_restarted {
            line.verdict = Verdict::Thin;
        }
        out.push(line);
    }
    for o in polling.occupied.iter().filter(|o| o.link == link) {
        let each: Vec<String> =
            o.of.iter()
                .map(|(n, hz, s)| format!("{n} {} × {}", quantity::plain(*hz, 3), second(*s)))
                .collect();
        out.push(row(
            "share of the time on the bus",
            100.0 * o.share,
            "%",
            (None, Some(100.0)),
            j.window_margin,
            each.join(" + "),
            "bits of a reading over the clock".to_owned(),
        ));
    }
}
