//! Rails and references as they are or as assumed.

use std::cell::RefCell;

use board::{Against, Board, Channel, RailSource, ReferenceFrom, Supply};
use finding::Span;
use parts::{Figure, Figures};
use quantity::{Dimension, Valued};
use tape::{Builder, Value};

use super::Unmodelled;
use super::sensor::Others;
use super::site::{Site, TOLERANCE_K};
use crate::time::Timing;
use crate::variables::{Kind, Variables};

/// Seconds in a thousand hours.
const THOUSAND_HOURS_S: f64 = 3.6e6;

/// Voltage of a supply with everything as it is meant, V, as a channel sees
/// it.
///
/// # Errors
/// It uses something without equations, or has no voltage.
pub fn nominal_supply_v(
    board: &Board,
    channel: &Channel,
    supply: Supply,
) -> Result<f64, Unmodelled> {
    let builder = Builder::new();
    let timing = Timing::default();
    let site = Site {
        board,
        channel,
        watched: &RefCell::new(Vec::new()),
        builder: &builder,
        variables: &Variables::new(&builder),
        ambient: builder.constant(TOLERANCE_K),
        instance: "",
        real: false,
        quiet: false,
        trough: false,
        depth: 0,
        measured_rail: None,
        others: &RefCell::new(Others::default()),
        timing: &timing,
    };
    site.supply(supply).map(|v| v.nominal())
}

