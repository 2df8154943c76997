//! `leastbit rails`.

use report::Verdict;

use crate::arguments::Rails;
use crate::command::timed;
use crate::{Ended, files, show};

/// Shows what rails carry, what gets warm and what shared returns do.
pub(crate) fn run(a: &Rails) -> Ended {
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
    let result = verdict::rails(&board, &input.sources);
    let failing = result.rails.iter().any(|r| r.verdict == Verdict::Fails)
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
        || draw::rails(&result),
        || show::rails(&result),
    )
}
