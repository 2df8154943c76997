//! `leastbit links`.

use report::Verdict;

use crate::arguments::Links;
use crate::command::timed;
use crate::{Ended, files, show};

/// Shows how drivers and receivers understand each other.
pub(crate) fn run(a: &Links) -> Ended {
    let Ok((input, board)) = files::opened(&a.board, &a.parts, &a.circumstances) else {
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
