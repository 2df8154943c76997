//! Strips: one row for each channel, from the need to what decides. The span
//! lies on the converter's scale, the answers lie between two fences.

use crate::paper::{Anchor, Area, Paper, coordinate};
use crate::text::{TEXT, width, wrapped};
use crate::theme;

/// Height of a line of text.
const LINE: f64 = 15.0;
/// Height of the converter's scale.
const SCALE: f64 = 14.0;
/// Height of an answer's bar, and from one to the next.
const ANSWER: (f64, f64) = (9.0, 14.0);
/// What is empty between columns.
const GAP: f64 = 18.0;

/// How something stands: a shape and a colour beside its word.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stand {
    /// Everything asked is there: a full disc.
    Meets,
    /// There, with little left: half a disc.
    Thin,
    /// Not there: a ring.
    Fails,
    /// Nobody can say, or nothing was asked: a dot.
    Open,
}

/// A range on a scale.
#[derive(Clone, Debug, PartialEq)]
pub struct OnScale {
    /// Ends of the scale.
    pub scale: (f64, f64),
    /// Ends of what lies on it, in its own direction.
    pub used: (f64, f64),
    /// Texts at the ends of the scale.
    pub scale_text: (String, String),
    /// Texts at the ends of what lies on it.
    pub used_text: (String, String),
    /// What stands below.
    pub note: String,
}

/// An answer: from where to where an error may lie.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// Which answer it is.
    pub name: String,
    /// From where to where.
    pub range: (f64, f64),
    /// Its size as text.
    pub text: String,
}

/// One row.
#[derive(Clone, Debug, PartialEq)]
pub struct Strip {
    /// Whose it is.
    pub name: String,
    /// What is asked.
    pub need: String,
    /// The signal on its scale, where there is a converter.
    pub scale: Option<OnScale>,
    /// Answers, the widest first.
    pub answers: Vec<Answer>,
    /// The same answers as they were before a change; empty without one.
    pub ghost: Vec<Answer>,
    /// Half the distance of the fences: what is permitted.
    pub fence: Option<f64>,
    /// The fence as text.
    pub fence_text: String,
    /// How it stands.
    pub stand: Stand,
    /// The same in a word.
    pub word: String,
    /// What decides.
    pub decides: String,
}

/// Rows of a board.
#[derive(Clone, Debug, PartialEq)]
pub struct Strips {
    /// What stands above them.
    pub heading: String,
    /// From top to bottom.
    pub strips: Vec<Strip>,
}

/// Ends of the four columns.
fn columns(x0: f64, x1: f64) -> [(f64, f64); 4] {
    let all = x1 - x0;
    let at = |share: f64| x0 + share * all;
    [
        (x0, at(0.19)),
        (at(0.19) + GAP, at(0.49)),
        (at(0.49) + GAP, at(0.77)),
        (at(0.77) + GAP, x1),
    ]
}

impl Strips {
    /// Draws them from `y` downwards; where they end.
    pub(crate) fn draw(&self, paper: &mut Paper, (x0, x1): (f64, f64), mut y: f64) -> f64 {
        let columns = columns(x0, x1);
        let heads = [
            "channel and need",
            "signal on the converter's scale",
            "error: worst case, propagation, sampling",
            "what decides",
        ];
        let mut tallest = 0.0_f64;
        for (head, (left, right)) in heads.iter().zip(columns) {
            let h = lines(paper, head, (left, right), y + 12.0, "soft", false);
            tallest = tallest.max(h);
        }
        y += tallest + 8.0;
        for strip in &self.strips {
            paper.line((x0, y), (x1, y), "rule", 1.0, "");
            y = strip.draw(paper, columns, y + 8.0) + 8.0;
        }
        paper.line((x0, y), (x1, y), "rule", 1.0, "");
        y
    }
}

/// Text in lines from a first base line on; the height it takes.
fn lines(
    paper: &mut Paper,
    text: &str,
    (x0, x1): (f64, f64),
    y: f64,
    class: &str,
    bold: bool,
) -> f64 {
    let wrapped = wrapped(text, x1 - x0, TEXT);
    for (n, line) in wrapped.iter().enumerate() {
        let at = (x0, y + LINE * n as f64);
        paper.text(at, TEXT, Anchor::Start, class, bold, line);
    }
    LINE * wrapped.len() as f64
}

