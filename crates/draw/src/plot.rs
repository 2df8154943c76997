//! Line plots: panels over one axis, curves told apart by dash and colour,
//! marks, guides.

use crate::axis::{Axis, Ruled};
use crate::legend::{Sample, legend};
use crate::paper::{Anchor, Area, Paper, area_of};
use crate::text::{TEXT, width, wrapped};
use crate::theme;

/// Most labelled steps across.
const ACROSS: usize = 9;
/// Most labelled steps up.
const UP: usize = 6;
/// Points of a curve beyond which only what can be seen of it is drawn.
const MANY: usize = 3000;

/// Curves over a common axis, in panels one above the other.
#[derive(Clone, Debug, PartialEq)]
pub struct Plot {
    /// What stands above it.
    pub heading: String,
    /// The axis across, common to all panels.
    pub x: Axis,
    /// From top to bottom.
    pub panels: Vec<Panel>,
    /// Upright lines through all panels.
    pub guides: Vec<Guide>,
}

/// One panel of a plot.
#[derive(Clone, Debug, PartialEq)]
pub struct Panel {
    /// The axis up.
    pub y: Axis,
    /// Its curves. Those of one name, in whichever panel, look the same.
    pub series: Vec<Series>,
    /// Points with a label.
    pub marks: Vec<Mark>,
    /// Level lines.
    pub levels: Vec<Level>,
}

/// A curve. Where a coordinate is not a number it has a gap.
#[derive(Clone, Debug, PartialEq)]
pub struct Series {
    /// Its name.
    pub name: String,
    /// Points from left to right, in the axes' units.
    pub points: Vec<(f64, f64)>,
}

/// A point with a label.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// Place across.
    pub x: f64,
    /// Place up.
    pub y: f64,
    /// What it says.
    pub label: String,
}

/// An upright line with a label.
#[derive(Clone, Debug, PartialEq)]
pub struct Guide {
    /// Place across.
    pub x: f64,
    /// What it says; may be empty.
    pub label: String,
}

/// A level line with a label.
#[derive(Clone, Debug, PartialEq)]
pub struct Level {
    /// Place up.
    pub y: f64,
    /// What it says; may be empty.
    pub label: String,
}

impl Plot {
    /// Names of the curves, each once, in the order they come.
    fn names(&self) -> Vec<&str> {
        let mut names: Vec<&str> = Vec::new();
        for s in self.panels.iter().flat_map(|p| &p.series) {
            if !names.contains(&s.name.as_str()) {
                names.push(&s.name);
            }
        }
        names
    }

    /// Draws it from `y` downwards; where it ends.
    pub(crate) fn draw(&self, paper: &mut Paper, (x0, x1): (f64, f64), mut y: f64) -> f64 {
        let names = self.names();
        if names.len() > 1 {
            y += legend(paper, &names, Sample::Line, (x0, x1), y);
        }
        let all = || self.panels.iter().flat_map(|p| &p.series);
        let across = self
            .x
            .ruled(all().flat_map(|s| s.points.iter().map(|p| p.0)), ACROSS);
        let up: Vec<Ruled> = self.panels.iter().map(Panel::ruled).collect();
        let widest = up
            .iter()
            .flat_map(|r| &r.ticks)
            .map(|t| width(&t.1, TEXT))
            .fold(0.0, f64::max);
        let half = |t: Option<&(f64, String)>| t.map_or(0.0, |t| width(&t.1, TEXT) / 2.0);
        let left = x0 + (widest + 8.0).max(half(across.ticks.first()));
        let right = x1 - half(across.ticks.last());
        let height = if self.panels.len() > 1 { 150.0 } else { 200.0 };
        let mut untold = Vec::new();
        for (panel, up) in self.panels.iter().zip(&up) {
            paper.text(
                (x0, y + 12.0),
                TEXT,
                Anchor::Start,
                "soft",
                false,
                &up.title,
            );
            let area = Area {
                x0: left,
                y0: y + 26.0,
                x1: right,
                y1: y + 26.0 + height,
            };
            panel.draw(paper, &area, &across, up, &names);
            labels(paper, panel, &self.guides, &area, &across, up, &mut untold);
            y = area.y1 + 14.0;
        }
        y = scale_across(paper, &across, (left, right), y);
        for line in wrapped(&untold.join("; "), x1 - x0, TEXT) {
            paper.text((x0, y + 12.0), TEXT, Anchor::Start, "soft", false, &line);
            y += 16.0;
        }
        y
    }
}

