//! Faults of wires and components: a table for each channel.

use report::{FaultChannel, FaultRow, Faults, Verdict, number};

use super::without;
use crate::{Picture, Sheet, Table, TableRow};

/// The sheet of faults: for each channel what every fault does, and whether
/// the firmware can tell.
#[must_use]
pub fn faults(f: &Faults) -> Sheet {
    let mut pictures = Vec::new();
    for c in f.channels.iter().filter(|c| c.reason.is_empty()) {
        pictures.push(Picture::Table(table(c)));
    }
    let none = f.channels.iter().map(|c| (&*c.name, &*c.reason));
    pictures.extend(without(none).map(Picture::Words));
    let rows = || f.channels.iter().flat_map(|c| &c.rows);
    let count = |test: &dyn Fn(&&FaultRow) -> bool| rows().filter(|r| test(r)).count();
    let description = format!(
        "{} faults of {} channels: {} fail, {} read like a value, {} are told.",
        rows().count(),
        f.channels.len(),
        count(&|r| r.verdict == Verdict::Fails),
        count(&|r| r.told == "reads like a value"),
        count(&|r| r.told == "told"),
    );
    Sheet {
        title: format!("{}: faults", f.board),
        lead: description.clone(),
        description,
        pictures,
    }
}

fn table(c: &FaultChannel) -> Table {
    Table {
        heading: c.name.clone(),
        kinds: [
            "told or harmless",
            "reads like a value",
            "fails",
            "need not be stood",
        ]
        .map(str::to_owned)
        .to_vec(),
        columns: [
            ("fault", 0.3),
            ("pins and heat", 0.34),
            ("what the firmware sees", 0.36),
        ]
        .map(|(h, w)| (h.to_owned(), w))
        .to_vec(),
        rows: c
            .rows
            .iter()
            .filter(|r| r.kind != "components" || r.judged || !r.damage.is_empty())
            .map(|r| row(c, r))
            .collect(),
    }
}

fn row(c: &FaultChannel, r: &FaultRow) -> TableRow {
    let kind = match (r.verdict, r.told.as_str()) {
        (Verdict::Fails, _) => 2,
        (Verdict::Fragment, _) => 3,
        (_, "reads like a value") => 1,
        _ => 0,
    };
    let mut bears: Vec<String> = r
        .pins
        .iter()
        .map(|p| format!("{} {}", p.name, number::measured(p.volt.nominal, "V", 3)))
        .collect();
    bears.extend(
        r.into_rails
            .iter()
            .map(|(rail, a)| format!("{} into {rail}", number::measured(*a, "A", 3))),
    );
    if let Some((name, watt)) = &r.hottest
        && *watt > 0.01
    {
        bears.push(format!("{name} {}", number::measured(*watt, "W", 3)));
    }
    bears.extend(r.damage.iter().cloned());
    let mut sees = Vec::new();
    if let Some(code) = &r.code {
        sees.push(format!("code {}", number::count(code.nominal)));
    }
    if let Some(reading) = r.reading.filter(|x| x.nominal.is_finite()) {
        sees.push(format!("reads {}", number::about(reading.nominal, &c.unit)));
    }
    sees.push(if r.how.is_empty() {
        r.told.clone()
    } else {
        format!("{}: {}", r.told, r.how)
    });
    let seen = if r.reason.is_empty() {
        sees.join(", ")
    } else {
        r.reason.clone()
    };
    TableRow {
        kind,
        cells: vec![r.what.clone(), bears.join("; "), seen],
    }
}
