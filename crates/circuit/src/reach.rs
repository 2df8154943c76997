//! Which nodes direct current can reach.

use crate::network::Element;

/// Nodes without a path to ground through elements that fix or carry direct
/// current.
pub(crate) fn floating(nodes: usize, elements: &[(String, Element<'_>)]) -> Vec<usize> {
    let mut group: Vec<usize> = (0..nodes).collect();
    fn root(group: &mut [usize], mut i: usize) -> usize {
        while group[i] != i {
            group[i] = group[group[i]];
            i = group[i];
        }
        i
    }
    for (_, element) in elements {
        let (a, b) = match element {
            // A conductance of exactly zero is an open circuit.
            Element::Conductance { a, b, siemens } if !siemens.is_zero() => (a.0, b.0),
            Element::VoltageSource { plus, minus, .. }
            | Element::Controlled { plus, minus, .. } => (plus.0, minus.0),
            _ => continue,
        };
        let (a, b) = (root(&mut group, a), root(&mut group, b));
        group[a.max(b)] = a.min(b);
    }
    (1..nodes).filter(|&i| root(&mut group, i) != 0).collect()
}
