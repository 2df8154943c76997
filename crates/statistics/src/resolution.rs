//! How many steps noise leaves.

/// Peak to peak of Gaussian noise in standard deviations, as data sheets
/// take it: 99.9 % of readings lie within ±3.3 (common practice).
pub const PEAK_TO_PEAK: f64 = 6.6;

/// Effective resolution, bits: log2(span/σ).
pub fn effective_bits(span: f64, deviation: f64) -> f64 {
    elementary::log2(span / deviation)
}

/// Noise-free resolution, bits: log2(span/6.6σ); 2.72 bits less than the
/// effective one.
pub fn noise_free_bits(span: f64, deviation: f64) -> f64 {
    elementary::log2(span / (PEAK_TO_PEAK * deviation))
}

/// Effective number of bits from a ratio of signal to noise and distortion,
/// dB, of a full-scale sine: (SINAD − 1.7609)/6.0206. Only a sine test gives
/// that ratio; noise alone gives [`effective_bits`].
pub fn enob(sinad_db: f64) -> f64 {
    (sinad_db / 20.0 - elementary::log10(1.5_f64.sqrt())) / elementary::log10(2.0)
}

/// Signal to quantisation noise of a full-scale sine, dB: 20·log10(2^N·√1.5).
pub fn ideal_snr_db(bits: u32) -> f64 {
    20.0 * (f64::from(bits) * elementary::log10(2.0) + elementary::log10(1.5_f64.sqrt()))
}

/// Bits gained by averaging `count` independent samples: log2(N)/2.
pub fn averaging_gain_bits(count: u32) -> f64 {
    0.5 * elementary::log2(f64::from(count.max(1)))
}

/// Signal to noise that jitter of the sampling instant leaves of a sine, dB:
/// −20·log10(2π·f·t).
pub fn jitter_snr_db(hz: f64, jitter_s: f64) -> f64 {
    -20.0 * elementary::log10(std::f64::consts::TAU * hz * jitter_s)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_ideal_converter() {
        // Analog Devices, tutorials MT-001 and MT-229.
        for (bits, db) in [
            (8, 49.9257),
            (10, 61.9669),
            (12, 74.0081),
            (16, 98.0905),
            (24, 146.2553),
        ] {
            assert!((ideal_snr_db(bits) - db).abs() < 5e-5);
            assert!((enob(ideal_snr_db(bits)) - f64::from(bits)).abs() < 1e-12);
        }
        // The usual (SINAD − 1.76)/6.02 gives 10.0066 and 12.0000.
        assert!((enob(62.0) - 10.0066).abs() < 1.5e-3);
        assert!((enob(74.0) - 12.0000).abs() < 1.5e-3);
        assert!((jitter_snr_db(10e3, 1e-9) - 84.036).abs() < 1e-3);
    }

    #[test]
    fn averaging_four_samples_gains_a_bit() {
        for (count, bits) in [(4, 1.0), (16, 2.0), (64, 3.0), (256, 4.0)] {
            assert!((averaging_gain_bits(count) - bits).abs() < 1e-15);
        }
        let gap = effective_bits(1.0, 1e-4) - noise_free_bits(1.0, 1e-4);
        assert!((gap - 2.7225).abs() < 1e-4);
    }
}
