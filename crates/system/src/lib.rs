//! The system layer.
