//! What a part puts on a line and what it understands, at given supplies.

use parts::{Figure, Part};

/// Share of its supply up to which an input surely reads low, and from which
/// on it surely reads high, where a part names no thresholds: complementary
/// logic (common practice), and what UM10204 table 9 asks of the two-wire bus.
pub const USUAL_THRESHOLDS: (f64, f64) = (0.3, 0.7);

/// How far beyond its supply a pin may be pulled where a part names no limit,
/// V: what most data sheets print (common practice).
pub const USUAL_HEADROOM_V: f64 = 0.3;

/// Forward voltage of an input clamp that conducts about a milliampere, V
/// (common practice).
pub const CLAMP_DROP_V: f64 = 0.5;

/// Current that a two-wire driver takes at its low level where neither part
/// nor link says it, A (UM10204 table 9, standard and fast mode).
pub const USUAL_SINK_A: f64 = 3e-3;

/// Low level of a two-wire driver at that current, V (UM10204 table 9).
pub const USUAL_SINK_LOW_V: f64 = 0.4;

/// Current at which a level that follows the supply is taken to hold where the
/// part names none, A (common practice).
pub const USUAL_LOAD_A: f64 = 1e-3;

/// A low level rated below this current is that of an output with next to no
/// load and says nothing of how strongly it pulls an open-drain line, A
/// (common practice; UM10204, table 9, asks for 2 mA and more).
pub const LIGHT_LOAD_A: f64 = 1e-3;

/// Where a number comes from.
#[derive(Clone, Debug, PartialEq)]
pub enum Origin {
    /// A figure of the part: its name, and document and place.
    Figure(&'static str, String),
    /// Taken for granted because the part does not say it.
    Assumed(&'static str),
}

impl Origin {
    /// Document and place, or the rule.
    #[must_use]
    pub fn text(&self) -> String {
        match self {
            Origin::Figure(name, source) => format!("{name}, {source}"),
            Origin::Assumed(rule) => (*rule).to_owned(),
        }
    }

    /// Whether the part says it.
    #[must_use]
    pub fn is_given(&self) -> bool {
        matches!(self, Origin::Figure(..))
    }
}

/// A number with where it comes from.
#[derive(Clone, Debug, PartialEq)]
pub struct Known {
    /// The number, SI.
    pub value: f64,
    /// Where it comes from.
    pub origin: Origin,
}

/// Which pins of a part a line ends on, and what feeds the part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fed {
    /// Supply of the part, V.
    pub supply_v: f64,
    /// Supply of its side B, V; the same where it has one supply.
    pub supply_b_v: f64,
    /// The line ends on side B.
    pub is_side_b: bool,
    /// The pin tolerates 5 V and the `-tolerant` figures hold.
    pub is_tolerant: bool,
}

impl Fed {
    /// Supply of the side the line ends on, V.
    #[must_use]
    pub fn own_v(&self) -> f64 {
        if self.is_side_b {
            self.supply_b_v
        } else {
            self.supply_v
        }
    }

