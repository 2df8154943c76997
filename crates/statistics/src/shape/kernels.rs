//! Inverse distribution functions without branches, one value at a time and
//! over slices.

use crate::stream;

/// Trials handled between two passes over the same memory.
pub(super) const PIECE: usize = 512;

/// Declares the slice form of a function of one probability and the shape's
/// parameters, compiled for wide instructions too.
macro_rules! over_slices {
    ($name:ident, $one:ident, $($parameter:ident),+) => {
        #[allow(
            unsafe_code,
            reason = "calling the variant for wide instructions after asking the processor"
        )]
        #[allow(
            dead_code,
            reason = "a build for one processor that has wide instructions calls one variant only"
        )]
        #[multiversion::multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+avx512cd", "x86_64+avx2+fma"))]
        pub(super) fn $name(in_out: &mut [f64], $($parameter: f64),+) {
            for value in in_out {
                *value = $one(*value, $($parameter),+);
            }
        }
    };
}

over_slices!(fill_rectangular, rectangular, low, high);
over_slices!(fill_triangular, triangular, low, high);
over_slices!(fill_arcsine, arcsine, low, high);
over_slices!(fill_trapezoidal, trapezoidal, low, high, beta);
over_slices!(fill_shifted, shifted, mean, scale);
over_slices!(fill_tilted_rectangle, tilted_rectangle, low, spread, grown);
over_slices!(
    fill_third_weights,
    third_weight,
    plus,
    plus_log,
    minus,
    minus_log
);

/// The density rises by exp(x/spread) from `low`; `grown` is its growth to
/// the upper end, less one.
#[inline(always)]
pub(super) fn tilted_rectangle(u: f64, low: f64, spread: f64, grown: f64) -> f64 {
    low + spread * elementary::ln(1.0 + u * grown)
}

/// See [`super::tilt::third_weights`].
#[inline(always)]
pub(super) fn third_weight(t: f64, plus: f64, plus_log: f64, minus: f64, minus_log: f64) -> f64 {
    3.0 / (1.0 + elementary::exp(plus * t - plus_log) + elementary::exp(minus * t - minus_log))
}

/// [`crate::stream::fill_uniform`] and [`fill_rectangular`] in one pass.
#[allow(
    unsafe_code,
    reason = "calling the variant for wide instructions after asking the processor"
)]
#[multiversion::multiversion(targets(
    "x86_64+avx512f+avx512dq+avx512vl+avx512bw+avx512cd",
    "x86_64+avx2+fma"
))]
pub(super) fn draw_rectangular(key: u64, first_trial: u64, out: &mut [f64], low: f64, high: f64) {
    for (trial, value) in out.iter_mut().enumerate() {
        let u = stream::unit_interval(stream::bits(key, first_trial.wrapping_add(trial as u64)));
        *value = rectangular(u, low, high);
    }
}

/// Location and scale of a standardised value.
#[inline(always)]
pub(super) fn shifted(value: f64, mean: f64, scale: f64) -> f64 {
    mean + scale * value
}

#[inline(always)]
pub(super) fn rectangular(u: f64, low: f64, high: f64) -> f64 {
    low + (high - low) * u
}

/// Measured from the nearer limit, so that u and 1 − u lie symmetrically.
#[inline(always)]
pub(super) fn triangular(u: f64, low: f64, high: f64) -> f64 {
    let nearer = if u < 0.5 { u } else { 1.0 - u };
    let inward = (high - low) * (0.5 * nearer).sqrt();
    if u < 0.5 { low + inward } else { high - inward }
}

#[inline(always)]
pub(super) fn arcsine(u: f64, low: f64, high: f64) -> f64 {
    let half_width = 0.5 * (high - low);
    low + half_width + half_width * elementary::sin(std::f64::consts::PI * (u - 0.5))
}

/// The density rises along the slope of width (1 − β)·w, w the half-width,
/// then stays at 1/(w·(1 + β)).
#[inline(always)]
pub(super) fn trapezoidal(u: f64, low: f64, high: f64, beta: f64) -> f64 {
    let half_width = 0.5 * (high - low);
    let nearer = if u < 0.5 { u } else { 1.0 - u };
    let under_slope = 0.5 * (1.0 - beta) / (1.0 + beta);
    let on_slope = (2.0 * nearer * (1.0 - beta * beta)).sqrt();
    let on_top = (1.0 - beta) + (1.0 + beta) * (nearer - under_slope);
    let inward = half_width
        * if nearer < under_slope {
            on_slope
        } else {
            on_top
        };
    if u < 0.5 { low + inward } else { high - inward }
}

/// The rectangle whose half-width is drawn between w − d and w + d by `v`
/// (JCGM 101, 6.4.3.4); `u` places the value within it.
#[inline(always)]
pub(super) fn curvilinear_drawn(u: f64, v: f64, low: f64, high: f64, inexact: f64) -> f64 {
    let half_width = 0.5 * (high - low);
    let drawn = half_width + inexact * (2.0 * v - 1.0);
    (low + half_width) + drawn * (2.0 * u - 1.0)
}

