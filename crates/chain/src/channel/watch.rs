//! What must hold for the numbers to be meant.

use board::{RailSource, Supply};
use finding::Span;
use parts::Figure;
use quantity::Dimension;
use tape::Value;

use super::site::Site;
use super::{Reading, Unmodelled, Watched};

impl<'t> Site<'_, 't> {
    /// Notes a check, once for each kind and name, in use only.
    pub fn watch(&self, watched: Watched<'t>) {
        if !self.real || !self.instance.is_empty() || self.depth > 0 {
            return;
        }
        let mut list = self.watched.borrow_mut();
        let there = list
            .iter_mut()
            .find(|w| w.kind == watched.kind && w.name == watched.name);
        match there {
            None => list.push(watched),
            // Of both peaks of an alternating quantity the worse counts.
            Some(w) if self.channel.ac.is_some() => {
                let b = self.builder;
                let worse = w.margin - watched.margin;
                let working = |w: &Watched<'t>| w.working.unwrap_or(w.margin);
                w.working = Some(b.select(worse, working(&watched), working(w)));
                w.actual = b.select(worse, watched.actual, w.actual);
                w.limit = b.select(worse, watched.limit, w.limit);
                w.margin = b.select(worse, watched.margin, w.margin);
            }
            Some(_) => {}
        }
    }

    /// Notes that `actual` must not be below `limit`; `span` is where the
    /// board file decides it.
    pub fn not_below(
        &self,
        kind: &'static str,
        name: &str,
        span: Option<Span>,
        actual: Value<'t>,
        limit: Value<'t>,
        source: &str,
    ) {
        self.compared(kind, (name, span), (actual, limit), actual - limit, source);
    }

    /// Notes that `actual` must not be above `limit`; `span` is where the
    /// board file decides it.
    pub fn not_above(
        &self,
        kind: &'static str,
        name: &str,
        span: Option<Span>,
        actual: Value<'t>,
        limit: Value<'t>,
        source: &str,
    ) {
        self.compared(kind, (name, span), (actual, limit), limit - actual, source);
    }

    /// Notes a value beside its limit; `margin` is below zero where it is
    /// broken.
    fn compared(
        &self,
        kind: &'static str,
        (name, span): (&str, Option<Span>),
        (actual, limit): (Value<'t>, Value<'t>),
        margin: Value<'t>,
        source: &str,
    ) {
        self.watch(Watched {
            kind,
            name: name.to_owned(),
            span,
            actual,
            limit,
            margin,
            working: None,
            source: source.to_owned(),
        });
    }

    /// A limit of a device that may follow one of its supplies, V.
    pub(super) fn device_limit(
        &self,
        device: usize,
        figure: &Figure,
        high: bool,
        reference: Value<'t>,
    ) -> Result<Option<Value<'t>>, Unmodelled> {
        let d = &self.board.devices[device];
        let (constant, term) = if high {
            (figure.max, &figure.max_supply)
        } else {
            (figure.min, &figure.min_supply)
        };
        let Some(term) = term else {
            return Ok(constant.map(|c| self.builder.constant(c)));
        };
        if term.supply == "reference" {
            return Ok(Some(reference * term.ratio + constant.unwrap_or(0.0)));
        }
        let rail = if term.supply == "analog-supply" {
            d.analog_supply.or(d.supply)
        } else {
            d.supply
        };
        let Some(rail) = rail else { return Ok(None) };
        Ok(Some(
            self.rail(rail)? * term.ratio + constant.unwrap_or(0.0),
        ))
    }

    /// Reference and signal against what the converter takes.
    ///
    /// # Errors
    /// A supply has no equations.
    pub fn watch_converter(&self, r: &Reading<'t>) -> Result<(), Unmodelled> {
        let Some(input) = &self.channel.input else {
            return Ok(());
        };
        let device = &self.board.devices[input.device];
        let unit = self.unit()?;
        let b = self.builder;
        let full = self.full_scale()?;
        let entry = Some(input.span);
        let against = self.channel.reference.as_ref().map(|r| r.span);
        self.not_below(
            "code-low",
            "the converter",
            against,
            r.code,
            b.zero(),
            "first code",
        );
        self.not_above(
            "code-high",
            "the converter",
            against,
            r.code,
            b.constant(full),
            "last code",
        );
        if let Some(f) = unit.figures.get("reference-range") {
            if let Some(limit) = self.device_limit(input.device, f, false, r.reference)? {
                self.not_below(
                    "reference-low",
                    &device.name,
                    against,
                    r.reference,
                    limit,
                    &f.source.to_string(),
                );
            }
            if let Some(limit) = self.device_limit(input.device, f, true, r.reference)? {
                self.not_above(
                    "reference-high",
                    &device.name,
                    against,
                    r.reference,
                    limit,
                    &f.source.to_string(),
                );
            }
        }
        if let Some(rail) = device.analog_supply.or(device.supply) {
            let supply = self.rail(rail)?;
            if !matches!(self.channel.reference.as_ref().map(|r| &r.value), Some(board::Against::Supply(Supply::Rail(i))) if *i == rail)
            {
                self.not_above(
                    "reference-above-supply",
                    &device.name,
                    against,
                    r.reference,
                    supply,
                    "common practice",
                );
            }
            for (name, f) in [("supply", &device.part.figures), ("supply", &unit.figures)] {
                if let Some(f) = f.get(name) {
                    let rail_name = &self.board.rails[rail].name;
                    let what = format!("{} on {rail_name}", device.name);
                    if let Some(low) = f.min {
                        self.not_below(
                            "supply-low",
                            &what,
                            Some(device.span),
                            supply,
                            b.constant(low),
                            &f.source.to_string(),
                        );
                    }
                    if let Some(high) = f.max {
                        self.not_above(
                            "supply-high",
                            &what,
                            Some(device.span),
                            supply,
                            b.constant(high),
                            &f.source.to_string(),
                        );
                    }
                }
            }
        }
        for (kind, figure, high) in [
            ("input-range-low", "input-low", false),
            ("input-range-high", "input-high", true),
        ] {
            let Some(f) = unit
                .figures
                .get(figure)
                .filter(|f| f.dimension == Dimension::VOLTAGE)
            else {
                continue;
            };
            let f = f.at_gain(input.gain);
            let Some(limit) = self.device_limit(input.device, f, high, r.reference)? else {
                continue;
            };
            let source = f.source.to_string();
            let one = |name: &str, volt: Value<'t>| {
                if high {
                    self.not_above(kind, name, entry, volt, limit, &source);
                } else {
                    self.not_below(kind, name, entry, volt, limit, &source);
                }
            };
            match r.inputs {
                Some((plus, minus)) => {
                    one(&format!("{}, plus input", device.name), plus);
                    one(&format!("{}, minus input", device.name), minus);
                }
                None if unit.differential => {
                    one(&format!("{}, plus input", device.name), r.volt);
                    one(&format!("{}, minus input", device.name), b.zero());
                }
                None => one(&device.name, r.volt),
            }
        }
        Ok(())
    }

    /// Rails and references that this channel rests on.
    ///
    /// # Errors
    /// A supply has no equations.
    pub fn watch_supplies(&self) -> Result<(), Unmodelled> {
        let Some(input) = &self.channel.input else {
            return Ok(());
        };
        let device = &self.board.devices[input.device];
        let mut rails: Vec<usize> = [device.supply, device.analog_supply]
            .into_iter()
            .flatten()
            .collect();
        if let Some(board::Against::Supply(s)) = self.channel.reference.as_ref().map(|r| &r.value) {
            match s {
                Supply::Rail(i) => rails.push(*i),
                Supply::Reference(i) => {
                    self.watch_reference(*i)?;
                    rails.extend(self.board.references[*i].supply);
                }
                Supply::Ground | Supply::Internal(..) => {}
            }
        }
        for i in rails {
            let rail = &self.board.rails[i];
            let RailSource::Regulator { from, part } = &rail.source else {
                continue;
            };
            let Some(f) = part.figure("dropout") else {
                continue;
            };
            let nominal = rail
                .voltage
                .as_ref()
                .map(|v| v.value.nominal)
                .or_else(|| part.figure("output-voltage")?.typical());
            let Some(volt) = nominal else { continue };
            let needed = self
                .builder
                .constant(volt + super::supply::dropout(Some(f), volt));
            self.not_below(
                "regulator-dropout",
                &rail.name,
                Some(rail.span),
                self.rail(*from)?,
                needed,
                &f.source.to_string(),
            );
            if let Some(f) = part.figure("supply")
                && let Some(high) = f.max
            {
                self.not_above(
                    "regulator-input",
                    &rail.name,
                    Some(rail.span),
                    self.rail(*from)?,
                    self.builder.constant(high),
                    &f.source.to_string(),
                );
            }
        }
        Ok(())
    }

    /// Current of a shunt reference, headroom and load of a series one.
    fn watch_reference(&self, i: usize) -> Result<(), Unmodelled> {
        let r = &self.board.references[i];
        let (Some(part), Some(supply)) = (&r.part, r.supply) else {
            return Ok(());
        };
        let feed = self.rail(supply)?;
        let load = r.load_a.as_ref().map_or(0.0, |l| l.value);
        let b = self.builder;
        if let Some(series) = r.series.as_ref().filter(|_| part.kind == "shunt-reference") {
            let key = format!("references.{}", r.name);
            let ohm = self.valued(
                &format!("{key}.series"),
                &format!("{}, series resistor", r.name),
                &series.value,
                crate::variables::Kind::Fixed,
                Some(series.span),
            );
            let volt = self.free_reference(i)?;
            let shunt = (feed - volt) / ohm - load;
            let watched = |kind: &'static str, f: &Figure, limit: f64, low: bool| {
                let limit = b.constant(limit);
                self.watch(Watched {
                    kind,
                    name: r.name.clone(),
                    span: Some(series.span),
                    actual: shunt,
                    limit,
                    margin: if low { shunt - limit } else { limit - shunt },
                    // The largest (smallest) resistor that keeps the limit.
                    working: Some((feed - volt) / (limit + load)),
                    source: f.source.to_string(),
                });
            };
            if let Some(f) = part.figure("minimum-current") {
                watched(
                    "shunt-current-low",
                    f,
                    f.max.or_else(|| f.typical()).unwrap_or(0.0),
                    true,
                );
            }
            if let Some(f) = part.figure("maximum-current")
                && let Some(most) = f.max.or_else(|| f.typical())
            {
                watched("shunt-current-high", f, most, false);
            }
            return Ok(());
        }
        if let Some(f) = part.figure("dropout")
            && let Some(volt) = part.figure("voltage").and_then(Figure::typical)
        {
            let needed = b.constant(volt + super::supply::dropout(Some(f), volt));
            self.not_below(
                "reference-dropout",
                &r.name,
                Some(r.span),
                feed,
                needed,
                &f.source.to_string(),
            );
        }
        if let Some(f) = part.figure("output-current")
            && let Some(most) = f.max
        {
            self.not_above(
                "reference-load",
                &r.name,
                Some(r.span),
                b.constant(load),
                b.constant(most),
                &f.source.to_string(),
            );
        }
        if let Some(f) = part.figure("supply")
            && let Some(high) = f.max
        {
            self.not_above(
                "reference-supply",
                &r.name,
                Some(r.span),
                feed,
                b.constant(high),
                &f.source.to_string(),
            );
        }
        Ok(())
    }
}
