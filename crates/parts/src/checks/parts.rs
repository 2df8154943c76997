//! Checks of a part as a whole.

use std::collections::BTreeSet;

use finding::{InputFault, nearest_of};

use crate::kinds::kind;
use crate::laws::law;
use crate::part::{ConverterUnit, Part};
use crate::quantities::SUPPLIES;

fn fault(part: &Part, message: String, expected: impl Into<String>) -> InputFault {
    InputFault::new(part.span, message, expected)
}

/// Lower case, digits and single hyphens.
pub(super) fn id_spelling(part: &Part) -> Vec<InputFault> {
    let good = part.id.split('-').all(|piece| {
        !piece.is_empty()
            && piece
                .chars()
                .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit())
    });
    if good {
        return Vec::new();
    }
    vec![fault(
        part,
        format!("\"{}\" is not a good id", part.id),
        "lower-case letters and digits with single hyphens, for example adr5041-b",
    )]
}

/// Something to show in lists.
pub(super) fn title_given(part: &Part) -> Vec<InputFault> {
    if part.title.trim().is_empty() {
        return vec![fault(
            part,
            format!("part `{}` has an empty title", part.id),
            "what it is, one line",
        )];
    }
    Vec::new()
}

/// The figures a kind and a law cannot do without, unless left open.
pub(super) fn required_figures(part: &Part) -> Vec<InputFault> {
    let of_kind = kind(&part.kind).map_or(&[][..], |k| k.required);
    let of_law = part
        .law
        .as_deref()
        .and_then(law)
        .map_or(&[][..], |l| l.required);
    of_kind
        .iter()
        .chain(of_law)
        .filter(|name| {
            !part.figures.contains_key(**name) && !part.open.iter().any(|open| open == *name)
        })
        .map(|name| {
            fault(
                part,
                format!("part `{}` has no `{name}`", part.id),
                format!("`{name}` in [figures], or in `open` if the board gives it"),
            )
        })
        .collect()
}

/// A sensor has a law, a quantity, and the two go together.
pub(super) fn sensor_has_law_and_quantity(part: &Part) -> Vec<InputFault> {
    let mut faults = Vec::new();
    let by_law = kind(&part.kind).is_some_and(|k| k.measures_by_law);
    if !by_law {
        if part.law.is_some() {
            faults.push(fault(
                part,
                format!("part `{}` is no sensor and has a law", part.id),
                "law only for parts of kind sensor",
            ));
        }
        return faults;
    }
    let Some(law_spec) = part.law.as_deref().and_then(law) else {
        faults.push(fault(
            part,
            format!("sensor `{}` has no law", part.id),
            "law = \"…\"",
        ));
        return faults;
    };
    let open = part.open.iter().any(|open| open == "quantity");
    match (&part.quantity, law_spec.quantity) {
        (None, _) if !open => faults.push(fault(
            part,
            format!("sensor `{}` does not say what it measures", part.id),
            "quantity = \"…\", or \"quantity\" in `open`",
        )),
        (Some(quantity), Some(only)) if quantity != only => faults.push(fault(
            part,
            format!(
                "sensor `{}` measures {quantity} by the law {}, which measures {only}",
                part.id, law_spec.name
            ),
            "a law for this quantity",
        )),
        _ => {}
    }
    faults
}

/// Options belong to the law and have one of its words.
pub(super) fn options_known(part: &Part) -> Vec<InputFault> {
    let known = part
        .law
        .as_deref()
        .and_then(law)
        .map_or(&[][..], |l| l.options);
    let mut faults = Vec::new();
    for (name, word) in &part.options {
        match known.iter().find(|(option, _)| option == name) {
            None => faults.push(
                fault(
                    part,
                    format!("part `{}` has an unknown option `{name}`", part.id),
                    known.iter().map(|(n, _)| *n).collect::<Vec<_>>().join(", "),
                )
                .suggest(nearest_of(name, known.iter().map(|(n, _)| *n))),
            ),
            Some((_, words)) if !words.contains(&word.as_str()) => faults.push(
                fault(
                    part,
                    format!("option `{name}` of part `{}` is \"{word}\"", part.id),
                    format!("one of {}", words.join(", ")),
                )
                .suggest(nearest_of(word, words.iter().copied())),
            ),
            Some(_) => {}
        }
    }
    if part.law.as_deref() == Some("thermocouple") && !part.options.contains_key("type") {
        faults.push(fault(
            part,
            format!("thermocouple `{}` has no type", part.id),
            "options = { type = \"K\" }",
        ));
    }
    faults
}

