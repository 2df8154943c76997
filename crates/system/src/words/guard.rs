//! What guards the bytes of a word.

use board::{Check, CheckRule};

/// The remainder of a cyclic redundancy check.
///
/// The register of `width` bits (8 or 16) begins with `initial`; every byte
/// enters with its highest bit first, or with its lowest where `reflect` is
/// set, and then the register leaves turned round as well. In the end it is
/// combined with `last` by exclusive or.
///
/// ```
/// // The check that a humidity sensor's data sheet works out for 0xBEEF.
/// assert_eq!(system::words::crc(8, 0x31, 0xFF, false, 0x00, &[0xBE, 0xEF]), 0x92);
/// ```
#[must_use]
pub fn crc(
    width: u8,
    polynomial: u16,
    initial: u16,
    reflect: bool,
    last: u16,
    bytes: &[u8],
) -> u16 {
    let wide = width > 8;
    let (top, all): (u16, u16) = if wide { (0x8000, 0xFFFF) } else { (0x80, 0xFF) };
    let mut register = initial & all;
    for &byte in bytes {
        let byte = u16::from(if reflect { byte.reverse_bits() } else { byte });
        register ^= if wide { byte << 8 } else { byte };
        for _ in 0..8 {
            let carries = register & top != 0;
            register = (register << 1) & all;
            if carries {
                register ^= polynomial & all;
            }
        }
    }
    if reflect {
        register = if wide {
            register.reverse_bits()
        } else {
            register.reverse_bits() >> 8
        };
    }
    (register ^ last) & all
}

/// The bytes that follow `bytes` of a word by a rule; none of them where the
/// rule is a bit of the word itself.
#[must_use]
pub fn guard(check: &Check, bytes: &[u8]) -> Vec<u8> {
    let guarded = || check.before.iter().chain(bytes);
    let sum = || guarded().fold(0_u8, |s, b| s.wrapping_add(*b));
    match check.rule {
        CheckRule::Crc {
            width,
            polynomial,
            initial,
            reflect,
            last,
        } => {
            let all: Vec<u8> = guarded().copied().collect();
            let value = crc(width, polynomial, initial, reflect, last, &all);
            let [high, low] = value.to_be_bytes();
            match (width > 8, check.is_low_first) {
                (false, _) => vec![low],
                (true, false) => vec![high, low],
                (true, true) => vec![low, high],
            }
        }
        CheckRule::Sum => vec![sum()],
        CheckRule::SumToZero => vec![sum().wrapping_neg()],
        CheckRule::Xor => vec![guarded().fold(0, |s, b| s ^ b)],
        CheckRule::Parity { .. } => Vec::new(),
    }
}

/// Whether a word as it came is guarded rightly: `after` are the bytes that
/// followed it.
#[must_use]
pub fn is_sound(check: &Check, bytes: &[u8], after: &[u8]) -> bool {
    if let CheckRule::Parity { is_odd, .. } = check.rule {
        let ones: u32 = bytes.iter().map(|b| b.count_ones()).sum();
        return (ones % 2 == 1) == is_odd;
    }
    guard(check, bytes) == after
}
