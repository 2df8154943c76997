//! Lines whose own resistors are too slow for their clock.

use board::{Board, LinkKind};
use quantity::Valued;

use super::LinkLevels;
use super::fixes::line_farad;
use super::translator::TO_HIGH;

/// A line that does not rise within half a period.
#[derive(Clone, Debug, PartialEq)]
pub struct Slow {
    /// Position among the board's links.
    pub link: usize,
    /// Resistance that charges it: the driver's, the series resistor's, the
    /// divider's, Ω.
    pub ohm: f64,
    /// Of that, the driver's own, Ω.
    pub driver_ohm: f64,
    /// Its capacitance, F.
    pub farad: f64,
    /// Time to 0.7 of the level, R·C·ln(1/0.3), s.
    pub rise_s: f64,
    /// Half a period of the clock, s.
    pub half_s: f64,
    /// Fastest clock that it follows, Hz.
    pub most_hz: f64,
}

fn high(v: &Valued) -> f64 {
    v.tolerance
        .as_ref()
        .map_or(v.nominal, |t| t.limits(v.nominal).1)
}

/// Every driven line with resistors of its own, a clock and a stated
/// capacitance that rises too slowly. Pulled-up buses have rules of their own.
#[must_use]
pub fn analyse(board: &Board, links: &[LinkLevels]) -> Vec<Slow> {
    let mut found = Vec::new();
    for (i, link) in board.links.iter().enumerate() {
        let driven = matches!(link.kind, LinkKind::Wire | LinkKind::Spi | LinkKind::Uart);
        if !driven || (link.series_ohm.is_none() && link.divider.is_none()) {
            continue;
        }
        let (Some(hz), Some(farad)) = (link.clock_hz.as_ref(), line_farad(board, link)) else {
            continue;
        };
        let driver_ohm = links
            .iter()
            .filter(|l| l.link == i)
            .flat_map(|l| &l.pairs)
            .map(|p| p.understood.high.output.ohm)
            .filter(|ohm| ohm.is_finite())
            .fold(0.0, f64::max);
        let ahead = driver_ohm + link.series_ohm.as_ref().map_or(0.0, |s| high(&s.value));
        let ohm = match &link.divider {
            Some((top, bottom)) => {
                let (above, below) = (ahead + high(&top.value), high(&bottom.value));
                above * below / (above + below)
            }
            None => ahead,
        };
        let rise_s = TO_HIGH * ohm * farad;
        let half_s = 0.5 / hz.value;
        if rise_s > half_s {
            found.push(Slow {
                link: i,
                ohm,
                driver_ohm,
                farad,
                rise_s,
                half_s,
                most_hz: 0.5 / rise_s,
            });
        }
    }
    found
}
