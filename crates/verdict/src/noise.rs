//! What makes readings of a steady quantity differ.

use board::{Board, Channel};
use chain::time::noise::{ChannelNoise as NetworkNoise, NoiseLine, has_own_figure, wide_hz};
use chain::time::spectrum::{Spectra, frequencies, kind_word, spectra};
use chain::variables::{Kind, Lies, Variable, Varies};
use finding::Sources;
use rayon::prelude::*;
use report::{ChannelNoise, NoiseContributor, NoiseTotal, SpectrumPoint, number};
use statistics::{dither, resolution};

use crate::budget::BudgetFault;
use crate::response::{chosen, standing};
use crate::study::Study;
use crate::{timing, words};

/// Frequencies whose densities are named, Hz.
const NAMED_HZ: [f64; 3] = [1.0, 1e3, 1e5];

/// The noise of one channel, or of all.
///
/// # Errors
/// There is no channel of that name.
pub fn noise(
    board: &Board,
    name: Option<&str>,
    sources: &Sources,
) -> Result<report::Noise, BudgetFault> {
    let settled = system::settled(board);
    let board = settled.as_ref();
    let channels = chosen(board, name)?;
    let timing = match name {
        Some(name) => timing::of_channel(board, name),
        None => timing::of(board),
    };
    let channels = channels
        .into_par_iter()
        .map(|(i, channel)| {
            let bare = ChannelNoise {
                name: channel.name.clone(),
                quantity: channel.quantity.clone(),
                error_unit: words::error_unit(channel).to_owned(),
                ..ChannelNoise::default()
            };
            let found = timing.channel(i);
            let Some(network) = found.and_then(|s| s.noise.as_ref()) else {
                let reason = found.map(|s| s.no_noise.as_str()).unwrap_or_default();
                let reason = match reason {
                    "" => "the channel enters no converter whose times are known",
                    other => other,
                };
                return ChannelNoise {
                    reason: reason.to_owned(),
                    ..bare
                };
            };
            let study = Study::timed(board, channel, &timing).map_err(|f| f.message);
            let answer = study.and_then(|study| one(board, &study, network, sources, &bare));
            answer.unwrap_or_else(|reason| ChannelNoise { reason, ..bare })
        })
        .collect();
    Ok(report::Noise {
        version: report::VERSION,
        board: board.name.clone(),
        channels,
    })
}

fn one(
    board: &Board,
    study: &Study<'_>,
    network: &NetworkNoise,
    sources: &Sources,
    bare: &ChannelNoise,
) -> Result<ChannelNoise, String> {
    let channel = study.channel;
    let hz = frequencies();
    let all: Vec<f64> = NAMED_HZ.iter().chain(&hz).copied().collect();
    let spectra =
        spectra(board, channel, network.quantity, network.kelvin, &all).map_err(|f| f.message)?;
    let scale = Scale {
        channel,
        volt_per_quantity: spectra.volt_per_quantity.abs(),
        codes_per_volt: spectra.codes_per_volt.abs(),
    };
    let mut contributors: Vec<NoiseContributor> = network
        .lines
        .iter()
        .map(|l| of_network(l, &spectra, &hz, &scale))
        .collect();
    contributors.extend(others(study, network, sources, &scale)?);
    // What is nothing is not listed.
    contributors.retain(|c| c.volt > 0.0);
    let power = |f: fn(&NoiseContributor) -> f64| {
        let sum: f64 = contributors.iter().map(|c| f(c) * f(c)).sum();
        sum.sqrt()
    };
    let (single_v, reading) = (power(|c| c.volt), power(|c| c.reading));
    for c in &mut contributors {
        c.share = (c.reading / reading) * (c.reading / reading);
    }
    contributors.sort_by(|a, b| b.share.total_cmp(&a.share));
    let codes = study.codes.map_or(f64::NAN, |(first, last)| last - first);
    // One code tells no more than the converter has bits, however quiet it is.
    let most = resolution::effective_bits(codes, 1.0);
    let total = |volt: f64, count: u32| {
        let size = volt * scale.codes_per_volt;
        let at_most = |bits: f64| if count > 1 { bits } else { bits.min(most) };
        NoiseTotal {
            volt,
            codes: size,
            quantity: scale.quantity(volt),
            effective_bits: at_most(resolution::effective_bits(codes, size)),
            noise_free_bits: at_most(resolution::noise_free_bits(codes, size)),
        }
    };
    let conversion = total(single_v, 1);
    let reading_v = reading * channel.unit.factor.abs() * scale.volt_per_quantity;
    Ok(ChannelNoise {
        at: standing(channel, network.quantity, network.kelvin),
        densities_hz: NAMED_HZ.to_vec(),
        contributors,
        bias_left_codes: dither::largest_bias(conversion.codes),
        conversion,
        reading: total(reading_v, network.count),
        averaged: network.count,
        observed_s: 1.0 / network.low_hz,
        assumed: assumed(board, channel, network),
        ..bare.clone()
    })
}

/// From volts at the converter's input to codes and to the quantity.
struct Scale<'a> {
    channel: &'a Channel,
    volt_per_quantity: f64,
    codes_per_volt: f64,
}

impl Scale<'_> {
    /// In the error unit.
    fn quantity(&self, volt: f64) -> f64 {
        let si = volt / self.volt_per_quantity;
        self.channel.unit.number_of_difference(si).abs()
    }
}

