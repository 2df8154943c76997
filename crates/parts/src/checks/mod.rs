//! Small named checks of a part that was read.
//!
//! Reading finds what is written wrongly; these find what does not make
//! sense: a minimum above a maximum, a published figure without a document, a
//! converter on a pin that is not there. Every shipped part passes all of them.

mod figures;
mod parts;

use finding::InputFault;

use crate::figure::Figure;
use crate::part::{Figures, Part};

/// A check of one set of figures that stand together.
type FiguresCheck = fn(&Group<'_>) -> Vec<InputFault>;
/// A check of a part as a whole.
type PartCheck = fn(&Part) -> Vec<InputFault>;

/// Figures that stand together, and where.
pub(crate) struct Group<'a> {
    /// Such as "part `x`" or "converter `adc` of `x`".
    pub place: String,
    /// The figures.
    pub figures: &'a Figures,
}

impl Group<'_> {
    /// All figures, alternatives among them.
    fn each(&self) -> impl Iterator<Item = &Figure> {
        self.figures
            .values()
            .flat_map(|f| std::iter::once(f).chain(f.alternatives.iter()))
    }
}

/// The checks of figures, by name.
pub(crate) const FIGURE_CHECKS: &[(&str, FiguresCheck)] = &[
    ("columns-in-order", figures::columns_in_order),
    ("published-has-document", figures::published_has_document),
    ("contained-figure-exists", figures::contained_figure_exists),
    ("one-tolerance", figures::one_tolerance),
    ("positive-property", figures::positive_property),
    ("drift-has-method", figures::drift_has_method),
    ("numbers-are-finite", figures::numbers_are_finite),
    ("noise-is-stated", figures::noise_is_stated),
];

/// The checks of parts, by name.
pub(crate) const PART_CHECKS: &[(&str, PartCheck)] = &[
    ("id-spelling", parts::id_spelling),
    ("title-given", parts::title_given),
    ("required-figures", parts::required_figures),
    (
        "sensor-has-law-and-quantity",
        parts::sensor_has_law_and_quantity,
    ),
    ("options-known", parts::options_known),
    ("digital-sensor-complete", parts::digital_sensor_complete),
    ("converter-complete", parts::converter_complete),
    ("channel-pins-exist", parts::channel_pins_exist),
    ("names-differ", parts::names_differ),
    ("carrier-complete", parts::carrier_complete),
    ("addresses-usable", parts::addresses_usable),
    ("parts-of-the-kind", parts::parts_of_the_kind),
];

/// What makes no sense among figures that stand together at `place`.
pub(crate) fn figure_faults(place: &str, figures: &Figures) -> Vec<InputFault> {
    let group = Group {
        place: place.to_owned(),
        figures,
    };
    FIGURE_CHECKS
        .iter()
        .flat_map(|(_, check)| check(&group))
        .collect()
}

impl Part {
    /// Everything about the part that does not make sense.
    ///
    /// ```
    /// for part in parts::Library::shipped().iter() {
    ///     assert!(part.check().is_empty());
    /// }
    /// ```
    #[must_use]
    pub fn check(&self) -> Vec<InputFault> {
        let mut faults = Vec::new();
        for (_, check) in PART_CHECKS {
            faults.extend(check(self));
        }
        for group in self.groups() {
            for (_, check) in FIGURE_CHECKS {
                faults.extend(check(&group));
            }
        }
        faults
    }

    /// Every set of figures that stand together.
    pub(crate) fn groups(&self) -> Vec<Group<'_>> {
        let id = &self.id;
        let mut groups = vec![Group {
            place: format!("part `{id}`"),
            figures: &self.figures,
        }];
        for measure in &self.measures {
            groups.push(Group {
                place: format!("{} of `{id}`", measure.quantity),
                figures: &measure.figures,
            });
        }
        for unit in &self.converters {
            let name = &unit.name;
            groups.push(Group {
                place: format!("converter `{name}` of `{id}`"),
                figures: &unit.figures,
            });
            groups.extend(unit.references.iter().map(|reference| Group {
                place: format!(
                    "reference `{}` of converter `{name}` of `{id}`",
                    reference.name
                ),
                figures: &reference.figures,
            }));
            groups.extend(unit.ranges.iter().map(|range| Group {
                place: format!("range `{}` of converter `{name}` of `{id}`", range.name),
                figures: &range.figures,
            }));
        }
        groups.extend(self.rails.iter().map(|rail| Group {
            place: format!("rail `{}` of `{id}`", rail.name),
            figures: &rail.figures,
        }));
        groups
    }
}
