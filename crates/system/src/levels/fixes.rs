//! What would make a pair of levels right, each computed and then judged like
//! the pair itself.

use std::sync::Arc;

use board::Board;
use parts::Part;
use quantity::Series;

use super::Stands;
use super::ends::CLAMP_DROP_V;
use super::line::{End, Feed, Line, Ohms, Understood};
use super::pairs::{Meeting, scaled};

/// Drop of a silicon diode in a supply that carries some milliamperes, V
/// (common practice).
pub const FEED_DIODE_V: f64 = 0.7;

/// Tolerance of the resistors that are proposed.
const TOLERANCE: f64 = 0.01;

/// Something to change, with what is left then.
#[derive(Clone, Debug, PartialEq)]
pub enum Fix {
    /// Feed the receiver from a lower voltage: its threshold follows it.
    LowerSupply {
        /// Whose rail.
        rail: String,
        /// Largest voltage with everything as meant, V.
        nominal_v: f64,
        /// Largest voltage as meant with which every corner is right, V.
        most_v: f64,
    },
    /// A diode in the feed of the receiver.
    FeedDiode {
        /// Whose rail.
        rail: String,
        /// Drop of the diode, V.
        drop_v: f64,
        /// The supply behind it, V.
        supply_v: f64,
        /// The threshold then, V.
        threshold_v: f64,
        /// Margin of the high level with everything as meant, V.
        margin_v: f64,
        /// The same at the worst corner, V.
        worst_v: f64,
    },
    /// A buffer from the library between driver and receiver, fed from the
    /// receiver's rail.
    Buffer {
        /// Its part.
        part: String,
        /// Smaller of its two margins at its own input, V.
        input_margin_v: f64,
        /// Smaller of the two margins at the receiver, V.
        output_margin_v: f64,
    },
    /// Resistors that divide the level.
    Divider {
        /// Upper, Ω.
        top_ohm: f64,
        /// Lower, Ω.
        bottom_ohm: f64,
        /// Margins at the worst corner, V: high and low.
        margins_v: (f64, f64),
        /// Highest voltage at the receiver then, V.
        highest_v: f64,
        /// What it makes of the fastest edge: time from low to threshold with
        /// the capacitance of the line, s.
        rise_s: Option<f64>,
    },
    /// A resistor in the line that keeps the clamp's current small enough.
    Series {
        /// Its resistance, Ω.
        ohm: f64,
        /// Current that is left, A.
        current_a: f64,
        /// Current that is permitted, A.
        limit_a: f64,
    },
    /// Two segments, joined by one transistor on each line.
    Translator {
        /// Its part.
        part: String,
        /// The lower rail, to which its gate goes.
        gate: String,
        /// What is left of the lower rail above the highest threshold, V.
        overdrive_v: f64,
    },
    /// Pull the line up to the receiver's rail.
    PullUpTo {
        /// The rail.
        rail: String,
    },
}

/// What would help a pair; nothing where nothing is wrong.
#[must_use]
pub fn fixes(
    board: &Board,
    link: usize,
    m: &Meeting<'_>,
    now: &Understood,
    stands: Stands,
) -> Vec<Fix> {
    let mut found = Vec::new();
    let wanted = board.judging.level_margin_v;
    let too_low = now.high.margin_v < wanted;
    let too_high =
        stands.is_broken() || matches!(stands, Stands::BeyondOperating | Stands::BeyondUsual);
    if !too_low && !too_high && now.low.margin_v >= wanted {
        return found;
    }
    let own_rail = m.receiver.own().name.clone();
    if m.line.is_open_drain {
        let pulled = m.line.pull_up.as_ref().map(|(_, f)| f.name.clone());
        if (too_low || too_high) && pulled.is_some_and(|p| p != own_rail) {
            if too_high {
                found.push(Fix::PullUpTo { rail: own_rail });
            }
            found.extend(transistor(m));
        }
        return found;
    }
    if too_high {
        found.extend(divider(board, link, m));
        found.extend(series(m, now));
    }
    if too_low && !too_high {
        if m.line.divider.is_some() {
            found.extend(divider(board, link, m));
        }
        found.extend(buffer(m, wanted));
        found.extend(lower_supply(m, now));
    }
    found
}

/// The receiver's end with another voltage on its rail.
fn fed_from<'a>(end: &End<'a>, feed: Feed) -> End<'a> {
    let mut end = end.clone();
    if end.is_side_b && end.supply_b.is_some() {
        end.supply_b = Some(feed);
    } else {
        end.supply = feed;
    }
    end
}

