//! Responses.

use std::fmt::Write as _;

use report::{ChannelResponse, Response, ResponsePoint, number};

use super::{check, ink, lines};

/// Columns of the bar of a gain.
const BAR: usize = 30;
/// Gain at which the bar is empty, dB.
const EMPTY_DB: f64 = -60.0;
/// Rows of the picture at the most.
const ROWS: usize = 9;

/// The answer of `response`.
pub(crate) fn response(r: &Response) -> String {
    let mut out = format!("{}\n\n", ink::title(&r.board));
    match r.channels.as_slice() {
        [one] => out.push_str(&channel(one)),
        all => out.push_str(&overview(all)),
    }
    out
}

/// A line for each of several channels.
fn overview(all: &[ChannelResponse]) -> String {
    let mut rows = vec![
        ["channel", "corner", "", "half a code in", "slowest"]
            .map(str::to_owned)
            .to_vec(),
    ];
    let mains = all
        .iter()
        .find_map(|c| c.named.first())
        .map(|n| (n.name.clone(), n.hz));
    if let Some(head) = rows.first_mut().and_then(|r| r.get_mut(2)) {
        *head = mains.as_ref().map_or_else(String::new, |m| m.0.clone());
    }
    let seconds = |s: f64| number::measured(s, "s", 3);
    let mut reasons = String::new();
    for c in all {
        if !c.reason.is_empty() {
            reasons.push_str(&lines::hanging(&format!("  {}: ", c.name), &c.reason));
            continue;
        }
        let at_mains = mains
            .as_ref()
            .and_then(|m| c.named.iter().find(|n| n.hz == m.1))
            .map_or_else(String::new, |n| {
                format!("{} dB", plain(-n.attenuation_db, 2))
            });
        let half = c.settling.iter().find(|s| s.to == "half a code");
        rows.push(vec![
            c.name.clone(),
            c.corner_hz
                .map_or_else(|| "none".to_owned(), |hz| number::measured(hz, "Hz", 3)),
            at_mains,
            half.and_then(|s| s.seconds)
                .map_or_else(String::new, seconds),
            c.poles
                .first()
                .map_or_else(String::new, |p| seconds(p.time_constant_s)),
        ]);
    }
    let mut out = String::new();
    for line in lines::table(&rows, &[false, true, true, true, true]) {
        let _ = writeln!(out, "  {line}");
    }
    if !reasons.is_empty() {
        out.push('\n');
        out.push_str(&reasons);
    }
    let _ = writeln!(
        out,
        "\n{}",
        ink::soft("With a channel's name there is all of it.")
    );
    out
}

fn channel(c: &ChannelResponse) -> String {
    let mut out = format!("{}  {}\n", ink::title(&c.name), ink::soft(&c.quantity));
    let mut line = |label: &str, text: &str| out.push_str(&check::labelled(label, text));
    if !c.reason.is_empty() {
        line("none", &c.reason);
        return out;
    }
    let seconds = |s: f64| number::measured(s, "s", 3);
    line(
        "moves",
        &format!("{}, at {}", c.stimulus, check::conditions(&c.at)),
    );
    line(
        "at rest",
        &format!(
            "{} to the converter's input",
            number::measured(c.gain, &c.gain_unit, 4)
        ),
    );
    line(
        "corner",
        &c.corner_hz.map_or_else(
            || "none in the range looked at".to_owned(),
            |hz| format!("{}: −3 dB", number::measured(hz, "Hz", 4)),
        ),
    );
    let settling: Vec<String> = c
        .settling
        .iter()
        .map(|s| match s.seconds {
            Some(t) => format!("to {} in {}", s.to, seconds(t)),
            None => format!("to {} never", s.to),
        })
        .collect();
    if c.poles.is_empty() {
        line("settles", "at once: nothing in the network takes time");
    } else if !settling.is_empty() {
        line("settles", &settling.join(", "));
    }
    let poles: Vec<String> = c
        .poles
        .iter()
        .map(|p| {
            let tau = seconds(p.time_constant_s);
            if p.ringing_hz > 0.0 {
                format!(
                    "{tau} ringing at {}",
                    number::measured(p.ringing_hz, "Hz", 3)
                )
            } else {
                tau
            }
        })
        .collect();
    if !poles.is_empty() {
        line(
            "dies away",
            &format!("with time constants of {}", poles.join(", ")),
        );
    }
    if let Some(s) = &c.sensor {
        let when: Vec<String> = s
            .settling
            .iter()
            .filter_map(|t| Some(format!("to {} in {}", t.to, seconds(t.seconds?))))
            .collect();
        let basis = match s.basis.as_str() {
            "" | "published" => String::new(),
            other => format!(" ({other})"),
        };
        line(
            "sensor",
            &format!(
                "is slow by itself, before all of this: {} ({}; {}{basis}): {}",
                seconds(s.time_constant_s),
                s.stated,
                s.source,
                when.join(", ")
            ),
        );
    }
    out.push('\n');
    out.push_str(&table(c));
    out
}

