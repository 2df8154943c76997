//! Rails, devices, references.

use document::{Content, Fields, Located};
use finding::Span;
use quantity::Dimension;

use crate::model::{Device, Rail, RailSource, Reference, Supply};
use crate::read::Reader;

impl Reader<'_> {
    fn claim(&mut self, name: &str, span: Span, supply: Supply) {
        if matches!(name, "gnd" | "ground") {
            self.faults.add(
                span,
                format!("`{name}` is the common return and cannot be a rail"),
                "another name",
            );
        }
        self.once(name, span);
        self.names.push((name.to_owned(), supply));
    }

    /// A device's name is nobody else's.
    pub(super) fn free_name(&self, key: &document::Key) {
        self.once(&key.name, key.span);
    }

    fn once(&self, name: &str, span: Span) {
        if self.names.iter().any(|(n, _)| n == name) || self.devices.iter().any(|d| d.name == name)
        {
            self.faults.add(
                span,
                format!("the name `{name}` is used twice"),
                "different names for rails, references and devices",
            );
        }
    }

    /// All rails, each after the one that feeds it.
    pub(super) fn rails(&mut self, top: &Fields<'_>) -> Vec<Rail> {
        let tables = top.named("rails");
        let mut waiting: Vec<(usize, Option<String>)> = Vec::new();
        for (i, (_, table)) in tables.iter().enumerate() {
            let from = match table.get("from").map(|i| &i.content) {
                Some(Content::Text(t, _)) => Some(t.clone()),
                _ => None,
            };
            waiting.push((i, from));
        }
        let mut order: Vec<usize> = Vec::new();
        loop {
            let before = order.len();
            waiting.retain(|(i, from)| {
                let ready = match from {
                    None => true,
                    Some(name) => {
                        order.iter().any(|&k| tables[k].0.name == *name)
                            || !tables.iter().any(|(k, _)| k.name == *name)
                    }
                };
                if ready {
                    order.push(*i);
                }
                !ready
            });
            if order.len() == before {
                break;
            }
        }
        if !waiting.is_empty() {
            let names: Vec<&str> = waiting
                .iter()
                .map(|(i, _)| tables[*i].0.name.as_str())
                .collect();
            self.faults.add(
                tables[waiting[0].0]
                    .1
                    .get("from")
                    .map_or(tables[waiting[0].0].1.span, |i| i.span),
                format!("rails feed each other in a loop: {}", names.join(", ")),
                "at least one of them fed from outside (no `from`)",
            );
        }
        let mut rails = Vec::new();
        for i in order {
            let (key, table) = tables[i];
            let index = rails.len();
            self.claim(&key.name, key.span, Supply::Rail(index));
            rails.push(self.rail(&key.name, table, &rails));
        }
        rails
    }

    pub(super) fn rail_named(&self, name: &Located<&str>, rails: &[Rail]) -> Option<usize> {
        let found = rails.iter().position(|r| r.name == name.value);
        if found.is_none() {
            let known: Vec<&str> = rails.iter().map(|r| r.name.as_str()).collect();
            self.faults.push(
                finding::InputFault::new(
                    name.span,
                    format!("no rail is named `{}`", name.value),
                    if known.is_empty() {
                        "a [rails.NAME] of its own".to_owned()
                    } else {
                        format!("one of {}", known.join(", "))
                    },
                )
                .suggest(finding::nearest_of(name.value, known.iter().copied())),
            );
        }
        found
    }

    fn rail(&self, name: &str, table: &document::Table, rails: &[Rail]) -> Rail {
        let f = Fields::new(table, format!("rail {name}"), self.faults);
        let voltage = f.valued("voltage", Dimension::VOLTAGE);
        let travel = f.range("travel", Dimension::VOLTAGE);
        let limit_a = f
            .quantity("limit", Dimension::CURRENT)
            .map(|q| q.map(|q| q.value));
        let load_a = f
            .quantity("load", Dimension::CURRENT)
            .map(|q| q.map(|q| q.value));
        let power = self.rail_power(&f, name);
        let from = f.text("from").and_then(|t| self.rail_named(&t, rails));
        let part = f
            .text("part")
            .and_then(|t| self.part(t.value, t.span, &["regulator", "diode"]));
        let divider = f.sub("divider").map(|t| {
            let d = Fields::new(t, format!("divider of rail {name}"), self.faults);
            d.required("top", "a resistor such as \"10 kΩ 1 %\"");
            d.required("bottom", "a resistor such as \"10 kΩ 1 %\"");
            let pair = (
                d.valued("top", Dimension::RESISTANCE),
                d.valued("bottom", Dimension::RESISTANCE),
            );
            d.finish();
            pair
        });
        let efficiency = f.valued("efficiency", Dimension::NONE).filter(|e| {
            let fine = e.value.nominal > 0.0 && e.value.nominal <= 1.0;
            if !fine {
                self.faults.add(
                    e.span,
                    format!("an efficiency of {} is none", e.value.nominal),
                    "a share of the power, such as \"85 %\"",
                );
            }
            if voltage.is_none() && !f.has("voltage") {
                self.faults.add(
                    e.span,
                    format!("rail {name} is converted, but to no voltage"),
                    "voltage = \"3.3 V ± 2 %\"",
                );
            }
            fine
        });
        let source = match (from, part, divider) {
            (Some(from), None, None) if efficiency.is_some() => match efficiency {
                Some(efficiency) => RailSource::Switching { from, efficiency },
                None => RailSource::Direct { from },
            },
            (Some(from), Some(part), _) => RailSource::Regulator { from, part },
            (Some(from), None, Some((Some(top), Some(bottom)))) => {
                for r in [&top, &bottom] {
                    if r.value.nominal <= 0.0 {
                        self.faults.add(
                            r.span,
                            "a divider resistor must be positive",
                            "for example \"10 kΩ 1 %\"",
                        );
                    }
                }
                RailSource::Divided { from, top, bottom }
            }
            (Some(from), None, None) => RailSource::Direct { from },
            (None, Some(_), _) => {
                self.faults.add(
                    table.span,
                    format!("rail {name} has a regulator but nothing feeds it"),
                    "from = \"RAIL\"",
                );
                RailSource::External
            }
            (None, None, Some(_)) => {
                self.faults.add(
                    table.span,
                    format!("rail {name} has a divider but nothing feeds it"),
                    "from = \"RAIL\"",
                );
                RailSource::External
            }
            _ => RailSource::External,
        };
        if matches!(source, RailSource::External)
            && voltage.is_none()
            && travel.is_none()
            && !["from", "voltage", "travel"].iter().any(|k| f.has(k))
        {
            self.faults.add(
                table.span,
                format!("rail {name} has no voltage"),
                "voltage = \"5 V ± 5 %\"",
            );
        }
        f.finish();
        Rail {
            name: name.to_owned(),
            voltage,
            travel,
            source,
            limit_a,
            load_a,
            power,
            span: table.span,
        }
    }

    /// Controllers and converters.
    pub(super) fn devices(&mut self, top: &Fields<'_>, rails: &[Rail]) {
        for (group, kinds) in [
            ("controllers", &["controller", "carrier"][..]),
            ("converters", &["converter"][..]),
        ] {
            for (key, table) in top.named(if group == "controllers" {
                "controllers"
            } else {
                "converters"
            }) {
                self.free_name(key);
                let what = format!("{} {}", &group[..group.len() - 1], key.name);
                let f = Fields::new(table, what, self.faults);
                let supply = f.text("supply").and_then(|t| self.rail_named(&t, rails));
                let analog_supply = f
                    .text("analog-supply")
                    .and_then(|t| self.rail_named(&t, rails))
                    .or(supply);
                let draws = self.draws(&f, &key.name);
                let part = if f.has("part") {
                    let part = f
                        .text("part")
                        .and_then(|t| self.part(t.value, t.span, kinds))
                        .and_then(|p| self.carried(p, f.span_of("part")));
                    match (part, f.sub("figures")) {
                        (Some(part), Some(over)) => {
                            parts::with_figures(&part, over, self.faults).map(std::sync::Arc::new)
                        }
                        (part, _) => part,
                    }
                } else {
                    // Everything but the supplies describes the part itself.
                    let _ = f.item("bits");
                    parts::converter_in_place(
                        &key.name,
                        table,
                        &[
                            "supply",
                            "analog-supply",
                            "current",
                            "duty",
                            "standby",
                            "bursts",
                            "decoupling",
                        ],
                        self.faults,
                    )
                    .map(std::sync::Arc::new)
                };
                if f.has("part") {
                    f.finish();
                }
                if let Some(part) = part {
                    self.devices.push(Device {
                        name: key.name.clone(),
                        part,
                        supply,
                        analog_supply,
                        supply_b: None,
                        address: None,
                        draws,
                        span: table.span,
                    });
                }
            }
        }
    }

    /// A carrier stands for the controller it carries.
    fn carried(
        &self,
        part: std::sync::Arc<parts::Part>,
        span: Span,
    ) -> Option<std::sync::Arc<parts::Part>> {
        if part.kind != "carrier" {
            return Some(part);
        }
        let name = part.controller.as_deref().unwrap_or("");
        let controller = self.part(name, span, &["controller"])?;
        Some(std::sync::Arc::new(controller.carried_by(&part)))
    }

    /// Reference parts and reference voltages.
    pub(super) fn references(&mut self, top: &Fields<'_>, rails: &[Rail]) -> Vec<Reference> {
        let mut references = Vec::new();
        for (key, table) in top.named("references") {
            self.claim(&key.name, key.span, Supply::Reference(references.len()));
            let f = Fields::new(table, format!("reference {}", key.name), self.faults);
            let part = f
                .text("part")
                .and_then(|t| self.part(t.value, t.span, &["series-reference", "shunt-reference"]));
            let part = match (part, f.sub("figures")) {
                (Some(part), Some(over)) => {
                    parts::with_figures(&part, over, self.faults).map(std::sync::Arc::new)
                }
                (part, _) => part,
            };
            let voltage = f.valued("voltage", Dimension::VOLTAGE);
            let supply = f.text("supply").and_then(|t| self.rail_named(&t, rails));
            let series = f.valued("series", Dimension::RESISTANCE);
            let load_a = f
                .quantity("load", Dimension::CURRENT)
                .map(|q| q.map(|q| q.value));
            if !f.has("part") && voltage.is_none() && !f.has("voltage") {
                self.faults.add(
                    table.span,
                    format!("reference {} has neither part nor voltage", key.name),
                    "part = \"…\" or voltage = \"2.5 V ± 0.2 %\"",
                );
            }
            if let Some(p) = &part
                && p.kind == "shunt-reference"
                && (series.is_none() || supply.is_none())
                && !f.has("series")
            {
                self.faults.add(
                    table.span,
                    format!(
                        "shunt reference {} needs its feeding rail and its series resistor",
                        key.name
                    ),
                    "supply = \"RAIL\" and series = \"3.3 kΩ 1 %\"",
                );
            }
            f.finish();
            references.push(Reference {
                name: key.name.clone(),
                part,
                voltage,
                supply,
                series,
                load_a,
                span: table.span,
            });
        }
        references
    }
}
