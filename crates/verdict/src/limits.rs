//! What must hold for a channel's numbers to be meant, looked at over all
//! conditions and limits.

use board::Judging;
use chain::channel::Check;
use finding::{Finding, Kind, Severity};
use report::number;
use tape::{Point, Reading, Tape};
use uncertainty::{Model, smallest_case};

use crate::findings::Scene;
use crate::judge::{Judged, conditions};
use crate::study::Study;

/// A check with what was found: everything nominal, and with every figure at
/// the limit that hurts.
pub(crate) struct Looked<'b> {
    pub check: &'b Check,
    /// Smallest margin over the conditions with everything nominal, and what
    /// belongs to it.
    pub nominal: Side,
    /// Smallest margin found over conditions and limits.
    pub worst: Side,
    /// Value of the quantity at which the check begins or ceases to hold,
    /// everything nominal and else as usual; SI.
    pub from: Option<f64>,
    /// The same with every figure at the limit that hurts.
    pub worst_from: Option<f64>,
    /// It does not hold at the low end of the span rather than at the high
    /// one.
    pub at_low_end: bool,
}

impl Looked<'_> {
    /// `, while the voltage is below 0.24 mV`: where it does not hold.
    pub fn where_not(&self, study: &Study<'_>, from: Option<f64>) -> String {
        match from {
            Some(q) if self.at_low_end => format!(
                ", while the {} is below {}",
                study.channel.quantity,
                study.value(q)
            ),
            Some(q) => format!(
                ", while the {} is above {}",
                study.channel.quantity,
                study.value(q)
            ),
            None => String::new(),
        }
    }
}

/// A check's numbers at one set of inputs.
#[derive(Clone, Debug)]
pub(crate) struct Side {
    pub margin: f64,
    pub actual: f64,
    pub limit: f64,
    /// The further value that explains the check, if there is one.
    pub working: Option<f64>,
    /// Conditions.
    pub at: Vec<f64>,
}

/// Outputs of a check by itself, in the order in which it asks for them.
const MARGIN: usize = 0;
const ACTUAL: usize = 1;
const LIMIT: usize = 2;
const WORKING: usize = 3;

fn side(study: &Study<'_>, check: &Check, own: &Tape, inputs: &[f64]) -> Side {
    let mut point = Point::default();
    point.evaluate(own, inputs, Reading::Smooth);
    side_at(study, check, own, inputs, &point)
}

/// A check at inputs where its tape has been evaluated.
fn side_at(study: &Study<'_>, check: &Check, own: &Tape, inputs: &[f64], point: &Point) -> Side {
    let output = |n: usize| point.output(own, n);
    Side {
        margin: output(MARGIN),
        actual: output(ACTUAL),
        limit: output(LIMIT),
        working: (check.working != check.margin).then(|| output(WORKING)),
        at: study
            .model
            .conditions()
            .into_iter()
            .filter_map(|i| inputs.get(i).copied())
            .collect(),
    }
}

/// How far beyond its limit a check's value may lie, in its unit.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Spare {
    /// So far there is nothing to tell.
    pub silent: f64,
    /// So far it is met with nothing left.
    pub borne: f64,
}

/// A hundredth of the thermal voltage kT/q at 27 °C, V. The currents of an
/// input stage follow its voltages over kT/q or wider, and so does the end of
/// its range, whose stated value is a round number at the edge of that: one
/// hundredth of it changes a current by one in a hundred.
const OF_THERMAL_VOLTAGE: f64 = 0.26e-3;
/// Voltage beyond a supply at which the junctions of a pin carry nothing that
/// matters: 0.1 V is e⁴ = 50 times the saturation current, femtoamperes to
/// picoamperes (common practice; ratings usually end at 0.3 V).
const JUNCTION_V: f64 = 0.1;

/// How far beyond the limit a check is met all the same.
///
/// Where a converter's input range ends with its scale, what lies beyond
/// reads as the last code; that error is in the budget and what is lost of
/// the span has a finding of its own. So only the pin counts, and only on
/// boards off the nominal.
pub(crate) fn spare(study: &Study<'_>, looked: &Looked<'_>) -> Spare {
    match looked.check.kind {
        "input-low" | "input-high" => Spare {
            silent: OF_THERMAL_VOLTAGE,
            borne: OF_THERMAL_VOLTAGE,
        },
        "input-range-low" | "input-range-high" => {
            let (Some(signal), Some((first, last))) = (study.signal(), study.codes) else {
                return Spare::default();
            };
            let scale = (signal.scale_high - signal.scale_low).abs();
            let code = scale / (last - first).abs().max(1.0);
            let end = if looked.check.kind == "input-range-low" {
                signal.scale_low.min(signal.scale_high)
            } else {
                signal.scale_low.max(signal.scale_high)
            };
            let with_the_scale = (looked.nominal.limit - end).abs() <= code;
            if with_the_scale && looked.nominal.margin >= -1e-9 * scale {
                Spare {
                    silent: 0.5 * code,
                    borne: JUNCTION_V,
                }
            } else {
                Spare::default()
            }
        }
        _ => Spare::default(),
    }
}

