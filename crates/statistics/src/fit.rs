//! Linear least squares, polynomials and small systems of equations.

mod dense;
mod extended;
mod householder;
#[cfg(test)]
mod tests;

pub use dense::solve;

use std::fmt;

/// Why a fit or a solution does not exist.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FitError {
    /// Lengths of the arguments do not belong together.
    Lengths,
    /// Fewer equations than unknowns, or no unknowns.
    TooFewRows,
    /// An argument is infinite or not a number.
    NotFinite,
    /// A standard uncertainty of an observation is not positive.
    NotPositive,
    /// The column of this number (from zero) is a combination of earlier
    /// ones: the data cannot tell the unknowns apart.
    Dependent {
        /// Number of the column.
        column: usize,
    },
}

impl fmt::Display for FitError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            FitError::Lengths => f.write_str("the lengths of the data do not belong together"),
            FitError::TooFewRows => f.write_str("there are fewer observations than unknowns"),
            FitError::NotFinite => f.write_str("a value is not a finite number"),
            FitError::NotPositive => {
                f.write_str("the uncertainty of an observation is not positive")
            }
            FitError::Dependent { column } => write!(
                f,
                "the data cannot tell unknown {} from the others",
                column + 1
            ),
        }
    }
}

impl std::error::Error for FitError {}

/// Where the size of the scatter is taken from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scatter {
    /// From the residuals of the fit: uncertainties scale with the residual
    /// deviation (JCGM 100:2008, H.3).
    Residuals,
    /// From the stated uncertainties of the observations (1 each if none were
    /// stated), whatever the residuals are.
    Stated,
}

/// A least-squares solution.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// The unknowns, in the order of the columns.
    pub coefficients: Vec<f64>,
    /// Observation less fitted value, in the unit of the observations.
    pub residuals: Vec<f64>,
    /// (AᵀWA)⁻¹ by rows, W the inverse squared uncertainties: the covariance
    /// of the coefficients if the observations scatter as stated.
    cofactors: Vec<f64>,
    /// Sum of squared residuals, each divided by its uncertainty.
    square_sum: f64,
    /// The same about the weighted mean instead of the fit.
    total_square_sum: f64,
}

impl Fit {
    /// Observations in excess of unknowns.
    pub fn dof(&self) -> usize {
        self.residuals.len().saturating_sub(self.coefficients.len())
    }

    /// Sum of squared residuals, each divided by the stated uncertainty; for
    /// a model and uncertainties that are right about [`Fit::dof`].
    pub fn chi_squared(&self) -> f64 {
        self.square_sum
    }

    /// Residual standard deviation √(χ²/ν): in the unit of the observations
    /// if no uncertainties were stated, else relative to them (1 means they
    /// are confirmed). Infinite or NaN without degrees of freedom.
    pub fn residual_deviation(&self) -> f64 {
        (self.square_sum / self.dof() as f64).sqrt()
    }

    /// Coefficient of determination R² for a model that contains a constant.
    pub fn determination(&self) -> f64 {
        1.0 - self.square_sum / self.total_square_sum
    }

    /// Covariance of two coefficients (numbered from zero); NaN for a number
    /// that does not exist.
    pub fn covariance(&self, row: usize, column: usize, scatter: Scatter) -> f64 {
        let n = self.coefficients.len();
        if row >= n || column >= n {
            return f64::NAN;
        }
        let scale = self.scale(scatter);
        self.cofactors
            .get(row * n + column)
            .map_or(f64::NAN, |cofactor| cofactor * scale)
    }

    fn scale(&self, scatter: Scatter) -> f64 {
        match scatter {
            Scatter::Residuals => self.square_sum / self.dof() as f64,
            Scatter::Stated => 1.0,
        }
    }

    /// Standard uncertainty of a coefficient; NaN for a number that does not
    /// exist.
    pub fn uncertainty(&self, coefficient: usize, scatter: Scatter) -> f64 {
        self.covariance(coefficient, coefficient, scatter).sqrt()
    }

    /// Correlation of two coefficients, −1 to 1.
    pub fn correlation(&self, row: usize, column: usize) -> f64 {
        let of = |a, b| self.covariance(a, b, Scatter::Stated);
        of(row, column) / (of(row, row) * of(column, column)).sqrt()
    }

    /// The model's value for a row of the design matrix; missing entries
    /// count as zero.
    pub fn value(&self, row: &[f64]) -> f64 {
        self.coefficients
            .iter()
            .zip(row)
            .map(|(coefficient, entry)| coefficient * entry)
            .sum()
    }

    /// Standard uncertainty of [`Fit::value`], correlations of the
    /// coefficients included (JCGM 100:2008, H.3.3). A single new observation
    /// scatters about it in addition.
    pub fn value_uncertainty(&self, row: &[f64], scatter: Scatter) -> f64 {
        let n = self.coefficients.len();
        let mut variance = 0.0;
        for (i, a) in row.iter().take(n).enumerate() {
            for (j, b) in row.iter().take(n).enumerate() {
                variance += a * b * self.covariance(i, j, scatter);
            }
        }
        variance.max(0.0).sqrt()
    }
}

