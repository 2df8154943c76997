//! What the sample capacitor has of a pin when acquisition ends.

use board::{Board, ScanStart};
use circuit::{Pin, Prepared, Scan, Settled, Start, Visit};
use parts::Figure;

use super::schedule::Schedule;
use super::straight::{Point, Sampler, Straight};
use crate::channel::Unmodelled;
use crate::variables::Varies;

/// Places over the span at which a channel's settling is worked out.
const PLACES: usize = 5;

/// How the figures of a sampler may lie.
#[derive(Clone, Debug, PartialEq)]
pub struct SamplerFigures {
    /// What settles slowest.
    pub slowest: Sampler,
    /// What settles fastest; `None` where nothing bounds it from below.
    pub fastest: Option<Sampler>,
    /// Capacitance of the pin when it does not sample, F.
    pub pin_farad: f64,
    /// Where the sample capacitor was read.
    pub source: String,
    /// How well that is founded.
    pub basis: parts::Basis,
    /// The switch has no figure and is taken as nothing.
    pub no_switch: bool,
}

impl SamplerFigures {
    /// Of a converter unit; `None` where its part states no sample capacitor.
    #[must_use]
    pub fn of(board: &Board, device: usize, unit: usize) -> Option<SamplerFigures> {
        let part = &board.devices.get(device)?.part;
        let converter = part.converters.get(unit)?;
        let most = |f: &Figure| f.max.or_else(|| f.typical()).filter(|x| *x > 0.0);
        let farad = converter.figures.get("sample-capacitor")?;
        let ohm = converter.figures.get("switch-resistance");
        let pin = converter.figures.get("pin-capacitance");
        let pin = pin.or_else(|| part.figures.get("pin-capacitance"));
        let fastest = farad.min.or(farad.typ).map(|farad| Sampler {
            farad,
            ohm: ohm.and_then(|f| f.min).unwrap_or(0.0),
        });
        Some(SamplerFigures {
            slowest: Sampler {
                farad: most(farad)?,
                ohm: ohm.and_then(most).unwrap_or(0.0),
            },
            fastest,
            pin_farad: pin.and_then(Figure::typical).unwrap_or(0.0),
            source: farad.source.to_string(),
            basis: farad.basis,
            no_switch: ohm.is_none(),
        })
    }
}

/// One channel of a settled scan.
#[derive(Clone, Debug, PartialEq)]
pub struct Unsettled {
    /// Its number on the board.
    pub channel: usize,
    /// The quantity's values, rising, SI.
    pub quantity: Vec<f64>,
    /// Error at each, neighbours in the middle of their spans, V: between
    /// what the parts' limits make of it.
    pub error_v: Vec<(f64, f64)>,
    /// Change of the sample for a volt at each channel of the sequence, the
    /// largest over the quantity and the parts' limits; its own left out.
    pub memory: Vec<(usize, f64)>,
    /// Voltage of each channel of the sequence at the ends of its span, V.
    pub swings: Vec<(usize, f64, f64)>,
    /// Share of the previous channel's difference that is still there, visited
    /// so for ever.
    pub kept: f64,
    /// The same after one visit to the pin at rest.
    pub once: f64,
    /// Largest error with neighbours anywhere in their spans, V.
    pub largest_v: f64,
    /// Value of the quantity there, SI.
    pub largest_at: f64,
    /// Change of the voltage for a unit of the quantity there, V.
    pub volt_per_quantity: f64,
    /// Codes for each volt.
    pub codes_per_volt: f64,
    /// Largest error a quarter of a code allows, V.
    pub limit_v: f64,
    /// Resistance that the pin sees, Ω.
    pub source_ohm: f64,
    /// Nobody stated how long it acquires.
    pub assumed: bool,
}

