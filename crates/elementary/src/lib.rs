//! Transcendental functions that give the same bits on every machine.
//!
//! Results of a simulation are only repeatable if `exp` and `ln` are: the
//! platform's own differ in the last bit between systems. These are written
//! with additions, multiplications and selections alone, without branches on
//! the argument, so that a loop over a slice becomes wide instructions, and
//! without fused operations, so that wide and narrow machines agree.
//!
//! Accuracy is about one unit in the last place; the tests compare with the
//! platform's functions over the whole range.
//!
//! ```
//! assert!((elementary::exp(1.0) - std::f64::consts::E).abs() < 1e-15);
//! assert_eq!(elementary::ln(1.0), 0.0);
//! ```

mod circular;
mod exponential;
mod logarithm;

pub use circular::{atan, atan2, cos, sin};
pub use exponential::{exp, exp2, tanh};
pub use logarithm::{ln, log2, log10};

/// x to the power y for positive x, as `exp(y · ln x)`.
///
/// Zero to a positive power is zero; a negative base gives NaN (use repeated
/// multiplication for integer powers). Relative error grows with
/// |y·ln x|, about 1e-16 for each unit of it.
#[inline(always)]
pub fn pow(x: f64, y: f64) -> f64 {
    exp(y * ln(x))
}
