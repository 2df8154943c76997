//! Part files and laws must speak of the same things.
//!
//! What a part file may state for a law is listed with the parts, what the
//! law computes with is listed with the law; the two lists are compared here.

use std::collections::BTreeSet;

use chain::law::{Law, ParameterSpec, find, names};
use parts::{Allowed, FigureSpec, LawSpec};
use quantity::Dimension;

/// A parameter that no data sheet states: where a pair of wires lies within
/// its class.
const NOT_IN_PART_FILES: [(&str, &str); 1] = [("thermocouple", "class-share")];

/// Whether a figure is written in the dimension the law takes.
fn fits(law: &dyn Law, parameter: &ParameterSpec, figure: &FigureSpec) -> bool {
    // For a law of any quantity one that no law has in its own numbers.
    let quantity = law.quantity().unwrap_or(Dimension::LUMINOUS_INTENSITY);
    let wanted = parameter.dimension_for(quantity);
    match figure.allowed {
        Allowed::These(list) => list.contains(&wanted),
        Allowed::Quantity | Allowed::QuantityValue => wanted == quantity,
        Allowed::PerQuantity(list) => list.iter().any(|d| d.over(quantity) == wanted),
        Allowed::PerQuantityPower(list, power) => {
            let per = quantity.power(power);
            list.iter().any(|d| d.over(per) == wanted)
        }
        _ => false,
    }
}

fn compare(law: &dyn Law, spec: &LawSpec) {
    let name = law.name();
    for parameter in law.parameters() {
        if NOT_IN_PART_FILES.contains(&(name, parameter.name)) {
            continue;
        }
        let figure = spec.figures.iter().find(|f| f.name == parameter.name);
        assert!(
            figure.is_some_and(|figure| fits(law, parameter, figure)),
            "{name}: part files have no fitting `{}`",
            parameter.name
        );
    }
    let points = law.points().iter().map(|p| p.name);
    let required = law.parameters().iter().filter(|p| p.required);
    let needed: BTreeSet<&str> = required.map(|p| p.name).chain(points).collect();
    let demanded: BTreeSet<&str> = spec.required.iter().copied().collect();
    assert_eq!(needed, demanded, "{name}: what must be given");
    let words = law.words().iter().map(|w| (w.name, w.choices));
    let words: Vec<(&str, &[&str])> = words.collect();
    assert_eq!(words, spec.options, "{name}: words");
    let quantity = spec.quantity.and_then(parts::quantity_dimension);
    assert_eq!(law.quantity(), quantity, "{name}: quantity");
}

#[test]
fn property_part_files_state_what_the_laws_take() {
    for name in names() {
        let law = find(name).expect("a listed law");
        let spec = parts::law(name);
        compare(law, spec.unwrap_or_else(|| unlisted(name)));
    }
    let laws: BTreeSet<&str> = names().collect();
    let listed: BTreeSet<&str> = parts::laws().iter().map(|l| l.name).collect();
    assert_eq!(laws, listed);
}

#[allow(clippy::panic, reason = "the test should say which law is missing")]
fn unlisted(name: &str) -> ! {
    panic!("part files cannot name the law `{name}`")
}
