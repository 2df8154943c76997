//! What hazards have in common: one finding per board and kind, with every
//! place that gives rise to it.

use finding::{Finding, Kind, Span};

use crate::findings::Scene;

/// Pointer that ends every caution.
const PRACTICE: &str = "local codes and licensed practice decide; this program certifies nothing";

/// Places at which the conditions name a danger.
pub(crate) fn named(scene: &Scene<'_, '_>, word: &str) -> Vec<Span> {
    scene
        .board
        .conditions
        .dangers
        .iter()
        .filter(|d| d.value == word)
        .map(|d| d.span)
        .collect()
}

/// One hazard of the whole board, at the places given.
pub(crate) fn hazard(
    kind: &Kind,
    headline: String,
    places: &[Span],
    what_to_do: &[&str],
) -> Finding {
    let mut f = Finding::new(kind, "", headline);
    for &place in places {
        f = f.at(place);
    }
    for line in what_to_do {
        f = f.remedy((*line).to_owned());
    }
    f.remedy(PRACTICE.to_owned())
}

/// The hazard of a danger that the conditions name, if they do.
pub(crate) fn of_danger(
    kind: &Kind,
    scene: &Scene<'_, '_>,
    word: &str,
    headline: &str,
    what_to_do: &[&str],
) -> Option<Finding> {
    let places = named(scene, word);
    (!places.is_empty()).then(|| hazard(kind, headline.to_owned(), &places, what_to_do))
}
