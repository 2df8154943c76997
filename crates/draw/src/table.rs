//! Tables: rows of texts with a mark in front of each.

use crate::paper::{Anchor, Area, Paper};
use crate::text::{TEXT, width, wrapped};
use crate::theme;

/// Distance of the base lines of a cell.
const LINE: f64 = 15.0;
/// Between columns.
const GAP: f64 = 12.0;
/// Room for a row's mark.
const MARK: f64 = 18.0;

/// Rows of texts.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// What stands above it.
    pub heading: String,
    /// What rows can be, for the legend; a row names its place here.
    pub kinds: Vec<String>,
    /// Heads of the columns with the share of the width each takes.
    pub columns: Vec<(String, f64)>,
    /// From top to bottom.
    pub rows: Vec<TableRow>,
}

/// One row.
#[derive(Clone, Debug, PartialEq)]
pub struct TableRow {
    /// Which of the kinds it is.
    pub kind: usize,
    /// A text for each column.
    pub cells: Vec<String>,
}

impl Table {
    /// Draws it from `y` downwards; where it ends.
    pub(crate) fn draw(&self, paper: &mut Paper, (x0, x1): (f64, f64), mut y: f64) -> f64 {
        let kinds: Vec<&str> = self.kinds.iter().map(String::as_str).collect();
        if kinds.len() > 1 {
            y += crate::legend::legend(paper, &kinds, crate::legend::Sample::Block, (x0, x1), y);
        }
        let total: f64 = self.columns.iter().map(|c| c.1).sum();
        let room = x1 - x0 - MARK - GAP * self.columns.len().saturating_sub(1) as f64;
        let mut at = x0 + MARK;
        let places: Vec<(f64, f64)> = self
            .columns
            .iter()
            .map(|(_, share)| {
                let wide = room * share / total.max(1e-9);
                let place = (at, wide);
                at += wide + GAP;
                place
            })
            .collect();
        let heads: Vec<String> = self.columns.iter().map(|c| c.0.clone()).collect();
        y = cells(paper, &heads, &places, y, "soft");
        paper.line((x0, y + 3.0), (x1, y + 3.0), "rule", 1.0, "");
        y += 6.0;
        for row in &self.rows {
            let title = row.cells.join(": ");
            let mark = Area {
                x0,
                y0: y + 4.0,
                x1: x0 + 10.0,
                y1: y + 14.0,
            };
            paper.block(&mark, theme::of(row.kind).name, row.kind, &title);
            y = cells(paper, &row.cells, &places, y, "ink") + 4.0;
        }
        y + 4.0
    }
}

/// One row's texts; where they end.
fn cells(paper: &mut Paper, texts: &[String], places: &[(f64, f64)], y: f64, class: &str) -> f64 {
    let mut below = y + LINE;
    for (text, &(x, wide)) in texts.iter().zip(places) {
        for (n, line) in wrapped(text, wide, TEXT).iter().enumerate() {
            debug_assert!(width(line, TEXT) <= wide + 1.0 || !line.contains(' '));
            let at = (x, y + 13.0 + LINE * n as f64);
            paper.text(at, TEXT, Anchor::Start, class, false, line);
            below = below.max(at.1 + 4.0);
        }
    }
    below
}