fn of_network(l: &NoiseLine, spectra: &Spectra, hz: &[f64], scale: &Scale<'_>) -> NoiseContributor {
    let line = spectra
        .lines
        .iter()
        .find(|s| s.name == l.origin.name && s.kind == l.kind);
    let density = |k: usize| {
        let found = line.and_then(|s| s.densities.get(k));
        found.copied().unwrap_or(f64::NAN)
    };
    let spectrum = hz
        .iter()
        .enumerate()
        .map(|(k, &hz)| SpectrumPoint {
            hz,
            density: density(NAMED_HZ.len() + k),
        })
        .filter(|p| p.density.is_finite())
        .collect();
    NoiseContributor {
        name: l.origin.name.clone(),
        kind: kind_word(l.kind).to_owned(),
        densities: (0..NAMED_HZ.len()).map(density).collect(),
        volt: l.single_v,
        codes: l.single_v * scale.codes_per_volt,
        quantity: scale.quantity(l.single_v),
        reading: scale.quantity(l.reading_v),
        share: 0.0,
        source: l.origin.source.clone(),
        basis: l.origin.basis.map_or("", parts::Basis::word).to_owned(),
        spectrum,
    }
}

/// Random contributors of the reading that do not come from its network: the
/// converter's own, those of references, and of other channels that the
/// reading uses.
fn others(
    study: &Study<'_>,
    network: &NetworkNoise,
    sources: &Sources,
    scale: &Scale<'_>,
) -> Result<Vec<NoiseContributor>, String> {
    let mut conditions = study.usual_conditions();
    for (&i, x) in study.lean.conditions().iter().zip(&mut conditions) {
        let key = study.variables[i].key.as_str();
        if key == "ambient" {
            *x = network.kelvin;
        } else if key == format!("channels.{}.quantity", study.channel.name) {
            *x = network.quantity;
        }
    }
    let found = uncertainty::propagate(&study.lean, &conditions, study.board.judging.probability)
        .map_err(|f| f.to_string())?;
    let own = format!("channels.{}.noise", study.channel.name);
    let of = |v: &Variable| {
        // Creep and tones lie between limits: they are no noise.
        let random = v.varies == Varies::Reading
            && v.kind == Kind::Random
            && matches!(v.lies, Lies::About(..));
        let here = v.key.ends_with('@') && !v.key.contains("memory of");
        random && here && !v.key.starts_with(&format!("{own} "))
    };
    // The wide noise of the reference is in every conversion, as far as it
    // changes between them.
    let independent = match study.channel.reference.as_ref().map(|r| &r.value) {
        Some(board::Against::Supply(board::Supply::Reference(i))) => {
            let part = study.board.references.get(*i).and_then(|r| r.part.as_ref());
            let figure = part.and_then(|p| p.figures.get("noise-wide"));
            figure.map_or(1.0, |f| network.independent(wide_hz(f)))
        }
        _ => 1.0,
    };
    let mut list = Vec::new();
    for c in &found.contributions {
        for &input in &c.inputs {
            let v = &study.variables[input];
            if !of(v) {
                continue;
            }
            let reading = study
                .channel
                .unit
                .number_of_difference(c.contribution)
                .abs();
            // The converter's own noise is independent in each conversion.
            let is_own = v.key == format!("{own}@");
            let single = if is_own {
                reading * f64::from(network.count).sqrt()
            } else if v.key.ends_with(".noise-wide@") {
                reading * independent.sqrt()
            } else {
                reading
            };
            let volt = single * study.channel.unit.factor.abs() * scale.volt_per_quantity;
            let kind = if is_own {
                "converter"
            } else if v.key.contains(".sensor.") {
                "sensor"
            } else if v.key.contains("references.") || v.key.contains("rails.") {
                "reference"
            } else {
                "other channel"
            };
            list.push(NoiseContributor {
                name: match of_channel(&v.key).filter(|c| *c != study.channel.name) {
                    Some(other) => format!("{other}: {}", v.name),
                    None => v.name.clone(),
                },
                kind: kind.to_owned(),
                densities: vec![f64::NAN; NAMED_HZ.len()],
                volt,
                codes: volt * scale.codes_per_volt,
                quantity: single,
                reading,
                share: 0.0,
                source: source(v, sources),
                basis: v.basis.map_or("", parts::Basis::word).to_owned(),
                spectrum: Vec::new(),
            });
        }
    }
    Ok(list)
}

/// The channel that a variable's key belongs to. Names of channels have no
/// dots.
fn of_channel(key: &str) -> Option<&str> {
    key.strip_prefix("channels.")?.split('.').next()
}

fn source(v: &Variable, sources: &Sources) -> String {
    match v.span {
        Some(span) if v.source.is_empty() => sources.place(span).to_string(),
        _ => v.source.clone(),
    }
}

/// What was taken for granted.
fn assumed(board: &Board, channel: &Channel, network: &NetworkNoise) -> Vec<String> {
    let mut list = Vec::new();
    let averages = channel.input.as_ref().is_some_and(|n| {
        let device = board.devices.get(n.device);
        let unit = device.and_then(|d| d.part.converters.get(n.unit));
        unit.is_some_and(|u| u.delta_sigma)
    });
    if has_own_figure(board, channel) && averages {
        list.push(
            "the converter averages while it converts: its figure of noise is that of its results"
                .to_owned(),
        );
    } else if has_own_figure(board, channel) {
        list.push(
            "the converter's figure of noise contains the kT/C of its sample capacitor, so thermal noise of the network counts only as far as it exceeds that"
                .to_owned(),
        );
    } else {
        list.push(
            "the converter's part states no noise: what is told here is that of the network, and no less"
                .to_owned(),
        );
    }
    for name in &network.silent {
        list.push(format!(
            "{name}: its part states no noise density, none is counted"
        ));
    }
    list.push(format!(
        "conversions in a row follow each other at {}",
        number::about(network.rate_hz, "Hz")
    ));
    list
}
