//! A rail gives more than it may, or nearly as much.

use finding::{Finding, Kind, Severity};
use report::{Verdict, number};
use system::rails::What;

use super::{Entry, Scene};
use crate::rails::{rows_of, spare};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "rail.over-limit",
        severity: Severity::Fail,
        title: "A rail gives more current than it may",
        explanation: include_str!("pages/rail.over-limit.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for (rail, row, verdict) in rows_of(scene.board, scene.system, &[What::Current]) {
        let Some(limit) = row.high else { continue };
        let ampere = |a: f64| number::about(a, "A");
        let over = row.value - limit;
        let headline = if verdict == Verdict::Fails {
            format!(
                "rail {} gives {} at most, {} more than the {} it may",
                rail.name,
                ampere(row.value),
                ampere(over),
                ampere(limit)
            )
        } else {
            format!(
                "rail {} gives {} at most, {} below the {} it may; {} should be left",
                rail.name,
                ampere(row.value),
                ampere(-over),
                ampere(limit),
                ampere(spare(scene.board, row))
            )
        };
        let keep = 1.0 - scene.board.judging.current_margin;
        let mut f = Finding::new(kind, &rail.name, headline)
            .severity(if verdict == Verdict::Fails {
                Severity::Fail
            } else {
                Severity::Thin
            })
            .at(row.span)
            .figure("limit", ampere(limit), row.source.clone())
            .working(row.working.clone())
            .remedy(format!(
                "a source, contacts and a regulator for {} or more",
                ampere(row.value / keep)
            ))
            .remedy(format!(
                "or loads of {} together at most",
                ampere(limit * keep)
            ));
        let longest = rail.power.bursts.iter().max_by(|a, b| {
            let charge = |x: &board::Burst| x.current_a * x.for_s;
            charge(a).total_cmp(&charge(b))
        });
        if let (Some(b), None) = (longest, &rail.power.reservoir)
            && over > 0.0
        {
            // What the source lacks for as long as the burst lasts.
            let drop = 0.05
                * scene
                    .system
                    .rails
                    .power
                    .rails
                    .iter()
                    .zip(&scene.board.rails)
                    .find(|(_, r)| r.name == rail.name)
                    .map_or(0.0, |(s, _)| s.usual_v);
            let farad = over.min(b.current_a) * b.for_s / drop;
            if let Some(c) = quantity::Series::E6.at_least(farad).filter(|_| drop > 0.0) {
                f = f.remedy(format!(
                    "or a reservoir of {} beside {}, which gives what the source lacks and falls by {} in {}",
                    number::about(c, "F"),
                    b.name,
                    number::about(drop, "V"),
                    number::about(b.for_s, "s")
                ));
            }
        }
        found.push(f);
    }
}
