//! Functions given by points.

/// A continuous function through given points, straight beyond both ends.
///
/// Either joined by straight lines or, where slopes are given, by cubics that
/// meet the slopes (Hermite's form).
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    knots: Vec<f64>,
    /// Per interval: value, slope, half curvature, sixth of the third
    /// derivative at its left knot.
    pieces: Vec<[f64; 4]>,
    /// Reciprocal of the spacing when all intervals are equal.
    per_step: Option<f64>,
    end_slopes: (f64, f64),
    end_values: (f64, f64),
}

/// Why points do not make a function.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TableFault {
    /// Fewer than two points, or lists of different lengths.
    TooFew,
    /// Arguments that do not increase strictly, or a value that is no number.
    NotIncreasing,
}

impl Table {
    /// Straight lines between the points `(x[i], y[i])`; x must increase.
    ///
    /// # Errors
    /// See [`TableFault`].
    pub fn lines(x: &[f64], y: &[f64]) -> Result<Table, TableFault> {
        check(x, y)?;
        let pieces = x
            .windows(2)
            .zip(y.windows(2))
            .map(|(x, y)| [y[0], (y[1] - y[0]) / (x[1] - x[0]), 0.0, 0.0])
            .collect::<Vec<_>>();
        Ok(Table::assemble(x, y, pieces))
    }

    /// Cubics through the points with the given slopes.
    ///
    /// # Errors
    /// See [`TableFault`].
    pub fn cubics(x: &[f64], y: &[f64], slope: &[f64]) -> Result<Table, TableFault> {
        check(x, y)?;
        if slope.len() != x.len() || slope.iter().any(|s| !s.is_finite()) {
            return Err(TableFault::TooFew);
        }
        let pieces = (0..x.len() - 1)
            .map(|i| {
                let h = x[i + 1] - x[i];
                let secant = (y[i + 1] - y[i]) / h;
                let (s0, s1) = (slope[i], slope[i + 1]);
                [
                    y[i],
                    s0,
                    (3.0 * secant - 2.0 * s0 - s1) / h,
                    (s0 + s1 - 2.0 * secant) / (h * h),
                ]
            })
            .collect::<Vec<_>>();
        let mut table = Table::assemble(x, y, pieces);
        table.end_slopes = (slope[0], slope[slope.len() - 1]);
        Ok(table)
    }

    /// Monotone cubics through monotone points: slopes by the weighted
    /// harmonic mean of the neighbouring secants (F. N. Fritsch, J. Butland,
    /// SIAM J. Sci. Stat. Comput. 5, 1984), so the curve never overshoots.
    ///
    /// # Errors
    /// See [`TableFault`].
    pub fn monotone(x: &[f64], y: &[f64]) -> Result<Table, TableFault> {
        check(x, y)?;
        let n = x.len();
        let secant: Vec<f64> = (0..n - 1)
            .map(|i| (y[i + 1] - y[i]) / (x[i + 1] - x[i]))
            .collect();
        let mut slope = vec![0.0; n];
        slope[0] = secant[0];
        slope[n - 1] = secant[n - 2];
        for i in 1..n - 1 {
            let (a, b) = (secant[i - 1], secant[i]);
            if a * b > 0.0 {
                let (h0, h1) = (x[i] - x[i - 1], x[i + 1] - x[i]);
                let (w0, w1) = (2.0 * h1 + h0, h1 + 2.0 * h0);
                slope[i] = (w0 + w1) / (w0 / a + w1 / b);
            }
        }
        Table::cubics(x, y, &slope)
    }

    fn assemble(x: &[f64], y: &[f64], pieces: Vec<[f64; 4]>) -> Table {
        let n = x.len();
        let step = (x[n - 1] - x[0]) / (n - 1) as f64;
        let even = x
            .iter()
            .enumerate()
            .all(|(i, &v)| (v - (x[0] + step * i as f64)).abs() <= 1e-9 * step);
        let first = pieces[0][1];
        let last = pieces[n - 2];
        let h = x[n - 1] - x[n - 2];
        Table {
            knots: x.to_vec(),
            per_step: even.then_some(1.0 / step),
            end_slopes: (first, last[1] + h * (2.0 * last[2] + 3.0 * h * last[3])),
            end_values: (y[0], y[n - 1]),
            pieces,
        }
    }

    /// First and last argument of the points.
    #[must_use]
    pub fn domain(&self) -> (f64, f64) {
        (self.knots[0], self.knots[self.knots.len() - 1])
    }

    /// The arguments of the points.
    #[must_use]
    pub fn knots(&self) -> &[f64] {
        &self.knots
    }

