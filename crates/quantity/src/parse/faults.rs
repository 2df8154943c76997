//! Wording of the faults, in one place so that they read alike.

use crate::dimension::Dimension;
use crate::fault::Fault;
use crate::spelling;

use super::cursor::shown;

/// What the place in the file wants.
#[derive(Clone, Copy, Debug)]
pub(super) struct Want {
    /// Dimension wanted; `None` takes any.
    pub(super) dimension: Option<Dimension>,
    /// Temperatures are differences: °C has no offset.
    pub(super) difference: bool,
    pub(super) form: Form,
}

/// The form of the text, for the example in messages.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Form {
    Value,
    Valued,
    Range,
    Unknown,
    Accuracy,
}

impl Want {
    pub(super) fn new(dimension: Dimension, form: Form) -> Self {
        Self {
            dimension: Some(dimension),
            difference: false,
            form,
        }
    }

    pub(super) fn as_difference(self) -> Self {
        Self {
            difference: true,
            ..self
        }
    }

    /// "a resistance", "a temperature difference".
    pub(super) fn noun(&self) -> String {
        match self.dimension {
            Some(Dimension::TEMPERATURE) if self.difference => {
                "a temperature difference".to_owned()
            }
            Some(dimension) => dimension.with_article(),
            None => "a value".to_owned(),
        }
    }

    /// A well-formed text for this place.
    fn example(&self) -> String {
        let named = self.dimension.and_then(Dimension::kind);
        let unit = match self.dimension {
            Some(Dimension::TEMPERATURE) if !self.difference => "°C".to_owned(),
            Some(dimension) => match named {
                Some(kind) => kind.symbol.to_owned(),
                None => dimension.base_symbol(),
            },
            None => "V".to_owned(),
        };
        let with_unit = |number: &str| format!("{number} {unit}").trim_end().to_owned();
        match self.form {
            Form::Value | Form::Valued => match self.dimension {
                Some(Dimension::TEMPERATURE) if self.difference => "0.3 K".to_owned(),
                None => "3.3 V".to_owned(),
                _ => named.map_or_else(|| with_unit("1"), |kind| kind.example.to_owned()),
            },
            Form::Range => with_unit("0 to 10"),
            Form::Unknown => format!("? or {}", with_unit("? 1 to 20")),
            Form::Accuracy => {
                format!("{}, 0.5 % of reading or 0.1 % of span", with_unit("0.3"))
            }
        }
    }

    pub(super) fn expected(&self) -> String {
        let owner = match self.form {
            Form::Value | Form::Valued => "",
            Form::Range => "the range of ",
            Form::Unknown => "the bounds of ",
            Form::Accuracy => "the accuracy of ",
        };
        format!("{owner}{}, for example {}", self.noun(), self.example())
    }

    /// What may follow a value.
    pub(super) fn tail_expected(&self) -> String {
        let (tolerance, drift) = match self.dimension {
            Some(Dimension::TEMPERATURE) => ("± 2 °C", None),
            Some(Dimension::HUMIDITY) => ("± 2 %RH", Some("0.05 %RH/K")),
            Some(Dimension::PH) => ("± 0.02 pH", Some("0.003 pH/K")),
            _ => ("± 5 %", Some("25 ppm/K")),
        };
        match drift {
            Some(drift) => format!("a tolerance such as {tolerance}, or a drift such as {drift}"),
            None => format!("a tolerance such as {tolerance}"),
        }
    }

    pub(super) fn fault(&self, start: usize, end: usize, message: impl Into<String>) -> Fault {
        Fault {
            start,
            end,
            message: message.into(),
            expected: self.expected(),
            suggestion: None,
        }
    }

    pub(super) fn mismatch(
        &self,
        start: usize,
        end: usize,
        written: &str,
        found: Dimension,
    ) -> Fault {
        let is = match found {
            Dimension::NONE => "a plain number".to_owned(),
            dimension => dimension.with_article(),
        };
        let mut fault = self.fault(
            start,
            end,
            format!("{} is {is}, not {}", shown(written), self.noun()),
        );
        if let Some(wanted) = self.dimension {
            fault.suggestion = spelling::for_dimension(written, wanted);
        }
        fault
    }

    pub(super) fn unknown_unit(&self, start: usize, end: usize, written: &str) -> Fault {
        if let Some(bracketed) = spelling::bracketed(written) {
            let message = format!(
                "{} can be read in two ways; a product after a quotient stands in brackets",
                shown(written)
            );
            return suggesting(self.fault(start, end, message), bracketed);
        }
        let mut fault = self.fault(
            start,
            end,
            format!("{} is not a known unit", shown(written)),
        );
        fault.suggestion = spelling::nearest(written, self.dimension);
        fault
    }
}

/// A fault whose suggestion replaces its range.
pub(super) fn suggesting(mut fault: Fault, suggestion: impl Into<String>) -> Fault {
    fault.suggestion = Some(suggestion.into());
    fault
}
