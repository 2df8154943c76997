//! Sums of products with twice the precision, from plain operations (T. J.
//! Dekker, "A floating-point technique for extending the available
//! precision", Numerische Mathematik 18 (1971) 224–242; T. Ogita, S. M. Rump,
//! S. Oishi, "Accurate sum and dot product", SIAM J. Sci. Comput. 26 (2005)
//! 1955–1988).

/// A running sum of a leading part and what rounding it left behind.
#[derive(Clone, Copy, Default)]
pub(super) struct Extended {
    lead: f64,
    rest: f64,
}

/// The sum of two numbers and its rounding error, exactly.
fn sum_exactly(a: f64, b: f64) -> (f64, f64) {
    let sum = a + b;
    let part = sum - a;
    (sum, (a - (sum - part)) + (b - part))
}

/// A number as the sum of two with half as many digits.
fn split(a: f64) -> (f64, f64) {
    // 2^27 + 1
    let scaled = 134_217_729.0 * a;
    let high = scaled - (scaled - a);
    (high, a - high)
}

/// The product of two numbers and its rounding error, exactly unless it
/// overflows or underflows.
fn multiply_exactly(a: f64, b: f64) -> (f64, f64) {
    let product = a * b;
    let ((a_high, a_low), (b_high, b_low)) = (split(a), split(b));
    let error = ((a_high * b_high - product) + a_high * b_low + a_low * b_high) + a_low * b_low;
    (product, error)
}

impl Extended {
    /// Adds a number.
    pub(super) fn add(&mut self, a: f64) {
        let (lead, error) = sum_exactly(self.lead, a);
        self.lead = lead;
        self.rest += error;
    }

    /// Adds a product.
    pub(super) fn add_product(&mut self, a: f64, b: f64) {
        let (product, error) = multiply_exactly(a, b);
        self.add(product);
        // Beyond about 1e300 the splitting overflows; the plain product is
        // then all there is.
        if error.is_finite() {
            self.rest += error;
        }
    }

    /// The sum, rounded once.
    pub(super) fn rounded(self) -> f64 {
        self.lead + self.rest
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn property_cancelling_products_keep_their_difference() {
        // (1 + 2^-30)² − 1 − 2^-29 = 2^-60, below the precision of the terms
        let a = 1.0 + 2.0_f64.powi(-30);
        let mut sum = Extended::default();
        sum.add_product(a, a);
        sum.add(-1.0);
        sum.add(-2.0_f64.powi(-29));
        assert_eq!(sum.rounded(), 2.0_f64.powi(-60));
    }
}
