//! What capacitors keep of their value.

use std::collections::BTreeMap;

use circuit::{Element, Solution};
use parts::{Figure, Part};
use tape::{Table, Value};

use super::Unmodelled;
use super::site::Site;
use crate::variables::{Kind, Lies, Trace, Variable};

/// Seconds in an hour; ageing is stated for each decade of hours.
const HOUR_S: f64 = 3600.0;

impl<'t> Site<'_, 't> {
    /// By the name of the capacitor, the factor that its dielectric leaves of
    /// its value at the voltage it stands at, over temperature and in service.
    ///
    /// A class 2 ceramic loses with voltage; how much depends on its size, so
    /// that it lies between nothing and what the generic part of its class
    /// loses at most. Direct voltages do not depend on it.
    ///
    /// # Errors
    /// The figures of the class do not rise.
    pub(crate) fn deratings(
        &self,
        solution: &Solution<'t>,
    ) -> Result<BTreeMap<String, Value<'t>>, Unmodelled> {
        let mut factors = BTreeMap::new();
        let stages = self.stages();
        for (name, element) in solution.elements() {
            let Element::Capacitor { a, b, .. } = element else {
                continue;
            };
            let Some((stage, key)) = stages.iter().find_map(|s| {
                let key = name.strip_prefix(&s.path)?.strip_prefix('.')?;
                Some((s, key))
            }) else {
                continue;
            };
            let Some(written) = stage.valued(key) else {
                continue;
            };
            let words = &written.value.words;
            let Some(part) = words.iter().find_map(|w| parts::dielectric(w)) else {
                continue;
            };
            let title = format!("{} {key}", self.stage_name(stage));
            let volt = solution.between(*a, *b);
            let mut factor = self.biased(part, words, name, &title, volt)?;
            if let Some(f) = part.figure("temperature-change")
                && let (Some(low), Some(high)) = (f.min, f.max)
            {
                let lies = Lies::Between(low, high);
                let (kind, what) = (Kind::Temperature, "change with temperature");
                factor = factor * (self.change(name, &title, what, lies, kind, f) + 1.0);
            }
            if let (Some(f), Some(life)) = (part.figure("ageing"), self.board.conditions.service_s)
                && let Some(each) = f.min
                && life > HOUR_S
            {
                let most = each * elementary::log10(life / HOUR_S);
                let middle = 0.5 * most;
                let lies = Lies::Between(-middle.abs(), middle.abs());
                let (kind, what) = (Kind::Ageing, "ageing");
                let aged = self.change(name, &title, what, lies, kind, f);
                factor = factor * (aged + (1.0 + middle));
            }
            factors.insert(name.clone(), factor);
        }
        Ok(factors)
    }

    /// The factor a voltage leaves.
    fn biased(
        &self,
        part: &Part,
        words: &[String],
        name: &str,
        title: &str,
        volt: Value<'t>,
    ) -> Result<Value<'t>, Unmodelled> {
        let b = self.builder;
        let Some(f) = part.figure("bias-change").filter(|f| f.points.len() > 1) else {
            return Ok(b.one());
        };
        let stated = words.iter().find_map(|w| rating(w));
        let rated = stated.or_else(|| part.figure("voltage").and_then(|v| v.max));
        let Some(rated) = rated.filter(|v| *v > 0.0) else {
            return Ok(b.one());
        };
        let (x, y): (Vec<f64>, Vec<f64>) = f.points.iter().copied().unzip();
        let last = x.last().copied().unwrap_or(1.0);
        let table = Table::lines(&x, &y)
            .map_err(|_| Unmodelled::new(format!("the points of `{}` do not rise", part.id)))?;
        let share = (volt.abs() * (1.0 / rated)).clamp(b.zero(), b.constant(last));
        let most = b.lookup(&table, share);
        let lies = Lies::Between(-0.5, 0.5);
        let which = self.change(name, title, "loss with voltage", lies, Kind::Fixed, f);
        Ok(most * (which + 0.5) + 1.0)
    }

    fn change(
        &self,
        name: &str,
        title: &str,
        what: &str,
        lies: Lies,
        kind: Kind,
        f: &Figure,
    ) -> Value<'t> {
        self.deviation(Variable::board(
            &format!("{name}.{what}"),
            &format!("{title}, {what}"),
            "",
            lies,
            kind,
            Trace::figure(f),
        ))
    }
}

/// A rated voltage among the words behind a capacitance: `16V`.
fn rating(word: &str) -> Option<f64> {
    word.strip_suffix('V')?.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rating_is_a_number_of_volts() {
        assert_eq!(rating("16V"), Some(16.0));
        assert_eq!(rating("6.3V"), Some(6.3));
        assert_eq!(rating("X7R"), None);
        assert_eq!(rating("V"), None);
    }
}