impl Panel {
    fn ruled(&self) -> Ruled {
        let curves = self
            .series
            .iter()
            .flat_map(|s| s.points.iter().map(|p| p.1));
        let levels = self.levels.iter().map(|l| l.y);
        self.y.ruled(curves.chain(levels), UP)
    }

    fn draw(&self, paper: &mut Paper, area: &Area, across: &Ruled, up: &Ruled, names: &[&str]) {
        let across_at = |v: f64| area.x0 + across.share(v) * (area.x1 - area.x0);
        let up_at = |v: f64| area.y1 - up.share(v) * (area.y1 - area.y0);
        let rules = |r: &Ruled| -> Vec<(f64, f64)> {
            let ticks = r.ticks.iter().map(|t| (t.0, 0.9));
            ticks.chain(r.fine.iter().map(|f| (*f, 0.4))).collect()
        };
        for (v, wide) in rules(across) {
            let x = across_at(v);
            paper.line((x, area.y0), (x, area.y1), "rule", wide, "");
        }
        for (v, wide) in rules(up) {
            let y = up_at(v);
            paper.line((area.x0, y), (area.x1, y), "rule", wide, "");
        }
        for (v, label) in &up.ticks {
            let at = (area.x0 - 6.0, up_at(*v) + 4.0);
            paper.text(at, TEXT, Anchor::End, "soft", false, label);
        }
        paper.line((area.x0, area.y1), (area.x1, area.y1), "ink", 1.0, "");
        for s in &self.series {
            let points: Vec<(f64, f64)> = s
                .points
                .iter()
                .map(|p| (across_at(p.0), up_at(p.1)))
                .collect();
            let n = names.iter().position(|n| *n == s.name).unwrap_or(0);
            let (hue, dash) = (theme::of(n).name, theme::dash(n));
            paper.curve(&seen(points), area, hue, dash, &s.name);
        }
    }
}

/// What can be seen of a curve: of many points those that are first, lowest,
/// highest and last within a fraction of a point of print.
fn seen(points: Vec<(f64, f64)>) -> Vec<(f64, f64)> {
    if points.len() <= MANY {
        return points;
    }
    let column = |p: &(f64, f64)| (p.0 * 2.0).floor();
    let same = |a: &(f64, f64), b: &(f64, f64)| column(a) == column(b);
    let mut out = Vec::new();
    for group in points.chunk_by(same) {
        let mut kept = vec![0, group.len() - 1];
        let order = |a: &&(usize, f64), b: &&(usize, f64)| a.1.total_cmp(&b.1);
        let heights: Vec<(usize, f64)> = group.iter().map(|p| p.1).enumerate().collect();
        kept.extend(heights.iter().min_by(order).map(|h| h.0));
        kept.extend(heights.iter().max_by(order).map(|h| h.0));
        kept.sort_unstable();
        kept.dedup();
        out.extend(kept.iter().filter_map(|&i| group.get(i).copied()));
    }
    out
}

/// The scale across: labels under the last panel, both ends first.
fn scale_across(paper: &mut Paper, across: &Ruled, (left, right): (f64, f64), y: f64) -> f64 {
    let count = across.ticks.len();
    let ends = across.ticks.iter().take(1).chain(across.ticks.last());
    let inner = across.ticks.iter().take(count.saturating_sub(1)).skip(1);
    for (v, label) in ends.chain(inner) {
        let x = left + across.share(*v) * (right - left);
        let mut area = area_of(x, y + 4.0, TEXT, Anchor::Middle, label);
        (area.x0, area.x1) = (area.x0 - 5.0, area.x1 + 5.0);
        if paper.is_free(&area) {
            paper.text((x, y + 4.0), TEXT, Anchor::Middle, "soft", false, label);
        }
    }
    let middle = f64::midpoint(left, right);
    let at = (middle, y + 21.0);
    paper.text(at, TEXT, Anchor::Middle, "soft", false, &across.title);
    y + 30.0
}

