//! Numbers in their bits.

use board::Form;

/// All bits of a number set.
///
/// `bits` is at most 63.
#[must_use]
pub fn mask(bits: u8) -> u64 {
    (1_u64 << bits.min(63)) - 1
}

/// The lowest and the highest number that `bits` bits hold in a form.
///
/// ```
/// use board::Form;
/// assert_eq!(system::words::limits(Form::TwosComplement, 14), (-8192, 8191));
/// assert_eq!(system::words::limits(Form::SignMagnitude, 8), (-127, 127));
/// ```
#[must_use]
pub fn limits(form: Form, bits: u8) -> (i64, i64) {
    let bits = bits.clamp(1, 62);
    let half = 1_i64 << (bits - 1);
    match form {
        Form::Unsigned => (0, 2 * half - 1),
        Form::TwosComplement | Form::OffsetBinary => (-half, half - 1),
        Form::OnesComplement | Form::SignMagnitude => (1 - half, half - 1),
    }
}

/// The number that `raw` stands for; bits above `bits` are not looked at.
///
/// Both zeros of ones' complement and of sign and magnitude are zero.
#[must_use]
pub fn number(form: Form, bits: u8, raw: u64) -> i64 {
    let bits = bits.clamp(1, 62);
    let raw = raw & mask(bits);
    let whole = i64::try_from(raw).unwrap_or(0);
    let half = 1_i64 << (bits - 1);
    let is_upper = whole >= half;
    match form {
        Form::Unsigned => whole,
        Form::TwosComplement if is_upper => whole - 2 * half,
        Form::OnesComplement if is_upper => whole - (2 * half - 1),
        Form::SignMagnitude if is_upper => half - whole,
        Form::OffsetBinary => whole - half,
        _ => whole,
    }
}

/// The bits of a number; none where the form cannot hold it.
///
/// ```
/// use board::Form;
/// use system::words::bits_of;
/// assert_eq!(bits_of(Form::TwosComplement, 13, -400), Some(0x1E70));
/// assert_eq!(bits_of(Form::TwosComplement, 13, 4096), None);
/// ```
#[must_use]
pub fn bits_of(form: Form, bits: u8, number: i64) -> Option<u64> {
    let bits = bits.clamp(1, 62);
    let (low, high) = limits(form, bits);
    if number < low || number > high {
        return None;
    }
    let half = 1_i64 << (bits - 1);
    let raw = match form {
        Form::Unsigned => number,
        Form::OffsetBinary => number + half,
        _ if number >= 0 => number,
        Form::TwosComplement => number + 2 * half,
        Form::OnesComplement => number + 2 * half - 1,
        Form::SignMagnitude => half - number,
    };
    u64::try_from(raw).ok()
}
