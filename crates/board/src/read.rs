//! From text to board.

mod channel;
mod conversion;
mod links;
mod nodes;
mod pins;
mod power;
mod scenario;
mod sensor;
mod stage;
mod supply;
mod terminals;
mod timing;
mod word;

use std::collections::BTreeMap;
use std::sync::Arc;

use document::{Content, Faults, Fields, Located, Table};
use finding::{InputFault, SourceId, Span, nearest_of};
use parts::{Library, Part};
use quantity::Dimension;

use crate::model::{Board, Channel, Conditions, Judging, NetworkSpec, Supply};
use crate::power::Surroundings;
use crate::vocabulary::Vocabulary;

pub use word::bytes_of;

/// What readers of single tables share.
struct Reader<'a> {
    faults: &'a Faults,
    library: &'a Library,
    vocabulary: &'a Vocabulary,
    in_place: BTreeMap<String, Arc<Part>>,
    names: Vec<(String, Supply)>,
    devices: Vec<crate::model::Device>,
    channels: Vec<String>,
    networks: Vec<String>,
    links: Vec<String>,
}

/// Reads a board file.
///
/// The board comes back only if nothing is wrong with the file; otherwise all
/// its faults do, each at its place.
#[must_use]
pub fn read(
    source: SourceId,
    text: &str,
    library: &Library,
    vocabulary: &Vocabulary,
) -> (Option<Board>, Vec<InputFault>) {
    let (table, syntax) = document::parse(source, text);
    let faults = Faults::new();
    // A broken text is still read as far as it goes, but what is missing
    // because of the break is not worth saying.
    let broken = !syntax.is_empty();
    for fault in syntax {
        faults.push(fault);
    }
    if broken {
        return (None, faults.into_list());
    }
    let mut board = read_table(&table, &faults, library, vocabulary);
    if faults.count() == 0 {
        assume(&mut board, text, &faults, library, vocabulary);
        scenario::boards(&mut board, &table, &faults, &|t, f| {
            read_table(t, f, library, vocabulary)
        });
    }
    let list = faults.into_list();
    (if list.is_empty() { Some(board) } else { None }, list)
}

/// Reads the board again for every channel whose firmware assumes other
/// values than those fitted.
fn assume(
    board: &mut Board,
    text: &str,
    faults: &Faults,
    library: &Library,
    vocabulary: &Vocabulary,
) {
    for channel in &mut board.channels {
        if channel.conversion.assume.is_empty() {
            continue;
        }
        let mut changed = text.to_owned();
        let mut places = Vec::new();
        for (path, value) in &channel.conversion.assume {
            match crate::edit::with_value(&changed, path, &value.value) {
                Ok(new) => changed = new,
                Err(fault) => faults.add(
                    value.span,
                    format!("`{path}` leads nowhere: {}", fault.message),
                    format!(
                        "a path such as rails.main.voltage; it could go on with {}",
                        fault.known.join(", ")
                    ),
                ),
            }
            places.push(value.span);
        }
        let (table, _) = document::parse(channel.place.source, &changed);
        let inner = Faults::new();
        let assumed = read_table(&table, &inner, library, vocabulary);
        match (inner.into_list().into_iter().next(), places.first()) {
            (Some(fault), Some(&place)) => {
                faults.add(
                    place,
                    format!(
                        "with the assumed values the board cannot be read: {}",
                        fault.message
                    ),
                    fault.expected,
                );
            }
            _ => channel.conversion.assumed = Some(Arc::new(assumed)),
        }
    }
}

