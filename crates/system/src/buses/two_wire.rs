//! The two-wire bus: what UM10204 asks of it, and the pull-ups that meet it.
//!
//! All limits here are those of UM10204 (Rev. 6), tables 9 and 10, unless said
//! otherwise.

use board::BusMode;

/// ln(0.7/0.3): a line that a resistor pulls up takes this many time constants
/// from 30 % to 70 % of the supply (UM10204, 7.1).
pub const RISE_TIMES: f64 = 0.8473;

/// Share of the supply that a high level must leave above the input threshold
/// of 0.7 V_DD (UM10204, table 9, V_nH).
pub const NOISE_MARGIN_HIGH: f64 = 0.2;

/// The input threshold for a high level as a share of the supply.
pub const HIGH: f64 = 0.7;

/// Leakage and capacitance of a pin of which nothing is known: the most that
/// UM10204 allows (table 9, I_i and C_i).
pub const PIN_LEAKAGE_A: f64 = 10e-6;
/// See [`PIN_LEAKAGE_A`].
pub const PIN_FARAD: f64 = 10e-12;

/// What a mode asks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// Fastest clock, Hz.
    pub clock_hz: f64,
    /// Slowest rise from 30 % to 70 %, s.
    pub rise_s: f64,
    /// Largest capacitance of a line, F.
    pub line_farad: f64,
    /// Shortest low of the clock, s.
    pub low_s: f64,
    /// Shortest high of the clock, s.
    pub high_s: f64,
    /// Data stand so long before the clock rises, s.
    pub set_up_s: f64,
    /// Data are valid so long after the clock fell, at the latest, s.
    pub valid_s: f64,
}

/// The slowest mode in which a clock may run; none above 3.4 MHz.
#[must_use]
pub fn mode_of_clock(hz: f64) -> Option<BusMode> {
    // A clock of 400 kHz that is a rounding too fast is one of 400 kHz.
    BusMode::ALL
        .iter()
        .map(|(_, m)| *m)
        .find(|m| hz <= limits(*m).clock_hz * (1.0 + 1e-9))
}

/// What a mode asks (UM10204, tables 9 to 12).
#[must_use]
pub fn limits(mode: BusMode) -> Limits {
    match mode {
        BusMode::Standard => Limits {
            clock_hz: 100e3,
            rise_s: 1000e-9,
            line_farad: 400e-12,
            low_s: 4.7e-6,
            high_s: 4.0e-6,
            set_up_s: 250e-9,
            valid_s: 3.45e-6,
        },
        BusMode::Fast => Limits {
            clock_hz: 400e3,
            rise_s: 300e-9,
            line_farad: 400e-12,
            low_s: 1.3e-6,
            high_s: 0.6e-6,
            set_up_s: 100e-9,
            valid_s: 0.9e-6,
        },
        BusMode::FastPlus => Limits {
            clock_hz: 1e6,
            rise_s: 120e-9,
            line_farad: 550e-12,
            low_s: 0.5e-6,
            high_s: 0.26e-6,
            set_up_s: 50e-9,
            valid_s: 0.45e-6,
        },
        BusMode::HighSpeed => Limits {
            clock_hz: 3.4e6,
            rise_s: 80e-9,
            line_farad: 100e-12,
            low_s: 0.16e-6,
            high_s: 0.06e-6,
            set_up_s: 10e-9,
            valid_s: 0.07e-6,
        },
    }
}

/// What a part pulls a line down to, and with how much current.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sink {
    /// Low level that holds, V.
    pub low_v: f64,
    /// Up to this current, A.
    pub current_a: f64,
}

impl Sink {
    /// What UM10204 asks of every part (tables 9 and 10): 0.4 V at 3 mA, above
    /// 2 V of supply; 0.2 V_DD at 2 mA up to 2 V; 20 mA in fast mode plus.
    #[must_use]
    pub fn asked(mode: BusMode, supply_v: f64) -> Sink {
        match (mode, supply_v > 2.0) {
            (BusMode::FastPlus, true) => Sink {
                low_v: 0.4,
                current_a: 20e-3,
            },
            (_, true) => Sink {
                low_v: 0.4,
                current_a: 3e-3,
            },
            (_, false) => Sink {
                low_v: 0.2 * supply_v,
                current_a: 2e-3,
            },
        }
    }

    /// The lowest resistor that it pulls down: (V_DD − V_OL)/I_OL, Ω
    /// (UM10204, 7.1).
    ///
    /// ```
    /// use system::buses::two_wire::Sink;
    /// let sink = Sink { low_v: 0.4, current_a: 3e-3 };
    /// assert!((sink.lowest_ohm(5.0) - 1533.33).abs() < 0.01);
    /// ```
    #[must_use]
    pub fn lowest_ohm(self, supply_v: f64) -> f64 {
        (supply_v - self.low_v).max(0.0) / self.current_a
    }
}

/// The largest resistor with which a line rises in time: t_r/(0.8473 C), Ω
/// (UM10204, 7.1); infinite without capacitance.
///
/// ```
/// let ohm = system::buses::two_wire::largest_for_rise(300e-9, 100e-12);
/// assert!((ohm - 3540.7).abs() < 0.1);
/// ```
#[must_use]
pub fn largest_for_rise(rise_s: f64, line_farad: f64) -> f64 {
    rise_s / (RISE_TIMES * line_farad)
}

/// The time from 30 % to 70 % of the supply, s.
#[must_use]
pub fn rise(ohm: f64, line_farad: f64) -> f64 {
    RISE_TIMES * ohm * line_farad
}

/// The largest resistor through which the leakage of all pins leaves a high
/// level of `needed_v`: (V_DD − V)/I, Ω; infinite without leakage, zero where
/// the supply itself is too low.
#[must_use]
pub fn largest_for_leakage(supply_v: f64, needed_v: f64, leakage_a: f64) -> f64 {
    let left = supply_v - needed_v;
    if left <= 0.0 { 0.0 } else { left / leakage_a }
}

/// How far data may travel: twice the delay of the cable fits into what the
/// low of the clock leaves between the latest valid data of a part and the
/// set-up time, s. At a clock below the mode's fastest the low is longer in
/// proportion.
#[must_use]
pub fn delay_left(mode: BusMode, clock_hz: f64) -> f64 {
    let l = limits(mode);
    l.low_s * (l.clock_hz / clock_hz).max(1.0) - l.valid_s - l.set_up_s
}

/// Time that a reading takes on the bus, s: two address bytes, one that names
/// a register, and the data, each with its acknowledgement, and a start, a
/// second start and a stop (UM10204, 3.1.10, a combined format).
#[must_use]
pub fn reading_s(data_bytes: f64, clock_hz: f64) -> f64 {
    (9.0 * (data_bytes + 3.0) + 3.0) / clock_hz
}
