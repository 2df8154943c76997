//! The board layer.