/// Looks at one check.
pub(crate) fn look<'b>(study: &Study<'_>, check: &'b Check) -> Looked<'b> {
    // Most checks need little of the channel.
    let own = study
        .model
        .tape
        .only(&[check.margin, check.actual, check.limit, check.working]);
    let places = study.model.conditions();
    let mut inputs = own.nominal_inputs().to_vec();
    let mut nominal: Option<Side> = None;
    let mut room = 0.0_f64;
    let mut slopes = vec![0.0; inputs.len()];
    let mut point = Point::default();
    for conditions in study.model.grid() {
        for (&i, &x) in places.iter().zip(&conditions) {
            if let Some(input) = inputs.get_mut(i) {
                *input = x;
            }
        }
        point.evaluate(&own, &inputs, Reading::Smooth);
        let here = side_at(study, check, &own, &inputs, &point);
        // How far the limits of the inputs can move the margin, to first
        // order.
        point.gradient(&own, MARGIN, Reading::Smooth, &mut slopes);
        let moved: f64 = study
            .model
            .inputs
            .iter()
            .zip(&slopes)
            .zip(&inputs)
            .filter(|((i, _), _)| i.cornered && i.role != uncertainty::Role::Condition)
            .map(|((i, slope), &x)| {
                let (low, high) = i.corners();
                slope.abs() * (high - x).abs().max((x - low).abs())
            })
            .sum();
        room = room.max(moved);
        if nominal.as_ref().is_none_or(|n| !(here.margin >= n.margin)) {
            nominal = Some(here);
        }
    }
    let nominal = nominal.unwrap_or_else(|| side(study, check, &own, &inputs));
    // Far from its limit the corners need no search.
    let far = nominal.margin > 2.0 * room + 0.25 * nominal.limit.abs();
    let mut worst_inputs = None;
    let worst = if far {
        Side {
            margin: nominal.margin - room,
            ..nominal.clone()
        }
    } else {
        let model = Model {
            inputs: study.model.inputs.clone(),
            tape: own,
            error: MARGIN,
            limit: None,
        };
        smallest_case(&model).map_or_else(
            |_| nominal.clone(),
            |found| {
                let side = side(study, check, &model.tape, &found.inputs);
                worst_inputs = Some(found.inputs);
                side
            },
        )
    };
    let (low, high) = study.channel.span.value;
    let at = worst.at.first().copied().unwrap_or(high);
    Looked {
        check,
        // A margin that is above zero all over the grid crosses it nowhere.
        from: (!(nominal.margin > 0.0))
            .then(|| study.crossing(check.margin, 0.0))
            .flatten(),
        worst_from: worst_inputs.and_then(|i| study.crossing_with(&i, check.margin, 0.0)),
        at_low_end: (at - low).abs() < (at - high).abs(),
        nominal,
        worst,
    }
}

/// How one kind of check is talked about.
pub(crate) struct Talk {
    /// The check's kind, as the chain names it.
    pub check: &'static str,
    /// Unit of what is compared.
    pub unit: &'static str,
    /// What is compared, for example `the reference`.
    pub actual: &'static str,
    /// What it is compared with, for example `the least it works with`.
    pub limit: &'static str,
    /// Margin below which a check that holds is thin, as a share of the
    /// limit; zero for none.
    pub thin: fn(&Judging) -> f64,
    /// More of what there is to say about it, after the comparison.
    pub working: fn(&Looked<'_>, &Study<'_>) -> Vec<String>,
    /// What to do, from the worst numbers and the check.
    pub remedies: fn(&Looked<'_>, &Study<'_>) -> Vec<String>,
    /// What is compared is what an ideal stage would need (the check's further
    /// value) and not what it really does.
    pub needed: bool,
    /// Whether another finding says it better.
    pub skip: fn(&Looked<'_>, &Study<'_>) -> bool,
}

/// A talk with nothing more to say than the comparison.
pub(crate) const PLAIN: Talk = Talk {
    check: "",
    unit: "V",
    actual: "",
    limit: "",
    thin: |_| 0.0,
    working: |_, _| Vec::new(),
    remedies: |_, _| Vec::new(),
    needed: false,
    skip: |_, _| false,
};

/// Findings of all checks that some talk is about and that do not hold.
pub(crate) fn findings(
    kind: &Kind,
    scene: &Scene<'_, '_>,
    talks: &[Talk],
    found: &mut Vec<Finding>,
) {
    for judged in scene.judged {
        let Some(study) = &judged.study else {
            continue;
        };
        for check in &study.checks {
            let Some(talk) = talks.iter().find(|t| t.check == check.kind) else {
                continue;
            };
            let looked = look(study, check);
            if !(talk.skip)(&looked, study) {
                found.extend(finding(kind, talk, judged, study, &looked));
            }
        }
    }
}

