//! From what was written to what is run.

use std::ops::Range;

use crate::Table;
use crate::builder::{Inner, Iteration, Label};
use crate::op::{Index, Op};

/// One thing to do while a tape is read forwards.
#[derive(Clone, Debug)]
pub(crate) enum Step {
    /// Compute this node.
    Compute(Index),
    /// Iterate the steps of `body`; they follow directly and are run once
    /// more as ordinary steps afterwards.
    FixedPoint(Region, Range<usize>),
    /// Check a linear solution.
    Guard(System),
}

#[derive(Clone, Debug)]
pub(crate) struct Region {
    pub unknowns: Vec<Index>,
    pub start: Vec<Index>,
    pub next: Vec<Index>,
    pub settings: Iteration,
}

#[derive(Clone, Debug)]
pub(crate) struct System {
    pub size: usize,
    pub entries: Vec<(u32, u32, Index)>,
    pub right: Vec<Index>,
    pub guard: Index,
    /// Where the solution stands, to be overwritten when it was bad.
    pub solved: Vec<(Index, u32)>,
    pub region: u32,
}

/// A finished model: a straight list of operations from inputs to outputs.
///
/// Shared freely between threads; readers hold their own working space.
#[derive(Clone, Debug)]
pub struct Tape {
    pub(crate) ops: Vec<Op>,
    pub(crate) steps: Vec<Step>,
    pub(crate) outputs: Vec<Index>,
    pub(crate) inputs: Vec<Label>,
    pub(crate) nominal_inputs: Vec<f64>,
    pub(crate) input_nodes: Vec<Option<Index>>,
    pub(crate) labels: Vec<Option<Label>>,
    pub(crate) tables: Vec<Table>,
    /// The step that checks each linear system, by its number.
    pub(crate) checks: Vec<Option<usize>>,
    /// Where each node's value stands when blocks are read.
    pub(crate) slots: Vec<u32>,
    pub(crate) slot_count: usize,
}

impl Tape {
    /// Number of inputs, including unused ones.
    #[must_use]
    pub fn input_count(&self) -> usize {
        self.inputs.len()
    }

    /// Number of outputs.
    #[must_use]
    pub fn output_count(&self) -> usize {
        self.outputs.len()
    }

    /// Number of operations.
    #[must_use]
    pub fn operation_count(&self) -> usize {
        self.ops
            .iter()
            .filter(|op| !matches!(op, Op::Constant(_) | Op::Input(_)))
            .count()
    }

    /// Name and unit of an input.
    #[must_use]
    pub fn input_label(&self, input: usize) -> Option<&Label> {
        self.inputs.get(input)
    }

    /// Nominal values of all inputs.
    #[must_use]
    pub fn nominal_inputs(&self) -> &[f64] {
        &self.nominal_inputs
    }

    /// Whether any output depends on this input.
    #[must_use]
    pub fn uses_input(&self, input: usize) -> bool {
        self.input_nodes.get(input).is_some_and(Option::is_some)
    }