/// Largest supply of the receiver at which it still understands the driver,
/// and a diode in its feed: both only where the threshold follows the supply.
fn lower_supply(m: &Meeting<'_>, now: &Understood) -> Vec<Fix> {
    let own = m.receiver.own();
    if own.name == m.driver.own().name {
        return Vec::new();
    }
    let range = m.receiver.part.figure("supply").and_then(|f| f.min);
    let judged = |volt: f64| {
        let feed = Feed {
            // Another rail than before: it moves by itself.
            name: format!("{} lowered", own.name),
            volt: scaled(own.volt, volt),
        };
        m.line.judge(&m.driver, &fed_from(&m.receiver, feed))
    };
    let least = range.unwrap_or(0.3 * own.volt.nominal);
    let search = |margin: &dyn Fn(&Understood) -> f64| {
        // The margin falls as the supply grows.
        if margin(&judged(least)) < 0.0 || margin(now) >= 0.0 {
            return None;
        }
        let (mut good, mut bad) = (least, own.volt.nominal);
        for _ in 0..60 {
            let middle = 0.5 * (good + bad);
            if margin(&judged(middle)) >= 0.0 {
                good = middle;
            } else {
                bad = middle;
            }
        }
        Some(good)
    };
    let mut found = Vec::new();
    let nominal_v = search(&|u| u.high.nominal.2);
    let most_v = search(&|u| u.high.margin_v);
    if let (Some(most_v), nominal_v) = (most_v, nominal_v) {
        found.push(Fix::LowerSupply {
            rail: own.name.clone(),
            nominal_v: nominal_v.unwrap_or(most_v),
            most_v,
        });
    }
    let behind = own.volt.nominal - FEED_DIODE_V;
    if behind >= least {
        let then = judged(behind);
        if then.high.margin_v >= 0.0 && then.low.margin_v >= 0.0 {
            found.push(Fix::FeedDiode {
                rail: own.name.clone(),
                drop_v: FEED_DIODE_V,
                supply_v: behind,
                threshold_v: then.high.nominal.1,
                margin_v: then.high.nominal.2,
                worst_v: then.high.margin_v,
            });
        }
    }
    found
}

/// The buffer of the library with the most margin at its own input that also
/// serves the receiver.
fn buffer(m: &Meeting<'_>, wanted: f64) -> Option<Fix> {
    let own = m.receiver.own();
    let mut best: Option<(f64, f64, &Part)> = None;
    for part in parts::Library::shipped()
        .iter()
        // Sets of levels are not parts that can be bought.
        .filter(|p| p.kind == "logic" && !p.maker.is_empty() && p.buses.is_empty())
    {
        let Some(supply) = part.figure("supply") else {
            continue;
        };
        let within = supply.min.is_none_or(|v| own.volt.low >= v)
            && supply.max.is_none_or(|v| own.volt.high <= v);
        if !within {
            continue;
        }
        let between = End {
            name: part.id.clone(),
            part,
            supply: own.clone(),
            supply_b: None,
            is_side_b: false,
            is_tolerant: false,
        };
        let plain = Line {
            leakage_a: m.line.leakage_a,
            ..Line::default()
        };
        let input = plain.judge(&m.driver, &between);
        let output = plain.judge(&between, &m.receiver);
        let least = |u: &Understood| u.high.margin_v.min(u.low.margin_v);
        let (a, b) = (least(&input), least(&output));
        if a >= wanted
            && b >= wanted
            && !Stands::of(&input.over).is_broken()
            && !Stands::of(&output.over).is_broken()
            && best.is_none_or(|(x, ..)| a > x)
        {
            best = Some((a, b, part));
        }
    }
    best.map(|(a, b, part)| Fix::Buffer {
        part: part.id.clone(),
        input_margin_v: a,
        output_margin_v: b,
    })
}

/// The divider of preferred resistors with the most margin to either side.
fn divider(board: &Board, link: usize, m: &Meeting<'_>) -> Option<Fix> {
    let with = |nominal: f64| Ohms {
        low: nominal * (1.0 - TOLERANCE),
        nominal,
        high: nominal * (1.0 + TOLERANCE),
    };
    let farad = board.links.get(link).and_then(|l| line_farad(board, l));
    let clock_hz = board
        .links
        .get(link)
        .and_then(|l| l.clock_hz.as_ref())
        .map(|c| c.value);
    let mut best: Option<(f64, Fix)> = None;
    for top_ohm in Series::E12.between(470.0, 10_000.0) {
        for bottom_ohm in Series::E12.between(1_000.0, 10_000.0) {
            let line = Line {
                divider: Some((with(top_ohm), with(bottom_ohm))),
                ..m.line.clone()
            };
            let then = line.judge(&m.driver, &m.receiver);
            let stands = Stands::of(&then.over);
            if stands != Stands::Within {
                continue;
            }
            let least = then.high.margin_v.min(then.low.margin_v);
            if least < board.judging.level_margin_v {
                continue;
            }
            let rise_s = farad.map(|f| {
                // R‖ of the divider charges the line to the threshold.
                let ohm = top_ohm * bottom_ohm / (top_ohm + bottom_ohm);
                let full = then.high.nominal.0;
                let share = (then.high.nominal.1 / full).clamp(0.0, 0.99);
                -ohm * f * elementary::ln(1.0 - share)
            });
            // An edge may take a fifth of half a period.
            if let (Some(rise), Some(hz)) = (rise_s, clock_hz)
                && rise > 0.1 / hz
            {
                continue;
            }
            // Among those with like margin the one that loads the driver less.
            let worth = least + 0.2 * ((top_ohm + bottom_ohm) / 10_000.0).min(1.0);
            if best.as_ref().is_none_or(|(w, _)| worth > *w) {
                best = Some((
                    worth,
                    Fix::Divider {
                        top_ohm,
                        bottom_ohm,
                        margins_v: (then.high.margin_v, then.low.margin_v),
                        highest_v: then.over.volt,
                        rise_s,
                    },
                ));
            }
        }
    }
    best.map(|(_, fix)| fix)
}

