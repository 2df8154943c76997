//! `leastbit rails`.

use report::Verdict;

use crate::arguments::Rails;
use crate::command::timed;
use crate::{Ended, files, show};

/// Shows what rails carry, what gets warm and what shared returns do.
pub(crate) fn run(a: &Rails) -> Ended {
    let Ok((input, board)) = files::opened(&a.board, &a.parts, &a.circumstances) else {
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
