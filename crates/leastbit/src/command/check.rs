//! `leastbit check`.

use crate::arguments::Check;
use crate::command::timed;
use crate::progress::Teller;
use crate::{Ended, files, show};

/// Judges every channel of a board.
pub(crate) fn run(a: &Check) -> Ended {
    let Ok((input, board)) = files::opened(&a.board, &a.parts, &a.circumstances) else {
        return Ended::Unusable;
    };
    let teller = Teller::new(board.channels.len());
    let result = verdict::check(&board, &input.sources, &|channel, p| {
        teller.tell(channel, p);
    });
    drop(teller);
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
        || draw::board(&result),
        || show::check(&result, a.brief),
    )
}
