//! Currents, from the voltages and sources of a network.

use tape::Value;

use crate::affine::Affine;
use crate::plan::{Handle, Plan, Sense, Source};
use crate::rigid::Groups;

/// Voltages of all nodes and strengths of all sources, known or as a share
/// of sources still open.
pub(crate) struct State<'t> {
    pub voltage: Vec<Affine<'t>>,
    pub source: Vec<Affine<'t>>,
    /// Efforts of all devices, once known: the voltage of a curve, more
    /// exact than the difference of two node voltages.
    pub effort: Vec<Value<'t>>,
    /// What amplifiers draw from stiff supplies: from, to, current. It moves
    /// no voltage, so it is only known at the end.
    pub drawn: Vec<(usize, usize, Affine<'t>)>,
}

impl<'t> State<'t> {
    fn of(&self, source: Source<'t>) -> Affine<'t> {
        match source {
            Source::Fixed(value) => Affine::fixed(value),
            Source::Of(k) => self.source[k].clone(),
        }
    }

    fn between(&self, a: usize, b: usize) -> Affine<'t> {
        self.voltage[a].clone().minus(&self.voltage[b])
    }
}

/// Current through an element; `None` where the network does not say.
pub(crate) fn through<'t>(
    plan: &Plan<'t>,
    groups: &Groups<'t>,
    state: &State<'t>,
    element: usize,
) -> Option<Affine<'t>> {
    let conducted = |k: usize| {
        let c = plan.conductances[k];
        state.between(c.a, c.b).times(c.siemens)
    };
    Some(match plan.handles.get(element)? {
        Handle::Conductance(k) => conducted(*k),
        Handle::Rigid(k) => held(plan, groups, state, *k)?,
        Handle::Source(source) => state.of(*source),
        Handle::Graph(companion, port) => {
            let beside = match state.effort.get(*port) {
                Some(&volt) => Affine::fixed(volt * plan.conductances[*companion].siemens),
                None => conducted(*companion),
            };
            beside.plus(&state.source[*port])
        }
        Handle::Output(k) => Affine::zero(plan.builder).minus(&held(plan, groups, state, *k)?),
        Handle::Moving {
            conductance,
            beside,
            ampere,
        } => {
            let mut sum = conducted(*conductance).plus(&Affine::fixed(*ampere));
            if let Some(leak) = beside {
                sum.add(&conducted(*leak));
            }
            sum
        }
        Handle::Open => Affine::zero(plan.builder),
    })
}

/// Current through a rigid branch from its plus to its minus: what the nodes
/// beyond it send back.
pub(crate) fn held<'t>(
    plan: &Plan<'t>,
    groups: &Groups<'t>,
    state: &State<'t>,
    branch: usize,
) -> Option<Affine<'t>> {
    let (inside, top) = groups.beyond(branch)?;
    let mut leaving = Affine::zero(plan.builder);
    let mut add =
        |from: usize, to: usize, current: &dyn Fn() -> Affine<'t>| match (inside[from], inside[to])
        {
            (true, false) => leaving.add(&current()),
            (false, true) => leaving.subtract(&current()),
            _ => {}
        };
    for c in &plan.conductances {
        add(c.a, c.b, &|| state.between(c.a, c.b).times(c.siemens));
    }
    for i in &plan.injections {
        add(i.from, i.to, &|| state.of(i.source));
    }
    for (from, to, current) in &state.drawn {
        add(*from, *to, &|| current.clone());
    }
    if plan.rigid[branch].plus == top {
        leaving = Affine::zero(plan.builder).minus(&leaving);
    }
    Some(leaving)
}

/// What a device's effort must equal; the element's number where that names a
/// current the network does not say.
pub(crate) fn sensed<'t>(
    plan: &Plan<'t>,
    groups: &Groups<'t>,
    state: &State<'t>,
    sense: &Sense<'t>,
) -> Result<Affine<'t>, usize> {
    match sense {
        Sense::Nodes(nodes) => {
            let mut sum = Affine::zero(plan.builder);
            for &(node, coefficient) in &nodes.terms {
                sum.add(&state.voltage[node].times(coefficient));
            }
            for &(rigid, factor) in &nodes.given {
                let taken = held(plan, groups, state, rigid).ok_or(plan.rigid[rigid].element)?;
                sum.subtract(&taken.times(factor));
            }
            for &(source, factor) in &nodes.sources {
                sum.add(&state.source[source].times(factor));
            }
            sum.add(&Affine::fixed(nodes.constant));
            Ok(sum)
        }
        Sense::Through { element, factor } => through(plan, groups, state, *element)
            .map(|current| current.times(*factor))
            .ok_or(*element),
        Sense::Given { rigid } => held(plan, groups, state, *rigid)
            .map(|current| Affine::zero(plan.builder).minus(&current))
            .ok_or(plan.rigid[*rigid].element),
    }
}

/// The currents amplifiers draw from stiff supplies, once everything else is
/// known.
pub(crate) fn drawn<'t>(
    plan: &Plan<'t>,
    groups: &Groups<'t>,
    state: &State<'t>,
) -> Vec<(usize, usize, Affine<'t>)> {
    let zero: Value<'t> = plan.builder.zero();
    plan.stages
        .iter()
        .filter(|s| s.drawn.is_none() && s.high != s.low)
        .filter_map(|s| {
            let given = zero - held(plan, groups, state, s.rigid)?.base;
            let current = given.max(zero) + s.quiescent.unwrap_or(zero);
            Some((s.high, s.low, Affine::fixed(current)))
        })
        .collect()
}