    fn interval(&self, x: f64) -> usize {
        let last = self.pieces.len() - 1;
        match self.per_step {
            #[allow(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "bounded just before"
            )]
            Some(per_step) => {
                let position = ((x - self.knots[0]) * per_step).max(0.0).min(last as f64);
                let mut i = position as usize;
                // Rounding may put an argument beside its interval.
                if x < self.knots[i] && i > 0 {
                    i -= 1;
                } else if i < last && x >= self.knots[i + 1] {
                    i += 1;
                }
                i
            }
            None => self
                .knots
                .partition_point(|&k| k <= x)
                .saturating_sub(1)
                .min(last),
        }
    }

    /// Value at x.
    #[must_use]
    pub fn value(&self, x: f64) -> f64 {
        let (low, high) = self.domain();
        if x <= low {
            return self.end_values.0 + self.end_slopes.0 * (x - low);
        }
        if x >= high {
            return self.end_values.1 + self.end_slopes.1 * (x - high);
        }
        if x.is_nan() {
            return x;
        }
        let i = self.interval(x);
        let [a, b, c, d] = self.pieces[i];
        let t = x - self.knots[i];
        a + t * (b + t * (c + t * d))
    }

    /// Slope at x (from the right at a corner).
    #[must_use]
    pub fn slope(&self, x: f64) -> f64 {
        let (low, high) = self.domain();
        if x < low {
            return self.end_slopes.0;
        }
        if x >= high {
            return self.end_slopes.1;
        }
        if x.is_nan() {
            return x;
        }
        let i = self.interval(x);
        let [_, b, c, d] = self.pieces[i];
        let t = x - self.knots[i];
        b + t * (2.0 * c + 3.0 * t * d)
    }
}

fn check(x: &[f64], y: &[f64]) -> Result<(), TableFault> {
    if x.len() < 2 || x.len() != y.len() {
        return Err(TableFault::TooFew);
    }
    let increasing = x.windows(2).all(|w| w[0] < w[1]);
    if !increasing || x.iter().chain(y).any(|v| !v.is_finite()) {
        return Err(TableFault::NotIncreasing);
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_linear_interpolation_of_a_thermistor_table() {
        // Sensor table in a welding-machine manual (Fronius TransSteel 2200,
        // p. 14): 20 °C 12490 Ω, 25 °C 10000 Ω; its example gives 10996 Ω at
        // 23 °C.
        let table = Table::lines(&[20.0, 25.0, 30.0], &[12490.0, 10000.0, 8057.0]).unwrap();
        assert!((table.value(23.0) - 10996.0).abs() < 1e-9);
        assert_eq!(table.slope(22.0), -498.0);
        assert_eq!(table.value(15.0), 12490.0 + 5.0 * 498.0);
    }

    #[test]
    fn a_cubic_reproduces_a_cubic() {
        let f = |x: f64| 1.0 - 2.0 * x + 0.5 * x * x * x;
        let df = |x: f64| -2.0 + 1.5 * x * x;
        let x: Vec<f64> = [-2.0, -0.3, 0.9, 2.5].to_vec();
        let table = Table::cubics(
            &x,
            &x.iter().map(|&x| f(x)).collect::<Vec<_>>(),
            &x.iter().map(|&x| df(x)).collect::<Vec<_>>(),
        )
        .unwrap();
        for i in 0..=90 {
            let t = -2.0 + f64::from(i) * 0.05;
            assert!((table.value(t) - f(t)).abs() < 1e-12);
            assert!((table.slope(t) - df(t)).abs() < 1e-11);
        }
    }

    #[test]
    fn monotone_points_give_a_monotone_curve() {
        let x = [0.0, 1.0, 2.0, 3.0, 10.0];
        let y = [0.0, 0.1, 5.0, 5.1, 5.2];
        let table = Table::monotone(&x, &y).unwrap();
        let mut last = -1.0;
        for i in 0..=1000 {
            let v = table.value(f64::from(i) * 0.01);
            assert!(v >= last);
            last = v;
        }
    }

    #[test]
    fn bad_points_are_refused() {
        assert_eq!(Table::lines(&[1.0], &[1.0]), Err(TableFault::TooFew));
        assert_eq!(
            Table::lines(&[1.0, 1.0], &[1.0, 2.0]),
            Err(TableFault::NotIncreasing)
        );
        assert_eq!(
            Table::lines(&[1.0, f64::NAN], &[1.0, 2.0]),
            Err(TableFault::NotIncreasing)
        );
    }
}
