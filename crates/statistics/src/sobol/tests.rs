use super::*;
use crate::normal;

/// Points 1 to 8 of some dimensions, from `scipy.stats.qmc.Sobol(d=481,
/// scramble=False, bits=40)`, SciPy 1.17.1 (dimensions counted from zero).
const FIRST_POINTS: &[(usize, [f64; 8])] = &[
    (0, [0.5, 0.75, 0.25, 0.375, 0.875, 0.625, 0.125, 0.1875]),
    (1, [0.5, 0.25, 0.75, 0.375, 0.875, 0.125, 0.625, 0.3125]),
    (2, [0.5, 0.25, 0.75, 0.625, 0.125, 0.875, 0.375, 0.9375]),
    (3, [0.5, 0.25, 0.75, 0.875, 0.375, 0.625, 0.125, 0.4375]),
    (4, [0.5, 0.75, 0.25, 0.375, 0.875, 0.625, 0.125, 0.5625]),
    (5, [0.5, 0.75, 0.25, 0.125, 0.625, 0.875, 0.375, 0.3125]),
    (9, [0.5, 0.75, 0.25, 0.625, 0.125, 0.375, 0.875, 0.3125]),
    (20, [0.5, 0.25, 0.75, 0.125, 0.625, 0.375, 0.875, 0.1875]),
    (63, [0.5, 0.75, 0.25, 0.125, 0.625, 0.875, 0.375, 0.6875]),
    (100, [0.5, 0.25, 0.75, 0.625, 0.125, 0.875, 0.375, 0.0625]),
    (160, [0.5, 0.75, 0.25, 0.375, 0.875, 0.625, 0.125, 0.3125]),
    (255, [0.5, 0.75, 0.25, 0.375, 0.875, 0.625, 0.125, 0.4375]),
    (336, [0.5, 0.25, 0.75, 0.375, 0.875, 0.125, 0.625, 0.8125]),
    (480, [0.5, 0.25, 0.75, 0.875, 0.375, 0.625, 0.125, 0.6875]),
];

/// (index, dimension, coordinate), same source; the last four with bits=30.
const LATER_POINTS: &[(u64, usize, f64)] = &[
    (1000, 1, 0.0966796875),
    (1000, 7, 0.8994140625),
    (1000, 255, 0.2490234375),
    (1000, 480, 0.7529296875),
    (1023, 1, 0.7529296875),
    (1023, 7, 0.6181640625),
    (1023, 255, 0.8427734375),
    (1023, 480, 0.5966796875),
    (1234567, 1, 0.6500735282897949),
    (1234567, 7, 0.7110800743103027),
    (1234567, 255, 0.5624651908874512),
    (1234567, 480, 0.05873727798461914),
];

/// The binary fraction as a number; exact for what the tables contain.
fn fraction(digits: u64) -> f64 {
    (digits >> 11) as f64 / (1_u64 << 53) as f64
}

#[test]
fn reference_unscrambled_points_against_scipy() {
    for &(dimension, expected) in FIRST_POINTS {
        assert_eq!(unscrambled(0, dimension), 0);
        for (index, value) in (1..).zip(expected) {
            assert_eq!(
                fraction(unscrambled(index, dimension)),
                value,
                "{index} {dimension}"
            );
        }
    }
    for &(index, dimension, value) in LATER_POINTS {
        assert_eq!(
            fraction(unscrambled(index, dimension)),
            value,
            "{index} {dimension}"
        );
    }
}

#[test]
fn property_fill_equals_points_for_every_split() {
    for dimension in [0, 3, 480, 481, 1200] {
        let mut whole = vec![0.0; 700];
        fill(dimension, 37, 5, &mut whole);
        for (index, value) in (37..).zip(&whole) {
            assert_eq!(value.to_bits(), point(index, dimension, 5).to_bits());
        }
        for split in [1, 5, 128, 129, 333] {
            let mut parts = vec![0.0; whole.len()];
            for (block, part) in parts.chunks_mut(split).enumerate() {
                fill(dimension, 37 + (block * split) as u64, 5, part);
            }
            assert_eq!(parts, whole, "dimension {dimension}, blocks of {split}");
        }
    }
}

#[test]
fn property_every_cell_of_a_balanced_run_holds_one_point() {
    let n = 1_usize << 12;
    for dimension in (0..DIMENSIONS)
        .step_by(13)
        .chain([DIMENSIONS, 2 * DIMENSIONS + 7])
    {
        for start in [0, 3 * n] {
            let mut points = vec![0.0; n];
            fill(dimension, start as u64, 99, &mut points);
            let mut hits = vec![0_u8; n];
            for u in points {
                hits[(u * n as f64) as usize] += 1;
            }
            assert!(
                hits.iter().all(|&h| h == 1),
                "dimension {dimension} from {start}"
            );
        }
    }
}

#[test]
fn property_pairs_fill_every_elementary_rectangle() {
    // The first two dimensions form a (0, m, 2)-net: each rectangle of sides
    // 2^-k and 2^-(m-k) holds exactly one of 2^m points. Scrambling keeps it,
    // and so does the common reordering of higher rounds.
    let m = 8;
    for base in [0, DIMENSIONS] {
        let n = 1_usize << m;
        let (mut x, mut y) = (vec![0.0; n], vec![0.0; n]);
        fill(base, 0, 3, &mut x);
        fill(base + 1, 0, 3, &mut y);
        for k in 0..=m {
            let (columns, rows) = (1_usize << k, 1_usize << (m - k));
            let mut hits = vec![0_u8; n];
            for (a, b) in x.iter().zip(&y) {
                let column = (a * columns as f64) as usize;
                hits[column * rows + (b * rows as f64) as usize] += 1;
            }
            assert!(hits.iter().all(|&h| h == 1), "from {base}, split {k}");
        }
    }
}

