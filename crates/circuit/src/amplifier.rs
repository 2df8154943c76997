//! What amplifiers do at direct current, and where they stop doing it.

use tape::{Builder, Value};

use crate::device::Graph;

/// How near an output comes to a supply, V, against the current it carries
/// towards that supply, A.
///
/// Below the first current the first distance holds; between points straight
/// lines; beyond the last the last slope goes on. A single point with a
/// current stands for a resistance beyond it.
#[derive(Clone, Debug)]
pub struct Swing<'t> {
    points: Vec<(Value<'t>, Value<'t>)>,
    limit_a: Option<Value<'t>>,
}

impl<'t> Swing<'t> {
    /// The same distance at every current.
    #[must_use]
    pub fn constant(distance_v: Value<'t>) -> Self {
        Swing {
            points: vec![(distance_v.builder().zero(), distance_v)],
            limit_a: None,
        }
    }

    /// Distances by points (A, V), currents not negative and rising; two
    /// points at one current make a step. `None` without any point.
    #[must_use]
    pub fn points(points: &[(Value<'t>, Value<'t>)]) -> Option<Self> {
        let rising = points
            .windows(2)
            .all(|p| p[0].0.nominal() <= p[1].0.nominal() && p[0].1.nominal() <= p[1].1.nominal());
        let usable = points.first()?.0.nominal() >= 0.0 && rising;
        usable.then(|| Swing {
            points: points.to_vec(),
            limit_a: None,
        })
    }

    /// With a current at which the output only gives way: the short-circuit
    /// current.
    #[must_use]
    pub fn with_limit(mut self, limit_a: Value<'t>) -> Self {
        self.limit_a = Some(limit_a);
        self
    }

    /// The current beyond which the output only gives way, if stated.
    #[must_use]
    pub fn limit_a(&self) -> Option<Value<'t>> {
        self.limit_a
    }

    fn first(&self) -> (Value<'t>, Value<'t>) {
        self.points[0]
    }

    /// Distance without current, V.
    pub(crate) fn idle_v(&self) -> Value<'t> {
        self.first().1
    }

    /// Whether the distance depends on the current.
    pub(crate) fn varies(&self) -> bool {
        self.points.len() > 1 || !self.first().0.is_zero() || self.limit_a.is_some()
    }

    /// Points (current, more distance than idle) from the idle one outwards,
    /// and the direction beyond.
    fn outwards(&self) -> (Vec<(Value<'t>, Value<'t>)>, (Value<'t>, Value<'t>)) {
        let b = self.first().0.builder();
        let idle = self.idle_v();
        let mut list: Vec<_> = self.points.iter().map(|&(i, d)| (i, d - idle)).collect();
        let end = match (&self.points[..], self.limit_a) {
            ([.., last], Some(limit)) => {
                // The output gives way at the limit, wherever the points end.
                if !limit.same(last.0) {
                    let slope = self.end_direction();
                    let beyond = last.1 - idle + (limit - last.0) * slope.1 / slope.0;
                    list.push((limit, beyond));
                }
                (b.zero(), b.one())
            }
            _ => self.end_direction(),
        };
        (list, end)
    }

    /// Direction (current, distance) in which the points go on.
    fn end_direction(&self) -> (Value<'t>, Value<'t>) {
        let b = self.first().0.builder();
        match &self.points[..] {
            [.., a, c] => (c.0 - a.0, c.1 - a.1),
            [only] if !only.0.is_zero() => *only,
            _ => (b.one(), b.zero()),
        }
    }

    /// The distance at a current, V.
    pub(crate) fn distance_v(&self, ampere: Value<'t>) -> Value<'t> {
        let b = ampere.builder();
        let (list, end) = self.outwards();
        let mut distance = self.idle_v();
        let steps = list.windows(2).map(|p| {
            let (a, c) = (p[0], p[1]);
            (a.0, c.0 - a.0, c.1 - a.1, true)
        });
        let last = list.last().map(|l| (l.0, end.0, end.1, false));
        for (from, width, rise, bounded) in steps.chain(last) {
            if rise.is_zero() {
                continue;
            }
            let within = (ampere - from).max(b.zero());
            let share = if width.is_zero() {
                // Upright: all of it as soon as the current is passed.
                b.select(within, b.one(), b.zero())
            } else if bounded {
                (within / width).min(b.one())
            } else {
                within / width
            };
            distance = distance + share * rise;
        }
        distance
    }

    /// The largest current at which the output stays within a distance, A;
    /// zero where even the idle output does not.
    pub(crate) fn capability_a(&self, distance_v: Value<'t>) -> Value<'t> {
        let b = distance_v.builder();
        let (list, end) = self.outwards();
        let left = distance_v - self.idle_v();
        // A distance met to the last bit counts as met.
        let slack = 1e-12;
        let mut capability = b.zero();
        for (k, &(current, more)) in list.iter().enumerate() {
            let (width, rise, bounded) = match list.get(k + 1) {
                Some(next) => (next.0 - current, next.1 - more, true),
                None => (end.0, end.1, false),
            };
            let over = left - more;
            let mut reach = current;
            if !width.is_zero() && !rise.is_zero() {
                let share = over.max(b.zero()) / rise;
                let share = if bounded { share.min(b.one()) } else { share };
                reach = current + share * width;
            }
            capability = b.select(over + slack, reach, capability);
        }
        capability
    }
}

/// The drop of an output stage against the current it gives, joined from
/// both sides: between the idle currents none.
pub(crate) fn output_stage<'t>(
    b: &'t Builder,
    low: Option<&Swing<'t>>,
    high: Option<&Swing<'t>>,
) -> Option<Graph<'t>> {
    if !low.is_some_and(Swing::varies) && !high.is_some_and(Swing::varies) {
        return None;
    }
    let flat = || (vec![(b.zero(), b.zero())], (b.one(), b.zero()));
    let (sink, sink_end) = low.map_or_else(flat, Swing::outwards);
    let (source, source_end) = high.map_or_else(flat, Swing::outwards);
    let mut points: Vec<_> = sink.iter().rev().map(|&(i, d)| (-d, -i)).collect();
    for (i, d) in source {
        // Both halves begin in the origin when neither has an idle current.
        let doubled = points
            .last()
            .is_some_and(|last| last.0.is_zero() && last.1.is_zero() && i.is_zero());
        if !doubled {
            points.push((d, i));
        }
    }
    Some(Graph::closed(
        points,
        [(sink_end.1, sink_end.0), (source_end.1, source_end.0)],
    ))
}

