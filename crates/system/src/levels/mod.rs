//! Levels: whether every receiver understands every driver, and stands it.
//!
//! For each pair the driver's output is taken at the load actually present,
//! V = V_supply − R_out·I for a high level and R_out·I for a low one, with the
//! R_out that its rated level at its rated current stands for; the receiver's
//! thresholds follow its own supply. Both are worked out at every corner of
//! the rails involved; ends on one rail move together. What is left to the
//! threshold is the margin.

pub mod ends;
pub mod fixes;
pub mod line;
pub mod pairs;
pub mod slow;
pub mod supply;
pub mod translator;
pub mod unpowered;

use board::Board;

pub use fixes::Fix;
pub use line::{Margin, Over, Understood};

use line::Ohms;
use pairs::{Meeting, meetings};

/// Levels of all links of a board.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Levels {
    /// One for each link, in the board's order.
    pub links: Vec<LinkLevels>,
    /// Parts that are off while their lines are not.
    pub unpowered: Vec<unpowered::Unpowered>,
    /// Transistors and parts that join segments.
    pub translators: translator::Translators,
    /// Lines whose own resistors are too slow for their clock.
    pub slow: Vec<slow::Slow>,
}

/// Levels of one link.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LinkLevels {
    /// Position among the board's links.
    pub link: usize,
    /// Every driver at every receiver.
    pub pairs: Vec<Pair>,
    /// Why some could not be judged, a sentence each.
    pub without: Vec<String>,
}

/// One driver at one receiver.
#[derive(Clone, Debug, PartialEq)]
pub struct Pair {
    /// Lines that are alike, such as `clock, data`.
    pub lines: &'static str,
    /// Driver and its pin.
    pub driver: String,
    /// Receiver and its pin.
    pub receiver: String,
    /// Positions of both among the board's devices.
    pub devices: (usize, usize),
    /// How well they understand each other.
    pub understood: Understood,
    /// How the highest voltage stands with what the receiver takes.
    pub stands: Stands,
    /// What would help where something is wrong, best first.
    pub fixes: Vec<Fix>,
}

/// How a receiver stands the highest voltage on its line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Stands {
    /// Within every limit.
    Within,
    /// Beyond the range it is to be used in, within the absolute maximum.
    BeyondOperating,
    /// Its clamp conducts, and the current stays within the permitted one, A.
    ClampHolds {
        /// Permitted current, A.
        limit_a: f64,
    },
    /// Its clamp conducts more than is permitted, A.
    ClampOverloaded {
        /// Permitted current, A.
        limit_a: f64,
        /// The limit keeps other inputs undisturbed; the part itself stands
        /// more.
        is_injection: bool,
    },
    /// Beyond the absolute maximum.
    BeyondMaximum,
    /// Beyond what is usual, and the part names no limit.
    BeyondUsual,
}

impl Stands {
    /// How `over` stands.
    #[must_use]
    pub fn of(over: &Over) -> Stands {
        let injection = over.ratings.injection_a.as_ref().map(|k| k.value);
        let clamp = over.ratings.clamp_a.as_ref().map(|k| k.value);
        let limit = match (injection, clamp) {
            (Some(i), _) => Some((i.max(0.0), true)),
            (None, Some(c)) => Some((c.max(0.0), false)),
            (None, None) => None,
        };
        let beyond_absolute = over.margin_v < -1e-9;
        if let Some((limit_a, is_injection)) = limit
            && over.clamp_a > 0.0
        {
            // A pin without a clamp to its supply takes no current at all.
            let has_clamp = limit_a > 0.0 || beyond_absolute;
            if has_clamp && over.clamp_a > limit_a {
                return Stands::ClampOverloaded {
                    limit_a,
                    is_injection,
                };
            }
            if beyond_absolute {
                return Stands::ClampHolds { limit_a };
            }
        }
        if beyond_absolute {
            // Without an absolute maximum the range of use is the rating there
            // is.
            let beyond_use = over.operating_margin_v.is_some_and(|m| m < -1e-9);
            return if over.ratings.maximum.origin.is_given() || beyond_use {
                Stands::BeyondMaximum
            } else {
                Stands::BeyondUsual
            };
        }
        if over.operating_margin_v.is_some_and(|m| m < -1e-9) {
            return Stands::BeyondOperating;
        }
        Stands::Within
    }

    /// Whether the receiver may be damaged or disturb others.
    #[must_use]
    pub fn is_broken(self) -> bool {
        matches!(self, Stands::BeyondMaximum | Stands::ClampOverloaded { .. })
    }
}

/// The levels of every link.
#[must_use]
pub fn analyse(board: &Board) -> Levels {
    let links: Vec<LinkLevels> = (0..board.links.len())
        .map(|link| {
            let met = meetings(board, link);
            LinkLevels {
                link,
                pairs: met.all.iter().map(|m| pair(board, link, m)).collect(),
                without: met.without,
            }
        })
        .collect();
    Levels {
        slow: slow::analyse(board, &links),
        links,
        unpowered: unpowered::analyse(board),
        translators: translator::analyse(board),
    }
}

fn pair(board: &Board, link: usize, m: &Meeting<'_>) -> Pair {
    let understood = m.line.judge(&m.driver, &m.receiver);
    let stands = Stands::of(&understood.over);
    let fixes = fixes::fixes(board, link, m, &understood, stands);
    Pair {
        lines: m.lines,
        driver: m.driver.name.clone(),
        receiver: m.receiver.name.clone(),
        devices: m.devices,
        understood,
        stands,
        fixes,
    }
}

/// Resistors as marked, for showing.
#[must_use]
pub fn nominal(ohms: Option<Ohms>) -> Option<f64> {
    ohms.map(|o| o.nominal)
}