#[allow(
    unsafe_code,
    reason = "calling the variant for wide instructions after asking the processor"
)]
#[multiversion::multiversion(targets(
    "x86_64+avx512f+avx512dq+avx512vl+avx512bw+avx512cd",
    "x86_64+avx2+fma"
))]
pub(super) fn fill_curvilinear_drawn(
    in_out: &mut [f64],
    second: &[f64],
    low: f64,
    high: f64,
    inexact: f64,
) {
    for (value, &v) in in_out.iter_mut().zip(second) {
        *value = curvilinear_drawn(*value, v, low, high, inexact);
    }
}

/// √(ν·(u^(−2/ν) − 1))·cos 2πv is t-distributed with ν degrees of freedom
/// for independent uniform u and v.
#[inline(always)]
pub(super) fn student_drawn(u: f64, v: f64, dof: f64) -> f64 {
    // exp(y) − 1 loses digits for small y; (exp y − 1)·y/ln(exp y) does not,
    // since both roundings are the same (W. Kahan).
    let y = -2.0 * elementary::ln(u) / dof;
    let power = elementary::exp(y);
    let quotient = (power - 1.0) / elementary::ln(power);
    let excess = if power == 1.0 { y } else { y * quotient };
    let excess = if power < f64::INFINITY { excess } else { power };
    (dof * excess).sqrt() * elementary::cos(std::f64::consts::TAU * v)
}

#[allow(
    unsafe_code,
    reason = "calling the variant for wide instructions after asking the processor"
)]
#[multiversion::multiversion(targets(
    "x86_64+avx512f+avx512dq+avx512vl+avx512bw+avx512cd",
    "x86_64+avx2+fma"
))]
pub(super) fn fill_student_drawn(in_out: &mut [f64], second: &[f64], dof: f64) {
    for (value, &v) in in_out.iter_mut().zip(second) {
        *value = student_drawn(*value, v, dof);
    }
}

/// The inverse of the curvilinear trapezoid's distribution function.
///
/// With the outer half-width c = w + d and y the distance from the centre
/// divided by c, the density is flat up to y0 = (w − d)/c and c/(4d)·ln(1/y)
/// beyond; the probability further out than y is c/(4d)·(1 − y + y·ln y) on
/// one side. (Integral of the density of JCGM 101, 6.4.3.2.)
pub(super) fn curvilinear(u: f64, low: f64, high: f64, inexact: f64) -> f64 {
    let half_width = 0.5 * (high - low);
    let centre = low + half_width;
    if inexact <= 0.0 {
        return rectangular(u, low, high);
    }
    let outer = half_width + inexact;
    let corner = (half_width - inexact) / outer;
    let q = u - 0.5;
    let tail = if q < 0.0 { u } else { 1.0 - u };
    let scale = 0.25 * outer / inexact;
    let corner_tail = scale * remaining(corner);
    let y = if tail > corner_tail {
        // On the flat part the probability from the centre grows evenly.
        corner * q.abs() / (0.5 - corner_tail)
    } else {
        solve_remaining(tail / scale)
    };
    centre + (outer * y).copysign(q)
}

/// 1 − y + y·ln y, falling from 1 at y = 0 to 0 at y = 1.
fn remaining(y: f64) -> f64 {
    if y <= 0.0 {
        return 1.0;
    }
    let gap = 1.0 - y;
    if gap < 1e-2 {
        // Series in the gap g: g²/2 + g³/6 + g⁴/12 + …, term g^n/(n·(n − 1)).
        let mut sum = 0.0;
        for n in (2..=9).rev() {
            let n = f64::from(n);
            sum = sum * gap + 1.0 / (n * (n - 1.0));
        }
        return sum * gap * gap;
    }
    gap + y * elementary::ln(y)
}

/// The y with 1 − y + y·ln y = k, 0 ≤ k ≤ 1: Newton's steps from the first
/// terms of the series in √(2k), inside a bracket.
fn solve_remaining(k: f64) -> f64 {
    let root = (2.0 * k).sqrt();
    let mut y = (1.0 - root + root * root / 6.0).clamp(1e-18, 1.0);
    let (mut low, mut high) = (0.0_f64, 1.0_f64);
    for _ in 0..60 {
        let slope = elementary::ln(y);
        let error = remaining(y) - k;
        if error == 0.0 || slope == 0.0 {
            break;
        }
        if error > 0.0 {
            low = y;
        } else {
            high = y;
        }
        let newton = y - error / slope;
        let next = if newton > low && newton < high {
            newton
        } else {
            0.5 * (low + high)
        };
        let settled = (next - y).abs() <= f64::EPSILON * y;
        y = next;
        if settled {
            break;
        }
    }
    y
}
