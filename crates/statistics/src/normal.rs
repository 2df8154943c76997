//! The standard normal distribution.
//!
//! The distribution function uses the rational approximations of
//! W. J. Cody, "Rational Chebyshev approximations for the error function",
//! Mathematics of Computation 23 (1969) 631–637; its inverse is algorithm
//! AS 241 (PPND16) of M. J. Wichura, "The percentage points of the normal
//! distribution", Applied Statistics 37 (1988) 477–484.

#![allow(
    clippy::excessive_precision,
    reason = "coefficients stand as they were published"
)]

const ONE_OVER_ROOT_TWO_PI: f64 = 0.398_942_280_401_432_7;

/// Density of the standard normal distribution at `x`.
///
/// ```
/// assert!((statistics::normal::pdf(0.0) - 0.398_942_280_401_432_7).abs() < 1e-16);
/// ```
pub fn pdf(x: f64) -> f64 {
    ONE_OVER_ROOT_TWO_PI * half_square_exponential(x)
}

/// exp(−x²/2) without the loss that rounding x² would cost for large x: x is
/// split into a part with few digits, whose square is exact, and a rest.
fn half_square_exponential(x: f64) -> f64 {
    // Beyond 40 the result is zero, and infinity must not meet infinity below.
    let a = x.abs();
    if a > 40.0 {
        return 0.0;
    }
    let coarse = (a * 16.0).floor() / 16.0;
    let rest = (a - coarse) * (a + coarse);
    elementary::exp(-0.5 * coarse * coarse) * elementary::exp(-0.5 * rest)
}

/// c0 + x·(c1 + x·(…)), highest power last.
#[inline(always)]
fn polynomial<const N: usize>(coefficients: &[f64; N], x: f64) -> f64 {
    let mut sum = 0.0;
    for &c in coefficients.iter().rev() {
        sum = sum * x + c;
    }
    sum
}

const CDF_CENTRE_TOP: [f64; 5] = [
    18154.981253343561249,
    1067.6894854603709582,
    161.02823106855587881,
    2.2352520354606839287,
    0.065682337918207449113,
];
const CDF_CENTRE_BOTTOM: [f64; 5] = [
    45507.789335026729956,
    10260.932208618978205,
    976.09855173777669322,
    47.20258190468824187,
    1.0,
];
const CDF_MIDDLE_TOP: [f64; 9] = [
    9842.7148383839780218,
    11602.651437647350124,
    6848.1904505362823326,
    2494.5375852903726711,
    597.27027639480026226,
    93.506656132177855979,
    8.8831497943883759412,
    0.39894151208813466764,
    1.0765576773720192317e-8,
];
const CDF_MIDDLE_BOTTOM: [f64; 9] = [
    19685.429676859990727,
    38912.003286093271411,
    34900.952721145977266,
    18615.571640885098091,
    6485.558298266760755,
    1519.377599407554805,
    235.38790178262499861,
    22.266688044328115691,
    1.0,
];
/// In powers of 2/x², as Cody gives them for erfc(x/√2).
const CDF_FAR_TOP: [f64; 6] = [
    6.58749161529837803e-4,
    1.60837851487422766e-2,
    1.25781726111229246e-1,
    3.60344899949804439e-1,
    3.05326634961232344e-1,
    1.63153871373020978e-2,
];
const CDF_FAR_BOTTOM: [f64; 6] = [
    2.33520497626869185e-3,
    6.05183413124413191e-2,
    5.27905102951428412e-1,
    1.87295284992346725,
    2.56852019228982242,
    1.0,
];
const ONE_OVER_ROOT_PI: f64 = 0.564_189_583_547_756_3;

