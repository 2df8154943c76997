//! Words that digital parts put out.

use document::{Content, Fields, Item, Located, Table};
use finding::{InputFault, nearest_of};
use parts::{Figure, Measure};
use quantity::{Dimension, UnitScale};

use crate::model::Channel;
use crate::read::Reader;
use crate::word::{Check, CheckRule, Flag, Form, Word};

/// Bits that a number may have: more would not survive the way through the
/// whole numbers of a double.
const MOST_BITS: i64 = 48;
/// Bytes that a word may have.
const MOST_BYTES: i64 = 8;

/// What a word is about: the quantity, its unit, and the part that makes it.
struct About<'a> {
    dimension: Dimension,
    unit: UnitScale,
    range: Option<Located<(f64, f64)>>,
    measure: Option<(&'a str, &'a Measure)>,
}

impl Reader<'_> {
    /// Every `[words.NAME]`. `channels` is empty where not all could be read.
    pub(super) fn words(&self, top: &Fields<'_>, channels: &[Channel]) -> Vec<Word> {
        top.named("words")
            .into_iter()
            .filter_map(|(key, table)| self.word(&key.name, table, channels))
            .collect()
    }

    fn word(&self, name: &str, table: &Table, channels: &[Channel]) -> Option<Word> {
        let f = Fields::new(table, format!("word {name}"), self.faults);
        let device = f.text("device").and_then(|t| self.device_named(&t));
        let part = f.text("part").and_then(|t| self.part(t.value, t.span, &[]));
        let channel = f
            .text("channel")
            .and_then(|t| self.channel_named(t.value, t.span));
        let from_channel = channel.and_then(|c| channels.get(c));
        let part = device
            .and_then(|d| self.devices.get(d))
            .map(|d| d.part.clone())
            .or(part)
            .or_else(|| from_channel.and_then(|c| c.sensor.part.clone()));
        let about = self.about(&f, part.as_deref(), from_channel);
        let bits = f.whole("bits", 1, MOST_BITS).map(|n| n.value);
        let bits = bits.or_else(|| figure(about.as_ref(), "bits").and_then(whole_of));
        let form = f
            .word("form", &Form::ALL)
            .map_or(Form::Unsigned, |w| w.value);
        let is_low_first = order(&f);
        let below = f.whole("below", 0, 8 * MOST_BYTES - 1);
        let bytes = f.whole("bytes", 1, MOST_BYTES);
        let is_left = f
            .word("align", &[("left", true), ("right", false)])
            .inspect(|a| {
                if below.is_some() {
                    self.faults.add(
                        a.span,
                        "`align` and `below` say the same",
                        "one of them: align = \"left\", or below = 3",
                    );
                }
            })
            .is_some_and(|w| w.value);
        let flags = self.flags(&f);
        let check = f.item("check").and_then(|item| self.check(item, name));
        let step = about.as_ref().and_then(|a| step(&f, a));
        let zero = about.as_ref().and_then(|a| zero(&f, a));
        let _ = f.text("note");
        f.finish();
        let about = about?;
        let Some(bits) = bits else {
            self.faults.add(
                table.span,
                format!("word {name} says not how many bits its number has"),
                "bits = 16",
            );
            return None;
        };
        let below_bits = below.as_ref().map_or(0, |b| b.value);
        let bytes = bytes.map_or((bits + below_bits + 7) / 8, |n| n.value);
        let below = if is_left {
            8 * bytes - bits
        } else {
            below_bits
        };
        if below < 0 || bits + below > 8 * bytes {
            self.faults.add(
                table.span,
                format!(
                    "{bits} bits above {} do not fit into {bytes} bytes",
                    below.max(0)
                ),
                "bits + below of at most 8 × bytes",
            );
            return None;
        }
        for flag in &flags {
            let bit = i64::from(flag.value.bit);
            if bit >= 8 * bytes || (below..below + bits).contains(&bit) {
                self.faults.add(
                    flag.span,
                    format!(
                        "bit {bit} is not beside the number, which has bits {below} to {}",
                        below + bits - 1
                    ),
                    format!("a bit of the {} that the number leaves", 8 * bytes),
                );
            }
        }
        let Some((step, step_from)) = step else {
            self.faults.add(
                table.span,
                format!("word {name} says not what one code means"),
                "step = \"0.25 °C\", or a device or part whose file has `code-step`",
            );
            return None;
        };
        let (zero, zero_from) = zero.unwrap_or_else(|| {
            let nought = if about.dimension == Dimension::TEMPERATURE {
                273.15
            } else {
                0.0
            };
            (nought, "zero at code zero".to_owned())
        });
        if let Some(check) = &check
            && let CheckRule::Parity { bit, .. } = check.rule
            && (i64::from(bit) >= 8 * bytes || (below..below + bits).contains(&i64::from(bit)))
        {
            self.faults.add(
                check.span,
                format!("the parity bit {bit} is not beside the number"),
                format!("a bit of the {} that the number leaves", 8 * bytes),
            );
        }
        let small = |n: i64| u8::try_from(n).unwrap_or(0);
        Some(Word {
            name: name.to_owned(),
            bits: small(bits),
            bytes: small(bytes),
            below: small(below),
            form,
            is_low_first,
            flags: flags.into_iter().map(|f| f.value).collect(),
            check,
            step,
            zero,
            source: format!("step: {step_from}; zero: {zero_from}"),
            dimension: about.dimension,
            unit: about.unit,
            range: about.range,
            channel,
            device,
            span: table.span,
        })
    }

    /// The quantity: that of the channel, of the part's measure, or as written.
    fn about<'a>(
        &self,
        f: &Fields<'_>,
        part: Option<&'a parts::Part>,
        channel: Option<&Channel>,
    ) -> Option<About<'a>> {
        let written = f.text("quantity");
        let named = f.text("measure");
        let wanted = match written {
            None => channel.map(|c| c.dimension),
            Some(t) => {
                let found = parts::quantity_dimension(t.value);
                if found.is_none() {
                    let known: Vec<&str> = parts::quantity_names().collect();
                    self.faults.push(
                        InputFault::new(
                            t.span,
                            format!("unknown quantity \"{}\"", t.value),
                            known.join(", "),
                        )
                        .suggest(nearest_of(t.value, known.iter().copied())),
                    );
                    return None;
                }
                found
            }
        };
        let measures = part.map_or(&[][..], |p| p.measures.as_slice());
        let measure = match (named, measures) {
            (Some(n), list) => {
                let found = list.iter().find(|m| m.quantity == n.value);
                if found.is_none() {
                    let known: Vec<&str> = list.iter().map(|m| m.quantity.as_str()).collect();
                    self.faults.push(
                        InputFault::new(
                            n.span,
                            format!("nothing here measures `{}`", n.value),
                            if known.is_empty() {
                                "a `device` or `part` that measures".to_owned()
                            } else {
                                format!("one of {}", known.join(", "))
                            },
                        )
                        .suggest(nearest_of(n.value, known.iter().copied())),
                    );
                    return None;
                }
                found
            }
            (None, [only]) => Some(only).filter(|m| wanted.is_none_or(|d| d == m.dimension)),
            (None, list) => list.iter().find(|m| Some(m.dimension) == wanted),
        };
        let Some(dimension) = wanted.or(measure.map(|m| m.dimension)) else {
            self.faults.add(
                f.span(),
                format!("{} says not what its number means", f.what()),
                "quantity = \"temperature\", a `channel`, or a `device` with its `measure`",
            );
            // The other keys are known all the same.
            for key in ["range", "step", "codes-per-unit", "zero"] {
                let _ = f.item(key);
            }
            return None;
        };
        if let Some(c) = channel
            && c.dimension != dimension
        {
            self.faults.add(
                f.span_of("channel"),
                format!("channel {} reads another quantity than this word", c.name),
                "the channel whose reading the word is",
            );
        }
        let range = f.range("range", dimension).and_then(|r| {
            let ends = (r.value.low, r.value.high);
            if ends.0 >= ends.1 {
                self.faults
                    .add(r.span, "the range has no width", "the lower end first");
                return None;
            }
            Some(r.map(|_| ends))
        });
        let text_of = |key: &'static str| match f.item(key).map(|i| &i.content) {
            Some(Content::Text(t, _)) => Some(t.as_str()),
            _ => None,
        };
        let written_unit = ["range", "zero", "step"]
            .into_iter()
            .filter_map(text_of)
            .find_map(|t| quantity::scale_for(t, dimension));
        let unit = written_unit
            .or_else(|| channel.map(|c| c.unit.clone()))
            .or_else(|| plain_unit(dimension))?;
        Some(About {
            dimension,
            unit,
            range: range.or_else(|| channel.map(|c| c.span)),
            measure: measure.zip(part).map(|(m, p)| (p.id.as_str(), m)),
        })
    }

    fn flags(&self, f: &Fields<'_>) -> Vec<Located<Flag>> {
        let Some((list, _)) = f.list("flags") else {
            return Vec::new();
        };
        let mut found = Vec::new();
        for item in list {
            let Content::Table(table) = &item.content else {
                self.faults.add(
                    item.span,
                    format!("an entry of `flags` is {}", item.content.describe()),
                    "{ bit = 2, name = \"open thermocouple\", bad = 1 }",
                );
                continue;
            };
            let g = Fields::new(table, "a flag", self.faults);
            g.required("bit", "bit = 2, 0 being the lowest bit of the word");
            let bit = g.whole("bit", 0, 8 * MOST_BYTES - 1);
            let name = g.required_text("name", "name = \"open thermocouple\"");
            let bad = g.whole("bad", 0, 1).map(|n| n.value == 1);
            g.finish();
            if let (Some(bit), Some(name)) = (bit, name) {
                found.push(Located {
                    value: Flag {
                        bit: u8::try_from(bit.value).unwrap_or(0),
                        name: name.value.to_owned(),
                        bad,
                    },
                    span: bit.span,
                });
            }
        }
        found
    }

    fn check(&self, item: &Item, name: &str) -> Option<Check> {
        const KINDS: [(&str, u8); 6] = [
            ("crc", 0),
            ("sum", 1),
            ("sum-to-zero", 2),
            ("xor", 3),
            ("even-parity", 4),
            ("odd-parity", 5),
        ];
        let Content::Table(table) = &item.content else {
            self.faults.add(
                item.span,
                format!("`check` is {}", item.content.describe()),
                "{ kind = \"crc\", width = 8, polynomial = \"0x31\", initial = \"0xFF\" }",
            );
            return None;
        };
        let f = Fields::new(table, format!("the check of {name}"), self.faults);
        f.required("kind", "kind = \"crc\"");
        let kind = f.word("kind", &KINDS);
        let before = f
            .text("before")
            .and_then(|t| match bytes_of(t.value) {
                Ok(bytes) => Some(bytes),
                Err(word) => {
                    self.faults.add(
                        t.span,
                        format!("`{word}` is no byte"),
                        "bytes such as \"0xB4 0x07 0xB5\"",
                    );
                    None
                }
            })
            .unwrap_or_default();
        let kind = kind?.value;
        // What another kind of check has is known here, but says nothing.
        for (key, belongs) in [
            ("width", kind == 0),
            ("polynomial", kind == 0),
            ("initial", kind == 0),
            ("last", kind == 0),
            ("reflect", kind == 0),
            ("bit", kind > 3),
        ] {
            if !belongs && let Some(item) = f.item(key) {
                self.faults.add(
                    item.span,
                    format!("`{key}` means nothing to this kind of check"),
                    "no such key here",
                );
            }
        }
        let rule = match kind {
            0 => {
                let width = match f.whole("width", 8, 16) {
                    Some(n) if n.value == 8 || n.value == 16 => u8::try_from(n.value).unwrap_or(8),
                    Some(n) => {
                        self.faults
                            .add(n.span, format!("a check of {} bits", n.value), "8 or 16");
                        return None;
                    }
                    None => 8,
                };
                f.required("polynomial", "polynomial = \"0x31\"");
                let polynomial = self.register(&f, "polynomial", width);
                let initial = self.register(&f, "initial", width);
                let last = self.register(&f, "last", width);
                let reflect = f.truth("reflect").is_some_and(|r| r.value);
                CheckRule::Crc {
                    width,
                    polynomial: polynomial?,
                    initial: initial.unwrap_or(0),
                    reflect,
                    last: last.unwrap_or(0),
                }
            }
            1 => CheckRule::Sum,
            2 => CheckRule::SumToZero,
            3 => CheckRule::Xor,
            which => {
                f.required("bit", "bit = 15, the bit that makes it so");
                let bit = f.whole("bit", 0, 8 * MOST_BYTES - 1);
                CheckRule::Parity {
                    bit: u8::try_from(bit?.value).unwrap_or(0),
                    is_odd: which == 5,
                }
            }
        };
        let is_low_first = order(&f);
        f.finish();
        Some(Check {
            rule,
            before,
            is_low_first,
            span: item.span,
        })
    }

    /// A register's contents, as a whole number or as "0x31".
    fn register(&self, f: &Fields<'_>, key: &'static str, width: u8) -> Option<u16> {
        let most = if width == 8 { 0xFF } else { 0xFFFF };
        let item = f.item(key)?;
        let value = match &item.content {
            Content::Whole(n) => Some(*n),
            Content::Text(t, _) => number_of(t),
            _ => None,
        };
        let found = value.filter(|n| (0..=most).contains(n));
        if found.is_none() {
            self.faults.add(
                item.span,
                format!("`{key}` is no number of {width} bits"),
                format!("for example \"0x31\", of at most {most:#x}"),
            );
        }
        found.and_then(|n| u16::try_from(n).ok())
    }

    /// A fitted device by name.
    pub(super) fn device_named(&self, name: &Located<&str>) -> Option<usize> {
        let found = self.devices.iter().position(|d| d.name == name.value);
        if found.is_none() {
            let known: Vec<&str> = self.devices.iter().map(|d| d.name.as_str()).collect();
            self.faults.push(
                InputFault::new(
                    name.span,
                    format!("no device is named `{}`", name.value),
                    if known.is_empty() {
                        "a [devices.NAME]".to_owned()
                    } else {
                        format!("one of {}", known.join(", "))
                    },
                )
                .suggest(nearest_of(name.value, known.iter().copied())),
            );
        }
        found
    }
}

