//! `leastbit noise`.

use crate::arguments::Noise;
use crate::command::timed;
use crate::{Ended, files, show};

/// Shows what makes readings of a steady quantity differ.
pub(crate) fn run(a: &Noise) -> Ended {
    let Ok(mut input) = files::library(&a.parts.folders) else {
        return Ended::Unusable;
    };
    let Ok((board, _)) = files::board(&a.board, &mut input) else {
        return Ended::Unusable;
    };
    let name = a.channel.as_deref();
    match verdict::noise(&board, name, &input.sources) {
        Ok(result) => {
            let answered = result.channels.iter().any(|c| c.reason.is_empty());
            let ended = if answered { Ended::Met } else { Ended::NotMet };
            timed::tell(
                &result,
                ended,
                a.json,
                &a.svg,
                || draw::noise(&result),
                || show::noise(&result),
            )
        }
        Err(fault) => timed::no_channel(&a.board, name, &fault),
    }
}