fn read_table(table: &Table, faults: &Faults, library: &Library, vocabulary: &Vocabulary) -> Board {
    let top = Fields::new(table, "the board file", faults);
    let mut reader = Reader {
        faults,
        library,
        vocabulary,
        in_place: BTreeMap::new(),
        names: Vec::new(),
        devices: Vec::new(),
        channels: Vec::new(),
        networks: Vec::new(),
        links: Vec::new(),
    };
    // Parts that are like others come after all that are not.
    let (alike, own): (Vec<_>, Vec<_>) = top
        .named("parts")
        .into_iter()
        .partition(|(_, table)| table.get("like").is_some());
    for (key, part_table) in own.into_iter().chain(alike) {
        if let Some(part) = reader.written_part(&key.name, part_table) {
            if let Some(shipped) = library.get(&key.name) {
                faults.add(
                    key.span,
                    format!(
                        "part `{}` is already in the library ({})",
                        key.name, shipped.title
                    ),
                    "another name, for example one with your initials in front",
                );
            }
            reader.in_place.insert(key.name.clone(), Arc::new(part));
        }
    }
    let name = top.sub("board").map_or_else(
        || "unnamed board".to_owned(),
        |t| {
            let f = Fields::new(t, "[board]", faults);
            let name = f
                .text("name")
                .map_or_else(|| "unnamed board".to_owned(), |n| n.value.to_owned());
            let _ = f.text("note");
            f.finish();
            name
        },
    );
    let conditions = read_conditions(&top, faults);
    let judging = read_judging(&top, faults);
    let rails = reader.rails(&top);
    reader.devices(&top, &rails);
    reader.fitted(&top, &rails);
    let references = reader.references(&top, &rails);
    let links = reader.links(&top, &rails);
    reader.link_pins(&links);
    let pins = reader.pin_settings(&top);
    reader.links = top
        .named("links")
        .iter()
        .map(|(k, _)| k.name.clone())
        .collect();
    let network_tables = top.named("networks");
    reader.networks = network_tables.iter().map(|(k, _)| k.name.clone()).collect();
    let channel_tables = top.named("channels");
    reader.channels = channel_tables.iter().map(|(k, _)| k.name.clone()).collect();
    let networks: Vec<NetworkSpec> = network_tables
        .iter()
        .map(|(k, t)| reader.network(&k.name, t))
        .collect();
    let mut channels: Vec<Channel> = channel_tables
        .iter()
        .filter_map(|(k, t)| reader.channel(&k.name, k.span, t))
        .collect();
    // A fragment may be about its supplies or its links alone.
    const SUBJECTS: &[&str] = &[
        "channels",
        "links",
        "devices",
        "rails",
        "heat",
        "returns",
        "terminals",
    ];
    if !SUBJECTS.iter().any(|key| top.has(key)) {
        faults.add(
            table.span,
            "the file describes no channel",
            "at least one [channels.NAME] with quantity and span; or a [links.NAME], a [rails.NAME]",
        );
    }
    // Positions of channels hold only where every one could be read.
    if channels.len() == channel_tables.len() {
        nodes::bind(faults, &networks, &mut channels);
    }
    let read = channels.len();
    let mut earlier: Vec<String> = Vec::new();
    for (key, table) in top.named("derived") {
        channels.extend(reader.derived(&key.name, key.span, table, &earlier));
        earlier.push(key.name.clone());
    }
    // Channels that could not be read have no position to be named by.
    let measured = if channel_tables.len() == read {
        channels.get(..read).unwrap_or_default()
    } else {
        &[]
    };
    let terminals = reader.terminals(&top, &networks, measured);
    let scans = reader.scans(&top, measured);
    let nodes = timing::node_names(&networks, measured);
    let interferers = reader.interferers(&top, &conditions, &rails, &nodes, measured);
    let words = reader.words(&top, measured);
    let heats = reader.heats(&top, &rails, &references, measured);
    let returns = reader.returns(&top, &rails, measured);
    let scenarios = reader.scenarios(&top);
    let claims = reader.claims(&top, measured, &scenarios);
    top.finish();
    Board {
        name,
        conditions,
        rails,
        devices: reader.devices,
        references,
        networks,
        links,
        pins,
        channels,
        terminals,
        scans,
        interferers,
        words,
        heats,
        returns,
        surroundings: Surroundings::default(),
        scenarios,
        claims,
        judging,
    }
}

