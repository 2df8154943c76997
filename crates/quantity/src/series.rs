//! Preferred number series for resistors and capacitors, IEC 60063:2015.

use crate::decimal::Decimal;

/// A series of preferred numbers: E24 has 24 values per decade.
///
/// E3 to E24 have two digits and are not everywhere the rounded powers of ten
/// (27, 30, 33, 36, 39, 43, 47 and 82 stand for historical reasons); E48 to E192
/// have three, with 9.20 in E192 the only exception.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Series {
    /// 3 values per decade.
    E3,
    /// 6 values per decade.
    E6,
    /// 12 values per decade.
    E12,
    /// 24 values per decade.
    E24,
    /// 48 values per decade.
    E48,
    /// 96 values per decade.
    E96,
    /// 192 values per decade.
    E192,
}

const E3: [u16; 3] = [10, 22, 47];
const E6: [u16; 6] = [10, 15, 22, 33, 47, 68];
const E12: [u16; 12] = [10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82];
const E24: [u16; 24] = [
    10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91,
];
const E48: [u16; 48] = [
    100, 105, 110, 115, 121, 127, 133, 140, 147, 154, 162, 169, 178, 187, 196, 205, 215, 226, 237,
    249, 261, 274, 287, 301, 316, 332, 348, 365, 383, 402, 422, 442, 464, 487, 511, 536, 562, 590,
    619, 649, 681, 715, 750, 787, 825, 866, 909, 953,
];
const E96: [u16; 96] = [
    100, 102, 105, 107, 110, 113, 115, 118, 121, 124, 127, 130, 133, 137, 140, 143, 147, 150, 154,
    158, 162, 165, 169, 174, 178, 182, 187, 191, 196, 200, 205, 210, 215, 221, 226, 232, 237, 243,
    249, 255, 261, 267, 274, 280, 287, 294, 301, 309, 316, 324, 332, 340, 348, 357, 365, 374, 383,
    392, 402, 412, 422, 432, 442, 453, 464, 475, 487, 499, 511, 523, 536, 549, 562, 576, 590, 604,
    619, 634, 649, 665, 681, 698, 715, 732, 750, 768, 787, 806, 825, 845, 866, 887, 909, 931, 953,
    976,
];
const E192: [u16; 192] = [
    100, 101, 102, 104, 105, 106, 107, 109, 110, 111, 113, 114, 115, 117, 118, 120, 121, 123, 124,
    126, 127, 129, 130, 132, 133, 135, 137, 138, 140, 142, 143, 145, 147, 149, 150, 152, 154, 156,
    158, 160, 162, 164, 165, 167, 169, 172, 174, 176, 178, 180, 182, 184, 187, 189, 191, 193, 196,
    198, 200, 203, 205, 208, 210, 213, 215, 218, 221, 223, 226, 229, 232, 234, 237, 240, 243, 246,
    249, 252, 255, 258, 261, 264, 267, 271, 274, 277, 280, 284, 287, 291, 294, 298, 301, 305, 309,
    312, 316, 320, 324, 328, 332, 336, 340, 344, 348, 352, 357, 361, 365, 370, 374, 379, 383, 388,
    392, 397, 402, 407, 412, 417, 422, 427, 432, 437, 442, 448, 453, 459, 464, 470, 475, 481, 487,
    493, 499, 505, 511, 517, 523, 530, 536, 542, 549, 556, 562, 569, 576, 583, 590, 597, 604, 612,
    619, 626, 634, 642, 649, 657, 665, 673, 681, 690, 698, 706, 715, 723, 732, 741, 750, 759, 768,
    777, 787, 796, 806, 816, 825, 835, 845, 856, 866, 876, 887, 898, 909, 920, 931, 942, 953, 965,
    976, 988,
];

/// A preferred number: its index in the decade and the power of ten of the table's last digit.
#[derive(Clone, Copy)]
struct Place {
    index: usize,
    decade: i32,
}

impl Series {
    /// Every series, coarsest first.
    pub const ALL: [Self; 7] = [
        Self::E3,
        Self::E6,
        Self::E12,
        Self::E24,
        Self::E48,
        Self::E96,
        Self::E192,
    ];

