//! The chain layer: sensor laws, from a quantity to an electrical value and back.

pub mod formula;
pub mod law;