/// What would keep a channel within a quarter of a code.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Advice {
    /// Resistance that may still be added in series, Ω; `None` if there is
    /// too much already.
    pub spare_ohm: Option<f64>,
    /// Shortest acquisition, s; `None` if none is enough.
    pub shortest_s: Option<f64>,
    /// Smallest capacitor at the pin that would do, F; zero if none is
    /// needed, `None` if none does.
    pub pin_farad: Option<f64>,
}

impl Unsettled {
    /// Largest error, in the SI unit of the quantity.
    #[must_use]
    pub fn largest_quantity(&self) -> f64 {
        (self.largest_v / self.volt_per_quantity).abs()
    }

    /// Largest error, codes.
    #[must_use]
    pub fn largest_codes(&self) -> f64 {
        self.largest_v * self.codes_per_volt
    }
}

/// The scan of one converter, settled.
#[derive(Clone, Debug)]
pub struct SettledScan {
    /// One per turn whose channel has a network.
    pub channels: Vec<Unsettled>,
    /// What the sampler rests on.
    pub sampler: SamplerFigures,
    /// The scan with every channel in the middle of its span.
    scan: Scan,
    /// The pin of each channel where its error is largest, its parts where
    /// they make it so: what is proposed has to do for the channel judged.
    worst: Vec<Pin>,
}

impl SettledScan {
    /// What would keep the channel of a turn within a quarter of a code, the
    /// other channels where they disturb it most.
    #[must_use]
    pub fn advice(&self, turn: usize) -> Option<Advice> {
        let u = self.channels.get(turn)?;
        let scan = self.worst_for(turn);
        let prepared = scan.prepared().ok()?;
        Some(Advice {
            spare_ohm: scan.largest_series_ohm(turn, u.limit_v, MOST_OHM),
            shortest_s: prepared.shortest_acquire_s(turn, u.limit_v, MOST_S),
            pin_farad: scan.pin_farad(turn, u.limit_v, MOST_FARAD),
        })
    }

    /// Largest resistance behind the pin of a turn that keeps it within a
    /// quarter code, Ω, were it a resistance alone; `None` if none does.
    #[must_use]
    pub fn largest_source(&self, turn: usize) -> Option<f64> {
        let u = self.channels.get(turn)?;
        let mut scan = self.worst_for(turn);
        let visit = scan.visits.get_mut(turn)?;
        visit.pin = Pin::resistor(0.0, visit.pin.open_v());
        scan.largest_series_ohm(turn, u.limit_v, MOST_OHM)
    }

    /// The largest resistance of a plain source, with the pin's own
    /// capacitance beside it, from which the channel of a turn would still
    /// keep within a quarter of a code, Ω; `None` if no resistance is small
    /// enough.
    #[must_use]
    pub fn largest_source_ohm(&self, turn: usize) -> Option<f64> {
        let u = self.channels.get(turn)?;
        let scan = self.worst_for(turn);
        let open_v = self.worst.get(turn)?.open_v();
        let prepared = scan.prepared().ok()?;
        let keeps = |ohm: f64| {
            let bare = Pin::resistor(ohm, open_v);
            let pin = if self.sampler.pin_farad > 0.0 {
                bare.with_capacitor(self.sampler.pin_farad)
            } else {
                bare
            };
            let settled = prepared.with_pin(turn, &pin);
            settled.is_ok_and(|s| s.mean_error_v().abs() <= u.limit_v)
        };
        let (mut good, mut bad) = (LEAST_OHM, MOST_OHM);
        if !keeps(good) {
            return None;
        }
        if keeps(bad) {
            return Some(bad);
        }
        // Halving the ratio until it is nothing to a buyer.
        while bad / good > 1.0005 {
            let middle = (good * bad).sqrt();
            if keeps(middle) {
                good = middle;
            } else {
                bad = middle;
            }
        }
        Some(good)
    }