/// A digital sensor measures something and speaks a bus.
pub(super) fn digital_sensor_complete(part: &Part) -> Vec<InputFault> {
    let mut faults = Vec::new();
    if !kind(&part.kind).is_some_and(|k| k.measures_digitally) {
        return faults;
    }
    if part.measures.is_empty() {
        faults.push(fault(
            part,
            format!("digital sensor `{}` measures nothing", part.id),
            "[measures.…] with the quantity's figures",
        ));
    }
    if part.buses.is_empty() {
        faults.push(fault(
            part,
            format!("digital sensor `{}` has no bus", part.id),
            "buses = [\"i2c\"] or others",
        ));
    }
    let addressed = part.buses.iter().any(|bus| bus == "i2c" || bus == "smbus");
    if addressed && part.addresses.is_empty() {
        faults.push(fault(
            part,
            format!("digital sensor `{}` has no bus address", part.id),
            "addresses = [0x44]",
        ));
    }
    faults
}

/// A converter has bits, something to compare against, and known supplies.
pub(super) fn converter_complete(part: &Part) -> Vec<InputFault> {
    let mut faults = Vec::new();
    let wants = kind(&part.kind).is_some_and(|k| k.has_converters);
    if part.kind == "converter" && part.converters.is_empty() {
        faults.push(fault(
            part,
            format!("converter part `{}` has no [[converter]]", part.id),
            "at least one",
        ));
    }
    if !wants && !part.converters.is_empty() {
        faults.push(fault(
            part,
            format!("part `{}` of kind {} has a converter", part.id, part.kind),
            "[[converter]] only in controllers and converters",
        ));
    }
    for unit in &part.converters {
        if unit.references.is_empty() {
            faults.push(InputFault::new(
                unit.span,
                format!(
                    "converter `{}` of `{}` has no reference",
                    unit.name, part.id
                ),
                "[[converter.references]]",
            ));
        }
        for reference in &unit.references {
            if let Some(from) = &reference.from
                && !SUPPLIES.contains(&from.as_str())
            {
                faults.push(
                    InputFault::new(
                        reference.span,
                        format!("reference `{}` is taken from \"{from}\"", reference.name),
                        format!("one of {}", SUPPLIES.join(", ")),
                    )
                    .suggest(nearest_of(from, SUPPLIES.iter().copied())),
                );
            }
            if !(reference.share > 0.0 && reference.share <= 1.0) {
                faults.push(InputFault::new(
                    reference.span,
                    format!(
                        "reference `{}` is not a share of its supply",
                        reference.name
                    ),
                    "share above 0 and up to 1",
                ));
            }
        }
        if unit
            .gains
            .iter()
            .any(|gain| !gain.is_finite() || *gain <= 0.0)
        {
            faults.push(InputFault::new(
                unit.span,
                format!(
                    "converter `{}` of `{}` has a gain of zero or less",
                    unit.name, part.id
                ),
                "gains above zero",
            ));
        }
    }
    faults
}