impl Strip {
    /// The strip by itself, in columns or, for a narrow place, with the
    /// columns one below the other; where it ends.
    pub(crate) fn alone(&self, paper: &mut Paper, width: f64, narrow: bool) -> f64 {
        if !narrow {
            return self.draw(paper, columns(0.0, width), 4.0) + 4.0;
        }
        let all = (0.0, width);
        self.stand.draw(paper, (6.0, 13.0));
        let head = format!("{} {}", self.name, self.word);
        let mut y = 4.0 + lines(paper, &head, (16.0, width), 17.0, self.stand.class(), true);
        y += lines(paper, &self.need, all, y + 13.0, "soft", false) + 6.0;
        if let Some(s) = &self.scale {
            y = s.draw(paper, all, y) + 6.0;
        }
        y = self.answers(paper, all, y) + 4.0;
        y + lines(paper, &self.decides, all, y + 13.0, "ink", false) + 6.0
    }

    fn draw(&self, paper: &mut Paper, columns: [(f64, f64); 4], y: f64) -> f64 {
        let [name, scale, errors, decides] = columns;
        let mut end = y + lines(paper, &self.name, name, y + 13.0, "ink", true);
        end += lines(paper, &self.need, name, end + 13.0, "soft", false);
        if let Some(s) = &self.scale {
            end = end.max(s.draw(paper, scale, y));
        }
        end = end.max(self.answers(paper, errors, y));
        let class = self.stand.class();
        self.stand.draw(paper, (decides.0 + 5.0, y + 9.0));
        let word = (decides.0 + 16.0, decides.1);
        let mut below = y + lines(paper, &self.word, word, y + 13.0, class, true);
        below += lines(paper, &self.decides, decides, below + 13.0, "ink", false);
        end.max(below)
    }

    /// The fences and what lies between and beyond them.
    fn answers(&self, paper: &mut Paper, (x0, x1): (f64, f64), y: f64) -> f64 {
        let texts = self
            .answers
            .iter()
            .map(|a| width(&a.text, TEXT))
            .fold(0.0, f64::max)
            .min(0.55 * (x1 - x0));
        let right = x1 - texts - 6.0;
        let reach = self
            .answers
            .iter()
            .chain(&self.ghost)
            .flat_map(|a| [a.range.0.abs(), a.range.1.abs()])
            .chain(self.fence)
            .filter(|v| v.is_finite())
            .fold(0.0, f64::max);
        if !(reach > 0.0) || self.answers.is_empty() {
            return y;
        }
        let middle = 0.5 * (x0 + right);
        let place = |v: f64| middle + v / (1.06 * reach) * 0.5 * (right - x0);
        let tall = ANSWER.1 * self.answers.len() as f64;
        if let Some(fence) = self.fence {
            let field = Area {
                x0: place(-fence),
                y0: y,
                x1: place(fence),
                y1: y + tall,
            };
            paper.field(&field, "rule");
            for x in [field.x0, field.x1] {
                paper.line((x, y - 3.0), (x, y + tall + 2.0), "ink", 1.6, "");
            }
        }
        for (n, a) in self.answers.iter().enumerate() {
            let top = y + 2.0 + ANSWER.1 * n as f64;
            let beyond = self
                .fence
                .is_some_and(|f| a.range.0 < -f * (1.0 + 1e-9) || a.range.1 > f * (1.0 + 1e-9));
            let class = if beyond { "fails" } else { "h0" };
            let (low, high) = (place(a.range.0), place(a.range.1));
            let area = Area {
                x0: low,
                y0: top,
                x1: high.max(low + 1.0),
                y1: top + ANSWER.0,
            };
            let title = format!("{}: {}", a.name, a.text);
            // Empty, hatched, full: the same order in every strip.
            paper.block(&area, class, [5, 1, 0][n.min(2)], &title);
            let at = (x1, top + ANSWER.0);
            paper.text(at, TEXT, Anchor::End, "soft", false, &a.text);
        }
        for (n, a) in self.ghost.iter().enumerate() {
            let top = y + 2.0 + ANSWER.1 * n as f64 - 1.5;
            let area = Area {
                x0: place(a.range.0),
                y0: top,
                x1: place(a.range.1),
                y1: top + ANSWER.0 + 3.0,
            };
            paper.ghost(&area, &format!("{} as saved: {}", a.name, a.text));
        }
        let mut end = y + tall;
        if self.fence.is_some() {
            end += lines(paper, &self.fence_text, (x0, x1), end + 15.0, "soft", false) + 4.0;
        }
        end
    }
}

