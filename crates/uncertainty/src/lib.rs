//! The uncertainty layer.
