//! Legends: a sample of each line or fill and its name, in rows.

use crate::paper::{Anchor, Area, Paper};
use crate::text::{TEXT, width};
use crate::theme;

/// Width of a sample.
const SAMPLE: f64 = 30.0;
/// Height of a row.
const ROW: f64 = 18.0;

/// What a legend shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Sample {
    /// A line of the n-th series.
    Line,
    /// A block of the n-th kind.
    Block,
}

/// Draws the legend of these names, the n-th name that of the n-th series or
/// kind; the height it takes.
pub(crate) fn legend(
    paper: &mut Paper,
    names: &[&str],
    sample: Sample,
    (x0, x1): (f64, f64),
    y: f64,
) -> f64 {
    let (mut x, mut row) = (x0, 0.0);
    for (n, name) in names.iter().enumerate() {
        // A name wider than the sheet is told shorter; the curve's own title
        // has all of it.
        let room = x1 - x0 - SAMPLE - 6.0;
        let mut name = (*name).to_owned();
        if width(&name, TEXT) > room {
            while width(&name, TEXT) > room - 12.0 && name.pop().is_some() {}
            name.push('…');
        }
        let wide = SAMPLE + 6.0 + width(&name, TEXT);
        if x > x0 && x + wide > x1 {
            (x, row) = (x0, row + ROW);
        }
        let middle = y + row + ROW / 2.0;
        let hue = theme::of(n).name;
        match sample {
            Sample::Line => {
                let (a, b) = ((x, middle), (x + SAMPLE, middle));
                paper.line(a, b, hue, 1.8, theme::dash(n));
            }
            Sample::Block => {
                let area = Area {
                    x0: x,
                    y0: middle - 5.0,
                    x1: x + SAMPLE,
                    y1: middle + 5.0,
                };
                paper.block(&area, hue, n, &name);
            }
        }
        let at = (x + SAMPLE + 6.0, middle + 4.0);
        paper.text(at, TEXT, Anchor::Start, "ink", false, &name);
        x += wide + 18.0;
    }
    row + ROW + 4.0
}