/// Which byte comes first: the higher one unless it is said otherwise.
fn order(f: &Fields<'_>) -> bool {
    f.word("order", &[("high-first", false), ("low-first", true)])
        .is_some_and(|w| w.value)
}

fn figure<'a>(about: Option<&About<'a>>, name: &str) -> Option<&'a Figure> {
    about?.measure?.1.figures.get(name)
}

#[allow(clippy::cast_possible_truncation, reason = "bits of a number are few")]
fn whole_of(figure: &Figure) -> Option<i64> {
    let n = figure.max.or_else(|| figure.typical())?;
    #[allow(clippy::cast_precision_loss, reason = "a small bound")]
    let most = MOST_BITS as f64;
    (n >= 1.0 && n <= most).then_some(n as i64)
}

fn cited(part: &str, figure: &Figure) -> String {
    match figure.source.to_string() {
        s if s.is_empty() => format!("part {part}, {}", figure.basis),
        s => s,
    }
}

/// The quantity of one code, and where that is from.
fn step(f: &Fields<'_>, about: &About<'_>) -> Option<(f64, String)> {
    let written = f
        .difference("step", about.dimension)
        .map(|q| q.map(|q| q.value));
    let counted = f
        .quantity("codes-per-unit", Dimension::CODE.over(about.dimension))
        .map(|q| q.map(|q| 1.0 / q.value));
    if let (Some(_), Some(c)) = (&written, &counted) {
        f.faults().add(
            c.span,
            "`step` and `codes-per-unit` say the same",
            "one of them",
        );
    }
    if let Some(one) = written.or(counted) {
        if one.value == 0.0 || !one.value.is_finite() {
            f.faults()
                .add(one.span, "a code that means nothing", "\"0.25 °C\"");
            return None;
        }
        return Some((one.value, "board file".to_owned()));
    }
    let (part, measure) = about.measure?;
    let figure = measure.figures.get("code-step")?;
    let value = figure.typical()?;
    let per_code = if figure.dimension == Dimension::CODE.over(about.dimension) {
        1.0 / value
    } else {
        value
    };
    (per_code != 0.0 && per_code.is_finite()).then(|| (per_code, cited(part, figure)))
}

