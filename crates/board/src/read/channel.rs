//! A channel.

use document::{Content, Fields, Item, Located, Table};
use finding::{InputFault, Span, nearest_of};
use quantity::{AccuracyTerm, Dimension, Range, UnitScale};

use crate::model::{
    Against, Alternating, Calibration, Channel, Conversion, Derived, Fit, Input, NodeRef, Other,
    OtherKind, OtherShape, PeriodTimer, Sensor,
};
use crate::read::Reader;

/// Waveforms by name, with peak over root mean square.
const WAVEFORMS: [(&str, f64); 3] = [
    ("sine", std::f64::consts::SQRT_2),
    ("square", 1.0),
    ("triangle", 1.732_050_807_568_877_2),
];

/// The dimension of a quantity that a channel may measure: all that parts
/// measure, by the same names, and acidity for what electrodes tell in pH.
fn quantity_dimension(word: &str) -> Option<Dimension> {
    if word == "acidity" {
        return Some(Dimension::PH);
    }
    parts::quantity_dimension(word)
}

impl Reader<'_> {
    pub(super) fn channel(&self, name: &str, name_span: Span, table: &Table) -> Option<Channel> {
        let f = Fields::new(table, format!("channel {name}"), self.faults);
        let Some((quantity, dimension)) = self.measured(&f) else {
            // Without its dimension nothing else of the channel can be read.
            return None;
        };
        let (span, unit, accuracy) = self.need(&f, dimension);
        let resolution = positive(
            self,
            f.difference("resolution", dimension)
                .map(|q| q.map(|q| q.value)),
            "resolution",
        );
        let rate_hz = positive(
            self,
            f.quantity("rate", Dimension::FREQUENCY)
                .map(|q| q.map(|q| q.value)),
            "rate",
        );
        let gate_s = positive(
            self,
            f.quantity("gate", Dimension::TIME)
                .map(|q| q.map(|q| q.value)),
            "gate",
        );
        let period = f.sub("period").and_then(|t| self.period(t, name));
        if let (Some(gate), Some(_)) = (&gate_s, &period) {
            self.faults.add(
                gate.span,
                "pulses are either counted over a `gate` or measured by their `period`",
                "one of them",
            );
        }
        let ac = self.alternating(&f);
        let acquisition = self.acquisition(&f);
        let data_rate_hz = self.above_zero(&f, "data-rate", Dimension::FREQUENCY, "25 /s");
        let awake_s = self.above_zero(&f, "awake", Dimension::TIME, "50 ms");
        let clock_tolerance = positive(
            self,
            f.quantity("clock-tolerance", Dimension::NONE)
                .map(|q| q.map(|q| q.value)),
            "clock-tolerance",
        );
        let sensor = self.sensor(f.item("sensor"), name, dimension, name_span);
        let mut chain = Vec::new();
        if let Some((list, _)) = f.list("chain") {
            for (i, item) in list.iter().enumerate() {
                let path = format!("channels.{name}.chain.{i}");
                chain.extend(self.stage(item, &path, &self.vocabulary.stages, "stage", &["name"]));
            }
        }
        let network = f.text("network").and_then(|t| {
            let found = self.networks.iter().position(|n| n == t.value);
            if found.is_none() {
                self.faults.push(
                    InputFault::new(
                        t.span,
                        format!("no network is named `{}`", t.value),
                        self.networks.join(", "),
                    )
                    .suggest(nearest_of(
                        t.value,
                        self.networks.iter().map(String::as_str),
                    )),
                );
            }
            found
        });
        let average = f.whole("average", 1, 1 << 20);
        let input = f.item("input").and_then(|item| self.input(item, name));
        let input = input.map(|mut input| {
            if let Some(n) = average {
                input.average = u32::try_from(n.value).unwrap_or(1);
            }
            input
        });
        let reference = f.item("reference").and_then(|item| self.against(item));
        let reference = reference.or_else(|| self.usual_reference(input.as_ref()));
        let conversion = f
            .sub("conversion")
            .map(|t| self.conversion(t, name))
            .unwrap_or_default();
        let calibration = f
            .sub("calibrate")
            .and_then(|t| self.calibration(t, name, dimension, span.as_ref()));
        let mut others = Vec::new();
        if let Some((list, _)) = f.list("other") {
            for item in list {
                others.extend(self.other(item, name, dimension));
            }
        }
        let life_safety = f.truth("life-safety").is_some_and(|t| t.value);
        let _ = f.text("note");
        if accuracy.is_some()
            && input.is_none()
            && !f.has("input")
            && sensor.as_ref().is_some_and(needs_converter)
        {
            self.faults.add(
                f.span_of("accuracy"),
                format!("channel {name} asks an accuracy but enters no converter"),
                "input = \"DEVICE.CONVERTER.CHANNEL\"",
            );
        }
        for key in ["acquisition", "data-rate"] {
            if f.has(key) && !f.has("input") {
                self.faults.add(
                    f.span_of(key),
                    format!("channel {name} has `{key}` but enters no converter"),
                    "input = \"DEVICE.CONVERTER.CHANNEL\"",
                );
            }
        }
        if let Some(rate) = data_rate_hz {
            self.possible_rate(rate, input.as_ref());
        }
        let sensor_ok = sensor?;
        f.finish();
        let span = self.ends(span?)?;
        if let Some(ac) = &ac {
            if dimension == Dimension::TEMPERATURE {
                self.faults.add(
                    ac.span,
                    "a temperature does not alternate about zero",
                    "`ac` for voltages, currents and what is proportional to them",
                );
            } else if span.value.0 < 0.0 {
                self.faults.add(
                    span.span,
                    "root mean squares and peaks are not negative",
                    "a span from zero or above; the reading has no sign",
                );
            }
        }
        Some(Channel {
            name: name.to_owned(),
            quantity: quantity.value.to_owned(),
            dimension,
            unit: unit?,
            span,
            accuracy,
            resolution,
            ac,
            rate_hz,
            gate_s,
            period,
            acquisition,
            data_rate_hz,
            awake_s,
            clock_tolerance,
            derived: None,
            sensor: sensor_ok,
            chain,
            network,
            input,
            reference,
            conversion,
            calibration,
            others,
            life_safety,
            place: name_span,
        })
    }

    /// `{ clock = "1 MHz", bits = 16, periods = 1 }`.
    fn period(&self, table: &Table, name: &str) -> Option<Located<PeriodTimer>> {
        let f = Fields::new(table, format!("the period of {name}"), self.faults);
        f.required("clock", "clock of the timer, \"1 MHz\"");
        let clock_hz = self.above_zero(&f, "clock", Dimension::FREQUENCY, "1 MHz");
        let bits = f.whole("bits", 1, 48).map_or(32, |n| n.value);
        let periods = f.whole("periods", 1, 1_000_000).map_or(1, |n| n.value);
        f.finish();
        Some(Located {
            value: PeriodTimer {
                clock_hz: clock_hz?.value,
                bits: u8::try_from(bits).unwrap_or(32),
                periods: u32::try_from(periods).unwrap_or(1),
            },
            span: table.span,
        })
    }

    /// The quantity and its dimension.
    fn measured<'f>(&self, f: &Fields<'f>) -> Option<(Located<&'f str>, Dimension)> {
        let words: Vec<&'static str> = std::iter::once("acidity")
            .chain(parts::quantity_names())
            .collect();
        let quantity = f.required_text("quantity", &words.join(", "));
        let dimension = quantity.and_then(|q| {
            let found = quantity_dimension(q.value);
            if found.is_none() {
                self.faults.push(
                    InputFault::new(
                        q.span,
                        format!("unknown quantity \"{}\"", q.value),
                        words.join(", "),
                    )
                    .suggest(nearest_of(q.value, words.iter().copied())),
                );
            }
            found
        });
        quantity.zip(dimension)
    }

    /// Span, its unit, and the accuracy asked.
    fn need(
        &self,
        f: &Fields<'_>,
        dimension: Dimension,
    ) -> (
        Option<Located<Range>>,
        Option<UnitScale>,
        Option<Located<Vec<AccuracyTerm>>>,
    ) {
        f.required(
            "span",
            "the range to be measured, for example \"-5 °C to 35 °C\"",
        );
        let span = f.range("span", dimension);
        let unit = f.item("span").and_then(|i| unit_of(i, dimension));
        let accuracy = f.accuracy("accuracy", dimension);
        if let Some(a) = &accuracy {
            for t in &a.value {
                let (quantity::AccuracyTerm::Absolute(x)
                | quantity::AccuracyTerm::OfReading(x)
                | quantity::AccuracyTerm::OfSpan(x)) = *t;
                if x < 0.0 {
                    self.faults
                        .add(a.span, "an accuracy is negative", "for example \"0.3 °C\"");
                }
            }
            let all_zero = a.value.iter().all(|t| {
                let (quantity::AccuracyTerm::Absolute(x)
                | quantity::AccuracyTerm::OfReading(x)
                | quantity::AccuracyTerm::OfSpan(x)) = *t;
                x == 0.0
            });
            if all_zero {
                self.faults.add(
                    a.span,
                    "the accuracy asked is zero, which nothing can meet",
                    "for example \"0.3 °C\"",
                );
            }
        }
        (span, unit, accuracy)
    }

    /// Both ends of a span, the lower one first.
    fn ends(&self, span: Located<Range>) -> Option<Located<(f64, f64)>> {
        let span = Located {
            value: (span.value.low, span.value.high),
            span: span.span,
        };
        if span.value.0 >= span.value.1 {
            self.faults.add(
                span.span,
                "the span has no width",
                "two different ends, the lower one first",
            );
            return None;
        }
        Some(span)
    }

    /// `ac = { frequency = "50 Hz", waveform = "sine", reading = "rms" }`.
    fn alternating(&self, channel: &Fields<'_>) -> Option<Alternating> {
        let table = channel.sub("ac")?;
        let f = Fields::new(table, "`ac` of the channel", self.faults);
        f.required("frequency", "for example \"50 Hz\"");
        // A public grid's frequency moves without being told.
        let is_grid = ["50 Hz", "60 Hz"].iter().any(|grid| {
            matches!(table.get("frequency").map(|i| &i.content), Some(Content::Text(t, _)) if t.trim() == *grid)
        });
        let frequency_hz = super::timing::frequency(
            &f,
            "frequency",
            is_grid.then_some(super::timing::MAINS_TRAVEL_HZ),
        );
        let waveform = f.text("waveform").and_then(|t| {
            let found = WAVEFORMS.iter().find(|(name, _)| *name == t.value);
            if found.is_none() {
                let known = WAVEFORMS.map(|(name, _)| name);
                self.faults.push(
                    InputFault::new(
                        t.span,
                        format!("no waveform is named `{}`", t.value),
                        format!("{}, or crest = 1.6", known.join(", ")),
                    )
                    .suggest(nearest_of(t.value, known)),
                );
            }
            found.map(|(_, crest)| *crest)
        });
        let crest = f.number("crest").and_then(|n| {
            if n.value >= 1.0 && n.value <= 1000.0 {
                return Some(n.value);
            }
            self.faults.add(
                n.span,
                format!("a crest factor is {}", n.value),
                "peak over root mean square, at least 1",
            );
            None
        });
        if f.has("waveform") && f.has("crest") {
            self.faults.add(
                f.span_of("crest"),
                "`waveform` and `crest` say the same",
                "one of the two",
            );
        }
        let is_peak = match f.text("reading") {
            None => false,
            Some(t) if t.value == "rms" => false,
            Some(t) if t.value == "peak" => true,
            Some(t) => {
                self.faults.push(
                    InputFault::new(
                        t.span,
                        format!("an alternating quantity is not read as `{}`", t.value),
                        "\"rms\" or \"peak\"",
                    )
                    .suggest(nearest_of(t.value, ["rms", "peak"])),
                );
                false
            }
        };
        f.finish();
        Some(Alternating {
            frequency_hz: frequency_hz?.value,
            crest: crest.or(waveform).unwrap_or(std::f64::consts::SQRT_2),
            is_peak,
            span: table.span,
        })
    }

    /// A quantity that follows from the readings of channels. `earlier` names
    /// the derived ones before it.
    pub(super) fn derived(
        &self,
        name: &str,
        name_span: Span,
        table: &Table,
        earlier: &[String],
    ) -> Option<Channel> {
        let f = Fields::new(table, format!("derived quantity {name}"), self.faults);
        if self.channels.iter().chain(earlier).any(|c| c == name) {
            self.faults.add(
                name_span,
                format!("the name `{name}` is used twice"),
                "different names for channels and derived quantities",
            );
        }
        let (quantity, dimension) = self.measured(&f)?;
        let (span, unit, accuracy) = self.need(&f, dimension);
        let resolution = positive(
            self,
            f.difference("resolution", dimension)
                .map(|q| q.map(|q| q.value)),
            "resolution",
        );
        let constants = super::conversion::constants(&f);
        let formula = f.required_text(
            "formula",
            "an expression of channels' readings in their units, such as \"inlet - outlet\"",
        );
        let life_safety = f.truth("life-safety").is_some_and(|t| t.value);
        let _ = f.text("note");
        f.finish();
        let formula = formula?.map(str::to_owned);
        let mut known = super::conversion::functions();
        known.extend(constants.keys().cloned());
        known.extend(self.channels.iter().chain(earlier).cloned());
        super::conversion::names_known(
            self,
            &formula,
            &known,
            false,
            "a channel, an earlier derived quantity, a constant, or abs min max sqrt exp ln floor round",
        );
        Some(Channel {
            name: name.to_owned(),
            quantity: quantity.value.to_owned(),
            dimension,
            unit: unit?,
            span: self.ends(span?)?,
            accuracy,
            resolution,
            rate_hz: None,
            gate_s: None,
            period: None,
            acquisition: None,
            ac: None,
            data_rate_hz: None,
            awake_s: None,
            clock_tolerance: None,
            sensor: Sensor::none(formula.span),
            derived: Some(Derived { formula, constants }),
            chain: Vec::new(),
            network: None,
            input: None,
            reference: None,
            conversion: Conversion::default(),
            calibration: None,
            others: Vec::new(),
            life_safety,
            place: name_span,
        })
    }

    /// `"mcu.adc.3"`, `"mcu.PA3"`, or a table with nodes and gain.
    fn input(&self, item: &Item, name: &str) -> Option<Input> {
        match &item.content {
            Content::Text(t, _) => self.entry(t, item.span),
            Content::Table(table) => {
                let f = Fields::new(table, format!("the input of {name}"), self.faults);
                let at = f.required_text("at", "\"DEVICE.CONVERTER.CHANNEL\"");
                let gain = f.number("gain");
                if let Some(g) = gain
                    && g.value <= 0.0
                {
                    self.faults
                        .add(g.span, "the gain must be positive", "for example 8");
                }
                let range = f.text("range");
                let plus = f.item("plus").and_then(|i| self.node(i));
                let minus = f.item("minus").and_then(|i| self.node(i));
                f.finish();
                let at = at?;
                let mut input = self.entry(at.value, at.span)?;
                input.gain = gain.map_or(1.0, |g| g.value);
                if let Some(name) = range {
                    input.range = self.range_named(&input, name);
                }
                input.plus = plus;
                input.minus = minus;
                Some(input)
            }
            other => {
                self.faults.add(
                    item.span,
                    format!("`input` is {}", other.describe()),
                    "\"DEVICE.CONVERTER.CHANNEL\"",
                );
                None
            }
        }
    }

    /// A data rate that cannot be set is a fault: the converter does not
    /// filter, or its outputs come at other rates.
    fn possible_rate(&self, rate: Located<f64>, input: Option<&Input>) {
        let Some((device, unit)) = input.and_then(|i| {
            let device = self.devices.get(i.device)?;
            Some((device, device.part.converters.get(i.unit)?))
        }) else {
            return;
        };
        if !unit.delta_sigma {
            self.faults.add(
                rate.span,
                format!(
                    "converter `{}` of {} samples an instant and has no data rate",
                    unit.name, device.name
                ),
                "`acquisition` here or in [scan], and no `data-rate`",
            );
            return;
        }
        let Some(figure) = unit.figures.get("sample-rate") else {
            return;
        };
        let rows = || std::iter::once(figure).chain(&figure.alternatives);
        let lowest = rows().filter_map(|f| f.min).fold(f64::INFINITY, f64::min);
        let highest = rows().filter_map(|f| f.max).fold(0.0, f64::max);
        // Rates are printed with three digits.
        let near = 0.01;
        if highest > 0.0
            && lowest.is_finite()
            && !(lowest * (1.0 - near)..=highest * (1.0 + near)).contains(&rate.value)
        {
            self.faults.add(
                rate.span,
                format!("`{}` gives no outputs at that rate", device.name),
                format!(
                    "from {} to {}",
                    quantity::display(Dimension::FREQUENCY, lowest, 3),
                    quantity::display(Dimension::FREQUENCY, highest, 3)
                ),
            );
        }
    }

    /// A range of the converter that an input enters.
    fn range_named(&self, input: &Input, name: Located<&str>) -> Option<usize> {
        let unit = self
            .devices
            .get(input.device)?
            .part
            .converters
            .get(input.unit)?;
        let found = unit.ranges.iter().position(|r| r.name == name.value);
        if found.is_none() {
            let known: Vec<&str> = unit.ranges.iter().map(|r| r.name.as_str()).collect();
            self.faults.push(
                InputFault::new(
                    name.span,
                    format!("converter `{}` has no range `{}`", unit.name, name.value),
                    if known.is_empty() {
                        "no `range`: it has none that can be set".to_owned()
                    } else {
                        format!("one of {}", known.join(", "))
                    },
                )
                .suggest(nearest_of(name.value, known.iter().copied())),
            );
        }
        found
    }

    fn entry(&self, text: &str, span: Span) -> Option<Input> {
        let mut words = text.splitn(3, '.');
        let device_name = words.next().unwrap_or("");
        let Some(device) = self.devices.iter().position(|d| d.name == device_name) else {
            let known: Vec<&str> = self.devices.iter().map(|d| d.name.as_str()).collect();
            self.faults.push(
                InputFault::new(
                    span,
                    format!("no controller or converter is named `{device_name}`"),
                    if known.is_empty() {
                        "a [controllers.NAME] or [converters.NAME]".to_owned()
                    } else {
                        format!("one of {}", known.join(", "))
                    },
                )
                .suggest(nearest_of(device_name, known.iter().copied())),
            );
            return None;
        };
        let units = &self.devices[device].part.converters;
        let second = words.next();
        let third = words.next();
        let made = |unit: usize, channel: Option<&str>| {
            Some(Input {
                device,
                unit,
                channel: channel.map(str::to_owned),
                gain: 1.0,
                range: units.get(unit).and_then(widest),
                plus: None,
                minus: None,
                average: 1,
                span,
            })
        };
        if units.is_empty() {
            self.faults.add(
                span,
                format!("`{device_name}` has no converter"),
                "a device with an analog-to-digital converter",
            );
            return None;
        }
        let check = |unit: usize, channel: &str| {
            let list = &units[unit].channels;
            let has = |name: &str| list.iter().any(|c| c.name == name || c.pin == name);
            if list.is_empty() || has(channel) {
                return made(unit, Some(channel));
            }
            // Two inputs of a differential converter, plus before minus.
            if units[unit].differential
                && let Some((plus, minus)) = channel.split_once('-')
                && plus != minus
                && has(plus)
                && has(minus)
            {
                return made(unit, Some(channel));
            }
            let known: Vec<&str> = list.iter().map(|c| c.name.as_str()).collect();
            self.faults.push(
                InputFault::new(
                    span,
                    format!(
                        "`{device_name}.{}` has no channel `{channel}`",
                        units[unit].name
                    ),
                    format!("one of {}", known.join(", ")),
                )
                .suggest(nearest_of(channel, known.iter().copied())),
            );
            None
        };
        match (second, third) {
            (None, _) => made(0, None),
            (Some(s), third) => {
                if let Some(unit) = units.iter().position(|u| u.name == s) {
                    return match third {
                        Some(channel) => check(unit, channel),
                        None => made(unit, None),
                    };
                }
                if third.is_none() {
                    for (unit, u) in units.iter().enumerate() {
                        if u.channels.iter().any(|c| c.name == s || c.pin == s) {
                            return made(unit, Some(s));
                        }
                    }
                    if units.len() == 1 {
                        return check(0, s);
                    }
                }
                let known: Vec<&str> = units.iter().map(|u| u.name.as_str()).collect();
                self.faults.push(
                    InputFault::new(
                        span,
                        format!("`{device_name}` has no converter `{s}`"),
                        format!("one of {}", known.join(", ")),
                    )
                    .suggest(nearest_of(s, known.iter().copied())),
                );
                None
            }
        }
    }

    fn against(&self, item: &Item) -> Option<Located<Against>> {
        let value = match &item.content {
            Content::Text(t, _) => Against::Supply(self.supply(t, item.span)?),
            Content::Table(table) => {
                let f = Fields::new(table, "the reference", self.faults);
                let plus = f.required("plus", "a node").and_then(|i| self.node(i));
                let minus = f
                    .item("minus")
                    .map_or(Some(NodeRef::Supply(crate::model::Supply::Ground)), |i| {
                        self.node(i)
                    });
                f.finish();
                Against::Nodes(plus?, minus?)
            }
            other => {
                self.faults.add(
                    item.span,
                    format!("`reference` is {}", other.describe()),
                    "the name of a rail or reference",
                );
                return None;
            }
        };
        Some(Located {
            value,
            span: item.span,
        })
    }

    /// The reference a converter uses when none is named: its analog supply
    /// where it offers that, else the first of its choices.
    fn usual_reference(&self, input: Option<&Input>) -> Option<Located<Against>> {
        let input = input?;
        let device = self.devices.get(input.device)?;
        let unit = device.part.converters.get(input.unit)?;
        let choice = unit
            .references
            .iter()
            .position(|r| matches!(r.from.as_deref(), Some("analog-supply" | "supply")))
            .or_else(|| unit.references.iter().position(|r| r.from.is_none()));
        let supply = match choice {
            Some(choice) => self.internal(input.device, input.unit, choice, input.span)?,
            None => match device.analog_supply.or(device.supply) {
                Some(rail) => crate::model::Supply::Rail(rail),
                None => {
                    self.faults.add(
                        input.span,
                        "nothing says what this converter compares against",
                        "reference = \"RAIL OR REFERENCE\"",
                    );
                    return None;
                }
            },
        };
        Some(Located {
            value: Against::Supply(supply),
            span: input.span,
        })
    }

    fn calibration(
        &self,
        table: &Table,
        name: &str,
        dimension: Dimension,
        span: Option<&Located<Range>>,
    ) -> Option<Calibration> {
        let f = Fields::new(table, format!("the calibration of {name}"), self.faults);
        f.required("at", "a list of points such as [\"0 °C\", \"30 °C\"]");
        let mut at = Vec::new();
        if let Some((list, place)) = f.list("at") {
            for item in list {
                at.extend(
                    f.read_item("at", item, "0 °C", |t| quantity::value(t, dimension))
                        .map(|q| q.value.value),
                );
            }
            if list.is_empty() {
                self.faults.add(
                    place,
                    "a calibration needs at least one point",
                    "at = [\"0 °C\", \"30 °C\"]",
                );
            }
            let mut sorted = at.clone();
            sorted.sort_by(f64::total_cmp);
            if sorted.windows(2).any(|w| w[0] == w[1]) {
                self.faults.add(
                    place,
                    "two calibration points are the same",
                    "different points",
                );
                return None;
            }
        }
        let fit = f.word(
            "fit",
            &[
                ("offset", Fit::Offset),
                ("gain", Fit::Gain),
                ("line", Fit::Line),
                ("parabola", Fit::Parabola),
            ],
        );
        let ambient = f.valued("ambient", Dimension::TEMPERATURE);
        let standard = f.read("standard", "0.05 °C", |t| {
            quantity::valued_difference(t, dimension)
        });
        let common = f.number("standard-common");
        let repeat = f.whole("repeat", 1, 1_000_000);
        let offset_step = f
            .difference("offset-step", dimension)
            .map(|q| q.value.value);
        let gain_step = f.number("gain-step").map(|n| n.value);
        f.finish();
        if let Some(c) = common
            && !(0.0..=1.0).contains(&c.value)
        {
            self.faults.add(
                c.span,
                "`standard-common` is a share",
                "a number from 0 to 1",
            );
        }
        let _ = span;
        let fit_value = fit.map_or(
            match at.len() {
                0 | 1 => Fit::Offset,
                _ => Fit::Line,
            },
            |f| f.value,
        );
        let needed = match fit_value {
            Fit::Offset | Fit::Gain => 1,
            Fit::Line => 2,
            Fit::Parabola => 3,
        };
        if at.len() < needed {
            self.faults.add(
                f_span(table, "at"),
                format!("this fit needs {needed} points, {} given", at.len()),
                "more points or a simpler fit",
            );
            return None;
        }
        Some(Calibration {
            at,
            fit: fit_value,
            ambient,
            standard,
            standard_common: common.map_or(1.0, |c| c.value),
            repeat: repeat.map_or(1, |n| u32::try_from(n.value).unwrap_or(1)),
            offset_step,
            gain_step,
            span: table.span,
        })
    }

    fn other(&self, item: &Item, name: &str, dimension: Dimension) -> Option<Other> {
        let Content::Table(table) = &item.content else {
            self.faults.add(
                item.span,
                format!("a contributor is {}", item.content.describe()),
                "{ name = \"immersion\", size = \"0.05 °C\" }",
            );
            return None;
        };
        let f = Fields::new(table, format!("a contributor of {name}"), self.faults);
        let title = f.required_text("name", "what it is");
        f.required("size", "its limits in the quantity's unit");
        let size = f.read("size", "0.05 °C", |t| {
            quantity::valued_difference(t, dimension)
        });
        let kind = f.word(
            "kind",
            &[
                ("fixed", OtherKind::Fixed),
                ("random", OtherKind::Random),
                ("ageing", OtherKind::Ageing),
            ],
        );
        let shape = f.word(
            "shape",
            &[
                ("rectangular", OtherShape::Rectangular),
                ("normal", OtherShape::Normal),
                ("triangular", OtherShape::Triangular),
                ("arcsine", OtherShape::Arcsine),
            ],
        );
        f.finish();
        let size = size?;
        if size.value.nominal < 0.0 {
            self.faults.add(
                size.span,
                "the size of a contributor is negative",
                "its limits as a magnitude",
            );
            return None;
        }
        Some(Other {
            name: title?.value.to_owned(),
            size,
            kind: kind.map_or(OtherKind::Fixed, |k| k.value),
            shape: shape.map_or(OtherShape::Rectangular, |s| s.value),
        })
    }

    /// Reads the firmware's conversion.
    fn conversion(&self, table: &Table, name: &str) -> Conversion {
        super::conversion::read(self, table, name)
    }
}

