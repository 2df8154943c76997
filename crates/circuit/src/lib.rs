//! The circuit layer.
