//! `leastbit faults`.

use crate::arguments::Faults;
use crate::command::timed;
use crate::{Ended, files, show};

/// Shows what happens when a wire or a component breaks.
pub(crate) fn run(a: &Faults) -> Ended {
    let Ok((input, board)) = files::opened(&a.board, &a.parts, &a.circumstances) else {
        return Ended::Unusable;
    };
    let mut result = verdict::faults(&board, &input.sources);
    if let Some(name) = &a.channel {
        let known: Vec<String> = board.channels.iter().map(|c| c.name.clone()).collect();
        if !known.contains(name) {
            let fault = verdict::BudgetFault::NoChannel(known);
            return timed::no_channel(&a.board, Some(name), &fault);
        }
        result.channels.retain(|c| c.name == *name);
        result
            .findings
            .retain(|f| f.subjects.is_empty() || f.subjects.contains(name));
    }
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
        || draw::faults(&result),
        || show::fault_table(&result, a.components),
    )
}
