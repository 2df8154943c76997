//! Rails and references for a device.

use parts::{Column, ConverterUnit, Figure, Library, Part};

use crate::StarterFault;

/// One rail.
pub(crate) struct Rail {
    pub name: String,
    /// Lines of its table, each with what to say about it.
    pub lines: Vec<(String, &'static str)>,
    /// Nominal voltage, V.
    pub volt: f64,
    /// Lowest voltage, V.
    pub low: f64,
    /// Highest voltage, V.
    pub high: f64,
}

/// Where a converter's reference may come from.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Choice {
    /// Value of `reference` in the channel; none for what is used anyway.
    pub key: Option<String>,
    /// Supply that a sensor hangs on to be ratiometric to it.
    pub supply: Option<String>,
    /// Part that must be on the board for it: name, part, feeding rail.
    pub part: Option<(String, String, String)>,
    /// Rail that is half of another one, and which.
    pub half_of: Option<String>,
    /// How much smaller the error must be to be worth it.
    pub cost: f64,
}

/// A device with what feeds it.
pub(crate) struct Supplies {
    /// `controllers` or `converters`.
    pub group: &'static str,
    /// Name of the device on the board.
    pub device: &'static str,
    /// The part as named in the file.
    pub part: String,
    /// The part whose converters it has.
    pub chip: String,
    pub title: String,
    pub supply: String,
    pub rails: Vec<Rail>,
    pub choices: Vec<Choice>,
    /// The resistors of a divider of the supply that gives about half of what
    /// the converter compares with.
    pub middle: (f64, f64),
    /// Inputs, in the order in which they are best used: what to write.
    pub inputs: Vec<String>,
    /// Gains of the first converter.
    pub gains: Vec<f64>,
}

/// Usual supplies, V, the most usual first.
const USUAL: &[f64] = &[3.3, 5.0, 3.0, 2.5, 1.8];
/// Tolerance of the supply from outside.
const OUTSIDE: f64 = 0.05;

fn low_of(f: &Figure) -> Option<f64> {
    f.min.or(f.typ)
}

/// Rails, references and inputs of a device.
pub(crate) fn plan(library: &Library, part: &Part) -> Result<Supplies, StarterFault> {
    let chip = match &part.controller {
        Some(id) => library.get(id).map(|c| c.carried_by(part)).ok_or_else(|| {
            StarterFault::new(format!("`{}` carries `{id}`, which is no part", part.id))
        })?,
        None => part.clone(),
    };
    let (rails, supply) = if part.kind == "carrier" {
        carrier_rails(part)
    } else {
        chip_rails(library, &chip)?
    };
    let group = if part.kind == "converter" {
        "converters"
    } else {
        "controllers"
    };
    let device = if group == "converters" { "adc" } else { "mcu" };
    let unit = chip.converters.first();
    let feed = rails.iter().find(|r| r.name == supply);
    let choices = match (unit, feed) {
        (Some(unit), Some(feed)) => choices(library, device, unit, feed, &rails),
        _ => Vec::new(),
    };
    Ok(Supplies {
        group,
        device,
        part: part.id.clone(),
        chip: chip.id.clone(),
        title: part.title.clone(),
        supply,
        middle: feed.map_or((MIDDLE_OHM, MIDDLE_OHM), |f| middle(f, unit, &choices)),
        choices,
        inputs: inputs(device, &chip),
        gains: unit.map(|u| u.gains.clone()).unwrap_or_default(),
        rails,
    })
}

/// Resistor at the bottom of the divider that lifts signals, Ω.
const MIDDLE_OHM: f64 = 10e3;

/// Half of the supply where that can be the converter's reference, else half
/// of its largest own one.
fn middle(feed: &Rail, unit: Option<&ConverterUnit>, choices: &[Choice]) -> (f64, f64) {
    let own = unit
        .iter()
        .flat_map(|u| &u.references)
        .filter_map(|r| r.figures.get("voltage")?.typical())
        .fold(0.0, f64::max);
    let from_supply = choices
        .iter()
        .any(|c| c.supply.as_deref() == Some(feed.name.as_str()));
    let scale = if from_supply || own <= 0.0 {
        feed.volt
    } else {
        own.min(feed.volt)
    };
    let top = MIDDLE_OHM * (2.0 * feed.volt / scale - 1.0);
    let top = quantity::Series::E24.nearest(top).unwrap_or(top);
    (top, MIDDLE_OHM)
}

