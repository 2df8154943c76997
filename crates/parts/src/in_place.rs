//! Figures and parts written in a board file.

use document::{Faults, Fields, Item, Table};
use finding::{InputFault, nearest_of};
use quantity::Dimension;

use crate::checks::figure_faults;
use crate::figure::Figure;
use crate::kinds::{Scope, kind, kinds};
use crate::part::{ConverterUnit, Figures, Part, ReferenceChoice, Rounding};
use crate::provenance::{Basis, Origin, Source};
use crate::quantities::{BUSES, HABITS, quantity_dimension, quantity_names};
use crate::read_converter::{converters, reference, tables};
use crate::read_figure::{Defaults, figure_from_item, figures_from_table, settle_nominals};
use crate::read_part::{numbers, read_defaults, read_measures, read_pins, words};

/// Reads one figure: a text such as `"10 kΩ 1 %"`, or a table with `min`,
/// `typ`, `max` and what is to be said of them. It is written as in a part
/// file.
///
/// Faults go to `faults`; `None` if the figure cannot be used.
pub fn figure_in_place(
    name: &str,
    item: &Item,
    scope: &Scope<'_>,
    defaults: &Defaults,
    faults: &Faults,
) -> Option<Figure> {
    figure_from_item(name, item.span, item, scope, defaults, faults)
}

/// Reads the figures of a table and says which make no sense together.
fn figures(table: &Table, scope: &Scope<'_>, defaults: &Defaults, faults: &Faults) -> Figures {
    let found = figures_from_table(table, scope, defaults, faults);
    for fault in figure_faults(&scope.describe(), &found) {
        faults.push(fault);
    }
    found
}

/// Source of what stands in a board file without one.
fn board_defaults() -> Defaults {
    Defaults {
        basis: Basis::Published,
        source: Source {
            document: "the board file".to_owned(),
            ..Source::default()
        },
    }
}

/// A part written in a board file as `[parts.NAME]`: what a part file says in
/// `[part]` stands in the table itself, beside `figures`, `measures`, `pins`
/// and `converter`.
pub fn part_in_place(name: &str, table: &Table, faults: &Faults) -> Option<Part> {
    let f = Fields::new(table, format!("part {name}"), faults);
    let kind_name = f.required_text("kind", "the kind of part, for example \"sensor\"")?;
    let Some(spec) = kind(kind_name.value) else {
        let known: Vec<&str> = kinds().iter().map(|k| k.name).collect();
        faults.push(
            InputFault::new(
                kind_name.span,
                format!("no kind of part is `{}`", kind_name.value),
                known.join(", "),
            )
            .suggest(nearest_of(kind_name.value, known.iter().copied())),
        );
        return None;
    };
    let law = f.text("law").map(|t| t.value.to_owned());
    let quantity = f.text("quantity");
    let dimension = quantity.and_then(|q| {
        let found = quantity_dimension(q.value);
        if found.is_none() {
            faults.push(
                InputFault::new(
                    q.span,
                    format!("unknown quantity `{}`", q.value),
                    "the name of a quantity",
                )
                .suggest(nearest_of(q.value, quantity_names())),
            );
        }
        found
    });
    let scope = Scope::Part {
        kind: spec,
        quantity: dimension,
        law: law.as_deref(),
    };
    // Without a source of its own it is the board file that says it.
    let written = read_defaults(&f);
    let defaults = Defaults {
        source: if f.has("source") {
            written.source
        } else {
            board_defaults().source
        },
        ..written
    };
    let figures = f
        .sub("figures")
        .map(|t| figures(t, &scope, &defaults, faults))
        .unwrap_or_default();
    let part = Part {
        figures,
        quantity: quantity.map(|q| q.value.to_owned()),
        title: f
            .text("title")
            .map_or_else(|| name.to_owned(), |t| t.value.to_owned()),
        maker: f
            .text("maker")
            .map(|t| t.value.to_owned())
            .unwrap_or_default(),
        note: f
            .text("note")
            .map(|t| t.value.to_owned())
            .unwrap_or_default(),
        law: law.clone(),
        measures: read_measures(&f, &defaults),
        pins: read_pins(&f),
        converters: converters(&f, &defaults),
        ..empty(name, spec.name, &defaults, table)
    };
    let part = spoken(&f, part);
    f.finish();
    Some(part)
}

/// The part with the buses, addresses, modes and habits that are written.
fn spoken(f: &Fields<'_>, mut part: Part) -> Part {
    if f.has("buses") {
        part.buses = words(f, "buses", Some(BUSES));
    }
    if f.has("addresses") {
        part.addresses = numbers(f, "addresses", 127);
    }
    if f.has("spi-modes") {
        part.spi_modes = numbers(f, "spi-modes", 3);
    }
    if f.has("habits") {
        part.habits = words(f, "habits", Some(HABITS));
    }
    for key in ["buses", "addresses", "spi-modes", "habits"] {
        let _ = f.item(key);
    }
    part
}

