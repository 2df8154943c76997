//! Elements whose behaviour breaks: each is a line with corners, followed by
//! one number.
//!
//! A clamp, an output at its rail, a supply current that only flows one way:
//! each relates a *source* it applies to the network with an *effort* the
//! network must meet, and both follow one position u along a curve in
//! regions. Giving the position and not the voltage or the current lets the
//! curve be upright as well as flat.

use tape::{Builder, Value};

use crate::affine::Affine;

/// Beyond every position: the bound of a region that has none.
pub(crate) const FAR: f64 = 1e300;

/// Effort, as a share of its source, that a limited amplifier's source takes
/// within its limits. Without it one that has no feedback, or whose output
/// stage gives way, would have no direction to go in; at an input it is
/// a tenth of a picovolt per volt of output.
const SLIGHT: f64 = 1e-13;

/// One piece of a curve, written from its anchor: with t = u − anchor,
/// source = source + source_slope·t + bow·(exp(rate·t) − 1),
/// effort = effort + effort_slope·t.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Region<'t> {
    pub anchor: Value<'t>,
    pub source: Value<'t>,
    pub source_slope: Value<'t>,
    pub effort: Value<'t>,
    pub effort_slope: Value<'t>,
    /// Bow and rate of the exponential part.
    pub bend: Option<(Value<'t>, Value<'t>)>,
}

/// A curve in regions, and where on it to begin.
#[derive(Clone, Debug)]
pub(crate) struct Device<'t> {
    pub regions: Vec<Region<'t>>,
    /// Positions at which one region ends and the next begins.
    pub knots: Vec<Value<'t>>,
    pub start_region: usize,
    pub start: f64,
    /// Set where the last region's ceiling moves with the network: the
    /// source there, which is also the last knot.
    pub ceiling: Option<Affine<'t>>,
}

impl<'t> Device<'t> {
    /// Source and effort both equal to the position: a controlled source.
    pub fn follower(b: &'t Builder) -> Self {
        Device::single(Region {
            anchor: b.zero(),
            source: b.zero(),
            source_slope: b.one(),
            effort: b.zero(),
            effort_slope: b.one(),
            bend: None,
        })
    }

    /// The source does whatever brings the effort to zero: an amplifier
    /// without limits.
    pub fn amplifier(b: &'t Builder) -> Self {
        Device::single(Region {
            anchor: b.zero(),
            source: b.zero(),
            source_slope: b.one(),
            effort: b.zero(),
            effort_slope: b.zero(),
            bend: None,
        })
    }

    /// One whose limits are lifted: it keeps the direction that comes with
    /// them.
    pub fn lifted(b: &'t Builder) -> Self {
        let mut device = Device::amplifier(b);
        device.regions[0].effort_slope = b.constant(SLIGHT);
        device
    }

    fn single(region: Region<'t>) -> Self {
        Device {
            regions: vec![region],
            knots: Vec::new(),
            start_region: 0,
            start: 0.0,
            ceiling: None,
        }
    }

    /// An amplifier whose source stays between a floor and a ceiling; beyond
    /// them the effort (its input error) is what it is. A ceiling that moves
    /// with the network is given by its dependence.
    pub fn limited(
        b: &'t Builder,
        floor: Option<Value<'t>>,
        ceiling: Option<Affine<'t>>,
        rest: f64,
    ) -> Self {
        let (zero, one) = (b.zero(), b.one());
        let held = |at: Value<'t>| Region {
            anchor: at,
            source: at,
            source_slope: zero,
            effort: zero,
            effort_slope: one,
            bend: None,
        };
        let mut device = Device::lifted(b);
        device.start = rest;
        if let Some(floor) = floor {
            device.regions.insert(0, held(floor));
            device.knots.push(floor);
            device.start_region = 1;
        }
        if let Some(ceiling) = ceiling {
            device.regions.push(held(ceiling.base));
            device.knots.push(ceiling.base);
            if !ceiling.by_source.is_empty() {
                device.ceiling = Some(ceiling);
            }
        }
        device
    }

    /// The positive part of what it follows: a current that is drawn from one
    /// supply only while it flows outwards.
    pub fn positive_part(b: &'t Builder) -> Self {
        let (zero, one) = (b.zero(), b.one());
        let region = |slope| Region {
            anchor: zero,
            source: zero,
            source_slope: slope,
            effort: zero,
            effort_slope: one,
            bend: None,
        };
        Device {
            regions: vec![region(zero), region(one)],
            knots: vec![zero],
            start_region: 1,
            start: 0.0,
            ceiling: None,
        }
    }

    /// What it follows, but no more than `most` either way: the input stage
    /// of an amplifier whose output is as fast as it can be.
    pub fn saturating(b: &'t Builder, most: Value<'t>) -> Self {
        let (zero, one) = (b.zero(), b.one());
        let region = |at: Value<'t>, slope| Region {
            anchor: at,
            source: at,
            source_slope: slope,
            effort: at,
            effort_slope: one,
            bend: None,
        };
        Device {
            regions: vec![region(-most, zero), region(zero, one), region(most, zero)],
            knots: vec![-most, most],
            start_region: 1,
            start: 0.0,
            ceiling: None,
        }
    }

    /// Whether it is one straight line.
    pub fn is_straight(&self) -> bool {
        self.regions.len() == 1 && self.regions.iter().all(|r| r.bend.is_none())
    }
}

/// A relation of voltage and current through points, position k at point k.
#[derive(Clone, Debug)]
pub(crate) struct Graph<'t> {
    /// Voltage and current.
    points: Vec<(Value<'t>, Value<'t>)>,
    /// Per interval the exponent over its width, none where straight.
    rates: Vec<Option<Value<'t>>>,
    /// Directions (voltage, current) beyond the first and the last point.
    ends: [(Value<'t>, Value<'t>); 2],
}

