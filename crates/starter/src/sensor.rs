//! What is measured with a sensor: quantity, span, and what the sensor's part
//! leaves open.

use chain::law::Electrical;
use parts::{Figure, Library, Part};

use crate::StarterFault;
use crate::choose::Circuit;
use crate::supply::short;

/// A channel of the starter board.
#[derive(Clone)]
pub(crate) struct Channel {
    pub name: String,
    pub quantity: String,
    /// Ends of the span in `unit`.
    pub span: (f64, f64),
    pub unit: &'static str,
    pub span_comment: &'static str,
    /// Both ends of the sensor are free, so that it may stand on a voltage.
    pub floats: bool,
    /// The sensor's part and what it is.
    pub part: String,
    pub title: String,
    /// Further keys of the sensor, as written.
    pub keys: Vec<(&'static str, String)>,
    /// Further lines of the channel, each with what to say about it.
    pub lines: Vec<(String, &'static str)>,
    /// What it gives to a circuit; none for digital words and pulses.
    pub electrical: Option<Electrical>,
    /// Supplies it works with, V.
    pub supply_range: (f64, f64),
    /// Filled in by the choice.
    pub circuit: Circuit,
    /// Accuracy asked, in `unit`; none while it is being chosen.
    pub accuracy: Option<f64>,
    /// The circuit chosen holds it.
    pub reached: bool,
    pub input: Option<String>,
}

/// What is said about a span.
const MEASURED: &str = "what is to be measured";
/// What measures the temperature of the liquid an electrode stands in.
const BESIDE_AN_ELECTRODE: &str = "platinum-1000-class-b";
/// Peak of a sine wave over its root mean square.
const CREST_OF_SINE: f64 = std::f64::consts::SQRT_2;

/// Unit and everyday span of a quantity.
pub(crate) fn usual(quantity: &str) -> Option<(&'static str, f64, f64)> {
    Some(match quantity {
        "temperature" => ("°C", 0.0, 50.0),
        "humidity" => ("%RH", 20.0, 80.0),
        "pressure" => ("kPa", 0.0, 10.0),
        "current" => ("A", 0.0, 2.0),
        "illuminance" => ("lx", 10.0, 1000.0),
        "acceleration" => ("gn", -1.0, 1.0),
        "ph" => ("pH", 3.0, 8.0),
        "mass" => ("kg", 0.0, 20.0),
        "flow" => ("L/min", 2.0, 20.0),
        "level" => ("m", 0.0, 2.4),
        "position" => ("mm", 0.0, 100.0),
        "field" => ("µT", -400.0, 400.0),
        "force" => ("N", 0.0, 100.0),
        "voltage" => ("V", 0.0, 10.0),
        _ => return None,
    })
}

/// The channels of some sensors, with names that differ.
///
/// A channel that needs a temperature gets one of its own if an input, of
/// `inputs`, and a part of `library` are left for it.
pub(crate) fn channels(
    library: &Library,
    chosen: &[(Option<String>, &Part)],
    inputs: usize,
) -> Result<Vec<Channel>, StarterFault> {
    let mut list: Vec<Channel> = Vec::new();
    for (name, part) in chosen {
        let mut own = of_part(part)?;
        let several = own.len() > 1;
        for c in &mut own {
            let wanted = match name {
                Some(name) if several => format!("{name}-{}", c.quantity),
                Some(name) => name.clone(),
                None => c.quantity.clone(),
            };
            if !wanted
                .chars()
                .all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '_')
                || wanted.is_empty()
            {
                return Err(
                    StarterFault::new(format!("`{wanted}` is no name for a channel"))
                        .expecting("letters, digits and hyphens, such as tank-1"),
                );
            }
            let taken = |n: &str| list.iter().any(|c| c.name == n);
            c.name = if !taken(&wanted) {
                wanted
            } else if name.is_some() {
                return Err(
                    StarterFault::new(format!("two channels are named `{wanted}`"))
                        .expecting("different names"),
                );
            } else {
                (2..)
                    .map(|n| format!("{wanted}-{n}"))
                    .find(|n| !taken(n))
                    .unwrap_or(wanted)
            };
            list.push(c.clone());
        }
    }
    auxiliaries(library, &mut list, inputs)?;
    Ok(list)
}

/// Cold junctions and temperatures that conversions need.
fn auxiliaries(
    library: &Library,
    list: &mut Vec<Channel>,
    inputs: usize,
) -> Result<(), StarterFault> {
    if list
        .iter()
        .any(|c| c.keys.iter().any(|(k, _)| *k == "cold-junction"))
    {
        list.push(Channel {
            name: "cold-junction".to_owned(),
            quantity: "temperature".to_owned(),
            span: (0.0, 40.0),
            unit: "°C",
            span_comment: MEASURED,
            floats: false,
            part: "adt7420".to_owned(),
            title: "sits where the thermocouple's wires end".to_owned(),
            keys: Vec::new(),
            lines: Vec::new(),
            electrical: None,
            supply_range: (0.0, f64::INFINITY),
            circuit: Circuit::default(),
            accuracy: None,
            reached: false,
            input: None,
        });
    }
    // A pH electrode's slope follows the temperature of what it stands in.
    let mut temperature = list
        .iter()
        .find(|c| c.quantity == "temperature" && c.name != "cold-junction")
        .map(|c| c.name.clone());
    let asking = list
        .iter()
        .find(|c| c.keys.iter().any(|(k, _)| *k == "temperature"));
    let taken = list.iter().filter(|c| c.electrical.is_some()).count();
    if let (Some(asking), None, Some(part)) = (
        asking.map(|c| c.name.clone()),
        &temperature,
        library.get(BESIDE_AN_ELECTRODE).filter(|_| taken < inputs),
    ) {
        let name = format!("{asking}-temperature");
        for mut c in of_part(part)? {
            c.name.clone_from(&name);
            c.title = format!("{}, in the same liquid", c.title);
            list.push(c);
        }
        temperature = Some(name);
    }
    for c in list.iter_mut() {
        for (key, value) in &mut c.keys {
            if *key == "temperature"
                && let Some(name) = &temperature
            {
                *value = format!("\"{name}\"");
            }
        }
    }
    Ok(())
}

fn of_part(part: &Part) -> Result<Vec<Channel>, StarterFault> {
    if part.kind == "digital-sensor" {
        return Ok(part
            .measures
            .iter()
            .filter_map(|m| {
                let range = m.figures.get("range").or_else(|| m.figures.get("span"));
                channel(part, &m.quantity, range, None)
            })
            .collect());
    }
    let law = part.law.as_deref().unwrap_or("");
    let electrical = chain::law::find(law).map(chain::law::Law::electrical);
    let quantity = part.quantity.as_deref().unwrap_or(match law {
        "loop-current" => "level",
        _ => "position",
    });
    let range = part.figure("span").or_else(|| part.figure("range"));
    let mut c = channel(part, quantity, range, Some(law)).ok_or_else(|| {
        StarterFault::new(format!(
            "nothing is known of what `{}` usually measures",
            part.id
        ))
        .expecting("a board file of your own")
    })?;
    match electrical {
        Some(Electrical::Reading) => {}
        Some(Electrical::Frequency) => {
            c.lines.push((
                "gate = \"5 s\"".to_owned(),
                "time over which pulses are counted",
            ));
            c.lines.push((
                "clock-tolerance = \"50 ppm\"".to_owned(),
                "of the controller's crystal",
            ));
        }
        other => c.electrical = other,
    }
    match law {
        "loop-current" => {
            c.keys.push((
                "figures",
                format!(
                    "{{ span-low = \"{} {}\", span-high = \"{} {}\" }}",
                    short(c.span.0),
                    c.unit,
                    short(c.span.1),
                    c.unit
                ),
            ));
        }
        "bridge" if part.open.iter().any(|o| o == "rated") => {
            c.keys.push((
                "figures",
                format!("{{ rated = \"{} {}\" }}", short(c.span.1), c.unit),
            ));
        }
        "potentiometer" => {
            c.keys.push((
                "figures",
                format!("{{ travel-high = \"{} {}\" }}", short(c.span.1), c.unit),
            ));
        }
        "thermocouple" => c
            .keys
            .push(("cold-junction", "\"cold-junction\"".to_owned())),
        "current-transformer" => {
            // The figure is an rms value; what the pin sees is the wave.
            let peak = tidy((10.0 * CREST_OF_SINE * c.span.1).floor() * 0.1);
            c.span = (-peak, peak);
            c.span_comment = "the wave with its peaks: the firmware makes rms of it";
        }
        "glass-electrode" => {
            c.keys.push(("temperature", "\"20 °C\"".to_owned()));
            c.lines.push((
                "calibrate = { at = [\"4.01 pH\", \"6.86 pH\"], ambient = \"21 °C ± 3 °C\", standard = \"0.02 pH\" }".to_owned(),
                "in two buffers: no electrode is used without",
            ));
        }
        _ => {}
    }
    Ok(vec![c])
}

fn channel(
    part: &Part,
    quantity: &str,
    range: Option<&Figure>,
    law: Option<&str>,
) -> Option<Channel> {
    let (unit, low, high) = usual(quantity)?;
    let scale = quantity::scale_of(&format!("1 {unit}"))?;
    let (low, high) = match (law, part.options.get("type").map(String::as_str)) {
        (Some("thermocouple"), Some("B")) => (600.0, 1700.0),
        (Some("thermocouple"), _) => (0.0, 400.0),
        _ => (low, high),
    };
    // What the part is made for, in the unit.
    let made_for = range.and_then(|f| match (f.min, f.max, f.choices.first()) {
        (Some(a), Some(b), _) => Some((scale.number(a), scale.number(b))),
        (_, _, Some(&c)) => Some((-scale.number(c), scale.number(c))),
        _ => None,
    });
    let everyday = matches!(quantity, "temperature" | "humidity" | "illuminance" | "ph");
    let shared = made_for.map(|(a, b)| (low.max(a), high.min(b)));
    let span = match (shared, made_for) {
        (Some((a, b)), _) if everyday && a < b => (a, b),
        (_, Some(own)) => own,
        _ => resisted(part, law).unwrap_or((low, high)),
    };
    let span = within_output(part, span, &scale);
    let supply = part.figure("supply");
    // A bridge may be excited with less than it is rated for.
    let excitation = part.figure("excitation").and_then(|f| f.max);
    Some(Channel {
        name: String::new(),
        quantity: quantity.to_owned(),
        span: (tidy(span.0), tidy(span.1)),
        unit,
        span_comment: MEASURED,
        floats: matches!(
            law,
            Some("glass-electrode" | "thermocouple" | "current-transformer")
        ),
        part: part.id.clone(),
        title: part.title.clone(),
        keys: Vec::new(),
        lines: Vec::new(),
        electrical: None,
        supply_range: (
            supply.and_then(|f| f.min.or(f.typ)).unwrap_or(0.0),
            supply
                .and_then(|f| f.max)
                .or(excitation)
                .unwrap_or(f64::INFINITY),
        ),
        circuit: Circuit::default(),
        accuracy: None,
        reached: false,
        input: None,
    })
}

fn tidy(x: f64) -> f64 {
    short(x).parse().unwrap_or(x)
}

/// The current that half of a shunt's rated power allows.
fn resisted(part: &Part, law: Option<&str>) -> Option<(f64, f64)> {
    if law != Some("shunt") {
        return None;
    }
    let ohm = part.figure("resistance")?.typical()?;
    let watt = part.figure("power")?.max?;
    let most = (0.5 * watt / ohm).sqrt();
    // One digit, downwards.
    let mut step = 1e-3;
    while step * 10.0 <= most {
        step *= 10.0;
    }
    Some((0.0, (most / step).floor() * step))
}

/// The part of the span over which a sensor with a straight line stays within
/// the range of its output.
fn within_output(part: &Part, span: (f64, f64), scale: &quantity::UnitScale) -> (f64, f64) {
    let figure = |n: &str| part.figure(n);
    let (Some(out), Some(slope), Some(offset)) = (
        figure("output-range"),
        figure("slope").and_then(Figure::typical),
        figure("offset").and_then(Figure::typical),
    ) else {
        return span;
    };
    // Straight lines count from the zero of the quantity's own scale.
    let at = |volt: f64| (volt - offset) / slope / scale.factor;
    let (a, b) = (
        out.min.map_or(span.0, at).max(span.0),
        out.max.map_or(span.1, at).min(span.1),
    );
    if a < b { (a, b) } else { span }
}