    /// Factor on all times down to which every channel keeps a quarter of a
    /// code, neighbours at opposite ends of their spans; `None` if no clock
    /// is slow enough.
    #[must_use]
    pub fn fastest(&self) -> Option<f64> {
        let mut opposed = self.scan.clone();
        for (k, (visit, u)) in opposed.visits.iter_mut().zip(&self.channels).enumerate() {
            let (low, high) = u.swings.get(k).map_or((0.0, 0.0), |s| (s.1, s.2));
            let volt = if k % 2 == 0 { low } else { high };
            visit.pin = visit.pin.with_open_v(volt);
        }
        let limits: Vec<f64> = self.channels.iter().map(|u| u.limit_v).collect();
        opposed.fastest(&limits)
    }

    /// The scan with one channel where its error is largest and the others as
    /// far from it as they go.
    fn worst_for(&self, turn: usize) -> Scan {
        let mut worst = self.scan.clone();
        let own_v = self.worst.get(turn).map_or(0.0, Pin::open_v);
        let swings = self.channels.get(turn).map_or(&[][..], |u| &u.swings);
        for (j, (visit, &(_, low, high))) in worst.visits.iter_mut().zip(swings).enumerate() {
            if j == turn {
                if let Some(pin) = self.worst.get(turn) {
                    visit.pin = pin.clone();
                }
            } else {
                let far = if (low - own_v).abs() > (high - own_v).abs() {
                    low
                } else {
                    high
                };
                visit.pin = visit.pin.with_open_v(far);
            }
        }
        worst
    }
}

/// One turn with its channel made straight.
struct Seat<'a> {
    straight: &'a Straight,
    /// Values of the quantity and the pin there, everything nominal.
    places: Vec<(f64, Point)>,
    low_v: f64,
    high_v: f64,
}

impl Seat<'_> {
    fn middle(&self) -> Option<&Point> {
        self.places.get(self.places.len() / 2).map(|p| &p.1)
    }
}

/// Solves the scan of one converter. `straight` gives the network of a
/// channel by its number.
///
/// # Errors
/// No channel has a network, or the scan has no answer.
pub fn settled<'a>(
    board: &Board,
    schedule: &Schedule,
    sampler: &SamplerFigures,
    straight: &dyn Fn(usize) -> Option<&'a Straight>,
) -> Result<SettledScan, Unmodelled> {
    let mut seats = Vec::new();
    let mut turns = Vec::new();
    for turn in &schedule.turns {
        let Some(s) = straight(turn.channel) else {
            continue;
        };
        let (low, high) = board.channels[turn.channel].span.value;
        let mut places = Vec::new();
        for i in 0..PLACES {
            let q = low + (high - low) * i as f64 / (PLACES - 1) as f64;
            places.push((q, s.nominal(q)?));
        }
        let volts = || places.iter().map(|p| p.1.volt);
        seats.push(Seat {
            straight: s,
            low_v: volts().fold(f64::INFINITY, f64::min),
            high_v: volts().fold(f64::NEG_INFINITY, f64::max),
            places,
        });
        turns.push(turn);
    }
    if seats.is_empty() {
        return Err(Unmodelled::new("no channel has an analog network"));
    }
    let told = |f: circuit::ScanFault| Unmodelled::new(f.to_string());
    let none = || Unmodelled::new("the voltage at a pin is no number");
    let start = match board.scan_of(schedule.device).start.map(|s| s.value) {
        Some(ScanStart::Discharged) => Start::DISCHARGED,
        Some(ScanStart::Volt(v)) => Start::precharged(v),
        Some(ScanStart::Previous) | None => Start::PREVIOUS,
    };
    let scan_of = |sampler: Sampler| -> Result<Scan, Unmodelled> {
        let mut visits = Vec::new();
        for (seat, turn) in seats.iter().zip(&turns) {
            let pin = seat.middle().and_then(Point::source).ok_or_else(none)?;
            visits.push(Visit {
                pin,
                acquire_s: turn.acquire_s,
                convert_s: turn.convert_s,
                repeats: turn.repeats,
            });
        }
        Ok(Scan {
            visits,
            sample_farad: sampler.farad,
            switch_ohm: sampler.ohm,
            start,
            pause_s: (schedule.period_s - schedule.busy_s).max(0.0),
        })
    };
    let slow = scan_of(sampler.slowest)?;
    let slow_prepared = slow.prepared().map_err(told)?;
    let fast_prepared = match sampler.fastest {
        Some(s) => Some(scan_of(s)?.prepared().map_err(told)?),
        None => None,
    };
    let all: Vec<usize> = turns.iter().map(|t| t.channel).collect();
    let mut channels = Vec::new();
    let mut worst = Vec::new();
    for (k, (seat, turn)) in seats.iter().zip(&turns).enumerate() {
        let answer = Answer {
            seats: &seats,
            k,
            slow: &slow_prepared,
            fast: fast_prepared.as_ref(),
        };
        let (mut u, pin) = answer.over_the_span(turn.channel, &all)?;
        worst.push(pin);
        u.assumed = !turn.stated;
        u.codes_per_volt = seat.middle().map_or(0.0, |p| p.codes_per_volt.abs());
        u.limit_v = 0.25 / u.codes_per_volt;
        channels.push(u);
    }
    Ok(SettledScan {
        channels,
        sampler: sampler.clone(),
        scan: slow,
        worst,
    })
}

