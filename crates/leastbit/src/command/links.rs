//! `leastbit links`.

use report::Verdict;

use crate::arguments::Links;
use crate::command::timed;
use crate::{Ended, files, show};

/// Shows how drivers and receivers understand each other.
pub(crate) fn run(a: &Links) -> Ended {
    let Ok(mut input) = files::library(&a.parts.folders) else {
        return Ended::Unusable;
    };
    let Ok((board, _)) = files::board(&a.board, &mut input) else {
        return Ended::Unusable;
    };
    let chosen = a.circumstances.scenario.as_deref();
    let Ok(board) = files::in_scenario(&a.board, board, chosen) else {
        return Ended::Unusable;
    };
    let result = verdict::links(&board, &input.sources);
    let failing = result.links.iter().any(|l| l.verdict == Verdict::Fails)
        || result
            .findings
            .iter()
            .any(|f| f.severity == finding::Severity::Fail);
    let ended = if failing { Ended::NotMet } else { Ended::Met };
    timed::tell(
        &result,
        ended,
        a.json,
        &a.svg,
        || draw::links(&result),
        || show::links(&result),
    )
}