/// The quantity at code zero, and where that is from.
fn zero(f: &Fields<'_>, about: &About<'_>) -> Option<(f64, String)> {
    if let Some(q) = f.quantity("zero", about.dimension) {
        return Some((q.value.value, "board file".to_owned()));
    }
    let (part, measure) = about.measure?;
    let figure = measure.figures.get("code-zero")?;
    Some((figure.typical()?, cited(part, figure)))
}

/// The unit of a dimension without a prefix; degrees Celsius for temperatures.
fn plain_unit(dimension: Dimension) -> Option<UnitScale> {
    let text = if dimension == Dimension::TEMPERATURE {
        "0 °C".to_owned()
    } else {
        format!("0 {}", quantity::symbol(dimension).unwrap_or_default())
    };
    quantity::scale_for(&text, dimension)
}

/// A whole number written as 49, 0x31 or 0b110001.
fn number_of(text: &str) -> Option<i64> {
    let text = text.trim();
    let lower = text.to_ascii_lowercase();
    match (lower.strip_prefix("0x"), lower.strip_prefix("0b")) {
        (Some(hex), _) => i64::from_str_radix(hex, 16).ok(),
        (_, Some(bits)) => i64::from_str_radix(bits, 2).ok(),
        _ => lower.parse().ok(),
    }
}

/// Bytes in a text, parted by blanks or commas: `0x1A 0x2B`, `26, 43`, or
/// pairs of hexadecimal digits run together, `0x1A2B`.
///
/// # Errors
/// The first word that is no byte.
pub fn bytes_of(text: &str) -> Result<Vec<u8>, String> {
    let mut bytes = Vec::new();
    for word in text
        .split([' ', ',', ';', '\t', '\n'])
        .filter(|w| !w.is_empty())
    {
        let hex = word.to_ascii_lowercase();
        if let Some(digits) = hex
            .strip_prefix("0x")
            .filter(|d| d.len() > 2 && d.len().is_multiple_of(2) && d.is_ascii())
        {
            for pair in digits.as_bytes().chunks(2) {
                let pair = std::str::from_utf8(pair).map_err(|_| word.to_owned())?;
                bytes.push(u8::from_str_radix(pair, 16).map_err(|_| word.to_owned())?);
            }
            continue;
        }
        let byte = number_of(word).and_then(|n| u8::try_from(n).ok());
        bytes.push(byte.ok_or_else(|| word.to_owned())?);
    }
    Ok(bytes)
}
