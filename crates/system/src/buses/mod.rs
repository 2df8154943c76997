//! Buses: what each kind asks of its lines, clocks, addresses and polling.

pub mod address;
pub mod clocked;
pub mod two_wire;