/// Probability that a standard normal variable is at most `x`.
///
/// Relative error about 1e-15, also far in the lower tail; for the upper tail
/// use `cdf(-x)`, since 1 − `cdf(x)` has lost its digits there.
///
/// ```
/// use statistics::normal::cdf;
/// assert_eq!(cdf(0.0), 0.5);
/// assert!((cdf(1.0) - 0.841_344_746_068_542_9).abs() < 1e-15);
/// assert!(cdf(-38.0) > 0.0);
/// ```
pub fn cdf(x: f64) -> f64 {
    let a = x.abs();
    if a <= 0.67448975 {
        let square = x * x;
        return 0.5
            + x * polynomial(&CDF_CENTRE_TOP, square) / polynomial(&CDF_CENTRE_BOTTOM, square);
    }
    let tail = if a <= 32.0_f64.sqrt() {
        polynomial(&CDF_MIDDLE_TOP, a) / polynomial(&CDF_MIDDLE_BOTTOM, a)
    } else {
        let z = 2.0 / (a * a);
        let correction = z * polynomial(&CDF_FAR_TOP, z) / polynomial(&CDF_FAR_BOTTOM, z);
        (ONE_OVER_ROOT_PI - correction) / (a * std::f64::consts::SQRT_2)
    };
    let tail = half_square_exponential(a) * tail;
    if x < 0.0 {
        tail
    } else if x > 0.0 {
        1.0 - tail
    } else {
        f64::NAN
    }
}

const CENTRE_TOP: [f64; 8] = [
    3.387_132_872_796_366_608,
    1.331_416_678_917_843_774_5e2,
    1.971_590_950_306_551_442_7e3,
    1.373_169_376_550_946_112_5e4,
    4.592_195_393_154_987_145_7e4,
    6.726_577_092_700_870_085_3e4,
    3.343_057_558_358_812_810_5e4,
    2.509_080_928_730_122_672_7e3,
];
const CENTRE_BOTTOM: [f64; 8] = [
    1.0,
    4.231_333_070_160_091_125_2e1,
    6.871_870_074_920_579_083e2,
    5.394_196_021_424_751_107_7e3,
    2.121_379_430_158_659_586_7e4,
    3.930_789_580_009_271_061e4,
    2.872_908_573_572_194_267_4e4,
    5.226_495_278_852_854_561e3,
];
const MIDDLE_TOP: [f64; 8] = [
    1.423_437_110_749_683_577_34,
    4.630_337_846_156_545_295_9,
    5.769_497_221_460_691_405_5,
    3.647_848_324_763_204_605_04,
    1.270_458_252_452_368_382_58,
    2.417_807_251_774_506_117_7e-1,
    2.272_384_498_926_918_458_33e-2,
    7.745_450_142_783_414_076_4e-4,
];
const MIDDLE_BOTTOM: [f64; 8] = [
    1.0,
    2.053_191_626_637_758_821_87,
    1.676_384_830_183_803_849_4,
    6.897_673_349_851_000_045_5e-1,
    1.481_039_764_274_800_745_9e-1,
    1.519_866_656_361_645_719_66e-2,
    5.475_938_084_995_344_946e-4,
    1.050_750_071_644_416_843_24e-9,
];
const FAR_TOP: [f64; 8] = [
    6.657_904_643_501_103_777_2,
    5.463_784_911_164_114_369_9,
    1.784_826_539_917_291_335_8,
    2.965_605_718_285_048_912_3e-1,
    2.653_218_952_657_612_309_3e-2,
    1.242_660_947_388_078_438_6e-3,
    2.711_555_568_743_487_578_15e-5,
    2.010_334_399_292_288_132_65e-7,
];
const FAR_BOTTOM: [f64; 8] = [
    1.0,
    5.998_322_065_558_879_376_9e-1,
    1.369_298_809_227_358_053_1e-1,
    1.487_536_129_085_061_485_25e-2,
    7.868_691_311_456_132_591e-4,
    1.846_318_317_510_054_681_8e-5,
    1.421_511_758_316_445_888_7e-7,
    2.044_263_103_389_939_785_64e-15,
];
/// Beyond this r = √(−ln tail probability) the third approximation takes
/// over; a tail probability of 1.4e-11.
const FAR_FROM: f64 = 5.0;

/// Distance from one half up to which the central approximation holds.
const CENTRAL: f64 = 0.425;