    fn of(&self, name: &str) -> Option<f64> {
        match name {
            "supply-b" => Some(self.supply_b_v),
            "supply" | "supply-a" | "io-supply" | "digital-supply" | "analog-supply" => {
                Some(self.supply_v)
            }
            _ => None,
        }
    }
}

fn origin(name: &'static str, figure: &Figure) -> Origin {
    let mut source = figure.source.document.clone();
    if !figure.source.place.is_empty() {
        if !source.is_empty() {
            source.push_str(", ");
        }
        source.push_str(&figure.source.place);
    }
    if source.is_empty() {
        source = figure.basis.word().to_owned();
    } else if figure.basis != parts::Basis::Published {
        source = format!("{source} ({})", figure.basis.word());
    }
    Origin::Figure(name, source)
}

/// A figure with what follows the supply worked out; points against a voltage
/// are taken at the supply of the side the line ends on.
fn at(part: &Part, name: &str, fed: &Fed) -> Option<Figure> {
    let figure = part.figure(name)?;
    let figure = if figure.variable == Some(quantity::Dimension::VOLTAGE) {
        figure.at_variable(fed.own_v())
    } else {
        figure.clone()
    };
    figure.resolved(&|supply| fed.of(supply))
}

/// The first of `names` that the part has.
fn first(part: &Part, names: &[&'static str], fed: &Fed) -> Option<(&'static str, Figure)> {
    names
        .iter()
        .find_map(|name| at(part, name, fed).map(|f| (*name, f)))
}

/// What an input needs.
#[derive(Clone, Debug, PartialEq)]
pub struct Thresholds {
    /// At most this reads low, V.
    pub low: Known,
    /// At least this reads high, V.
    pub high: Known,
}

/// Levels that an input of a part surely understands.
#[must_use]
pub fn thresholds(part: &Part, fed: &Fed) -> Thresholds {
    let names: (&[&'static str], &[&'static str]) = if fed.is_side_b {
        (
            &["input-low-b", "input-low"],
            &["input-high-b", "input-high"],
        )
    } else if fed.is_tolerant {
        (
            &["input-low-tolerant", "input-low"],
            &["input-high-tolerant", "input-high"],
        )
    } else {
        (&["input-low"], &["input-high"])
    };
    let usual = |share: f64| Known {
        value: share * fed.own_v(),
        origin: Origin::Assumed("0.3 and 0.7 of the supply, common practice"),
    };
    let low = first(part, names.0, fed)
        .and_then(|(name, f)| {
            Some(Known {
                value: f.max.or(f.typ).or(f.min)?,
                origin: origin(name, &f),
            })
        })
        .unwrap_or_else(|| usual(USUAL_THRESHOLDS.0));
    let high = first(part, names.1, fed)
        .and_then(|(name, f)| {
            Some(Known {
                value: f.min.or(f.typ).or(f.max)?,
                origin: origin(name, &f),
            })
        })
        .unwrap_or_else(|| usual(USUAL_THRESHOLDS.1));
    Thresholds { low, high }
}

/// Which way a driver pulls.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// To its supply.
    High,
    /// To ground.
    Low,
}

/// A driver's output, pulled one way, as a voltage behind a resistance.
///
/// V = open − R·I for a high level and V = open + R·I for a low one, with the
/// resistance that the rated level at its rated current stands for:
/// R = (V_supply − V_OH)/I_OH, R = V_OL/I_OL. The rated level by itself holds
/// at the rated current only, and mostly there is less.
#[derive(Clone, Debug, PartialEq)]
pub struct Output {
    /// Without load, V.
    pub open_v: f64,
    /// Resistance behind it, Ω; 0 where the part promises a level whatever the
    /// load, or says nothing.
    pub ohm: f64,
    /// The rated level alone, V, where the part has one.
    pub rated_v: Option<f64>,
    /// The current at which that holds, A.
    pub rated_a: Option<f64>,
    /// Where it comes from.
    pub origin: Origin,
}

impl Output {
    /// The level with `load_a` flowing out of a high output or into a low one, V.
    #[must_use]
    pub fn at_load(&self, way: Way, load_a: f64) -> f64 {
        match way {
            Way::High => self.open_v - self.ohm * load_a,
            Way::Low => self.open_v + self.ohm * load_a,
        }
    }
}

/// The output of a part that drives both ways, or the low output of one that
/// only pulls down.
#[must_use]
pub fn output(part: &Part, fed: &Fed, way: Way) -> Output {
    let (names, current_name): (&[&'static str], &str) = match (way, fed.is_side_b) {
        (Way::High, _) => (&["output-high"], "output-high-current"),
        (Way::Low, true) => (&["output-low-b", "output-low"], "output-low-current"),
        (Way::Low, false) => (&["output-low"], "output-low-current"),
    };
    let supply_v = fed.own_v();
    let rail_v = match way {
        Way::High => supply_v,
        Way::Low => 0.0,
    };
    // The supply at which a level given in plain volts was measured.
    let rated_supply_v = match way {
        Way::Low => 0.0,
        Way::High => ["output-supply", "supply"]
            .iter()
            .find_map(|n| part.figure(n))
            .and_then(|f| f.min.or(f.typ).or(f.max))
            .unwrap_or(supply_v),
    };
    let current = |name: &str| {
        part.figure(name)
            .and_then(|f| f.min.or(f.typ).or(f.max))
            .filter(|a| *a > 0.0)
    };
    let level = names.iter().find_map(|name| {
        let figure = part.figure(name)?;
        // Several supplies may give one limit each; the side's own counts.
        let follows = figure.max_supply.is_some() || figure.min_supply.is_some();
        let resolved = figure.resolved(&|supply| fed.of(supply))?;
        let value = match way {
            Way::High => resolved.min.or(resolved.typ).or(resolved.max),
            Way::Low => resolved.max.or(resolved.typ).or(resolved.min),
        }?;
        Some((*name, resolved, value, follows))
    });
    // A static low that the part makes on purpose does not shrink with the load.
    let is_offset = matches!(&level, Some(("output-low-b", ..)));
    // What holds a level weakly counts, not what drives it for a moment.
    let weak = part
        .figure("holding-resistance")
        .map(|f| ("holding-resistance", f));
    let plain = part
        .figure("output-resistance")
        .map(|f| ("output-resistance", f));
    if let Some((name, f)) = weak.or(plain)
        && let Some(ohm) = f.max.or(f.typ).or(f.min)
        && !is_offset
    {
        let rated_a = current(current_name);
        return Output {
            open_v: rail_v,
            ohm: ohm.max(0.0),
            rated_v: level.as_ref().map(|(_, _, v, _)| *v),
            rated_a,
            origin: origin(name, f),
        };
    }
    match level {
        Some((name, figure, value, follows)) => {
            // A level that follows the supply is that of a complementary
            // output: without load it reaches its rail, whatever current the
            // data sheet had in mind.
            let rated_a = current(current_name).or(follows.then_some(USUAL_LOAD_A));
            let drop_v = match (way, follows) {
                (Way::Low, _) => value,
                (Way::High, true) => supply_v - value,
                (Way::High, false) => rated_supply_v - value,
            }
            .max(0.0);
            // Points against the current: the weakest of them.
            let weakest = figure
                .points
                .iter()
                .filter(|(a, _)| *a > 0.0)
                .map(|(a, v)| (v - rail_at_rating(way, rated_supply_v)).abs() / a)
                .fold(0.0, f64::max);
            let (open_v, ohm) = match rated_a {
                Some(a) if !is_offset => (rail_v, (drop_v / a).max(weakest)),
                // No current is named: the level is what is promised.
                _ => match way {
                    Way::High => (value.min(supply_v), 0.0),
                    Way::Low => (value, 0.0),
                },
            };
            Output {
                open_v,
                ohm,
                rated_v: Some(match (way, follows) {
                    (Way::High, false) => value.min(supply_v),
                    _ => value,
                }),
                rated_a,
                origin: origin(name, &figure),
            }
        }
        None => Output {
            open_v: rail_v,
            ohm: 0.0,
            rated_v: None,
            rated_a: None,
            origin: Origin::Assumed("an output with little load reaches its rail, common practice"),
        },
    }
}

/// What a pin stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Ratings {
    /// Never above this, V.
    pub maximum: Known,
    /// Never below this, V.
    pub minimum: Known,
    /// In use not above this, V, where the part says so.
    pub operating: Option<Known>,
    /// Current out of the line through the upper clamp that leaves everything
    /// else undisturbed, A, where the part says so.
    pub injection_a: Option<Known>,
    /// Current through the clamp that must never be exceeded, A.
    pub clamp_a: Option<Known>,
}

/// Limits of a pin of a part.
#[must_use]
pub fn ratings(part: &Part, fed: &Fed) -> Ratings {
    let tolerant = |plain: &'static str, own: &'static str| -> Vec<&'static str> {
        if fed.is_tolerant {
            vec![own, plain]
        } else {
            vec![plain]
        }
    };
    let upper = |names: &[&'static str]| {
        first(part, names, fed).and_then(|(name, f)| {
            Some(Known {
                value: f.max.or(f.typ)?,
                origin: origin(name, &f),
            })
        })
    };
    let maximum_names = tolerant("absolute-maximum-pin", "absolute-maximum-pin-tolerant");
    let has_clamp = !fed.is_tolerant && part.figure("clamp-current").is_some();
    let maximum = upper(&maximum_names)
        .or_else(|| {
            // Where the maker rates the clamp, the pin may reach it.
            has_clamp.then(|| Known {
                value: fed.own_v() + CLAMP_DROP_V,
                origin: Origin::Assumed(
                    "0.5 V across the clamp, whose current is rated, common practice",
                ),
            })
        })
        .or_else(|| upper(&["input-range"]))
        .unwrap_or(Known {
            value: fed.own_v() + USUAL_HEADROOM_V,
            origin: Origin::Assumed("0.3 V above the supply, common practice"),
        });
    let minimum = first(part, &maximum_names, fed)
        .and_then(|(name, f)| {
            Some(Known {
                value: f.min?,
                origin: origin(name, &f),
            })
        })
        .unwrap_or(Known {
            value: -USUAL_HEADROOM_V,
            origin: Origin::Assumed("0.3 V below ground, common practice"),
        });
    let operating = upper(&tolerant("operating-pin", "operating-pin-tolerant"))
        .or_else(|| upper(&["input-range"]))
        .or_else(|| {
            // Some data sheets print the range of an input beside its threshold.
            at(part, "input-high", fed).and_then(|f| {
                Some(Known {
                    value: f.min.and(f.max)?,
                    origin: origin("input-high", &f),
                })
            })
        });
    Ratings {
        maximum,
        minimum,
        operating,
        injection_a: upper(&tolerant("injection-current", "injection-current-tolerant")),
        clamp_a: upper(&["clamp-current"]),
    }
}

