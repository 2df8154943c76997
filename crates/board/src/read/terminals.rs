//! `[terminals.NAME]`.

use document::{Content, Fields, Item, Located, Table};
use finding::{InputFault, Span, nearest_of};
use quantity::Dimension;

use crate::model::{Channel, FieldValue, NetworkSpec, NodeRef, Supply};
use crate::read::Reader;
use crate::terminals::{FAULT_WORDS, MustDetect, SensorState, Stands, Terminal};

impl Reader<'_> {
    /// Every terminal; `channels` is empty where not all could be read.
    pub(super) fn terminals(
        &self,
        top: &Fields<'_>,
        networks: &[NetworkSpec],
        channels: &[Channel],
    ) -> Vec<Terminal> {
        top.named("terminals")
            .into_iter()
            .filter_map(|(k, t)| self.terminal(&k.name, k.span, t, networks, channels))
            .collect()
    }

    fn terminal(
        &self,
        name: &str,
        place: Span,
        table: &Table,
        networks: &[NetworkSpec],
        channels: &[Channel],
    ) -> Option<Terminal> {
        let f = Fields::new(table, format!("terminal {name}"), self.faults);
        let node = f.text("node").map(|t| t.map(str::to_owned));
        let said = f.text("channel");
        let channel = match said {
            Some(t) => self.channel_named(t.value, t.span),
            None => None,
        };
        let channel = channel.or_else(|| {
            if said.is_some() {
                return None;
            }
            // A wire of no channel's name: the one whose name it has, or the
            // first whose network has the node.
            let by_name = self.channels.iter().position(|c| c == name);
            let by_node = node.as_ref().and_then(|n| {
                channels.iter().position(|c| {
                    c.network
                        .and_then(|i| networks.get(i))
                        .is_some_and(|spec| has_node(spec, &n.value))
                })
            });
            let found = by_node.or(by_name);
            if found.is_none() && (node.is_none() || !channels.is_empty()) {
                self.faults.push(
                    InputFault::new(
                        node.as_ref().map_or(place, |n| n.span),
                        format!("nothing says which channel's sensor hangs on terminal {name}"),
                        "channel = \"NAME\", or node = \"NODE\" of a network, or the name of a channel as that of the terminal",
                    )
                    .suggest(nearest_of(name, self.channels.iter().map(String::as_str))),
                );
            }
            found
        });
        if let (Some(n), Some(c)) = (&node, channel.and_then(|c| channels.get(c))) {
            let spec = c.network.and_then(|i| networks.get(i));
            if !spec.is_some_and(|s| has_node(s, &n.value)) {
                let known: Vec<&str> = spec.map(node_names).unwrap_or_default();
                self.faults.push(
                    InputFault::new(
                        n.span,
                        format!("`{}` is no node of the network of {}", n.value, c.name),
                        if known.is_empty() {
                            "a channel in a [networks.NAME] with that node".to_owned()
                        } else {
                            format!("one of {}", known.join(", "))
                        },
                    )
                    .suggest(nearest_of(&n.value, known.iter().copied())),
                );
            }
        }
        let rails_in_cable = self.texts(&f, "rails-in-cable", |t| {
            let supply = self.supply(t.value, t.span)?;
            if supply == Supply::Ground {
                self.faults.add(
                    t.span,
                    "ground is looked at in any case",
                    "rails and references only",
                );
                return None;
            }
            Some(supply)
        });
        let neighbours = self.texts(&f, "neighbours", |t| {
            let i = self.channel_named(t.value, t.span)?;
            if Some(i) == channel {
                self.faults.add(
                    t.span,
                    format!("`{}` is no neighbour of itself", t.value),
                    "other channels",
                );
                return None;
            }
            Some(i)
        });
        let over_voltages_v = self.texts(&f, "over-voltage", |t| {
            match quantity::value(t.value, Dimension::VOLTAGE) {
                Ok(q) => Some(q.value),
                Err(_) => {
                    self.faults.add(
                        t.span,
                        format!("\"{}\" is no voltage", t.value),
                        "over-voltage = [\"24 V\", \"-12 V\"]",
                    );
                    None
                }
            }
        });
        let over_voltage_ohm = f
            .quantity("over-voltage-resistance", Dimension::RESISTANCE)
            .map_or(0.0, |q| {
                if q.value.value < 0.0 {
                    self.faults
                        .add(q.span, "a resistance is negative", "\"50 Ω\"");
                }
                q.value.value.max(0.0)
            });
        let reversed = f.truth("reversed").is_some_and(|t| t.value);
        let states: Vec<SensorState> = f
            .list("states")
            .map(|(list, _)| list.iter().filter_map(|i| self.state(i)).collect())
            .unwrap_or_default();
        let must_detect = self.must_detect(&f, &states);
        let dimension = channel
            .and_then(|c| channels.get(c))
            .map_or(Dimension::NONE, |c| c.dimension);
        let valid = if channels.is_empty() {
            let _ = f.item("valid");
            None
        } else {
            f.range("valid", dimension)
                .map(|r| r.map(|r| (r.low, r.high)))
        };
        let fault_codes = self.fault_codes(&f);
        let components = f.truth("components").is_some_and(|t| t.value);
        let _ = f.text("note");
        f.finish();
        Some(Terminal {
            name: name.to_owned(),
            channel: channel?,
            node,
            rails_in_cable,
            neighbours,
            over_voltages_v,
            over_voltage_ohm,
            reversed,
            states,
            must_detect,
            valid,
            fault_codes,
            components,
            span: table.span,
        })
    }

    /// A list of texts, or one text, each read by itself.
    fn texts<T>(
        &self,
        f: &Fields<'_>,
        key: &'static str,
        mut read: impl FnMut(Located<&str>) -> Option<T>,
    ) -> Vec<Located<T>> {
        let Some(item) = f.item(key) else {
            return Vec::new();
        };
        let one = std::slice::from_ref(item);
        let list: &[Item] = match &item.content {
            Content::List(list) => list,
            _ => one,
        };
        list.iter()
            .filter_map(|i| match &i.content {
                Content::Text(t, _) => {
                    let value = read(Located {
                        value: t.as_str(),
                        span: i.span,
                    })?;
                    Some(Located {
                        value,
                        span: i.span,
                    })
                }
                other => {
                    self.faults.add(
                        i.span,
                        format!("an entry of `{key}` is {}", other.describe()),
                        "a text in quotes",
                    );
                    None
                }
            })
            .collect()
    }

    fn state(&self, item: &Item) -> Option<SensorState> {
        const EXAMPLE: &str = "{ name = \"not connected\", open = true }, { name = \"fault output\", current = \"22 mA\" }, { name = \"…\", voltage = \"0.2 V\", resistance = \"100 Ω\" }";
        let Content::Table(table) = &item.content else {
            self.faults.add(
                item.span,
                format!("a state is {}", item.content.describe()),
                EXAMPLE,
            );
            return None;
        };
        let f = Fields::new(table, "a state of the sensor", self.faults);
        let name = f.required_text("name", EXAMPLE);
        let open = f.truth("open").is_some_and(|t| t.value);
        let current = f.quantity("current", Dimension::CURRENT);
        let voltage = f.quantity("voltage", Dimension::VOLTAGE);
        let resistance = f.quantity("resistance", Dimension::RESISTANCE);
        f.finish();
        if let Some(r) = &resistance
            && r.value.value < 0.0
        {
            self.faults
                .add(r.span, "a resistance is negative", "\"100 Ω\"");
            return None;
        }
        let ohm = resistance.as_ref().map(|r| r.value.value);
        let stands = match (open, &current, &voltage, ohm) {
            (true, None, None, None) => Stands::Open,
            (false, Some(a), None, None) => Stands::Current(a.value.value),
            (false, None, Some(v), r) => Stands::Voltage(v.value.value, r.unwrap_or(0.0)),
            (false, None, None, Some(r)) => Stands::Resistance(r),
            _ => {
                self.faults.add(
                    item.span,
                    "a state is open, or a current, or a voltage with or without a resistance, or a resistance",
                    EXAMPLE,
                );
                return None;
            }
        };
        Some(SensorState {
            name: name?.value.to_owned(),
            stands,
            span: item.span,
        })
    }

    fn must_detect(&self, f: &Fields<'_>, states: &[SensorState]) -> MustDetect {
        let Some(item) = f.item("must-detect") else {
            return MustDetect::default();
        };
        if let Content::Truth(all) = item.content {
            return MustDetect {
                all,
                words: Vec::new(),
                span: Some(item.span),
            };
        }
        let known: Vec<&str> = FAULT_WORDS
            .iter()
            .copied()
            .chain(states.iter().map(|s| s.name.as_str()))
            .collect();
        let words = self.texts(f, "must-detect", |t| {
            if known.contains(&t.value) {
                return Some(t.value.to_owned());
            }
            self.faults.push(
                InputFault::new(
                    t.span,
                    format!("no fault is called \"{}\"", t.value),
                    format!("true, or some of {}", known.join(", ")),
                )
                .suggest(nearest_of(t.value, known.iter().copied())),
            );
            None
        });
        MustDetect {
            all: false,
            words: words.into_iter().map(|w| w.value).collect(),
            span: Some(item.span),
        }
    }

    /// Codes, or `"0 to 20"`.
    fn fault_codes(&self, f: &Fields<'_>) -> Vec<Located<(f64, f64)>> {
        const EXAMPLE: &str = "fault-codes = [0, \"4090 to 4095\"]";
        let Some((list, _)) = f.list("fault-codes") else {
            return Vec::new();
        };
        list.iter()
            .filter_map(|item| {
                let value = match &item.content {
                    Content::Whole(n) => {
                        let n = i32::try_from(*n).ok().map(f64::from);
                        n.map(|n| (n, n))
                    }
                    Content::Text(t, _) => quantity::range(t, Dimension::NONE)
                        .ok()
                        .map(|r| (r.low, r.high)),
                    _ => None,
                };
                if value.is_none() {
                    self.faults.add(
                        item.span,
                        "a fault code is a whole number or a range of them",
                        EXAMPLE,
                    );
                }
                Some(Located {
                    value: value?,
                    span: item.span,
                })
            })
            .collect()
    }
}

/// Names of a network's own nodes.
fn node_names(spec: &NetworkSpec) -> Vec<&str> {
    let mut list: Vec<&str> = spec
        .elements
        .iter()
        .flat_map(|e| e.fields.values())
        .filter_map(|v| match &v.value {
            FieldValue::Node(NodeRef::Named(n)) => Some(n.as_str()),
            _ => None,
        })
        .collect();
    list.sort_unstable();
    list.dedup();
    list
}

fn has_node(spec: &NetworkSpec, node: &str) -> bool {
    node_names(spec).contains(&node)
}