/// The same of checks that belong to the board and not to a channel: where
/// several channels see the same check of the same name, the worst one speaks
/// for all, so that it is told once.
pub(crate) fn shared_findings(
    kind: &Kind,
    scene: &Scene<'_, '_>,
    talks: &[Talk],
    found: &mut Vec<Finding>,
) {
    let mut all: Vec<(&Judged<'_>, &Study<'_>, &Talk, Looked<'_>)> = Vec::new();
    for judged in scene.judged {
        let Some(study) = &judged.study else {
            continue;
        };
        for check in &study.checks {
            if let Some(talk) = talks.iter().find(|t| t.check == check.kind) {
                all.push((judged, study, talk, look(study, check)));
            }
        }
    }
    for (judged, _, talk, looked) in &all {
        let same =
            |l: &Looked<'_>| l.check.kind == looked.check.kind && l.check.name == looked.check.name;
        let speaker = all
            .iter()
            .filter(|(.., l)| same(l))
            .min_by(|(.., a), (.., b)| a.worst.margin.total_cmp(&b.worst.margin));
        if let Some((_, study, _, worst)) = speaker {
            found.extend(finding(kind, talk, judged, study, worst));
        }
    }
}

fn finding(
    kind: &Kind,
    talk: &Talk,
    judged: &Judged<'_>,
    study: &Study<'_>,
    looked: &Looked<'_>,
) -> Option<Finding> {
    let compared = |side: &Side| Side {
        actual: if talk.needed {
            side.working.unwrap_or(side.actual)
        } else {
            side.actual
        },
        ..side.clone()
    };
    let (worst, nominal) = (&compared(&looked.worst), &compared(&looked.nominal));
    let spare = spare(study, looked);
    let rounding = 1e-9 * worst.limit.abs();
    let fails = !(worst.margin >= -rounding - spare.borne);
    let wanted = (talk.thin)(&study.board.judging) * worst.limit.abs();
    let thin = (wanted > 0.0 && worst.margin < wanted) || worst.margin < -rounding - spare.silent;
    if !fails && !thin {
        return None;
    }
    let least = 1e-9 * worst.limit.abs().max(worst.actual.abs());
    let show = |x: f64| number::measured(if x.abs() < least { 0.0 } else { x }, talk.unit, 4);
    let beyond = if worst.actual < worst.limit {
        "below"
    } else {
        "above"
    };
    // What is met to the last digit is met.
    let always = !(nominal.margin >= -1e-9 * nominal.limit.abs());
    let headline = if fails {
        let from = if always {
            looked.where_not(study, looked.from)
        } else {
            format!(
                " on the worst board{}",
                looked.where_not(study, looked.worst_from)
            )
        };
        let shown = if always { nominal } else { worst };
        format!(
            "{}: {} is {}, {beyond} {} of {}{from}",
            looked.check.name,
            talk.actual,
            show(shown.actual),
            talk.limit,
            show(shown.limit),
        )
    } else if worst.margin < -rounding {
        format!(
            "{}: {} is {}, just {beyond} {} of {} on the worst board{}",
            looked.check.name,
            talk.actual,
            show(worst.actual),
            talk.limit,
            show(worst.limit),
            looked.where_not(study, looked.worst_from),
        )
    } else {
        format!(
            "{}: {} is {} on the worst board, close to {} of {}",
            looked.check.name,
            talk.actual,
            show(worst.actual),
            talk.limit,
            show(worst.limit),
        )
    };
    let at: Vec<String> = conditions(study, &worst.at)
        .iter()
        .map(|c| format!("{} {}", c.name, number::amount(c.value, &c.unit)))
        .collect();
    let mut f = Finding::new(kind, &judged.channel.name, headline)
        .severity(if fails { kind.severity } else { Severity::Thin })
        .at(looked.check.span)
        .at(judged
            .channel
            .reference
            .as_ref()
            .map(|r| r.span)
            .filter(|_| looked.check.span.is_none()))
        .figure(talk.limit, show(worst.limit), looked.check.source.clone())
        .working(format!(
            "everything nominal: {} − {} = {}",
            show(nominal.actual),
            show(nominal.limit),
            show(nominal.actual - nominal.limit)
        ))
        .working(format!(
            "every figure at the limit that hurts, at {}: {} − {} = {}",
            at.join(", "),
            show(worst.actual),
            show(worst.limit),
            show(worst.actual - worst.limit)
        ));
    for line in (talk.working)(looked, study) {
        f = f.working(line);
    }
    for line in (talk.remedies)(looked, study) {
        f = f.remedy(line);
    }
    Some(f)
}
