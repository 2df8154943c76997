//! An instrumentation amplifier.

use board::{Field, FieldKind, Schema};
use circuit::Node;

use super::StageKind;
use super::bench::{LOAD, LOAD_TO, NEGATIVE, OHM, Rated, Rating, SUPPLY, missing, supply_of};
use crate::channel::{Fitted, Unmodelled};

pub(super) const INSTRUMENTATION: StageKind = StageKind {
    schema: Schema {
        name: "instrumentation",
        primary: Some("part"),
        fields: &[
            Field::required(
                "part",
                FieldKind::Part(&["instrumentation-amplifier"]),
                "instrumentation amplifier, from the library or in place",
            ),
            SUPPLY,
            NEGATIVE,
            Field::optional(
                "gain",
                FieldKind::Number,
                "gain that the part has or is set to",
            ),
            Field::optional(
                "gain-resistor",
                OHM,
                "resistor that sets the gain, by the part's gain-resistance or with `feedback`",
            ),
            Field::optional(
                "feedback",
                OHM,
                "second resistor of parts whose gain is 1 + feedback/gain-resistor",
            ),
            Field::optional(
                "reference",
                FieldKind::Supply,
                "where the reference pin goes; ground if not given",
            ),
            Field::optional(
                "first-stage-gain",
                FieldKind::Number,
                "gain ahead of the inner nodes, where the part does not state its share",
            ),
            LOAD,
            LOAD_TO,
        ],
        meaning: "amplifies the difference of the signal's two nodes, set on its reference pin",
    },
    write: |stage, bench| {
        let part = stage.part("part").ok_or_else(|| missing(stage, "part"))?;
        let b = bench.network.builder();
        let gain = if stage.valued("gain-resistor").is_some() {
            let resistor = bench.component(stage, "gain-resistor")?;
            let name = format!("{} {}", stage.kind, part.id);
            let over = match (stage.valued("feedback"), part.figure("gain-resistance")) {
                (Some(_), _) => bench.component(stage, "feedback")?,
                (None, Some(f)) => bench.site.figure(
                    &format!("{}.gain-resistance", stage.path),
                    &format!("{name}, gain resistance"),
                    f,
                    crate::variables::Kind::Fixed,
                )?,
                (None, None) => {
                    return Err(Unmodelled::at(
                        format!("{name} states no gain resistance: give `feedback` or `gain`"),
                        stage.span,
                    ));
                }
            };
            over / resistor + 1.0
        } else {
            b.constant(stage.number("gain").ok_or_else(|| {
                Unmodelled::at(
                    "the stage `instrumentation` has neither `gain` nor `gain-resistor`",
                    stage.span,
                )
            })?)
        };
        let name = format!("{} {}", stage.kind, part.id);
        let fitted = Fitted {
            path: &stage.path,
            name: &name,
            span: stage.span_of("supply"),
            part,
            high: supply_of(stage, "supply"),
            low: supply_of(stage, "negative"),
        };
        let first = stage.number("first-stage-gain").map(|g| b.constant(g));
        let model = bench.site.instrumentation(&fitted, gain, first)?;
        if let Some(f) = part.figure("gain-range") {
            let source = f.source.to_string();
            if let Some(least) = f.min {
                let limit = b.constant(least);
                bench
                    .site
                    .not_below("gain-low", &name, Some(stage.span), gain, limit, &source);
            }
            if let Some(most) = f.max {
                let limit = b.constant(most);
                bench
                    .site
                    .not_above("gain-high", &name, Some(stage.span), gain, limit, &source);
            }
        }
        let out = bench.network.fresh(&stage.path);
        let (high, low) = (
            bench.supply(stage, "supply"),
            bench.supply(stage, "negative"),
        );
        let reference = bench.supply(stage, "reference");
        let (plus, minus) = (bench.signal, bench.minus);
        bench
            .network
            .instrumentation(&stage.path, plus, minus, reference, out, high, low, model);
        bench.output_ratings(&fitted, out)?;
        bench.input_resistances(&fitted, plus, minus)?;
        if let Some(f) = part.figure("differential-input")
            && let Some(most) = f.max.or_else(|| f.typical())
        {
            bench.ratings.push(Rating {
                kind: "differential-input",
                path: stage.path.clone(),
                of: String::new(),
                rated: Rated::Across(plus, minus),
                limit: b.constant(most),
                source: f.source.to_string(),
            });
        }
        bench.load(stage, out)?;
        bench.signal = out;
        bench.minus = Node::GROUND;
        Ok(())
    },
};