/// The rails that a carrier brings out.
fn carrier_rails(part: &Part) -> (Vec<Rail>, String) {
    let mut rails = Vec::new();
    let mut supply = String::new();
    for r in &part.rails {
        let Some(f) = r.figures.get("voltage") else {
            continue;
        };
        let Some(volt) = f.typical() else { continue };
        let (low, high) = (f.min.unwrap_or(volt), f.max.unwrap_or(volt));
        let share = ((high - volt).max(volt - low)) / volt;
        let mut lines = vec![(
            format!(
                "voltage = \"{} V ± {} %\"",
                short(volt),
                short(100.0 * share)
            ),
            "as the carrier brings it out",
        )];
        if let Some(a) = r.figures.get("output-current").and_then(|f| f.max) {
            lines.push((format!("limit = \"{} mA\"", short(1e3 * a)), ""));
        }
        if r.feeds.iter().any(|f| f == "supply") || supply.is_empty() {
            supply.clone_from(&r.name);
        }
        rails.push(Rail {
            name: r.name.clone(),
            lines,
            volt,
            low,
            high,
        });
    }
    (rails, supply)
}

/// A supply from outside and, if need be, a regulator for the chip.
fn chip_rails(library: &Library, chip: &Part) -> Result<(Vec<Rail>, String), StarterFault> {
    let main = Rail {
        name: "main".to_owned(),
        lines: vec![("voltage = \"5 V ± 5 %\"".to_owned(), "from the wall supply")],
        volt: 5.0,
        low: 5.0 * (1.0 - OUTSIDE),
        high: 5.0 * (1.0 + OUTSIDE),
    };
    let mut ranges: Vec<(f64, f64)> = Vec::new();
    let own = ["supply", "analog-supply"]
        .iter()
        .filter_map(|n| chip.figure(n));
    let unit = chip
        .converters
        .iter()
        .filter_map(|u| u.figure("analog-supply"));
    for f in own.chain(unit) {
        ranges.push((low_of(f).unwrap_or(0.0), f.max.unwrap_or(f64::INFINITY)));
    }
    let fits = |low: f64, high: f64| ranges.iter().all(|&(a, b)| low >= a && high <= b);
    // A part made for 5 V is fed without a regulator.
    let typical = chip.figure("supply").and_then(|f| f.typ);
    if fits(main.low, main.high) && typical.is_none_or(|t| t > 4.0) {
        return Ok((vec![main], "main".to_owned()));
    }
    for &volt in USUAL {
        let (low, high) = (volt * 0.98, volt * 1.02);
        if !fits(low, high) {
            continue;
        }
        let Some(regulator) = regulator(library, volt, &main) else {
            continue;
        };
        let logic = Rail {
            name: "logic".to_owned(),
            lines: vec![
                ("from = \"main\"".to_owned(), ""),
                (format!("part = \"{}\"", regulator.id), "regulator"),
            ],
            volt,
            low,
            high,
        };
        return Ok((vec![main, logic], "logic".to_owned()));
    }
    Err(StarterFault::new(format!(
        "no regulator of the library makes a supply for `{}` from 5 V",
        chip.id
    )))
}

/// The regulator for a voltage that can deliver most.
fn regulator<'a>(library: &'a Library, volt: f64, main: &Rail) -> Option<&'a Part> {
    let current = |p: &Part| {
        p.figure("output-current")
            .and_then(|f| f.max)
            .unwrap_or(0.0)
    };
    library
        .iter()
        .filter(|p| p.kind == "regulator")
        .filter(|p| {
            p.figure("output-voltage")
                .and_then(Figure::typical)
                .is_some_and(|v| (v / volt - 1.0).abs() < 1e-6)
                && p.figure("supply")
                    .and_then(|f| f.max)
                    .is_none_or(|most| main.high <= most)
        })
        .max_by(|a, b| current(a).total_cmp(&current(b)))
}

