//! Bars: contributors from the largest to the smallest.

use crate::legend::{Sample, legend};
use crate::paper::{Anchor, Area, Paper};
use crate::text::{TEXT, width, wrapped};
use crate::theme;

/// Height of a bar.
const BAR: f64 = 13.0;

/// Amounts side by side.
#[derive(Clone, Debug, PartialEq)]
pub struct Bars {
    /// What stands above it.
    pub heading: String,
    /// What bars can be, for the legend; a bar names its place here.
    pub kinds: Vec<String>,
    /// From top to bottom.
    pub bars: Vec<Bar>,
}

/// One bar.
#[derive(Clone, Debug, PartialEq)]
pub struct Bar {
    /// Whose it is.
    pub name: String,
    /// Its length; all bars of a picture are in one unit.
    pub value: f64,
    /// The amount as text, with its unit.
    pub text: String,
    /// What stands below, softly.
    pub note: String,
    /// Which of the kinds it is.
    pub kind: usize,
}

impl Bars {
    /// Draws it from `y` downwards; where it ends.
    pub(crate) fn draw(&self, paper: &mut Paper, (x0, x1): (f64, f64), mut y: f64) -> f64 {
        let kinds: Vec<&str> = self.kinds.iter().map(String::as_str).collect();
        if kinds.len() > 1 {
            y += legend(paper, &kinds, Sample::Block, (x0, x1), y);
        }
        let all = x1 - x0;
        let widest = |texts: &mut dyn Iterator<Item = &String>| {
            texts.map(|t| width(t, TEXT)).fold(0.0, f64::max)
        };
        let names: Vec<Vec<String>> = self
            .bars
            .iter()
            .map(|b| wrapped(&b.name, 0.4 * all, TEXT))
            .collect();
        let left = x0 + widest(&mut names.iter().flatten()) + 12.0;
        let values = widest(&mut self.bars.iter().map(|b| &b.text)).min(0.3 * all);
        let room = x1 - left - values - 8.0;
        let longest = self
            .bars
            .iter()
            .map(|b| b.value)
            .filter(|v| v.is_finite())
            .fold(0.0, f64::max);
        for (bar, name) in self.bars.iter().zip(&names) {
            let mut below = y + 14.0;
            for line in name {
                paper.text((x0, below), TEXT, Anchor::Start, "ink", false, line);
                below += 15.0;
            }
            let share = bar.value / longest;
            let long = if share.is_finite() {
                (share.clamp(0.0, 1.0) * room).max(1.0)
            } else {
                0.0
            };
            let area = Area {
                x0: left,
                y0: y + 4.0,
                x1: left + long,
                y1: y + 4.0 + BAR,
            };
            let title = format!("{}: {}", bar.name, bar.text);
            paper.block(&area, theme::of(bar.kind).name, bar.kind, &title);
            for (n, line) in wrapped(&bar.text, values.max(40.0), TEXT)
                .iter()
                .enumerate()
            {
                let at = (left + long + 8.0, y + 14.0 + 15.0 * n as f64);
                paper.text(at, TEXT, Anchor::Start, "ink", false, line);
                below = below.max(at.1 + 15.0);
            }
            for line in wrapped(&bar.note, x1 - left, TEXT) {
                paper.text((left, below), TEXT, Anchor::Start, "soft", false, &line);
                below += 15.0;
            }
            y = below - 6.0;
        }
        y + 8.0
    }
}
