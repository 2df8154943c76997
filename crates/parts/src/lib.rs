//! The parts layer.
