//! `leastbit schedule`.

use crate::arguments::Schedule;
use crate::command::timed;
use crate::{Ended, files, show};

/// Shows when converters read their channels and what settles.
pub(crate) fn run(a: &Schedule) -> Ended {
    let Ok(mut input) = files::library(&a.parts.folders) else {
        return Ended::Unusable;
    };
    let Ok((board, _)) = files::board(&a.board, &mut input) else {
        return Ended::Unusable;
    };
    let result = verdict::schedule(&board);
    let ended = if result.is_met() {
        Ended::Met
    } else {
        Ended::NotMet
    };
    timed::tell(
        &result,
        ended,
        a.json,
        &a.svg,
        || draw::schedule(&result),
        || show::schedule(&result),
    )
}
