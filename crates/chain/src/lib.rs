//! The chain layer: from a quantity through sensor, stages and converter to a
//! reading. No statistics here: what is uncertain is listed in
//! [`variables::Variables`] and drawn elsewhere.

pub mod channel;
pub mod element;
pub mod formula;
pub mod law;
pub mod stage;
pub mod time;
pub mod variables;

/// What a board file may name that this layer computes.
#[must_use]
pub fn vocabulary() -> board::Vocabulary {
    board::Vocabulary {
        stages: stage::STAGES.iter().map(|s| s.schema).collect(),
        elements: element::ELEMENTS.iter().map(|e| e.schema).collect(),
        laws: law::names().collect(),
        law_auxiliaries: |name| law::find(name).map_or(&[], |l| l.auxiliaries()),
    }
}
