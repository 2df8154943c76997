//! A tree of supplies: each with what it gives, in parts, against what it may.

use crate::paper::{Anchor, Area, Paper};
use crate::text::{TEXT, width, wrapped};
use crate::theme;

/// Height of a bar.
const BAR: f64 = 14.0;
/// How far a branch stands to the right of the one above it.
const STEP: f64 = 18.0;
/// Share of a row's room that its limit stands at.
const AT_LIMIT: f64 = 0.85;

/// Supplies that feed each other.
#[derive(Clone, Debug, PartialEq)]
pub struct Tree {
    /// What stands above it.
    pub heading: String,
    /// From top to bottom, each after the one that feeds it.
    pub branches: Vec<Branch>,
}

/// One supply.
#[derive(Clone, Debug, PartialEq)]
pub struct Branch {
    /// Its name.
    pub name: String,
    /// Position of the one that feeds it.
    pub from: Option<usize>,
    /// How many lie above it.
    pub depth: usize,
    /// What it gives to whom: name, amount, text.
    pub parts: Vec<(String, f64, String)>,
    /// What it may give.
    pub limit: Option<f64>,
    /// The limit as text.
    pub limit_text: String,
    /// What stands beside its name.
    pub text: String,
    /// What stands below, softly.
    pub note: String,
}

impl Tree {
    /// Draws it from `y` downwards; where it ends.
    pub(crate) fn draw(&self, paper: &mut Paper, (x0, x1): (f64, f64), mut y: f64) -> f64 {
        let indent = |b: &Branch| STEP * b.depth.min(8) as f64;
        let left = x0
            + self
                .branches
                .iter()
                .map(|b| indent(b) + width(&b.name, TEXT))
                .fold(0.0, f64::max)
                .min(0.3 * (x1 - x0))
            + 14.0;
        let room = x1 - left;
        let mut anchors: Vec<(f64, f64)> = Vec::new();
        for b in &self.branches {
            let x = x0 + indent(b);
            let middle = y + 4.0 + 0.5 * BAR;
            if let Some((up_x, up_y)) = b.from.and_then(|i| anchors.get(i)).copied() {
                let down = up_x + 5.0;
                paper.line((down, up_y + 6.0), (down, middle), "rule", 1.4, "");
                paper.line((down, middle), (x - 3.0, middle), "rule", 1.4, "");
            }
            anchors.push((x, middle));
            paper.text((x, y + 15.0), TEXT, Anchor::Start, "ink", true, &b.name);
            let total: f64 = b.parts.iter().map(|p| p.1).filter(|v| v.is_finite()).sum();
            let limit = b.limit.filter(|l| l.is_finite() && *l > 0.0);
            let end = total.max(0.0);
            // What is beyond the limit has the rest of the room.
            let unit = match limit {
                Some(l) => (room * AT_LIMIT / l).min(room / end.max(f64::MIN_POSITIVE)),
                None => room * AT_LIMIT / end.max(f64::MIN_POSITIVE),
            };
            if let Some(l) = limit {
                let base = y + 4.0 + BAR;
                paper.line((left, base), (left + l * unit, base), "rule", 1.4, "");
            }
            let mut at = left;
            for (k, (name, amount, text)) in b.parts.iter().enumerate() {
                let long = amount * unit;
                if !long.is_finite() || long < 0.3 {
                    continue;
                }
                let area = Area {
                    x0: at,
                    y0: y + 4.0,
                    x1: (at + long).min(x1),
                    y1: y + 4.0 + BAR,
                };
                let kind = k % theme::FILLS;
                paper.block(
                    &area,
                    theme::of(kind).name,
                    kind,
                    &format!("{name}: {text}"),
                );
                at += long;
            }
            if let Some(l) = limit {
                let mark = left + l * unit;
                paper.line((mark, y), (mark, y + 8.0 + BAR), "ink", 1.6, "");
            }
            let mut below = y + 4.0 + BAR + 15.0;
            let first = if b.limit_text.is_empty() {
                b.text.clone()
            } else {
                format!("{}; {}", b.text, b.limit_text)
            };
            for line in wrapped(&first, room, TEXT) {
                paper.text((left, below), TEXT, Anchor::Start, "ink", false, &line);
                below += 15.0;
            }
            for line in wrapped(&b.note, room, TEXT) {
                paper.text((left, below), TEXT, Anchor::Start, "soft", false, &line);
                below += 15.0;
            }
            y = below + 2.0;
        }
        y + 4.0
    }
}
