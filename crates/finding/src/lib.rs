//! The finding layer.
