//! The tape layer.
