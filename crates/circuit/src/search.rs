//! Finding the regions in which all devices stand, and the position in each.
//!
//! Each device's effort must equal what the reduced network gives it for the
//! sources of all devices. Where every device is one straight line that is a
//! linear system, solved as such. Otherwise the positions are found by
//! Newton steps on the pieces the devices stand on, each step cut short at
//! the first corner it meets, where that device changes to the next piece
//! (J. Katzenelson, Bell System Technical Journal 44, 1965). Along such a
//! path the unmet part of the equations only shrinks, and for curves that
//! rise and amplifiers that are fed back the right way it ends at the answer
//! after finitely many corners (T. Fujisawa, E. Kuh, SIAM J. Appl. Math. 22,
//! 1972). Exponential pieces are bent, so the steps on them are repeated
//! until they arrive.
//!
//! Where an amplifier is fed back the wrong way, the determinant of the pieces
//! changes its sign, and the point they would meet in is one the circuit
//! leaves by itself. There the step is taken the other way (S. Smale, J.
//! Math. Economics 3, 1976): past that point, to a limit that holds.
//!
//! The last step is a whole one, inside one piece of every device; so its
//! derivative is that of the solution.

use std::collections::BTreeMap;

use tape::{Builder, Iteration, Linear, Value};

use crate::affine::Affine;
use crate::device::{Device, FAR, Region};

/// A position counts as beyond a corner only when it is so by more than
/// this: a solution that lies on a corner to the last bit would otherwise
/// have its device change sides for ever.
const CORNER: f64 = 1e-12;
/// The search has arrived when positions move by less than this, absolutely
/// and relatively. One more whole step follows, which on straight pieces is
/// exact and on bent ones squares what is left.
const ARRIVED: f64 = 1e-8;
/// Length of a step against its direction that meets no corner, in Newton
/// steps.
const FAR_ENOUGH: f64 = 1e9;
/// Largest share of its equation that a nominal solution may leave unmet.
const UNMET: f64 = 1e-9;
/// What rounding may leave of it besides, V or A: a voltage across a diode
/// may be the difference of two that nearly agree.
const ROUNDING: f64 = 1e-12;

/// Why devices have no answer together: numbers into the given lists.
#[derive(Debug)]
pub(crate) enum Failure {
    Singular(Vec<usize>),
    Unsettled(Vec<usize>),
}

/// The devices of a network and what they meet.
pub(crate) struct Search<'a, 't> {
    pub builder: &'t Builder,
    pub devices: Vec<&'a Device<'t>>,
    /// What each effort must equal, over the sources.
    pub wanted: Vec<Affine<'t>>,
}

/// Where all devices stand at the answer, and how they go on from there.
#[derive(Clone, Debug)]
pub(crate) struct Answer<'t> {
    pub source: Vec<Value<'t>>,
    pub position: Vec<Value<'t>>,
    pub effort: Vec<Value<'t>>,
    pub source_slope: Vec<Value<'t>>,
    pub effort_slope: Vec<Value<'t>>,
    /// Region of a device that has several.
    pub region: Vec<Option<Value<'t>>>,
}

impl<'t> Answer<'t> {
    /// One while device `k`, a limited amplifier, stands at its ceiling.
    pub fn at_ceiling(
        &self,
        builder: &'t Builder,
        device: &Device<'t>,
        k: usize,
    ) -> Option<Value<'t>> {
        let region = self.region.get(k).copied().flatten()?;
        let last = device.regions.len().checked_sub(1)? as f64;
        Some(builder.select(region - (last - 0.5), builder.one(), builder.zero()))
    }
}

