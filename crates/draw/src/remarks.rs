//! Remarks: how serious, what, and where it is written.

use crate::paper::{Anchor, Paper};
use crate::text::{TEXT, wrapped};

/// Height of a line of text.
const LINE: f64 = 15.0;

/// How serious a remark is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// Can hurt somebody.
    Hazard,
    /// Not met.
    Fail,
    /// Little is left.
    Thin,
    /// Worth knowing.
    Note,
}

/// One remark.
#[derive(Clone, Debug, PartialEq)]
pub struct Remark {
    /// How serious it is.
    pub weight: Weight,
    /// What there is to say.
    pub text: String,
    /// Where it is written, and its id.
    pub place: String,
}

/// Remarks of a sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct Remarks {
    /// What stands above them.
    pub heading: String,
    /// From top to bottom.
    pub remarks: Vec<Remark>,
}

impl Remarks {
    /// Draws them from `y` downwards; where they end.
    pub(crate) fn draw(&self, paper: &mut Paper, (x0, x1): (f64, f64), mut y: f64) -> f64 {
        let all = x1 - x0;
        let (text, place) = (x0 + 0.1 * all, x0 + 0.72 * all);
        for r in &self.remarks {
            let (class, word) = match r.weight {
                Weight::Hazard => ("hazard", "hazard"),
                Weight::Fail => ("fails", "fail"),
                Weight::Thin => ("thin", "thin"),
                Weight::Note => ("soft", "note"),
            };
            paper.text((x0, y + 13.0), TEXT, Anchor::Start, class, true, word);
            let mut tallest = 1;
            for (from, to, words, class) in [
                (text, place - 16.0, &r.text, "ink"),
                (place, x1, &r.place, "soft"),
            ] {
                let lines = wrapped(words, to - from, TEXT);
                for (n, line) in lines.iter().enumerate() {
                    let at = (from, y + 13.0 + LINE * n as f64);
                    paper.text(at, TEXT, Anchor::Start, class, false, line);
                }
                tallest = tallest.max(lines.len());
            }
            y += LINE * tallest as f64 + 7.0;
            paper.line((x0, y), (x1, y), "rule", 1.0, "");
            y += 3.0;
        }
        y
    }
}
