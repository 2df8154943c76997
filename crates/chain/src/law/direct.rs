//! Quantities that are measured as they are: a voltage, a current, a
//! resistance at the input of the chain.

use quantity::Dimension;
use tape::Value;

use super::interface::{Auxiliaries, Electrical, Law, LawFault, ParameterSpec};
use super::parameters::Parameters;

/// The electrical value is the quantity itself.
pub(super) struct Direct {
    /// Which of the three.
    pub electrical: Electrical,
}

impl Law for Direct {
    fn name(&self) -> &'static str {
        match self.electrical {
            Electrical::Current => "direct-current",
            Electrical::Resistance => "direct-resistance",
            _ => "direct-voltage",
        }
    }

    fn quantity(&self) -> Option<Dimension> {
        Some(match self.electrical {
            Electrical::Current => Dimension::CURRENT,
            Electrical::Resistance => Dimension::RESISTANCE,
            _ => Dimension::VOLTAGE,
        })
    }

    fn electrical(&self) -> Electrical {
        self.electrical
    }

    fn parameters(&self) -> &'static [ParameterSpec] {
        &[]
    }

    fn validity(&self, _: &Parameters<'_>) -> Option<(f64, f64)> {
        None
    }

    fn forward<'t>(
        &self,
        quantity: Value<'t>,
        _: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault> {
        Ok(quantity)
    }

    fn inverse<'t>(
        &self,
        electrical: Value<'t>,
        _: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault> {
        Ok(electrical)
    }
}
