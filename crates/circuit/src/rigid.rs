//! Nodes tied to one another by voltage sources: they rise and fall together.

use tape::Builder;

use crate::affine::Affine;
use crate::fault::Fault;
use crate::plan::{Plan, Source};

/// The node a node hangs on, and the branch between.
#[derive(Clone, Copy, Debug)]
struct Hanger {
    node: usize,
    branch: usize,
}

/// Every node's group, its offset within it, and the tree that ties it.
#[derive(Debug)]
pub(crate) struct Groups<'t> {
    /// Group of each node; group 0 is ground's.
    pub group: Vec<usize>,
    /// Voltage of each node above the root of its group.
    pub offset: Vec<Affine<'t>>,
    pub count: usize,
    hanger: Vec<Option<Hanger>>,
    /// Nodes, every one behind the one it hangs on.
    order: Vec<usize>,
    /// Shorts beside other shorts: their share of the current is nobody's to
    /// say.
    pub redundant: Vec<bool>,
}

pub(crate) fn emf<'t>(builder: &'t Builder, source: Source<'t>) -> Affine<'t> {
    match source {
        Source::Fixed(value) => Affine::fixed(value),
        Source::Of(k) => Affine::source(builder, k),
    }
}

impl<'t> Groups<'t> {
    pub fn new(plan: &Plan<'t>, element_name: impl Fn(usize) -> String) -> Result<Self, Fault> {
        let count = plan.names.count();
        let mut at: Vec<Vec<usize>> = vec![Vec::new(); count];
        for (k, branch) in plan.rigid.iter().enumerate() {
            at[branch.plus].push(k);
            at[branch.minus].push(k);
        }
        let none = usize::MAX;
        let mut groups = Groups {
            group: vec![none; count],
            offset: vec![Affine::zero(plan.builder); count],
            count: 0,
            hanger: vec![None; count],
            order: Vec::with_capacity(count),
            redundant: vec![false; plan.rigid.len()],
        };
        let mut in_tree = vec![false; plan.rigid.len()];
        for root in 0..count {
            if groups.group[root] != none {
                continue;
            }
            groups.group[root] = groups.count;
            let mut next = groups.order.len();
            groups.order.push(root);
            while let Some(&node) = groups.order.get(next) {
                next += 1;
                for &k in &at[node] {
                    let branch = plan.rigid[k];
                    let up = branch.minus == node;
                    let other = if up { branch.plus } else { branch.minus };
                    if groups.group[other] != none {
                        continue;
                    }
                    let step = emf(plan.builder, branch.emf);
                    let offset = groups.offset[node].clone();
                    groups.offset[other] = if up {
                        offset.plus(&step)
                    } else {
                        offset.minus(&step)
                    };
                    groups.group[other] = groups.count;
                    groups.hanger[other] = Some(Hanger { node, branch: k });
                    in_tree[k] = true;
                    groups.order.push(other);
                }
            }
            groups.count += 1;
        }
        for (k, branch) in plan.rigid.iter().enumerate() {
            if in_tree[k] {
                continue;
            }
            let mut members = groups.path(branch.plus, branch.minus);
            members.push(k);
            let shorts = members
                .iter()
                .all(|&m| matches!(plan.rigid[m].emf, Source::Fixed(v) if v.is_zero()));
            if shorts {
                groups.redundant[k] = true;
                continue;
            }
            let mut elements: Vec<String> = members
                .iter()
                .map(|&m| element_name(plan.rigid[m].element))
                .collect();
            elements.sort();
            elements.dedup();
            let hint = match &elements[..] {
                [only] => format!(
                    "taking out {only}, which is short-circuited, or a resistor in series with it"
                ),
                _ => format!(
                    "a resistor in series with one of {}, which hold one voltage together,",
                    elements.join(" and ")
                ),
            };
            return Err(Fault::Singular {
                unknowns: elements
                    .iter()
                    .map(|e| format!("the current of {e}"))
                    .collect(),
                elements,
                hint,
            });
        }
        Ok(groups)
    }

    /// Branches on the way from one node to another of its group.
    fn path(&self, a: usize, b: usize) -> Vec<usize> {
        let up = |mut node: usize| {
            let mut branches = Vec::new();
            while let Some(hanger) = self.hanger[node] {
                branches.push(hanger.branch);
                node = hanger.node;
            }
            branches
        };
        let (mut from_a, mut from_b) = (up(a), up(b));
        while let (Some(x), Some(y)) = (from_a.last(), from_b.last()) {
            if x != y {
                break;
            }
            from_a.pop();
            from_b.pop();
        }
        from_a.extend(from_b);
        from_a
    }

    /// Which nodes hang on a branch of the tree, and whether they do so at
    /// its plus; `None` for a branch that is not in the tree.
    pub fn beyond(&self, branch: usize) -> Option<(Vec<bool>, usize)> {
        let top =
            (0..self.hanger.len()).find(|&n| self.hanger[n].is_some_and(|h| h.branch == branch))?;
        let mut inside = vec![false; self.hanger.len()];
        inside[top] = true;
        for &node in &self.order {
            if let Some(hanger) = self.hanger[node]
                && inside[hanger.node]
            {
                inside[node] = true;
            }
        }
        Some((inside, top))
    }
}
