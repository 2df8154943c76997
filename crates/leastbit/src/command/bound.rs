//! `leastbit bound`.

use verdict::{Ask, BoardFile, Sought, Vary};

use crate::arguments::{Bound, Part};
use crate::command::{json, out};
use crate::progress::Counter;
use crate::{Ended, files, show};

/// Shows how far one value of the board may go.
pub(crate) fn run(a: &Bound) -> Ended {
    let Ok(mut input) = files::library(&a.parts.folders) else {
        return Ended::Unusable;
    };
    let Ok((board, source)) = files::board(&a.board, &mut input) else {
        return Ended::Unusable;
    };
    let ask = Ask {
        path: &a.path,
        vary: match a.vary {
            Part::Value => Vary::Value,
            Part::Tolerance => Vary::Tolerance,
            Part::Drift => Vary::Drift,
            Part::Low => Vary::Low,
            Part::High => Vary::High,
        },
        channel: a.channel.as_deref(),
        sought: Sought::named(&a.result).unwrap_or_else(|| Sought::Check(a.result.clone())),
        limit: a.limit.as_deref(),
        largest: !a.smallest,
        from: a.from.as_deref(),
        to: a.to.as_deref(),
    };
    let counter = Counter::new("boards looked at");
    let result = verdict::bound(
        BoardFile {
            source,
            text: input.sources.text(source),
            library: &input.library,
            board,
        },
        &ask,
        &|n| counter.tell(n),
    );
    drop(counter);
    match result {
        Ok(result) => {
            let ended = if matches!(result.found, report::Found::Never) {
                Ended::NotMet
            } else {
                Ended::Met
            };
            if a.json {
                return json(&result, ended);
            }
            out(&show::bound(&result));
            ended
        }
        Err(fault) => {
            anstream::eprintln!("{}: {}", a.board.display(), fault.message);
            if !fault.expected.is_empty() {
                anstream::eprintln!("    expected: {}", fault.expected);
            }
            if let Some(near) = fault.suggestion {
                anstream::eprintln!("    did you mean: {near}");
            }
            Ended::Unusable
        }
    }
}
