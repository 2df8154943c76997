//! The board file of a starter.

use std::fmt::Write as _;

use crate::choose::{Circuit, ohms};
use crate::sensor::Channel;
use crate::supply::{Supplies, short};

/// With comments for its reader, or without for the judgement.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Style {
    Commented,
    Bare,
}

/// A line with a comment behind it.
fn line(out: &mut String, style: Style, text: &str, comment: &str) {
    if style == Style::Bare || comment.is_empty() {
        let _ = writeln!(out, "{text}");
    } else {
        let pad = 34_usize.saturating_sub(text.chars().count());
        let _ = writeln!(out, "{text}{}  # {comment}", " ".repeat(pad));
    }
}

/// The whole file.
pub(crate) fn board(name: &str, s: &Supplies, channels: &[Channel], style: Style) -> String {
    let mut out = String::new();
    if style == Style::Commented {
        out.push_str(
            "# A starter board: every value is a proposal, chosen from the parts' figures.\n\
             # `leastbit check` judges it, `leastbit budget` says where an error comes from,\n\
             # `leastbit bound` how far a value may go.\n\n",
        );
    }
    let quoted = name.replace('\\', "\\\\").replace('"', "\\\"");
    let _ = writeln!(out, "[board]\nname = \"{quoted}\"\n\n[conditions]");
    line(
        &mut out,
        style,
        "ambient = \"0 °C to 40 °C\"",
        "what the board must live with",
    );
    for rail in &s.rails {
        let _ = writeln!(out, "\n[rails.{}]", rail.name);
        for (text, comment) in &rail.lines {
            line(&mut out, style, text, comment);
        }
    }
    let mut halves: Vec<&str> = Vec::new();
    let mut references: Vec<&(String, String, String)> = Vec::new();
    for c in channels {
        let Some(choice) = c.circuit.reference.and_then(|r| s.choices.get(r)) else {
            continue;
        };
        if let Some(rail) = &choice.half_of
            && !halves.contains(&rail.as_str())
        {
            halves.push(rail);
        }
        if let Some(part) = &choice.part
            && !references.contains(&part)
        {
            references.push(part);
        }
    }
    for rail in halves {
        let _ = writeln!(out, "\n[rails.half]");
        line(
            &mut out,
            style,
            &format!("from = \"{rail}\""),
            "follows the rail that feeds the sensor, so that it cancels",
        );
        let _ = writeln!(
            out,
            "divider = {{ top = \"10 kΩ 0.1 % 25 ppm/K\", bottom = \"10 kΩ 0.1 % 25 ppm/K\" }}"
        );
    }
    if channels.iter().any(|c| c.circuit.foot.is_some())
        || channels
            .iter()
            .flat_map(|c| &c.circuit.stages)
            .any(|s| s.text.contains("\"mid\""))
    {
        let _ = writeln!(out, "\n[rails.mid]");
        line(
            &mut out,
            style,
            &format!("from = \"{}\"", s.supply),
            "lifts signals of either sign off ground",
        );
        let (top, bottom) = s.middle;
        let _ = writeln!(
            out,
            "divider = {{ top = \"{} 0.1 % 25 ppm/K\", bottom = \"{} 0.1 % 25 ppm/K\" }}",
            ohms(top),
            ohms(bottom)
        );
    }
    for (name, part, from) in references {
        let _ = writeln!(out, "\n[references.{name}]");
        line(
            &mut out,
            style,
            &format!("part = \"{part}\""),
            &format!("`leastbit parts show {part}` has its figures"),
        );
        let _ = writeln!(out, "supply = \"{from}\"");
    }
    let _ = writeln!(out, "\n[{}.{}]", s.group, s.device);
    line(&mut out, style, &format!("part = \"{}\"", s.part), &s.title);
    let _ = writeln!(out, "supply = \"{}\"", s.supply);
    for c in channels {
        out.push('\n');
        channel(&mut out, s, c, style);
    }
    out
}

fn channel(out: &mut String, s: &Supplies, c: &Channel, style: Style) {
    if style == Style::Commented {
        let _ = writeln!(out, "# {}", c.title);
    }
    let _ = writeln!(out, "[channels.{}]", c.name);
    let _ = writeln!(out, "quantity = \"{}\"", c.quantity);
    line(
        out,
        style,
        &format!(
            "span = \"{} {} to {} {}\"",
            short(c.span.0),
            c.unit,
            short(c.span.1),
            c.unit
        ),
        c.span_comment,
    );
    if let Some(a) = c.accuracy {
        line(
            out,
            style,
            &format!("accuracy = \"{} {}\"", short(a), c.unit),
            if c.reached {
                "what this circuit can hold: write what you need"
            } else {
                "more than this circuit alone can hold: see what `check` says"
            },
        );
    }
    sensor(out, c);
    stages(out, &c.circuit, style);
    for (text, comment) in &c.lines {
        line(out, style, text, comment);
    }
    if let Some(input) = &c.input {
        match c.circuit.gain {
            Some(gain) => {
                let _ = writeln!(out, "input = {{ at = \"{input}\", gain = {gain} }}");
            }
            None => {
                let _ = writeln!(out, "input = \"{input}\"");
            }
        }
    }
    if let Some(key) = c
        .circuit
        .reference
        .and_then(|r| s.choices.get(r))
        .and_then(|r| r.key.as_ref())
    {
        let _ = writeln!(out, "reference = \"{key}\"");
    }
}

fn sensor(out: &mut String, c: &Channel) {
    let mut keys = vec![format!("part = \"{}\"", c.part)];
    if let Some(supply) = &c.circuit.supply {
        keys.push(format!("supply = \"{supply}\""));
    }
    if let Some(foot) = &c.circuit.foot {
        keys.push(format!("foot = \"{foot}\""));
    }
    keys.extend(c.keys.iter().map(|(k, v)| format!("{k} = {v}")));
    if keys.len() == 1 {
        let _ = writeln!(out, "sensor = \"{}\"", c.part);
    } else {
        let _ = writeln!(out, "sensor = {{ {} }}", keys.join(", "));
    }
}

fn stages(out: &mut String, circuit: &Circuit, style: Style) {
    match circuit.stages.as_slice() {
        [] => {}
        [only] => {
            if style == Style::Commented {
                let _ = writeln!(out, "# {}", only.comment);
            }
            let _ = writeln!(out, "chain = [{}]", only.text);
        }
        several => {
            let _ = writeln!(out, "chain = [");
            for stage in several {
                if style == Style::Commented {
                    let _ = writeln!(out, "  # {}", stage.comment);
                }
                let _ = writeln!(out, "  {},", stage.text);
            }
            let _ = writeln!(out, "]");
        }
    }
}
