//! What depends on what, and the values on which all of it settles.
//!
//! Rails feed loads, loads pull rails down, what they turn into heat changes
//! what they draw. Each quantity is a node with a rule over others; nodes that
//! need each other form a ring. Rings are gone round until nothing moves any
//! more, a bounded number of times, everything else is worked out once.

use std::fmt;

/// Number of a node.
pub type NodeId = usize;

/// Rounds after which a ring counts as not settling.
pub const MOST_ROUNDS: usize = 200;

/// Change, as a share of the value, below which nothing moves any more.
const STILL: f64 = 1e-12;

type Rule<'a> = Box<dyn Fn(&[f64]) -> f64 + 'a>;

struct Node<'a> {
    name: String,
    unit: &'static str,
    needs: Vec<NodeId>,
    rule: Rule<'a>,
}

/// Quantities that depend on one another.
#[derive(Default)]
pub struct Graph<'a> {
    nodes: Vec<Node<'a>>,
    values: Vec<f64>,
}

impl fmt::Debug for Graph<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let named = self.nodes.iter().map(|n| &n.name).zip(&self.values);
        f.debug_map().entries(named).finish()
    }
}

/// What came of it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Settled {
    /// The value of each node.
    pub values: Vec<f64>,
    /// Rounds of the ring that took longest; 1 where there is none.
    pub rounds: usize,
    /// Rings that did not settle.
    pub restless: Vec<Ring>,
}

/// A ring that did not settle.
#[derive(Clone, Debug, PartialEq)]
pub struct Ring {
    /// Its quantities, in the order they were gone through.
    pub names: Vec<String>,
    /// The one that moved most in the end.
    pub most: String,
    /// Its node.
    pub node: NodeId,
    /// Its unit.
    pub unit: &'static str,
    /// Its value before the last round.
    pub before: f64,
    /// Its value after it.
    pub after: f64,
    /// Rounds gone.
    pub rounds: usize,
}

impl<'a> Graph<'a> {
    /// None yet.
    #[must_use]
    pub fn new() -> Self {
        Graph::default()
    }

    /// A quantity with where it starts; its rule is given by
    /// [`Graph::follows`], until when it stays there.
    pub fn node(&mut self, name: impl Into<String>, unit: &'static str, start: f64) -> NodeId {
        let id = self.nodes.len();
        self.nodes.push(Node {
            name: name.into(),
            unit,
            needs: Vec::new(),
            rule: Box::new(move |_| start),
        });
        self.values.push(start);
        id
    }

    /// The rule of a node over the values of all nodes, and those it needs.
    pub fn follows(&mut self, node: NodeId, needs: &[NodeId], rule: impl Fn(&[f64]) -> f64 + 'a) {
        if let Some(n) = self.nodes.get_mut(node) {
            n.needs = needs.to_vec();
            n.rule = Box::new(rule);
        }
    }

    /// Works out everything.
    #[must_use]
    pub fn settle(mut self) -> Settled {
        let mut settled = Settled {
            rounds: 1,
            ..Settled::default()
        };
        for ring in self.rings() {
            let alone = ring.len() == 1
                && ring
                    .first()
                    .is_some_and(|&i| self.nodes.get(i).is_some_and(|n| !n.needs.contains(&i)));
            if alone {
                self.round(&ring);
                continue;
            }
            let mut rounds = 0;
            loop {
                rounds += 1;
                let before: Vec<f64> = ring.iter().map(|&i| self.value(i)).collect();
                self.round(&ring);
                let moved = |(k, &i): (usize, &NodeId)| {
                    let (old, new) = (before.get(k).copied().unwrap_or(0.0), self.value(i));
                    // What is no number any more has moved without bound.
                    let change = (new - old).abs() / new.abs().max(old.abs()).max(1e-30);
                    (if change.is_finite() { change } else { f64::MAX }, i, old)
                };
                let most = ring.iter().enumerate().map(moved).fold(
                    None,
                    |a: Option<(f64, NodeId, f64)>, b| match a {
                        Some(a) if a.0 >= b.0 => Some(a),
                        _ => Some(b),
                    },
                );
                let Some((change, i, old)) = most else { break };
                if change < STILL {
                    break;
                }
                if rounds >= MOST_ROUNDS || change == f64::MAX {
                    settled.restless.push(Ring {
                        names: ring
                            .iter()
                            .filter_map(|&i| self.nodes.get(i).map(|n| n.name.clone()))
                            .collect(),
                        most: self
                            .nodes
                            .get(i)
                            .map(|n| n.name.clone())
                            .unwrap_or_default(),
                        node: i,
                        unit: self.nodes.get(i).map_or("", |n| n.unit),
                        before: old,
                        after: self.value(i),
                        rounds,
                    });
                    break;
                }
            }
            settled.rounds = settled.rounds.max(rounds);
        }
        settled.values = self.values;
        settled
    }

