//! Noise.

use std::fmt::Write as _;

use report::{ChannelNoise, Noise, NoiseContributor, NoiseTotal, number};

use super::{check, ink, lines};

/// Contributors with less than this share of the variance are named together.
const LEAST: f64 = 1e-3;
/// Columns of the bar of shares.
const BAR: usize = 8;

/// The answer of `noise`.
pub(crate) fn noise(n: &Noise) -> String {
    let mut out = format!("{}\n\n", ink::title(&n.board));
    match n.channels.as_slice() {
        [one] => out.push_str(&channel(one)),
        all => out.push_str(&overview(all)),
    }
    out
}

/// A line for each of several channels.
fn overview(all: &[ChannelNoise]) -> String {
    let mut rows = vec![
        [
            "channel",
            "averaged",
            "σ of a reading",
            "codes",
            "bits",
            "mostly",
        ]
        .map(str::to_owned)
        .to_vec(),
    ];
    let mut reasons = String::new();
    for c in all {
        if !c.reason.is_empty() {
            reasons.push_str(&lines::hanging(&format!("  {}: ", c.name), &c.reason));
            continue;
        }
        rows.push(vec![
            c.name.clone(),
            c.averaged.to_string(),
            number::measured(c.reading.quantity, &c.error_unit, 3),
            number::measured(c.reading.codes, "", 3),
            number::fixed(c.reading.effective_bits, 1),
            c.contributors.first().map_or_else(String::new, |n| {
                format!("{} ({})", n.name, number::part(n.share))
            }),
        ]);
    }
    let mut out = String::new();
    for line in lines::table(&rows, &[false, true, true, true, true, false]) {
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

fn channel(c: &ChannelNoise) -> String {
    let mut out = format!("{}  {}\n", ink::title(&c.name), ink::soft(&c.quantity));
    let mut line = |label: &str, text: &str| out.push_str(&check::labelled(label, text));
    if !c.reason.is_empty() {
        line("none", &c.reason);
        return out;
    }
    line("at", &check::conditions(&c.at));
    line("conversion", &format!("σ = {}", total(&c.conversion, c)));
    if c.averaged > 1 {
        line(
            "reading",
            &format!("σ = {}, {} averaged", total(&c.reading, c), c.averaged),
        );
    }
    line(
        "resolution",
        &format!(
            "{} effective bits, {} free of noise",
            number::fixed(c.reading.effective_bits, 1),
            number::fixed(c.reading.noise_free_bits, 1)
        ),
    );
    line(
        "rounding",
        &format!(
            "the mean of many readings stays off by up to {} codes",
            number::measured(c.bias_left_codes, "", 2)
        ),
    );
    line(
        "drift",
        &format!(
            "is what swings slower than once in {}",
            number::about(c.observed_s, "s")
        ),
    );
    for (n, text) in c.assumed.iter().enumerate() {
        line(if n == 0 { "takes" } else { "" }, text);
    }
    out.push('\n');
    out.push_str(&table(c));
    out
}

fn total(t: &NoiseTotal, c: &ChannelNoise) -> String {
    format!(
        "{} codes, {}, {}",
        number::measured(t.codes, "", 3),
        number::measured(t.volt, "V", 3),
        number::measured(t.quantity, &c.error_unit, 3)
    )
}

fn table(c: &ChannelNoise) -> String {
    let (shown, rest): (Vec<&NoiseContributor>, Vec<&NoiseContributor>) =
        c.contributors.iter().partition(|n| n.share >= LEAST);
    let largest = shown.iter().map(|n| n.volt).fold(0.0, f64::max);
    let (factor, symbol) = number::prefixed(largest, "V");
    let mut rows = vec![
        ["share", "", "contributor", "conversion", "codes"]
            .map(str::to_owned)
            .to_vec(),
    ];
    rows.extend(shown.iter().map(|n| {
        let full = (n.share * BAR as f64).round().clamp(0.0, BAR as f64) as usize;
        vec![
            number::part(n.share),
            format!("{}{}", "█".repeat(full), "·".repeat(BAR - full)),
            n.name.clone(),
            format!("{} {symbol}", number::measured(n.volt * factor, "", 3)),
            number::measured(n.codes, "", 3),
        ]
    }));
    let mut out = String::new();
    let laid = lines::table(&rows, &[true, false, false, true, true]);
    let share = rows
        .iter()
        .filter_map(|r| r.first())
        .map(|s| lines::width(s));
    let indent = " ".repeat(2 + share.max().unwrap_or(0) + 2 + BAR + 2);
    for (n, line) in laid.iter().enumerate() {
        let _ = writeln!(out, "  {line}");
        if let Some(n) = n.checked_sub(1).and_then(|n| shown.get(n)) {
            out.push_str(&ink::soft(&lines::hanging(
                &indent,
                &from(n, &c.densities_hz),
            )));
        }
    }
    if !rest.is_empty() {
        let sum: f64 = rest.iter().map(|n| n.share).sum();
        let names: Vec<&str> = rest.iter().map(|n| n.name.as_str()).collect();
        out.push_str(&lines::hanging(
            "  ",
            &format!(
                "and {} of together {} of the variance: {}",
                rest.len(),
                number::part(sum),
                names.join("; ")
            ),
        ));
    }
    out
}

/// What a contributor is, how its density goes, and where that is written.
fn from(n: &NoiseContributor, hz: &[f64]) -> String {
    let densities: Vec<String> = n
        .densities
        .iter()
        .zip(hz)
        .filter(|(d, _)| d.is_finite())
        .map(|(d, hz)| {
            format!(
                "{}/√Hz at {}",
                number::measured(*d, "V", 3),
                number::about(*hz, "Hz")
            )
        })
        .collect();
    let mut text = n.kind.clone();
    if !densities.is_empty() {
        text = format!("{text}, {}", densities.join(", "));
    }
    if !n.source.is_empty() {
        text = format!("{text}; {}", n.source);
    }
    if !n.basis.is_empty() && n.basis != "published" && n.basis != n.source {
        text = format!("{text} ({})", n.basis);
    }
    text
}
