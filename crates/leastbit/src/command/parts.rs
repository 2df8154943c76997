//! `leastbit parts`.

use parts::{Column, Figure, Library, Scope};
use quantity::Dimension;
use report::{PartFigure, PartLine, number};

use crate::arguments::{Parts, PartsWhat};
use crate::command::{json, out};
use crate::{Ended, files, show};

/// Lists parts, or shows one.
pub(crate) fn run(a: &Parts) -> Ended {
    let Ok(input) = files::library(&a.parts.folders) else {
        return Ended::Unusable;
    };
    let library = &input.library;
    match &a.what {
        None | Some(PartsWhat::List) => list(a, library, ""),
        Some(PartsWhat::Search { words }) => list(a, library, &words.join(" ")),
        Some(PartsWhat::Show { id }) => one(a, library, id),
    }
}

fn list(a: &Parts, library: &Library, words: &str) -> Ended {
    let result = report::Parts {
        version: report::VERSION,
        words: words.to_owned(),
        parts: library.search(words).into_iter().map(line).collect(),
    };
    let ended = if result.parts.is_empty() {
        Ended::NotMet
    } else {
        Ended::Met
    };
    if a.json {
        return json(&result, ended);
    }
    out(&show::parts(&result));
    ended
}

fn one(a: &Parts, library: &Library, id: &str) -> Ended {
    let Some(part) = library.get(id) else {
        anstream::eprintln!("no part `{id}`");
        if let Some(near) = library.nearest(id) {
            anstream::eprintln!("    did you mean: {near}");
        }
        anstream::eprintln!("    `leastbit parts` lists them all");
        return Ended::Unusable;
    };
    let result = report::Part {
        version: report::VERSION,
        line: line(part),
        quantity: part.quantity.clone().unwrap_or_default(),
        law: part.law.clone().unwrap_or_default(),
        facts: facts(part),
        note: part.note.clone(),
        figures: part
            .all_figures()
            .into_iter()
            .map(|(group, f)| figure(part, &group, f))
            .collect(),
        source: part.source.to_string(),
    };
    if a.json {
        return json(&result, Ended::Met);
    }
    out(&show::part(&result));
    Ended::Met
}

fn line(part: &parts::Part) -> PartLine {
    PartLine {
        id: part.id.clone(),
        kind: part.kind.clone(),
        title: part.title.clone(),
        maker: part.maker.clone(),
        origin: part.origin.to_string(),
    }
}

/// What a part is made of, in words.
fn facts(part: &parts::Part) -> Vec<(String, String)> {
    let mut list: Vec<(String, String)> = Vec::new();
    let mut say = |name: &str, text: String| {
        if !text.is_empty() {
            list.push((name.to_owned(), text));
        }
    };
    say("controller", part.controller.clone().unwrap_or_default());
    say("exposes", part.exposes.join(", "));
    for unit in &part.converters {
        let inputs = if unit.channels.is_empty() {
            String::new()
        } else {
            format!(", {} inputs", unit.channels.len())
        };
        let references: Vec<&str> = unit.references.iter().map(|r| r.name.as_str()).collect();
        let references = if references.is_empty() {
            String::new()
        } else {
            format!("; references: {}", references.join(", "))
        };
        say(
            &format!("converter {}", unit.name),
            format!("{} bits{inputs}{references}", unit.bits),
        );
    }
    let pins: Vec<&str> = part.pins.iter().map(|p| p.name.as_str()).collect();
    say("pins", pins.join(", "));
    say("buses", part.buses.join(", "));
    let addresses: Vec<String> = part.addresses.iter().map(|a| format!("{a:#04x}")).collect();
    say("addresses", addresses.join(", "));
    let rails: Vec<&str> = part.rails.iter().map(|r| r.name.as_str()).collect();
    say("rails", rails.join(", "));
    let measures: Vec<&str> = part.measures.iter().map(|m| m.quantity.as_str()).collect();
    say("measures", measures.join(", "));
    say("left to the board", part.open.join(", "));
    list
}

