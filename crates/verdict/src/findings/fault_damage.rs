//! A fault destroys something.

use finding::{Finding, Kind, Severity};
use report::number;
use system::faults::{ChannelFaults, Damage, DamageKind, Row};

use super::{Entry, Scene};
use crate::faults::damage;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "fault.damage",
        severity: Severity::Fail,
        title: "A fault destroys a part",
        explanation: include_str!("pages/fault.damage.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for faults in &scene.system.faults.channels {
        let hurt = |row: &&Row| row.damage.iter().any(|d| !d.mild);
        let warm = |row: &&Row| !row.damage.is_empty() && row.damage.iter().all(|d| d.mild);
        let judged: Vec<&Row> = faults.rows.iter().filter(|r| r.judged).collect();
        for (rows, severity) in [
            (
                judged
                    .iter()
                    .copied()
                    .filter(|r| hurt(r))
                    .collect::<Vec<_>>(),
                Severity::Fail,
            ),
            (
                judged.iter().copied().filter(|r| warm(r)).collect(),
                Severity::Thin,
            ),
        ] {
            found.extend(finding(kind, scene, faults, &rows, severity));
        }
    }
}

/// The worst of a row: what is furthest beyond its limit.
fn worst(row: &Row) -> Option<&Damage> {
    row.damage.iter().max_by(|a, b| {
        let beyond = |d: &Damage| {
            if d.limit.abs() > 0.0 {
                (d.actual / d.limit).abs()
            } else {
                f64::INFINITY
            }
        };
        (!a.mild, beyond(a))
            .partial_cmp(&(!b.mild, beyond(b)))
            .unwrap_or(std::cmp::Ordering::Equal)
    })
}

fn finding(
    kind: &Kind,
    scene: &Scene<'_, '_>,
    faults: &ChannelFaults,
    rows: &[&Row],
    severity: Severity,
) -> Option<Finding> {
    let channel = scene.board.channels.get(faults.channel)?;
    let ratio = |row: &&&Row| {
        worst(row).map_or(0.0, |d| {
            if d.limit.abs() > 0.0 {
                (d.actual / d.limit).abs()
            } else {
                f64::MAX
            }
        })
    };
    let first = rows
        .iter()
        .max_by(|a, b| ratio(a).total_cmp(&ratio(b)))
        .copied()?;
    let most = worst(first)?;
    let more = match rows.len() {
        1 => String::new(),
        n => format!(" ({} more faults)", n - 1),
    };
    let mut f = Finding::new(
        kind,
        &channel.name,
        format!("{}: {}{more}", first.what, damage(most)),
    )
    .severity(severity)
    .at(first.span)
    .at(most.span.filter(|s| Some(*s) != first.span));
    for row in rows {
        let list: Vec<String> = row.damage.iter().map(damage).collect();
        f = f.working(format!("{}: {}", row.what, list.join("; ")));
    }
    let mut sources: Vec<(String, String, String)> = Vec::new();
    for d in rows.iter().flat_map(|r| &r.damage) {
        let value = number::amount(d.limit, d.unit);
        if !sources.iter().any(|s| s.0 == d.name && s.1 == value) {
            sources.push((d.name.clone(), value, d.source.clone()));
        }
    }
    for (name, value, source) in sources {
        f = f.figure(&format!("limit of {name}"), value, source);
    }
    for line in remedies(scene, faults, rows) {
        f = f.remedy(line);
    }
    Some(f)
}

fn remedies(scene: &Scene<'_, '_>, faults: &ChannelFaults, rows: &[&Row]) -> Vec<String> {
    let board = scene.board;
    let mut list = Vec::new();
    // One resistor for all: the largest that any of them asks for.
    let series = rows
        .iter()
        .filter_map(|r| system::faults::series(board, faults, r))
        .max_by(|a, b| a.ohm.total_cmp(&b.ohm));
    if let Some(s) = series {
        let ohm = number::amount(s.ohm, "Ω");
        let codes = s.leakage_codes.map_or_else(String::new, |c| {
            format!(", {} codes", quantity::plain(c, 2))
        });
        list.push(match &s.clamp_to {
            Some(rail) => format!(
                "a Schottky diode from the pin to {rail} and {ohm} (E24) more in series ahead of it: {} then flow into {rail}",
                number::measured(s.ampere, "A", 3)
            ),
            None => format!(
                "{ohm} (E24) more in series ahead of it: {} then flow",
                number::measured(s.ampere, "A", 3)
            ),
        });
        list.push(format!(
            "its price: {} by the pin’s leakage{codes}, {} it must stand, and a source resistance that `leastbit schedule` must still find settled",
            number::measured(s.leakage_v, "V", 2),
            number::measured(s.power_w, "W", 2),
        ));
    }
    let hot = rows
        .iter()
        .flat_map(|r| &r.damage)
        .filter(|d| d.kind == DamageKind::Power)
        .max_by(|a, b| a.actual.total_cmp(&b.actual));
    if let Some(d) = hot {
        let state = rows.iter().find_map(|r| r.state.as_ref());
        let volt = state.map_or(0.0, |s| s.head_v.high.abs().max(s.head_v.low.abs()));
        // P = V·I: what may flow at that voltage within the rating.
        let ampere = if volt > 0.0 { d.limit / volt } else { 0.0 };
        list.push(format!(
            "a part rated for {} in place of {}, or a fuse or a current limit below {} in the wire",
            number::measured(d.actual, "W", 2),
            d.name,
            number::measured(ampere.max(1e-6), "A", 2)
        ));
        if d.assumed {
            list.push(format!(
                "state what {} may take where it takes more than {}: power = \"…\"",
                d.name,
                number::amount(d.limit, "W")
            ));
        }
    }
    list
}
