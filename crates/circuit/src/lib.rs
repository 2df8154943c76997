//! Networks of elements between nodes, solved onto a tape.
//!
//! Modified nodal analysis (C.-W. Ho, A. Ruehli, P. Brennan, IEEE Trans.
//! Circuits and Systems 22, 1975): Kirchhoff's current law at every node but
//! ground, one more equation for every element whose current is not given by
//! its voltage. Nothing here knows of part files or statistics.
//!
//! ```
//! let builder = tape::Builder::new();
//! let mut net = circuit::Network::new(&builder);
//! let (supply, out) = (net.node("supply"), net.node("out"));
//! net.voltage_source("v", supply, circuit::Node::GROUND, builder.constant(5.0));
//! net.resistor("r1", supply, out, builder.constant(10e3));
//! net.resistor("r2", out, circuit::Node::GROUND, builder.constant(15e3));
//! let solution = net.solve()?;
//! assert!((solution.voltage(out).nominal() - 3.0).abs() < 1e-12);
//! # Ok::<(), circuit::Fault>(())
//! ```

mod fault;
mod network;
mod reach;
mod scaling;
mod solution;

pub use fault::Fault;
pub use network::{Amplifier, Network, Node};
pub use scaling::{doubling, insulation_ohm};
pub use solution::Solution;