impl<'t> Search<'_, 't> {
    /// Solves each set of devices that depend on one another by itself.
    pub fn solve(&self) -> Result<Answer<'t>, Failure> {
        let n = self.devices.len();
        let zero = self.builder.zero();
        let mut answer = Answer {
            source: vec![zero; n],
            position: vec![zero; n],
            effort: vec![zero; n],
            source_slope: vec![zero; n],
            effort_slope: vec![zero; n],
            region: vec![None; n],
        };
        for set in self.sets() {
            let place = |failed: Vec<usize>| failed.into_iter().map(|k| set[k]).collect();
            let part = self.part(&set).solve().map_err(|failure| match failure {
                Failure::Singular(list) => Failure::Singular(place(list)),
                Failure::Unsettled(list) => Failure::Unsettled(place(list)),
            })?;
            for (k, &global) in set.iter().enumerate() {
                answer.source[global] = part.source[k];
                answer.position[global] = part.position[k];
                answer.effort[global] = part.effort[k];
                answer.source_slope[global] = part.source_slope[k];
                answer.effort_slope[global] = part.effort_slope[k];
                answer.region[global] = part.region[k];
            }
        }
        Ok(answer)
    }

    /// Devices that depend on one another, directly or through others.
    fn sets(&self) -> Vec<Vec<usize>> {
        let n = self.devices.len();
        let mut set: Vec<usize> = (0..n).collect();
        fn top(set: &mut [usize], mut k: usize) -> usize {
            while set[k] != k {
                set[k] = set[set[k]];
                k = set[k];
            }
            k
        }
        for k in 0..n {
            let ceiling = self.devices[k].ceiling.iter();
            let others: Vec<usize> = ceiling
                .chain(std::iter::once(&self.wanted[k]))
                .flat_map(|a| a.by_source.keys().copied())
                .collect();
            for j in others {
                let (x, y) = (top(&mut set, k), top(&mut set, j));
                set[x.max(y)] = x.min(y);
            }
        }
        let mut lists: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for k in 0..n {
            lists.entry(top(&mut set, k)).or_default().push(k);
        }
        lists.into_values().collect()
    }

    fn part(&self, set: &[usize]) -> Part<'t> {
        let local: BTreeMap<usize, usize> = set.iter().enumerate().map(|(k, &g)| (g, k)).collect();
        let renumbered = |a: &Affine<'t>| Affine {
            base: a.base,
            by_source: a
                .by_source
                .iter()
                .filter_map(|(g, &v)| local.get(g).map(|&k| (k, v)))
                .collect(),
        };
        Part {
            builder: self.builder,
            devices: set
                .iter()
                .map(|&g| Device {
                    ceiling: self.devices[g].ceiling.as_ref().map(renumbered),
                    ..self.devices[g].clone()
                })
                .collect(),
            wanted: set.iter().map(|&g| renumbered(&self.wanted[g])).collect(),
        }
    }
}

/// Devices that must be solved together.
struct Part<'t> {
    builder: &'t Builder,
    devices: Vec<Device<'t>>,
    wanted: Vec<Affine<'t>>,
}

/// Positions, regions and (of devices whose ceiling moves) sources.
struct Unknowns<'t> {
    position: Vec<Value<'t>>,
    region: Vec<Option<Value<'t>>>,
    /// Source of a device whose ceiling moves.
    source: Vec<Option<Value<'t>>>,
}

/// A device where it stands.
struct Standing<'t> {
    source: Value<'t>,
    source_slope: Value<'t>,
    effort: Value<'t>,
    effort_slope: Value<'t>,
    low: Value<'t>,
    high: Value<'t>,
    /// One while the device stands on a ceiling that moves.
    raised: Option<Value<'t>>,
}

