//! Networks of elements between nodes, solved onto a tape.
//!
//! What is linear is reduced first, by taking out node after node; every
//! amplifier and every element with corners stays behind as one unknown.
//! These few are then solved together: at once where all are straight,
//! by a bounded search through their pieces where outputs reach a supply or
//! clamps conduct. A limit is never put on a voltage afterwards: Kirchhoff's
//! laws hold at the answer, whatever is limited.
//!
//! The same solution is made straight where it stands ([`SmallSignal`]): its
//! numbers ([`Linearised`]) give frequency responses, steps ([`Response`]),
//! the noise of every element ([`Noise`]) and what a converter sees at a pin
//! ([`Pin`]), whose turn in a scan is solved for ever ([`Scan`]). With every
//! clamp and limit it is followed in time ([`Transient`]).
//!
//! Nothing here knows of part files.
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
//!
//! A low-pass in time:
//!
//! ```
//! use circuit::{Band, Network, Node, Output, SmallSignal, StimulusKind, Wanted};
//! let builder = tape::Builder::new();
//! let mut net = Network::new(&builder);
//! let (input, out) = (net.node("in"), net.node("out"));
//! net.voltage_source("v", input, Node::GROUND, builder.constant(1.0));
//! net.resistor("r", input, out, builder.constant(10e3));
//! net.capacitor("c", out, Node::GROUND, builder.constant(10e-9), None);
//! let solution = net.solve()?;
//! let outputs = [Output::node(out)];
//! let wanted = Wanted { outputs: &outputs, fed: &[], noise: true };
//! let network = SmallSignal::new(&solution, &wanted)?.nominal()?;
//! let source = network.find("v", StimulusKind::Voltage).unwrap();
//! let response = network.response(0, source).unwrap();
//! let corner_hz = response.falls_to(0.5_f64.sqrt()).unwrap();
//! assert!((corner_hz - 1591.549).abs() < 1e-3);
//! let settled_s = response.step()?.settling_s(1e-3).unwrap();
//! assert!((settled_s - 6.9078e-4).abs() < 1e-8);
//! // k·T/C, whatever the resistor.
//! let noise = network.noise(0, |_| 300.0).unwrap();
//! let power = noise.power(&Band::flat(0.0, f64::INFINITY))?;
//! assert!((power[0] / (circuit::BOLTZMANN * 300.0 / 10e-9) - 1.0).abs() < 1e-9);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod affine;
mod amplifier;
mod check;
mod complex;
mod curve;
mod device;
mod element;
mod fault;
mod flow;
pub mod interference;
mod linearise;
mod linearised;
mod matrix;
mod mesh;
mod network;
mod node;
mod noise;
mod plan;
mod rigid;
mod scaling;
mod scan;
mod schur;
mod search;
mod solution;
mod step;
mod store;
mod system;
mod tone;
mod transient;

pub use amplifier::{Amplifier, Dynamics, InputNoise, Instrumentation, Swing};
pub use check::{Check, CheckKind, Needed};
pub use complex::Complex;
pub use curve::{Curve, CurveFault};
pub use element::{Control, Element};
pub use fault::Fault;
pub use linearise::{Output, SmallSignal, Wanted};
pub use linearised::{Linearised, Response, Stimulus, StimulusKind};
pub use network::Network;
pub use node::Node;
pub use noise::{BOLTZMANN, Band, Contributor, Density, ELECTRON, Noise};
pub use scaling::{class_2_farad, doubling, insulation_ohm};
pub use scan::{Pin, Prepared, Scan, ScanFault, Settled, Start, Visit};
pub use solution::Solution;
pub use step::StepResponse;
pub use system::TimeFault;
pub use tone::{Left, Sampling, Tone};
pub use transient::{CourseFault, Drive, Series, Transient};