/// Largest current into an input, A; 0 where the part does not say.
#[must_use]
pub fn leakage_a(part: &Part, fed: &Fed) -> f64 {
    let names: &[&'static str] = if fed.is_tolerant {
        &["input-leakage-tolerant", "input-leakage"]
    } else {
        &["input-leakage"]
    };
    first(part, names, fed)
        .and_then(|(_, f)| f.max.or(f.typ).or(f.min))
        .map_or(0.0, f64::abs)
}

/// The low level of a driver that only pulls down, as [`output`], with what
/// the bus itself promises where the part says nothing; `sink_a` is what the
/// link says of its drivers.
#[must_use]
pub fn pull_down(part: &Part, fed: &Fed, sink_a: Option<f64>) -> Output {
    let own = output(part, fed, Way::Low);
    let is_light = own.rated_a.is_some_and(|a| a < LIGHT_LOAD_A);
    if own.origin.is_given()
        && !is_light
        && (own.ohm > 0.0 || part.figure("output-low-b").is_some())
    {
        return own;
    }
    let low_v = own
        .rated_v
        .filter(|v| !is_light && *v > 0.0)
        .unwrap_or(if fed.own_v() > 2.0 {
            USUAL_SINK_LOW_V
        } else {
            0.2 * fed.own_v()
        });
    let sink = part
        .figure("sink-current")
        .and_then(|f| f.min.or(f.typ).or(f.max))
        .or(sink_a)
        .filter(|a| *a > 0.0);
    let rated_a = sink.unwrap_or(USUAL_SINK_A);
    Output {
        open_v: 0.0,
        ohm: low_v / rated_a,
        rated_v: Some(low_v),
        rated_a: Some(rated_a),
        origin: if own.origin.is_given() && !is_light {
            own.origin
        } else {
            Origin::Assumed("low level at the sink current, UM10204 table 9")
        },
    }
}

/// What a level in plain volts is measured from, V.
fn rail_at_rating(way: Way, rated_supply_v: f64) -> f64 {
    match way {
        Way::High => rated_supply_v,
        Way::Low => 0.0,
    }
}
