//! Quantities that depend linearly on sources not yet known.

use std::collections::BTreeMap;

use tape::{Builder, Value};

/// A fixed part plus a coefficient for each unknown source.
#[derive(Clone, Debug)]
pub(crate) struct Affine<'t> {
    pub base: Value<'t>,
    pub by_source: BTreeMap<usize, Value<'t>>,
}

impl<'t> Affine<'t> {
    pub fn fixed(base: Value<'t>) -> Self {
        Affine {
            base,
            by_source: BTreeMap::new(),
        }
    }

    pub fn zero(builder: &'t Builder) -> Self {
        Self::fixed(builder.zero())
    }

    /// The source `k` itself.
    pub fn source(builder: &'t Builder, k: usize) -> Self {
        Affine {
            base: builder.zero(),
            by_source: BTreeMap::from([(k, builder.one())]),
        }
    }

    pub fn add(&mut self, other: &Affine<'t>) {
        self.base = self.base + other.base;
        for (&k, &v) in &other.by_source {
            self.join(k, v, |old| old + v);
        }
    }

    pub fn subtract(&mut self, other: &Affine<'t>) {
        self.base = self.base - other.base;
        for (&k, &v) in &other.by_source {
            self.join(k, -v, |old| old - v);
        }
    }

    fn join(&mut self, k: usize, alone: Value<'t>, with: impl FnOnce(Value<'t>) -> Value<'t>) {
        let sum = match self.by_source.get(&k) {
            Some(&old) => with(old),
            None => alone,
        };
        if sum.is_zero() {
            self.by_source.remove(&k);
        } else {
            self.by_source.insert(k, sum);
        }
    }

    pub fn minus(mut self, other: &Affine<'t>) -> Self {
        self.subtract(other);
        self
    }

    pub fn plus(mut self, other: &Affine<'t>) -> Self {
        self.add(other);
        self
    }

    pub fn times(&self, factor: Value<'t>) -> Self {
        Affine {
            base: self.base * factor,
            by_source: self
                .by_source
                .iter()
                .map(|(&k, &v)| (k, v * factor))
                .filter(|(_, v)| !v.is_zero())
                .collect(),
        }
    }

    pub fn divided(&self, divisor: Value<'t>) -> Self {
        Affine {
            base: self.base / divisor,
            by_source: self
                .by_source
                .iter()
                .map(|(&k, &v)| (k, v / divisor))
                .collect(),
        }
    }

    /// The value once the sources are known.
    pub fn at(&self, sources: &[Value<'t>]) -> Value<'t> {
        let mut sum = self.base;
        for (&k, &v) in &self.by_source {
            if let Some(&s) = sources.get(k) {
                sum = sum + v * s;
            }
        }
        sum
    }
}