fn figure(part: &parts::Part, group: &str, f: &Figure) -> PartFigure {
    let absolute = is_absolute(part, group, f);
    let column = |which: Column| {
        let (value, term) = match which {
            Column::Min => (f.min, &f.min_supply),
            Column::Typ => (f.typ, &f.typ_supply),
            Column::Max => (f.max, &f.max_supply),
        };
        let number = value.map(|v| shown(f.dimension, v, absolute));
        match (term, number) {
            (Some(t), None) => supply_term(t),
            (Some(t), Some(_)) if value == Some(0.0) => supply_term(t),
            (Some(t), Some(n)) => match n.strip_prefix('\u{2212}') {
                Some(positive) => format!("{} − {positive}", supply_term(t)),
                None => format!("{} + {n}", supply_term(t)),
            },
            (None, Some(n)) => n,
            (None, None) if which == f.points_column && !f.points.is_empty() => points(f),
            (None, None) => String::new(),
        }
    };
    let mut conditions: Vec<String> = Vec::new();
    if !f.choices.is_empty() {
        let list: Vec<String> = f
            .choices
            .iter()
            .map(|c| shown(f.dimension, *c, absolute))
            .collect();
        conditions.push(format!("one of {}", list.join(", ")));
    }
    if let Some((cold, hot)) = f.over_k {
        let degrees = |k: f64| number::short(k - 273.15);
        conditions.push(format!("{} to {} °C", degrees(cold), degrees(hot)));
    }
    if !f.conditions.is_empty() {
        conditions.push(f.conditions.clone());
    }
    if !f.per.is_empty() {
        conditions.push(format!("per {}", f.per));
    }
    PartFigure {
        group: group.to_owned(),
        name: f.name.clone(),
        min: column(Column::Min),
        typ: column(Column::Typ),
        max: column(Column::Max),
        conditions: conditions.join("; "),
        role: parts::Role::ALL
            .iter()
            .find(|(_, r)| *r == f.role)
            .map_or("", |(w, _)| w)
            .to_owned(),
        basis: f.basis.to_string(),
        source: f.source.to_string(),
        alternatives: f
            .alternatives
            .iter()
            .map(|a| figure(part, group, a))
            .collect(),
    }
}

/// `0.65 × supply`, or the supply alone where the ratio is one.
fn supply_term(t: &parts::SupplyTerm) -> String {
    if t.ratio == 1.0 {
        t.supply.clone()
    } else {
        format!("{} × {}", number::short(t.ratio), t.supply)
    }
}

fn points(f: &Figure) -> String {
    let (Some(first), Some(last)) = (f.points.first(), f.points.last()) else {
        return String::new();
    };
    let at = |p: &(f64, f64)| {
        let x = shown(f.variable.unwrap_or(Dimension::NONE), p.0, false);
        format!("{} at {x}", shown(f.dimension, p.1, false))
    };
    format!("{} … {} ({} points)", at(first), at(last), f.points.len())
}

fn shown(dimension: Dimension, value: f64, absolute: bool) -> String {
    if absolute && dimension == Dimension::TEMPERATURE {
        return format!("{} °C", number::short(value - 273.15));
    }
    if dimension == Dimension::NONE {
        return match value.abs() {
            0.0 => "0".to_owned(),
            v if v < 1e-4 => format!("{} ppm", number::short(value * 1e6)),
            v if v < 0.5 => format!("{} %", number::short(value * 100.0)),
            _ => number::short(value),
        };
    }
    match quantity::symbol(dimension) {
        Some(unit) => number::amount(value, unit),
        None => quantity::display(dimension, value, 4),
    }
}

/// Whether temperatures of this figure are absolute, by the kind's own list.
fn is_absolute(part: &parts::Part, group: &str, f: &Figure) -> bool {
    let measured = part.measure(group).map(|m| m.dimension);
    let of_part = part.quantity.as_deref().and_then(parts::quantity_dimension);
    let scope = match measured {
        Some(quantity) => Some(Scope::Measure { quantity }),
        None if group.is_empty() => Scope::part(&part.kind, of_part, part.law.as_deref()),
        None => None,
    };
    scope
        .and_then(|s| s.figure(&f.name))
        .is_some_and(|s| s.is_absolute())
}
