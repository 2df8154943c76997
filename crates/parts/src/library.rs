//! The parts that come with the program, and a user's own beside them.

use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};

use finding::{InputFault, SourceId, Sources, nearest_of};

use crate::part::Part;
use crate::provenance::Origin;
use crate::read_part::parse;
use crate::shipped::FILES;

/// All parts a board can name.
///
/// ```
/// let library = parts::Library::shipped();
/// assert!(library.get("adr5041-b").is_some());
/// assert_eq!(library.nearest("adr5401-b"), Some("adr5041-b"));
/// ```
#[derive(Clone, Debug, Default)]
pub struct Library {
    parts: Vec<Arc<Part>>,
    by_id: BTreeMap<String, usize>,
}

impl Library {
    /// No parts.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// The shipped parts, read once.
    #[must_use]
    pub fn shipped() -> &'static Library {
        static SHIPPED: OnceLock<Library> = OnceLock::new();
        SHIPPED.get_or_init(|| shipped_with_faults().0)
    }

    /// A table of texts that holds the shipped part files already, so that
    /// spans of shipped parts can be shown. Texts of the user's are to be
    /// added to it afterwards; in a table started otherwise the spans of
    /// shipped parts would point into the wrong text.
    #[must_use]
    pub fn sources() -> Sources {
        let mut sources = Sources::new();
        for (name, text) in FILES {
            let _ = sources.add(name, text);
        }
        sources
    }

    /// The shipped parts with a user's beside them.
    ///
    /// Every user part is [checked](Part::check). A part whose id is taken
    /// already, by a shipped part or by another one of the user's, is left out
    /// and reported with both places.
    #[must_use]
    pub fn with(user_parts: Vec<Part>) -> (Library, Vec<InputFault>) {
        let mut library = Library::shipped().clone();
        let mut faults = Vec::new();
        for part in user_parts {
            faults.extend(part.check());
            faults.extend(library.add_or_report(part));
        }
        for part in &library.parts {
            if part.origin != Origin::Shipped {
                faults.extend(library.check_references(part));
            }
        }
        (library, faults)
    }

    /// Adds a part.
    ///
    /// # Errors
    /// The part that has this id already, which stays.
    pub fn add(&mut self, part: Part) -> Result<(), Arc<Part>> {
        if let Some(there) = self.shared(&part.id) {
            return Err(there);
        }
        let _ = self.by_id.insert(part.id.clone(), self.parts.len());
        self.parts.push(Arc::new(part));
        Ok(())
    }

    /// Adds a part, or says which part has its id already.
    fn add_or_report(&mut self, part: Part) -> Option<InputFault> {
        let (id, origin, span) = (part.id.clone(), part.origin.clone(), part.span);
        let there = self.add(part).err()?;
        Some(InputFault::new(
            span,
            format!(
                "the part `{id}` in {origin} has the name of `{}` ({}) in {}",
                there.id, there.title, there.origin
            ),
            "an id that no other part has",
        ))
    }

    /// What a part says of other parts: the controller of a carrier and the
    /// pins that it exposes.
    pub(crate) fn check_references(&self, part: &Part) -> Vec<InputFault> {
        let Some(id) = &part.controller else {
            return Vec::new();
        };
        let Some(controller) = self.get(id) else {
            return vec![
                InputFault::new(
                    part.span,
                    format!(
                        "there is no part `{id}` to be the controller of `{}`",
                        part.id
                    ),
                    "the id of a controller",
                )
                .suggest(self.nearest(id)),
            ];
        };
        part.exposes
            .iter()
            .filter(|pin| controller.pin(pin).is_none())
            .map(|pin| {
                InputFault::new(
                    part.span,
                    format!("`{}` exposes {pin}, which `{id}` does not have", part.id),
                    format!("a pin of `{id}`"),
                )
                .suggest(nearest_of(
                    pin,
                    controller.pins.iter().map(|p| p.name.as_str()),
                ))
            })
            .collect()
    }

    /// The part with this id.
    #[must_use]
    pub fn get(&self, id: &str) -> Option<&Part> {
        self.by_id
            .get(id)
            .and_then(|index| self.parts.get(*index))
            .map(Arc::as_ref)
    }

    /// The part with this id, to be kept.
    #[must_use]
    pub fn shared(&self, id: &str) -> Option<Arc<Part>> {
        self.by_id
            .get(id)
            .and_then(|index| self.parts.get(*index))
            .cloned()
    }

    /// All parts: the shipped ones by file, then the user's.
    pub fn iter(&self) -> impl Iterator<Item = &Part> {
        self.parts.iter().map(Arc::as_ref)
    }

    /// How many parts there are, grades counted apart.
    #[must_use]
    pub fn len(&self) -> usize {
        self.parts.len()
    }

    /// Whether there are none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.parts.is_empty()
    }

    /// The id closest in spelling, if one is close.
    #[must_use]
    pub fn nearest(&self, id: &str) -> Option<&str> {
        nearest_of(id, self.by_id.keys().map(String::as_str))
    }

    /// The parts that have every one of the words in their id, kind, title,
    /// maker, quantity or law; capitals do not count.
    #[must_use]
    pub fn search(&self, words: &str) -> Vec<&Part> {
        let words: Vec<String> = words.split_whitespace().map(str::to_lowercase).collect();
        self.iter()
            .filter(|part| {
                let text = [
                    part.id.as_str(),
                    &part.kind,
                    &part.title,
                    &part.maker,
                    part.quantity.as_deref().unwrap_or_default(),
                    part.law.as_deref().unwrap_or_default(),
                ]
                .join(" ")
                .to_lowercase();
                words.iter().all(|word| text.contains(word))
            })
            .collect()
    }
}

