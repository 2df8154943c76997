//! Why a network has no solution.

/// A network that cannot be solved, with what to do about it.
#[derive(Clone, Debug, PartialEq)]
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
        /// The elements that stand against each other.
        elements: Vec<String>,
        /// The element that would fix it.
        hint: String,
    },
    /// The operating point was not found within the allowed steps.
    NoConvergence {
        /// The nonlinear elements whose equations are not met.
        elements: Vec<String>,
    },
    /// An element is controlled by the current of one that does not exist, or
    /// whose current is not determined.
    UnknownElement {
        /// The controlled element.
        element: String,
        /// What it names.
        control: String,
    },
    /// Two elements have one name.
    Repeated {
        /// The name.
        element: String,
    },
    /// An element stands at a node of another network.
    ForeignNode {
        /// The element.
        element: String,
    },
    /// A value no such element can have.
    Impossible {
        /// The element.
        element: String,
        /// Which of its properties.
        property: &'static str,
        /// The nominal value given, in the SI unit of the property.
        value: f64,
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
            Fault::Singular {
                unknowns,
                elements,
                hint,
            } => {
                write!(f, "the network does not determine {}", unknowns.join(", "))?;
                if !elements.is_empty() {
                    write!(f, " (see {})", elements.join(", "))?;
                }
                write!(f, "; {hint} would fix it")
            }
            Fault::NoConvergence { elements } => write!(
                f,
                "no operating point was found for {}",
                elements.join(", ")
            ),
            Fault::UnknownElement { element, control } => write!(
                f,
                "{element} is controlled by the current of {control}, which is not known"
            ),
            Fault::Repeated { element } => write!(f, "two elements are named {element}"),
            Fault::ForeignNode { element } => {
                write!(f, "{element} stands at a node of another network")
            }
            Fault::Impossible {
                element,
                property,
                value,
            } => write!(f, "{element} cannot have a {property} of {value}"),
        }
    }
}

impl std::error::Error for Fault {}
