//! `leastbit budget`.

use crate::arguments::Budget;
use crate::command::{json, out};
use crate::progress::Teller;
use crate::{Ended, files, show};

/// Shows where one channel's error comes from.
pub(crate) fn run(a: &Budget) -> Ended {
    let Ok((input, board)) = files::opened(&a.board, &a.parts, &a.circumstances) else {
        return Ended::Unusable;
    };
    let teller = Teller::new(board.channels.len());
    let result = verdict::budget(&board, &a.channel, &input.sources, &|p| {
        teller.tell(&a.channel, p);
    });
    drop(teller);
    match result {
        Ok(result) => {
            let ended = if result.channel.verdict.is_met() {
                Ended::Met
            } else {
                Ended::NotMet
            };
            if a.json {
                return json(&result, ended);
            }
            out(&show::budget(&result, a.working, board.judging.probability));
            ended
        }
        Err(verdict::BudgetFault::NoChannel(known)) => {
            no_channel(&a.board.display().to_string(), &a.channel, &known);
            Ended::Unusable
        }
    }
}

/// Says that a board has no channel of a name.
pub(crate) fn no_channel(file: &str, name: &str, known: &[String]) {
    anstream::eprintln!("{file}: the board has no channel `{name}`");
    anstream::eprintln!("    expected: one of {}", known.join(", "));
    if let Some(near) = finding::nearest_of(name, known.iter().map(String::as_str)) {
        anstream::eprintln!("    did you mean: {near}");
    }
}