/// A series resistor for the current that the receiver's clamp may take.
fn series(m: &Meeting<'_>, now: &Understood) -> Option<Fix> {
    let over = &now.over;
    let limit_a = over
        .ratings
        .injection_a
        .as_ref()
        .or(over.ratings.clamp_a.as_ref())
        .map(|k| k.value)
        .filter(|a| *a > 0.0)?;
    let beyond = over.volt - (over.supply_v + CLAMP_DROP_V);
    if beyond <= 0.0 {
        return None;
    }
    // Half of what is permitted, so that several lines may do it.
    let needed = 2.0 * beyond / limit_a - over.ohm;
    let ohm = Series::E12.at_least(needed.max(10.0))?;
    let line = Line {
        series: Some(Ohms {
            low: ohm * (1.0 - TOLERANCE),
            nominal: ohm,
            high: ohm * (1.0 + TOLERANCE),
        }),
        ..m.line.clone()
    };
    let then = line.judge(&m.driver, &m.receiver);
    let holds = matches!(
        Stands::of(&then.over),
        Stands::Within | Stands::ClampHolds { .. }
    );
    (holds && then.high.margin_v >= 0.0 && then.low.margin_v >= 0.0).then_some(Fix::Series {
        ohm,
        current_a: then.over.clamp_a,
        limit_a,
    })
}

/// The transistor of the library whose threshold lies deepest below the lower
/// rail.
fn transistor(m: &Meeting<'_>) -> Option<Fix> {
    let (_, pulled) = m.line.pull_up.as_ref()?;
    let own = m.receiver.own();
    let lower = if own.volt.nominal < pulled.volt.nominal {
        own
    } else {
        pulled
    };
    parts::Library::shipped()
        .iter()
        .filter(|p| p.kind == "transistor")
        .filter_map(|p| {
            let f = p.figure("gate-threshold")?;
            let overdrive_v = lower.volt.low - f.max.or(f.typ)?;
            (overdrive_v > 0.0).then_some((overdrive_v, p))
        })
        .max_by(|(a, _), (b, _)| a.total_cmp(b))
        .map(|(overdrive_v, p)| Fix::Translator {
            part: p.id.clone(),
            gate: lower.name.clone(),
            overdrive_v,
        })
}

/// Capacitance of one line of a link: traces, cable and pins as far as they
/// are known, F; none where neither traces nor a cable's capacitance is.
#[must_use]
pub fn line_farad(board: &Board, link: &board::Link) -> Option<f64> {
    let high = |v: &quantity::Valued| {
        v.tolerance
            .as_ref()
            .map_or(v.nominal, |t| t.limits(v.nominal).1)
    };
    let traces = link.traces_f.as_ref().map(|v| high(&v.value));
    let cable = link
        .cable
        .as_ref()
        .and_then(|c| Some(high(&c.length_m.value) * high(&c.capacitance_per_m.as_ref()?.value)));
    if traces.is_none() && cable.is_none() {
        return None;
    }
    let pin = |device: usize| {
        board
            .devices
            .get(device)
            .and_then(|d| pin_farad(&d.part))
            .unwrap_or(0.0)
    };
    let ports = link
        .controller
        .iter()
        .chain(link.members.iter().map(|m| &m.port))
        .chain(&link.driver)
        .chain(&link.receivers);
    Some(traces.unwrap_or(0.0) + cable.unwrap_or(0.0) + ports.map(|p| pin(p.device)).sum::<f64>())
}

fn pin_farad(part: &Arc<Part>) -> Option<f64> {
    let f = part.figure("pin-capacitance")?;
    f.max.or(f.typ)
}
