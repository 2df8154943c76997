//! Starter boards.

use std::fmt::Write as _;

use report::{Offered, Offers, Started};

use super::{ink, lines};

/// What a starter board can be made of.
pub(crate) fn offers(o: &Offers) -> String {
    let mut out = String::new();
    for (title, list) in [
        (
            "Controllers, carriers and converters (--controller)",
            &o.devices,
        ),
        ("Sensors (--sensor)", &o.sensors),
    ] {
        let _ = writeln!(out, "{}", ink::title(title));
        let rows: Vec<Vec<String>> = list.iter().map(row).collect();
        for line in lines::table(&rows, &[false, false]) {
            let _ = writeln!(out, "  {line}");
        }
        out.push('\n');
    }
    out.push_str(&ink::soft(
        "`leastbit parts show ID` has all figures of a part with their sources.",
    ));
    out.push('\n');
    out
}

fn row(o: &Offered) -> Vec<String> {
    vec![o.id.clone(), o.title.clone()]
}

/// What was written.
pub(crate) fn started(s: &Started) -> String {
    format!(
        "{}: {}\nNow: leastbit check {}\n",
        s.file,
        s.channels.join(", "),
        s.file
    )
}
