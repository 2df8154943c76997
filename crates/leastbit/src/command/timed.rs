//! What `response`, `noise`, `schedule` and `course` have in common: their
//! picture, and how their answers are told.

use serde::Serialize;

use crate::arguments::Svg;
use crate::command::{budget, json, out};
use crate::{Ended, files};

/// Tells an answer as text or data and keeps its picture where one is asked
/// for. The picture comes first: where it cannot be kept, nothing is told.
pub(crate) fn tell<T: Serialize>(
    result: &T,
    ended: Ended,
    as_json: bool,
    svg: &Svg,
    sheet: impl FnOnce() -> draw::Sheet,
    text: impl FnOnce() -> String,
) -> Ended {
    if let Some(file) = &svg.file
        && let Err(fault) = files::write_whole(file, &sheet().svg(), svg.force)
    {
        anstream::eprintln!("{}: {fault}", file.display());
        return Ended::Unusable;
    }
    if as_json {
        return json(result, ended);
    }
    out(&text());
    if let Some(file) = &svg.file {
        out(&format!("\nPicture: {}\n", file.display()));
    }
    ended
}

/// Says that a board has no channel of a name.
pub(crate) fn no_channel(
    board: &std::path::Path,
    name: Option<&str>,
    fault: &verdict::BudgetFault,
) -> Ended {
    let verdict::BudgetFault::NoChannel(known) = fault;
    budget::no_channel(&board.display().to_string(), name.unwrap_or(""), known);
    Ended::Unusable
}
