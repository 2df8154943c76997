//! A reference pin that was switched and settles.
//!
//! Between what the firmware switches and what the converter compares against
//! stands the capacitor at the reference pin. Where nothing but a resistance
//! of the chip charges or discharges it, the voltage goes from what it was to
//! what it is to be as exp(−t/τ), τ = R·C, and every conversion on the way
//! compares against too much or too little.

use board::{Board, Channel, ReferenceFrom};
use finding::Span;
use parts::Figure;
use quantity::{Dimension, Valued};

use crate::channel::{Unmodelled, Usual, nominal_supply_v};

/// Smallest, nominal and largest value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// Smallest.
    pub least: f64,
    /// Nominal.
    pub usual: f64,
    /// Largest.
    pub most: f64,
}

impl Spread {
    /// The same of each.
    #[must_use]
    pub fn map(self, f: impl Fn(f64) -> f64) -> Spread {
        Spread {
            least: f(self.least),
            usual: f(self.usual),
            most: f(self.most),
        }
    }

    /// Whether the limits are apart.
    #[must_use]
    pub fn is_wide(self) -> bool {
        self.least < self.most
    }
}

/// A reference pin on its way from one voltage to another.
///
/// ```
/// use chain::time::reference::{ReferenceStep, Spread};
/// // 3.4 V to 1.1 V over 32 kΩ and 100 nF, ten bits: half a code is left
/// // after 3.2 ms · ln(2.3 V / (1.1 V / 2048)) = 26.8 ms.
/// let tau = Spread { least: 2e-3, usual: 3.2e-3, most: 5e-3 };
/// let step = ReferenceStep { from_v: 3.4, to_v: 1.1, tau_s: tau, codes: 1024.0, wait_s: 0.01 };
/// assert!((step.wait_for(0.5, 3.2e-3) - 26.8e-3).abs() < 0.05e-3);
/// // After ten milliseconds it is still 9.2 % high.
/// assert!((step.left(3.2e-3) - 0.0919).abs() < 1e-4);
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReferenceStep {
    /// What the pin stood at, V.
    pub from_v: f64,
    /// What it is to be, V; above zero.
    pub to_v: f64,
    /// Time constant, s.
    pub tau_s: Spread,
    /// Codes of the whole scale.
    pub codes: f64,
    /// Time between switching and the conversion, s.
    pub wait_s: f64,
}

impl ReferenceStep {
    /// Voltage of the pin some time after switching, V.
    #[must_use]
    pub fn volt(&self, seconds: f64, tau_s: f64) -> f64 {
        self.to_v + (self.from_v - self.to_v) * elementary::exp(-seconds / tau_s)
    }

    /// How far the reference is too high after the wait, as a share of what
    /// it is to be; negative where it is too low.
    #[must_use]
    pub fn left(&self, tau_s: f64) -> f64 {
        self.volt(self.wait_s, tau_s) / self.to_v - 1.0
    }

    /// The same as codes of a full-scale input: what the share is worth at the
    /// end of the scale.
    #[must_use]
    pub fn left_codes(&self, tau_s: f64) -> f64 {
        self.left(tau_s) * self.codes
    }

    /// Time after switching from which on not more than so many codes of the
    /// full scale are left, s: τ·ln(|from − to| / (to · codes left / codes)).
    #[must_use]
    pub fn wait_for(&self, codes_left: f64, tau_s: f64) -> f64 {
        let allowed = self.to_v * codes_left / self.codes;
        let ratio = (self.from_v - self.to_v).abs() / allowed;
        if ratio > 1.0 {
            tau_s * elementary::ln(ratio)
        } else {
            0.0
        }
    }

    /// Code, before rounding, that a voltage at a single-ended input is read
    /// as after the wait.
    #[must_use]
    pub fn code(&self, volt: f64, tau_s: f64) -> f64 {
        self.codes * volt / self.volt(self.wait_s, tau_s)
    }

    /// Factor on the capacitor with which the wait is enough for so many codes
    /// of the full scale; `None` where no capacitor is small enough.
    #[must_use]
    pub fn capacitor_factor(&self, codes_left: f64, tau_s: f64) -> Option<f64> {
        let needed = self.wait_for(codes_left, tau_s);
        (self.wait_s > 0.0 && needed > 0.0).then(|| (self.wait_s / needed).min(1.0))
    }
}

