//! Bands: ranges of one quantity below each other along a common axis.

use crate::axis::Axis;
use crate::legend::{Sample, legend};
use crate::paper::{Anchor, Area, Paper, area_of};
use crate::text::{TEXT, width, wrapped};
use crate::theme;

/// Most labelled steps of the axis.
const STEPS: usize = 8;
/// Height of a lane.
const LANE: f64 = 12.0;
/// The shortest band is still seen.
const SEEN: f64 = 2.0;

/// Ranges of one quantity.
#[derive(Clone, Debug, PartialEq)]
pub struct Bands {
    /// What stands above it.
    pub heading: String,
    /// What the axis counts.
    pub label: String,
    /// Its unit.
    pub unit: String,
    /// What bands can be, for the legend; a band names its place here.
    pub kinds: Vec<String>,
    /// From top to bottom.
    pub rows: Vec<BandRow>,
}

/// One row: lanes close below each other.
#[derive(Clone, Debug, PartialEq)]
pub struct BandRow {
    /// Whose it is.
    pub name: String,
    /// Lanes from top to bottom, each with its bands.
    pub lanes: Vec<Vec<Band>>,
    /// What stands below, softly.
    pub note: String,
}

/// One range.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band {
    /// Lower end.
    pub from: f64,
    /// Upper end.
    pub to: f64,
    /// Which of the kinds it is.
    pub kind: usize,
}

impl Bands {
    /// Draws it from `y` downwards; where it ends.
    pub(crate) fn draw(&self, paper: &mut Paper, (x0, x1): (f64, f64), mut y: f64) -> f64 {
        let kinds: Vec<&str> = self.kinds.iter().map(String::as_str).collect();
        y += legend(paper, &kinds, Sample::Block, (x0, x1), y);
        let ends = self
            .rows
            .iter()
            .flat_map(|r| r.lanes.iter().flatten())
            .flat_map(|b| [b.from, b.to])
            .filter(|v| v.is_finite());
        let ruled = Axis::linear(&self.label, &self.unit).ruled(ends, STEPS);
        let names: Vec<Vec<String>> = self
            .rows
            .iter()
            .map(|r| wrapped(&r.name, 0.3 * (x1 - x0), TEXT))
            .collect();
        let widest = names
            .iter()
            .flatten()
            .map(|l| width(l, TEXT))
            .fold(0.0, f64::max);
        let half = |t: Option<&(f64, String)>| t.map_or(0.0, |t| width(&t.1, TEXT) / 2.0);
        let left = x0 + widest + 12.0 + half(ruled.ticks.first());
        let right = x1 - half(ruled.ticks.last());
        let at = |v: f64| left + ruled.share(v).clamp(0.0, 1.0) * (right - left);
        let top = y;
        for (row, name) in self.rows.iter().zip(&names) {
            let mut below = y + 14.0;
            for line in name {
                paper.text((x0, below), TEXT, Anchor::Start, "ink", false, line);
                below += 15.0;
            }
            let mut lane_y = y + 4.0;
            for lane in &row.lanes {
                for b in lane
                    .iter()
                    .filter(|b| b.from.is_finite() && b.to.is_finite())
                {
                    let (from, to) = (at(b.from), at(b.to));
                    let area = Area {
                        x0: from,
                        y0: lane_y,
                        x1: to.max(from + SEEN),
                        y1: lane_y + LANE,
                    };
                    let kind = kinds.get(b.kind).copied().unwrap_or_default();
                    let title = format!("{}: {kind}", row.name);
                    paper.block(&area, theme::of(b.kind).name, b.kind, &title);
                }
                lane_y += LANE + 2.0;
            }
            let mut under = lane_y + 13.0;
            for line in wrapped(&row.note, x1 - left - 6.0, TEXT) {
                let place = (left + 6.0, under);
                paper.text(place, TEXT, Anchor::Start, "soft", false, &line);
                under += 15.0;
            }
            y = below.max(under) + 2.0;
            paper.line((x0, y - 6.0), (x1, y - 6.0), "rule", 0.7, "");
        }
        paper.line((left, top), (left, y), "ink", 0.8, "");
        paper.line((left, y), (right, y), "ink", 1.0, "");
        y += 14.0;
        for (v, label) in &ruled.ticks {
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
            &ruled.title,
        );
        y + 30.0
    }
}
