//! The numbers, words and points that one sensor gives to its law.

use std::collections::BTreeMap;

use quantity::Dimension;
use tape::{Builder, Value};

use super::interface::{Auxiliaries, Law, LawFault, ZERO_CELSIUS_K};

/// Named parameters of one sensor, as values on a tape.
///
/// Only names that the law knows are taken; what is not given falls back to
/// the law's default.
#[derive(Clone)]
pub struct Parameters<'t> {
    builder: &'t Builder,
    law: &'static dyn Law,
    quantity: Dimension,
    values: BTreeMap<&'static str, Value<'t>>,
    words: BTreeMap<&'static str, &'static str>,
    points: BTreeMap<&'static str, Vec<(f64, f64)>>,
}

impl<'t> Parameters<'t> {
    /// Nothing given yet. `quantity` is what the channel measures; it counts
    /// for laws that take any quantity.
    #[must_use]
    pub fn new(builder: &'t Builder, law: &'static dyn Law, quantity: Dimension) -> Self {
        Parameters {
            builder,
            law,
            quantity: law.quantity().unwrap_or(quantity),
            values: BTreeMap::new(),
            words: BTreeMap::new(),
            points: BTreeMap::new(),
        }
    }

    /// The tape the values are on.
    #[must_use]
    pub fn builder(&self) -> &'t Builder {
        self.builder
    }

    /// Dimension of the quantity measured.
    #[must_use]
    pub fn quantity(&self) -> Dimension {
        self.quantity
    }

    /// Gives a parameter its value, SI.
    ///
    /// # Errors
    /// The law has no such parameter.
    pub fn set(&mut self, name: &str, value: Value<'t>) -> Result<(), LawFault> {
        let found = self.law.parameters().iter().find(|s| s.name == name);
        let spec = found.ok_or_else(|| self.unknown(name))?;
        self.values.insert(spec.name, value);
        Ok(())
    }

    /// Makes a choice.
    ///
    /// # Errors
    /// The law has no such word, or the word no such choice.
    pub fn set_word(&mut self, name: &str, word: &str) -> Result<(), LawFault> {
        let found = self.law.words().iter().find(|s| s.name == name);
        let spec = found.ok_or_else(|| self.unknown(name))?;
        match spec.choices.iter().find(|&&c| c == word) {
            Some(choice) => {
                self.words.insert(spec.name, choice);
                Ok(())
            }
            None => Err(LawFault::UnknownWord {
                law: self.law.name(),
                name: spec.name,
                given: word.to_owned(),
                choices: spec.choices,
            }),
        }
    }

    /// Gives a list of points (quantity, electrical value), SI, in any order.
    ///
    /// # Errors
    /// The law has no such list; fewer than two points, equal quantities, or
    /// a value that is no number.
    pub fn set_points(&mut self, name: &str, mut points: Vec<(f64, f64)>) -> Result<(), LawFault> {
        let found = self.law.points().iter().find(|s| s.name == name);
        let spec = found.ok_or_else(|| self.unknown(name))?;
        let fault = |why| LawFault::NoInverse {
            law: self.law.name(),
            why,
        };
        if points.len() < 2 {
            return Err(fault("fewer than two points"));
        }
        if points.iter().any(|(x, y)| !x.is_finite() || !y.is_finite()) {
            return Err(fault("a point is no number"));
        }
        points.sort_by(|a, b| a.0.total_cmp(&b.0));
        if points.windows(2).any(|w| w[0].0 >= w[1].0) {
            return Err(fault("two points at the same quantity"));
        }
        self.points.insert(spec.name, points);
        Ok(())
    }

    /// Everything that must be given and is not.
    #[must_use]
    pub fn missing(&self) -> Vec<LawFault> {
        let law = self.law.name();
        let numbers = self.law.parameters().iter().filter(|s| s.required);
        let words = self.law.words().iter().filter(|s| s.default.is_none());
        numbers
            .filter(|s| !self.values.contains_key(s.name))
            .map(|s| LawFault::MissingParameter { law, name: s.name })
            .chain(
                words
                    .filter(|s| !self.words.contains_key(s.name))
                    .map(|s| LawFault::MissingWord { law, name: s.name }),
            )
            .chain(
                (self.law.points().iter())
                    .filter(|s| !self.points.contains_key(s.name))
                    .map(|s| LawFault::MissingPoints { law, name: s.name }),
            )
            .collect()
    }

    /// A parameter, or the law's default for it.
    ///
    /// # Errors
    /// Neither is there.
    pub fn get(&self, name: &'static str) -> Result<Value<'t>, LawFault> {
        self.maybe(name).ok_or(LawFault::MissingParameter {
            law: self.law.name(),
            name,
        })
    }

    /// A parameter, or the law's default for it, if there is either.
    #[must_use]
    pub fn maybe(&self, name: &str) -> Option<Value<'t>> {
        self.values.get(name).copied().or_else(|| {
            let spec = self.law.parameters().iter().find(|s| s.name == name)?;
            spec.default.map(|d| self.builder.constant(d))
        })
    }

    /// A parameter that must be above zero.
    ///
    /// # Errors
    /// It is missing, or its nominal value is not above zero.
    pub fn positive(&self, name: &'static str) -> Result<Value<'t>, LawFault> {
        self.checked(name, "above zero", |v| v > 0.0)
    }

    /// A parameter that is divided by.
    ///
    /// # Errors
    /// It is missing, or its nominal value is zero or no number.
    pub fn nonzero(&self, name: &'static str) -> Result<Value<'t>, LawFault> {
        self.checked(name, "other than zero", |v| v != 0.0 && v.is_finite())
    }

    /// Two parameters of which the second must be above the first.
    ///
    /// # Errors
    /// Either is missing, or they are not in this order.
    pub fn ordered(
        &self,
        low: &'static str,
        high: &'static str,
    ) -> Result<(Value<'t>, Value<'t>), LawFault> {
        let bottom = self.get(low)?;
        let floor = bottom.nominal();
        let top = self.checked(high, "above the low end", |v| v > floor)?;
        Ok((bottom, top))
    }

    /// Two parameters that must differ.
    ///
    /// # Errors
    /// Either is missing, or they are equal.
    pub fn distinct(
        &self,
        first: &'static str,
        second: &'static str,
    ) -> Result<(Value<'t>, Value<'t>), LawFault> {
        let one = self.get(first)?;
        let taken = one.nominal();
        let other = self.checked(second, "different from the other end", |v| {
            (v - taken).abs() > 0.0
        })?;
        Ok((one, other))
    }

    /// The range between two parameters' nominal values, whichever is lower.
    #[must_use]
    pub fn between(&self, first: &str, second: &str) -> Option<(f64, f64)> {
        let (a, b) = (self.maybe(first)?.nominal(), self.maybe(second)?.nominal());
        Some((a.min(b), a.max(b)))
    }

    /// The first and last quantity of a list of points.
    #[must_use]
    pub fn ends(&self, name: &str) -> Option<(f64, f64)> {
        let list = self.points.get(name)?;
        Some((list.first()?.0, list.last()?.0))
    }

    fn checked(
        &self,
        name: &'static str,
        must_be: &'static str,
        holds: impl Fn(f64) -> bool,
    ) -> Result<Value<'t>, LawFault> {
        let value = self.get(name)?;
        if holds(value.nominal()) {
            Ok(value)
        } else {
            Err(LawFault::OutOfDomain {
                law: self.law.name(),
                name,
                value: value.nominal(),
                must_be,
            })
        }
    }

    /// The quantity at which a law starts to count: the parameter `origin`,
    /// else the zero of the scale on which people state the quantity, which
    /// is 0 °C for temperatures.
    #[must_use]
    pub fn origin(&self) -> Value<'t> {
        self.maybe("origin").unwrap_or_else(|| {
            self.builder
                .constant(if self.quantity == Dimension::TEMPERATURE {
                    ZERO_CELSIUS_K
                } else {
                    0.0
                })
        })
    }

    /// A word, or the law's default for it.
    ///
    /// # Errors
    /// Neither is there.
    pub fn word(&self, name: &'static str) -> Result<&'static str, LawFault> {
        let spec = self.law.words().iter().find(|s| s.name == name);
        let given = self.words.get(name).copied();
        given
            .or_else(|| spec.and_then(|s| s.default))
            .ok_or(LawFault::MissingWord {
                law: self.law.name(),
                name,
            })
    }

    /// A list of points, by rising quantity.
    ///
    /// # Errors
    /// It is not given.
    pub fn points(&self, name: &'static str) -> Result<&[(f64, f64)], LawFault> {
        let list = self.points.get(name).map(Vec::as_slice);
        list.ok_or(LawFault::MissingPoints {
            law: self.law.name(),
            name,
        })
    }

    /// A value besides the law's own.
    ///
    /// # Errors
    /// It is not provided.
    pub fn auxiliary(
        &self,
        aux: Auxiliaries<'_, 't>,
        name: &'static str,
    ) -> Result<Value<'t>, LawFault> {
        aux(name).ok_or(LawFault::MissingAuxiliary {
            law: self.law.name(),
            name,
        })
    }

    /// That the points or coefficients of the law cannot be read backwards.
    #[must_use]
    pub fn no_inverse(&self, why: &'static str) -> LawFault {
        LawFault::NoInverse {
            law: self.law.name(),
            why,
        }
    }

    fn unknown(&self, name: &str) -> LawFault {
        LawFault::UnknownName {
            law: self.law.name(),
            name: name.to_owned(),
        }
    }
}

impl std::fmt::Debug for Parameters<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Parameters")
            .field("law", &self.law.name())
            .field("values", &self.values)
            .field("words", &self.words)
            .field("points", &self.points)
            .finish_non_exhaustive()
    }
}
