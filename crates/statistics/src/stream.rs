//! Random numbers that are looked up, not drawn in turn.
//!
//! Trial *i* of variable *k* under a seed depends on (seed, *k*, *i*) alone,
//! so trials may be computed in any order, in blocks of any length and by any
//! number of threads.
//!
//! The generator is a counter hashed with the finaliser of SplitMix64
//! (G. L. Steele, D. Lea, C. H. Flood, "Fast splittable pseudorandom number
//! generators", OOPSLA 2014, with the multipliers of D. Stafford's variant
//! 13). The key enters twice, once in the counter and once between the two
//! multiplications, so that two variables whose counters happen to meet do
//! not repeat each other's numbers from there on.

/// 2^64 divided by the golden ratio, made odd: steps of this size visit all
/// 64-bit numbers and stay far apart.
const GOLDEN: u64 = 0x9e37_79b9_7f4a_7c15;
const FIRST_MULTIPLIER: u64 = 0xbf58_476d_1ce4_e5b9;
const SECOND_MULTIPLIER: u64 = 0x94d0_49bb_1331_11eb;

/// A bijection of the 64-bit numbers in which every input bit moves about
/// half of the output bits.
#[inline(always)]
pub(crate) fn mix(value: u64) -> u64 {
    let value = (value ^ (value >> 30)).wrapping_mul(FIRST_MULTIPLIER);
    let value = (value ^ (value >> 27)).wrapping_mul(SECOND_MULTIPLIER);
    value ^ (value >> 31)
}

/// The key of a variable under a seed, to be handed to [`uniform`] and
/// [`fill_uniform`].
///
/// ```
/// use statistics::stream::key;
/// assert_ne!(key(1, 2), key(2, 1));
/// ```
#[inline]
pub fn key(seed: u64, variable: u64) -> u64 {
    mix(mix(seed.wrapping_add(GOLDEN)).wrapping_add(variable.wrapping_mul(GOLDEN)))
}

/// A second key for the same variable, for shapes that need two independent
/// numbers per trial.
#[inline]
pub(crate) fn companion(key: u64) -> u64 {
    mix(key ^ 0x6a09_e667_f3bc_c909)
}

/// Sixty-four random bits of a trial.
#[inline(always)]
pub(crate) fn bits(key: u64, trial: u64) -> u64 {
    let value = key.wrapping_add(trial.wrapping_mul(GOLDEN));
    let value = (value ^ (value >> 30)).wrapping_mul(FIRST_MULTIPLIER) ^ key.rotate_left(32);
    let value = (value ^ (value >> 27)).wrapping_mul(SECOND_MULTIPLIER);
    value ^ (value >> 31)
}

/// The upper 52 of 64 bits as a number of the open interval (0, 1): the
/// middle of one of 2^52 equal cells, so that neither end can occur and
/// u and 1 − u are equally likely.
#[inline(always)]
pub(crate) fn unit_interval(bits: u64) -> f64 {
    const ONE: u64 = 0x3ff0_0000_0000_0000;
    // 1 − 2^−53: turns the left edge of a cell of [1, 2) into its middle.
    const SHIFT: f64 = 1.0 - f64::EPSILON / 2.0;
    f64::from_bits((bits >> 12) | ONE) - SHIFT
}

/// The number of a trial, uniform on the open interval (0, 1), in steps of
/// 2^−52.
///
/// ```
/// use statistics::stream::{key, uniform};
/// let u = uniform(key(42, 3), 1_000_000);
/// assert!(u > 0.0 && u < 1.0);
/// assert_eq!(u, uniform(key(42, 3), 1_000_000));
/// ```
#[inline]
pub fn uniform(key: u64, trial: u64) -> f64 {
    unit_interval(bits(key, trial))
}

/// The numbers of the trials `first_trial`, `first_trial + 1`, … into `out`;
/// `out[j]` equals `uniform(key, first_trial + j)` bit for bit.
pub fn fill_uniform(key: u64, first_trial: u64, out: &mut [f64]) {
    uniform_kernel(key, first_trial, out);
}

