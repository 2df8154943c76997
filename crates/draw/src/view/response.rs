//! Responses: gain and phase over frequency, the way after a step.

use report::{ChannelResponse, Response, number};

use super::{conditions, hertz, without};
use crate::{Axis, Guide, Level, Mark, Panel, Picture, Plot, Scale, Series, Sheet};

/// Lowest gain shown, dB: what is below is nothing for any converter.
const FLOOR_DB: f64 = -160.0;

/// The sheet of a response: all its channels over one frequency axis, their
/// corners marked and the mains drawn, and below the way after a step.
#[must_use]
pub fn response(r: &Response) -> Sheet {
    let shown: Vec<&ChannelResponse> = r.channels.iter().filter(|c| c.reason.is_empty()).collect();
    let mut pictures = Vec::new();
    if !shown.is_empty() {
        pictures.push(Picture::Plot(frequency(&shown)));
        if shown.iter().any(|c| c.step.len() > 1) {
            pictures.push(Picture::Plot(step(&shown)));
        }
    }
    let none = r.channels.iter().map(|c| (&*c.name, &*c.reason));
    pictures.extend(without(none).map(Picture::Words));
    Sheet {
        title: match r.channels.as_slice() {
            [one] => format!("{}: response of {}", r.board, one.name),
            _ => format!("{}: response", r.board),
        },
        lead: match shown.as_slice() {
            [one] => sentence(one),
            _ => "Each quantity to its converter's input, everything else at rest.".to_owned(),
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
fn sentence(c: &ChannelResponse) -> String {
    let corner = c.corner_hz.map_or_else(
        || "has no corner".to_owned(),
        |hz| format!("falls by 3 dB at {}", hertz(hz)),
    );
    let settled = c
        .settling
        .iter()
        .filter_map(|s| {
            Some(format!(
                "within {} after {}",
                s.to,
                number::about(s.seconds?, "s")
            ))
        })
        .next_back()
        .map_or_else(String::new, |t| format!(", is {t}"));
    let sensor = c.sensor.as_ref().map_or_else(String::new, |s| {
        format!(
            " The sensor itself, not drawn here, has a time constant of {}.",
            number::about(s.time_constant_s, "s")
        )
    });
    let at = conditions(&c.at);
    let at = if at.is_empty() {
        at
    } else {
        format!(" at {at}")
    };
    format!(
        "{}: {} to the converter's input{at}, {} at rest, {corner}{settled}.{sensor}",
        c.name,
        c.stimulus,
        number::about(c.gain, &c.gain_unit)
    )
}

fn frequency(shown: &[&ChannelResponse]) -> Plot {
    let of = |c: &ChannelResponse, y: fn(&report::ResponsePoint) -> f64| Series {
        name: c.name.clone(),
        points: c.points.iter().map(|p| (p.hz, y(p))).collect(),
    };
    let lowest = |low: f64, v: f64| if v < low { v } else { low };
    let gains = shown.iter().flat_map(|c| &c.points).map(|p| p.db);
    let (low, high) = gains
        .filter(|v| v.is_finite())
        .fold((-20.0_f64, 0.0_f64), |(a, b), v| (lowest(a, v), b.max(v)));
    let marks = shown
        .iter()
        .filter_map(|c| {
            let hz = c.corner_hz?;
            let name = if shown.len() > 1 {
                format!("{}, ", c.name)
            } else {
                String::new()
            };
            Some(Mark {
                x: hz,
                y: -3.0103,
                label: format!("{name}−3 dB at {}", hertz(hz)),
            })
        })
        .collect();
    let mut guides: Vec<Guide> = Vec::new();
    for n in shown.iter().flat_map(|c| &c.named) {
        if !guides.iter().any(|g| g.x == n.hz) {
            guides.push(Guide {
                x: n.hz,
                label: n.name.clone(),
            });
        }
    }
    Plot {
        heading: "Over frequency".to_owned(),
        x: Axis::log("frequency", "Hz"),
        panels: vec![
            Panel {
                y: Axis::linear("gain against rest", "dB").within(low.max(FLOOR_DB), high),
                series: shown.iter().map(|c| of(c, |p| p.db)).collect(),
                marks,
                levels: Vec::new(),
            },
            Panel {
                y: Axis::linear("phase against rest", "°"),
                series: shown.iter().map(|c| of(c, |p| p.degrees)).collect(),
                marks: Vec::new(),
                levels: Vec::new(),
            },
        ],
        guides,
    }
}

fn step(shown: &[&ChannelResponse]) -> Plot {
    let series: Vec<Series> = shown
        .iter()
        .map(|c| Series {
            name: c.name.clone(),
            points: c.step.iter().map(|p| (p.seconds, p.share)).collect(),
        })
        .collect();
    // Channels of very different haste are seen on equal ratios only.
    let scale = if series.len() > 1 {
        Scale::Log
    } else {
        Scale::Linear
    };
    let guides = match shown {
        [one] => one
            .settling
            .iter()
            .filter_map(|s| {
                Some(Guide {
                    x: s.seconds?,
                    label: format!("within {}", s.to),
                })
            })
            .collect(),
        _ => Vec::new(),
    };
    Plot {
        heading: "After a step".to_owned(),
        x: Axis {
            scale,
            ..Axis::linear("time since the step", "s")
        },
        panels: vec![Panel {
            y: Axis::linear("share of the step", ""),
            series,
            marks: Vec::new(),
            levels: vec![Level {
                y: 1.0,
                label: String::new(),
            }],
        }],
        guides,
    }
}
