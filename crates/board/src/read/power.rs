//! What draws from rails, what gets warm, and by which way currents return.

use document::{Content, Fields, Item, Located, Table};
use finding::{InputFault, Span, nearest_of};
use quantity::{Dimension, Valued};

use crate::model::{Channel, FieldValue, Rail, Reference, Supply};
use crate::power::{
    Battery, Burst, Connector, Copper, Draws, HeatSource, HeatSpec, NamedLoad, RailPower,
    Reservoir, ReturnCurrent, ReturnSpec, WarmTarget, Warms, Warmth,
};
use crate::read::Reader;

/// Thickness of the copper of a circuit board where none is written, m: the
/// ordinary foil of one ounce for a square foot (common practice).
const FOIL_M: f64 = 35e-6;

impl Reader<'_> {
    /// The keys of a rail that tell how it is fed and loaded.
    pub(super) fn rail_power(&self, f: &Fields<'_>, name: &str) -> RailPower {
        let mut off_v = 0.0;
        if let Some(off) = f.quantity("off", Dimension::VOLTAGE) {
            off_v = off.value.value;
        }
        RailPower {
            switched: f.truth("switched").is_some_and(|t| t.value) || f.has("off"),
            off_v,
            source_resistance: self.not_negative(f, "source-resistance", Dimension::RESISTANCE),
            connector: f
                .sub("connector")
                .and_then(|t| self.connector(t, &format!("the connector of rail {name}"))),
            cable: f
                .sub("cable")
                .and_then(|t| self.return_cable(t, &format!("rail {name}"))),
            loads: self.named_loads(f, name),
            reservoir: f.sub("reservoir").and_then(|t| self.reservoir(t, name)),
            load_w: self.above_zero(f, "load-power", Dimension::POWER, "2 W"),
            bursts: self.bursts(f, name),
            battery: f.sub("battery").map(|t| self.battery(t, name)),
            start_s: self.above_zero(f, "start", Dimension::TIME, "1 ms"),
            ripple: self.not_negative(f, "ripple", Dimension::VOLTAGE),
            droop_v: self.above_zero(f, "droop", Dimension::VOLTAGE, "100 mV"),
        }
    }

    /// The keys of a device that tell what it draws.
    pub(super) fn draws(&self, f: &Fields<'_>, name: &str) -> Draws {
        Draws {
            current_a: self.currents(f, "current"),
            duty: self.part_of_one(f, "duty"),
            standby_a: f
                .quantity("standby", Dimension::CURRENT)
                .map(|q| q.map(|q| q.value.max(0.0))),
            bursts: self.bursts(f, name),
            decoupling_f: self.above_zero(f, "decoupling", Dimension::CAPACITANCE, "100 nF"),
        }
    }

    fn not_negative(
        &self,
        f: &Fields<'_>,
        key: &'static str,
        dimension: Dimension,
    ) -> Option<Located<Valued>> {
        let v = f.valued(key, dimension)?;
        if v.value.nominal < 0.0 {
            self.faults.add(
                v.span,
                format!("`{key}` is negative"),
                "nothing, or more than nothing",
            );
            return None;
        }
        Some(v)
    }

    fn part_of_one(&self, f: &Fields<'_>, key: &'static str) -> Option<Located<f64>> {
        let n = f.read(key, "10 %", |t| quantity::value(t, Dimension::NONE))?;
        let value = n.value.value;
        if (0.0..=1.0).contains(&value) {
            return Some(n.map(|q| q.value));
        }
        self.faults.add(
            n.span,
            format!("`{key}` is {value}"),
            "a share between 0 and 1, or \"10 %\"",
        );
        None
    }

    /// `"20 mA"`, `"20 mA ± 10 %"` or `"60 µA to 91 µA"`: least and most, A.
    fn currents(&self, f: &Fields<'_>, key: &'static str) -> Option<Located<(f64, f64)>> {
        let ranged = matches!(f.table().get(key).map(|i| &i.content), Some(Content::Text(t, _)) if is_range(t));
        let found = if ranged {
            f.range(key, Dimension::CURRENT)?.map(|r| (r.low, r.high))
        } else {
            f.valued(key, Dimension::CURRENT)?.map(|v| limits(&v))
        };
        if found.value.0 < 0.0 {
            self.faults.add(
                found.span,
                format!("`{key}` is negative"),
                "a current such as \"20 mA\" or \"60 µA to 91 µA\"",
            );
            return None;
        }
        Some(found)
    }

    fn connector(&self, table: &Table, what: &str) -> Option<Connector> {
        let f = Fields::new(table, what, self.faults);
        let pins = f.whole("pins", 1, 1000);
        let connector = Connector {
            pins: pins.map_or(1, |n| u32::try_from(n.value).unwrap_or(1)),
            each_a: self.above_zero(&f, "each", Dimension::CURRENT, "3 A"),
            contact: self.not_negative(&f, "contact", Dimension::RESISTANCE),
            span: table.span,
        };
        f.finish();
        Some(connector)
    }

    fn reservoir(&self, table: &Table, name: &str) -> Option<Reservoir> {
        let f = Fields::new(table, format!("the reservoir of rail {name}"), self.faults);
        f.required("c", "a capacitor such as \"47 µF\"");
        let capacitance = f.valued("c", Dimension::CAPACITANCE);
        let esr = self.not_negative(&f, "esr", Dimension::RESISTANCE);
        f.finish();
        let capacitance = capacitance?;
        if capacitance.value.nominal <= 0.0 {
            self.faults.add(
                capacitance.span,
                "a capacitor of nothing holds nothing",
                "c = \"47 µF\"",
            );
            return None;
        }
        Some(Reservoir { capacitance, esr })
    }

    fn bursts(&self, f: &Fields<'_>, name: &str) -> Vec<Burst> {
        let mut bursts = Vec::new();
        let Some((list, _)) = f.list("bursts") else {
            return bursts;
        };
        for (i, item) in list.iter().enumerate() {
            let Content::Table(table) = &item.content else {
                self.faults.add(
                    item.span,
                    format!("a burst is {}", item.content.describe()),
                    "{ current = \"300 mA\", for = \"20 µs\", every = \"1 s\" }",
                );
                continue;
            };
            let b = Fields::new(table, format!("a burst of {name}"), self.faults);
            b.required("current", "a current such as \"300 mA\"");
            b.required("for", "a time such as \"1 ms\"");
            let called = b.text("name");
            let current = self.above_zero(&b, "current", Dimension::CURRENT, "300 mA");
            let long = self.above_zero(&b, "for", Dimension::TIME, "1 ms");
            let every = self.above_zero(&b, "every", Dimension::TIME, "1 s");
            b.finish();
            if let (Some(every), Some(long)) = (&every, &long)
                && every.value < long.value
            {
                self.faults.add(
                    every.span,
                    "the burst begins again before it ends",
                    "`every` not shorter than `for`",
                );
            }
            if let (Some(current), Some(long)) = (current, long) {
                bursts.push(Burst {
                    name: called.map_or_else(
                        || {
                            if list.len() > 1 {
                                format!("{name}, burst {}", i + 1)
                            } else {
                                format!("{name}, burst")
                            }
                        },
                        |t| t.value.to_owned(),
                    ),
                    current_a: current.value,
                    for_s: long.value,
                    every_s: every.map(|e| e.value),
                    span: item.span,
                });
            }
        }
        bursts
    }

    fn named_loads(&self, f: &Fields<'_>, name: &str) -> Vec<NamedLoad> {
        let mut loads = Vec::new();
        let Some((list, _)) = f.list("loads") else {
            return loads;
        };
        for item in list {
            let Content::Table(table) = &item.content else {
                self.faults.add(
                    item.span,
                    format!("a load is {}", item.content.describe()),
                    "{ name = \"relay\", current = \"70 mA\", duty = \"10 %\" }",
                );
                continue;
            };
            let l = Fields::new(table, format!("a load of rail {name}"), self.faults);
            let called = l.required_text("name", "what draws, such as \"relay\"");
            l.required("current", "a current such as \"70 mA\"");
            let current = self.currents(&l, "current");
            let duty = self.part_of_one(&l, "duty");
            l.finish();
            if let (Some(called), Some(current)) = (called, current) {
                loads.push(NamedLoad {
                    name: called.value.to_owned(),
                    current_a: current.value,
                    duty: duty.map_or(1.0, |d| d.value),
                    span: item.span,
                });
            }
        }
        loads
    }

    fn battery(&self, table: &Table, name: &str) -> Battery {
        let f = Fields::new(table, format!("the battery of rail {name}"), self.faults);
        let count = |key: &'static str| {
            f.whole(key, 1, 10_000)
                .map_or(1, |n| u32::try_from(n.value).unwrap_or(1))
        };
        let battery = Battery {
            cells: count("cells"),
            strings: count("strings"),
            capacity_as: self.above_zero(&f, "capacity", Dimension::CHARGE, "2500 mAh"),
            cell_ohm: self.cell_resistance(&f),
            cell_span: f.span_of("cell-resistance"),
            usable: self.part_of_one(&f, "usable").map_or(1.0, |s| s.value),
            self_discharge_per_s: f
                .quantity("self-discharge", Dimension::FREQUENCY)
                .map_or(0.0, |q| q.value.value.max(0.0)),
            life_s: self.above_zero(&f, "life", Dimension::TIME, "90 d"),
            span: table.span,
        };
        f.finish();
        battery
    }

    /// `"50 mΩ"`, or pairs of temperature and resistance.
    fn cell_resistance(&self, f: &Fields<'_>) -> Vec<(f64, f64)> {
        const EXAMPLE: &str =
            "\"50 mΩ\", or pairs such as [[\"-20 °C\", \"200 mΩ\"], [\"20 °C\", \"50 mΩ\"]]";
        let Some(item) = f.table().get("cell-resistance") else {
            // Asked for, so that the key is known.
            let _ = f.item("cell-resistance");
            return Vec::new();
        };
        let Content::List(list) = &item.content else {
            return f
                .quantity("cell-resistance", Dimension::RESISTANCE)
                .map(|q| vec![(293.15, q.value.value.max(0.0))])
                .unwrap_or_default();
        };
        let _ = f.item("cell-resistance");
        let mut points: Vec<(f64, f64)> = Vec::new();
        for pair in list {
            let Content::List(two) = &pair.content else {
                self.faults.add(pair.span, "this is no pair", EXAMPLE);
                return Vec::new();
            };
            let [kelvin, ohm] = two.as_slice() else {
                self.faults.add(pair.span, "a pair has two values", EXAMPLE);
                return Vec::new();
            };
            let read = |item: &Item, dimension| {
                f.read_item("cell-resistance", item, "50 mΩ", |t| {
                    quantity::value(t, dimension)
                })
            };
            let (Some(t), Some(r)) = (
                read(kelvin, Dimension::TEMPERATURE),
                read(ohm, Dimension::RESISTANCE),
            ) else {
                return Vec::new();
            };
            if points.last().is_some_and(|p| p.0 >= t.value.value) || r.value.value < 0.0 {
                self.faults.add(
                    pair.span,
                    "the pairs are not by rising temperature, or a resistance is negative",
                    EXAMPLE,
                );
                return Vec::new();
            }
            points.push((t.value.value, r.value.value));
        }
        points
    }

    /// `[heat.NAME]`.
    pub(super) fn heats(
        &self,
        top: &Fields<'_>,
        rails: &[Rail],
        references: &[Reference],
        channels: &[Channel],
    ) -> Vec<HeatSpec> {
        let mut heats = Vec::new();
        for (key, table) in top.named("heat") {
            let what = format!("heat {}", key.name);
            let f = Fields::new(table, what.clone(), self.faults);
            let named = f.text("source");
            let power = self.not_negative(&f, "power", Dimension::POWER);
            let source = match (&named, power) {
                (Some(name), None) if !f.has("power") => {
                    self.heat_source(*name, rails, references, channels)
                }
                (None, Some(power)) => Some((power.span, HeatSource::Power(power))),
                (Some(_), _) => {
                    self.faults.add(
                        table.span,
                        format!("{what} has both a source and a power"),
                        "one of them: the power of a source follows from the circuit",
                    );
                    None
                }
                (None, None) => {
                    if !f.has("power") && !f.has("source") {
                        self.faults.add(
                            table.span,
                            format!("{what} says not what gets warm"),
                            "source = \"rails.logic\", a device, or power = \"255 mW\"",
                        );
                    }
                    None
                }
            };
            let resistance = self.not_negative(&f, "resistance", Dimension::THERMAL_RESISTANCE);
            let drift = f.read("power-drift", "1 %/K", |t| {
                quantity::value(t, Dimension::PER_KELVIN)
            });
            let mut warms = Vec::new();
            if let Some(list) = f.sub("warms") {
                for (target, item) in &list.entries {
                    let by = self.warmth(&f, item);
                    let target = self.warm_target(
                        Located {
                            value: target.name.as_str(),
                            span: target.span,
                        },
                        references,
                        channels,
                    );
                    if let (Some(by), Some(target)) = (by, target) {
                        warms.push(Warms {
                            target,
                            by,
                            span: item.span,
                        });
                    }
                }
            }
            f.finish();
            if let Some((source_span, source)) = source {
                heats.push(HeatSpec {
                    name: key.name.clone(),
                    source,
                    source_span,
                    resistance,
                    power_drift_per_k: drift.map_or(0.0, |d| d.value.value),
                    warms,
                    span: table.span,
                });
            }
        }
        heats
    }

    fn warmth(&self, f: &Fields<'_>, item: &Item) -> Option<Warmth> {
        let Content::Text(text, _) = &item.content else {
            self.faults.add(
                item.span,
                format!("a warming is {}", item.content.describe()),
                "\"12 K/W\" or \"10 K\"",
            );
            return None;
        };
        if text.contains("/W") {
            f.read_item("warms", item, "12 K/W", |t| {
                quantity::valued(t, Dimension::THERMAL_RESISTANCE)
            })
            .map(|v| Warmth::PerWatt(v.value))
        } else {
            f.read_item("warms", item, "10 K", |t| {
                quantity::valued_difference(t, Dimension::TEMPERATURE)
            })
            .map(|v| Warmth::Rise(v.value))
        }
    }

    fn heat_source(
        &self,
        name: Located<&str>,
        rails: &[Rail],
        references: &[Reference],
        channels: &[Channel],
    ) -> Option<(Span, HeatSource)> {
        let (group, rest) = name.value.split_once('.').unwrap_or(("", name.value));
        let known: Vec<String> = rails
            .iter()
            .map(|r| format!("rails.{}", r.name))
            .chain(self.devices.iter().map(|d| d.name.clone()))
            .chain(references.iter().map(|r| format!("references.{}", r.name)))
            .collect();
        let device = |name: &str| self.devices.iter().position(|d| d.name == name);
        let found = match group {
            "rails" => rails
                .iter()
                .position(|r| r.name == rest)
                .map(HeatSource::Rail),
            "references" => references
                .iter()
                .position(|r| r.name == rest)
                .map(HeatSource::Reference),
            "controllers" | "converters" | "devices" => device(rest).map(HeatSource::Device),
            "channels" => {
                let path = self.element_path(name, channels)?;
                let channel = rest.split('.').next()?;
                let channel = channels.iter().position(|c| c.name == channel)?;
                return Some((name.span, HeatSource::Element { channel, path }));
            }
            _ => device(name.value).map(HeatSource::Device).or_else(|| {
                match self.names.iter().find(|(n, _)| n == name.value)?.1 {
                    Supply::Rail(i) => Some(HeatSource::Rail(i)),
                    Supply::Reference(i) => Some(HeatSource::Reference(i)),
                    Supply::Ground | Supply::Internal(..) => None,
                }
            }),
        };
        if found.is_none() {
            self.unknown(name, "nothing that gets warm is named", &known);
        }
        found.map(|s| (name.span, s))
    }

    fn warm_target(
        &self,
        name: Located<&str>,
        references: &[Reference],
        channels: &[Channel],
    ) -> Option<WarmTarget> {
        let last = name.value.split_once('.').map_or(name.value, |(_, r)| r);
        if name.value.starts_with("channels.") && last.contains('.') {
            return self.element_path(name, channels).map(WarmTarget::Element);
        }
        let known: Vec<String> = channels
            .iter()
            .map(|c| c.name.clone())
            .chain(self.devices.iter().map(|d| d.name.clone()))
            .chain(references.iter().map(|r| r.name.clone()))
            .collect();
        let found = channels
            .iter()
            .position(|c| c.name == last)
            .map(WarmTarget::Channel)
            .or_else(|| {
                let at = self.devices.iter().position(|d| d.name == last)?;
                Some(WarmTarget::Device(at))
            })
            .or_else(|| {
                let at = references.iter().position(|r| r.name == last)?;
                Some(WarmTarget::Reference(at))
            });
        if found.is_none() && channels.len() == self.channels.len() {
            self.unknown(name, "nothing that can be warmed is named", &known);
        }
        found
    }

    /// The path of a component's value, `channels.gain.chain.0.gain-resistor`;
    /// a stage may be meant by its name.
    fn element_path(&self, name: Located<&str>, channels: &[Channel]) -> Option<String> {
        let parts: Vec<&str> = name.value.split('.').collect();
        let ["channels", channel, "chain", stage, key] = parts.as_slice() else {
            self.faults.add(
                name.span,
                format!("`{}` is no component", name.value),
                "channels.NAME.chain.STAGE.KEY, for example \"channels.flow.chain.0.r\"",
            );
            return None;
        };
        let at = self.channel_named(channel, name.span)?;
        let channel = channels.get(at)?;
        let stage = match stage.parse::<usize>() {
            Ok(n) => channel.chain.get(n),
            Err(_) => channel.chain.iter().find(|s| s.name == *stage),
        };
        let Some(stage) = stage else {
            self.faults.add(
                name.span,
                format!("`{}` has no such stage", channel.name),
                format!(
                    "the position of one of its {} stages, counted from 0, or its name",
                    channel.chain.len()
                ),
            );
            return None;
        };
        let values: Vec<String> = stage
            .fields
            .iter()
            .filter(|(_, v)| matches!(v.value, FieldValue::Valued(_)))
            .map(|(k, _)| (*k).to_owned())
            .collect();
        if values.iter().any(|v| v == key) {
            return Some(format!("{}.{key}", stage.path));
        }
        self.unknown(
            Located {
                value: key,
                span: name.span,
            },
            &format!("the stage `{}` has no value named", stage.kind),
            &values,
        );
        None
    }

    fn unknown(&self, name: Located<&str>, what: &str, known: &[String]) {
        self.faults.push(
            InputFault::new(
                name.span,
                format!("{what} `{}`", name.value),
                if known.is_empty() {
                    "something the board has".to_owned()
                } else {
                    format!("one of {}", known.join(", "))
                },
            )
            .suggest(nearest_of(name.value, known.iter().map(String::as_str))),
        );
    }

    /// `[returns.NAME]`.
    pub(super) fn returns(
        &self,
        top: &Fields<'_>,
        rails: &[Rail],
        channels: &[Channel],
    ) -> Vec<ReturnSpec> {
        let mut returns = Vec::new();
        for (key, table) in top.named("returns") {
            let what = format!("return {}", key.name);
            let f = Fields::new(table, what.clone(), self.faults);
            let resistance = self.not_negative(&f, "resistance", Dimension::RESISTANCE);
            let copper = f.sub("copper").and_then(|t| self.copper(t, &what));
            let cable = f.sub("cable").and_then(|t| self.return_cable(t, &what));
            let connector = f
                .sub("connector")
                .and_then(|t| self.connector(t, &format!("the connector of {what}")));
            if !["resistance", "copper", "cable", "connector"]
                .iter()
                .any(|k| f.has(k))
            {
                self.faults.add(
                    table.span,
                    format!("{what} has no resistance"),
                    "resistance = \"20 mΩ\", or copper, cable or connector",
                );
            }
            let mut currents = Vec::new();
            f.required("currents", "a list such as [\"rails.motor\", \"0.5 A\"]");
            if let Some((list, _)) = f.list("currents") {
                for item in list {
                    currents.extend(self.return_current(&f, item, rails));
                }
            }
            let mut beyond = Vec::new();
            if let Some((list, _)) = f.list("channels") {
                for item in list {
                    match &item.content {
                        Content::Text(name, _) => {
                            beyond.extend(self.channel_named(name, item.span));
                        }
                        other => self.faults.add(
                            item.span,
                            format!("a channel is {}", other.describe()),
                            "its name in quotes",
                        ),
                    }
                }
            }
            let left = self.part_of_one(&f, "left");
            f.finish();
            if channels.len() != self.channels.len() {
                // Positions of channels hold only where every one was read.
                beyond.clear();
            }
            returns.push(ReturnSpec {
                name: key.name.clone(),
                resistance,
                copper,
                cable,
                connector,
                currents,
                channels: beyond,
                left,
                span: table.span,
            });
        }
        returns
    }

    fn copper(&self, table: &Table, what: &str) -> Option<Copper> {
        let f = Fields::new(table, format!("the copper of {what}"), self.faults);
        f.required("length", "a length such as \"100 mm\"");
        f.required("width", "a width such as \"0.25 mm\"");
        let length = self.above_zero(&f, "length", Dimension::LENGTH, "100 mm");
        let width = self.above_zero(&f, "width", Dimension::LENGTH, "0.25 mm");
        let thickness = self.above_zero(&f, "thickness", Dimension::LENGTH, "35 µm");
        f.finish();
        Some(Copper {
            length_m: length?.value,
            width_m: width?.value,
            thickness_m: thickness.map_or(FOIL_M, |t| t.value),
            span: table.span,
        })
    }

    /// A cable with a resistance.
    fn return_cable(&self, table: &Table, what: &str) -> Option<crate::links::Cable> {
        let cable = self.cable(table, what)?;
        let told = table.get("resistance").is_some() || table.get("gauge").is_some();
        if !told {
            self.faults.add(
                table.span,
                format!("the cable of {what} has no resistance"),
                "gauge = \"24 AWG\" or resistance = \"84 mΩ/m\"",
            );
        }
        told.then_some(cable)
    }

    fn return_current(&self, f: &Fields<'_>, item: &Item, rails: &[Rail]) -> Option<ReturnCurrent> {
        let Content::Text(text, _) = &item.content else {
            self.faults.add(
                item.span,
                format!("a current is {}", item.content.describe()),
                "\"rails.motor\", a device, a channel, or \"0.5 A\"",
            );
            return None;
        };
        let span = item.span;
        let first = text.trim_start().chars().next();
        if first.is_some_and(|c| c.is_ascii_digit() || c == '.') && !self.is_name(text) {
            let found = if is_range(text) {
                f.read_item("currents", item, "0.5 A", |t| {
                    quantity::range(t, Dimension::CURRENT)
                })
                .map(|r| (r.value.low, r.value.high))
            } else {
                f.read_item("currents", item, "0.5 A", |t| {
                    quantity::valued(t, Dimension::CURRENT)
                })
                .map(|v| limits(&v.value))
            };
            return found.map(|c| ReturnCurrent::Stated(c, span));
        }
        let (group, rest) = text.split_once('.').unwrap_or(("", text));
        let rail = rails.iter().position(|r| r.name == rest);
        let device = self.devices.iter().position(|d| d.name == rest);
        let channel = self.channels.iter().position(|c| c == rest);
        let found = match group {
            "rails" => rail.map(|i| ReturnCurrent::Rail(i, span)),
            "controllers" | "converters" | "devices" => {
                device.map(|i| ReturnCurrent::Device(i, span))
            }
            "channels" => channel.map(|i| ReturnCurrent::Sensor(i, span)),
            "" => rail
                .map(|i| ReturnCurrent::Rail(i, span))
                .or_else(|| device.map(|i| ReturnCurrent::Device(i, span)))
                .or_else(|| channel.map(|i| ReturnCurrent::Sensor(i, span))),
            _ => None,
        };
        if found.is_none() {
            let known: Vec<String> = rails
                .iter()
                .map(|r| format!("rails.{}", r.name))
                .chain(self.devices.iter().map(|d| d.name.clone()))
                .chain(self.channels.iter().map(|c| format!("channels.{c}")))
                .collect();
            self.unknown(
                Located { value: text, span },
                "nothing that draws a current is named",
                &known,
            );
        }
        found
    }

    fn is_name(&self, text: &str) -> bool {
        self.names.iter().any(|(n, _)| n == text)
            || self.devices.iter().any(|d| d.name == text)
            || self.channels.iter().any(|c| c == text)
    }
}

/// Whether a text is a range and not one value.
fn is_range(text: &str) -> bool {
    text.contains(" to ") || text.contains('…')
}

/// Least and most of a value with its tolerance.
fn limits(v: &Valued) -> (f64, f64) {
    v.tolerance
        .map_or((v.nominal, v.nominal), |t| t.limits(v.nominal))
}
