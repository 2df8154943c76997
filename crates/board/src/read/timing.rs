//! Scans and interferers.

use document::{Content, Fields, Item, Located, Table};
use finding::{InputFault, nearest_of};
use quantity::{Dimension, Valued};

use crate::model::{Channel, Conditions, FieldValue, NetworkSpec, NodeRef, Rail};
use crate::read::Reader;
use crate::read::stage::unknown_word;
use crate::timing::{Acquisition, Interferer, InterferesOn, ReferenceFrom, ScanSpec, ScanStart};

/// Harmonics of the mains that are looked at where the file names no number:
/// the odd ones up to the fifth are what rectifiers and saturating
/// transformers give (common practice).
const MAINS_HARMONICS: u32 = 5;

/// How far the mains frequency of a public grid may be from its nominal value
/// where the file says nothing, Hz: common practice, wide enough for the 1 %
/// that interconnected grids keep to for nearly all of a year.
pub(super) const MAINS_TRAVEL_HZ: f64 = 0.5;

impl Reader<'_> {
    /// `"55.5 cycles"` or `"4.6 µs"`.
    pub(super) fn acquisition(&self, f: &Fields<'_>) -> Option<Located<Acquisition>> {
        const EXAMPLE: &str = "\"55.5 cycles\" or \"4.6 µs\"";
        let text = f.text("acquisition")?;
        let cycles = text
            .value
            .trim_end()
            .strip_suffix("cycles")
            .or_else(|| text.value.trim_end().strip_suffix("cycle"));
        let value = match cycles {
            Some(number) => match quantity::value(number, Dimension::NONE) {
                Ok(q) => Acquisition::Cycles(q.value),
                Err(_) => {
                    self.faults.add(
                        text.span,
                        format!("\"{}\" is no number of cycles", text.value),
                        EXAMPLE,
                    );
                    return None;
                }
            },
            None => Acquisition::Seconds(f.quantity("acquisition", Dimension::TIME)?.value.value),
        };
        let (Acquisition::Cycles(size) | Acquisition::Seconds(size)) = value;
        if size > 0.0 {
            return Some(Located {
                value,
                span: text.span,
            });
        }
        self.faults.add(
            text.span,
            "the acquisition must be longer than nothing",
            EXAMPLE,
        );
        None
    }

    /// `[scan]` and every `[scan.DEVICE]`.
    ///
    /// `channels` is empty where not all could be read: positions hold only
    /// then.
    pub(super) fn scans(&self, top: &Fields<'_>, channels: &[Channel]) -> Vec<ScanSpec> {
        let Some(table) = top.sub("scan") else {
            return Vec::new();
        };
        let f = Fields::new(table, "[scan]", self.faults);
        let mut scans = vec![self.scan(&f, None, channels)];
        for device in &self.devices {
            if f.asked(&device.name) {
                self.faults.add(
                    device.span,
                    format!(
                        "`{}` is a key of [scan], so [scan.{}] could be either",
                        device.name, device.name
                    ),
                    "another name for the device",
                );
            }
        }
        for (key, sub) in f.others() {
            let Some(device) = self.devices.iter().position(|d| d.name == key.name) else {
                let known: Vec<&str> = self.devices.iter().map(|d| d.name.as_str()).collect();
                self.faults.push(
                    InputFault::new(
                        key.span,
                        format!("no controller or converter is named `{}`", key.name),
                        if known.is_empty() {
                            "a [controllers.NAME] or [converters.NAME]".to_owned()
                        } else {
                            format!("one of {}", known.join(", "))
                        },
                    )
                    .suggest(nearest_of(&key.name, known.iter().copied())),
                );
                continue;
            };
            let what = format!("the scan of {}", key.name);
            let own = Fields::new(sub, what, self.faults);
            scans.push(self.scan(&own, Some(device), channels));
            own.finish();
        }
        f.finish();
        scans
    }

    fn scan(&self, f: &Fields<'_>, device: Option<usize>, channels: &[Channel]) -> ScanSpec {
        let clock_hz = self.above_zero(f, "clock", Dimension::FREQUENCY, "12 MHz");
        let prescaler = f.whole("prescaler", 1, 65_536).and_then(|n| {
            let value = u32::try_from(n.value).ok()?;
            Some(Located {
                value,
                span: n.span,
            })
        });
        let acquisition = self.acquisition(f);
        let order = self.order(f, device, channels);
        let every_s = self.above_zero(f, "every", Dimension::TIME, "10 ms");
        let start = f.text("start").and_then(|t| {
            let value = match t.value {
                "previous" => ScanStart::Previous,
                "discharged" => ScanStart::Discharged,
                word if is_word(word) => {
                    self.faults.push(
                        InputFault::new(
                            t.span,
                            format!("\"{word}\" is not one of the words for `start`"),
                            "\"previous\", \"discharged\", or a voltage such as \"1.65 V\"",
                        )
                        .suggest(nearest_of(word, ["previous", "discharged"])),
                    );
                    return None;
                }
                _ => ScanStart::Volt(f.quantity("start", Dimension::VOLTAGE)?.value.value),
            };
            Some(Located {
                value,
                span: t.span,
            })
        });
        let observed_s = self.above_zero(f, "observed", Dimension::TIME, "10 s");
        let reference_capacitor = self.capacitor(f, "reference-capacitor", "100 nF 10 %");
        let reference_from = f.text("reference-from").and_then(|t| {
            let value = if is_word(t.value) {
                ReferenceFrom::Supply(self.supply(t.value, t.span)?)
            } else {
                ReferenceFrom::Volt(
                    f.quantity("reference-from", Dimension::VOLTAGE)?
                        .value
                        .value,
                )
            };
            Some(Located {
                value,
                span: t.span,
            })
        });
        let reference_wait_s = f
            .read("reference-wait", "10 ms", |t| {
                quantity::value(t, Dimension::TIME)
            })
            .map(|q| q.map(|q| q.value))
            .filter(|q| {
                if q.value < 0.0 {
                    self.faults
                        .add(q.span, "`reference-wait` is negative", "\"10 ms\"");
                }
                q.value >= 0.0
            });
        ScanSpec {
            device,
            clock_hz,
            prescaler,
            acquisition,
            order,
            every_s,
            start,
            observed_s,
            reference_capacitor,
            reference_from,
            reference_wait_s,
            span: f.span(),
        }
    }

    /// The order of channels: each once, and of a device all or none.
    fn order(
        &self,
        f: &Fields<'_>,
        device: Option<usize>,
        channels: &[Channel],
    ) -> Vec<Located<usize>> {
        let Some((list, place)) = f.list("order") else {
            return Vec::new();
        };
        let order = self.channel_list(list, "order");
        // What a misspelt name was meant to be is not known, so neither is
        // what is left out.
        if channels.is_empty() || order.len() < list.len() {
            return order;
        }
        let device_of = |i: usize| channels.get(i)?.input.as_ref().map(|n| n.device);
        let name_of = |d: usize| self.devices.get(d).map_or("", |d| d.name.as_str());
        let mut meant: Vec<usize> = device.into_iter().collect();
        let mut fitting = true;
        for c in &order {
            let name = self.channels.get(c.value).map_or("", String::as_str);
            match (device_of(c.value), device) {
                (None, _) => {
                    fitting = false;
                    self.faults.add(
                        c.span,
                        format!("`{name}` enters no converter"),
                        "channels with an `input`",
                    );
                }
                (Some(its), Some(wanted)) if its != wanted => {
                    fitting = false;
                    self.faults.add(
                        c.span,
                        format!("`{name}` is converted by {}", name_of(its)),
                        format!("channels that enter {}", name_of(wanted)),
                    );
                }
                (Some(its), _) if !meant.contains(&its) => meant.push(its),
                _ => {}
            }
        }
        if !fitting {
            return order;
        }
        for d in meant {
            let left: Vec<&str> = channels
                .iter()
                .enumerate()
                .filter(|&(i, _)| device_of(i) == Some(d) && !order.iter().any(|c| c.value == i))
                .map(|(_, c)| c.name.as_str())
                .collect();
            if !left.is_empty() {
                self.faults.add(
                    place,
                    format!(
                        "the order leaves out {}, converted by {} as well",
                        left.join(", "),
                        name_of(d)
                    ),
                    "every channel of a converter, or no `order`: then that of the file",
                );
            }
        }
        order
    }

    /// Names of channels, each once.
    fn channel_list(&self, list: &[Item], key: &str) -> Vec<Located<usize>> {
        let mut found: Vec<Located<usize>> = Vec::new();
        for item in list {
            let Content::Text(name, _) = &item.content else {
                self.faults.add(
                    item.span,
                    format!("an entry of `{key}` is {}", item.content.describe()),
                    "the name of a channel in quotes",
                );
                continue;
            };
            match self.channels.iter().position(|c| c == name) {
                None => self.faults.push(
                    InputFault::new(
                        item.span,
                        format!("no channel is named `{name}`"),
                        format!("one of {}", self.channels.join(", ")),
                    )
                    .suggest(nearest_of(name, self.channels.iter().map(String::as_str))),
                ),
                Some(i) if found.iter().any(|c| c.value == i) => self.faults.add(
                    item.span,
                    format!("`{name}` is named twice in `{key}`"),
                    "every channel once",
                ),
                Some(value) => found.push(Located {
                    value,
                    span: item.span,
                }),
            }
        }
        found
    }

    /// All interferers, and the mains that the conditions name.
    pub(super) fn interferers(
        &self,
        top: &Fields<'_>,
        conditions: &Conditions,
        rails: &[Rail],
        nodes: &[String],
        channels: &[Channel],
    ) -> Vec<Interferer> {
        let tables = top.named("interferers");
        let mains = conditions.mains_hz.zip(conditions.mains_range_hz);
        let mains = mains
            .zip(conditions.mains_span)
            .map(|((hz, range), span)| Located {
                value: (range.0, hz, range.1),
                span,
            });
        let mut list: Vec<Interferer> = tables
            .iter()
            .filter_map(|(k, t)| self.interferer(&k.name, t, mains, rails, nodes, channels))
            .collect();
        if let Some(frequency_hz) = mains
            && !tables.iter().any(|(k, _)| k.name == "mains")
        {
            list.insert(
                0,
                Interferer {
                    name: "mains".to_owned(),
                    frequency_hz,
                    harmonics: MAINS_HARMONICS,
                    amplitude_v: Vec::new(),
                    on: InterferesOn::Sensor,
                    coupling_farad: None,
                    channels: Vec::new(),
                    span: frequency_hz.span,
                },
            );
        }
        list
    }

    fn interferer(
        &self,
        name: &str,
        table: &Table,
        mains: Option<Located<(f64, f64, f64)>>,
        rails: &[Rail],
        nodes: &[String],
        channels: &[Channel],
    ) -> Option<Interferer> {
        let f = Fields::new(table, format!("interferer {name}"), self.faults);
        let is_mains = name == "mains";
        let frequency_hz = if is_mains && mains.is_some() && !f.has("frequency") {
            let _ = f.item("frequency");
            mains
        } else {
            f.required("frequency", "for example \"300 kHz ± 10 %\"");
            frequency(&f, "frequency", is_mains.then_some(MAINS_TRAVEL_HZ))
        };
        let harmonics = f.whole("harmonics", 1, 1000);
        let written = self.amplitudes(&f);
        let usual = if is_mains { MAINS_HARMONICS } else { 1 };
        let harmonics = match (harmonics, &written) {
            (Some(n), _) => u32::try_from(n.value).unwrap_or(usual),
            (None, Some((list, true))) => u32::try_from(list.value.len()).unwrap_or(usual),
            (None, _) => usual,
        };
        let amplitude_v = self.each_harmonic(written, harmonics)?;
        let on = match f.text("on") {
            None => Some(Located {
                value: InterferesOn::Sensor,
                span: table.span,
            }),
            Some(t) => self.reaches(&t, rails, nodes),
        };
        let coupling_farad = self.capacitor(&f, "coupling", "2 pF");
        let mut reached: Vec<usize> = Vec::new();
        if let Some((list, place)) = f.list("channels") {
            if list.is_empty() {
                self.faults.add(
                    place,
                    "the interferer reaches no channel",
                    "names of channels, or no `channels`: then every analog one",
                );
            }
            for c in self.channel_list(list, "channels") {
                if channels
                    .get(c.value)
                    .is_some_and(|channel| channel.input.is_none())
                {
                    self.faults.add(
                        c.span,
                        format!("`{}` enters no converter", self.channels[c.value]),
                        "channels with an `input`",
                    );
                }
                reached.push(c.value);
            }
        }
        let place = f.span_of("coupling");
        f.finish();
        let on = on?;
        match (&on.value, &coupling_farad) {
            (InterferesOn::Rail(_), Some(_)) => self.faults.add(
                place,
                "ripple of a rail comes through no capacitor",
                "no `coupling`, or `on` = \"sensor\", \"input\" or a node",
            ),
            (InterferesOn::Node(node), None)
                if !table.entries.iter().any(|(k, _)| k.name == "coupling") =>
            {
                self.faults.add(
                    on.span,
                    format!("nothing says through which capacitor it reaches node `{node}`"),
                    "coupling = \"2 pF\"",
                );
            }
            _ => {}
        }
        Some(Interferer {
            name: name.to_owned(),
            frequency_hz: frequency_hz?,
            harmonics,
            amplitude_v,
            on: on.value,
            coupling_farad,
            channels: reached,
            span: table.span,
        })
    }

    /// What was written for `amplitude`, and whether it was a list.
    fn amplitudes(&self, f: &Fields<'_>) -> Option<(Located<Vec<f64>>, bool)> {
        let item = f.item("amplitude")?;
        let (list, is_list): (Vec<&Item>, bool) = match &item.content {
            Content::List(list) => (list.iter().collect(), true),
            _ => (vec![item], false),
        };
        if list.is_empty() {
            self.faults.add(
                item.span,
                "the list of amplitudes is empty",
                "[\"20 mV\", \"5 mV\"], or no `amplitude`",
            );
        }
        let mut value = Vec::new();
        for one in list {
            let v = f.read_item("amplitude", one, "20 mV", |t| {
                quantity::value(t, Dimension::VOLTAGE)
            })?;
            if v.value.value < 0.0 {
                self.faults.add(
                    v.span,
                    "an amplitude is negative",
                    "a peak such as \"20 mV\"",
                );
            }
            value.push(v.value.value.abs());
        }
        Some((
            Located {
                value,
                span: item.span,
            },
            is_list,
        ))
    }

    /// The peak of every harmonic; none where nothing was written.
    fn each_harmonic(
        &self,
        written: Option<(Located<Vec<f64>>, bool)>,
        harmonics: u32,
    ) -> Option<Vec<f64>> {
        let Some((list, is_list)) = written else {
            return Some(Vec::new());
        };
        if list.value.len() > harmonics as usize {
            self.faults.add(
                list.span,
                format!("{} amplitudes for {harmonics} harmonics", list.value.len()),
                "one for each harmonic, the fundamental first",
            );
            return None;
        }
        let first = list.value.first().copied()?;
        Some(
            (0..harmonics)
                .map(|n| {
                    if is_list {
                        list.value.get(n as usize).copied().unwrap_or(0.0)
                    } else {
                        first / f64::from(n + 1)
                    }
                })
                .collect(),
        )
    }

    fn reaches(
        &self,
        text: &Located<&str>,
        rails: &[Rail],
        nodes: &[String],
    ) -> Option<Located<InterferesOn>> {
        let rail = rails.iter().position(|r| r.name == text.value);
        let word = match text.value {
            "sensor" => Some(InterferesOn::Sensor),
            "input" => Some(InterferesOn::Input),
            _ => None,
        };
        let value = match (word, rail) {
            (Some(word), Some(_)) => {
                self.faults.add(
                    text.span,
                    format!(
                        "`{}` is a place in every channel and a rail as well",
                        text.value
                    ),
                    "another name for the rail",
                );
                word
            }
            (Some(word), None) => word,
            (None, Some(rail)) => InterferesOn::Rail(rail),
            (None, None) if nodes.iter().any(|n| n == text.value) => {
                InterferesOn::Node(text.value.to_owned())
            }
            (None, None) => {
                let known: Vec<&str> = ["sensor", "input"]
                    .into_iter()
                    .chain(rails.iter().map(|r| r.name.as_str()))
                    .chain(nodes.iter().map(String::as_str))
                    .collect();
                self.faults.push(
                    InputFault::new(
                        text.span,
                        format!(
                            "nothing an interferer could be on is named `{}`",
                            text.value
                        ),
                        format!("one of {}", known.join(", ")),
                    )
                    .suggest(nearest_of(text.value, known.iter().copied())),
                );
                return None;
            }
        };
        Some(Located {
            value,
            span: text.span,
        })
    }

    /// A quantity above zero.
    pub(super) fn above_zero(
        &self,
        f: &Fields<'_>,
        key: &'static str,
        dimension: Dimension,
        example: &str,
    ) -> Option<Located<f64>> {
        let q = f
            .read(key, example, |t| quantity::value(t, dimension))?
            .map(|q| q.value);
        if q.value > 0.0 {
            return Some(q);
        }
        self.faults.add(
            q.span,
            format!("`{key}` must be above zero"),
            format!("for example \"{example}\""),
        );
        None
    }

    fn capacitor(
        &self,
        f: &Fields<'_>,
        key: &'static str,
        example: &str,
    ) -> Option<Located<Valued>> {
        let v = f.read(key, example, |t| {
            quantity::valued(t, Dimension::CAPACITANCE)
        })?;
        let expected = format!("for example \"{example}\"");
        known_words(f, key, &v, &expected)?;
        let (low, _) = limits(&v.value);
        if low > 0.0 {
            return Some(v);
        }
        self.faults
            .add(v.span, format!("`{key}` must be above zero"), expected);
        None
    }
}