    fn value(&self, i: NodeId) -> f64 {
        self.values.get(i).copied().unwrap_or(f64::NAN)
    }

    fn round(&mut self, ring: &[NodeId]) {
        for &i in ring {
            if let Some(n) = self.nodes.get(i) {
                let value = (n.rule)(&self.values);
                if let Some(place) = self.values.get_mut(i) {
                    *place = value;
                }
            }
        }
    }

    /// Nodes that need each other, each ring after those it needs (Tarjan,
    /// SIAM J. Comput. 1 (1972) 146; written without recursion).
    fn rings(&self) -> Vec<Vec<NodeId>> {
        const NEW: usize = usize::MAX;
        let count = self.nodes.len();
        let (mut number, mut lowest) = (vec![NEW; count], vec![0; count]);
        let mut open = vec![false; count];
        let (mut stack, mut rings, mut next) = (Vec::new(), Vec::new(), 0);
        for start in 0..count {
            if number[start] != NEW {
                continue;
            }
            let mut path: Vec<(NodeId, usize)> = vec![(start, 0)];
            while let Some((i, at)) = path.pop() {
                if at == 0 {
                    number[i] = next;
                    lowest[i] = next;
                    next += 1;
                    stack.push(i);
                    open[i] = true;
                }
                let mut deeper = None;
                for (k, &need) in self.nodes[i].needs.iter().enumerate().skip(at) {
                    if need >= count {
                        continue;
                    }
                    if number[need] == NEW {
                        deeper = Some((k, need));
                        break;
                    }
                    if open[need] {
                        lowest[i] = lowest[i].min(lowest[need]);
                    }
                }
                if let Some((k, need)) = deeper {
                    // Looked at again when it is done; zero marks a node that
                    // was not entered yet.
                    path.push((i, k.max(1)));
                    path.push((need, 0));
                    continue;
                }
                // A need skipped while this node was entered again.
                for &need in &self.nodes[i].needs {
                    if need < count && open[need] {
                        lowest[i] = lowest[i].min(lowest[need]);
                    }
                }
                if lowest[i] == number[i] {
                    let mut ring = Vec::new();
                    while let Some(k) = stack.pop() {
                        open[k] = false;
                        ring.push(k);
                        if k == i {
                            break;
                        }
                    }
                    ring.reverse();
                    rings.push(ring);
                }
            }
        }
        rings
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    #[test]
    fn a_ring_settles_where_its_equations_agree() {
        // A constant power of 2 W behind 1 Ω from 5 V: V = 5 − 2/V, so that
        // V = (5 + √17)/2 = 4.561553 V.
        let mut g = Graph::new();
        let volt = g.node("voltage", "V", 5.0);
        let ampere = g.node("current", "A", 0.0);
        g.follows(volt, &[ampere], move |v| 5.0 - v[ampere]);
        g.follows(ampere, &[volt], move |v| 2.0 / v[volt]);
        let s = g.settle();
        assert!((s.values[volt] - 0.5 * (5.0 + 17.0_f64.sqrt())).abs() < 1e-9);
        assert!(s.restless.is_empty() && s.rounds > 3);
    }

    #[test]
    fn a_ring_without_a_solution_is_named_with_its_last_values() {
        // Most that 5 V behind 1 Ω can give is 6.25 W.
        let mut g = Graph::new();
        let volt = g.node("voltage", "V", 5.0);
        let ampere = g.node("current", "A", 0.0);
        let apart = g.node("apart", "A", 0.0);
        g.follows(volt, &[ampere], move |v| 5.0 - v[ampere]);
        g.follows(ampere, &[volt], move |v| 8.0 / v[volt]);
        g.follows(apart, &[], |_| 3.0);
        let s = g.settle();
        assert_eq!(s.restless.len(), 1);
        let mut names = s.restless[0].names.clone();
        names.sort();
        assert_eq!(names, ["current", "voltage"]);
        assert_eq!(s.restless[0].rounds, MOST_ROUNDS);
        assert_eq!(s.values[apart], 3.0);
    }

    #[test]
    fn what_is_needed_is_worked_out_first_whatever_the_order() {
        let mut g = Graph::new();
        let ids: Vec<NodeId> = (0..50).map(|i| g.node(format!("{i}"), "", 0.0)).collect();
        for (i, &id) in ids.iter().enumerate() {
            // Each needs the next two; the last is one.
            let needs: Vec<NodeId> = [i + 1, i + 2]
                .iter()
                .filter_map(|k| ids.get(*k).copied())
                .collect();
            let own = needs.clone();
            g.follows(id, &needs, move |v| {
                if own.is_empty() {
                    1.0
                } else {
                    own.iter().map(|&k| v[k]).sum()
                }
            });
        }
        let s = g.settle();
        // Fibonacci numbers.
        assert_eq!(s.values[0], 12_586_269_025.0);
        assert_eq!(s.rounds, 1);
    }
}
