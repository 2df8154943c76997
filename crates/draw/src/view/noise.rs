//! Noise: contributors as bars, their densities over frequency.

use report::{ChannelNoise, Noise, NoiseContributor, number};

use super::{conditions, without};
use crate::{Axis, Bar, Bars, Panel, Picture, Plot, Series, Sheet};

/// Contributors shown as bars; the others are told in one bar.
const BARS: usize = 10;
/// Smallest share of the variance that has a bar of its own.
const LEAST: f64 = 1e-3;
/// Contributors whose density is drawn.
const CURVES: usize = 6;

/// The sheet of a noise analysis: for each channel its contributors and their
/// densities at the converter's input.
#[must_use]
pub fn noise(n: &Noise) -> Sheet {
    let shown: Vec<&ChannelNoise> = n.channels.iter().filter(|c| c.reason.is_empty()).collect();
    let mut pictures = Vec::new();
    for c in &shown {
        pictures.push(Picture::Bars(bars(c)));
        pictures.extend(spectra(c).map(Picture::Plot));
    }
    let none = n.channels.iter().map(|c| (&*c.name, &*c.reason));
    pictures.extend(without(none).map(Picture::Words));
    Sheet {
        title: match n.channels.as_slice() {
            [one] => format!("{}: noise of {}", n.board, one.name),
            _ => format!("{}: noise", n.board),
        },
        lead: match shown.as_slice() {
            [one] => sentence(one),
            _ => "What makes readings of a steady quantity differ, one standard deviation."
                .to_owned(),
        },
        description: shown
            .iter()
            .map(|c| sentence(c))
            .collect::<Vec<_>>()
            .join(" "),
        pictures,
    }
}

/// One channel in words.
fn sentence(c: &ChannelNoise) -> String {
    let at = conditions(&c.at);
    let at = if at.is_empty() {
        at
    } else {
        format!(" at {at}")
    };
    let amount = |t: &report::NoiseTotal| {
        format!(
            "{} ({} codes)",
            number::measured(t.quantity, &c.error_unit, 3),
            number::measured(t.codes, "", 3)
        )
    };
    let averaged = if c.averaged > 1 {
        format!(
            ", {} in a reading of {} averaged",
            amount(&c.reading),
            c.averaged
        )
    } else {
        String::new()
    };
    format!(
        "{}: one standard deviation{at} is {} in a conversion{averaged}; {} effective bits, {} free of noise.",
        c.name,
        amount(&c.conversion),
        number::fixed(c.reading.effective_bits, 1),
        number::fixed(c.reading.noise_free_bits, 1)
    )
}

fn bars(c: &ChannelNoise) -> Bars {
    let mut kinds: Vec<String> = Vec::new();
    let mut place = |kind: &str| {
        kinds.iter().position(|k| k == kind).unwrap_or_else(|| {
            kinds.push(kind.to_owned());
            kinds.len() - 1
        })
    };
    let text = |volt: f64, quantity: f64, share: f64| {
        format!(
            "{}, {}, {}",
            number::measured(volt, "V", 3),
            number::measured(quantity, &c.error_unit, 3),
            number::part(share)
        )
    };
    let shown = c
        .contributors
        .iter()
        .take(BARS)
        .take_while(|n| n.share >= LEAST)
        .count();
    let (first, rest) = c.contributors.split_at(shown);
    let mut bars: Vec<Bar> = first
        .iter()
        .map(|n| Bar {
            name: n.name.clone(),
            value: n.volt,
            text: text(n.volt, n.quantity, n.share),
            note: source(n),
            kind: place(&n.kind),
        })
        .collect();
    if !rest.is_empty() {
        let root =
            |f: fn(&NoiseContributor) -> f64| rest.iter().map(|n| f(n) * f(n)).sum::<f64>().sqrt();
        let volt = root(|n| n.volt);
        bars.push(Bar {
            name: format!("{} others", rest.len()),
            value: volt,
            text: text(
                volt,
                root(|n| n.quantity),
                rest.iter().map(|n| n.share).sum(),
            ),
            note: String::new(),
            kind: place("several"),
        });
    }
    Bars {
        heading: format!("{}: noise of a conversion at the converter's input", c.name),
        kinds,
        bars,
    }
}

fn source(n: &NoiseContributor) -> String {
    match (
        n.source.is_empty(),
        n.basis.is_empty() || n.basis == "published",
    ) {
        (false, true) => n.source.clone(),
        (false, false) => format!("{} ({})", n.source, n.basis),
        (true, _) => n.basis.clone(),
    }
}

fn spectra(c: &ChannelNoise) -> Option<Plot> {
    let series: Vec<Series> = c
        .contributors
        .iter()
        .filter(|n| n.spectrum.len() > 1)
        .take(CURVES)
        .map(|n| Series {
            name: n.name.clone(),
            points: n.spectrum.iter().map(|p| (p.hz, p.density)).collect(),
        })
        .collect();
    let highest = series
        .iter()
        .flat_map(|s| &s.points)
        .map(|p| p.1)
        .filter(|d| d.is_finite())
        .fold(0.0, f64::max);
    let lowest = series
        .iter()
        .flat_map(|s| &s.points)
        .map(|p| p.1)
        .filter(|d| *d > 0.0)
        .fold(f64::INFINITY, f64::min);
    // Five decades below the largest nothing adds to it.
    let y = Axis::log("density", "V/√Hz").within(lowest.max(1e-5 * highest), highest);
    (highest > 0.0).then(|| Plot {
        heading: format!("{}: density at the converter's input", c.name),
        x: Axis::log("frequency", "Hz"),
        panels: vec![Panel {
            y,
            series,
            marks: Vec::new(),
            levels: Vec::new(),
        }],
        guides: Vec::new(),
    })
}
