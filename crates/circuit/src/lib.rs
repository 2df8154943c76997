//! Networks of elements between nodes, solved onto a tape.
//!
//! What is linear is reduced first, by taking out node after node; every
//! amplifier and every element with corners stays behind as one unknown.
//! These few are then solved together: at once where all are straight,
//! by a bounded search through their pieces where outputs reach a supply or
//! clamps conduct. A limit is never put on a voltage afterwards: Kirchhoff's
//! laws hold at the answer, whatever is limited.
//!
//! Nothing here knows of part files or statistics.
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

mod affine;
mod amplifier;
mod check;
mod curve;
mod device;
mod element;
mod fault;
mod flow;
mod mesh;
mod network;
mod node;
mod plan;
mod rigid;
mod scaling;
mod search;
mod solution;

pub use amplifier::{Amplifier, Dynamics, InputNoise, Instrumentation, Swing};
pub use check::{Check, CheckKind, Needed};
pub use curve::{Curve, CurveFault};
pub use element::{Control, Element};
pub use fault::Fault;
pub use network::Network;
pub use node::Node;
pub use scaling::{class_2_farad, doubling, insulation_ohm};
pub use solution::Solution;