impl<'t> Site<'_, 't> {
    /// Voltage of a supply against ground, V.
    ///
    /// # Errors
    /// It uses something without equations.
    pub fn supply(&self, supply: Supply) -> Result<Value<'t>, Unmodelled> {
        match supply {
            Supply::Ground => Ok(self.builder.zero()),
            Supply::Rail(i) => self.rail(i),
            Supply::Reference(i) => Ok(self.reference_part(i)? + self.reference_lift(i)),
            own @ Supply::Internal(device, unit, choice) => {
                let d = &self.board.devices[device];
                let u = &d.part.converters[unit];
                let r = &u.references[choice];
                let key = format!("{}.{}.{}", d.name, u.name, r.name);
                let supply = d.analog_supply.or(d.supply);
                let name = format!("{} {}", d.name, r.name);
                let volt = self.reference_voltage(&key, &name, &r.figures, supply, None)?;
                if self.real && self.compares_against(own) {
                    self.still_settling(&key, &name, device, &r.figures, volt)
                } else {
                    Ok(volt)
                }
            }
        }
    }

    /// Whether the channel compares against this.
    fn compares_against(&self, supply: Supply) -> bool {
        let reference = self.channel.reference.as_ref();
        reference.is_some_and(|r| r.value == Against::Supply(supply))
    }

    /// What a reference that the file says is switched has come to after the
    /// wait: to + (from − to)·exp(−wait / (resistance at the pin · capacitor)).
    /// The firmware takes it as settled.
    fn still_settling(
        &self,
        key: &str,
        name: &str,
        device: usize,
        figures: &Figures,
        volt: Value<'t>,
    ) -> Result<Value<'t>, Unmodelled> {
        let said = self.board.scan_of(device);
        let (Some(capacitor), Some(from), Some(resistance)) = (
            &said.reference_capacitor,
            said.reference_from,
            figures.get("pin-resistance"),
        ) else {
            return Ok(volt);
        };
        let from = match from.value {
            // It was not switched at all.
            ReferenceFrom::Supply(supply) if self.compares_against(supply) => return Ok(volt),
            ReferenceFrom::Supply(supply) => self.supply(supply)?,
            ReferenceFrom::Volt(volt) => self.builder.constant(volt),
        };
        let ohm = self.figure(
            &format!("{key}.pin-resistance"),
            &format!("{name}, resistance at the pin"),
            resistance,
            Kind::Fixed,
        )?;
        let farad = self.valued(
            &format!("{key}.capacitor"),
            &format!("{name}, capacitor at the pin"),
            &capacitor.value,
            Kind::Fixed,
            Some(capacitor.span),
        );
        let wait = said.reference_wait_s.map_or(0.0, |w| w.value);
        Ok(volt + (from - volt) * (-(wait / (ohm * farad))).exp())
    }

    /// Voltage of a rail, V.
    ///
    /// # Errors
    /// As [`Site::supply`].
    pub fn rail(&self, i: usize) -> Result<Value<'t>, Unmodelled> {
        if let Some((measured, volt)) = self.measured_rail
            && measured == i
        {
            return Ok(volt);
        }
        let volt = self.unloaded_rail(i)?;
        Ok(match self.sag(i) {
            Some(sag) => volt - sag,
            None => volt,
        })
    }

    /// Voltage of a rail before what its load takes off it, V.
    fn unloaded_rail(&self, i: usize) -> Result<Value<'t>, Unmodelled> {
        let rail = &self.board.rails[i];
        let key = format!("rails.{}", rail.name);
        let name = format!("rail {}", rail.name);
        match &rail.source {
            RailSource::External => {
                let set = rail
                    .voltage
                    .as_ref()
                    .map(|v| self.valued(&key, &name, &v.value, Kind::Supply, Some(v.span)));
                match (set, &rail.travel) {
                    (Some(set), None) => Ok(set),
                    (set, Some(travel)) => {
                        let (low, high) = (travel.value.low, travel.value.high);
                        // A calibration is done, and the firmware believes,
                        // at the nominal value.
                        let middle = rail
                            .voltage
                            .as_ref()
                            .map_or(0.5 * (low + high), |v| v.value.nominal);
                        if !self.real || !self.instance.is_empty() {
                            return Ok(set.unwrap_or_else(|| self.builder.constant(middle)));
                        }
                        let grid = Site::points(low, high, 3);
                        let moved = self.variables.condition(
                            &format!("{key}.travel"),
                            &name,
                            "V",
                            grid,
                            Some(travel.span),
                        );
                        Ok(match set {
                            Some(set) => moved + (set - middle),
                            None => moved,
                        })
                    }
                    (None, None) => Err(Unmodelled::new(format!("{name} has no voltage"))),
                }
            }
            RailSource::Direct { from } => self.rail(*from),
            // What its load makes a diode drop is part of the sag.
            RailSource::Regulator { from, part } if part.kind == "diode" => self.rail(*from),
            RailSource::Switching { .. } => match &rail.voltage {
                Some(v) => Ok(self.valued(&key, &name, &v.value, Kind::Supply, Some(v.span))),
                None => Err(Unmodelled::new(format!("{name} has no voltage"))),
            },
            RailSource::Divided { from, top, bottom } => {
                let above = self.valued(
                    &format!("{key}.top"),
                    &format!("{name}, top"),
                    &top.value,
                    Kind::Fixed,
                    Some(top.span),
                );
                let below = self.valued(
                    &format!("{key}.bottom"),
                    &format!("{name}, bottom"),
                    &bottom.value,
                    Kind::Fixed,
                    Some(bottom.span),
                );
                Ok(self.rail(*from)? * below / (above + below))
            }
            RailSource::Regulator { from, part } => {
                let input = self.rail(*from)?;
                let set = match (&rail.voltage, part.figure("output-voltage")) {
                    (Some(v), _) => self.valued(&key, &name, &v.value, Kind::Supply, Some(v.span)),
                    (None, Some(f)) => self.figure(
                        &format!("{key}.set"),
                        &format!("{name}, set point"),
                        f,
                        Kind::Supply,
                    )?,
                    (None, None) => {
                        return Err(Unmodelled::new(format!(
                            "{name}: the regulator has no output voltage"
                        )));
                    }
                };
                let mut relative = self.builder.one();
                for figure in ["accuracy", "initial-accuracy"] {
                    // One that is contained in another is not counted again.
                    let Some(f) = part.figure(figure).filter(|f| f.part_of.is_none()) else {
                        continue;
                    };
                    relative = relative
                        + self.figure(
                            &format!("{key}.{figure}"),
                            &format!("{name}, {figure}"),
                            f,
                            Kind::Supply,
                        )?;
                }
                let mut volt = set * relative;
                if let Some(f) = part.figure("line-regulation") {
                    let change = input - input.nominal();
                    let slope = self.figure(
                        &format!("{key}.line"),
                        &format!("{name}, line regulation"),
                        f,
                        Kind::Supply,
                    )?;
                    volt = volt
                        + if f.dimension == Dimension::NONE {
                            slope * change
                        } else {
                            slope * change * set
                        };
                }
                if let Some(f) = part.figure("load-regulation")
                    && f.dimension == Dimension::VOLTAGE
                {
                    volt = volt
                        + self.figure(
                            &format!("{key}.load"),
                            &format!("{name}, load regulation"),
                            f,
                            Kind::Supply,
                        )?;
                }
                let least = dropout(part.figure("dropout"), volt.nominal());
                Ok(if self.real {
                    volt.min(input - least)
                } else {
                    volt
                })
            }
        }
    }

    fn reference_part(&self, i: usize) -> Result<Value<'t>, Unmodelled> {
        let r = &self.board.references[i];
        let key = format!("references.{}", r.name);
        match (&r.voltage, &r.part) {
            (Some(v), _) => Ok(self.valued(&key, &r.name, &v.value, Kind::Fixed, Some(v.span))),
            (None, Some(part)) => {
                let volt = self.reference_voltage(
                    &key,
                    &r.name,
                    &part.figures,
                    r.supply,
                    r.load_a.as_ref().map(|l| l.value),
                )?;
                if part.kind != "shunt-reference" || !self.real {
                    return Ok(volt);
                }
                let (Some(series), Some(supply)) = (&r.series, r.supply) else {
                    return Ok(volt);
                };
                let ohm = self.valued(
                    &format!("{key}.series"),
                    &format!("{}, series resistor", r.name),
                    &series.value,
                    Kind::Fixed,
                    Some(series.span),
                );
                let feed = self.rail(supply)?;
                let load = r.load_a.as_ref().map_or(0.0, |l| l.value);
                let mut out = volt;
                if let Some(f) = part.figure("dynamic-resistance") {
                    let dynamic = self.figure(
                        &format!("{key}.dynamic"),
                        &format!("{}, dynamic resistance", r.name),
                        f,
                        Kind::Supply,
                    )?;
                    let current = (feed - volt) / ohm - load;
                    out = out + dynamic * (current - current.nominal());
                }
                // Without enough current the resistor and the load decide.
                Ok(out.min(feed - ohm * load))
            }
            (None, None) => Err(Unmodelled::new(format!(
                "reference `{}` has no voltage",
                r.name
            ))),
        }
    }

    /// Voltage a reference part would have with the current it needs, V.
    ///
    /// # Errors
    /// As [`Site::supply`].
    pub fn free_reference(&self, i: usize) -> Result<Value<'t>, Unmodelled> {
        let r = &self.board.references[i];
        let part = r
            .part
            .as_ref()
            .ok_or_else(|| Unmodelled::new(format!("reference `{}` has no part", r.name)))?;
        let key = format!("references.{}", r.name);
        self.reference_voltage(
            &key,
            &r.name,
            &part.figures,
            r.supply,
            r.load_a.as_ref().map(|l| l.value),
        )
    }

    /// Voltage of a reference by its figures.
    fn reference_voltage(
        &self,
        key: &str,
        name: &str,
        figures: &Figures,
        supply: Option<usize>,
        load_a: Option<f64>,
    ) -> Result<Value<'t>, Unmodelled> {
        let figure = figures
            .get("voltage")
            .ok_or_else(|| Unmodelled::new(format!("reference {name} has no voltage")))?;
        // What is contained in another figure is not counted again.
        let own = |name: &str| figures.get(name).filter(|f| f.part_of.is_none());
        let volt = self.figure(key, &format!("{name}, voltage"), figure, Kind::Fixed)?;
        let mut relative = self.builder.one();
        if let Some(f) = own("initial-accuracy") {
            relative = relative
                + self.figure(
                    &format!("{key}.initial"),
                    &format!("{name}, initial accuracy"),
                    f,
                    Kind::Fixed,
                )?;
        }
        if let Some(f) = own("drift") {
            let site = match self.warming(key) {
                Some(kelvin) => Site {
                    ambient: self.ambient + kelvin,
                    ..*self
                },
                None => *self,
            };
            relative =
                relative + site.drift(&format!("{key}.drift"), &format!("{name}, drift"), f)?;
        }
        if let (Some(f), Some(s)) = (own("line-regulation"), supply) {
            let input = self.rail(s)?;
            relative = relative
                + self.figure(
                    &format!("{key}.line"),
                    &format!("{name}, line regulation"),
                    f,
                    Kind::Supply,
                )? * (input - input.nominal());
        }
        if let (Some(f), Some(load)) = (own("load-regulation"), load_a) {
            relative = relative
                + self.figure(
                    &format!("{key}.load"),
                    &format!("{name}, load regulation"),
                    f,
                    Kind::Fixed,
                )? * load;
        }
        if let (Some(f), Some(typical)) = (own("noise-low-frequency"), figure.typical()) {
            relative = relative + self.slow_noise(key, name, f, typical);
        }
        // Ageing grows with the square root of time (common practice).
        if let (Some(f), Some(life), true) = (
            own("ageing"),
            self.board.conditions.service_s,
            self.instance.is_empty(),
        ) {
            relative = relative
                + self.figure(
                    &format!("{key}.ageing"),
                    &format!("{name}, ageing in 1000 h"),
                    &in_a_thousand_hours(f),
                    Kind::Ageing,
                )? * (life / THOUSAND_HOURS_S).sqrt();
        }
        let volt = volt * relative;
        match (figures.get("dropout"), supply) {
            (Some(f), Some(s)) if self.real => {
                Ok(volt.min(self.rail(s)? - dropout(Some(f), volt.nominal())))
            }
            _ => Ok(volt),
        }
    }

    /// Resistance behind a rail that is divided from another, top ∥ bottom, Ω;
    /// none of other rails, and of the one that is measured.
    pub(super) fn divider_ohm(&self, i: usize) -> Option<Value<'t>> {
        if self
            .measured_rail
            .is_some_and(|(measured, _)| measured == i)
        {
            return None;
        }
        let rail = self.board.rails.get(i)?;
        let RailSource::Divided { top, bottom, .. } = &rail.source else {
            return None;
        };
        let ohm = |end: &str, v: &Valued, span: Span| {
            self.valued(
                &format!("rails.{}.{end}", rail.name),
                &format!("rail {}, {end}", rail.name),
                v,
                Kind::Fixed,
                Some(span),
            )
        };
        let top = ohm("top", &top.value, top.span);
        let bottom = ohm("bottom", &bottom.value, bottom.span);
        Some(top * bottom / (top + bottom))
    }

    /// A rail as the converter's reference pin finds it: two resistors that
    /// divide another rail are loaded by the resistance of that pin, and by
    /// the average current of a sampled one, V.
    ///
    /// A current stated for one clock alone is not taken: it follows the
    /// clock, and the capacitor at the pin bears it.
    fn loaded_rail(&self, i: usize) -> Result<Value<'t>, Unmodelled> {
        let volt = self.rail(i)?;
        let rail = &self.board.rails[i];
        let (true, RailSource::Divided { top, bottom, .. }, Ok(unit), Some(input)) = (
            self.real,
            &rail.source,
            self.unit(),
            self.channel.input.as_ref(),
        ) else {
            return Ok(volt);
        };
        let device = &self.board.devices[input.device].name;
        let key = |what: &str| format!("{device}.{}.{what}", unit.name);
        let external = unit.references.iter().filter(|r| r.from.is_none());
        let resistance = unit.figures.get("reference-input-resistance").or_else(|| {
            external
                .filter_map(|r| r.figures.get("pin-resistance"))
                .next()
        });
        let mut siemens = self.builder.zero();
        if let Some(f) = resistance {
            let name = "reference pin, resistance";
            siemens = siemens + 1.0 / self.figure(&key("reference-pin"), name, f, Kind::Fixed)?;
        }
        if let Some(f) = unit.figures.get("reference-current-per-volt") {
            let name = "reference pin, current";
            siemens = siemens + self.figure(&key("reference-current"), name, f, Kind::Fixed)?;
        }
        if siemens.is_zero() {
            return Ok(volt);
        }
        let path = format!("rails.{}", rail.name);
        let ohm = |end: &str, v: &Valued, span: Span| {
            self.valued(
                &format!("{path}.{end}"),
                &format!("rail {}, {end}", rail.name),
                v,
                Kind::Fixed,
                Some(span),
            )
        };
        let above = ohm("top", &top.value, top.span);
        let below = ohm("bottom", &bottom.value, bottom.span);
        let inner = above * below / (above + below);
        Ok(volt / (inner * siemens + 1.0))
    }

    /// What the converter compares against, V.
    ///
    /// # Errors
    /// As [`Site::supply`]; nodes of a network are not known here.
    pub fn reference(&self) -> Result<Value<'t>, Unmodelled> {
        if !self.real
            && let Some(v) = &self.channel.conversion.assumed_reference_v
        {
            return Ok(self.builder.constant(v.value));
        }
        // The part states what full scale stands for in each of its ranges.
        if let Some(full) = self.range().and_then(|r| r.figures.get("span")?.max) {
            return Ok(self.builder.constant(full));
        }
        match self.channel.reference.as_ref().map(|r| &r.value) {
            Some(Against::Supply(Supply::Rail(i))) => self.loaded_rail(*i),
            Some(Against::Supply(s)) => self.supply(*s),
            Some(Against::Nodes(..)) => {
                Err(Unmodelled::new("a reference between nodes needs a network"))
            }
            None => Err(Unmodelled::new(
                "nothing says what the converter compares against",
            )),
        }
    }
}

/// Ageing is stated plainly for the first thousand hours, for each hour, or
/// for each root of an hour: the figure as a relative change in a thousand
/// hours.
fn in_a_thousand_hours(f: &Figure) -> Figure {
    let scale = if f.dimension == Dimension::NONE {
        1.0
    } else if f.dimension == Dimension::NONE.over(Dimension::TIME) {
        THOUSAND_HOURS_S
    } else {
        THOUSAND_HOURS_S.sqrt()
    };
    let mut relative = f.clone();
    for value in [&mut relative.min, &mut relative.typ, &mut relative.max] {
        *value = value.map(|v| v * scale);
    }
    relative.dimension = Dimension::NONE;
    relative
}

/// Least voltage above the output that a regulator or reference needs, V.
pub fn dropout(figure: Option<&Figure>, output_v: f64) -> f64 {
    figure
        .and_then(|f| {
            let by_output = f.variable == Some(Dimension::VOLTAGE);
            if by_output {
                f.at(output_v)
            } else {
                f.max.or_else(|| f.typical())
            }
        })
        .unwrap_or(0.0)
}
