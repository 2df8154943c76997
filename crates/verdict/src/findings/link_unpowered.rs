//! A part is off while others hold its lines high.

use finding::{Finding, Kind, Severity};
use report::number;
use system::levels::ends::CLAMP_DROP_V;
use system::levels::unpowered::Unpowered;

use super::{Entry, Scene};
use crate::link::volt;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "link.unpowered",
        severity: Severity::Fail,
        title: "A part is off while others hold its lines high",
        explanation: include_str!("pages/link.unpowered.md"),
    },
    look,
};

fn amps(a: f64) -> String {
    number::measured(a, "A", 3)
}

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    let mut said: Vec<(usize, usize)> = Vec::new();
    for u in &scene.system.levels.unpowered {
        // Of several lines to one part on one link the first is enough.
        if said.contains(&(u.link, u.device)) {
            continue;
        }
        said.push((u.link, u.device));
        found.extend(finding(kind, scene, u));
    }
}

fn finding(kind: &Kind, scene: &Scene<'_, '_>, u: &Unpowered) -> Option<Finding> {
    let link = scene.board.links.get(u.link)?;
    let device = scene.board.devices.get(u.device)?;
    let who = if u.driver.is_empty() {
        format!("pull-ups to {} hold", u.driver_rail)
    } else {
        format!("{} holds", u.driver)
    };
    let mut headline = format!(
        "{} is off with {} while {who} its lines at {}: its pins {} {} then",
        device.name,
        u.rail,
        volt(u.line_v),
        if u.beyond_maximum {
            "stand"
        } else {
            "are made for"
        },
        volt(u.stands.value)
    );
    if let (Some(one), Some(all)) = (u.line_a, u.total_a) {
        headline.push_str(&format!(
            "; {} flow into each of {} lines, {} in all",
            amps(one),
            u.lines,
            amps(all)
        ));
        if u.lines == 1 {
            headline = headline.replace(
                &format!(" flow into each of 1 lines, {} in all", amps(all)),
                " flow into it",
            );
        }
    }
    let severity = if u.is_broken() || u.lifts_rail() {
        Severity::Fail
    } else {
        Severity::Note
    };
    let mut f = Finding::new(kind, &link.name, headline)
        .severity(severity)
        .at(link.span)
        .at(device.span)
        .figure(
            "limit of its pins, supply at 0 V",
            volt(u.stands.value),
            u.stands.origin.text(),
        );
    if let Some(k) = &u.permitted_a {
        f = f.figure("current of a clamp", amps(k.value), k.origin.text());
    }
    if let (Some(ohm), Some(one)) = (u.ohm, u.line_a) {
        f = f.working(format!(
            "({} − {} − {}) / {} = {} ({} across the clamp, common practice; its supply comes to {})",
            volt(u.line_v),
            volt(u.off_v),
            volt(CLAMP_DROP_V),
            number::measured(ohm, "Ω", 3),
            amps(one),
            volt(CLAMP_DROP_V),
            volt(u.off_v)
        ));
    }
    if let Some(v) = u.held_v {
        f = f.working(format!(
            "its clamp holds the line at about {}: nobody else on it reads a high level",
            volt(v)
        ));
    }
    let draws = device
        .part
        .figure("supply-current")
        .and_then(|s| s.typ.or(s.max));
    if let (Some(all), Some(on)) = (u.total_a, draws)
        && all > on
    {
        f = f.working(format!(
            "switched on it would draw {}: off it takes more",
            amps(on)
        ));
    }
    if let (true, Some(all), Some(load)) = (u.lifts_rail(), u.total_a, u.load_a) {
        f = f.working(format!(
            "{} come into {}, which feeds {}: the rail rises until something else conducts, and its parts are half on",
            amps(all),
            u.rail,
            amps(load)
        ));
    }
    f = if u.driver.is_empty() {
        f.remedy(format!(
            "take the pull-ups to {}, so that they go off with it, if nobody else needs the bus then",
            u.rail
        ))
        .remedy(format!(
            "or a bus switch that opens while {} is off; a buffer in one direction does not help, the bus works both ways",
            u.rail
        ))
    } else {
        f.remedy(format!(
            "let the firmware hold {} low, or make it an input, before {} goes off",
            u.driver, u.rail
        ))
    };
    if let (Some(ohm), Some(k)) = (u.series_ohm, &u.permitted_a) {
        f = f.remedy(format!(
            "or {} in each line, with which no more than {} flow",
            number::about(ohm, "Ω"),
            amps(k.value)
        ));
    }
    f = f.remedy(format!(
        "or leave it powered: parts on {} stay on",
        u.driver_rail
    ));
    Some(f)
}
