//! The sensor of a channel.

use std::collections::BTreeMap;

use document::{Content, Fields, Item, Located, Table};
use finding::{InputFault, Span, nearest_of};
use quantity::Dimension;

use crate::model::{Auxiliary, Sensor, Supply};
use crate::read::Reader;

/// Kinds of part that may be a sensor.
const KINDS: &[&str] = &["sensor", "digital-sensor", "resistor"];

impl Reader<'_> {
    /// Reads `sensor`; `dimension` is that of the measured quantity.
    pub(super) fn sensor(
        &self,
        item: Option<&Item>,
        name: &str,
        dimension: Dimension,
        place: Span,
    ) -> Option<Sensor> {
        let empty = Table {
            entries: Vec::new(),
            span: place,
        };
        let (table, part_name) = match item.map(|i| (&i.content, i.span)) {
            None => (&empty, None),
            Some((Content::Text(t, _), span)) => (
                &empty,
                Some(Located {
                    value: t.as_str(),
                    span,
                }),
            ),
            Some((Content::Table(t), _)) => (t, None),
            Some((other, span)) => {
                self.faults.add(
                    span,
                    format!("`sensor` is {}", other.describe()),
                    "a part name or a table",
                );
                return None;
            }
        };
        let f = Fields::new(table, format!("the sensor of {name}"), self.faults);
        let part_name = part_name.or_else(|| f.text("part"));
        let device = f.text("device");
        if let (Some(d), Some(_)) = (&device, &part_name) {
            self.faults.add(
                d.span,
                "`device` and `part` both say what the sensor is",
                "one of them",
            );
            return None;
        }
        let fitted = match &device {
            Some(d) => Some(self.measuring_device(d)?),
            None => None,
        };
        let part = match part_name {
            Some(t) => Some(self.part(t.value, t.span, KINDS)?),
            None => fitted
                .and_then(|d| self.devices.get(d))
                .map(|d| d.part.clone()),
        };
        if f.has("part") && part.is_none() {
            return None;
        }
        let law_text = f.text("law");
        let law = match (&law_text, &part) {
            (Some(law), _) => law.value.to_owned(),
            (None, Some(part)) => match (&part.law, part.kind.as_str()) {
                (Some(law), _) => law.clone(),
                (None, "digital-sensor") => "digital".to_owned(),
                (None, _) => {
                    self.faults.add(
                        place,
                        format!("part `{}` names no sensor law", part.id),
                        "law = \"…\"",
                    );
                    return None;
                }
            },
            (None, None) => match direct_law(dimension) {
                Some(law) => law.to_owned(),
                None => {
                    self.faults.add(
                        item.map_or(place, |i| i.span),
                        format!("channel {name} has no sensor"),
                        "sensor = \"PART\", or sensor = { law = \"…\", … }; only voltages, currents and resistances need none",
                    );
                    return None;
                }
            },
        };
        if !self.vocabulary.laws.contains(&law.as_str()) {
            let known = self.vocabulary.laws.join(", ");
            self.faults.push(
                InputFault::new(
                    law_text.map_or(place, |t| t.span),
                    format!("no sensor law `{law}`"),
                    format!("one of {known}"),
                )
                .suggest(nearest_of(&law, self.vocabulary.laws.iter().copied())),
            );
            return None;
        }
        let mut figures = part.as_ref().map(|p| p.figures.clone()).unwrap_or_default();
        let measure = f.text("measure");
        if let Some(p) = &part
            && p.kind == "digital-sensor"
        {
            let chosen = self.measure(p, measure, dimension, place)?;
            figures.extend(chosen);
        }
        if let Some(over) = f.sub("figures") {
            figures.extend(parts::sensor_figures(&law, dimension, over, self.faults));
        }
        let rail = f.text("rail").and_then(|t| {
            if direct_law(dimension) != Some("direct-voltage") || law != "direct-voltage" {
                self.faults.add(
                    t.span,
                    "a rail is measured as a voltage, by no sensor of its own",
                    "quantity = \"voltage\" and sensor = { rail = \"NAME\" }",
                );
                return None;
            }
            match self.supply(t.value, t.span) {
                Some(Supply::Rail(i)) => Some(i),
                Some(_) => {
                    self.faults.add(
                        t.span,
                        format!("`{}` is no rail", t.value),
                        "the name of a [rails.NAME]",
                    );
                    None
                }
                None => None,
            }
        });
        let supply = f
            .text("supply")
            .and_then(|t| self.supply(t.value, t.span).map(|s| (s, t.span)));
        let foot = f
            .text("foot")
            .and_then(|t| self.supply(t.value, t.span).map(|s| (s, t.span)));
        let leads = f.valued("leads", Dimension::RESISTANCE);
        let wires = f.whole("wires", 2, 4).map_or(2, |n| n.value);
        let warmed = f.read("warmed", "3 K ± 1 K", |t| {
            quantity::valued_difference(t, Dimension::TEMPERATURE)
        });
        let source_resistance = f.valued("source-resistance", Dimension::RESISTANCE);
        for r in [&leads, &source_resistance].into_iter().flatten() {
            if r.value.nominal < 0.0 {
                self.faults.add(
                    r.span,
                    "a resistance is negative",
                    "for example \"0.2 Ω ± 0.05 Ω each\"",
                );
            }
        }
        let mut auxiliaries = BTreeMap::new();
        for &key in (self.vocabulary.law_auxiliaries)(&law) {
            let Some(item) = f.item(key) else { continue };
            if let Some(a) = self.auxiliary(item, key) {
                auxiliaries.insert(key, a);
            }
        }
        let between = match (f.item("from"), f.item("to")) {
            (Some(a), Some(b)) => self.node(a).zip(self.node(b)),
            (None, None) => None,
            _ => {
                self.faults.add(
                    f.span(),
                    format!("the sensor of {name} has only one of `from` and `to`"),
                    "both or none",
                );
                None
            }
        };
        let mut words = BTreeMap::new();
        for (key, item) in f
            .sub("options")
            .map(|t| t.entries.as_slice())
            .unwrap_or_default()
        {
            match &item.content {
                Content::Text(t, _) => {
                    words.insert(key.name.clone(), t.clone());
                }
                other => self.faults.add(
                    item.span,
                    format!("an option is {}", other.describe()),
                    "a word in quotes",
                ),
            }
        }
        let link = f.text("link").and_then(|t| {
            let value = self.links.iter().position(|l| l == t.value);
            if value.is_none() {
                self.faults.push(
                    InputFault::new(
                        t.span,
                        format!("no link is named `{}`", t.value),
                        if self.links.is_empty() {
                            "a [links.NAME]".to_owned()
                        } else {
                            format!("one of {}", self.links.join(", "))
                        },
                    )
                    .suggest(nearest_of(t.value, self.links.iter().map(String::as_str))),
                );
            }
            Some(Located {
                value: value?,
                span: t.span,
            })
        });
        let reversed = f.truth("reversed").is_some_and(|r| r.value);
        let _ = f.text("note");
        f.finish();
        Some(Sensor {
            reversed,
            words,
            part,
            law,
            figures,
            supply: supply.map(|s| s.0),
            foot: foot.map(|s| s.0),
            rail,
            leads,
            wires: u8::try_from(wires).unwrap_or(2),
            warmed,
            auxiliaries,
            source_resistance,
            between,
            measure: measure.map(|m| m.value.to_owned()),
            device: fitted,
            link,
            span: item.map_or(place, |i| i.span),
        })
    }

    /// A fitted device that is a sensor.
    fn measuring_device(&self, name: &Located<&str>) -> Option<usize> {
        let found = self.device_named(name)?;
        let part = &self.devices.get(found)?.part;
        if KINDS.contains(&part.kind.as_str()) {
            return Some(found);
        }
        self.faults.add(
            name.span,
            format!(
                "`{}` is a {}, which measures nothing",
                name.value, part.kind
            ),
            "a device whose part is a sensor",
        );
        None
    }

    /// Figures of the quantity that a digital part is used for.
    fn measure(
        &self,
        part: &parts::Part,
        measure: Option<Located<&str>>,
        dimension: Dimension,
        place: Span,
    ) -> Option<BTreeMap<String, parts::Figure>> {
        let names: Vec<&str> = part.measures.iter().map(|m| m.quantity.as_str()).collect();
        let found = match measure {
            Some(m) => part.measures.iter().find(|x| x.quantity == m.value),
            None => part.measures.iter().find(|m| m.dimension == dimension),
        };
        if found.is_none() {
            self.faults.push(
                InputFault::new(
                    measure.map_or(place, |m| m.span),
                    match measure {
                        Some(m) => format!("`{}` does not measure `{}`", part.id, m.value),
                        None => format!("`{}` does not measure this quantity", part.id),
                    },
                    format!("measure = one of {}", names.join(", ")),
                )
                .suggest(measure.and_then(|m| nearest_of(m.value, names.iter().copied()))),
            );
        }
        found.map(|m| m.figures.clone())
    }

    fn auxiliary(&self, item: &Item, key: &str) -> Option<Auxiliary> {
        match &item.content {
            Content::Text(t, _) => {
                if self.channels.iter().any(|c| c == t) {
                    return self.channel_named(t, item.span).map(Auxiliary::Channel);
                }
                match quantity::value(t, Dimension::TEMPERATURE) {
                    Ok(q) => Some(Auxiliary::Constant(Located {
                        value: q.value,
                        span: item.span,
                    })),
                    Err(_) => self.channel_named(t, item.span).map(Auxiliary::Channel),
                }
            }
            other => {
                self.faults.add(
                    item.span,
                    format!("`{key}` is {}", other.describe()),
                    "the name of the channel that measures it, or a fixed value",
                );
                None
            }
        }
    }

    pub(super) fn channel_named(&self, name: &str, span: Span) -> Option<usize> {
        let found = self.channels.iter().position(|c| c == name);
        if found.is_none() {
            let known: Vec<&str> = self.channels.iter().map(String::as_str).collect();
            self.faults.push(
                InputFault::new(
                    span,
                    format!("no channel is named `{name}`"),
                    format!("one of {}", known.join(", ")),
                )
                .suggest(nearest_of(name, known.iter().copied())),
            );
        }
        found
    }
}

/// The law of a quantity that is measured as it is.
fn direct_law(dimension: Dimension) -> Option<&'static str> {
    if dimension == Dimension::VOLTAGE {
        Some("direct-voltage")
    } else if dimension == Dimension::CURRENT {
        Some("direct-current")
    } else if dimension == Dimension::RESISTANCE {
        Some("direct-resistance")
    } else {
        None
    }
}
