//! What disturbing tones leave in the readings.

use std::fmt::Write as _;

use report::Interference;
use report::interference::{Avoid, Disturbed, Explanation, Residue, Seen, Tone, Window};
use report::number;

use super::{check, ink, lines};

/// Data rates and bands shown; all of them are in the JSON.
const SHOWN: usize = 4;

/// Explanations of a tone shown.
const EXPLANATIONS: usize = 6;

/// Averages shown.
const AVERAGES: usize = 2;

/// The whole answer of `interference`.
pub(crate) fn interference(result: &Interference) -> String {
    let mut out = format!("{}\n", ink::title(&result.board));
    for c in &result.channels {
        out.push('\n');
        out.push_str(&channel(c));
    }
    for (name, reason) in &result.without {
        out.push('\n');
        out.push_str(&lines::hanging(&format!("{}  ", ink::title(name)), reason));
    }
    let _ = writeln!(out, "\n{}", ink::soft(check::AID));
    out
}

fn channel(c: &Disturbed) -> String {
    let mut out = format!("{}\n", ink::title(&c.channel));
    out.push_str(&ink::soft(&lines::hanging("  ", &readout(c))));
    if c.tones.is_empty() {
        out.push_str(&lines::hanging(
            "  ",
            "nothing is named that disturbs it: [conditions] mains, [interferers.NAME]",
        ));
    } else {
        out.push_str(&tones(c));
    }
    if let Some(all) = &c.together {
        let limit = c.limit.map_or_else(String::new, |l| {
            format!("; ±{} permitted", number::amount(l, &c.unit))
        });
        let text = match all.u {
            Some(u) => format!(
                "{}, u = {} with unknown phases{limit}",
                size(all, &c.unit),
                number::measured(u, &c.unit, 2)
            ),
            None => size(all, &c.unit),
        };
        out.push_str(&lines::hanging("  together  ", &text));
    }
    for (n, w) in c.windows.iter().take(AVERAGES).enumerate() {
        out.push_str(&lines::hanging(
            if n == 0 {
                "  averages that null the mains  "
            } else {
                "                                "
            },
            &average(w),
        ));
    }
    if let Some(w) = &c.both_grids {
        out.push_str(&lines::hanging(
            "  for 50 Hz and 60 Hz alike     ",
            &average(w),
        ));
    }
    if !c.data_rates.is_empty() {
        let list: Vec<String> = c
            .data_rates
            .iter()
            .take(SHOWN)
            .map(|r| {
                format!(
                    "{} /s {}{}",
                    number::short(r.rate_hz),
                    decibel(r.worst_db),
                    if r.used { " (in use)" } else { "" }
                )
            })
            .collect();
        out.push_str(&lines::hanging(
            "  data rates that damp the mains most  ",
            &list.join(", "),
        ));
    }
    for a in &c.avoid {
        out.push_str(&lines::hanging(&format!("  {}  ", a.source), &avoid(a)));
    }
    if let (Some(s), Some(hz)) = (&c.seen, c.readout.reading_rate_hz) {
        out.push_str(&seen(s, hz));
    }
    for t in &c.taken {
        out.push_str(&ink::soft(&lines::hanging("  taken: ", t)));
    }
    out
}

fn average(w: &Window) -> String {
    let at = format!("at exactly {} a second", number::short(w.rate_hz));
    let damps = match w.now_db {
        None => format!("{at} {}", decibel(w.exact_db)),
        Some(now) if (now - w.exact_db).abs() < 0.05 => decibel(now),
        Some(now) => format!("{}; {at} {}", decibel(now), decibel(w.exact_db)),
    };
    format!(
        "{} conversions, {}: {damps}",
        w.count,
        number::amount(w.seconds, "s")
    )
}

fn readout(c: &Disturbed) -> String {
    let r = &c.readout;
    let mut text = if r.count > 1 {
        format!(
            "the mean of {} conversions at {} a second ({})",
            r.count,
            number::about(r.sample_rate_hz, ""),
            number::about(r.window_s, "s")
        )
    } else {
        "single conversions".to_owned()
    };
    if let (Some(order), Some(notch)) = (r.filter_order, r.filter_notch_hz) {
        let _ = write!(
            text,
            ", behind a filter of order {order} with its first notch at {}",
            number::about(notch, "Hz")
        );
    }
    if let Some(hz) = r.reading_rate_hz {
        let _ = write!(text, ", {} readings a second", number::about(hz, ""));
    }
    text
}

fn tones(c: &Disturbed) -> String {
    let known = c.tones.iter().any(|t| t.left.is_some());
    let bearable = c.tones.iter().any(|t| t.bearable_v.is_some());
    let seen = c.tones.iter().any(|t| t.seen_low_hz.is_some());
    let mut head: Vec<String> = ["tone", "frequency", "chain", "averaging"]
        .map(str::to_owned)
        .to_vec();
    if seen {
        head.push("shows at".to_owned());
    }
    if known {
        head.push("left".to_owned());
    }
    if bearable {
        head.push("bearable".to_owned());
    }
    let mut rows = vec![head];
    let mut last = "";
    for t in &c.tones {
        let name = if t.source == last {
            format!("  × {}", t.number)
        } else {
            t.source.clone()
        };
        last = &t.source;
        let mut row = vec![
            name,
            range(t.low_hz, t.high_hz),
            decibel(t.chain_db),
            decibel(t.averaging_db),
        ];
        if seen {
            row.push(shows(t));
        }
        if known {
            row.push(t.left.as_ref().map_or_else(
                || "?".to_owned(),
                |l| match l.peak {
                    Some(p) => number::measured(p, &c.unit, 2),
                    None => number::measured(l.peak_v, "V", 2),
                },
            ));
        }
        if bearable {
            row.push(
                t.bearable_v
                    .map_or_else(String::new, |v| number::measured(v, "V", 2)),
            );
        }
        rows.push(row);
    }
    let mut out = String::new();
    for line in lines::table(&rows, &[false, true, true, true, true, true, true]) {
        let _ = writeln!(out, "  {line}");
    }
    if bearable {
        out.push_str(&ink::soft(&lines::hanging(
            "  ",
            &format!(
                "bearable: where it gets in, that amplitude would take {} of the permitted error",
                number::share(c.known_error)
            ),
        )));
    }
    out
}