/// How an amplifier follows in time. What is absent is perfect: no limit, no
/// capacitance, no resistance. None of it moves the operating point.
#[derive(Clone, Debug, Default)]
pub struct Dynamics<'t> {
    /// Of an [`Amplifier`] the gain–bandwidth product, Hz: its open-loop gain
    /// falls as 1/(1/gain + jf/this). Of an [`Instrumentation`] the frequency
    /// at which its gain as set has fallen by 3 dB, Hz.
    pub bandwidth_hz: Option<Value<'t>>,
    /// Output resistance without feedback, Ω. It acts where the gain is given
    /// by the bandwidth: at direct current it is contained in the open-loop
    /// gain and the swing, which data sheets state with their load.
    pub output_ohm: Option<Value<'t>>,
    /// Fastest the output moves, V/s.
    pub slew_v_per_s: Option<Value<'t>>,
    /// Capacitance of each input against ground, F.
    pub input_farad: Option<Value<'t>>,
    /// Capacitance between the inputs, F.
    pub between_inputs_farad: Option<Value<'t>>,
}

/// Noise of an amplifier, referred to its inputs; what is absent is none.
///
/// Density at f is white·√(1 + corner/f).
#[derive(Clone, Debug, Default)]
pub struct InputNoise<'t> {
    /// White voltage noise in series with the input, V/√Hz.
    pub white_v: Option<Value<'t>>,
    /// Frequency at which 1/f noise has the power of the white, Hz.
    pub corner_v_hz: Option<Value<'t>>,
    /// White current noise of each input, A/√Hz, not correlated between them.
    pub white_a: Option<Value<'t>>,
    /// Frequency at which 1/f current noise has the power of the white, Hz.
    pub corner_a_hz: Option<Value<'t>>,
    /// Of an [`Instrumentation`], white noise at its output that its gain
    /// does not enlarge, V/√Hz.
    pub output_v: Option<Value<'t>>,
}

/// An amplifier with two inputs and one output.
///
/// Within its swing the output v_out meets
/// v_out/gain = v₊ − v₋ + offset + (v_cm − v_cm0)/CMRR + ΔV_s/PSRR with
/// v_cm = (v₊ + v₋)/2. At its swing it stays there, and the inputs part.
/// Ratios are pure numbers (80 dB is 10⁴).
#[derive(Clone, Debug)]
pub struct Amplifier<'t> {
    /// Offset voltage in series with the non-inverting input, V.
    pub offset_v: Value<'t>,
    /// Common-mode voltage at which the offset is stated, V against ground;
    /// `None` for 0 V.
    pub offset_common_mode_v: Option<Value<'t>>,
    /// Current into the non-inverting pin, A.
    pub bias_plus_a: Value<'t>,
    /// Current into the inverting pin, A.
    pub bias_minus_a: Value<'t>,
    /// Open-loop gain, V/V; `None` for a perfect one.
    pub gain: Option<Value<'t>>,
    /// 1/CMRR, V/V: input voltage for each volt of common mode. A data sheet
    /// bounds its size and leaves its sign open, so that it lies about zero;
    /// `None` for none.
    pub common_mode_error: Option<Value<'t>>,
    /// 1/PSRR, V/V, likewise: input voltage for each volt of supply.
    pub supply_error: Option<Value<'t>>,
    /// Deviation of the supply from that at which the offset is stated, V.
    pub supply_deviation_v: Option<Value<'t>>,
    /// Distance of the output from the low supply when sinking; `None` for an
    /// output without that limit.
    pub swing_low: Option<Swing<'t>>,
    /// Distance of the output from the high supply when sourcing.
    pub swing_high: Option<Swing<'t>>,
    /// The inputs must lie above the low supply by this much, V (negative if
    /// they may go below it).
    pub input_low_headroom: Option<Value<'t>>,
    /// The inputs must lie below the high supply by this much, V.
    pub input_high_headroom: Option<Value<'t>>,
    /// Resistance between the inputs, Ω.
    pub input_resistance: Option<Value<'t>>,
    /// Current from the high to the low supply without load, A.
    pub quiescent: Option<Value<'t>>,
    /// Its behaviour in time.
    pub dynamics: Dynamics<'t>,
    /// Its noise.
    pub noise: InputNoise<'t>,
}

