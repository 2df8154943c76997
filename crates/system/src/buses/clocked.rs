//! Serial buses with a clock that goes out and data that come back.

/// The way of the data that a device sends: its clock travels to the device,
/// the device answers, the answer travels back, and stands before the
/// controller takes it.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct RoundTrip {
    /// One way through the cable, s.
    pub cable_s: f64,
    /// Through drivers, translators or isolators, both ways together, s.
    pub drivers_s: f64,
    /// From the clock's edge to the device's valid data, s.
    pub valid_s: f64,
    /// Data stand so long before the controller takes them, s.
    pub set_up_s: f64,
}

impl RoundTrip {
    /// All of it, s; the cable counts twice.
    #[must_use]
    pub fn total_s(&self) -> f64 {
        2.0 * self.cable_s + self.drivers_s + self.valid_s + self.set_up_s
    }

    /// The fastest clock if all of it may take `share` of a period, Hz: half
    /// of it where data change on one edge and are taken on the other.
    /// Infinite where nothing takes time.
    ///
    /// ```
    /// use system::buses::clocked::RoundTrip;
    /// let trip = RoundTrip { cable_s: 5e-9, drivers_s: 0.0, valid_s: 40e-9, set_up_s: 10e-9 };
    /// // 1/(2 · (5 + 40 + 5 + 10) ns)
    /// assert!((trip.fastest_hz(0.5) - 8.333e6).abs() < 1e3);
    /// ```
    #[must_use]
    pub fn fastest_hz(&self, share: f64) -> f64 {
        share / self.total_s()
    }

    /// The longest cable, as one-way delay, with which it fits into `share` of
    /// a period of this clock, s; negative where even none does.
    #[must_use]
    pub fn longest_s(&self, clock_hz: f64, share: f64) -> f64 {
        let rest = self.drivers_s + self.valid_s + self.set_up_s;
        0.5 * (share / clock_hz - rest)
    }
}

/// The relative clock error that an asynchronous line bears, both ends
/// together: the last bit of a frame of `bits` (start, data, parity, stop)
/// must still be taken within itself. It is taken in its middle, bits − 1/2
/// after the edge of the start bit, and that edge is found to one in
/// `oversampling`: (1/2 − 1/oversampling)/(bits − 1/2). Common practice.
///
/// ```
/// // Eight data bits and 16 samples a bit.
/// let e = system::buses::clocked::asynchronous_error(10.0, 16.0);
/// assert!((e - 0.04605).abs() < 1e-5);
/// ```
#[must_use]
pub fn asynchronous_error(bits: f64, oversampling: f64) -> f64 {
    (0.5 - 1.0 / oversampling) / (bits - 0.5)
}

/// The rate that a whole divider makes of a clock, and its relative error:
/// clock/(oversampling · round(clock/(oversampling · rate))).
///
/// ```
/// // The well-known 3.5 % of 115200 baud from 16 MHz by sixteen samples.
/// let (rate, error) = system::buses::clocked::divided_rate(16e6, 16.0, 115_200.0);
/// assert!((rate - 111_111.1).abs() < 0.1 && (error + 0.0355).abs() < 1e-4);
/// ```
#[must_use]
pub fn divided_rate(clock_hz: f64, oversampling: f64, rate_hz: f64) -> (f64, f64) {
    let divider = (clock_hz / (oversampling * rate_hz)).round().max(1.0);
    let made = clock_hz / (oversampling * divider);
    (made, made / rate_hz - 1.0)
}