    /// The values of one decade as integers: 10 … 91 for E3 to E24, 100 … 988 for E48 to E192.
    pub const fn values(self) -> &'static [u16] {
        match self {
            Self::E3 => &E3,
            Self::E6 => &E6,
            Self::E12 => &E12,
            Self::E24 => &E24,
            Self::E48 => &E48,
            Self::E96 => &E96,
            Self::E192 => &E192,
        }
    }

    /// Number of digits of [`Series::values`].
    const fn digits(self) -> i32 {
        match self {
            Self::E3 | Self::E6 | Self::E12 | Self::E24 => 2,
            Self::E48 | Self::E96 | Self::E192 => 3,
        }
    }

    /// The name as written: "E24".
    pub const fn name(self) -> &'static str {
        match self {
            Self::E3 => "E3",
            Self::E6 => "E6",
            Self::E12 => "E12",
            Self::E24 => "E24",
            Self::E48 => "E48",
            Self::E96 => "E96",
            Self::E192 => "E192",
        }
    }

    /// The series with this name, upper or lower case.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL
            .into_iter()
            .find(|series| series.name().eq_ignore_ascii_case(name.trim()))
    }

    /// Relative tolerance usually sold in this series (common practice): E24 gives 0.05.
    ///
    /// E3 stands for "wider than 20 %" and gives 0.2.
    pub const fn usual_tolerance(self) -> f64 {
        match self {
            Self::E3 | Self::E6 => 0.2,
            Self::E12 => 0.1,
            Self::E24 => 0.05,
            Self::E48 => 0.02,
            Self::E96 => 0.01,
            Self::E192 => 0.005,
        }
    }

    /// The preferred number nearest in ratio; on a tie, the lower one.
    ///
    /// `None` unless `value` is positive, finite and within 1e-30 … 1e30.
    ///
    /// ```
    /// use quantity::Series;
    /// assert_eq!(Series::E24.nearest(4_800.0), Some(4_700.0));
    /// assert_eq!(Series::E96.nearest(4_700.0), Some(4_750.0));
    /// ```
    pub fn nearest(self, value: f64) -> Option<f64> {
        let low = self.at_most(value)?;
        let high = self.at_least(value)?;
        // value/low ≤ high/value, without dividing.
        Some(if value * value <= low * high {
            low
        } else {
            high
        })
    }

    /// The largest preferred number not above `value`; a preferred number gives itself.
    ///
    /// `None` as in [`Series::nearest`].
    pub fn at_most(self, value: f64) -> Option<f64> {
        Some(self.number(self.place_at_most(value)?))
    }

    /// The smallest preferred number not below `value`; a preferred number gives itself.
    ///
    /// `None` as in [`Series::nearest`].
    pub fn at_least(self, value: f64) -> Option<f64> {
        let place = self.place_at_most(value)?;
        let low = self.number(place);
        Some(if low >= value {
            low
        } else {
            self.number(self.next(place))
        })
    }

    /// The next preferred number strictly above `value`.
    ///
    /// ```
    /// use quantity::Series;
    /// assert_eq!(Series::E96.step_up(4_700.0), Some(4_750.0));
    /// assert_eq!(Series::E12.step_up(8_200.0), Some(10_000.0));
    /// ```
    pub fn step_up(self, value: f64) -> Option<f64> {
        let place = self.place_at_most(value)?;
        Some(self.number(self.next(place)))
    }

    /// The next preferred number strictly below `value`.
    pub fn step_down(self, value: f64) -> Option<f64> {
        let place = self.place_at_most(value)?;
        let low = self.number(place);
        Some(if low < value {
            low
        } else {
            self.number(self.previous(place))
        })
    }

    /// Every preferred number from `low` to `high`, ascending; empty if either is unusable.
    ///
    /// ```
    /// use quantity::Series;
    /// assert_eq!(Series::E6.between(1e3, 5e3), [1e3, 1.5e3, 2.2e3, 3.3e3, 4.7e3]);
    /// ```
    pub fn between(self, low: f64, high: f64) -> Vec<f64> {
        let mut found = Vec::new();
        let usable = usable(low) && usable(high);
        let mut next = if usable { self.at_least(low) } else { None };
        while let Some(value) = next.filter(|value| *value <= high) {
            found.push(value);
            next = self.step_up(value);
        }
        found
    }

    /// Whether `value` is a number of this series, to the last bit.
    pub fn contains(self, value: f64) -> bool {
        self.at_most(value) == Some(value)
    }

    /// The number at a place, as the double nearest to its decimal.
    fn number(self, place: Place) -> f64 {
        let mantissa = self.values().get(place.index).copied().unwrap_or(0);
        Decimal {
            negative: false,
            digits: &mantissa.to_string(),
            exponent: 0,
        }
        .scaled(place.decade)
    }

    fn next(self, place: Place) -> Place {
        if place.index + 1 < self.values().len() {
            Place {
                index: place.index + 1,
                ..place
            }
        } else {
            Place {
                index: 0,
                decade: place.decade + 1,
            }
        }
    }

    fn previous(self, place: Place) -> Place {
        match place.index.checked_sub(1) {
            Some(index) => Place { index, ..place },
            None => Place {
                index: self.values().len() - 1,
                decade: place.decade - 1,
            },
        }
    }

    /// The place of the largest preferred number not above `value`.
    fn place_at_most(self, value: f64) -> Option<Place> {
        if !usable(value) {
            return None;
        }
        let text = format!("{value:e}");
        let exponent: i32 = text.split_once('e')?.1.parse().ok()?;
        let decade = exponent + 1 - self.digits();
        // The first value of the decade is 10^exponent, which is not above `value`.
        let mut low = 0;
        let mut high = self.values().len();
        while high - low > 1 {
            let middle = low + (high - low) / 2;
            let place = Place {
                index: middle,
                decade,
            };
            if self.number(place) <= value {
                low = middle;
            } else {
                high = middle;
            }
        }
        Some(Place { index: low, decade })
    }
}

fn usable(value: f64) -> bool {
    (1e-30..=1e30).contains(&value)
}

impl std::fmt::Display for Series {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.name())
    }
}