/// The quantile for |p − ½| ≤ [`CENTRAL`].
#[inline(always)]
fn central_quantile(p: f64) -> f64 {
    let q = p - 0.5;
    let centre = 0.180625 - q * q;
    q * polynomial(&CENTRE_TOP, centre) / polynomial(&CENTRE_BOTTOM, centre)
}

/// The quantile outside of that for all but the far tails, and the r by which
/// to tell.
#[inline(always)]
fn outer_quantile(p: f64) -> (f64, f64) {
    let q = p - 0.5;
    let tail = if q < 0.0 { p } else { 1.0 - p };
    let r = (-elementary::ln(tail)).sqrt();
    let middle = r - 1.6;
    let near = polynomial(&MIDDLE_TOP, middle).copysign(q) / polynomial(&MIDDLE_BOTTOM, middle);
    (near, r)
}

/// The quantile in the far tails, where r > [`FAR_FROM`], and outside (0, 1).
#[cold]
fn far_quantile(p: f64, r: f64) -> f64 {
    if p == 0.0 {
        return f64::NEG_INFINITY;
    }
    if p == 1.0 {
        return f64::INFINITY;
    }
    // NaN, and arguments outside the unit interval, arrive as r = NaN.
    let x = r - FAR_FROM;
    (polynomial(&FAR_TOP, x) / polynomial(&FAR_BOTTOM, x)).copysign(p - 0.5)
}

/// The value that a standard normal variable stays below with probability
/// `p`, by algorithm AS 241; relative error about 1e-15.
///
/// Zero gives −∞, one gives +∞, anything outside [0, 1] NaN.
///
/// ```
/// use statistics::normal::quantile;
/// assert_eq!(quantile(0.5), 0.0);
/// assert!((quantile(0.975) - 1.959_963_984_540_054).abs() < 1e-14);
/// assert!(quantile(1.5).is_nan());
/// ```
#[inline]
pub fn quantile(p: f64) -> f64 {
    if (p - 0.5).abs() <= CENTRAL {
        return central_quantile(p);
    }
    let (near, r) = outer_quantile(p);
    if r <= FAR_FROM {
        near
    } else {
        far_quantile(p, r)
    }
}

/// Replaces every probability by its quantile; each result equals
/// [`quantile`] of the probability bit for bit.
pub fn fill_quantile(in_out: &mut [f64]) {
    quantile_kernel(in_out);
}

/// Probabilities handled together: those outside the centre, three in
/// twenty, are put side by side first, so that no loop has a branch and the
/// logarithm is not taken in vain.
const BLOCK: usize = 256;

#[inline(always)]
fn quantile_block(block: &mut [f64]) {
    // One longer than a block: the place after the last is written, too.
    let mut places = [0_u16; BLOCK + 1];
    let mut outer = [0.5; BLOCK + 1];
    let mut count = 0;
    for (place, &p) in block.iter().enumerate().take(BLOCK) {
        places[count] = place as u16;
        outer[count] = p;
        count += usize::from(!((p - 0.5).abs() <= CENTRAL));
    }
    for value in block.iter_mut() {
        *value = central_quantile(*value);
    }
    // Whole vectors: what stands beyond is computed and not used.
    let whole = count.next_multiple_of(8).min(BLOCK);
    let mut found = [0.0; BLOCK];
    let mut all_near = true;
    for (value, &p) in found.iter_mut().zip(&outer).take(whole) {
        let (near, r) = outer_quantile(p);
        all_near &= r <= FAR_FROM;
        *value = near;
    }
    for ((&place, &value), &p) in places.iter().zip(&found).zip(&outer).take(count) {
        if let Some(target) = block.get_mut(usize::from(place)) {
            *target = if all_near { value } else { quantile(p) };
        }
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
fn quantile_kernel(in_out: &mut [f64]) {
    for block in in_out.chunks_mut(BLOCK) {
        quantile_block(block);
    }
}

#[cfg(test)]
mod tests;