    /// The same tape with some of its outputs, by their numbers, and only what
    /// they need: the same operations in the same order, so the same bits.
    /// Inputs keep their numbers; names of nodes are left behind. Outputs that
    /// do not exist are left out.
    #[must_use]
    pub fn only(&self, outputs: &[usize]) -> Tape {
        let outputs: Vec<Index> = outputs
            .iter()
            .filter_map(|&n| self.outputs.get(n).copied())
            .collect();
        let needed = self.needed_by(&outputs);
        let is_needed = |i: &Index| needed.get(*i as usize).copied().unwrap_or(false);
        let mut new_index = vec![Index::MAX; self.ops.len()];
        let mut position = Vec::with_capacity(self.steps.len() + 1);
        let mut ops = Vec::new();
        let mut kept = 0;
        let keep: Vec<bool> = self
            .steps
            .iter()
            .map(|step| match step {
                Step::Compute(i) => is_needed(i),
                Step::FixedPoint(region, _) => region.unknowns.iter().any(is_needed),
                Step::Guard(system) => system.solved.iter().any(|(i, _)| is_needed(i)),
            })
            .collect();
        for (step, &keep) in self.steps.iter().zip(&keep) {
            position.push(kept);
            kept += usize::from(keep);
            if let (Step::Compute(old), true) = (step, keep) {
                new_index[*old as usize] = ops.len() as Index;
                ops.push(self.ops[*old as usize]);
            }
        }
        position.push(kept);
        let rename = |i: Index| new_index[i as usize];
        let all = |list: &[Index]| list.iter().map(|&i| rename(i)).collect::<Vec<_>>();
        let mut checks = vec![None; self.checks.len()];
        let mut steps = Vec::with_capacity(kept);
        for (step, _) in self.steps.iter().zip(&keep).filter(|(_, keep)| **keep) {
            steps.push(match step {
                Step::Compute(i) => Step::Compute(rename(*i)),
                Step::FixedPoint(r, body) => Step::FixedPoint(
                    Region {
                        unknowns: all(&r.unknowns),
                        start: all(&r.start),
                        next: all(&r.next),
                        settings: r.settings,
                    },
                    position[body.start]..position[body.end],
                ),
                Step::Guard(s) => {
                    checks[s.region as usize] = Some(steps.len());
                    Step::Guard(System {
                        size: s.size,
                        entries: s
                            .entries
                            .iter()
                            .map(|&(i, j, v)| (i, j, rename(v)))
                            .collect(),
                        right: all(&s.right),
                        guard: rename(s.guard),
                        solved: s
                            .solved
                            .iter()
                            .filter(|(i, _)| is_needed(i))
                            .map(|&(i, part)| (rename(i), part))
                            .collect(),
                        region: s.region,
                    })
                }
            });
        }
        for op in &mut ops {
            *op = op.renamed(rename);
        }
        let mut input_nodes = vec![None; self.input_nodes.len()];
        for (i, op) in ops.iter().enumerate() {
            if let Op::Input(n) = *op {
                input_nodes[n as usize] = Some(i as Index);
            }
        }
        let outputs = all(&outputs);
        let (slots, slot_count) = crate::slots::assign(&ops, &steps, &outputs);
        Tape {
            labels: vec![None; ops.len()],
            ops,
            steps,
            outputs,
            inputs: self.inputs.clone(),
            nominal_inputs: self.nominal_inputs.clone(),
            input_nodes,
            tables: self.tables.clone(),
            checks,
            slots,
            slot_count,
        }
    }

    /// Which nodes some of them need, whole iterations and guards included.
    fn needed_by(&self, outputs: &[Index]) -> Vec<bool> {
        // By node: the iteration whose unknown it is.
        let mut iterated: Vec<Option<usize>> = vec![None; self.ops.len()];
        for (at, step) in self.steps.iter().enumerate() {
            if let Step::FixedPoint(region, _) = step {
                for &u in &region.unknowns {
                    iterated[u as usize] = Some(at);
                }
            }
        }
        let mut needed = vec![false; self.ops.len()];
        let mut stack = outputs.to_vec();
        while let Some(i) = stack.pop() {
            if std::mem::replace(&mut needed[i as usize], true) {
                continue;
            }
            let op = self.ops[i as usize];
            op.operands(|k| stack.push(k));
            if let Some(at) = iterated[i as usize]
                && let Step::FixedPoint(region, body) = &self.steps[at]
            {
                stack.extend(
                    region
                        .unknowns
                        .iter()
                        .chain(&region.start)
                        .chain(&region.next),
                );
                for step in &self.steps[body.clone()] {
                    if let Step::Compute(k) = step {
                        stack.push(*k);
                    }
                }
            }
            if let Op::Solved { region, .. } = op
                && let Some(Some(at)) = self.checks.get(region as usize)
                && let Step::Guard(system) = &self.steps[*at]
            {
                stack.extend(system.entries.iter().map(|e| e.2));
                stack.extend(&system.right);
                stack.push(system.guard);
            }
        }
        needed
    }