/// Largest series resistance that is looked at, Ω.
const MOST_OHM: f64 = 1e9;
/// Smallest resistance of a source that is looked at, Ω.
const LEAST_OHM: f64 = 1.0;
/// Longest acquisition that is looked at, s.
const MOST_S: f64 = 1.0;
/// Largest capacitor at a pin that is looked at, F.
const MOST_FARAD: f64 = 100e-6;

/// What is asked of one turn.
struct Answer<'a> {
    seats: &'a [Seat<'a>],
    k: usize,
    slow: &'a Prepared,
    fast: Option<&'a Prepared>,
}

impl Answer<'_> {
    /// With the pin where the error is largest.
    fn over_the_span(&self, channel: usize, all: &[usize]) -> Result<(Unsettled, Pin), Unmodelled> {
        let seat = &self.seats[self.k];
        let told = |f: circuit::ScanFault| Unmodelled::new(f.to_string());
        let none = || Unmodelled::new("the voltage at a pin is no number");
        let n = self.seats.len();
        let mut u = Unsettled {
            channel,
            quantity: Vec::new(),
            error_v: Vec::new(),
            memory: Vec::new(),
            swings: all
                .iter()
                .zip(self.seats)
                .map(|(&c, s)| (c, s.low_v, s.high_v))
                .collect(),
            kept: 0.0,
            once: 0.0,
            largest_v: 0.0,
            largest_at: seat.places.first().map_or(0.0, |p| p.0),
            volt_per_quantity: 0.0,
            codes_per_volt: 0.0,
            limit_v: 0.0,
            source_ohm: seat
                .middle()
                .and_then(Point::source)
                .map_or(0.0, |p| p.ohm()),
            assumed: false,
        };
        let slow_parts = self.slow_parts(seat)?;
        let mut memory = vec![0.0_f64; n];
        let mut pins = Vec::new();
        for (q, point) in &seat.places {
            let pin = point.source().ok_or_else(none)?;
            let mut errors = (f64::INFINITY, f64::NEG_INFINITY);
            let mut take = |settled: &Settled| -> f64 {
                let e = settled.mean_error_v();
                errors = (errors.0.min(e), errors.1.max(e));
                for (j, m) in memory.iter_mut().enumerate() {
                    let follows = settled.mean_follows.get(j).copied().unwrap_or(0.0);
                    if j != self.k && follows.abs() > m.abs() {
                        *m = follows;
                    }
                }
                u.kept = u.kept.max(settled.memory.abs());
                u.once = u.once.max(settled.once.abs());
                e.abs()
            };
            let usual = take(&self.slow.with_pin(self.k, &pin).map_err(told)?);
            let mut worst = pin.clone();
            if let Some(inputs) = &slow_parts {
                let mut inputs = inputs.clone();
                if let Some(first) = inputs.first_mut() {
                    *first = *q;
                }
                if let Some(slowed) = seat.straight.source_at(&inputs, pin.open_v()) {
                    let size = take(&self.slow.with_pin(self.k, &slowed).map_err(told)?);
                    if size > usual {
                        worst = slowed;
                    }
                }
            }
            match self.fast {
                Some(fast) => {
                    take(&fast.with_pin(self.k, &pin).map_err(told)?);
                }
                // A sample capacitor that may be as small as it likes leaves
                // nothing unsettled.
                None => errors = (errors.0.min(0.0), errors.1.max(0.0)),
            }
            u.quantity.push(*q);
            u.error_v.push(errors);
            pins.push(worst);
        }
        let apart: f64 = self
            .seats
            .iter()
            .enumerate()
            .map(|(j, s)| memory[j].abs() * 0.5 * (s.high_v - s.low_v))
            .sum();
        let mut largest = 0;
        for (i, (&(low, high), &q)) in u.error_v.iter().zip(&u.quantity).enumerate() {
            let size = low.abs().max(high.abs()) + apart;
            if size > u.largest_v {
                u.largest_v = size;
                u.largest_at = q;
                largest = i;
            }
        }
        let place = seat.places.iter().find(|p| p.0 == u.largest_at);
        u.volt_per_quantity = place.map_or(0.0, |p| p.1.volt_per_quantity);
        u.memory = all
            .iter()
            .enumerate()
            .filter(|(j, _)| *j != self.k)
            .map(|(j, &c)| (c, memory[j]))
            .collect();
        let pin = pins.into_iter().nth(largest).ok_or_else(none)?;
        Ok((u, pin))
    }

    /// Inputs with every uncertain part where the pin settles slowest;
    /// `None` where none matters.
    fn slow_parts(&self, seat: &Seat<'_>) -> Result<Option<Vec<f64>>, Unmodelled> {
        let told = |f: circuit::ScanFault| Unmodelled::new(f.to_string());
        let Some((q, point)) = seat.places.get(seat.places.len() / 2) else {
            return Ok(None);
        };
        let Some(pin) = point.source() else {
            return Ok(None);
        };
        let size = |pin: &Pin| -> Result<f64, Unmodelled> {
            let settled = self.slow.with_pin(self.k, pin).map_err(told)?;
            // What is left of itself: independent of where neighbours are.
            let own = settled.follows.get(self.k).copied().unwrap_or(1.0);
            Ok((1.0 - own).abs())
        };
        let nominal = size(&pin)?;
        let base = seat.straight.usual(*q);
        let mut inputs = base.clone();
        let mut any = false;
        for (i, v) in seat.straight.variables.iter().enumerate().skip(2) {
            let fixed = v.varies == Varies::Condition || v.lies.is_zero() || !v.cornered;
            if fixed || !seat.straight.is_met(i) {
                continue;
            }
            let Some((low, high)) = limits(v.lies) else {
                continue;
            };
            let mut tried = base.clone();
            tried[i] = high;
            let Some(up) = seat.straight.source_at(&tried, pin.open_v()) else {
                continue;
            };
            let up = size(&up)?;
            if up == nominal {
                continue;
            }
            any = true;
            inputs[i] = if up > nominal { high } else { low };
        }
        Ok(any.then_some(inputs))
    }
}

/// Limits of a variable; three standard deviations where it has none.
fn limits(lies: crate::variables::Lies) -> Option<(f64, f64)> {
    use crate::variables::Lies;
    let (low, high) = match lies {
        Lies::Between(a, b) | Lies::Triangular(a, b) | Lies::Arcsine(a, b) => (a, b),
        Lies::About(m, u) => (m - 3.0 * u, m + 3.0 * u),
    };
    (low.is_finite() && high.is_finite()).then_some((low, high))
}
