//! Insulation of capacitors by their dielectric.

use board::Stage;
use tape::Value;

use super::site::Site;
use crate::variables::{Kind, Lies, Trace, Variable};

impl<'t> Site<'_, 't> {
    /// Leakage conductance of a capacitor whose dielectric is named behind its
    /// value, S; `None` where it is not.
    ///
    /// The product of insulation and capacitance is a least value, so that the
    /// leakage lies anywhere between none and C over that product.
    pub fn insulation(
        &self,
        stage: &Stage,
        key: &str,
        name: &str,
        farad: Value<'t>,
    ) -> Option<Value<'t>> {
        let words = &stage.valued(key)?.value.words;
        let part = words.iter().find_map(|w| parts::dielectric(w))?;
        let f = part.figure("insulation")?;
        let least_s = f.min.filter(|s| *s > 0.0)?;
        let share = self.deviation(Variable::board(
            &format!("{}.{key}.insulation", stage.path),
            &format!("{name}, insulation"),
            "",
            Lies::Between(0.0, 1.0),
            Kind::Fixed,
            Trace::figure(f),
        ));
        Some(farad * share * (1.0 / least_s))
    }
}
