//! Complex numbers, for frequencies.

use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub};

/// A complex number.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Complex {
    /// Real part.
    pub re: f64,
    /// Imaginary part.
    pub im: f64,
}

impl Complex {
    /// Zero.
    pub const ZERO: Complex = Complex { re: 0.0, im: 0.0 };
    /// One.
    pub const ONE: Complex = Complex { re: 1.0, im: 0.0 };

    /// From its parts.
    #[must_use]
    pub const fn new(re: f64, im: f64) -> Self {
        Complex { re, im }
    }

    /// A real number.
    #[must_use]
    pub const fn real(re: f64) -> Self {
        Complex { re, im: 0.0 }
    }

    /// Mirrored at the real axis.
    #[must_use]
    pub fn conjugate(self) -> Self {
        Complex::new(self.re, -self.im)
    }

    /// |x|², which overflows and underflows earlier than [`abs`](Self::abs).
    #[must_use]
    pub fn squared_abs(self) -> f64 {
        self.re * self.re + self.im * self.im
    }

    /// Magnitude, without overflow on the way.
    #[must_use]
    pub fn abs(self) -> f64 {
        let (a, b) = (self.re.abs(), self.im.abs());
        let (large, small) = if a > b { (a, b) } else { (b, a) };
        if large == 0.0 || !large.is_finite() {
            return large;
        }
        let ratio = small / large;
        large * (1.0 + ratio * ratio).sqrt()
    }

    /// Angle from the positive real axis, rad, in (−π, π].
    #[must_use]
    pub fn angle_rad(self) -> f64 {
        elementary::atan2(self.im, self.re)
    }

    /// Multiplied by a real number.
    #[must_use]
    pub fn times(self, factor: f64) -> Self {
        Complex::new(self.re * factor, self.im * factor)
    }

    /// The square root with a real part that is not negative.
    #[must_use]
    pub fn sqrt(self) -> Self {
        let size = self.abs();
        if size == 0.0 {
            return Complex::ZERO;
        }
        let large = (0.5 * (size + self.re.abs())).sqrt();
        let small = 0.5 * self.im.abs() / large;
        let (re, im) = if self.re >= 0.0 {
            (large, small)
        } else {
            (small, large)
        };
        Complex::new(re, if self.im < 0.0 { -im } else { im })
    }

    /// e to this power.
    #[must_use]
    pub fn exp(self) -> Self {
        let size = elementary::exp(self.re);
        if self.im == 0.0 {
            return Complex::real(size);
        }
        if size == 0.0 {
            return Complex::ZERO;
        }
        Complex::new(
            size * elementary::cos(self.im),
            size * elementary::sin(self.im),
        )
    }
}

impl Add for Complex {
    type Output = Complex;
    fn add(self, other: Complex) -> Complex {
        Complex::new(self.re + other.re, self.im + other.im)
    }
}

impl AddAssign for Complex {
    fn add_assign(&mut self, other: Complex) {
        *self = *self + other;
    }
}

impl Sub for Complex {
    type Output = Complex;
    fn sub(self, other: Complex) -> Complex {
        Complex::new(self.re - other.re, self.im - other.im)
    }
}

impl Neg for Complex {
    type Output = Complex;
    fn neg(self) -> Complex {
        Complex::new(-self.re, -self.im)
    }
}

impl Mul for Complex {
    type Output = Complex;
    fn mul(self, other: Complex) -> Complex {
        Complex::new(
            self.re * other.re - self.im * other.im,
            self.re * other.im + self.im * other.re,
        )
    }
}

impl Div for Complex {
    type Output = Complex;
    /// R. Smith's way (Communications of the ACM 5, 1962), which keeps the
    /// intermediate numbers in range.
    fn div(self, other: Complex) -> Complex {
        if other.re.abs() >= other.im.abs() {
            let ratio = other.im / other.re;
            let size = other.re + other.im * ratio;
            Complex::new(
                (self.re + self.im * ratio) / size,
                (self.im - self.re * ratio) / size,
            )
        } else {
            let ratio = other.re / other.im;
            let size = other.re * ratio + other.im;
            Complex::new(
                (self.re * ratio + self.im) / size,
                (self.im * ratio - self.re) / size,
            )
        }
    }
}
