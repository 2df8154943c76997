//! Decimal numbers as written, kept as text so that a prefix shifts the exponent
//! instead of multiplying: "4.7 kΩ" becomes the double nearest to 4.7e3.

/// The parts of an unsigned decimal number and its sign.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Decimal<'a> {
    pub(crate) negative: bool,
    /// Digits with at most one point and at least one digit.
    pub(crate) digits: &'a str,
    /// Exponent of ten, bounded so that sums cannot overflow.
    pub(crate) exponent: i32,
}

/// Exponents beyond this are absurd anyway and are held here.
const EXPONENT_BOUND: i32 = 1_000_000;

impl Decimal<'_> {
    /// The double nearest to the number times 10^`ten`.
    pub(crate) fn scaled(&self, ten: i32) -> f64 {
        let exponent = self.exponent.saturating_add(ten);
        let text = format!("{}e{exponent}", self.digits);
        let magnitude = text.parse::<f64>().unwrap_or(f64::NAN);
        if self.negative { -magnitude } else { magnitude }
    }

    /// Whether every digit is zero, whatever the exponent.
    pub(crate) fn is_zero(&self) -> bool {
        self.digits.bytes().all(|b| b == b'0' || b == b'.')
    }
}

/// Reads an unsigned decimal at the start of `text`; gives it and its length in bytes.
///
/// An `e` belongs to the number only when digits follow it, so that units that
/// start with an e are not swallowed.
pub(crate) fn unsigned(text: &str) -> Option<(Decimal<'_>, usize)> {
    let bytes = text.as_bytes();
    let mut end = 0;
    let mut digit_count = 0;
    let mut points = 0;
    while let Some(&b) = bytes.get(end) {
        match b {
            b'0'..=b'9' => digit_count += 1,
            b'.' if points == 0 => points = 1,
            _ => break,
        }
        end += 1;
    }
    if digit_count == 0 {
        return None;
    }
    // "0..10" is not a number followed by ".10".
    if bytes.get(end) == Some(&b'.') && bytes.get(end - 1) == Some(&b'.') {
        end -= 1;
    }
    let digits = text.get(..end)?;
    let mut exponent = 0;
    if let Some(b'e' | b'E') = bytes.get(end) {
        let mut at = end + 1;
        let mut negative = false;
        let rest = text.get(at..)?;
        for (sign, is_minus) in [("+", false), ("-", true), ("\u{2212}", true)] {
            if rest.starts_with(sign) {
                negative = is_minus;
                at += sign.len();
                break;
            }
        }
        let mut magnitude: i32 = 0;
        let first = at;
        while let Some(&b) = bytes.get(at) {
            if !b.is_ascii_digit() {
                break;
            }
            magnitude = (magnitude * 10 + i32::from(b - b'0')).min(EXPONENT_BOUND);
            at += 1;
        }
        if at > first {
            exponent = if negative { -magnitude } else { magnitude };
            end = at;
        }
    }
    Some((
        Decimal {
            negative: false,
            digits,
            exponent,
        },
        end,
    ))
}

/// 10^`exponent` as the nearest double, zero or infinite outside the range of a double.
pub(crate) fn power_of_ten(exponent: i32) -> f64 {
    format!("1e{exponent}").parse::<f64>().unwrap_or(f64::NAN)
}

/// The amplitude ratio 10^(`db`/20), within 2 units in the last place; exact powers of ten exactly.
///
/// Whole decibels come from the nearest-double table of 10^(k/20); the rest, below
/// half a decibel, from the exponential series.
pub(crate) fn ratio_of_decibel(db: f64) -> f64 {
    /// 10^(k/20), k = 0 … 19.
    const TWENTIETHS: [f64; 20] = [
        1.0,
        1.122_018_454_301_963_3,
        1.258_925_411_794_167_3,
        1.412_537_544_622_754_4,
        1.584_893_192_461_113_4,
        1.778_279_410_038_922_8,
        1.995_262_314_968_879_5,
        2.238_721_138_568_339_4,
        2.511_886_431_509_58,
        2.818_382_931_264_453_7,
        3.162_277_660_168_379_5,
        3.548_133_892_335_754_6,
        3.981_071_705_534_972_7,
        4.466_835_921_509_631,
        5.011_872_336_272_723,
        5.623_413_251_903_491,
        6.309_573_444_801_932_5,
        7.079_457_843_841_379_5,
        7.943_282_347_242_815,
        8.912_509_381_337_456,
    ];
    if !db.is_finite() || db.abs() > 2000.0 {
        return if db > 0.0 { f64::INFINITY } else { 0.0 };
    }
    let whole = db.round();
    let rest = (db - whole) * (std::f64::consts::LN_10 / 20.0);
    // |rest| < 0.058: twelve terms are far below one unit in the last place.
    let mut series = 1.0;
    for n in (1..=12).rev() {
        series = 1.0 + rest / f64::from(n) * series;
    }
    let steps = whole as i32;
    let table = usize::try_from(steps.rem_euclid(20))
        .ok()
        .and_then(|i| TWENTIETHS.get(i))
        .copied()
        .unwrap_or(f64::NAN);
    let tens = power_of_ten(steps.div_euclid(20));
    table * series * tens
}