/// Where a tone shows in the readings.
fn shows(t: &Tone) -> String {
    match (t.seen_low_hz, t.seen_high_hz) {
        (_, Some(0.0)) => "still".to_owned(),
        (Some(low), Some(high)) => range(low, high),
        _ => String::new(),
    }
}

/// Two frequencies in one unit.
fn range(low: f64, high: f64) -> String {
    if low == high {
        return number::about(low, "Hz");
    }
    let (factor, unit) = number::prefixed(high, "Hz");
    format!(
        "{} to {} {unit}",
        number::short(quantised(low * factor)),
        number::short(quantised(high * factor))
    )
}

/// To four digits.
fn quantised(x: f64) -> f64 {
    quantity::plain(x, 4)
        .replace('\u{2212}', "-")
        .parse()
        .unwrap_or(x)
}

/// A damping; what is more than any converter resolves is told as such.
fn decibel(db: f64) -> String {
    if db > 200.0 {
        "> 200 dB".to_owned()
    } else {
        format!("{} dB", number::fixed(db + 0.0, 1))
    }
}

fn size(r: &Residue, unit: &str) -> String {
    let mut text = format!("±{}", number::measured(r.peak_v, "V", 2));
    if let Some(codes) = r.peak_codes {
        let _ = write!(text, ", ±{} codes", quantity::plain(codes, 2));
    }
    if let Some(peak) = r.peak {
        let _ = write!(text, ", ±{}", number::measured(peak, unit, 2));
    }
    text
}

fn avoid(a: &Avoid) -> String {
    let bands: Vec<String> = a
        .bands_hz
        .iter()
        .take(SHOWN)
        .map(|b| range(b.0, b.1))
        .collect();
    let more = if a.count > bands.len() as f64 {
        format!(" and {} more", number::count(a.count - bands.len() as f64))
    } else {
        String::new()
    };
    if a.count == 0.0 {
        return format!(
            "{} lies off the multiples of {}: averaging keeps at most {} of it",
            range(a.range_hz.0, a.range_hz.1),
            number::about(a.rate_hz, "Hz"),
            number::share(a.kept)
        );
    }
    format!(
        "to keep at most {} of it, off the multiples of {} by {}: not in {}{more}; {} of its range lies there",
        number::share(a.kept),
        number::about(a.rate_hz, "Hz"),
        number::about(a.half_width_hz, "Hz"),
        bands.join(", "),
        number::share(a.covered)
    )
}

/// What a tone seen in the readings may be, and the test that decides.
fn seen(s: &Seen, rate_hz: f64) -> String {
    let mut out = format!(
        "  {}\n",
        ink::title(&format!("Seen at {}", number::about(s.hz, "Hz")))
    );
    if s.explanations.is_empty() {
        out.push_str(&lines::hanging(
            "    ",
            "no harmonic of what is named here shows there, not even with the frequency or the rate far off",
        ));
    }
    for e in s.explanations.iter().take(EXPLANATIONS) {
        out.push_str(&lines::hanging("    ", &explanation(e, rate_hz)));
    }
    if s.explanations.len() > EXPLANATIONS {
        out.push_str(&lines::hanging(
            "    ",
            "and more that are less plausible; --json has them",
        ));
    }
    for (source, n, m) in &s.still {
        out.push_str(&lines::hanging(
            "    ",
            &format!(
                "{source} × {n} is exactly {m} × {} a second: it stands still, an offset that no reading gives away",
                number::about(rate_hz, "")
            ),
        ));
    }
    out
}

fn explanation(e: &Explanation, rate_hz: f64) -> String {
    let tone = f64::from(e.number) * e.fundamental_hz;
    let needs = match e.off.as_str() {
        "frequency" => format!(
            "{} at {} instead of its nominal frequency",
            e.source,
            number::about(e.fundamental_hz, "Hz")
        ),
        "rate" => format!(
            "{} readings a second instead of {}",
            number::about(e.rate_hz, ""),
            number::about(rate_hz, "")
        ),
        _ => "nothing out of the ordinary".to_owned(),
    };
    let sign = if e.moves_hz < 0.0 { "down" } else { "up" };
    let moves = if e.moves_hz == 0.0 {
        "it stays where it is at another rate".to_owned()
    } else {
        format!(
            "one reading a second more moves it {sign} by {}",
            number::about(e.moves_hz.abs(), "Hz")
        )
    };
    format!(
        "{} {} × {}, {}, against {} × {} a second; needs {needs}{}; {moves}",
        if e.plausible { "●" } else { "○" },
        e.source,
        e.number,
        number::about(tone, "Hz"),
        e.multiple,
        number::about(e.rate_hz, ""),
        if e.plausible {
            String::new()
        } else {
            format!(
                ", {} times what is permitted: not likely",
                quantity::plain(e.stretch, 2)
            )
        }
    )
}
