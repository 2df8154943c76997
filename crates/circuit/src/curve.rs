//! Current against voltage of two-terminal elements, by points.

use tape::Value;

use crate::device::Graph;

/// A monotone curve of current (A) against voltage (V).
///
/// Made of points; between them either straight or as a soft knee. Beyond its
/// ends it goes on straight with its last slope, so that it has a current at
/// every voltage. The points may be values of the tape: every trial then has
/// a curve of its own.
///
/// Straight lines between few points say far too much about a soft knee: a
/// Zener diode stated as 5 µA at 1 V and 5 mA at 3.3 V would conduct 2.2 mA
/// at 2 V along a straight line, 100 µA along its real, exponential knee. Use
/// [`knee`](Curve::knee) for diodes and [`straight`](Curve::straight) for
/// what really is a broken line.
#[derive(Clone, Debug)]
pub struct Curve<'t> {
    pub(crate) graph: Graph<'t>,
}

/// Why points do not make a curve.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CurveFault {
    /// Fewer than two points.
    TooFew,
    /// A voltage that does not lie above the one before it.
    NotIncreasing,
    /// A current below the one before it: such an element could oscillate,
    /// and its operating point would depend on its history.
    Falling,
    /// A value that is no number.
    NotANumber,
}

impl std::fmt::Display for CurveFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            CurveFault::TooFew => "a curve needs two points at least",
            CurveFault::NotIncreasing => "the voltages of a curve must increase",
            CurveFault::Falling => "the currents of a curve must not fall",
            CurveFault::NotANumber => "a point of the curve is no number",
        })
    }
}

impl std::error::Error for CurveFault {}

/// Two currents closer than this ratio are joined by a straight line: the
/// exponential between them would be one.
const SMALLEST_RATE: f64 = 1e-3;
/// Currents between neighbouring points of a [`Curve::junction`], as a ratio.
const JUNCTION_RATIO: f64 = 100.0;
/// Decades of current a junction is drawn over, upwards from its saturation
/// current; beyond it goes on straight.
const JUNCTION_POINTS: u32 = 8;

impl<'t> Curve<'t> {
    /// Straight lines between points (V, A) in order of voltage.
    ///
    /// # Errors
    /// See [`CurveFault`].
    pub fn straight(points: &[(Value<'t>, Value<'t>)]) -> Result<Self, CurveFault> {
        check(points)?;
        Ok(Curve {
            graph: Graph::open(points.to_vec(), vec![None; points.len() - 1]),
        })
    }

    /// Soft knees: between two points whose currents have one sign the
    /// current runs exponentially (straight on paper with a logarithmic
    /// current axis), as a junction's does over several decades. The curve
    /// passes the origin, added where the points leave it out; from the
    /// origin to the first point it follows i = I·(exp(v/V) − 1) with the V
    /// of the next two points.
    ///
    /// # Errors
    /// See [`CurveFault`].
    pub fn knee(points: &[(Value<'t>, Value<'t>)]) -> Result<Self, CurveFault> {
        check(points)?;
        let points = with_origin(points);
        let step = |k: usize| -> Option<(Value<'t>, Value<'t>)> {
            let (a, b) = (points.get(k)?, points.get(k + 1)?);
            Some((b.0 - a.0, bend(a.1, b.1)?))
        };
        let rates = (0..points.len() - 1)
            .map(|k| {
                if let Some((_, rate)) = step(k) {
                    return Some(rate);
                }
                // Beside the origin the steepness of the neighbour goes on.
                let width = points[k + 1].0 - points[k].0;
                let beside = if points[k].1.nominal() == 0.0 {
                    step(k + 1)
                } else if points[k + 1].1.nominal() == 0.0 {
                    k.checked_sub(1).and_then(step)
                } else {
                    None
                };
                beside.map(|(neighbour, rate)| rate * width / neighbour)
            })
            .collect();
        Ok(Curve {
            graph: Graph::open(points, rates),
        })
    }

    /// A junction: i = saturation·(exp(v/emission) − 1), `emission_v` the
    /// thermal voltage times the ideality factor (25.85 mV at 300 K for an
    /// ideal one; W. Shockley, Bell System Technical Journal 28, 1949). Exact
    /// up to 10^14 times the saturation current.
    #[must_use]
    pub fn junction(saturation_a: Value<'t>, emission_v: Value<'t>) -> Self {
        let builder = saturation_a.builder();
        // Far in reverse the current is the saturation current to 1 part in
        // 10^13; the knee towards it is one exponential piece.
        let reverse = 30.0;
        let mut points = vec![(
            emission_v * -reverse,
            saturation_a * (builder.constant(-reverse).exp() - 1.0),
        )];
        points.push((builder.zero(), builder.zero()));
        let mut rates = vec![Some(builder.constant(reverse))];
        let mut ratio = 1.0;
        let mut last = builder.zero();
        for _ in 1..JUNCTION_POINTS {
            ratio *= JUNCTION_RATIO;
            let at = builder.constant(1.0 + ratio).ln();
            points.push((emission_v * at, saturation_a * ratio));
            rates.push(Some(at - last));
            last = at;
        }
        Curve {
            graph: Graph::open(points, rates),
        }
    }
}

/// Logarithm of the ratio of two currents of one sign, where it matters.
fn bend<'t>(a: Value<'t>, b: Value<'t>) -> Option<Value<'t>> {
    (a.nominal() * b.nominal() > 0.0)
        .then(|| (b / a).ln())
        .filter(|rate| rate.nominal().abs() > SMALLEST_RATE)
}

/// The points with the origin among them, if they lie on both sides of it.
fn with_origin<'t>(points: &[(Value<'t>, Value<'t>)]) -> Vec<(Value<'t>, Value<'t>)> {
    let mut all = points.to_vec();
    let after = points.iter().position(|p| p.0.nominal() > 0.0);
    let has_zero = points.iter().any(|p| p.0.nominal() == 0.0);
    if let Some(i) = after
        && i > 0
        && !has_zero
    {
        let zero = points[0].0.builder().zero();
        all.insert(i, (zero, zero));
    }
    all
}

fn check(points: &[(Value<'_>, Value<'_>)]) -> Result<(), CurveFault> {
    if points.len() < 2 {
        return Err(CurveFault::TooFew);
    }
    if points
        .iter()
        .any(|(v, i)| !v.nominal().is_finite() || !i.nominal().is_finite())
    {
        return Err(CurveFault::NotANumber);
    }
    for pair in points.windows(2) {
        if pair[1].0.nominal() <= pair[0].0.nominal() {
            return Err(CurveFault::NotIncreasing);
        }
        if pair[1].1.nominal() < pair[0].1.nominal() {
            return Err(CurveFault::Falling);
        }
    }
    Ok(())
}
