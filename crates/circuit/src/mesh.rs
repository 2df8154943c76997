//! The linear part of a network, with all sources left open.
//!
//! Nodes between conductances alone are taken out one by one by the
//! transformation of a star into a mesh (A. Rosen, J. IEE 62, 1924): a node
//! with conductances g₁…gₙ to its neighbours leaves gᵢ·gⱼ/Σg between each two
//! of them, and passes gᵢ/Σg of the current fed into it on to each. Nothing
//! is subtracted, so every conductance keeps its relative accuracy whatever
//! the others are (W. Grassmann, M. Taksar, D. Heyman, Operations Research
//! 33, 1985, for Markov chains, where it is the same elimination): a
//! gigaohm beside a milliohm loses nothing, where the usual elimination
//! computes it as the difference of two numbers equal to fifteen digits.

use std::collections::BTreeMap;

use tape::Value;

use crate::affine::Affine;
use crate::plan::Plan;
use crate::rigid::{Groups, emf};

/// Node voltages, each as a fixed part plus a share of every open source.
pub(crate) fn voltages<'t>(plan: &Plan<'t>, groups: &Groups<'t>) -> Vec<Affine<'t>> {
    let builder = plan.builder;
    let mut mesh = Mesh {
        links: vec![BTreeMap::new(); groups.count],
        fed: vec![Affine::zero(builder); groups.count],
    };
    for c in &plan.conductances {
        mesh.conduct(groups, c.a, c.b, c.siemens);
    }
    for injection in &plan.injections {
        let current = emf(builder, injection.source);
        mesh.fed[groups.group[injection.from]].subtract(&current);
        mesh.fed[groups.group[injection.to]].add(&current);
    }
    let roots = mesh.solve(plan);
    (0..plan.names.count())
        .map(|node| {
            let root = roots[groups.group[node]].clone();
            root.plus(&groups.offset[node])
        })
        .collect()
}

struct Mesh<'t> {
    /// Conductances to neighbouring groups.
    links: Vec<BTreeMap<usize, Value<'t>>>,
    /// Current fed into each group.
    fed: Vec<Affine<'t>>,
}

impl<'t> Mesh<'t> {
    fn link(&mut self, x: usize, y: usize, siemens: Value<'t>) {
        for (x, y) in [(x, y), (y, x)] {
            self.links[x]
                .entry(y)
                .and_modify(|g| *g = *g + siemens)
                .or_insert(siemens);
        }
    }

    fn conduct(&mut self, groups: &Groups<'t>, a: usize, b: usize, siemens: Value<'t>) {
        let (x, y) = (groups.group[a], groups.group[b]);
        if x == y {
            // Both ends are held against each other: what flows here comes
            // back through the branches that hold them.
            return;
        }
        self.link(x, y, siemens);
        // What flows because the ends stand above their groups' roots.
        let shift = groups.offset[a]
            .clone()
            .minus(&groups.offset[b])
            .times(siemens);
        self.fed[x].subtract(&shift);
        self.fed[y].add(&shift);
    }

    /// Voltages of all groups' roots. Every group must have a path to group
    /// 0, which stands at zero.
    fn solve(mut self, plan: &Plan<'t>) -> Vec<Affine<'t>> {
        let count = self.links.len();
        let mut voltage = vec![Affine::zero(plan.builder); count];
        let mut open: std::collections::BTreeSet<(usize, usize)> =
            (1..count).map(|k| (self.links[k].len(), k)).collect();
        let mut taken = Vec::with_capacity(count);
        while let Some((_, k)) = open.pop_first() {
            let star = std::mem::take(&mut self.links[k]);
            let total: Option<Value<'t>> = star.values().copied().sum();
            let Some(total) = total else {
                continue;
            };
            let fed = self.fed[k].clone();
            let neighbours: Vec<(usize, Value<'t>)> = star.iter().map(|(&j, &g)| (j, g)).collect();
            for &(j, _) in &neighbours {
                if j != 0 {
                    open.remove(&(self.links[j].len(), j));
                }
            }
            for (n, &(i, g)) in neighbours.iter().enumerate() {
                self.links[i].remove(&k);
                let share = g / total;
                if i != 0 {
                    self.fed[i].add(&fed.times(share));
                }
                for &(j, h) in &neighbours[n + 1..] {
                    self.link(i, j, share * h);
                }
            }
            for &(j, _) in &neighbours {
                if j != 0 {
                    open.insert((self.links[j].len(), j));
                }
            }
            taken.push((k, neighbours, total, fed));
        }
        for (k, neighbours, total, fed) in taken.into_iter().rev() {
            let mut sum = fed;
            for (j, g) in neighbours {
                if j != 0 {
                    sum.add(&voltage[j].times(g));
                }
            }
            voltage[k] = sum.divided(total);
        }
        voltage
    }
}

/// Nodes without a path for direct current to ground, in connected sets.
pub(crate) fn adrift(plan: &Plan<'_>, groups: &Groups<'_>) -> Vec<Vec<usize>> {
    let mut parent: Vec<usize> = (0..groups.count).collect();
    fn top(parent: &mut [usize], mut k: usize) -> usize {
        while parent[k] != k {
            parent[k] = parent[parent[k]];
            k = parent[k];
        }
        k
    }
    for c in &plan.conductances {
        let x = top(&mut parent, groups.group[c.a]);
        let y = top(&mut parent, groups.group[c.b]);
        parent[x.max(y)] = x.min(y);
    }
    let mut sets: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for node in 0..plan.names.count() {
        let set = top(&mut parent, groups.group[node]);
        if set != 0 {
            sets.entry(set).or_default().push(node);
        }
    }
    sets.into_values().collect()
}
