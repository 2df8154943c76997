//! Courses: what moves in time, a panel for each unit.

use report::{Course, number};

use super::conditions;
use crate::{Axis, Guide, Panel, Picture, Plot, Series, Sheet};

/// The sheet of a course.
#[must_use]
pub fn course(c: &Course) -> Sheet {
    let mut units: Vec<&str> = Vec::new();
    for t in &c.traces {
        if !units.contains(&t.unit.as_str()) {
            units.push(&t.unit);
        }
    }
    let panels: Vec<Panel> = units
        .iter()
        .map(|unit| Panel {
            y: Axis::linear("", unit),
            series: c
                .traces
                .iter()
                .filter(|t| t.unit == *unit)
                .map(|t| Series {
                    name: t.name.clone(),
                    points: c
                        .time_s
                        .iter()
                        .copied()
                        .zip(t.values.iter().copied())
                        .collect(),
                })
                .collect(),
            marks: Vec::new(),
            levels: Vec::new(),
        })
        .collect();
    let guides = c
        .settling
        .iter()
        .filter_map(|s| {
            Some(Guide {
                x: s.seconds?,
                label: format!("within {}", s.to),
            })
        })
        .collect();
    let settled: Vec<String> = c
        .settling
        .iter()
        .map(|s| match s.seconds {
            Some(seconds) => format!("within {} after {}", s.to, number::about(seconds, "s")),
            None => format!("not within {} in the time shown", s.to),
        })
        .collect();
    let at = conditions(&c.at);
    let at = if at.is_empty() {
        at
    } else {
        format!(", at {at}")
    };
    let settled = if settled.is_empty() {
        String::new()
    } else {
        format!(" The converter's input is {}.", settled.join(", "))
    };
    let description = capital(&format!("{}{at}.{settled}", c.event));
    Sheet {
        title: format!("{}: course of {}", c.board, c.channel),
        lead: description.clone(),
        description,
        pictures: if c.reason.is_empty() {
            vec![Picture::Plot(Plot {
                heading: String::new(),
                x: Axis::linear("time", "s"),
                panels,
                guides,
            })]
        } else {
            vec![Picture::Words(c.reason.clone())]
        },
    }
}

/// A sentence with its capital.
fn capital(text: &str) -> String {
    let mut rest = text.chars();
    match rest.next() {
        Some(first) => first.to_uppercase().chain(rest).collect(),
        None => String::new(),
    }
}
