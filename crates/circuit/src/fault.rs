//! Why a network has no solution.

/// A network that cannot be solved, with what to do about it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Fault {
    /// Nodes without a direct-current path to ground.
    Floating {
        /// Their names.
        nodes: Vec<String>,
    },
    /// The equations do not determine these unknowns.
    Singular {
        /// Node voltages and element currents left undetermined.
        unknowns: Vec<String>,
        /// The element that would fix it.
        hint: String,
    },
    /// An element is given twice under one name.
    Repeated {
        /// The name.
        element: String,
    },
}

impl std::fmt::Display for Fault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Fault::Floating { nodes } => write!(
                f,
                "no direct-current path to ground from {}; a resistor from there to ground or to a supply would fix it",
                nodes.join(", ")
            ),
            Fault::Singular { unknowns, hint } => {
                write!(
                    f,
                    "the network does not determine {}; {hint}",
                    unknowns.join(", ")
                )
            }
            Fault::Repeated { element } => write!(f, "two elements are named {element}"),
        }
    }
}

impl std::error::Error for Fault {}