fn empty(name: &str, kind: &str, defaults: &Defaults, table: &Table) -> Part {
    Part {
        id: name.to_owned(),
        kind: kind.to_owned(),
        title: name.to_owned(),
        maker: String::new(),
        quantity: None,
        law: None,
        options: std::collections::BTreeMap::new(),
        note: String::new(),
        basis: defaults.basis,
        source: defaults.source.clone(),
        figures: Figures::new(),
        measures: Vec::new(),
        converters: Vec::new(),
        pins: Vec::new(),
        buses: Vec::new(),
        addresses: Vec::new(),
        spi_modes: Vec::new(),
        habits: Vec::new(),
        controller: None,
        exposes: Vec::new(),
        open: Vec::new(),
        rails: Vec::new(),
        origin: Origin::InPlace,
        span: table.span,
    }
}

/// A converter described where it is used: `bits`, `rounding`, whether it is
/// `differential`, `bipolar`, `delta-sigma`, `references` of its own, and
/// figures;
/// keys in `skip` belong to the caller.
pub fn converter_in_place(
    name: &str,
    table: &Table,
    skip: &[&str],
    faults: &Faults,
) -> Option<Part> {
    let kept = Table {
        entries: table
            .entries
            .iter()
            .filter(|(k, _)| !skip.contains(&k.name.as_str()))
            .cloned()
            .collect(),
        span: table.span,
    };
    let f = Fields::new(&kept, format!("converter {name}"), faults);
    f.required("bits", "a whole number from 1 to 32, or part = \"…\"");
    let bits = f.whole("bits", 1, 32);
    let rounding = f
        .word("rounding", &Rounding::ALL)
        .map_or(Rounding::Floor, |r| r.value);
    let differential = f.truth("differential").is_some_and(|t| t.value);
    let bipolar = f.truth("bipolar").is_some_and(|t| t.value);
    let delta_sigma = f.truth("delta-sigma").is_some_and(|t| t.value);
    let defaults = board_defaults();
    let found = f
        .sub("figures")
        .map(|t| figures(t, &Scope::Converter, &defaults, faults))
        .unwrap_or_default();
    let own: Vec<ReferenceChoice> = tables(&f, "references")
        .into_iter()
        .filter_map(|t| reference(Fields::new(t, "reference", faults), &defaults))
        .collect();
    f.finish();
    let unit = ConverterUnit {
        name: "adc".to_owned(),
        bits: u8::try_from(bits?.value).unwrap_or(1),
        rounding,
        differential,
        bipolar,
        delta_sigma,
        gains: Vec::new(),
        channels: Vec::new(),
        references: [("supply", Some("analog-supply")), ("external", None)]
            .map(|(name, from)| ReferenceChoice {
                name: name.to_owned(),
                from: from.map(str::to_owned),
                share: 1.0,
                pin: String::new(),
                figures: Figures::new(),
                span: table.span,
            })
            .into_iter()
            .filter(|usual| own.iter().all(|r| r.name != usual.name))
            .chain(own.iter().cloned())
            .collect(),
        ranges: Vec::new(),
        figures: found,
        span: table.span,
    };
    Some(Part {
        converters: vec![unit],
        ..empty(name, "converter", &defaults, table)
    })
}

/// The part with the figures of `over` in place of its own.
pub fn with_figures(part: &Part, over: &Table, faults: &Faults) -> Option<Part> {
    let quantity = part.quantity.as_deref().and_then(quantity_dimension);
    let scope = Scope::part(&part.kind, quantity, part.law.as_deref())?;
    let mut part = part.clone();
    part.figures
        .extend(figures(over, &scope, &board_defaults(), faults));
    settle_nominals(&mut part.figures, &scope);
    Some(part)
}

/// A part that is like another one but for the figures written in the table,
/// under a name of its own: `like`, `figures`, `title`, `note`, and the buses,
/// addresses, modes and habits where it has others.
pub fn part_like(name: &str, base: &Part, table: &Table, faults: &Faults) -> Option<Part> {
    let f = Fields::new(table, format!("part {name}"), faults);
    let _ = f.text("like");
    let mut part = match f.sub("figures") {
        Some(over) => with_figures(base, over, faults)?,
        None => base.clone(),
    };
    name.clone_into(&mut part.id);
    if let Some(title) = f.text("title") {
        title.value.clone_into(&mut part.title);
    }
    if let Some(note) = f.text("note") {
        note.value.clone_into(&mut part.note);
    }
    part = spoken(&f, part);
    part.origin = Origin::InPlace;
    part.span = table.span;
    f.finish();
    Some(part)
}

/// Figures of a sensor written in place, by its law.
pub fn sensor_figures(law: &str, quantity: Dimension, over: &Table, faults: &Faults) -> Figures {
    match Scope::part("sensor", Some(quantity), Some(law)) {
        Some(scope) => figures(over, &scope, &board_defaults(), faults),
        None => Figures::new(),
    }
}
