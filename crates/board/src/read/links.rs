//! Links and the devices on them.

use std::collections::BTreeMap;

use document::{Content, Fields, Item, Located, Table};
use finding::{InputFault, nearest_of};
use quantity::{Dimension, Valued};

use crate::links::{BusMode, Cable, Gauge, Link, LinkKind, Member, Port, Via};
use crate::model::{Device, Rail};
use crate::read::Reader;

/// Roles of a controller's pins by kind of link.
fn roles(kind: LinkKind) -> &'static [&'static str] {
    match kind {
        LinkKind::I2c => &["clock", "data"],
        LinkKind::Spi => &["clock", "out", "in"],
        LinkKind::Uart => &["send", "receive"],
        LinkKind::SingleWire => &["data"],
        LinkKind::Wire => &[],
    }
}

impl Reader<'_> {
    /// `[devices.NAME]`: parts with digital pins that are neither controllers
    /// nor converters.
    pub(super) fn fitted(&mut self, top: &Fields<'_>, rails: &[Rail]) {
        for (key, table) in top.named("devices") {
            self.free_name(key);
            let f = Fields::new(table, format!("device {}", key.name), self.faults);
            f.required("part", "the name of a part in quotes");
            let rail = |key| f.text(key).and_then(|t| self.rail_named(&t, rails));
            let supply = rail("supply");
            let supply_b = rail("supply-b");
            let address = self.address(&f);
            let draws = self.draws(&f, &key.name);
            let part = f.text("part").and_then(|t| self.part(t.value, t.span, &[]));
            let part = match (part, f.sub("figures")) {
                (Some(part), Some(over)) => {
                    parts::with_figures(&part, over, self.faults).map(std::sync::Arc::new)
                }
                (part, _) => part,
            };
            f.finish();
            if let Some(part) = part {
                self.devices.push(Device {
                    name: key.name.clone(),
                    part,
                    supply,
                    analog_supply: supply,
                    supply_b,
                    address,
                    draws,
                    span: table.span,
                });
            }
        }
    }

    /// `"0x44"` or `0x44`: seven bits. An address with the direction bit behind
    /// it is told from one without by its size alone.
    fn address(&self, f: &Fields<'_>) -> Option<Located<u8>> {
        let item = f.item("address")?;
        let written = match &item.content {
            Content::Text(text, _) => text
                .strip_prefix("0x")
                .map_or_else(|| text.parse().ok(), |h| i64::from_str_radix(h, 16).ok()),
            _ => f.whole("address", 0, 0xFFFF).map(|n| n.value),
        };
        match written.map(u8::try_from) {
            Some(Ok(value)) if value < 0x80 => Some(Located {
                value,
                span: item.span,
            }),
            Some(Ok(value)) => {
                self.faults.add(
                    item.span,
                    format!(
                        "{value:#04X} has eight bits: on the wire the seven-bit address {:#04X} shows as {:#04X} (write) and {:#04X} (read)",
                        value >> 1,
                        value & 0xFE,
                        value | 1
                    ),
                    format!("address = \"{:#04X}\"", value >> 1),
                );
                None
            }
            _ => {
                self.faults.add(
                    item.span,
                    "this is no address",
                    "seven bits, such as \"0x44\"",
                );
                None
            }
        }
    }

    /// A device, or a device and what stands behind a point.
    fn port(&self, text: &str, span: finding::Span) -> Option<Port> {
        let (name, pin) = match text.split_once('.') {
            Some((name, pin)) => (name, Some(pin.to_owned())),
            None => (text, None),
        };
        let Some(device) = self.devices.iter().position(|d| d.name == name) else {
            let known: Vec<&str> = self.devices.iter().map(|d| d.name.as_str()).collect();
            self.faults.push(
                InputFault::new(
                    span,
                    format!("no device is named `{name}`"),
                    if known.is_empty() {
                        "a [controllers.NAME], [converters.NAME] or [devices.NAME]".to_owned()
                    } else {
                        format!("one of {}", known.join(", "))
                    },
                )
                .suggest(nearest_of(name, known.iter().copied())),
            );
            return None;
        };
        Some(Port { device, pin, span })
    }

    fn port_at(&self, f: &Fields<'_>, key: &'static str) -> Option<Port> {
        let text = f.text(key)?;
        self.port(text.value, text.span)
    }

    /// `[links.NAME]`.
    pub(super) fn links(&self, top: &Fields<'_>, rails: &[Rail]) -> Vec<Link> {
        let tables = top.named("links");
        let names: Vec<&str> = tables.iter().map(|(k, _)| k.name.as_str()).collect();
        let links: Vec<Link> = tables
            .iter()
            .filter_map(|(key, table)| self.link(&key.name, table, rails, &names))
            .collect();
        // Positions hold only where every link could be read.
        if links.len() == tables.len() {
            self.no_ring(&links);
        }
        links
    }

    /// No segment lies behind itself.
    fn no_ring(&self, links: &[Link]) {
        for (i, link) in links.iter().enumerate() {
            let mut at = i;
            for _ in 0..links.len() {
                match links.get(at).and_then(|l| l.via.as_ref()) {
                    Some(via) => at = via.from.value,
                    None => break,
                }
                if at == i {
                    self.faults.add(
                        link.via.as_ref().map_or(link.span, |v| v.from.span),
                        format!("link {} lies behind itself", link.name),
                        "`via` from the link nearer to the controller",
                    );
                    return;
                }
            }
        }
    }

    fn link(&self, name: &str, table: &Table, rails: &[Rail], names: &[&str]) -> Option<Link> {
        let f = Fields::new(table, format!("link {name}"), self.faults);
        f.required("kind", "i2c, spi, uart, single-wire or wire");
        let kind = f.word("kind", &LinkKind::ALL);
        let controller = self.port_at(&f, "controller");
        let supply = f.text("supply").and_then(|t| {
            let value = self.rail_named(&t, rails)?;
            Some(Located {
                value,
                span: t.span,
            })
        });
        let members = self.members(&f);
        let driver = self.port_at(&f, "driver");
        let receivers = f.list("receivers").map_or_else(Vec::new, |(list, _)| {
            list.iter()
                .filter_map(|item| match &item.content {
                    Content::Text(text, _) => self.port(text, item.span),
                    other => {
                        self.faults.add(
                            item.span,
                            format!("a receiver is {}", other.describe()),
                            "a device or one of its pins, such as \"mcu.PA3\"",
                        );
                        None
                    }
                })
                .collect()
        });
        let pins = f.sub("pins").map_or_else(BTreeMap::new, |t| {
            self.role_pins(t, name, kind.as_ref().map(|k| k.value))
        });
        let pull_ups = self.resistors(&f, "pull-ups");
        let clock_hz = match (
            self.above_zero(&f, "clock", Dimension::FREQUENCY, "100 kHz"),
            self.above_zero(&f, "baud", Dimension::FREQUENCY, "9600 /s"),
        ) {
            (Some(_), Some(second)) => {
                self.faults.add(
                    second.span,
                    "`clock` and `baud` say the same thing twice",
                    "one of them",
                );
                None
            }
            (clock, baud) => clock.or(baud),
        };
        let (mode, spi_mode) = self.mode(&f, kind.as_ref().map(|k| k.value));
        let cable = f.sub("cable").and_then(|t| self.cable(t, name));
        let traces_f = self.positive(&f, "traces", Dimension::CAPACITANCE, "15 pF");
        let series_ohm = self.positive(&f, "series", Dimension::RESISTANCE, "330 Ω 5 %");
        let divider = f.sub("divider").and_then(|t| {
            let d = Fields::new(t, format!("divider of link {name}"), self.faults);
            d.required("top", "a resistor such as \"1.8 kΩ 1 %\"");
            d.required("bottom", "a resistor such as \"3.3 kΩ 1 %\"");
            let top = self.positive(&d, "top", Dimension::RESISTANCE, "1.8 kΩ 1 %");
            let bottom = self.positive(&d, "bottom", Dimension::RESISTANCE, "3.3 kΩ 1 %");
            d.finish();
            top.zip(bottom)
        });
        let via = f.sub("via").and_then(|t| self.via(t, name, names));
        let poll_hz = self.above_zero(&f, "poll", Dimension::FREQUENCY, "10 /s");
        let bytes = self.bytes(&f);
        let skew = self.share(&f, "skew", "25 %");
        let sink_a = self.above_zero(&f, "sink", Dimension::CURRENT, "3 mA");
        let divided_from_hz = self.above_zero(&f, "divided-from", Dimension::FREQUENCY, "16 MHz");
        let controller_tolerance = self.share(&f, "controller-tolerance", "1 %");
        let frame_bits = f.whole("frame-bits", 7, 13).and_then(|n| {
            Some(Located {
                value: u8::try_from(n.value).ok()?,
                span: n.span,
            })
        });
        let clock_tolerance = self.share(&f, "clock-tolerance", "2 %");
        let common_return = f.truth("common-return");
        f.finish();
        if let Some(c) = &controller
            && let Some(m) = members.iter().find(|m| m.port.device == c.device)
        {
            self.faults.add(
                m.span,
                "the controller of the link is not one of its devices",
                "the devices it talks to",
            );
        }
        let kind = kind?.value;
        if kind == LinkKind::Wire {
            if driver.is_none() && !f_has(table, "driver") {
                self.faults.add(
                    table.span,
                    format!("link {name} has no driver"),
                    "driver = \"DEVICE\" or \"DEVICE.PIN\"",
                );
            }
            let names_none = matches!(
                table.get("receivers").map(|i| &i.content),
                None | Some(Content::List(_))
            ) && table
                .get("receivers")
                .is_none_or(|i| matches!(&i.content, Content::List(l) if l.is_empty()));
            if names_none {
                self.faults.add(
                    table.span,
                    format!("link {name} has nobody who listens"),
                    "receivers = [\"DEVICE\"]",
                );
            }
        } else {
            for key in ["driver", "receivers"] {
                if let Some(item) = table.get(key) {
                    self.faults.add(
                        item.span,
                        format!("`{key}` belongs to a link of kind wire"),
                        "controller = \"…\" and devices = [\"…\"]",
                    );
                }
            }
        }
        Some(Link {
            name: name.to_owned(),
            kind,
            controller,
            supply,
            members,
            pins,
            driver,
            receivers,
            pull_ups,
            clock_hz,
            mode,
            spi_mode,
            cable,
            traces_f,
            series_ohm,
            divider,
            via,
            poll_hz,
            bytes,
            skew,
            sink_a,
            divided_from_hz,
            controller_tolerance,
            frame_bits,
            clock_tolerance,
            common_return,
            span: table.span,
        })
    }

    fn members(&self, f: &Fields<'_>) -> Vec<Member> {
        let Some((list, _)) = f.list("devices") else {
            return Vec::new();
        };
        let mut members: Vec<Member> = Vec::new();
        for item in list {
            let Some(member) = self.member(item) else {
                continue;
            };
            if members.iter().any(|m| m.port.device == member.port.device) {
                self.faults.add(
                    item.span,
                    "this device is on the link already",
                    "every device once",
                );
                continue;
            }
            members.push(member);
        }
        members
    }

    fn member(&self, item: &Item) -> Option<Member> {
        match &item.content {
            Content::Text(text, _) => Some(Member {
                port: self.port(text, item.span)?,
                address: None,
                poll_hz: None,
                bytes: None,
                select: None,
                pull_up: None,
                shared_cache: false,
                span: item.span,
            }),
            Content::Table(table) => {
                let f = Fields::new(table, "a device of a link", self.faults);
                f.required("device", "the name of a device in quotes");
                let port = self.port_at(&f, "device");
                let address = self.address(&f);
                let poll_hz = self.above_zero(&f, "poll", Dimension::FREQUENCY, "2 /s");
                let bytes = self.bytes(&f);
                let select = f.text("select").map(|t| t.map(str::to_owned));
                let pull_up = self.positive(&f, "pull-up", Dimension::RESISTANCE, "10 kΩ");
                let shared_cache = f
                    .word("cache", &[("own", false), ("shared", true)])
                    .is_some_and(|w| w.value);
                f.finish();
                Some(Member {
                    port: port?,
                    address,
                    poll_hz,
                    bytes,
                    select,
                    pull_up,
                    shared_cache,
                    span: item.span,
                })
            }
            other => {
                self.faults.add(
                    item.span,
                    format!("a device of a link is {}", other.describe()),
                    "its name, or { device = \"NAME\", address = \"0x44\" }",
                );
                None
            }
        }
    }

    fn role_pins(
        &self,
        table: &Table,
        name: &str,
        kind: Option<LinkKind>,
    ) -> BTreeMap<String, Located<String>> {
        let f = Fields::new(table, format!("pins of link {name}"), self.faults);
        let known = kind.map_or(
            &["clock", "data", "out", "in", "send", "receive"][..],
            roles,
        );
        let mut pins = BTreeMap::new();
        for role in known {
            if let Some(pin) = f.text(role) {
                pins.insert((*role).to_owned(), pin.map(str::to_owned));
            }
        }
        f.finish();
        pins
    }

    fn mode(
        &self,
        f: &Fields<'_>,
        kind: Option<LinkKind>,
    ) -> (Option<Located<BusMode>>, Option<Located<u8>>) {
        if f.item("mode").is_none() {
            return (None, None);
        }
        match kind {
            Some(LinkKind::I2c) => (f.word("mode", &BusMode::ALL), None),
            Some(LinkKind::Spi) => {
                let mode = f.whole("mode", 0, 3).and_then(|n| {
                    Some(Located {
                        value: u8::try_from(n.value).ok()?,
                        span: n.span,
                    })
                });
                (None, mode)
            }
            _ => {
                let _ = f.item("mode");
                self.faults.add(
                    f.span_of("mode"),
                    "only a two-wire bus and a serial peripheral bus have a `mode`",
                    "kind = \"i2c\" or kind = \"spi\"",
                );
                (None, None)
            }
        }
    }

    /// A cable of a link, or of whatever else runs through one.
    pub(super) fn cable(&self, table: &Table, name: &str) -> Option<Cable> {
        let f = Fields::new(table, format!("cable of {name}"), self.faults);
        f.required("length", "\"3 m\"");
        let length_m = self.positive(&f, "length", Dimension::LENGTH, "3 m");
        let per_m = |key, dimension: Dimension, example| {
            self.positive(&f, key, dimension.over(Dimension::LENGTH), example)
        };
        let capacitance_per_m = per_m("capacitance", Dimension::CAPACITANCE, "60 pF/m");
        let delay_per_m = per_m("delay", Dimension::TIME, "5 ns/m");
        let resistance_per_m = per_m("resistance", Dimension::RESISTANCE, "84 mΩ/m");
        let gauge = self.gauge(&f);
        if let (Some(_), Some(g)) = (&resistance_per_m, &gauge) {
            self.faults.add(
                g.span,
                "`gauge` and `resistance` both say how well the cable conducts",
                "one of them",
            );
        }
        f.finish();
        Some(Cable {
            length_m: length_m?,
            capacitance_per_m,
            delay_per_m,
            resistance_per_m,
            gauge,
            span: table.span,
        })
    }

    /// `"24 AWG"` or `"0.25 mm²"`.
    pub(super) fn gauge(&self, f: &Fields<'_>) -> Option<Located<Gauge>> {
        const EXAMPLE: &str = "\"24 AWG\" or \"0.25 mm²\"";
        let text = f.text("gauge")?;
        let awg = text
            .value
            .strip_suffix("AWG")
            .or_else(|| text.value.strip_prefix("AWG"));
        let value = match awg {
            Some(number) => number
                .trim()
                .parse::<f64>()
                .ok()
                .filter(|n| (-3.0..=50.0).contains(n))
                .map(Gauge::Awg),
            None => quantity::value(text.value, Dimension::AREA)
                .ok()
                .filter(|q| q.value > 0.0)
                .map(|q| Gauge::Area(q.value)),
        };
        if value.is_none() {
            self.faults.add(
                text.span,
                format!("\"{}\" is no thickness of a wire", text.value),
                EXAMPLE,
            );
        }
        Some(Located {
            value: value?,
            span: text.span,
        })
    }

    fn via(&self, table: &Table, name: &str, names: &[&str]) -> Option<Via> {
        let f = Fields::new(table, format!("via of link {name}"), self.faults);
        f.required("device", "the translator's name in quotes");
        f.required("from", "the link on its near side");
        let device = self.port_at(&f, "device");
        let from = f.text("from").and_then(|t| {
            let found = names.iter().position(|n| *n == t.value);
            if found.is_none() {
                self.faults.push(
                    InputFault::new(
                        t.span,
                        format!("no link is named `{}`", t.value),
                        format!("one of {}", names.join(", ")),
                    )
                    .suggest(nearest_of(t.value, names.iter().copied())),
                );
            }
            Some(Located {
                value: found?,
                span: t.span,
            })
        });
        f.finish();
        Some(Via {
            device: device?,
            from: from?,
        })
    }

    fn bytes(&self, f: &Fields<'_>) -> Option<Located<u32>> {
        let n = f.whole("bytes", 1, 1_000_000)?;
        Some(Located {
            value: u32::try_from(n.value).ok()?,
            span: n.span,
        })
    }

    /// A share between nothing and all.
    pub(super) fn share(
        &self,
        f: &Fields<'_>,
        key: &'static str,
        example: &str,
    ) -> Option<Located<f64>> {
        let q = self.above_zero(f, key, Dimension::NONE, example)?;
        if q.value <= 1.0 {
            return Some(q);
        }
        self.faults.add(
            q.span,
            format!("`{key}` is more than the whole"),
            format!("for example \"{example}\""),
        );
        None
    }

    /// A value with tolerance that is above zero throughout.
    pub(super) fn positive(
        &self,
        f: &Fields<'_>,
        key: &'static str,
        dimension: Dimension,
        example: &str,
    ) -> Option<Located<Valued>> {
        let v = f.read(key, example, |t| quantity::valued(t, dimension))?;
        let low = v
            .value
            .tolerance
            .as_ref()
            .map_or(v.value.nominal, |t| t.limits(v.value.nominal).0);
        if low > 0.0 {
            return Some(v);
        }
        self.faults.add(
            v.span,
            format!("`{key}` must be above zero"),
            format!("for example \"{example}\""),
        );
        None
    }

    /// A list of resistors, or one.
    fn resistors(&self, f: &Fields<'_>, key: &'static str) -> Vec<Located<Valued>> {
        let Some(item) = f.item(key) else {
            return Vec::new();
        };
        let one = std::slice::from_ref(item);
        let list = match &item.content {
            Content::List(list) => list,
            _ => one,
        };
        list.iter()
            .filter_map(|item| {
                let v = f.read_item(key, item, "4.7 kΩ 1 %", |t| {
                    quantity::valued(t, Dimension::RESISTANCE)
                })?;
                if v.value.nominal > 0.0 {
                    return Some(v);
                }
                self.faults.add(
                    v.span,
                    "a resistor must be above zero",
                    "for example \"4.7 kΩ 1 %\"",
                );
                None
            })
            .collect()
    }
}

fn f_has(table: &Table, key: &str) -> bool {
    table.get(key).is_some()
}