/// Time constant of a voltage that was seen to fall (or rise) by `moved_v` of
/// the whole step `step_v` within a time: −t / ln(1 − moved/step), s. `None`
/// where it did not move towards the end of the step, or went past it.
///
/// ```
/// // 1 V of 2.3 V within the first millisecond.
/// let tau = chain::time::reference::time_constant_seen(1.0, 2.3, 1e-3).unwrap();
/// assert!((tau - 1.75e-3).abs() < 0.01e-3);
/// ```
#[must_use]
pub fn time_constant_seen(moved_v: f64, step_v: f64, seconds: f64) -> Option<f64> {
    let share = moved_v / step_v;
    (share > 0.0 && share < 1.0 && seconds > 0.0).then(|| -seconds / elementary::ln(1.0 - share))
}

/// What a step of the reference rests on.
#[derive(Clone, Debug)]
pub struct Switched<'b> {
    /// The step.
    pub step: ReferenceStep,
    /// Resistance at the pin, Ω.
    pub ohm: Spread,
    /// Capacitor at the pin, F.
    pub farad: Spread,
    /// The figure the resistance was taken from.
    pub figure: &'b Figure,
    /// The name of the reference in its device.
    pub name: &'b str,
    /// Place of the capacitor in the file.
    pub capacitor: Span,
    /// Place of the wait, or of what the pin stood at before.
    pub wait: Span,
    /// No wait is written: conversions begin at once.
    pub at_once: bool,
}

/// The step of a channel's reference as the file's `[scan]` tells it: `None`
/// where the channel compares against nothing that the device switches, where
/// capacitor or former voltage are not told, or where the part does not state
/// the resistance at the pin.
///
/// # Errors
/// A supply that has no voltage.
pub fn switched<'b>(
    board: &'b Board,
    channel: &Channel,
) -> Result<Option<Switched<'b>>, Unmodelled> {
    let Some(input) = &channel.input else {
        return Ok(None);
    };
    let Some(board::Against::Supply(to)) = channel.reference.as_ref().map(|r| &r.value) else {
        return Ok(None);
    };
    let board::Supply::Internal(device, unit, choice) = *to else {
        return Ok(None);
    };
    let said = board.scan_of(input.device);
    let (Some(capacitor), Some(from)) = (said.reference_capacitor, said.reference_from) else {
        return Ok(None);
    };
    let chosen = board
        .devices
        .get(device)
        .and_then(|d| d.part.converters.get(unit))
        .and_then(|u| Some((u, u.references.get(choice)?)));
    let Some((converter, reference)) = chosen.filter(|_| device == input.device) else {
        return Ok(None);
    };
    let Some((figure, ohm)) = reference
        .figures
        .get("pin-resistance")
        .and_then(|f| Some((f, of_figure(f)?)))
    else {
        return Ok(None);
    };
    let from_v = match from.value {
        ReferenceFrom::Supply(supply) => nominal_supply_v(board, channel, supply)?,
        ReferenceFrom::Volt(volt) => volt,
    };
    let to_v = nominal_supply_v(board, channel, *to)?;
    if !(to_v > 0.0 && from_v.is_finite()) {
        return Ok(None);
    }
    let farad = of_capacitor(&capacitor.value);
    let step = ReferenceStep {
        from_v,
        to_v,
        tau_s: Spread {
            least: ohm.least * farad.least,
            usual: ohm.usual * farad.usual,
            most: ohm.most * farad.most,
        },
        codes: 2.0_f64.powi(i32::from(converter.bits)),
        wait_s: said.reference_wait_s.map_or(0.0, |w| w.value),
    };
    Ok(Some(Switched {
        step,
        ohm,
        farad,
        figure,
        name: &reference.name,
        capacitor: capacitor.span,
        wait: said.reference_wait_s.map_or(from.span, |w| w.span),
        at_once: said.reference_wait_s.is_none(),
    }))
}

fn of_figure(f: &Figure) -> Option<Spread> {
    let usual = f.typical().filter(|x| *x > 0.0)?;
    Some(Spread {
        least: f.min.unwrap_or(usual),
        usual,
        most: f.max.unwrap_or(usual),
    })
}

fn of_capacitor(v: &Valued) -> Spread {
    let usual = Usual::of(Dimension::CAPACITANCE).map_or(0.0, |u| u.tolerance);
    let (least, most) = v.tolerance.map_or(
        (v.nominal * (1.0 - usual), v.nominal * (1.0 + usual)),
        |t| t.limits(v.nominal),
    );
    Spread {
        least,
        usual: v.nominal,
        most,
    }
}