/// The range with the largest span.
fn widest(unit: &parts::ConverterUnit) -> Option<usize> {
    let span = |r: &parts::ConverterRange| {
        r.figures
            .get("span")
            .map_or(0.0, |f| f.max.unwrap_or(0.0) - f.min.unwrap_or(0.0))
    };
    (0..unit.ranges.len()).max_by(|&a, &b| {
        let of = |i: usize| unit.ranges.get(i).map_or(0.0, span);
        of(a).total_cmp(&of(b))
    })
}

fn f_span(table: &Table, key: &str) -> Span {
    table.get(key).map_or(table.span, |i| i.span)
}

fn positive(reader: &Reader<'_>, value: Option<Located<f64>>, what: &str) -> Option<Located<f64>> {
    let v = value?;
    if v.value > 0.0 {
        return Some(v);
    }
    reader.faults.add(
        v.span,
        format!("`{what}` must be above zero"),
        "a positive quantity",
    );
    None
}

fn unit_of(item: &Item, dimension: Dimension) -> Option<UnitScale> {
    match &item.content {
        // A plain number has no unit, and 0 alone none of any dimension.
        Content::Text(t, _) => quantity::scale_for(t, dimension).or_else(|| {
            Some(UnitScale {
                symbol: quantity::symbol(dimension)?.to_owned(),
                factor: 1.0,
                offset: 0.0,
            })
        }),
        _ => None,
    }
}

fn needs_converter(sensor: &Sensor) -> bool {
    !matches!(sensor.law.as_str(), "digital" | "pulse-rate")
}
