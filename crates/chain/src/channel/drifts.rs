//! Figures of a sensor about its zero and its slope that change with
//! temperature, supply and time, and its noise.

use parts::Figure;
use quantity::Dimension;
use tape::Value;

use super::Unmodelled;
use super::sampling::PEAK_TO_PEAK;
use super::site::Site;
use crate::law::Electrical;
use crate::variables::{Kind, Lies, Trace, Variable};

/// Seconds of a year of 365.25 days.
const YEAR_S: f64 = 31_557_600.0;

impl<'t> Site<'_, 't> {
    /// A figure of the sensor that is not contained in another one.
    fn own_figure(&self, name: &str) -> Option<&Figure> {
        let figures = &self.channel.sensor.figures;
        figures.get(name).filter(|f| f.part_of.is_none())
    }

    /// Key and label of a figure of the sensor.
    fn sensor_key(&self, name: &str) -> (String, String) {
        (
            format!("channels.{}.sensor.{name}", self.channel.name),
            format!("sensor, {}", name.replace('-', " ")),
        )
    }

    /// What drifts of zero and slope, the supply and age add to the quantity.
    ///
    /// Drifts count from their own reference temperature (25 °C where none is
    /// stated) to the ambient; an ageing is taken whole where a service life
    /// is stated, one per year for each of its years, and neither at a
    /// calibration, which is done while the board is new.
    ///
    /// # Errors
    /// A figure or the supply cannot be used.
    pub(super) fn drifts(&self, truth: Value<'t>) -> Result<Value<'t>, Unmodelled> {
        let mut sum = self.builder.zero();
        if !self.real {
            return Ok(sum);
        }
        let channel = self.channel;
        let from_zero = truth - Site::scale_zero(channel.dimension);
        let span = self.builder.constant(self.rated_span());
        let one = self.builder.one();
        // The coefficient of a shunt is in the slope of its voltage.
        let slope = if channel.sensor.law == "shunt" {
            "drift"
        } else {
            "sensitivity-drift"
        };
        for (name, scale) in [
            ("offset-drift", one),
            ("offset-drift-of-span", span),
            (slope, from_zero),
        ] {
            if let Some(f) = self.own_figure(name) {
                let (key, label) = self.sensor_key(name);
                sum = sum + self.drift(&key, &label, f)? * scale;
            }
        }
        if let (Some(f), Some(supply)) =
            (self.own_figure("supply-sensitivity"), channel.sensor.supply)
        {
            let volt = self.supply(supply)?;
            let (key, label) = self.sensor_key("supply-sensitivity");
            sum = sum + self.figure(&key, &label, f, Kind::Supply)? * (volt - volt.nominal());
        }
        if let (Some(service_s), true) = (self.board.conditions.service_s, self.instance.is_empty())
        {
            for (name, times) in [("ageing", 1.0), ("drift-per-year", service_s / YEAR_S)] {
                let Some(f) = self.own_figure(name) else {
                    continue;
                };
                let (key, label) = self.sensor_key(name);
                let size = self.figure(&key, &label, f, Kind::Ageing)? * times;
                sum = sum + size * self.of_span(f);
            }
        }
        if let Some(f) = self.own_figure("creep") {
            // It depends on what the sensor bore before, so that no
            // calibration takes it out.
            let lies = self.lies_of(f)?;
            let variable = Variable::board(
                &self.reading_key("creep"),
                &self.reading_name("sensor, creep"),
                quantity::symbol(f.dimension).unwrap_or(""),
                lies,
                Kind::Random,
                Trace::figure(f),
            );
            sum = sum + self.deviation(variable.per_reading()) * self.of_span(f);
        }
        if let Some(f) = self
            .own_figure("noise")
            .filter(|f| f.dimension == channel.dimension && f.dimension != Dimension::VOLTAGE)
        {
            sum = sum + self.noise(f);
        }
        Ok(sum)
    }

    /// Factor of a figure that is in the quantity's unit or a share of the
    /// span.
    fn of_span(&self, f: &Figure) -> f64 {
        if f.dimension == self.channel.dimension && f.dimension != Dimension::NONE {
            1.0
        } else {
            self.rated_span()
        }
    }

    /// The sensor's own span, else that of the channel, SI.
    fn rated_span(&self) -> f64 {
        let (low, high) = self.channel.span.value;
        let own = |name: &str| {
            let f = self.channel.sensor.figures.get(name)?;
            Some((f.max.or_else(|| f.typical())? - f.min.unwrap_or(0.0)).abs())
        };
        own("span").or_else(|| own("rated")).unwrap_or(high - low)
    }

    /// Noise of one reading.
    fn noise(&self, f: &Figure) -> Value<'t> {
        let rms = if f.peak_to_peak == Some(true) {
            1.0 / PEAK_TO_PEAK
        } else {
            1.0
        };
        let averaged = f64::from(self.channel.input.as_ref().map_or(1, |i| i.average.max(1)));
        let u = f.typical().unwrap_or(0.0).abs() * rms / (averaged * self.repeats()).sqrt();
        let variable = Variable::board(
            &self.reading_key("sensor.noise"),
            "sensor, noise",
            quantity::symbol(f.dimension).unwrap_or(""),
            Lies::About(0.0, u),
            Kind::Random,
            Trace::figure(f),
        );
        self.deviation(variable.per_reading())
    }

    /// What offset and noise at the output add to the voltage of a sensor, V.
    fn output_error(&self) -> Result<Value<'t>, Unmodelled> {
        let mut sum = self.builder.zero();
        if !self.real {
            return Ok(sum);
        }
        if let Some(f) = self.own_figure("offset-voltage") {
            let (key, label) = self.sensor_key("offset-voltage");
            sum = sum + self.figure(&key, &label, f, Kind::Fixed)?;
        }
        if let Some(f) = self
            .own_figure("noise")
            .filter(|f| f.dimension == Dimension::VOLTAGE)
        {
            sum = sum + self.noise(f);
        }
        Ok(sum)
    }

    /// An electrical value with what offset and noise add at the output.
    ///
    /// # Errors
    /// A figure or the supply cannot be used.
    pub(super) fn with_output_error(
        &self,
        electrical: Value<'t>,
        kind: Electrical,
    ) -> Result<Value<'t>, Unmodelled> {
        match (kind, self.channel.sensor.supply) {
            (Electrical::Voltage, _) => Ok(electrical + self.output_error()?),
            (Electrical::VoltageRatio, Some(supply)) => {
                let error = self.output_error()?;
                if error.is_zero() {
                    return Ok(electrical);
                }
                Ok(electrical + error / self.supply(supply)?)
            }
            _ => Ok(electrical),
        }
    }
}