impl OnScale {
    fn draw(&self, paper: &mut Paper, (x0, x1): (f64, f64), y: f64) -> f64 {
        let ends = [self.scale.0, self.scale.1, self.used.0, self.used.1];
        let low = ends.into_iter().fold(f64::INFINITY, f64::min);
        let high = ends.into_iter().fold(f64::NEG_INFINITY, f64::max);
        let (span, top) = (high - low, y + LINE + 2.0);
        if !(span > 0.0) || !span.is_finite() {
            return y;
        }
        let place = |v: f64| x0 + (v - low) / span * (x1 - x0);
        let block = |paper: &mut Paper, a: f64, b: f64, class: &str, fill: usize, title: &str| {
            let area = Area {
                x0: place(a.min(b)),
                y0: top,
                x1: place(a.max(b)),
                y1: top + SCALE,
            };
            paper.block(&area, class, fill, title);
        };
        block(
            paper,
            self.scale.0,
            self.scale.1,
            "soft",
            1,
            "the converter's scale",
        );
        let (from, to) = (self.used.0.min(self.used.1), self.used.0.max(self.used.1));
        let inside = (from.max(self.scale.0), to.min(self.scale.1));
        if inside.0 < inside.1 {
            block(paper, inside.0, inside.1, "h0", 0, "what the span uses");
        }
        for (a, b) in [(from, to.min(self.scale.0)), (from.max(self.scale.1), to)] {
            if a < b {
                block(paper, a, b, "fails", 1, "beyond the scale");
            }
        }
        // Texts of the ends: above the span's, below the scale's.
        let (left, right) = if self.used.0 <= self.used.1 {
            (&self.used_text.0, &self.used_text.1)
        } else {
            (&self.used_text.1, &self.used_text.0)
        };
        let (wide, other) = (width(left, TEXT), width(right, TEXT));
        let mut at = (place(from), place(to));
        // Both fit beside each other, and neither leaves the column.
        let lack = (wide + other + 8.0 - (at.1 - at.0)).max(0.0);
        at = (at.0 - 0.5 * lack, at.1 + 0.5 * lack);
        let shift = (x0 - at.0).max(0.0) - (at.1 - x1).max(0.0);
        at = (at.0 + shift, at.1 + shift);
        let above = top - 4.0;
        paper.text((at.0, above), TEXT, Anchor::Start, "ink", false, left);
        paper.text((at.1, above), TEXT, Anchor::End, "ink", false, right);
        let below = top + SCALE + 13.0;
        let (s0, s1) = (place(self.scale.0), place(self.scale.1));
        paper.text(
            (s0, below),
            TEXT,
            Anchor::Start,
            "soft",
            false,
            &self.scale_text.0,
        );
        paper.text(
            (s1, below),
            TEXT,
            Anchor::End,
            "soft",
            false,
            &self.scale_text.1,
        );
        below + 4.0 + lines(paper, &self.note, (x0, x1), below + LINE, "soft", false)
    }
}

impl Stand {
    /// The class of its colour.
    pub(crate) fn class(self) -> &'static str {
        match self {
            Stand::Meets => "meets",
            Stand::Thin => "thin",
            Stand::Fails => "fails",
            Stand::Open => "soft",
        }
    }

    fn draw(self, paper: &mut Paper, (x, y): (f64, f64)) {
        let class = self.class();
        let ring = format!(
            "<circle class=\"s-{class}\" cx=\"{x:.2}\" cy=\"{y:.2}\" r=\"5\" fill=\"none\" stroke-width=\"1.6\"/>"
        );
        match self {
            Stand::Meets => paper.raw(&format!(
                "<circle class=\"f-{class}\" cx=\"{x:.2}\" cy=\"{y:.2}\" r=\"5.8\"/>"
            )),
            Stand::Thin => {
                paper.raw(&ring);
                let path: String = HALF_DISC
                    .iter()
                    .enumerate()
                    .map(|(n, (dx, dy))| {
                        let pen = if n == 0 { 'M' } else { 'L' };
                        format!("{pen}{} {}", coordinate(x - dx), coordinate(y + dy))
                    })
                    .collect();
                paper.raw(&format!("<path class=\"f-{class}\" d=\"{path}\"/>"));
            }
            Stand::Fails => paper.raw(&ring),
            Stand::Open => paper.raw(&format!(
                "<circle class=\"f-{class}\" cx=\"{x:.2}\" cy=\"{y:.2}\" r=\"2\"/>"
            )),
        }
    }
}

/// Half a disc of radius 5, as points from its middle: a path of straight
/// pieces, like every other.
const HALF_DISC: [(f64, f64); 9] = [
    (0.00, -5.00),
    (1.91, -4.62),
    (3.54, -3.54),
    (4.62, -1.91),
    (5.00, -0.00),
    (4.62, 1.91),
    (3.54, 3.54),
    (1.91, 4.62),
    (0.00, 5.00),
];

/// Hues of verdicts, for the style sheet.
pub(crate) const HUES: [theme::Hue; 4] = [
    theme::Hue {
        name: "meets",
        light: "#2f6b4f",
        dark: "#7cc4a0",
    },
    theme::Hue {
        name: "thin",
        light: "#986000",
        dark: "#e0a94a",
    },
    theme::Hue {
        name: "fails",
        light: "#b3361e",
        dark: "#f0866c",
    },
    theme::Hue {
        name: "hazard",
        light: "#7a1f6d",
        dark: "#d58bc9",
    },
];
