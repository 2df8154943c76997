//! Where values stand while blocks are read: places are reused as soon as
//! nothing needs the old value, which keeps the working set in the cache.

use crate::compile::Step;
use crate::op::{Index, Op};

/// The place of every node and the number of places.
pub(crate) fn assign(ops: &[Op], steps: &[Step], outputs: &[Index]) -> (Vec<u32>, usize) {
    let mut defined = vec![0usize; ops.len()];
    let mut last_use = vec![0usize; ops.len()];
    let bodies: Vec<(usize, std::ops::Range<usize>)> = steps
        .iter()
        .enumerate()
        .filter_map(|(i, s)| match s {
            Step::FixedPoint(_, body) => Some((i, body.clone())),
            _ => None,
        })
        .collect();
    for (at, step) in steps.iter().enumerate() {
        if let Step::Compute(i) = *step {
            defined[i as usize] = at;
            last_use[i as usize] = at;
        }
    }
    let touch = |last_use: &mut Vec<usize>, node: Index, at: usize| {
        let node = node as usize;
        let mut until = at;
        for (_, body) in &bodies {
            // Read again in every round of a body it was not computed in.
            if body.contains(&at) && !body.contains(&defined[node]) {
                until = until.max(body.end);
            }
        }
        last_use[node] = last_use[node].max(until);
    };
    for (at, step) in steps.iter().enumerate() {
        match step {
            Step::Compute(i) => ops[*i as usize].operands(|o| touch(&mut last_use, o, at)),
            Step::FixedPoint(region, body) => {
                for &s in &region.start {
                    touch(&mut last_use, s, at);
                }
                for &n in region
                    .next
                    .iter()
                    .chain(&region.unknowns)
                    .chain(&region.start)
                {
                    touch(&mut last_use, n, at);
                    last_use[n as usize] = last_use[n as usize].max(body.end);
                }
            }
            Step::Guard(system) => {
                for &(_, _, v) in &system.entries {
                    touch(&mut last_use, v, at);
                }
                for &v in &system.right {
                    touch(&mut last_use, v, at);
                }
                touch(&mut last_use, system.guard, at);
                for &(v, _) in &system.solved {
                    touch(&mut last_use, v, at);
                }
            }
        }
    }
    for &o in outputs {
        last_use[o as usize] = usize::MAX;
    }
    // Constants and inputs are filled once and must stay.
    for (i, op) in ops.iter().enumerate() {
        if matches!(op, Op::Constant(_) | Op::Input(_)) {
            last_use[i] = usize::MAX;
        }
    }
    let mut expiring: Vec<Vec<Index>> = vec![Vec::new(); steps.len() + 1];
    for (i, &until) in last_use.iter().enumerate() {
        if until < steps.len() {
            expiring[until].push(i as Index);
        }
    }
    let mut slots = vec![u32::MAX; ops.len()];
    let mut free: Vec<u32> = Vec::new();
    let mut count = 0u32;
    let mut take = |free: &mut Vec<u32>| {
        free.pop().unwrap_or_else(|| {
            count += 1;
            count - 1
        })
    };
    // Their places are their own from the start: they are filled before
    // anything is computed.
    for (i, op) in ops.iter().enumerate() {
        if matches!(op, Op::Constant(_) | Op::Input(_)) {
            slots[i] = take(&mut free);
        }
    }
    for (at, step) in steps.iter().enumerate() {
        if let Step::Compute(i) = *step
            && slots[i as usize] == u32::MAX
        {
            // A fresh place before the operands' places are given back: a
            // result never overwrites what it is computed from.
            slots[i as usize] = take(&mut free);
        }
        for &dead in &expiring[at] {
            free.push(slots[dead as usize]);
        }
    }
    (slots, count as usize)
}