/// The shipped library with whatever is wrong in its files.
pub(crate) fn shipped_with_faults() -> (Library, Vec<InputFault>) {
    let mut library = Library::default();
    let mut faults = Vec::new();
    for (index, (_, text)) in FILES.iter().enumerate() {
        let source = SourceId(u32::try_from(index).unwrap_or(u32::MAX));
        let (parts, wrong) = parse(source, text, &Origin::Shipped);
        faults.extend(wrong);
        for part in parts {
            faults.extend(library.add_or_report(part));
        }
    }
    (library, faults)
}

/// The generic capacitor that a word for a dielectric stands for: `X7R`, `X5R`,
/// `C0G` (also `NP0`), `film`.
///
/// ```
/// let ceramic = parts::dielectric("X7R").unwrap();
/// assert_eq!(ceramic.figures["insulation"].min, Some(500.0));
/// assert!(parts::dielectric("X8X").is_none());
/// ```
#[must_use]
pub fn dielectric(word: &str) -> Option<&'static Part> {
    let id = DIELECTRICS.iter().find(|(name, _)| *name == word)?.1;
    Library::shipped().get(id)
}

/// Words for dielectrics with the generic part each stands for.
pub const DIELECTRICS: [(&str, &str); 5] = [
    ("C0G", "capacitor-c0g"),
    ("NP0", "capacitor-c0g"),
    ("X7R", "capacitor-x7r"),
    ("X5R", "capacitor-x5r"),
    ("film", "capacitor-film-polypropylene"),
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::{FIGURE_CHECKS, PART_CHECKS};

    fn shown(faults: &[InputFault]) -> String {
        let sources = Library::sources();
        faults
            .iter()
            .map(|f| format!("{} {} ({})\n", sources.place(f.span), f.message, f.expected))
            .collect()
    }

    #[test]
    fn the_shipped_files_read_without_a_fault() {
        let (library, faults) = shipped_with_faults();
        assert!(faults.is_empty(), "{}", shown(&faults));
        assert!(library.len() >= 45, "{} parts", library.len());
    }

    #[test]
    fn every_shipped_part_passes_every_check() {
        let library = Library::shipped();
        for part in library.iter() {
            for (name, check) in PART_CHECKS {
                let faults = check(part);
                assert!(faults.is_empty(), "{name}: {}", shown(&faults));
            }
            for group in part.groups() {
                for (name, check) in FIGURE_CHECKS {
                    let faults = check(&group);
                    assert!(faults.is_empty(), "{name}: {}", shown(&faults));
                }
            }
            let faults = library.check_references(part);
            assert!(faults.is_empty(), "{}", shown(&faults));
        }
    }
}