fn read_conditions(top: &Fields<'_>, faults: &Faults) -> Conditions {
    let mut conditions = Conditions {
        ambient_k: (298.15, 298.15),
        ambient_span: None,
        mains_hz: None,
        mains_range_hz: None,
        mains_span: None,
        service_s: None,
        service_span: None,
        wet: false,
        dangers: Vec::new(),
    };
    let Some(table) = top.sub("conditions") else {
        return conditions;
    };
    let f = Fields::new(table, "[conditions]", faults);
    if let Some(item) = f.item("ambient") {
        let fixed =
            matches!(&item.content, Content::Text(t, _) if !t.contains(" to ") && !t.contains('…'));
        if fixed {
            if let Some(q) = f.quantity("ambient", Dimension::TEMPERATURE) {
                conditions.ambient_k = (q.value.value, q.value.value);
                conditions.ambient_span = Some(q.span);
            }
        } else if let Some(r) = f.range("ambient", Dimension::TEMPERATURE) {
            conditions.ambient_k = (r.value.low, r.value.high);
            conditions.ambient_span = Some(r.span);
        }
        if conditions.ambient_k.0 < 0.0 {
            faults.add(
                item.span,
                "the ambient is below absolute zero",
                "for example \"-5 °C to 40 °C\"",
            );
            conditions.ambient_k = (298.15, 298.15);
        }
    }
    if let Some(mains) = timing::frequency(&f, "mains", Some(timing::MAINS_TRAVEL_HZ)) {
        let (low, nominal, high) = mains.value;
        conditions.mains_hz = Some(nominal);
        conditions.mains_range_hz = Some((low, high));
        conditions.mains_span = Some(mains.span);
    }
    if let Some(q) = f.quantity("service", Dimension::TIME) {
        if q.value.value < 0.0 {
            faults.add(
                q.span,
                "the service life is negative",
                "for example \"3 years\"",
            );
        }
        conditions.service_s = Some(q.value.value.max(0.0));
        conditions.service_span = Some(q.span);
    }
    conditions.wet = f.truth("wet").is_some_and(|t| t.value);
    if let Some((list, _)) = f.list("dangers") {
        for item in list {
            match &item.content {
                Content::Text(word, _) => {
                    const KNOWN: &[&str] = &[
                        "fermentation-gas",
                        "explosive-gas",
                        "mains",
                        "lithium-cells",
                        "heater",
                        "motor",
                        "patient",
                        "stored-energy",
                    ];
                    if KNOWN.contains(&word.as_str()) {
                        conditions.dangers.push(Located {
                            value: word.clone(),
                            span: item.span,
                        });
                    } else {
                        faults.push(
                            InputFault::new(
                                item.span,
                                format!("unknown danger \"{word}\""),
                                KNOWN.join(", "),
                            )
                            .suggest(nearest_of(word, KNOWN.iter().copied())),
                        );
                    }
                }
                other => faults.add(
                    item.span,
                    format!("a danger is {}", other.describe()),
                    "a word in quotes",
                ),
            }
        }
    }
    f.finish();
    conditions
}

fn read_judging(top: &Fields<'_>, faults: &Faults) -> Judging {
    let mut judging = Judging::default();
    let Some(table) = top.sub("judging") else {
        return judging;
    };
    let f = Fields::new(table, "[judging]", faults);
    let share = |key: &'static str, low: f64, high: f64, target: &mut f64| {
        if let Some(n) = f.number(key) {
            if n.value > low && n.value < high {
                *target = n.value;
            } else {
                faults.add(
                    n.span,
                    format!("`{key}` is {}", n.value),
                    format!(
                        "a {} between {} and {high}",
                        if high > 1.0 { "number" } else { "share" },
                        f64::max(low, 0.0)
                    ),
                );
            }
        }
    };
    share("probability", 0.5, 1.0, &mut judging.probability);
    share("accuracy-margin", -1e-9, 1.0, &mut judging.accuracy_margin);
    share("current-margin", -1e-9, 1.0, &mut judging.current_margin);
    share("figure-share", -1e-9, 1.0, &mut judging.figure_share);
    share("few-codes", -1e-9, 1.0, &mut judging.few_codes);
    share("self-heating", -1e-9, 1.0, &mut judging.self_heating);
    share("known-error", -1e-9, 1.0, &mut judging.known_error);
    share("pickup", -1e-9, 1.0, &mut judging.pickup_v);
    let written = matches!(
        f.table().get("level-margin").map(|i| &i.content),
        Some(Content::Text(..))
    );
    if written {
        // With its unit, as voltages are written elsewhere.
        if let Some(q) = f.quantity("level-margin", Dimension::VOLTAGE) {
            if (0.0..5.0).contains(&q.value.value) {
                judging.level_margin_v = q.value.value;
            } else {
                faults.add(
                    q.span,
                    "a margin of logic levels lies between 0 V and 5 V",
                    "for example level-margin = \"0.1 V\"",
                );
            }
        }
    } else {
        share("level-margin", -1e-9, 5.0, &mut judging.level_margin_v);
    }
    share("window-margin", -1e-9, 1.0, &mut judging.window_margin);
    share(
        "junction-margin",
        -1e-9,
        1000.0,
        &mut judging.junction_margin_k,
    );
    f.finish();
    judging
}