/// Marks, guides and levels with their labels, where there is room; what
/// finds none is told below.
fn labels(
    paper: &mut Paper,
    panel: &Panel,
    guides: &[Guide],
    area: &Area,
    across: &Ruled,
    up: &Ruled,
    untold: &mut Vec<String>,
) {
    let across_at = |v: f64| area.x0 + across.share(v) * (area.x1 - area.x0);
    let up_at = |v: f64| area.y1 - up.share(v) * (area.y1 - area.y0);
    let inside = |x: f64, y: f64| {
        let (x0, x1) = (area.x0 - 0.5, area.x1 + 0.5);
        (x0..=x1).contains(&x) && (area.y0 - 0.5..=area.y1 + 0.5).contains(&y)
    };
    let mut wishes: Vec<(&str, Vec<(f64, f64, Anchor)>)> = Vec::new();
    for m in &panel.marks {
        let (x, y) = (across_at(m.x), up_at(m.y));
        if !inside(x, y) {
            continue;
        }
        paper.ring((x, y));
        let mut places = Vec::new();
        for down in [-7.0, 18.0, -24.0, 34.0, -42.0, 52.0] {
            places.push((x + 8.0, y + down, Anchor::Start));
            places.push((x - 8.0, y + down, Anchor::End));
        }
        wishes.push((&m.label, places));
    }
    for l in &panel.levels {
        let y = up_at(l.y);
        if !inside(area.x0, y) {
            continue;
        }
        paper.line((area.x0, y), (area.x1, y), "ink", 1.0, "6 3");
        paper.keep_clear((area.x0, y), (area.x1, y));
        let mut places = Vec::new();
        for down in [-5.0, 15.0] {
            places.push((area.x1 - 4.0, y + down, Anchor::End));
            places.push((area.x0 + 4.0, y + down, Anchor::Start));
            let middle = f64::midpoint(area.x0, area.x1);
            places.push((middle, y + down, Anchor::Middle));
        }
        wishes.push((&l.label, places));
    }
    for g in guides {
        let x = across_at(g.x);
        if !inside(x, area.y0) {
            continue;
        }
        paper.line((x, area.y0), (x, area.y1), "soft", 1.0, "3 3");
        paper.keep_clear((x, area.y0), (x, area.y1));
        let mut places = Vec::new();
        let mut y = area.y0 + 13.0;
        while y < area.y1 - 4.0 {
            places.push((x + 4.0, y, Anchor::Start));
            places.push((x - 4.0, y, Anchor::End));
            y += 15.0;
        }
        wishes.push((&g.label, places));
    }
    for (label, places) in wishes {
        if label.is_empty() {
            continue;
        }
        let place = |clear: bool| {
            places.iter().find(|(x, y, anchor)| {
                let there = area_of(*x, *y, TEXT, *anchor, label);
                let free = if clear {
                    paper.is_clear(&there)
                } else {
                    paper.is_free(&there)
                };
                free && area.holds(&there)
            })
        };
        match place(true).or_else(|| place(false)).copied() {
            Some((x, y, anchor)) => paper.label((x, y), anchor, label),
            None if untold.iter().any(|u| u == label) => {}
            None => untold.push(label.to_owned()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn of_many_points_the_extremes_are_kept() {
        let mut points: Vec<(f64, f64)> =
            (0..100_000).map(|i| (f64::from(i) / 1000.0, 0.0)).collect();
        points[50_020].1 = 7.0;
        points[50_030].1 = -7.0;
        let kept = seen(points);
        assert!(kept.len() < 1000, "{}", kept.len());
        for y in [7.0, -7.0] {
            assert!(kept.iter().any(|p| p.1 == y));
        }
    }
}
