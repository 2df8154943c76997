//! `leastbit response`.

use quantity::Dimension;

use crate::arguments::Response;
use crate::command::timed;
use crate::{Ended, files, show};

/// Shows how converters' inputs follow their sensors.
pub(crate) fn run(a: &Response) -> Ended {
    let mut asked_hz = Vec::new();
    for text in &a.at {
        match quantity::value(text, Dimension::FREQUENCY) {
            Ok(q) if q.value > 0.0 => asked_hz.push(q.value),
            Ok(_) => {
                anstream::eprintln!("--at {text}: a frequency is above 0 Hz");
                return Ended::Unusable;
            }
            Err(fault) => {
                anstream::eprintln!("--at {text}: {}", fault.message);
                return Ended::Unusable;
            }
        }
    }
    let Ok(mut input) = files::library(&a.parts.folders) else {
        return Ended::Unusable;
    };
    let Ok((board, _)) = files::board(&a.board, &mut input) else {
        return Ended::Unusable;
    };
    let name = a.channel.as_deref();
    match verdict::response(&board, name, &asked_hz) {
        Ok(result) => {
            let answered = result.channels.iter().any(|c| c.reason.is_empty());
            let ended = if answered { Ended::Met } else { Ended::NotMet };
            timed::tell(
                &result,
                ended,
                a.json,
                &a.svg,
                || draw::response(&result),
                || show::response(&result),
            )
        }
        Err(fault) => timed::no_channel(&a.board, name, &fault),
    }
}
