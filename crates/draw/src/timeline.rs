//! Timelines: a row for each taker of turns, blocks of different fill along
//! a common time.

use crate::axis::Axis;
use crate::legend::{Sample, legend};
use crate::paper::{Anchor, Area, Paper, area_of};
use crate::text::{TEXT, width, wrapped};
use crate::theme;

/// Most labelled steps of the time.
const STEPS: usize = 8;
/// Height of a block.
const BLOCK: f64 = 16.0;

/// Who is busy with what, when.
#[derive(Clone, Debug, PartialEq)]
pub struct Timeline {
    /// What stands above it.
    pub heading: String,
    /// What the time counts, such as "time in the sequence"; in seconds.
    pub label: String,
    /// End of the time shown, s.
    pub end_s: f64,
    /// What blocks can be, for the legend; a block names its place here.
    pub kinds: Vec<String>,
    /// From top to bottom.
    pub rows: Vec<Row>,
}

/// One row.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Whose it is.
    pub name: String,
    /// Blocks in order.
    pub blocks: Vec<Block>,
    /// What stands below its blocks, softly.
    pub note: String,
}

/// One block.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Block {
    /// Its begin, s.
    pub from_s: f64,
    /// Its end, s.
    pub to_s: f64,
    /// Which of the kinds it is.
    pub kind: usize,
}

impl Timeline {
    /// Draws it from `y` downwards; where it ends.
    pub(crate) fn draw(&self, paper: &mut Paper, (x0, x1): (f64, f64), mut y: f64) -> f64 {
        let kinds: Vec<&str> = self.kinds.iter().map(String::as_str).collect();
        y += legend(paper, &kinds, Sample::Block, (x0, x1), y);
        let time = Axis::linear(&self.label, "s").ruled([0.0, self.end_s].into_iter(), STEPS);
        let most = 0.3 * (x1 - x0);
        let names: Vec<Vec<String>> = self
            .rows
            .iter()
            .map(|r| wrapped(&r.name, most, TEXT))
            .collect();
        let widest = names
            .iter()
            .flatten()
            .map(|l| width(l, TEXT))
            .fold(0.0, f64::max);
        let half = |t: Option<&(f64, String)>| t.map_or(0.0, |t| width(&t.1, TEXT) / 2.0);
        let left = x0 + widest + 12.0 + half(time.ticks.first());
        let right = x1 - half(time.ticks.last());
        let at = |s: f64| left + time.share(s).clamp(0.0, 1.0) * (right - left);
        let top = y;
        for (row, name) in self.rows.iter().zip(&names) {
            let mut below = y + 16.0;
            for line in name {
                paper.text((x0, below), TEXT, Anchor::Start, "ink", false, line);
                below += 15.0;
            }
            for b in &row.blocks {
                if !(b.from_s.is_finite() && b.to_s.is_finite()) {
                    continue;
                }
                let area = Area {
                    x0: at(b.from_s),
                    y0: y + 4.0,
                    // The shortest is still seen.
                    x1: at(b.to_s).max(at(b.from_s) + 1.0),
                    y1: y + 4.0 + BLOCK,
                };
                let kind = kinds.get(b.kind).copied().unwrap_or_default();
                let title = format!("{}: {kind}", row.name);
                paper.block(&area, theme::of(b.kind).name, b.kind, &title);
            }
            let mut under = y + 4.0 + BLOCK + 15.0;
            for line in wrapped(&row.note, x1 - left - 6.0, TEXT) {
                paper.text(
                    (left + 6.0, under),
                    TEXT,
                    Anchor::Start,
                    "soft",
                    false,
                    &line,
                );
                under += 15.0;
            }
            y = below.max(under) + 2.0;
            paper.line((x0, y - 6.0), (x1, y - 6.0), "rule", 0.7, "");
        }
        paper.line((left, top), (left, y), "ink", 0.8, "");
        let end = at(self.end_s);
        if end.is_finite() {
            paper.line((end, top), (end, y), "ink", 0.8, "4 3");
        }
        paper.line((left, y), (right, y), "ink", 1.0, "");
        y += 14.0;
        for (v, label) in &time.ticks {
            let x = at(*v);
            paper.line((x, y - 14.0), (x, y - 10.0), "ink", 1.0, "");
            let area = area_of(x, y + 4.0, TEXT, Anchor::Middle, label);
            if paper.is_free(&area) {
                paper.text((x, y + 4.0), TEXT, Anchor::Middle, "soft", false, label);
            }
        }
        let middle = f64::midpoint(left, right);
        paper.text(
            (middle, y + 21.0),
            TEXT,
            Anchor::Middle,
            "soft",
            false,
            &time.title,
        );
        y + 30.0
    }
}