/// Pins of converter channels and references are listed under `[pins]`.
pub(super) fn channel_pins_exist(part: &Part) -> Vec<InputFault> {
    let mut faults = Vec::new();
    let mut look = |unit: &ConverterUnit, pin: &str, span| {
        if !pin.is_empty() && part.pin(pin).is_none() {
            faults.push(
                InputFault::new(
                    span,
                    format!(
                        "converter `{}` of `{}` uses pin {pin}, which the part does not have",
                        unit.name, part.id
                    ),
                    "a pin listed in [pins]",
                )
                .suggest(nearest_of(pin, part.pins.iter().map(|p| p.name.as_str()))),
            );
        }
    };
    for unit in &part.converters {
        for channel in &unit.channels {
            look(unit, &channel.pin, channel.span);
            look(unit, &channel.minus, channel.span);
        }
        for reference in &unit.references {
            look(unit, &reference.pin, reference.span);
        }
    }
    faults
}

/// No two converters, channels, references, ranges or gains of one name.
pub(super) fn names_differ(part: &Part) -> Vec<InputFault> {
    let mut faults = Vec::new();
    let mut check = |what: String, names: Vec<(&str, finding::Span)>| {
        let mut seen = BTreeSet::new();
        for (name, span) in names {
            if !seen.insert(name) {
                faults.push(InputFault::new(
                    span,
                    format!("{what} `{name}` appears twice in `{}`", part.id),
                    "names that differ",
                ));
            }
        }
    };
    let units = part.converters.iter();
    check(
        "converter".to_owned(),
        units.clone().map(|u| (u.name.as_str(), u.span)).collect(),
    );
    for unit in units {
        let of = |what: &str| format!("{what} of converter `{}`,", unit.name);
        check(
            of("channel"),
            unit.channels
                .iter()
                .map(|c| (c.name.as_str(), c.span))
                .collect(),
        );
        check(
            of("reference"),
            unit.references
                .iter()
                .map(|r| (r.name.as_str(), r.span))
                .collect(),
        );
        check(
            of("range"),
            unit.ranges
                .iter()
                .map(|r| (r.name.as_str(), r.span))
                .collect(),
        );
    }
    faults
}

/// A carrier names its controller and brings something out.
pub(super) fn carrier_complete(part: &Part) -> Vec<InputFault> {
    let carries = kind(&part.kind).is_some_and(|k| k.carries_controller);
    let mut faults = Vec::new();
    if carries && (part.controller.is_none() || part.exposes.is_empty()) {
        faults.push(fault(
            part,
            format!("carrier `{}` is not complete", part.id),
            "controller = \"…\" and exposes = [\"…\"]",
        ));
    }
    if !carries && (part.controller.is_some() || !part.rails.is_empty()) {
        faults.push(fault(
            part,
            format!(
                "part `{}` of kind {} is described as a carrier",
                part.id, part.kind
            ),
            "controller, exposes and rails only for carriers",
        ));
    }
    faults
}

/// Seven-bit addresses outside the ranges that the bus reserves
/// (NXP UM10204, reserved addresses: 0000 xxx and 1111 xxx).
pub(super) fn addresses_usable(part: &Part) -> Vec<InputFault> {
    part.addresses
        .iter()
        .filter(|address| !(0x08..=0x77).contains(*address))
        .map(|address| {
            fault(
                part,
                format!("address {address:#04x} of `{}` is reserved", part.id),
                "seven-bit addresses from 0x08 to 0x77, without the read bit",
            )
        })
        .collect()
}

/// Measurements and pins only where the kind has them.
pub(super) fn parts_of_the_kind(part: &Part) -> Vec<InputFault> {
    let Some(spec) = kind(&part.kind) else {
        return vec![fault(
            part,
            format!("\"{}\" is not a kind of part", part.kind),
            "a known kind",
        )];
    };
    let mut faults = Vec::new();
    if !spec.measures_digitally && !part.measures.is_empty() {
        faults.push(fault(
            part,
            format!("part `{}` of kind {} has [measures]", part.id, part.kind),
            "[measures] only for digital sensors",
        ));
    }
    if !spec.has_pins && !part.pins.is_empty() {
        faults.push(fault(
            part,
            format!("part `{}` of kind {} has [pins]", part.id, part.kind),
            "[pins] only for controllers and converters",
        ));
    }
    faults
}
