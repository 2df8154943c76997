//! `leastbit interference`.

use quantity::Dimension;
use verdict::SeenTone;

use crate::arguments::Interference;
use crate::command::budget::no_channel;
use crate::command::{json, out};
use crate::{Ended, files, show};

/// Shows what disturbing tones leave in the readings.
pub(crate) fn run(a: &Interference) -> Ended {
    let seen = match a.seen.as_deref().map(tone) {
        None => None,
        Some(Ok(seen)) => Some(seen),
        Some(Err(text)) => {
            anstream::eprintln!("--seen {text}");
            anstream::eprintln!(
                "    expected: a frequency such as \"5.5 Hz\" or \"5.5 Hz ± 0.1 Hz\""
            );
            return Ended::Unusable;
        }
    };
    let Ok(mut input) = files::library(&a.parts.folders) else {
        return Ended::Unusable;
    };
    let Ok((board, _)) = files::board(&a.board, &mut input) else {
        return Ended::Unusable;
    };
    match verdict::interference(&board, a.channel.as_deref(), seen) {
        Ok(result) => {
            let ended = if result.channels.is_empty() {
                Ended::NotMet
            } else {
                Ended::Met
            };
            if a.json {
                return json(&result, ended);
            }
            out(&show::interference(&result));
            ended
        }
        Err(verdict::BudgetFault::NoChannel(known)) => {
            let name = a.channel.as_deref().unwrap_or("");
            no_channel(&a.board.display().to_string(), name, &known);
            Ended::Unusable
        }
    }
}

/// A frequency with how well it is known.
fn tone(text: &str) -> Result<SeenTone, String> {
    let v = quantity::valued(text, Dimension::FREQUENCY).map_err(|f| format!("\"{text}\": {f}"))?;
    if !(v.nominal >= 0.0 && v.nominal.is_finite()) {
        return Err(format!("\"{text}\" is no frequency"));
    }
    let tolerance_hz = v.tolerance.map(|t| {
        let (low, high) = t.limits(v.nominal);
        (v.nominal - low).abs().max((high - v.nominal).abs())
    });
    Ok(SeenTone {
        hz: v.nominal,
        tolerance_hz,
    })
}
