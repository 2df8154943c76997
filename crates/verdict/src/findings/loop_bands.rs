//! A current loop whose faults cannot be told from readings.

use board::Channel;
use chain::channel::{CODE, REFERENCE, VOLT};
use chain::law::ne43;
use finding::{Finding, Kind, Severity};
use quantity::Series;
use report::number;
use uncertainty::Model;

use super::{Entry, Scene};
use crate::study::Study;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "loop.bands",
        severity: Severity::Note,
        title: "A loop's faults read like values",
        explanation: include_str!("pages/loop.bands.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for judged in scene.judged {
        if let Some(study) = &judged.study {
            found.extend(finding(kind, study));
        }
    }
}

/// How far beyond the edge of the failure band a fault must still be read, A
/// (common practice).
const CLEAR_A: f64 = 0.5e-3;
/// The live range of a loop, A.
const LIVE_A: (f64, f64) = (4e-3, 20e-3);

/// The quantity at a loop current: the transmitter's line, or the current
/// itself.
fn quantity_at(channel: &Channel, ampere: f64) -> Option<f64> {
    match channel.sensor.law.as_str() {
        "loop-current" => {
            let f = |name: &str| channel.sensor.figures.get(name)?.typical();
            let (low, high) = (f("span-low")?, f("span-high")?);
            let from = f("current-low").unwrap_or(LIVE_A.0);
            let to = f("current-high").unwrap_or(LIVE_A.1);
            Some(low + (high - low) * (ampere - from) / (to - from))
        }
        "shunt" | "direct-current"
            if channel.quantity == "current"
                && (channel.span.value.1 - LIVE_A.1).abs() < 2e-3
                && channel.span.value.0 <= LIVE_A.0 =>
        {
            Some(ampere)
        }
        _ => None,
    }
}

/// The resistor that the loop current is read across: its nominal value and
/// its upper limit, Ω.
fn burden(channel: &Channel) -> Option<(f64, f64, finding::Span)> {
    for stage in &channel.chain {
        if matches!(stage.kind, "burden" | "pull-down")
            && let Some(v) = stage.valued("r")
        {
            let nominal = v.value.nominal;
            let upper = v.value.tolerance.map_or(nominal, |t| t.limits(nominal).1);
            return Some((nominal, upper, v.span));
        }
    }
    let f = channel.sensor.figures.get("resistance")?;
    let nominal = f.typical()?;
    Some((nominal, f.max.unwrap_or(nominal), f.span))
}

fn finding(kind: &Kind, study: &Study<'_>) -> Option<Finding> {
    let channel = study.channel;
    let (_, last) = study.codes?;
    let (ohm, upper, span) = burden(channel)?;
    let top = last - 1.0;
    let fault = ne43::FAILURE_HIGH_A + CLEAR_A;
    let code = |a: f64| quantity_at(channel, a).map(|q| study.at_quantity(CODE, q));
    let slope = (code(LIVE_A.1)? - code(LIVE_A.0)?) / (LIVE_A.1 - LIVE_A.0);
    let ends = LIVE_A.1 + (last - code(LIVE_A.1)?) / slope;
    // The board with the smallest reference and the largest resistor.
    let reference = study.nominal(REFERENCE, &study.usual_conditions());
    let least = uncertainty::worst_case(&Model {
        error: REFERENCE,
        limit: None,
        ..study.model.clone()
    })
    .map_or(reference, |w| w.low.error);
    let worst_ends = ends * least / reference * ohm / upper;
    if worst_ends >= fault {
        return None;
    }
    let ma = |a: f64| number::measured(a, "A", 3);
    let what = if ends <= ne43::FAILURE_HIGH_A {
        format!(
            "over-range and the fault band above {} read as {}",
            ma(ne43::FAILURE_HIGH_A),
            ma(ends)
        )
    } else {
        format!(
            "a fault above {} reads as {}",
            ma(ne43::FAILURE_HIGH_A),
            ma(ends)
        )
    };
    let most = ohm * worst_ends / fault;
    let mut f = Finding::new(
        kind,
        &channel.name,
        format!(
            "the codes end at {}, on the worst board at {}: {what} and cannot be told apart",
            ma(ends),
            ma(worst_ends)
        ),
    )
    .at(span)
    .figure(
        "bands of a loop",
        format!(
            "measured value {} to {}, failure below {} or above {}",
            ma(ne43::MEASUREMENT_LOW_A),
            ma(ne43::MEASUREMENT_HIGH_A),
            ma(ne43::FAILURE_LOW_A),
            ma(ne43::FAILURE_HIGH_A)
        ),
        "NAMUR NE 43, 2003".to_owned(),
    )
    .working(format!(
        "code at {} = {} of {}, at {} = {}",
        ma(LIVE_A.1),
        number::count(code(LIVE_A.1)?.min(top)),
        number::count(last),
        ma(fault),
        number::count(code(fault)?.min(top))
    ));
    if let (Some(c), Some(q)) = (
        code(ne43::FAILURE_LOW_A),
        quantity_at(channel, ne43::FAILURE_LOW_A),
    ) && c > 1.0
    {
        f = f.working(format!(
            "a broken loop is told: {} gives {}, code {}",
            ma(ne43::FAILURE_LOW_A),
            number::measured(study.at_quantity(VOLT, q), "V", 3),
            number::count(c)
        ));
    }
    f = f.remedy(format!(
        "a resistor of at most {} instead of {}, so that {} is still read on the worst board",
        number::measured(most, "Ω", 4),
        number::amount(ohm, "Ω"),
        ma(fault)
    ));
    if let Some(preferred) = Series::E24.at_most(most) {
        f = f.remedy(format!("{} (E24)", number::amount(preferred, "Ω")));
    }
    Some(f)
}
