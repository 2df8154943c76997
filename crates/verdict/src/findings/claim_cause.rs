//! A suspected cause is held against what was seen.

use board::{Channel, Claim, Claimed};
use finding::{Finding, Kind, Severity};
use report::number;

use super::{Entry, Scene};
use crate::claims::{self, Effect};
use crate::words;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "claim.cause",
        severity: Severity::Note,
        title: "A suspected cause is checked",
        explanation: include_str!("pages/claim.cause.md"),
    },
    look,
};

/// An effect this near to what was seen explains it, as a share: causes and
/// effects are read off instruments in a hurry (common practice).
const NEAR: f64 = 0.15;

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for claim in &scene.board.claims {
        let Some(channel) = scene.board.channels.get(claim.channel) else {
            continue;
        };
        if let Claimed::Causes { causes, error } = &claim.what {
            let effects = claims::effects(scene.board, claim, causes);
            found.push(match effects {
                Some(effects) => finding(
                    kind,
                    scene,
                    channel,
                    claim,
                    &effects,
                    error.as_ref().map(|e| e.value),
                ),
                None => Finding::new(
                    kind,
                    &channel.name,
                    "the claim cannot be checked: the channel has no model in these circumstances"
                        .to_owned(),
                )
                .at(claim.span),
            });
        }
    }
}

/// How an effect stands to what was seen.
enum Stands {
    /// It is as large.
    Explains,
    /// It is smaller, by a factor.
    Small(f64),
    /// It is larger, by a factor.
    Large(f64),
    /// It goes the other way.
    Other,
    /// It does nothing.
    Nothing,
}

fn stands(effect: f64, (low, high): (f64, f64)) -> Stands {
    let (near, far) = if low.abs() < high.abs() {
        (low, high)
    } else {
        (high, low)
    };
    if effect == 0.0 || !effect.is_finite() {
        Stands::Nothing
    } else if low * high > 0.0 && effect.signum() != near.signum() {
        Stands::Other
    } else if effect.abs() < near.abs() * (1.0 - NEAR) {
        Stands::Small(near.abs() / effect.abs())
    } else if effect.abs() > far.abs() * (1.0 + NEAR) {
        Stands::Large(effect.abs() / far.abs())
    } else {
        Stands::Explains
    }
}

fn named(e: &Effect) -> String {
    if e.way.is_empty() {
        e.cause.clone()
    } else {
        format!("{} ({})", e.cause, e.way)
    }
}

fn signed(channel: &Channel, si: f64) -> String {
    let text = words::size(channel, si, 2);
    if si > 0.0 { format!("+{text}") } else { text }
}

fn finding(
    kind: &Kind,
    scene: &Scene<'_, '_>,
    channel: &Channel,
    claim: &Claim,
    effects: &[Effect],
    seen: Option<(f64, f64)>,
) -> Finding {
    let head = if claim.name.is_empty() {
        String::new()
    } else {
        format!("\u{201c}{}\u{201d}: ", claim.name)
    };
    let at = |q: f64| words::value(channel, q);
    let most = |e: &Effect| {
        e.largest().map_or_else(
            || "leaves no reading".to_owned(),
            |(q, d)| {
                format!(
                    "moves the reading by {} at most (at {})",
                    signed(channel, d),
                    at(q)
                )
            },
        )
    };
    let mut sentences = Vec::new();
    let mut explained = false;
    let mut remedies = Vec::new();
    // Of the ways one cause can be taken the one that does most is told.
    let mut told: Vec<&Effect> = Vec::new();
    for e in effects {
        match told.iter_mut().find(|t| t.cause == e.cause) {
            Some(t) => {
                let size = |e: &Effect| e.largest().map_or(0.0, |p| p.1.abs());
                if size(e) > size(t) {
                    *t = e;
                }
            }
            None => told.push(e),
        }
    }
    for e in &told {
        let Some(range) = seen else {
            sentences.push(format!("{} {}", named(e), most(e)));
            continue;
        };
        // The place at which it comes nearest to what was seen.
        let best = e.points.iter().copied().min_by(|a, b| {
            let far = |d: f64| match stands(d, range) {
                Stands::Explains => 0.0,
                Stands::Small(f) | Stands::Large(f) => f,
                Stands::Other => 1e9,
                Stands::Nothing => 1e12,
            };
            far(a.1).total_cmp(&far(b.1))
        });
        let Some((q, d)) = best else { continue };
        let sentence = match stands(d, range) {
            Stands::Explains => {
                explained = true;
                format!(
                    "{} explains it: it moves the reading by {} at {}",
                    named(e),
                    signed(channel, d),
                    at(q)
                )
            }
            Stands::Small(f) => {
                let target = if range.0.abs() < range.1.abs() {
                    range.0
                } else {
                    range.1
                };
                if let Some(v) = claims::needed_v(scene.board, claim, e, q, target) {
                    remedies.push(format!(
                        "{} at {} would take {} instead of {}",
                        signed(channel, target),
                        at(q),
                        number::measured(v, "V", 2),
                        number::amount(e.shift_v.unwrap_or(0.0), "V")
                    ));
                }
                format!(
                    "{} is too small by a factor of {}: it {}",
                    named(e),
                    quantity::plain(f, 2),
                    most(e)
                )
            }
            Stands::Large(f) => format!(
                "{} is too large by a factor of {}: it {}",
                named(e),
                quantity::plain(f, 2),
                most(e)
            ),
            Stands::Other => format!("{} goes the other way: it {}", named(e), most(e)),
            Stands::Nothing => format!("{} does not move the reading", named(e)),
        };
        sentences.push(sentence);
    }
    let end = match seen {
        Some((low, high)) => {
            let range = if low == high {
                signed(channel, low)
            } else {
                format!("{} to {}", signed(channel, low), signed(channel, high))
            };
            if explained {
                format!("; seen: {range}")
            } else {
                format!("; it does not explain the {range} that were seen")
            }
        }
        None => String::new(),
    };
    let mut f = Finding::new(
        kind,
        &channel.name,
        format!("{head}{}{end}", sentences.join("; ")),
    )
    .at(claim.span);
    for e in effects {
        let list: Vec<String> = e
            .points
            .iter()
            .map(|&(q, d)| format!("{} at {}", signed(channel, d), at(q)))
            .collect();
        f = f.working(format!("{}: {}", named(e), list.join(", ")));
    }
    for line in remedies {
        f = f.remedy(line);
    }
    if seen.is_some() && !explained {
        f = f.remedy(
            "find out next: the voltage between the converter's own input pins (signal and its ground) while it happens, which reference the converter compares against, and the resistors as fitted"
                .to_owned(),
        );
    }
    f
}
