//! Analog switches and multiplexers in the signal's way, as they are when the
//! path is closed.

use board::{Field, FieldKind, Schema, Stage};
use circuit::{Node, doubling};
use parts::Part;
use quantity::Dimension;
use tape::Value;

use super::StageKind;
use super::bench::{Bench, Rated, Rating, missing, supply_of};
use crate::channel::{TOLERANCE_K, Unmodelled};
use crate::variables::{Kind, Lies, Trace, Variable};

pub(super) const MULTIPLEXER: StageKind = StageKind {
    schema: Schema {
        name: "multiplexer",
        primary: Some("part"),
        fields: &[
            Field::required(
                "part",
                FieldKind::Part(&["multiplexer", "switch"]),
                "multiplexer or switch, from the library or in place",
            ),
            Field::optional("supply", FieldKind::Supply, "rail that feeds it"),
        ],
        meaning: "a closed path of an analog multiplexer or switch: its resistance and its leakage",
    },
    write: |stage, bench| {
        let part = stage.part("part").ok_or_else(|| missing(stage, "part"))?;
        let before = bench.signal;
        let next = bench.network.fresh(&stage.path);
        let ohm = on_resistance(stage, bench, "", part)?;
        bench.network.resistor(&stage.path, before, next, ohm);
        if let Some(leakage) = on_leakage(stage, bench, part) {
            bench.network.current_source(
                &format!("{}.leakage", stage.path),
                Node::GROUND,
                next,
                leakage,
            );
        }
        bench.signal = next;
        signal_range(stage, bench, part, next)
    },
};

/// Resistance of a closed path, Ω; at the supply in use where the part states
/// it against its supply. `which` ends its key where a stage has several.
pub(super) fn on_resistance<'t>(
    stage: &Stage,
    bench: &Bench<'_, 't>,
    which: &str,
    part: &Part,
) -> Result<Value<'t>, Unmodelled> {
    let Some(f) = part.figure("on-resistance") else {
        return Ok(bench.network.builder().zero());
    };
    let f = match stage.supply("supply") {
        Some(s) if f.variable == Some(Dimension::VOLTAGE) => {
            f.at_variable(bench.site.supply(s.value)?.nominal())
        }
        _ => f.clone(),
    };
    let key = format!("{}.{which}on-resistance", stage.path);
    let name = format!("{} {}, on-resistance", stage.kind, part.id);
    match f.typical() {
        Some(typical) if f.spread().is_some_and(|s| s.typical_only) => {
            let share = bench.site.deviation(Variable::board(
                &key,
                &name,
                "",
                Lies::About(0.0, TYPICAL_RESISTANCE_U),
                Kind::Fixed,
                Trace::figure(&f),
            ));
            Ok(typical * (share + 1.0))
        }
        _ => bench.site.figure(&key, &name, &f, Kind::Fixed),
    }
}

/// Relative standard uncertainty of a channel's resistance of which only the
/// typical value is known: three of it reach almost from none to twice the
/// typical value, which is what data sheets that print both allow (common
/// practice).
const TYPICAL_RESISTANCE_U: f64 = 0.3;

/// Leakage of a closed path, A, either way; it doubles with each 10 K.
fn on_leakage<'t>(stage: &Stage, bench: &Bench<'_, 't>, part: &Part) -> Option<Value<'t>> {
    let f = part.figure("on-leakage")?;
    let size = f.max.or_else(|| f.typical())?.abs();
    let lies = if f.max.is_some() {
        Lies::Between(-size, size)
    } else {
        Lies::About(0.0, size)
    };
    let current = bench.site.deviation(Variable::board(
        &format!("{}.on-leakage", stage.path),
        &format!("{} {}, on-leakage", stage.kind, part.id),
        "A",
        lies,
        Kind::Fixed,
        Trace::figure(f),
    ));
    let at = f.reference_temperature_k.unwrap_or(TOLERANCE_K);
    Some(doubling(current, bench.site.ambient, at))
}

/// The signal must lie within the voltages the path passes.
fn signal_range(
    stage: &Stage,
    bench: &mut Bench<'_, '_>,
    part: &Part,
    node: Node,
) -> Result<(), Unmodelled> {
    let Some(f) = part.figure("signal-range") else {
        return Ok(());
    };
    let b = bench.network.builder();
    let supply = stage.supply("supply").map(|_| supply_of(stage, "supply"));
    let limit = |constant: Option<f64>, follows: Option<f64>| match (constant, follows, supply) {
        (constant, Some(ratio), Some(s)) => Ok(Some(
            bench.site.supply(s)? * ratio + constant.unwrap_or(0.0),
        )),
        (Some(volt), None, _) => Ok(Some(b.constant(volt))),
        _ => Ok(None),
    };
    let low = limit(f.min, f.min_supply.as_ref().map(|t| t.ratio))?;
    let high = limit(f.max, f.max_supply.as_ref().map(|t| t.ratio))?;
    let source = f.source.to_string();
    for (kind, limit, rated) in [
        ("signal-range-low", low, Rated::Above(node)),
        ("signal-range-high", high, Rated::Below(node)),
    ] {
        if let Some(limit) = limit {
            bench.ratings.push(Rating {
                kind,
                path: stage.path.clone(),
                of: String::new(),
                rated,
                limit,
                source: source.clone(),
            });
        }
    }
    Ok(())
}