#[allow(
    unsafe_code,
    reason = "calling the variant for wide instructions after asking the processor"
)]
#[multiversion::multiversion(targets(
    "x86_64+avx512f+avx512dq+avx512vl+avx512bw+avx512cd",
    "x86_64+avx2+fma"
))]
fn uniform_kernel(key: u64, first_trial: u64, out: &mut [f64]) {
    for (trial, value) in out.iter_mut().enumerate() {
        *value = unit_interval(bits(key, first_trial.wrapping_add(trial as u64)));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn property_fill_equals_single_numbers_for_every_split() {
        let key = key(7, 11);
        let mut whole = vec![0.0; 1013];
        fill_uniform(key, 5, &mut whole);
        for (j, value) in whole.iter().enumerate() {
            assert_eq!(value.to_bits(), uniform(key, 5 + j as u64).to_bits());
        }
        for split in [1, 3, 4, 7, 64, 255, 256, 1000] {
            let mut parts = vec![0.0; whole.len()];
            for (block, part) in parts.chunks_mut(split).enumerate() {
                fill_uniform(key, 5 + (block * split) as u64, part);
            }
            assert!(
                parts
                    .iter()
                    .zip(&whole)
                    .all(|(a, b)| a.to_bits() == b.to_bits()),
                "blocks of {split}"
            );
        }
    }

    #[test]
    fn reference_splitmix64_multipliers_visit_known_outputs() {
        // First outputs of SplitMix64 for state 0, as in the reference
        // implementation by S. Vigna (public domain).
        assert_eq!(mix(GOLDEN), 0xe220_a839_7b1d_cdaf);
        assert_eq!(mix(GOLDEN.wrapping_mul(2)), 0x6e78_9e6a_a1b9_65f4);
        assert_eq!(mix(GOLDEN.wrapping_mul(3)), 0x06c4_5d18_8009_454f);
    }

    #[test]
    fn ends_of_the_interval_cannot_occur() {
        assert_eq!(unit_interval(0), f64::EPSILON / 2.0);
        assert_eq!(unit_interval(u64::MAX), 1.0 - f64::EPSILON / 2.0);
        for bits in [1 << 12, 1 << 40, 0x1234_5678_9abc_def0, u64::MAX / 3] {
            assert_eq!(unit_interval(bits), 1.0 - unit_interval(!bits));
        }
    }

    /// Chi-squared statistic of counts against equal expectation.
    fn chi_squared(counts: &[u32], drawn: f64) -> f64 {
        let expected = drawn / counts.len() as f64;
        counts
            .iter()
            .map(|&n| (f64::from(n) - expected) * (f64::from(n) - expected) / expected)
            .sum()
    }

    #[test]
    fn property_uniform_in_one_and_two_dimensions() {
        // A chi-squared variable with 1023 degrees of freedom lies within
        // mean ± 5 deviations (45.2 each) but for about one case in 10^6.
        let trials = 1 << 20;
        let (low, high) = (1023.0 - 5.0 * 45.2, 1023.0 + 5.0 * 45.2);
        for seed in [0, 1, 2, u64::MAX] {
            for variable in [0, 1, 1000] {
                let (here, next) = (key(seed, variable), key(seed, variable + 1));
                let mut single = vec![0_u32; 1024];
                let mut across_trials = vec![0_u32; 1024];
                let mut across_variables = vec![0_u32; 1024];
                for i in 0..trials {
                    let (u, later, beside) =
                        (uniform(here, i), uniform(here, i + 1), uniform(next, i));
                    single[(u * 1024.0) as usize] += 1;
                    let row = (u * 32.0) as usize * 32;
                    across_trials[row + (later * 32.0) as usize] += 1;
                    across_variables[row + (beside * 32.0) as usize] += 1;
                }
                for counts in [&single, &across_trials, &across_variables] {
                    let found = chi_squared(counts, trials as f64);
                    assert!(
                        found > low && found < high,
                        "seed {seed}, variable {variable}: {found}"
                    );
                }
            }
        }
    }

    #[test]
    fn property_every_bit_of_every_argument_matters_for_half_the_output() {
        // Flipping one bit of seed, variable or trial should flip each of
        // the 64 output bits in half of the cases: over 4096 bases each
        // count is binomial with deviation 32, so ±6 deviations is 192.
        for argument in 0..3 {
            for bit in [0, 1, 5, 13, 31, 32, 47, 63] {
                let mut flips = [0_u32; 64];
                for base in 0..4096_u64 {
                    let mut inputs = [base, base.wrapping_mul(3), base.wrapping_mul(5)];
                    let before = bits(key(inputs[0], inputs[1]), inputs[2]);
                    inputs[argument] ^= 1 << bit;
                    let changed = before ^ bits(key(inputs[0], inputs[1]), inputs[2]);
                    for (position, count) in flips.iter_mut().enumerate() {
                        *count += ((changed >> position) & 1) as u32;
                    }
                }
                for (position, &count) in flips.iter().enumerate() {
                    assert!(
                        (f64::from(count) - 2048.0).abs() < 192.0,
                        "argument {argument} bit {bit} moves output bit {position} {count} times of 4096"
                    );
                }
            }
        }
    }

    #[test]
    fn property_neighbouring_variables_are_uncorrelated() {
        // The correlation of n independent pairs has deviation 1/√n.
        let n = 1_u64 << 18;
        for gap in 1..=8 {
            let (a, b) = (key(3, 10), key(3, 10 + gap));
            let product: f64 = (0..n)
                .map(|i| (uniform(a, i) - 0.5) * (uniform(b, i) - 0.5))
                .sum();
            let correlation = 12.0 * product / n as f64;
            assert!(
                correlation.abs() < 5.0 / (n as f64).sqrt(),
                "gap {gap}: {correlation}"
            );
        }
    }
}
