//! Scrambled Sobol points: numbers that fill the unit cube more evenly than
//! independent ones, so that averages settle faster, and that are still
//! random enough (through the scrambling) to tell how well they settled.
//!
//! The sequence is that of I. M. Sobol in the Gray-code order of I. A.
//! Antonov and V. M. Saleev (USSR Comput. Math. Math. Phys. 19 (1979)
//! 252–256) with the direction numbers of Joe and Kuo (see `directions.rs`).
//! Each coordinate is scrambled as A. B. Owen proposed ("Randomly permuted
//! (t,m,s)-nets and (t,s)-sequences", 1995): every binary digit is flipped or
//! not depending on the digits before it. The flips come from a hash in which
//! bits only move upwards (the idea of S. Laine and T. Karras, "Stratified
//! sampling for stochastic transparency", 2011), here with 64 bits and a key
//! of several words.
//!
//! Use 2^m points starting at a multiple of 2^m: only such runs are balanced.
//! Averages over at least sixteen different scrambles give the standard
//! error.

mod directions;
#[cfg(test)]
mod tests;

use crate::stream;

/// Coordinates with direction numbers of their own. Higher coordinates reuse
/// them with the points in another, equally balanced order.
pub const DIMENSIONS: usize = directions::POLYNOMIALS.len() + 1;

/// Direction numbers of a dimension, first digit in the top bit.
fn direction_numbers(dimension: usize) -> [u64; 64] {
    let mut v = [0_u64; 64];
    let Some(position) = dimension.checked_sub(1) else {
        for (j, value) in v.iter_mut().enumerate() {
            *value = 1 << (63 - j);
        }
        return v;
    };
    let skipped: usize = directions::POLYNOMIALS
        .iter()
        .take(position)
        .map(|&p| degree(p))
        .sum();
    let polynomial = directions::POLYNOMIALS.get(position).copied().unwrap_or(1);
    let s = degree(polynomial);
    for (j, &m) in directions::INITIAL.iter().skip(skipped).take(s).enumerate() {
        v[j] = u64::from(m) << (63 - j);
    }
    for j in s..64 {
        let mut value = v[j - s] ^ (v[j - s] >> s);
        for k in 1..s {
            if (polynomial >> (s - k)) & 1 == 1 {
                value ^= v[j - k];
            }
        }
        v[j] = value;
    }
    v
}

/// Degree of a polynomial given by its bits.
fn degree(polynomial: u16) -> usize {
    polynomial.checked_ilog2().unwrap_or(0) as usize
}

/// The digits of point `index`: the direction numbers of its Gray code.
fn digits(directions: &[u64; 64], index: u64) -> u64 {
    let gray = index ^ (index >> 1);
    directions
        .iter()
        .enumerate()
        .filter(|&(j, _)| (gray >> j) & 1 == 1)
        .fold(0, |sum, (_, &v)| sum ^ v)
}

/// Coordinate `dimension` of point `index` before scrambling, as a 64-bit
/// binary fraction (first digit in the top bit).
///
/// Dimensions from [`DIMENSIONS`] on repeat the earlier ones here; only the
/// scrambled points tell them apart.
///
/// ```
/// use statistics::sobol::unscrambled;
/// let half = 1_u64 << 63;
/// assert_eq!(unscrambled(1, 0), half);
/// assert_eq!(unscrambled(2, 0), half + half / 2);
/// ```
pub fn unscrambled(index: u64, dimension: usize) -> u64 {
    digits(&direction_numbers(dimension % DIMENSIONS), index)
}

/// The key of one scrambled coordinate.
#[derive(Clone, Copy)]
struct Scramble {
    words: [u64; 9],
}

impl Scramble {
    fn new(key: u64) -> Self {
        let mut words = [0; 9];
        for (j, word) in words.iter_mut().enumerate() {
            *word = stream::bits(key, j as u64);
        }
        Scramble { words }
    }

