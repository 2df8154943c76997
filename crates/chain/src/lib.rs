//! The chain layer: from a quantity through sensor, stages and converter to a
//! reading. No statistics here: what is uncertain is listed in
//! [`variables::Variables`] and drawn elsewhere.

pub mod channel;
pub mod formula;
pub mod law;
pub mod stage;
pub mod variables;
