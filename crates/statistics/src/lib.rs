//! Statistics without a trade: random streams, distributions, quantiles,
//! fits, moments, conformity probabilities, and what sampling, averaging and
//! dither do.
//!
//! Everything here gives the same bits on every machine, for every number of
//! threads and for every way of cutting the trials into blocks: a random
//! number depends on its seed, variable and trial alone, sums have a fixed
//! order, and transcendental functions come from the crate `elementary`.
//!
//! ```
//! use statistics::shape::Shape;
//! use statistics::stream;
//!
//! let tolerance = Shape::Rectangular { low: -0.5, high: 0.5 };
//! let mut drawn = [0.0; 64];
//! tolerance.fill(stream::key(1, 7), 0, &mut drawn);
//! assert!(drawn.iter().all(|x| x.abs() <= 0.5));
//! assert!((tolerance.deviation() - 1.0 / 12.0_f64.sqrt()).abs() < 1e-15);
//! ```

pub mod alias;
pub mod allan;
pub mod alternating;
pub mod averaging;
pub mod binomial;
pub mod conformity;
pub mod dither;
pub mod dof;
pub mod fit;
pub mod irwin_hall;
pub mod moments;
pub mod normal;
pub mod quadrature;
pub mod quantile;
pub mod resolution;
pub mod shape;
pub mod sobol;
pub mod special;
pub mod stream;
pub mod student;
#[cfg(test)]
mod test_data;

pub use shape::Shape;
