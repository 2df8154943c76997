//! Diodes that keep the signal within bounds.

use board::{Field, FieldKind, Schema, Stage, Supply};
use circuit::Node;
use parts::Part;

use super::StageKind;
use super::bench::{Bench, Rated, Rating, missing, supply_of};
use crate::channel::Unmodelled;

const DIODE: FieldKind = FieldKind::Part(&["diode"]);

pub(super) const CLAMP: StageKind = StageKind {
    schema: Schema {
        name: "clamp",
        primary: None,
        fields: &[
            Field::optional("high", DIODE, "diode from the signal to `to`"),
            Field::optional("to", FieldKind::Supply, "rail the high diode goes to"),
            Field::optional("low", DIODE, "diode from `from` to the signal"),
            Field::optional(
                "from",
                FieldKind::Supply,
                "rail the low diode comes from; ground if not given",
            ),
            Field::optional(
                "zener",
                DIODE,
                "Zener diode, its cathode at the signal, to ground",
            ),
        ],
        meaning: "diodes that keep the signal near its bounds; they conduct softly before and leak always",
    },
    write: |stage, bench| {
        let diodes = ["high", "low", "zener"];
        if diodes.iter().all(|key| stage.part(key).is_none()) {
            return Err(Unmodelled::at(
                "the stage `clamp` has none of `high`, `low` and `zener`",
                stage.span,
            ));
        }
        // The firmware reckons with no clamp: it is there for faults.
        if !bench.site.real {
            return Ok(());
        }
        if let Some(part) = stage.part("high") {
            if stage.supply("to").is_none() {
                return Err(missing(stage, "to"));
            }
            let to = bench.supply(stage, "to");
            diode(stage, bench, "high", part, bench.signal, to)?;
            into_rail(stage, bench);
        }
        if let Some(part) = stage.part("low") {
            let from = bench.supply(stage, "from");
            diode(stage, bench, "low", part, from, bench.signal)?;
        }
        if let Some(part) = stage.part("zener") {
            diode(stage, bench, "zener", part, Node::GROUND, bench.signal)?;
        }
        Ok(())
    },
};

/// One diode from its anode to its cathode, with its ratings.
fn diode(
    stage: &Stage,
    bench: &mut Bench<'_, '_>,
    key: &str,
    part: &Part,
    anode: Node,
    cathode: Node,
) -> Result<(), Unmodelled> {
    let path = format!("{}.{key}", stage.path);
    let name = format!("{} {key} {}", stage.kind, part.id);
    let curve = bench.site.diode(&path, &name, part, stage.span_of(key))?;
    bench.network.conductor(&path, anode, cathode, curve);
    for (figure, kind, rated) in [
        (
            "forward-current",
            "clamp-current",
            Rated::Current(path.clone()),
        ),
        ("power", "clamp-power", Rated::Power(path.clone())),
    ] {
        if let Some(f) = part.figure(figure)
            && let Some(most) = f.max.or_else(|| f.typical())
        {
            bench.ratings.push(Rating {
                kind,
                path: stage.path.clone(),
                of: format!("{key} diode"),
                rated,
                limit: bench.network.builder().constant(most),
                source: f.source.to_string(),
            });
        }
    }
    // From the first point of its curve on it takes current from the signal.
    let (figure, rated) = if key == "zener" && part.figure("zener-voltage").is_some() {
        ("zener-voltage", Rated::Backward(path))
    } else {
        ("forward-voltage", Rated::Forward(path))
    };
    if let Some(f) = part.figure(figure)
        && let Some(first) = f.points.first()
    {
        bench.ratings.push(Rating {
            kind: "clamp-conducts",
            path: stage.path.clone(),
            of: format!("{key} diode"),
            rated,
            limit: bench.network.builder().constant(first.0),
            source: f.source.to_string(),
        });
    }
    Ok(())
}

/// What the clamp puts into a rail must be less than what the rail's own
/// loads take, or the rail rises.
fn into_rail(stage: &Stage, bench: &mut Bench<'_, '_>) {
    if let Supply::Rail(i) = supply_of(stage, "to")
        && let Some(rail) = bench.site.board.rails.get(i)
        && let Some((load, source)) = bench
            .site
            .board
            .surroundings
            .rail_load_a
            .get(&i)
            .map(|least| (*least, "what hangs on the rail, at its least"))
            .or_else(|| Some((rail.load_a.as_ref()?.value, "the board file")))
    {
        bench.ratings.push(Rating {
            kind: "clamp-into-rail",
            path: stage.path.clone(),
            of: "high diode".to_owned(),
            rated: Rated::Forward(format!("{}.high", stage.path)),
            limit: bench.network.builder().constant(load),
            source: source.to_owned(),
        });
    }
}