impl Reader<'_> {
    /// A part of `[parts]`: whole, or like another one but for some figures.
    fn written_part(&self, name: &str, table: &Table) -> Option<parts::Part> {
        let Some(like) = table.get("like") else {
            return parts::part_in_place(name, table, self.faults);
        };
        let document::Content::Text(base, _) = &like.content else {
            self.faults.add(
                like.span,
                format!("`like` is {}", like.content.describe()),
                "the name of a part in quotes",
            );
            return None;
        };
        let base = self.part(base, like.span, &[])?;
        parts::part_like(name, &base, table, self.faults)
    }

    /// A part by name: written in place in this file, or from the library.
    fn part(&self, name: &str, span: Span, kinds: &[&str]) -> Option<Arc<Part>> {
        let part = match self.in_place.get(name) {
            Some(part) => part.clone(),
            None => match self.library.shared(name) {
                Some(part) => part,
                None => {
                    let near = nearest_of(
                        name,
                        self.library
                            .iter()
                            .map(|p| p.id.as_str())
                            .chain(self.in_place.keys().map(String::as_str)),
                    );
                    self.faults.push(
                        InputFault::new(
                            span,
                            format!("no part `{name}`"),
                            "a part of the library (`leastbit parts` lists them) or of [parts] in this file",
                        )
                        .suggest(near),
                    );
                    return None;
                }
            },
        };
        if kinds.is_empty() || kinds.contains(&part.kind.as_str()) {
            return Some(part);
        }
        self.faults.add(
            span,
            format!("`{name}` is a {}, which does not fit here", part.kind),
            format!("a part of kind {}", kinds.join(" or ")),
        );
        None
    }

    /// A rail, a reference, a device's internal reference, or ground.
    fn supply(&self, name: &str, span: Span) -> Option<Supply> {
        if matches!(name, "gnd" | "ground") {
            return Some(Supply::Ground);
        }
        if let Some((_, s)) = self.names.iter().find(|(n, _)| n == name) {
            return Some(*s);
        }
        if let Some((device, choice)) = name.split_once('.')
            && let Some((d, part)) = self
                .devices
                .iter()
                .enumerate()
                .find(|(_, d)| d.name == device)
                .map(|(i, d)| (i, &d.part))
        {
            for (u, unit) in part.converters.iter().enumerate() {
                let choice = choice
                    .strip_prefix(&format!("{}.", unit.name))
                    .unwrap_or(choice);
                if let Some(c) = unit.references.iter().position(|r| r.name == choice) {
                    return self.internal(d, u, c, span);
                }
            }
            let choices: Vec<&str> = part
                .converters
                .iter()
                .flat_map(|u| u.references.iter().map(|r| r.name.as_str()))
                .collect();
            self.faults.push(
                InputFault::new(
                    span,
                    format!("`{device}` has no reference `{choice}`"),
                    if choices.is_empty() {
                        "a rail or a reference".to_owned()
                    } else {
                        format!("one of {}", choices.join(", "))
                    },
                )
                .suggest(nearest_of(choice, choices.iter().copied())),
            );
            return None;
        }
        let known: Vec<&str> = self
            .names
            .iter()
            .map(|(n, _)| n.as_str())
            .chain(["gnd"])
            .collect();
        self.faults.push(
            InputFault::new(
                span,
                format!("no rail or reference is named `{name}`"),
                format!("one of {}", known.join(", ")),
            )
            .suggest(nearest_of(name, known.iter().copied())),
        );
        None
    }

    /// A device's own choice of reference; a choice that is the analog supply
    /// is that rail.
    fn internal(&self, device: usize, unit: usize, choice: usize, span: Span) -> Option<Supply> {
        let d = self.devices.get(device)?;
        let r = d.part.converters.get(unit)?.references.get(choice)?;
        match r.from.as_deref() {
            Some("analog-supply" | "supply") => match d.analog_supply.or(d.supply) {
                Some(rail) => Some(Supply::Rail(rail)),
                None => {
                    self.faults.add(
                        span,
                        format!(
                            "`{}` has no supply, so its reference `{}` has no voltage",
                            d.name, r.name
                        ),
                        format!("supply = \"RAIL\" in [controllers.{}]", d.name),
                    );
                    None
                }
            },
            Some(_) => {
                self.faults.add(
                    span,
                    format!(
                        "`{}.{}` is a pin that something outside must drive",
                        d.name, r.name
                    ),
                    "the rail or reference connected to it",
                );
                None
            }
            None => Some(Supply::Internal(device, unit, choice)),
        }
    }
}