    /// A permutation of the 64-bit numbers in which each bit depends on
    /// itself and lower ones only: each step is one such permutation.
    #[inline(always)]
    fn upward(&self, value: u64) -> u64 {
        let [a, b, c, d, e, f, g, h, i] = self.words;
        let value = value.wrapping_add(a).wrapping_mul(b | 1);
        let value = value ^ value.wrapping_mul(c & !1);
        let value = value.wrapping_add(d).wrapping_mul(e | 1);
        let value = value ^ value.wrapping_mul(f & !1);
        let value = value.wrapping_add(g).wrapping_mul(h | 1);
        (value ^ value.wrapping_mul(i & !1)) ^ a.rotate_left(32)
    }

    /// The same with every bit depending on higher ones: a nested scramble
    /// of binary digits.
    #[inline(always)]
    fn apply(&self, digits: u64) -> u64 {
        self.upward(digits.reverse_bits()).reverse_bits()
    }
}

/// The scramble of a coordinate, and the reordering of the points that
/// coordinates without direction numbers of their own undergo.
fn scrambles(dimension: usize, scramble_seed: u64) -> (Scramble, Option<Scramble>) {
    let own = Scramble::new(stream::key(scramble_seed, dimension as u64));
    let round = dimension / DIMENSIONS;
    let order = (round > 0).then(|| {
        // The same order for all coordinates of a round keeps their common
        // balance.
        let key = stream::key(scramble_seed, round as u64);
        Scramble::new(stream::companion(key))
    });
    (own, order)
}

/// Coordinate `dimension` of the scrambled point `index`, in (0, 1).
///
/// Under one `scramble_seed` the coordinates of all dimensions belong
/// together; different seeds give independent scrambles.
///
/// ```
/// use statistics::sobol::point;
/// // each half, quarter, eighth, … gets its equal share
/// let below = (0..64).filter(|&i| point(i, 5, 1) < 0.25).count();
/// assert_eq!(below, 16);
/// ```
pub fn point(index: u64, dimension: usize, scramble_seed: u64) -> f64 {
    let (own, order) = scrambles(dimension, scramble_seed);
    let index = order.map_or(index, |order| order.apply(index));
    let raw = digits(&direction_numbers(dimension % DIMENSIONS), index);
    stream::unit_interval(own.apply(raw))
}

/// Points handled between two passes over the same memory.
const PIECE: usize = 128;

/// Coordinate `dimension` of the scrambled points `first_index`,
/// `first_index + 1`, … into `out`; each equals [`point`] bit for bit.
///
/// Finding the direction numbers takes about a microsecond, so longer slices
/// are cheaper per point.
pub fn fill(dimension: usize, first_index: u64, scramble_seed: u64, out: &mut [f64]) {
    let (own, order) = scrambles(dimension, scramble_seed);
    let directions = direction_numbers(dimension % DIMENSIONS);
    let mut raw = [0_u64; PIECE];
    let mut index = first_index;
    let mut current = digits(&directions, index);
    for piece in out.chunks_mut(PIECE) {
        for slot in raw.iter_mut().take(piece.len()) {
            if let Some(order) = order {
                *slot = digits(&directions, order.apply(index));
                index = index.wrapping_add(1);
            } else {
                *slot = current;
                index = index.wrapping_add(1);
                // Neighbours in Gray code differ in one place.
                let changed = index.trailing_zeros() as usize;
                current ^= directions.get(changed).copied().unwrap_or(0);
            }
        }
        scramble_kernel(&raw, &own, piece);
    }
}

#[allow(
    unsafe_code,
    reason = "calling the variant for wide instructions after asking the processor"
)]
#[multiversion::multiversion(targets(
    "x86_64+avx512f+avx512dq+avx512vl+avx512bw+avx512cd",
    "x86_64+avx2+fma"
))]
fn scramble_kernel(raw: &[u64], scramble: &Scramble, out: &mut [f64]) {
    for (value, &digits) in out.iter_mut().zip(raw) {
        *value = stream::unit_interval(scramble.apply(digits));
    }
}
