//! Changes to a text that leave most of it a board file: lines and values move
//! about, numbers become extreme. Changes of single bytes seldom get past the
//! reader of TOML.

use statistics::stream;

const NUMBERS: &[&str] = &[
    "0", "-0", "-1", "1", "2", "0.5", "1e-9", "1e9", "1e-300", "1e300", "1e-320", "1e308", "1e999", "nan", "inf",
    "-inf", "99999999999999999999", "4294967296", "255", "64", "1048576", "3.3", "100", "-273.15",
];
const VALUES: &[&str] = &[
    "\"\"", "\"0 V\"", "\"-1 kΩ\"", "\"0 Ω\"", "\"1e300 V\"", "\"5 V ± 0 %\"", "\"3.3 V ± 200 %\"",
    "\"? 1 pF to 20 pF\"", "\"10 kΩ 0.1 % 25 ppm/K\"", "\"40 °C to 2 °C\"", "\"20 °C to 20 °C\"", "\"-300 °C to 5000 °C\"",
    "\"1 Hz\"", "\"0 /s\"", "\"1e9 /s\"", "\"100 years\"", "\"1 µA/K\"", "\"2.5 nV/√Hz\"", "true", "[]", "{}",
    "[0, 1, 2]", "[\"0 °C\", \"0 °C\"]", "[{ pull-up = \"1 kΩ\", to = \"main\" }]", "{ min = \"1\", max = \"-1\" }",
];

/// Draws numbers below a bound, one after the other.
struct Draw {
    key: u64,
    at: u64,
}

impl Draw {
    fn below(&mut self, bound: usize) -> usize {
        self.at += 1;
        (stream::uniform(self.key, self.at) * bound as f64) as usize
    }

    fn of<'a, T: ?Sized>(&mut self, list: &[&'a T]) -> Option<&'a T> {
        let at = self.below(list.len());
        list.get(at).copied()
    }
}

/// The text changed in one to four places; `None` if there is nothing to
/// change.
#[must_use]
pub fn change(text: &str, seed: u32) -> Option<String> {
    let mut draw = Draw {
        key: stream::key(u64::from(seed), 0),
        at: 0,
    };
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    for _ in 0..=draw.below(4) {
        if lines.is_empty() {
            return None;
        }
        let (a, b) = (draw.below(lines.len()), draw.below(lines.len()));
        match draw.below(10) {
            0 => {
                lines.remove(a);
            }
            1 => lines.insert(a, lines[b].clone()),
            2 => lines.swap(a, b),
            3 | 4 => {
                // The value of another key.
                if let (Some((key, _)), Some((_, value))) =
                    (lines[a].split_once('='), lines[b].split_once('='))
                {
                    lines[a] = format!("{key}={value}");
                }
            }
            5 => {
                if let Some((key, _)) = lines[a].split_once('=') {
                    lines[a] = format!("{key}= {}", draw.of(VALUES)?);
                }
            }
            6 | 7 => lines[a] = other_number(&lines[a], &mut draw),
            8 => {
                // Another key's value within a nested one.
                let strings: Vec<String> = quoted(&lines[b]);
                let own = quoted(&lines[a]);
                if !strings.is_empty() && !own.is_empty() {
                    let (from, to) = (draw.below(own.len()), draw.below(strings.len()));
                    lines[a] = lines[a].replacen(&own[from], &strings[to], 1);
                }
            }
            _ => {
                let own = quoted(&lines[a]);
                if !own.is_empty() {
                    let from = draw.below(own.len());
                    lines[a] = lines[a].replacen(&own[from], draw.of(VALUES)?, 1);
                }
            }
        }
    }
    Some(lines.join("\n") + "\n")
}

/// The quoted strings of a line, quotes included.
fn quoted(line: &str) -> Vec<String> {
    line.split('"')
        .skip(1)
        .step_by(2)
        .map(|inner| format!("\"{inner}\""))
        .collect()
}

/// One run of digits replaced.
fn other_number(line: &str, draw: &mut Draw) -> String {
    let digit = |c: char| c.is_ascii_digit() || c == '.';
    let mut runs = Vec::new();
    let mut start = None;
    for (i, c) in line.char_indices().chain([(line.len(), ' ')]) {
        match (digit(c), start) {
            (true, None) => start = Some(i),
            (false, Some(from)) => {
                runs.push(from..i);
                start = None;
            }
            _ => {}
        }
    }
    if runs.is_empty() {
        return line.to_owned();
    }
    let run = runs[draw.below(runs.len())].clone();
    let with = NUMBERS[draw.below(NUMBERS.len())];
    format!("{}{with}{}", &line[..run.start], &line[run.end..])
}