impl<'t> Graph<'t> {
    /// Through points that go on beyond both ends with the slope they have
    /// there. At least two points, one rate per interval.
    pub fn open(points: Vec<(Value<'t>, Value<'t>)>, rates: Vec<Option<Value<'t>>>) -> Self {
        let direction = |k: usize, at_end: bool| {
            let (a, b) = (points[k], points[k + 1]);
            let rise = b.1 - a.1;
            let slope = match rates.get(k).copied().flatten() {
                None => rise,
                Some(rate) => {
                    let bow = rise / (rate.exp() - 1.0);
                    let steep = if at_end { bow * rate.exp() } else { bow };
                    steep * rate
                }
            };
            (b.0 - a.0, slope)
        };
        let ends = [direction(0, false), direction(points.len() - 2, true)];
        Graph {
            points,
            rates,
            ends,
        }
    }

    /// Straight between points, with given directions beyond the ends; one
    /// point is enough.
    pub fn closed(points: Vec<(Value<'t>, Value<'t>)>, ends: [(Value<'t>, Value<'t>); 2]) -> Self {
        let rates = vec![None; points.len().saturating_sub(1)];
        Graph {
            points,
            rates,
            ends,
        }
    }

    /// A conductance to stand beside the element while the network is
    /// reduced; what it carries is taken off the element's source again.
    /// Digits are lost as far as it differs from the element's own slope,
    /// up or down; hence the middle, by ratio, of the slopes it has.
    pub fn companion_siemens(&self) -> f64 {
        let slopes = self
            .points
            .windows(2)
            .map(|p| (p[1].0 - p[0].0, p[1].1 - p[0].1))
            .chain(self.ends)
            .map(|(dv, di)| di.nominal() / dv.nominal())
            .filter(|slope| !slope.is_nan())
            .map(|slope| slope.clamp(1e-12, 1.0));
        let bounds = slopes.fold(None, |bounds: Option<(f64, f64)>, s| {
            Some(bounds.map_or((s, s), |(low, high)| (low.min(s), high.max(s))))
        });
        bounds.map_or(1e-3, |(low, high)| (low * high).sqrt())
    }

    /// As a device whose effort is the voltage and whose source is the
    /// current less what the companion carries.
    pub fn device(&self, b: &'t Builder, companion_siemens: f64) -> Device<'t> {
        let g = b.constant(companion_siemens);
        let region = |k: usize, (dv, di): (Value<'t>, Value<'t>), rate: Option<Value<'t>>| {
            let (v, i) = self.points[k];
            let straight = if rate.is_some() { b.zero() } else { di };
            Region {
                anchor: b.constant(k as f64),
                source: i - g * v,
                source_slope: straight - g * dv,
                effort: v,
                effort_slope: dv,
                bend: rate.map(|rate| (di / (rate.exp() - 1.0), rate)),
            }
        };
        let last = self.points.len() - 1;
        let mut regions = Vec::new();
        let mut knots = Vec::new();
        regions.push(region(0, self.ends[0], None));
        for k in 0..last {
            let (a, c) = (self.points[k], self.points[k + 1]);
            let rate = self.rates.get(k).copied().flatten();
            // An end piece that is straight serves beyond its end as well.
            if k == 0 && rate.is_none() && self.is_continued(0) {
                regions.pop();
            } else {
                knots.push(b.constant(k as f64));
            }
            regions.push(region(k, (c.0 - a.0, c.1 - a.1), rate));
        }
        let bent_end = last > 0 && self.rates.get(last - 1).is_some_and(Option::is_some);
        if last == 0 || bent_end || !self.is_continued(1) {
            knots.push(b.constant(last as f64));
            regions.push(region(last, self.ends[1], None));
        }
        let (start_region, start) = rest(&regions, &knots);
        Device {
            regions,
            knots,
            start_region,
            start,
            ceiling: None,
        }
    }

    /// Whether the direction beyond an end is the neighbouring interval's.
    fn is_continued(&self, end: usize) -> bool {
        let n = self.points.len();
        if n < 2 {
            return false;
        }
        let k = if end == 0 { 0 } else { n - 2 };
        let (a, b) = (self.points[k], self.points[k + 1]);
        (b.0 - a.0).same(self.ends[end].0) && (b.1 - a.1).same(self.ends[end].1)
    }
}

/// Region and position nearest to zero volts at the nominal values.
fn rest(regions: &[Region<'_>], knots: &[Value<'_>]) -> (usize, f64) {
    let mut best = (0, 0.0, (f64::INFINITY, f64::INFINITY));
    for (k, region) in regions.iter().enumerate() {
        let low = k.checked_sub(1).map_or(-FAR, |k| knots[k].nominal());
        let high = knots.get(k).map_or(FAR, |v| v.nominal());
        let slope = region.effort_slope.nominal();
        let anchor = region.anchor.nominal();
        // An upright piece has one voltage; there the source decides.
        let (start, steep) = if slope == 0.0 {
            (region.source.nominal(), region.source_slope.nominal())
        } else {
            (region.effort.nominal(), slope)
        };
        let wanted = if steep == 0.0 {
            anchor
        } else {
            anchor - start / steep
        };
        let u = wanted.max(low).min(high);
        let volt = (region.effort.nominal() + slope * (u - anchor)).abs();
        let source = region.source.nominal() + region.source_slope.nominal() * (u - anchor);
        if (volt, source.abs()) < best.2 {
            best = (k, u, (volt, source.abs()));
        }
    }
    (best.0, best.1)
}