/// References there are, the simplest first.
fn choices(
    library: &Library,
    device: &str,
    unit: &ConverterUnit,
    feed: &Rail,
    rails: &[Rail],
) -> Vec<Choice> {
    let at = |name: &str| (!name.is_empty()).then_some(feed.low);
    let range = unit
        .figure("reference-range")
        .and_then(|f| f.resolved(&at))
        .map_or((0.0, feed.low), |f| {
            (f.min.unwrap_or(0.0), f.max.unwrap_or(feed.low))
        });
    let mut list = Vec::new();
    let usual = unit
        .references
        .iter()
        .any(|r| matches!(r.from.as_deref(), Some("analog-supply" | "supply")));
    let outside = unit
        .references
        .iter()
        .any(|r| r.from.is_none() && !r.figures.contains_key("voltage"));
    if usual || unit.references.is_empty() {
        list.push(Choice {
            key: None,
            supply: Some(feed.name.clone()),
            part: None,
            half_of: None,
            cost: 1.0,
        });
    }
    for r in &unit.references {
        // Measured by the converter, not compared with.
        if r.from.is_none() && r.figures.contains_key("voltage") && !r.name.starts_with("measured")
        {
            list.push(Choice {
                key: Some(format!("{device}.{}", r.name)),
                supply: None,
                part: None,
                half_of: None,
                cost: 1.05,
            });
        }
    }
    if outside {
        for rail in rails {
            if !usual && rail.low >= range.0 && rail.high <= range.1.max(feed.high) {
                list.push(Choice {
                    key: Some(rail.name.clone()),
                    supply: Some(rail.name.clone()),
                    part: None,
                    half_of: None,
                    cost: 1.0,
                });
            }
            // Half a rail, for sensors that follow that rail.
            if rail.name != feed.name && 0.49 * rail.low >= range.0 && 0.51 * rail.high <= range.1 {
                list.push(Choice {
                    key: Some("half".to_owned()),
                    supply: None,
                    part: None,
                    half_of: Some(rail.name.clone()),
                    cost: 1.15,
                });
            }
        }
        if let Some((part, from)) = reference(library, range, rails) {
            list.push(Choice {
                key: Some("vref".to_owned()),
                supply: Some("vref".to_owned()),
                part: Some(("vref".to_owned(), part.id.clone(), from.name.clone())),
                half_of: None,
                cost: 1.25,
            });
        }
    }
    list
}

/// The series reference with the largest voltage that fits, of the best grade.
fn reference<'a, 'r>(
    library: &'a Library,
    range: (f64, f64),
    rails: &'r [Rail],
) -> Option<(&'a Part, &'r Rail)> {
    let from = rails.iter().max_by(|a, b| a.volt.total_cmp(&b.volt))?;
    let volt = |p: &Part| p.figure("voltage").and_then(Figure::typical);
    // Shares are comparable, volts become shares of the output.
    let grade = |p: &Part| {
        let v = volt(p).unwrap_or(1.0);
        p.figure("initial-accuracy").map_or(f64::INFINITY, |f| {
            let size = f
                .column(Column::Max)
                .or(f.column(Column::Typ))
                .unwrap_or(f64::INFINITY);
            if f.dimension == quantity::Dimension::NONE {
                size
            } else {
                size / v
            }
        })
    };
    library
        .iter()
        .filter(|p| p.kind == "series-reference")
        .filter(|p| {
            let Some(v) = volt(p) else { return false };
            let dropout = p
                .figure("dropout")
                .and_then(|f| f.max.or(f.typ))
                .unwrap_or(0.3);
            v >= range.0
                && v * 1.005 <= range.1
                && v + dropout + 0.1 <= from.low
                && p.figure("supply").is_none_or(|f| {
                    f.max.is_none_or(|m| from.high <= m) && f.min.is_none_or(|m| from.low >= m)
                })
        })
        .min_by(|a, b| {
            let (va, vb) = (volt(a).unwrap_or(0.0), volt(b).unwrap_or(0.0));
            vb.total_cmp(&va).then(grade(a).total_cmp(&grade(b)))
        })
        .map(|p| (p, from))
}

/// Inputs, those whose pins serve nothing else first.
fn inputs(device: &str, chip: &Part) -> Vec<String> {
    let mut list: Vec<(usize, String)> = Vec::new();
    for unit in &chip.converters {
        if unit.channels.is_empty() {
            // The map of channels is not known: any name may be given.
            list.extend((0..8).map(|n| (0, format!("{device}.{}.{n}", unit.name))));
            continue;
        }
        for c in &unit.channels {
            let inside = c.pin.is_empty()
                && chip
                    .converters
                    .iter()
                    .any(|u| u.channels.iter().any(|c| !c.pin.is_empty()));
            if inside {
                continue;
            }
            let trouble = chip.pin(&c.pin).map_or(0, |p| {
                let harmless = ["not-5v-tolerant", "5v-tolerant", "input-only"];
                p.attributes
                    .iter()
                    .filter(|a| !harmless.contains(&a.as_str()))
                    .count()
            });
            list.push((trouble, format!("{device}.{}.{}", unit.name, c.name)));
        }
    }
    list.sort_by_key(|(trouble, _)| *trouble);
    list.into_iter().map(|(_, input)| input).collect()
}

/// A number as a person would write it.
pub(crate) fn short(x: f64) -> String {
    let text = format!("{:.4e}", x);
    text.parse::<f64>().map_or(text, |x| format!("{x}"))
}