impl<'t> Amplifier<'t> {
    /// Perfect in every respect; a start for `..Amplifier::ideal(builder)`.
    #[must_use]
    pub fn ideal(builder: &'t Builder) -> Self {
        Amplifier {
            offset_v: builder.zero(),
            offset_common_mode_v: None,
            bias_plus_a: builder.zero(),
            bias_minus_a: builder.zero(),
            gain: None,
            common_mode_error: None,
            supply_error: None,
            supply_deviation_v: None,
            swing_low: None,
            swing_high: None,
            input_low_headroom: None,
            input_high_headroom: None,
            input_resistance: None,
            quiescent: None,
            dynamics: Dynamics::default(),
            noise: InputNoise::default(),
        }
    }
}

/// An instrumentation amplifier: the difference of its inputs, amplified and
/// set on its reference pin.
///
/// v_out = v_ref + gain·(v₊ − v₋ + offset + (v_cm − v_cm0)/CMRR) + output
/// offset, with
/// v_cm = (v₊ + v₋)/2. Inside, the two nodes behind the first stage stand at
/// v_cm ± G₁·(v₊ − v₋)/2, G₁ the gain of the *first stage* alone: they reach
/// a supply long before the inputs or the output do, which is why the
/// allowed common mode shrinks as the difference grows. Its limits are given
/// by headrooms of those nodes or by the region a data sheet draws.
#[derive(Clone, Debug)]
pub struct Instrumentation<'t> {
    /// Total gain, V/V.
    pub gain: Value<'t>,
    /// Gain of the first stage, V/V; `None` where the region is given or the
    /// topology is not known.
    pub first_stage_gain: Option<Value<'t>>,
    /// Offset referred to the input, V.
    pub offset_in_v: Value<'t>,
    /// Offset referred to the output, V.
    pub offset_out_v: Value<'t>,
    /// Current into the non-inverting pin, A.
    pub bias_plus_a: Value<'t>,
    /// Current into the inverting pin, A.
    pub bias_minus_a: Value<'t>,
    /// 1/CMRR, V/V, at this gain, as of an [`Amplifier`].
    pub common_mode_error: Option<Value<'t>>,
    /// Common-mode voltage at which the offset is stated, V against ground;
    /// `None` for 0 V.
    pub offset_common_mode_v: Option<Value<'t>>,
    /// As of an [`Amplifier`].
    pub swing_low: Option<Swing<'t>>,
    /// As of an [`Amplifier`].
    pub swing_high: Option<Swing<'t>>,
    /// As of an [`Amplifier`].
    pub input_low_headroom: Option<Value<'t>>,
    /// As of an [`Amplifier`].
    pub input_high_headroom: Option<Value<'t>>,
    /// The inner nodes must lie above the low supply by this much, V.
    pub inner_low_headroom: Option<Value<'t>>,
    /// The inner nodes must lie below the high supply by this much, V.
    pub inner_high_headroom: Option<Value<'t>>,
    /// Corners (v_out, v_cm), V against ground, of the convex region in which
    /// the part works, in either sense of rotation; empty if not given.
    pub region: Vec<(Value<'t>, Value<'t>)>,
    /// Resistance between the inputs, Ω.
    pub input_resistance: Option<Value<'t>>,
    /// Current from the high to the low supply without load, A.
    pub quiescent: Option<Value<'t>>,
    /// Its behaviour in time.
    pub dynamics: Dynamics<'t>,
    /// Its noise.
    pub noise: InputNoise<'t>,
}

impl<'t> Instrumentation<'t> {
    /// Perfect but for its gain; a start for `..Instrumentation::ideal(gain)`.
    #[must_use]
    pub fn ideal(gain: Value<'t>) -> Self {
        let zero = gain.builder().zero();
        Instrumentation {
            gain,
            first_stage_gain: None,
            offset_in_v: zero,
            offset_out_v: zero,
            bias_plus_a: zero,
            bias_minus_a: zero,
            common_mode_error: None,
            offset_common_mode_v: None,
            swing_low: None,
            swing_high: None,
            input_low_headroom: None,
            input_high_headroom: None,
            inner_low_headroom: None,
            inner_high_headroom: None,
            region: Vec::new(),
            input_resistance: None,
            quiescent: None,
            dynamics: Dynamics::default(),
            noise: InputNoise::default(),
        }
    }
}