/// A frequency with its limits, all above zero; `travel_hz` counts where no
/// tolerance is written.
pub(super) fn frequency(
    f: &Fields<'_>,
    key: &'static str,
    travel_hz: Option<f64>,
) -> Option<Located<(f64, f64, f64)>> {
    let v = f.read(key, "50 Hz ± 1 %", |t| {
        quantity::valued(t, Dimension::FREQUENCY)
    })?;
    known_words(f, key, &v, "for example \"50 Hz ± 1 %\"")?;
    let nominal = v.value.nominal;
    let (low, high) = match (v.value.tolerance, travel_hz) {
        (None, Some(travel)) => (nominal - travel, nominal + travel),
        _ => limits(&v.value),
    };
    if low > 0.0 && high.is_finite() {
        return Some(Located {
            value: (low, nominal, high),
            span: v.span,
        });
    }
    f.faults().add(
        v.span,
        if nominal > 0.0 {
            format!("`{key}` reaches down to zero")
        } else {
            format!("`{key}` must be above zero")
        },
        "for example \"50 Hz ± 1 %\"",
    );
    None
}

/// Faults a word behind a value that means nothing there.
fn known_words(f: &Fields<'_>, key: &str, v: &Located<Valued>, example: &str) -> Option<()> {
    let Some(word) = unknown_word(&v.value.words, v.value.dimension) else {
        return Some(());
    };
    f.faults().add(
        v.span,
        format!("`{word}` says nothing about `{key}`"),
        example,
    );
    None
}

fn limits(v: &Valued) -> (f64, f64) {
    v.tolerance
        .map_or((v.nominal, v.nominal), |t| t.limits(v.nominal))
}

/// Whether a text is a name and not a quantity.
fn is_word(text: &str) -> bool {
    text.trim_start()
        .chars()
        .next()
        .is_some_and(char::is_alphabetic)
}

/// Names of the nodes that networks and sensors make.
pub(super) fn node_names(networks: &[NetworkSpec], channels: &[Channel]) -> Vec<String> {
    let elements = networks.iter().flat_map(|n| &n.elements);
    let of_elements = elements
        .flat_map(|e| e.fields.values())
        .filter_map(|v| match &v.value {
            FieldValue::Node(node) => Some(node),
            _ => None,
        });
    let of_sensors = channels
        .iter()
        .filter_map(|c| c.sensor.between.as_ref())
        .flat_map(|(a, b)| [a, b]);
    let mut names: Vec<String> = of_elements
        .chain(of_sensors)
        .filter_map(|n| match n {
            NodeRef::Named(name) => Some(name.clone()),
            NodeRef::Supply(_) => None,
        })
        .collect();
    names.sort_unstable();
    names.dedup();
    names
}
