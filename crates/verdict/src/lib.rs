//! The verdict layer.
