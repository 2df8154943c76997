//! A digital sensor is warmed by what it draws while it converts.

use finding::{Finding, Kind, Severity};
use report::number::{amount, measured, share};

use super::{Entry, Scene};
use crate::words::error_unit;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "sensor.own-power",
        severity: Severity::Thin,
        title: "A digital sensor warms itself by converting",
        explanation: include_str!("pages/sensor.own-power.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for w in &scene.system.buses.warmings {
        let Some(channel) = scene.board.channels.get(w.channel) else {
            continue;
        };
        let (low, high) = channel.span.value;
        let Some(limit) = [low, high]
            .into_iter()
            .filter_map(|q| channel.limit_at(q))
            .reduce(f64::min)
        else {
            continue;
        };
        let allowed = scene.board.judging.self_heating * limit;
        if w.rise_k <= allowed {
            continue;
        }
        let unit = error_unit(channel);
        let show = |k: f64| measured(channel.unit.number_of_difference(k), unit, 2);
        let mut f = Finding::new(
            kind,
            &channel.name,
            format!(
                "{} warms itself by {}: {} in {} of the time, of ±{} permitted",
                w.name,
                show(w.rise_k),
                measured(w.active_w, "W", 2),
                share(w.duty),
                amount(channel.unit.number_of_difference(limit), unit)
            ),
        )
        .severity(if w.rise_k > limit {
            Severity::Fail
        } else {
            Severity::Thin
        })
        .at(channel.place)
        .at(scene.board.devices.get(w.device).map(|d| d.span));
        for (name, value, source) in &w.figures {
            f = f.figure(name, value.clone(), source.clone());
        }
        f = f.working(format!(
            "({} × {} + {} × {}) × {} = {}",
            measured(w.active_w, "W", 3),
            share(w.duty),
            measured(w.idle_w, "W", 3),
            share(1.0 - w.duty),
            measured(w.kelvin_per_w, "K/W", 3),
            show(w.rise_k)
        ));
        let most = (allowed / w.kelvin_per_w - w.idle_w) / (w.active_w - w.idle_w);
        if let Some(s) = w.conversion_s
            && most > 0.0
            && most < 1.0
        {
            f = f.remedy(format!(
                "convert at most {} times a second and let it sleep in between",
                quantity::plain(most / s, 3)
            ));
        } else {
            f = f.remedy("a better path for its heat, or less supply voltage".to_owned());
        }
        found.push(f);
    }
}