/// Owen's scrambling written out: the flip of each digit is a hash of the
/// digits above it.
fn nested_scramble(digits: u64, seed: u64) -> u64 {
    let mut result = digits;
    for depth in 0..52 {
        let prefix = if depth == 0 {
            0
        } else {
            digits >> (64 - depth)
        };
        let flip = stream::bits(stream::key(seed, depth), prefix) >> 63;
        result ^= flip << (63 - depth);
    }
    result
}

#[test]
fn property_scrambling_averages_like_nested_flips() {
    // Root-mean-square error of ∫∏(1 + (u − ½)·c) du over many scrambles,
    // fast hash against flips one by one: the same to within chance, and far
    // below that of independent numbers.
    let (n, dimensions, scrambles) = (256_u64, 4_usize, 400_u64);
    let integrand = |u: &[f64]| {
        u.iter()
            .map(|&u| 1.0 + 1.5 * (u * u - 1.0 / 3.0))
            .product::<f64>()
    };
    let directions: Vec<_> = (0..dimensions).map(direction_numbers).collect();
    let (mut fast, mut slow, mut independent) = (0.0, 0.0, 0.0);
    for seed in 0..scrambles {
        let (mut a, mut b, mut c) = (0.0, 0.0, 0.0);
        for i in 0..n {
            let u: Vec<f64> = (0..dimensions).map(|d| point(i, d, seed)).collect();
            a += integrand(&u);
            let u: Vec<f64> = directions
                .iter()
                .zip(0..)
                .map(|(v, d)| {
                    let key = stream::key(seed, 1000 + d);
                    stream::unit_interval(nested_scramble(digits(v, i), key))
                })
                .collect();
            b += integrand(&u);
            let u: Vec<f64> = (0..dimensions as u64)
                .map(|d| stream::uniform(stream::key(seed, d), i))
                .collect();
            c += integrand(&u);
        }
        let square = |sum: f64| (sum / n as f64 - 1.0) * (sum / n as f64 - 1.0);
        fast += square(a);
        slow += square(b);
        independent += square(c);
    }
    let ratio = fast / slow;
    // A ratio of two variances of 400 values each: deviation about 0.1.
    assert!(ratio > 0.6 && ratio < 1.6, "variance ratio {ratio}");
    assert!(fast * 100.0 < independent, "{fast:e} {independent:e}");
}

#[test]
fn property_flips_depend_evenly_on_all_digits_above() {
    // Over many seeds, a change of one input digit must change the flip of
    // each later digit in half of the cases, and never an earlier digit.
    let seeds = 4000;
    for above in [0, 1, 2, 5, 11, 30] {
        let mut changed = [0_u32; 52];
        for seed in 0..seeds {
            let scramble = Scramble::new(stream::key(seed, 17));
            let x = stream::bits(seed, 1);
            let (x, y) = (x, x ^ (1 << (63 - above)));
            let difference = (scramble.apply(x) ^ x) ^ (scramble.apply(y) ^ y);
            for (digit, count) in changed.iter_mut().enumerate() {
                *count += ((difference >> (63 - digit)) & 1) as u32;
            }
        }
        for (digit, &count) in changed.iter().enumerate() {
            let count = f64::from(count);
            if digit <= above {
                assert_eq!(count, 0.0, "digit {above} reached {digit}");
            } else {
                let half = seeds as f64 / 2.0;
                assert!(
                    (count - half).abs() < 5.5 * (seeds as f64).sqrt() / 2.0,
                    "digit {above} changes the flip of {digit} in {count} of {seeds}"
                );
            }
        }
    }
}

#[test]
fn property_different_dimensions_are_scrambled_independently() {
    // The same point under many seeds: coordinates must be uncorrelated.
    let seeds = 1 << 15;
    for (a, b) in [(0, 1), (4, 5), (2, 2 + DIMENSIONS)] {
        let product: f64 = (0..seeds)
            .map(|seed| (point(7, a, seed) - 0.5) * (point(7, b, seed) - 0.5))
            .sum();
        let correlation = 12.0 * product / seeds as f64;
        assert!(
            correlation.abs() < 5.0 / (seeds as f64).sqrt(),
            "{a} {b}: {correlation}"
        );
    }
}

#[test]
fn reference_tail_probability_with_scrambled_points() {
    // P(X1 + X2 + X3 + X4 > 6) for standard normal variables is Φ(−3).
    let (n, scrambles) = (1_u64 << 13, 16_u64);
    let mut estimates = Vec::new();
    for seed in 0..scrambles {
        let mut sums = vec![0.0; n as usize];
        for dimension in 0..4 {
            let mut u = vec![0.0; n as usize];
            fill(dimension, 0, seed, &mut u);
            normal::fill_quantile(&mut u);
            for (sum, x) in sums.iter_mut().zip(u) {
                *sum += x;
            }
        }
        estimates.push(sums.iter().filter(|&&s| s > 6.0).count() as f64 / n as f64);
    }
    let mean = estimates.iter().sum::<f64>() / scrambles as f64;
    let variance = estimates
        .iter()
        .map(|p| (p - mean) * (p - mean))
        .sum::<f64>()
        / (scrambles * (scrambles - 1)) as f64;
    let expected = normal::cdf(-3.0);
    assert!(
        (mean - expected).abs() < 5.0 * variance.sqrt(),
        "{mean} {variance:e}"
    );
    // Independent numbers would leave √(p/(n·scrambles)).
    assert!(
        variance < 0.5 * expected / (n * scrambles) as f64,
        "{variance:e}"
    );
}