    pub(crate) fn compile(inner: &Inner, outputs: &[Index]) -> Tape {
        let needed = needed_nodes(inner, outputs);
        let list: Vec<Index> = (0..inner.ops.len() as Index)
            .filter(|&i| needed[i as usize])
            .collect();
        let mut planner = Planner {
            inner,
            steps: Vec::new(),
            placed: vec![false; inner.ops.len()],
            guarded: vec![false; inner.systems.len()],
        };
        planner.place(&list);
        let steps = planner.steps;

        // Renumber in the order of computation.
        let mut new_index = vec![Index::MAX; inner.ops.len()];
        let mut ops = Vec::new();
        let mut labels = Vec::new();
        for step in &steps {
            if let Step::Compute(old) = *step {
                new_index[old as usize] = ops.len() as Index;
                ops.push(inner.ops[old as usize]);
                labels.push(inner.labels.get(&old).cloned());
            }
        }
        let rename = |i: Index| new_index[i as usize];
        let all = |list: &[Index]| list.iter().map(|&i| rename(i)).collect::<Vec<_>>();
        let steps: Vec<Step> = steps
            .into_iter()
            .map(|step| match step {
                Step::Compute(i) => Step::Compute(rename(i)),
                Step::FixedPoint(r, body) => Step::FixedPoint(
                    Region {
                        unknowns: all(&r.unknowns),
                        start: all(&r.start),
                        next: all(&r.next),
                        settings: r.settings,
                    },
                    body,
                ),
                Step::Guard(s) => Step::Guard(System {
                    size: s.size,
                    entries: s
                        .entries
                        .iter()
                        .map(|&(i, j, v)| (i, j, rename(v)))
                        .collect(),
                    right: all(&s.right),
                    guard: rename(s.guard),
                    solved: Vec::new(),
                    region: s.region,
                }),
            })
            .collect();
        for op in &mut ops {
            *op = op.renamed(rename);
        }
        let mut steps = steps;
        for step in &mut steps {
            if let Step::Guard(system) = step {
                system.solved = ops
                    .iter()
                    .enumerate()
                    .filter_map(|(i, op)| match *op {
                        Op::Solved { region, part, .. } if region == system.region => {
                            Some((i as Index, part))
                        }
                        _ => None,
                    })
                    .collect();
            }
        }
        let mut input_nodes = vec![None; inner.inputs.len()];
        for (i, op) in ops.iter().enumerate() {
            if let Op::Input(n) = *op {
                input_nodes[n as usize] = Some(i as Index);
            }
        }
        let mut checks = vec![None; inner.systems.len()];
        for (at, step) in steps.iter().enumerate() {
            if let Step::Guard(system) = step {
                checks[system.region as usize] = Some(at);
            }
        }
        let outputs = all(outputs);
        let (slots, slot_count) = crate::slots::assign(&ops, &steps, &outputs);
        Tape {
            outputs,
            inputs: inner.inputs.clone(),
            nominal_inputs: inner
                .input_nodes
                .iter()
                .map(|&i| inner.nominal[i as usize])
                .collect(),
            input_nodes,
            labels,
            tables: inner.tables.clone(),
            checks,
            ops,
            steps,
            slots,
            slot_count,
        }
    }
}

/// Which nodes the outputs need, iterations and guards included.
fn needed_nodes(inner: &Inner, outputs: &[Index]) -> Vec<bool> {
    let mut needed = vec![false; inner.ops.len()];
    let mut stack: Vec<Index> = outputs.to_vec();
    while let Some(i) = stack.pop() {
        if std::mem::replace(&mut needed[i as usize], true) {
            continue;
        }
        let op = inner.ops[i as usize];
        op.operands(|k| stack.push(k));
        match op {
            Op::Iterate { region, .. } => {
                let point = &inner.fixed_points[region as usize];
                stack.extend(point.unknowns.iter().chain(&point.start).chain(&point.next));
            }
            Op::Solved { region, .. } => {
                let system = &inner.systems[region as usize];
                stack.extend(system.entries.iter().map(|e| e.2));
                stack.extend(system.right.iter().chain(&system.raw));
                stack.push(system.guard);
            }
            _ => {}
        }
    }
    needed
}

struct Planner<'a> {
    inner: &'a Inner,
    steps: Vec<Step>,
    placed: Vec<bool>,
    guarded: Vec<bool>,
}

