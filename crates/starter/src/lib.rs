//! Starter boards: a first board file for a controller and some sensors, with
//! stages, references and pins chosen from the parts' figures.
//!
//! Choosing means trying: every proposal is written as a board, read and
//! looked at by the very judgement that will judge it later, and the one with
//! the smallest error stays. No physics here.

mod choose;
mod sensor;
mod supply;
mod write;

use parts::{Library, Part};

/// A sensor asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wish {
    /// Name for its channel; one is found where none is given.
    pub name: Option<String>,
    /// The part.
    pub part: String,
}

impl Wish {
    /// Reads `PART` or `NAME=PART`.
    ///
    /// ```
    /// let wish = starter::Wish::read("tank-1=platinum-1000-class-a");
    /// assert_eq!(wish.name.as_deref(), Some("tank-1"));
    /// ```
    #[must_use]
    pub fn read(text: &str) -> Wish {
        match text.split_once('=') {
            Some((name, part)) => Wish {
                name: Some(name.trim().to_owned()),
                part: part.trim().to_owned(),
            },
            None => Wish {
                name: None,
                part: text.trim().to_owned(),
            },
        }
    }
}

/// How long to look for better circuits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Effort {
    /// Circuits looked at for each channel at the most; at least one that can
    /// be judged is found in any case.
    pub looks: usize,
}

impl Default for Effort {
    fn default() -> Self {
        Effort { looks: 1000 }
    }
}

/// A starter board.
#[derive(Clone, Debug, PartialEq)]
pub struct Starter {
    /// The board file.
    pub text: String,
    /// Its channels.
    pub channels: Vec<String>,
}

/// Why there is none.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StarterFault {
    /// What is wrong.
    pub message: String,
    /// What was expected; empty for nothing in particular.
    pub expected: String,
    /// The nearest right spelling.
    pub suggestion: Option<String>,
}

impl StarterFault {
    pub(crate) fn new(message: impl Into<String>) -> Self {
        StarterFault {
            message: message.into(),
            expected: String::new(),
            suggestion: None,
        }
    }

    pub(crate) fn expecting(mut self, expected: &str) -> Self {
        expected.clone_into(&mut self.expected);
        self
    }
}

/// Parts that a board can be started on: controllers, carriers and converters.
pub fn devices(library: &Library) -> impl Iterator<Item = &Part> {
    library
        .iter()
        .filter(|p| matches!(p.kind.as_str(), "controller" | "carrier" | "converter"))
}

/// Parts that can be a channel's sensor.
pub fn sensors(library: &Library) -> impl Iterator<Item = &Part> {
    library.iter().filter(|p| match p.kind.as_str() {
        "sensor" => p
            .law
            .as_deref()
            .is_some_and(|l| chain::law::find(l).is_some()),
        "digital-sensor" => p
            .measures
            .iter()
            .any(|m| sensor::usual(&m.quantity).is_some()),
        _ => false,
    })
}

/// Writes a starter board for a device and sensors; `name` is the board's.
/// `told` is called with the channel being worked on.
///
/// # Errors
/// A part is not there or does not fit, two channels have one name, or the
/// device has too few inputs.
pub fn starter(
    library: &Library,
    name: &str,
    device: &str,
    wishes: &[Wish],
    effort: Effort,
    told: &dyn Fn(&str),
) -> Result<Starter, StarterFault> {
    let device = named(library, device, "controller, carrier or converter", &|| {
        devices(library).collect()
    })?;
    let mut chosen = Vec::new();
    for wish in wishes {
        let part = named(library, &wish.part, "sensor", &|| {
            sensors(library).collect()
        })?;
        chosen.push((wish.name.clone(), part));
    }
    if chosen.is_empty() {
        return Err(
            StarterFault::new("a board without a sensor measures nothing")
                .expecting("at least one --sensor"),
        );
    }
    let supplies = supply::plan(library, device)?;
    let mut channels = sensor::channels(library, &chosen, supplies.inputs.len())?;
    choose::circuits(library, &supplies, &mut channels, effort, told)?;
    let text = write::board(name, &supplies, &channels, write::Style::Commented);
    // What is handed out can be read; anything else would be our fault.
    choose::read(library, &text).map_err(|m| {
        StarterFault::new(format!("no readable board came of it: {m}"))
            .expecting("another combination; and please report this one")
    })?;
    Ok(Starter {
        text,
        channels: channels.iter().map(|c| c.name.clone()).collect(),
    })
}

/// A part of a kind, or what is wrong with its name.
fn named<'a>(
    library: &'a Library,
    id: &str,
    what: &str,
    all: &dyn Fn() -> Vec<&'a Part>,
) -> Result<&'a Part, StarterFault> {
    let all = all();
    if let Some(part) = all.iter().find(|p| p.id == id) {
        return Ok(part);
    }
    let message = match library.get(id) {
        Some(other) => format!("`{id}` is a {}, not a {what}", other.kind),
        None => format!("no part `{id}`"),
    };
    Err(StarterFault {
        message,
        expected: format!("a {what}; `leastbit new --list` names them"),
        suggestion: finding::nearest_of(id, all.iter().map(|p| p.id.as_str())).map(str::to_owned),
    })
}
