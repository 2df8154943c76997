//! Nodes and their names.

/// A node of a network.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, PartialOrd, Ord)]
pub struct Node(pub(crate) usize);

impl Node {
    /// The common return, at zero volts.
    pub const GROUND: Node = Node(0);
}

/// The names of all nodes of a network; the first is ground.
#[derive(Clone, Debug)]
pub(crate) struct Names {
    list: Vec<String>,
    known: std::collections::HashMap<String, usize>,
}

impl Names {
    pub fn new() -> Self {
        let list = vec!["ground".to_owned()];
        let known = [("ground".to_owned(), 0), ("gnd".to_owned(), 0)].into();
        Names { list, known }
    }

    pub fn found_or_made(&mut self, name: &str) -> Node {
        if let Some(&i) = self.known.get(name) {
            return Node(i);
        }
        self.list.push(name.to_owned());
        self.known.insert(name.to_owned(), self.list.len() - 1);
        Node(self.list.len() - 1)
    }

    /// A node that did not exist before, called after the hint.
    pub fn fresh(&mut self, hint: &str) -> Node {
        let mut name = hint.to_owned();
        let mut number = 2;
        while self.known.contains_key(&name) {
            name = format!("{hint}.{number}");
            number += 1;
        }
        self.found_or_made(&name)
    }

    pub fn find(&self, name: &str) -> Option<Node> {
        self.known.get(name).map(|&i| Node(i))
    }

    pub fn of(&self, node: usize) -> &str {
        self.list.get(node).map_or("", String::as_str)
    }

    pub fn count(&self) -> usize {
        self.list.len()
    }
}
