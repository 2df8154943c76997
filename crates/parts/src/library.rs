//! Parts by name.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::part::Part;

/// A collection of parts, each under a name of its own.
#[derive(Clone, Debug, Default)]
pub struct Library {
    parts: BTreeMap<String, Arc<Part>>,
}

impl Library {
    /// No parts.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a part.
    ///
    /// # Errors
    /// The part that has this name already, which stays.
    pub fn add(&mut self, part: Part) -> Result<(), Arc<Part>> {
        if let Some(there) = self.parts.get(&part.id) {
            return Err(there.clone());
        }
        self.parts.insert(part.id.clone(), Arc::new(part));
        Ok(())
    }

    /// A part by name.
    #[must_use]
    pub fn get(&self, name: &str) -> Option<&Part> {
        self.parts.get(name).map(Arc::as_ref)
    }

    /// A part by name, to be kept.
    #[must_use]
    pub fn shared(&self, name: &str) -> Option<Arc<Part>> {
        self.parts.get(name).cloned()
    }

    /// All parts by name.
    pub fn iter(&self) -> impl Iterator<Item = &Part> {
        self.parts.values().map(Arc::as_ref)
    }
}
