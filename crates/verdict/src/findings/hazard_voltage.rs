//! Voltages that must not be touched.

use board::Board;
use finding::{Finding, Kind, Severity, Span};
use quantity::Dimension;
use report::number;

use super::{Entry, Scene};
use crate::caution;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "hazard.voltage",
        severity: Severity::Hazard,
        title: "A voltage is above what may be touched",
        explanation: include_str!("pages/hazard.voltage.md"),
    },
    look,
};

/// What may be touched: steady voltage, and the peak of an alternating one.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Touch {
    dc_v: f64,
    peak_v: f64,
    source: &'static str,
}

/// IEC 62368-1, ES1: 60 V DC; 30 V rms, 42.4 V peak (√2 · 30 V).
const DRY: Touch = Touch {
    dc_v: 60.0,
    peak_v: 42.4,
    source: "IEC 62368-1, limits of ES1 (from memory)",
};

/// IEC 61010-1, wet locations: 35 V DC; 16 V rms, 22.6 V peak.
const WET: Touch = Touch {
    dc_v: 35.0,
    peak_v: 22.6,
    source: "IEC 61010-1, third edition, wet locations (from memory)",
};

impl Touch {
    /// How much of the limits a voltage takes that moves between two values:
    /// DC and peak shares add up (the combined rule); above 1 it is too much.
    /// A voltage that keeps its sign counts as steady.
    fn share(self, low: f64, high: f64) -> f64 {
        if low * high >= 0.0 {
            return low.abs().max(high.abs()) / self.dc_v;
        }
        let (steady, peak) = (0.5 * (low + high), 0.5 * (high - low));
        steady.abs() / self.dc_v + peak / self.peak_v
    }
}

struct Node {
    name: String,
    low: f64,
    high: f64,
    place: Span,
}

/// Rails with their tolerance and travel, and spans of voltage channels.
fn nodes(board: &Board) -> Vec<Node> {
    let mut list = Vec::new();
    for rail in &board.rails {
        let mut ends: Vec<f64> = Vec::new();
        let mut place = rail.span;
        if let Some(v) = &rail.voltage {
            let (low, high) = v
                .value
                .tolerance
                .map_or((v.value.nominal, v.value.nominal), |t| {
                    t.limits(v.value.nominal)
                });
            ends.extend([low, high]);
            place = v.span;
        }
        if let Some(t) = &rail.travel {
            ends.extend([t.value.low, t.value.high]);
            place = t.span;
        }
        push(&mut list, format!("rail {}", rail.name), &ends, place);
    }
    for channel in &board.channels {
        if channel.dimension == Dimension::VOLTAGE {
            let (low, high) = channel.span.value;
            push(
                &mut list,
                channel.name.clone(),
                &[low, high],
                channel.span.span,
            );
        }
    }
    list
}

fn push(list: &mut Vec<Node>, name: String, ends: &[f64], place: Span) {
    let low = ends.iter().copied().fold(f64::INFINITY, f64::min);
    let high = ends.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if low <= high {
        list.push(Node {
            name,
            low,
            high,
            place,
        });
    }
}

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    let touch = if scene.board.conditions.wet { WET } else { DRY };
    let mut high: Vec<(f64, Node)> = nodes(scene.board)
        .into_iter()
        .map(|n| (touch.share(n.low, n.high), n))
        .filter(|(share, _)| *share > 1.0)
        .collect();
    high.sort_by(|a, b| b.0.total_cmp(&a.0));
    let Some((_, worst)) = high.first() else {
        return;
    };
    let text = |n: &Node| {
        if n.low * n.high < 0.0 {
            format!(
                "{} to {}",
                number::short(n.low),
                number::amount(n.high, "V")
            )
        } else {
            number::amount(
                if n.high.abs() > n.low.abs() {
                    n.high
                } else {
                    n.low
                },
                "V",
            )
        }
    };
    let reaches = format!("{} reaches {}", worst.name, text(worst));
    let others = match high.len() {
        1 => String::new(),
        n => format!(" ({} more)", n - 1),
    };
    let places: Vec<Span> = high.iter().map(|(_, n)| n.place).collect();
    let surroundings = if scene.board.conditions.wet {
        "wet"
    } else {
        "dry"
    };
    let mut f = caution::hazard(
        kind,
        format!(
            "{reaches}{others}: above {} DC or {} peak nothing may be touched in {surroundings} surroundings",
            number::amount(touch.dc_v, "V"),
            number::amount(touch.peak_v, "V"),
        ),
        &places,
        &[
            "covers, distances and insulation for the working voltage (IEC 60664-1); taps, dividers and test points included",
            "divide it before it leaves the covered part: the low resistor of a divider that breaks puts the whole voltage on the converter",
        ],
    )
    .figure(
        "limits",
        format!(
            "{} DC, {} peak",
            number::amount(touch.dc_v, "V"),
            number::amount(touch.peak_v, "V")
        ),
        touch.source.to_owned(),
    );
    for (share, n) in high.iter().take(6) {
        f = f.working(format!(
            "{}: {} is {} times the limit",
            n.name,
            text(n),
            quantity::plain(*share, 3)
        ));
    }
    found.push(f);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_limits_of_touch() {
        // IEC 62368-1 ES1: 60 V DC, 42.4 V peak, and their combination; IEC
        // 61010-1 in wet locations: 35 V DC, 22.6 V peak.
        assert!(DRY.share(0.0, 60.0) <= 1.0 && DRY.share(0.0, 60.1) > 1.0);
        assert!(DRY.share(-42.4, 42.4) <= 1.0 && DRY.share(-42.5, 42.5) > 1.0);
        // 30 V DC with 42.4 V peak upon it: half of one limit and all of the
        // other.
        let both = DRY.share(-12.4, 72.4);
        assert!((both - 1.5).abs() < 1e-12, "{both}");
        assert!(WET.share(-35.0, 0.0) <= 1.0 && WET.share(-36.0, 0.0) > 1.0);
        assert!(WET.share(-22.7, 22.7) > 1.0);
    }
}