/// Gain and phase at a few frequencies over the range and at those with a
/// name.
fn table(c: &ChannelResponse) -> String {
    let mut rows = vec![
        ["frequency", "", "gain", "phase", ""]
            .map(str::to_owned)
            .to_vec(),
    ];
    let mut shown: Vec<(f64, f64, f64, &str)> = spread(&c.points)
        .iter()
        .map(|p| (p.hz, p.db, p.degrees, ""))
        .collect();
    for n in &c.named {
        shown.retain(|s| (s.0 / n.hz - 1.0).abs() > 1e-3);
        shown.push((n.hz, -n.attenuation_db, n.degrees, &n.name));
    }
    shown.sort_by(|a, b| a.0.total_cmp(&b.0));
    rows.extend(shown.into_iter().map(|(hz, db, degrees, name)| {
        vec![
            number::about(hz, "Hz"),
            bar(db),
            format!("{} dB", plain(db, 2)),
            format!("{}°", plain(degrees, 1)),
            name.to_owned(),
        ]
    }));
    let mut out = String::new();
    for line in lines::table(&rows, &[true, false, true, true, false]) {
        let _ = writeln!(out, "  {line}");
    }
    out
}

/// So many decimals, and no sign before what rounds to nothing.
fn plain(value: f64, decimals: usize) -> String {
    let text = number::fixed(value, decimals);
    if text.trim_start_matches(['\u{2212}', '0', '.']).is_empty() {
        text.trim_start_matches('\u{2212}').to_owned()
    } else {
        text
    }
}

/// A point for each decade, or for so many of them as there is room for.
fn spread(points: &[ResponsePoint]) -> Vec<ResponsePoint> {
    let whole: Vec<ResponsePoint> = points
        .iter()
        .filter(|p| {
            let text = format!("{:.5e}", p.hz);
            text.starts_with("1.00000e")
        })
        .copied()
        .collect();
    let every = whole.len().div_ceil(ROWS).max(1);
    whole.into_iter().step_by(every).collect()
}

fn bar(db: f64) -> String {
    let full = ((1.0 - db / EMPTY_DB) * BAR as f64).round();
    // More than at rest goes off the ruler.
    let off = db > 0.05;
    let full = if full.is_finite() {
        full.clamp(0.0, BAR as f64) as usize
    } else {
        0
    };
    format!(
        "{}{}{}",
        "█".repeat(full),
        "·".repeat(BAR - full),
        if off { "▸" } else { "" }
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_bar_is_full_at_rest_and_empty_at_sixty_decibels_less() {
        assert_eq!(bar(0.0), "█".repeat(BAR));
        assert_eq!(bar(-60.0), "·".repeat(BAR));
        assert_eq!(bar(-30.0).chars().filter(|c| *c == '█').count(), BAR / 2);
        assert!(bar(3.0).ends_with('▸'));
        assert_eq!(bar(f64::NEG_INFINITY), "·".repeat(BAR));
    }
}
