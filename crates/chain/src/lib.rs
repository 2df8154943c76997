//! The chain layer.
