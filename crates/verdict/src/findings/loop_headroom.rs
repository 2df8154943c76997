//! A transmitter that the loop leaves too little voltage.

use board::{Board, Supply};
use chain::law::ne43;
use finding::{Finding, Kind, Severity};
use report::number;

use super::{Entry, Scene};
use crate::study::Study;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "loop.headroom",
        severity: Severity::Fail,
        title: "The loop leaves its transmitter too little voltage",
        explanation: include_str!("pages/loop.headroom.md"),
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

/// The least voltage of a supply by its own tolerance and travel, V.
fn least(board: &Board, supply: Supply) -> Option<f64> {
    let (nominal, tolerance, travel) = match supply {
        Supply::Rail(i) => {
            let rail = board.rails.get(i)?;
            let v = rail.voltage.as_ref();
            (
                v.map(|v| v.value.nominal),
                v.and_then(|v| v.value.tolerance),
                rail.travel.as_ref().map(|t| t.value.low),
            )
        }
        Supply::Reference(i) => {
            let v = board.references.get(i)?.voltage.as_ref();
            (
                v.map(|v| v.value.nominal),
                v.and_then(|v| v.value.tolerance),
                None,
            )
        }
        Supply::Ground | Supply::Internal(..) => return None,
    };
    let low = nominal.map(|n| tolerance.map_or(n, |t| t.limits(n).0));
    match (low, travel) {
        (Some(a), Some(b)) => Some(a.min(b)),
        (a, b) => a.or(b),
    }
}

fn finding(kind: &Kind, study: &Study<'_>) -> Option<Finding> {
    let channel = study.channel;
    if channel.sensor.law != "loop-current" {
        return None;
    }
    let supply = least(study.board, channel.sensor.supply?)?;
    let minimum = channel.sensor.figures.get("minimum-voltage")?;
    let needed = minimum.typical()?;
    let upper = |v: &quantity::Valued| v.tolerance.map_or(v.nominal, |t| t.limits(v.nominal).1);
    let mut ohm = 0.0;
    for stage in &channel.chain {
        if matches!(stage.kind, "burden" | "pull-down" | "series")
            && let Some(v) = stage.valued("r")
        {
            ohm += upper(v.value);
        }
        // Both conductors of a cable carry the loop's current.
        if stage.kind == "cable"
            && let (Some(length), Some(per_m)) =
                (stage.valued("length"), stage.valued("resistance"))
        {
            ohm += 2.0 * upper(length.value) * upper(per_m.value);
        }
    }
    if let Some(leads) = &channel.sensor.leads {
        ohm += 2.0 * upper(&leads.value);
    }
    // The transmitter must be able to signal a failure.
    let ampere = ne43::FAILURE_HIGH_A;
    let left = supply - ampere * ohm;
    if left >= needed {
        return None;
    }
    let most = (supply - needed) / ampere;
    let volt = |v: f64| number::measured(v, "V", 3);
    let mut f = Finding::new(
        kind,
        &channel.name,
        format!(
            "at {} the loop leaves the transmitter {}, below the {} it needs",
            number::measured(ampere, "A", 3),
            volt(left),
            volt(needed)
        ),
    )
    .at(channel.sensor.span)
    .figure("minimum voltage", volt(needed), minimum.source.to_string())
    .working(format!(
        "{} − {} · {} = {}",
        volt(supply),
        number::measured(ampere, "A", 3),
        number::measured(ohm, "Ω", 4),
        volt(left)
    ));
    f = f.remedy(if most > 0.0 {
        format!(
            "at most {} in the loop, resistor and leads together",
            number::measured(most, "Ω", 3)
        )
    } else {
        "a higher supply: no resistor is small enough".to_owned()
    });
    Some(f.remedy(format!(
        "or a supply of at least {}",
        volt(needed + ampere * ohm)
    )))
}