/// Least squares: the coefficients c that minimise Σ((y − A·c)/u)².
///
/// * `design`: A by rows, as many rows as observations and `columns` columns
/// * `observed`: y
/// * `uncertainties`: standard uncertainties u of the observations, in their
///   unit; `None` weighs all equally
///
/// Householder reflections, then refinement with residuals of twice the
/// precision (Å. Björck, "Iterative refinement of linear least squares
/// solutions", BIT 7 (1967) 257–278): the result is that of the given numbers
/// to nearly the last digit even where columns almost depend on each other.
///
/// # Errors
/// See [`FitError`].
///
/// ```
/// use statistics::fit::least_squares;
/// // y = 1 + 2x through three exact points
/// let fit = least_squares(&[1.0, 0.0, 1.0, 1.0, 1.0, 2.0], 2, &[1.0, 3.0, 5.0], None).unwrap();
/// assert!((fit.coefficients[1] - 2.0).abs() < 1e-15);
/// ```
pub fn least_squares(
    design: &[f64],
    columns: usize,
    observed: &[f64],
    uncertainties: Option<&[f64]>,
) -> Result<Fit, FitError> {
    let rows = observed.len();
    if columns == 0 || rows < columns {
        return Err(FitError::TooFewRows);
    }
    if rows.checked_mul(columns) != Some(design.len())
        || uncertainties.is_some_and(|u| u.len() != rows)
    {
        return Err(FitError::Lengths);
    }
    let finite = |values: &[f64]| values.iter().all(|x| x.is_finite());
    if !finite(design) || !finite(observed) || !uncertainties.is_none_or(finite) {
        return Err(FitError::NotFinite);
    }
    if uncertainties.is_some_and(|u| u.iter().any(|&u| u <= 0.0)) {
        return Err(FitError::NotPositive);
    }
    let uncertainty = |row: usize| {
        uncertainties
            .and_then(|u| u.get(row))
            .copied()
            .unwrap_or(1.0)
    };
    let mut weighted = design.to_vec();
    let mut target = observed.to_vec();
    for (row, (entries, value)) in weighted
        .chunks_exact_mut(columns)
        .zip(target.iter_mut())
        .enumerate()
    {
        let u = uncertainty(row);
        *value /= u;
        for entry in entries {
            *entry /= u;
        }
    }
    let factors = householder::Factors::of(&weighted, columns)?;
    let (coefficients, scaled_residuals) = factors.refined_solution(&weighted, &target);
    let cofactors = factors.cofactors();
    let square_sum = scaled_residuals.iter().map(|r| r * r).sum();
    let residuals = scaled_residuals
        .iter()
        .enumerate()
        .map(|(row, r)| r * uncertainty(row))
        .collect();

    let (mut weight_sum, mut weighted_sum) = (0.0, 0.0);
    for (row, y) in observed.iter().enumerate() {
        let weight = 1.0 / (uncertainty(row) * uncertainty(row));
        weight_sum += weight;
        weighted_sum += weight * y;
    }
    let centre = weighted_sum / weight_sum;
    let total_square_sum = observed
        .iter()
        .enumerate()
        .map(|(row, y)| {
            let distance = (y - centre) / uncertainty(row);
            distance * distance
        })
        .sum();
    Ok(Fit {
        coefficients,
        residuals,
        cofactors,
        square_sum,
        total_square_sum,
    })
}

/// Fits y = c0 + c1·x + … + cn·x^n; arguments as for [`least_squares`].
///
/// # Errors
/// See [`FitError`]; fewer than n + 1 different x are dependent columns.
///
/// ```
/// use statistics::fit::polynomial;
/// let fit = polynomial(&[0.0, 1.0, 2.0, 3.0], &[1.0, 0.0, 1.0, 4.0], 2, None).unwrap();
/// // (x − 1)²
/// assert!((fit.coefficients[1] + 2.0).abs() < 1e-14);
/// ```
pub fn polynomial(
    x: &[f64],
    y: &[f64],
    degree: usize,
    uncertainties: Option<&[f64]>,
) -> Result<Fit, FitError> {
    if x.len() != y.len() {
        return Err(FitError::Lengths);
    }
    let columns = degree.saturating_add(1);
    if x.len() < columns {
        return Err(FitError::TooFewRows);
    }
    let design: Vec<f64> = x.iter().flat_map(|&x| powers(x, columns)).collect();
    least_squares(&design, columns, y, uncertainties)
}

/// The row 1, x, x², … of a polynomial's design matrix, for [`Fit::value`].
pub fn powers(x: f64, count: usize) -> Vec<f64> {
    let mut power = 1.0;
    (0..count)
        .map(|_| {
            let current = power;
            power *= x;
            current
        })
        .collect()
}

/// c0 + c1·x + c2·x² + …, by Horner's rule.
pub fn evaluate(coefficients: &[f64], x: f64) -> f64 {
    coefficients
        .iter()
        .rev()
        .fold(0.0, |sum, coefficient| sum * x + coefficient)
}