impl<'t> Part<'t> {
    fn solve(&self) -> Result<Answer<'t>, Failure> {
        if self.devices.iter().all(Device::is_straight) {
            return self.straight();
        }
        // Where the nominal solution stands is found first, from rest, and
        // the search proper begins there: most trials then arrive at once,
        // and the order of the elimination suits them.
        let begin = Begin {
            position: self.devices.iter().map(|d| d.start).collect(),
            region: self.devices.iter().map(|d| d.start_region).collect(),
            source: vec![0.0; self.devices.len()],
        };
        let nominal = self.searched(&begin)?;
        let begin = Begin {
            position: nominal.position.iter().map(|v| v.nominal()).collect(),
            region: nominal
                .region
                .iter()
                .map(|r| r.map_or(0, |r| nearest_whole(r.nominal())))
                .collect(),
            source: nominal
                .source
                .iter()
                .map(|s| s.map_or(0.0, |s| s.nominal()))
                .collect(),
        };
        let unknowns = self.searched(&begin)?;
        let (standing, source) = self.standing(&unknowns);
        let effort: Vec<Value<'t>> = standing.iter().map(|s| s.effort).collect();
        let unmet: Vec<usize> = (0..self.devices.len())
            .filter(|&k| {
                let wanted = &self.wanted[k];
                let size = wanted
                    .by_source
                    .iter()
                    .map(|(&j, v)| (v.nominal() * source[j].nominal()).abs())
                    .sum::<f64>()
                    + wanted.base.nominal().abs()
                    + effort[k].nominal().abs();
                let left = (effort[k].nominal() - wanted.at(&source).nominal()).abs();
                !(left <= UNMET * size + ROUNDING)
            })
            .collect();
        if unmet.is_empty() {
            Ok(Answer {
                source,
                position: unknowns.position,
                effort,
                source_slope: standing.iter().map(|s| s.source_slope).collect(),
                effort_slope: standing.iter().map(|s| s.effort_slope).collect(),
                region: unknowns.region,
            })
        } else {
            Err(Failure::Unsettled(unmet))
        }
    }

    /// All devices are straight lines: one linear system for the positions.
    fn straight(&self) -> Result<Answer<'t>, Failure> {
        let n = self.devices.len();
        let lines: Vec<Region<'t>> = self.devices.iter().map(|d| d.regions[0]).collect();
        let at_zero =
            |start: Value<'t>, slope: Value<'t>, anchor: Value<'t>| start - slope * anchor;
        let mut system = Linear::new(self.builder, n);
        for (k, line) in lines.iter().enumerate() {
            system.add(k, k, line.effort_slope);
            system.add_right(k, -at_zero(line.effort, line.effort_slope, line.anchor));
            system.add_right(k, self.wanted[k].base);
            for (&j, &v) in &self.wanted[k].by_source {
                let other = &lines[j];
                system.add(k, j, -(v * other.source_slope));
                let fixed = at_zero(other.source, other.source_slope, other.anchor);
                system.add_right(k, v * fixed);
            }
        }
        let position = system
            .solve(self.builder, n > 1)
            .map_err(|s| Failure::Singular(s.unknowns))?;
        let along = |start: Value<'t>, slope: Value<'t>, line: &Region<'t>, u: Value<'t>| {
            start + slope * (u - line.anchor)
        };
        let of = |f: &dyn Fn(&Region<'t>, Value<'t>) -> Value<'t>| -> Vec<Value<'t>> {
            lines.iter().zip(&position).map(|(l, &u)| f(l, u)).collect()
        };
        Ok(Answer {
            source: of(&|l, u| along(l.source, l.source_slope, l, u)),
            effort: of(&|l, u| along(l.effort, l.effort_slope, l, u)),
            source_slope: lines.iter().map(|l| l.source_slope).collect(),
            effort_slope: lines.iter().map(|l| l.effort_slope).collect(),
            region: vec![None; n],
            position,
        })
    }

    /// The iteration, from where it begins.
    fn searched(&self, begin: &Begin) -> Result<Unknowns<'t>, Failure> {
        let b = self.builder;
        let mut start = Vec::new();
        for (k, device) in self.devices.iter().enumerate() {
            // Corners differ between trials; begin inside the region.
            let mut u = b.constant(begin.position[k]);
            let region = begin.region[k];
            let moving = device.ceiling.is_some() && region + 1 == device.knots.len();
            if let Some(&high) = device.knots.get(region)
                && !moving
            {
                u = u.min(high);
            }
            if let Some(&low) = region.checked_sub(1).and_then(|r| device.knots.get(r)) {
                u = u.max(low);
            }
            start.push(u);
        }
        for (k, device) in self.devices.iter().enumerate() {
            if device.regions.len() > 1 {
                start.push(b.constant(begin.region[k] as f64));
            }
        }
        for (k, device) in self.devices.iter().enumerate() {
            if device.ceiling.is_some() {
                start.push(b.constant(begin.source[k]));
            }
        }
        let regions: usize = self.devices.iter().map(|d| d.regions.len()).sum();
        let settings = Iteration {
            most: u32::try_from(40 + 6 * regions).unwrap_or(u32::MAX),
            absolute: ARRIVED,
            relative: ARRIVED,
        };
        let upright = self.is_upright();
        let mut singular = None;
        let next = b.fixed_point(&start, settings, |flat| {
            match self.step(&self.read(flat), upright) {
                Ok(next) => self.flat(&next),
                Err(failure) => {
                    singular = Some(failure);
                    flat.to_vec()
                }
            }
        });
        match singular {
            Some(failure) => Err(failure),
            None => Ok(self.read(&next)),
        }
    }

    /// Sign of the determinant with every limited amplifier at a limit and
    /// every curve where it rests, at the nominal values.
    fn is_upright(&self) -> bool {
        let n = self.devices.len();
        let slopes: Vec<(f64, f64)> = self
            .devices
            .iter()
            .map(|d| {
                let held = d.regions.iter().find(|r| r.source_slope.is_zero());
                let r = held.unwrap_or(&d.regions[d.start_region]);
                let (mut source, effort) = (r.source_slope.nominal(), r.effort_slope.nominal());
                if let Some((bow, rate)) = r.bend {
                    let t = d.start - r.anchor.nominal();
                    source += (bow * rate * (rate * t).exp()).nominal();
                }
                (source, effort)
            })
            .collect();
        let mut m = vec![0.0; n * n];
        for k in 0..n {
            m[k * n + k] += slopes[k].1;
            for (&j, v) in &self.wanted[k].by_source {
                m[k * n + j] -= v.nominal() * slopes[j].0;
            }
        }
        has_positive_determinant(&mut m, n)
    }

    fn read(&self, flat: &[Value<'t>]) -> Unknowns<'t> {
        let mut rest = flat.iter().copied();
        let position = rest.by_ref().take(self.devices.len()).collect();
        let region = self
            .devices
            .iter()
            .map(|d| {
                if d.regions.len() > 1 {
                    rest.next()
                } else {
                    None
                }
            })
            .collect();
        let source = self
            .devices
            .iter()
            .map(|d| {
                if d.ceiling.is_some() {
                    rest.next()
                } else {
                    None
                }
            })
            .collect();
        Unknowns {
            position,
            region,
            source,
        }
    }

    fn flat(&self, unknowns: &Unknowns<'t>) -> Vec<Value<'t>> {
        unknowns
            .position
            .iter()
            .copied()
            .chain(unknowns.region.iter().copied().flatten())
            .chain(unknowns.source.iter().copied().flatten())
            .collect()
    }

    /// Every device where it stands, and the sources.
    fn standing(&self, at: &Unknowns<'t>) -> (Vec<Standing<'t>>, Vec<Value<'t>>) {
        let b = self.builder;
        let mut standing: Vec<Standing<'t>> = (0..self.devices.len())
            .map(|k| self.stand(k, at, None))
            .collect();
        let source: Vec<Value<'t>> = (0..self.devices.len())
            .map(|k| at.source[k].unwrap_or(standing[k].source))
            .collect();
        for (k, device) in self.devices.iter().enumerate() {
            if let Some(ceiling) = &device.ceiling {
                standing[k] = self.stand(k, at, Some(ceiling.at(&source)));
                standing[k].raised = at.region[k].map(|region| {
                    let last = (device.regions.len() - 1) as f64;
                    b.select(region - (last - 0.5), b.one(), b.zero())
                });
            }
        }
        (standing, source)
    }

    fn stand(&self, k: usize, at: &Unknowns<'t>, ceiling: Option<Value<'t>>) -> Standing<'t> {
        let b = self.builder;
        let device = &self.devices[k];
        let (zero, far) = (b.zero(), b.constant(FAR));
        let mut regions = device.regions.clone();
        let mut knots = device.knots.clone();
        if let (Some(ceiling), Some(region), Some(knot)) =
            (ceiling, regions.last_mut(), knots.last_mut())
        {
            region.anchor = ceiling;
            region.source = ceiling;
            *knot = ceiling;
        }
        let choose = |values: Vec<Value<'t>>| self.choose(at.region[k], values);
        let of = |f: &dyn Fn(&Region<'t>) -> Value<'t>| choose(regions.iter().map(f).collect());
        let t = at.position[k] - of(&|r| r.anchor);
        let mut source_slope = of(&|r| r.source_slope);
        let effort_slope = of(&|r| r.effort_slope);
        let mut source = of(&|r| r.source) + source_slope * t;
        if regions.iter().any(|r| r.bend.is_some()) {
            let rate = of(&|r| r.bend.map_or(zero, |b| b.1));
            let bow = of(&|r| r.bend.map_or(zero, |b| b.0));
            let grown = (rate * t).exp();
            source = source + bow * (grown - 1.0);
            source_slope = source_slope + bow * rate * grown;
        }
        let mut low = vec![-far];
        low.extend(&knots);
        let mut high = knots.clone();
        high.push(far);
        Standing {
            source,
            source_slope,
            effort: of(&|r| r.effort) + effort_slope * t,
            effort_slope,
            low: choose(low),
            high: choose(high),
            raised: None,
        }
    }

    /// The value that belongs to the region a device stands in.
    fn choose(&self, region: Option<Value<'t>>, values: Vec<Value<'t>>) -> Value<'t> {
        let mut list = values.into_iter();
        let first = list.next().unwrap_or(self.builder.zero());
        match region {
            None => first,
            Some(region) => list.enumerate().fold(first, |below, (i, v)| {
                self.builder.select(region - (i as f64 + 0.5), v, below)
            }),
        }
    }

    /// One step: a whole Newton step on the present pieces, or as much of it
    /// as leads to the first corner.
    fn step(&self, at: &Unknowns<'t>, upright: bool) -> Result<Unknowns<'t>, Failure> {
        let b = self.builder;
        let n = self.devices.len();
        let (zero, one) = (b.zero(), b.one());
        let (standing, source) = self.standing(at);
        let movement = self.movement(&standing, &source, upright)?;
        // How far along the step each device meets a corner.
        let corners: Vec<Option<Corner<'t>>> = (0..n)
            .map(|k| {
                at.region[k]?;
                Some(self.corner(k, at, &standing[k], &movement))
            })
            .collect();
        let mut length = one;
        for corner in corners.iter().flatten() {
            length = length.min(corner.up.reach).min(corner.down.reach);
        }
        let mut next = Unknowns {
            position: Vec::with_capacity(n),
            region: at.region.clone(),
            source: at.source.clone(),
        };
        for (k, corner) in corners.iter().enumerate() {
            let plain = at.position[k] + length * movement.position[k];
            let Some(corner) = corner else {
                next.position.push(plain);
                continue;
            };
            let met = |side: &Side<'t>| {
                b.select(side.beyond, b.select(side.reach - length, zero, one), zero)
            };
            let (up, down) = (met(&corner.up), met(&corner.down));
            let at_corner = |side: &Side<'t>| side.knot + length * side.drift;
            next.position.push(b.select(
                up,
                at_corner(&corner.up),
                b.select(down, at_corner(&corner.down), plain),
            ));
            next.region[k] = at.region[k].map(|r| r + up - down);
            next.source[k] = at.source[k].map(|s| s + length * movement.source[k]);
        }
        Ok(next)
    }

    /// The Newton step of all positions and of all sources.
    fn movement(
        &self,
        standing: &[Standing<'t>],
        source: &[Value<'t>],
        upright: bool,
    ) -> Result<Movement<'t>, Failure> {
        let n = self.devices.len();
        // Sources follow the positions, but for those whose ceiling moves:
        // they are unknowns of their own.
        let moving: Vec<usize> = (0..n).filter(|&k| standing[k].raised.is_some()).collect();
        let mut column = vec![None; n];
        for (extra, &k) in moving.iter().enumerate() {
            column[k] = Some(n + extra);
        }
        let one = self.builder.one();
        let share = |j: usize| match column[j] {
            Some(c) => (c, one),
            None => (j, standing[j].source_slope),
        };
        let size = n + moving.len();
        let mut system = Linear::new(self.builder, size);
        for k in 0..n {
            system.add(k, k, standing[k].effort_slope);
            for (&j, &v) in &self.wanted[k].by_source {
                let (c, factor) = share(j);
                system.add(k, c, -(v * factor));
            }
            system.add_right(k, self.wanted[k].at(source) - standing[k].effort);
            if let (Some(row), Some(ceiling), Some(raised)) =
                (column[k], &self.devices[k].ceiling, standing[k].raised)
            {
                system.add(row, row, one);
                system.add(row, k, -standing[k].source_slope);
                system.add_right(row, standing[k].source - source[k]);
                for (&j, &v) in &ceiling.by_source {
                    let (c, factor) = share(j);
                    let part = raised * (v * factor);
                    system.add(row, c, -part);
                    system.add(k, c, -part);
                }
            }
        }
        let (flat, sign) = system
            .solve_signed(self.builder, size > 1)
            .map_err(|singular| {
                let mut list: Vec<usize> = singular
                    .unknowns
                    .iter()
                    .map(|&u| moving.get(u.wrapping_sub(n)).copied().unwrap_or(u))
                    .collect();
                list.dedup();
                Failure::Singular(list)
            })?;
        // Away from where the pieces meet against their sense.
        let against = if upright { -sign } else { sign };
        let away = self.builder.constant(-FAR_ENOUGH);
        let forward = self.builder.select(against, away, one);
        let flat: Vec<Value<'t>> = flat.iter().map(|&v| forward * v).collect();
        let moved = (0..n)
            .map(|j| {
                let (c, factor) = share(j);
                factor * flat[c]
            })
            .collect();
        Ok(Movement {
            position: flat[..n].to_vec(),
            source: moved,
        })
    }

    fn corner(
        &self,
        k: usize,
        at: &Unknowns<'t>,
        standing: &Standing<'t>,
        movement: &Movement<'t>,
    ) -> Corner<'t> {
        let b = self.builder;
        let zero = b.zero();
        let device = &self.devices[k];
        // A ceiling's corner drifts while the step is taken.
        let (mut drift_low, mut drift_high) = (zero, zero);
        if let Some(ceiling) = &device.ceiling {
            let mut drift = zero;
            for (&j, &v) in &ceiling.by_source {
                drift = drift + v * movement.source[j];
            }
            let last = device.regions.len() - 1;
            let only = |place: usize| {
                let values = (0..=last)
                    .map(|r| if r == place { drift } else { zero })
                    .collect();
                self.choose(at.region[k], values)
            };
            drift_low = only(last);
            drift_high = only(last - 1);
        }
        let (u, du) = (at.position[k], movement.position[k]);
        let slack = (u.abs() + 1.0) * CORNER;
        let side = |knot: Value<'t>, drift: Value<'t>, gap: Value<'t>, closing: Value<'t>| {
            let beyond = closing - gap - slack;
            let share = b.select(gap, gap / closing, zero);
            Side {
                knot,
                drift,
                beyond,
                reach: b.select(beyond, share, b.constant(FAR)),
            }
        };
        Corner {
            up: side(
                standing.high,
                drift_high,
                standing.high - u,
                du - drift_high,
            ),
            down: side(standing.low, drift_low, u - standing.low, drift_low - du),
        }
    }
}

/// Sign of the determinant of a small dense matrix, rows one after another,
/// by elimination with partial pivoting.
fn has_positive_determinant(m: &mut [f64], n: usize) -> bool {
    let mut positive = true;
    for k in 0..n {
        let size = |i: usize| m[i * n + k].abs();
        let best = (k..n).fold(k, |best, i| if size(i) > size(best) { i } else { best });
        if best != k {
            positive = !positive;
            for j in 0..n {
                m.swap(best * n + j, k * n + j);
            }
        }
        let pivot = m[k * n + k];
        if pivot < 0.0 {
            positive = !positive;
        }
        for i in k + 1..n {
            let factor = m[i * n + k] / pivot;
            if factor != 0.0 {
                for j in k..n {
                    m[i * n + j] -= factor * m[k * n + j];
                }
            }
        }
    }
    positive
}

struct Begin {
    position: Vec<f64>,
    region: Vec<usize>,
    source: Vec<f64>,
}

struct Movement<'t> {
    position: Vec<Value<'t>>,
    source: Vec<Value<'t>>,
}

/// The corners on both sides of a device.
struct Corner<'t> {
    up: Side<'t>,
    down: Side<'t>,
}

struct Side<'t> {
    knot: Value<'t>,
    drift: Value<'t>,
    /// Positive where the whole step leads beyond the corner.
    beyond: Value<'t>,
    /// Share of the step that leads to it.
    reach: Value<'t>,
}

#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "regions are small whole numbers"
)]
fn nearest_whole(x: f64) -> usize {
    (x + 0.5).max(0.0) as usize
}
