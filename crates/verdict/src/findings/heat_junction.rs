//! Something gets warmer inside than it may.

use board::RailSource;
use finding::{Finding, Kind, Severity};
use report::{Verdict, number};

use super::{Entry, Scene};
use crate::rails::{celsius, junction_stands, junction_working};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "heat.junction",
        severity: Severity::Fail,
        title: "A part gets warmer inside than it may",
        explanation: include_str!("pages/heat.junction.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    let hot = scene.board.conditions.ambient_k.1;
    for heat in &scene.system.heat {
        let (Some(verdict), Some(kelvin)) = (junction_stands(scene.board, heat), heat.junction_k)
        else {
            continue;
        };
        let severity = match verdict {
            Verdict::Fails => Severity::Fail,
            Verdict::Thin => Severity::Thin,
            _ => continue,
        };
        let shown = |k: f64| format!("{} °C", quantity::plain(celsius(k), 4));
        let over = kelvin - heat.limit_k;
        let headline = if severity == Severity::Fail {
            format!(
                "{} reaches {} inside at {} around it, {} above the {} it may",
                heat.source,
                shown(kelvin),
                shown(hot),
                number::about(over, "K"),
                shown(heat.limit_k)
            )
        } else {
            format!(
                "{} reaches {} inside at {} around it, only {} below the {} it may",
                heat.source,
                shown(kelvin),
                shown(hot),
                number::about(-over, "K"),
                shown(heat.limit_k)
            )
        };
        let target = (heat.limit_k - hot - scene.board.judging.junction_margin_k).max(0.0);
        let mut f = Finding::new(kind, &heat.name, headline)
            .severity(severity)
            .at(heat.span)
            .figure(
                "thermal resistance",
                number::about(heat.resistance.1, "K/W"),
                heat.resistance_source.clone(),
            )
            .figure("limit", shown(heat.limit_k), heat.limit_source.clone())
            .working(junction_working(hot, heat));
        if let Some(rail) = heat.rail.and_then(|i| scene.board.rails.get(i))
            && let RailSource::Regulator { from, .. } = &rail.source
            && let (Some(own), Some(fed)) = (
                heat.rail
                    .and_then(|i| scene.system.rails.power.rails.get(i)),
                scene.system.rails.power.rails.get(*from),
            )
            && let (Some(out), Some(input)) = (own.free, fed.free)
        {
            let drop = input.high_v - out.low_v;
            f = f.working(format!(
                "({} − {}) · {} and what it takes itself: {}",
                number::about(input.high_v, "V"),
                number::about(out.low_v, "V"),
                number::about(own.most_a, "A"),
                number::about(heat.watt.2, "W")
            ));
            if let Some(most) = heat.most_w.filter(|_| drop > 0.0) {
                f = f.working(format!(
                    "the limit itself is reached at {}",
                    number::about(most / drop, "A")
                ));
            }
            if drop > 0.0 {
                f = f.remedy(format!(
                    "draw {} from rail {} at most",
                    number::about(target / heat.resistance.1 / drop, "A"),
                    rail.name
                ));
            }
            if own.most_a > 0.0 {
                let feed = out.low_v + target / heat.resistance.1 / own.most_a;
                if feed > out.high_v {
                    f = f.remedy(format!(
                        "or feed it from {} at most",
                        number::about(feed, "V")
                    ));
                }
            }
        }
        f = f.remedy(format!(
            "or carry its heat away through {} or less, with copper, a larger package or a heat sink",
            number::about(target / heat.watt.2, "K/W")
        ));
        found.push(f);
    }
}