impl Planner<'_> {
    /// Places nodes given in the order they were written. The nodes of an
    /// iteration are gathered behind its start: what does not depend on the
    /// unknowns goes before it, the body directly behind it.
    fn place(&mut self, list: &[Index]) {
        let mut at = 0;
        while at < list.len() {
            let i = list[at];
            at += 1;
            if self.placed[i as usize] {
                continue;
            }
            match self.inner.ops[i as usize] {
                Op::Iterate { region, .. } => {
                    let point = &self.inner.fixed_points[region as usize];
                    let inside: Vec<Index> = list[at..]
                        .iter()
                        .copied()
                        .filter(|&k| k < point.end && !self.placed[k as usize])
                        .collect();
                    let body_member = self.members(&point.unknowns, &point.next, &inside);
                    let depends = self.dependents(&point.unknowns, &inside);
                    let before: Vec<Index> = inside
                        .iter()
                        .copied()
                        .filter(|k| !depends.contains(k) && !point.unknowns.contains(k))
                        .collect();
                    self.place(&before);
                    let position = self.steps.len();
                    self.steps.push(Step::FixedPoint(
                        Region {
                            unknowns: point.unknowns.clone(),
                            start: point.start.clone(),
                            next: point.next.clone(),
                            settings: point.settings,
                        },
                        0..0,
                    ));
                    for &u in &point.unknowns {
                        self.compute(u);
                    }
                    let body_start = self.steps.len();
                    self.place(&body_member);
                    let body = body_start..self.steps.len();
                    if let Step::FixedPoint(_, range) = &mut self.steps[position] {
                        *range = body;
                    }
                }
                Op::Solved { region, .. } => {
                    self.compute(i);
                    if !std::mem::replace(&mut self.guarded[region as usize], true) {
                        // All components first, then the check that may
                        // overwrite them.
                        for &k in &list[at..] {
                            if let Op::Solved { region: other, .. } = self.inner.ops[k as usize]
                                && other == region
                            {
                                self.compute(k);
                            }
                        }
                        let s = &self.inner.systems[region as usize];
                        self.steps.push(Step::Guard(System {
                            size: s.size,
                            entries: s.entries.clone(),
                            right: s.right.clone(),
                            guard: s.guard,
                            solved: Vec::new(),
                            region,
                        }));
                    }
                }
                _ => self.compute(i),
            }
        }
    }

    fn compute(&mut self, i: Index) {
        if !std::mem::replace(&mut self.placed[i as usize], true) {
            self.steps.push(Step::Compute(i));
        }
    }

    fn dependents(&self, unknowns: &[Index], inside: &[Index]) -> std::collections::HashSet<Index> {
        let mut set: std::collections::HashSet<Index> = unknowns.iter().copied().collect();
        for &k in inside {
            let mut touched = false;
            let op = self.inner.ops[k as usize];
            op.operands(|o| touched |= set.contains(&o));
            match op {
                Op::Iterate { region, .. } => {
                    let point = &self.inner.fixed_points[region as usize];
                    // A nested iteration depends on what its body reads.
                    let uses =
                        self.reads(&point.next, point.unknowns.first().copied().unwrap_or(k));
                    touched |= point.start.iter().chain(&uses).any(|o| set.contains(o));
                }
                Op::Solved { region, .. } => {
                    let s = &self.inner.systems[region as usize];
                    touched |= set.contains(&s.guard) || s.raw.iter().any(|r| set.contains(r));
                }
                _ => {}
            }
            if touched {
                set.insert(k);
            }
        }
        set
    }

    /// Nodes written before `first` that lead to `ends`.
    fn reads(&self, ends: &[Index], first: Index) -> Vec<Index> {
        let mut seen = std::collections::HashSet::new();
        let mut stack = ends.to_vec();
        let mut outside = Vec::new();
        while let Some(i) = stack.pop() {
            if !seen.insert(i) {
                continue;
            }
            if i < first {
                outside.push(i);
            } else {
                self.inner.ops[i as usize].operands(|o| stack.push(o));
            }
        }
        outside
    }

    /// Nodes between the unknowns and the next iterate.
    fn members(&self, unknowns: &[Index], next: &[Index], inside: &[Index]) -> Vec<Index> {
        let depends = self.dependents(unknowns, inside);
        let mut wanted: std::collections::HashSet<Index> = std::collections::HashSet::new();
        let mut stack = next.to_vec();
        while let Some(i) = stack.pop() {
            if !depends.contains(&i) || !wanted.insert(i) {
                continue;
            }
            let op = self.inner.ops[i as usize];
            op.operands(|o| stack.push(o));
            match op {
                Op::Iterate { region, .. } => {
                    let point = &self.inner.fixed_points[region as usize];
                    stack.extend(point.unknowns.iter().chain(&point.start).chain(&point.next));
                }
                Op::Solved { region, .. } => {
                    let s = &self.inner.systems[region as usize];
                    stack.push(s.guard);
                    stack.extend(s.raw.iter().chain(&s.right));
                    stack.extend(s.entries.iter().map(|e| e.2));
                    // The other components are checked and repaired together.
                    stack.extend(inside.iter().copied().filter(|&k| {
                        matches!(self.inner.ops[k as usize], Op::Solved { region: r, .. } if r == region)
                    }));
                }
                _ => {}
            }
        }
        inside
            .iter()
            .copied()
            .filter(|k| wanted.contains(k))
            .collect()
    }
}
