//! `leastbit course`.

use quantity::Dimension;

use crate::arguments::{Course, Event};
use crate::command::timed;
use crate::{Ended, files, show};

/// Follows a channel's network in time.
pub(crate) fn run(a: &Course) -> Ended {
    let mut until_s = None;
    if let Some(text) = &a.until {
        match quantity::value(text, Dimension::TIME) {
            Ok(s) if s.value > 0.0 => until_s = Some(s.value),
            Ok(_) => {
                anstream::eprintln!("--until {text}: a course takes more than 0 s");
                return Ended::Unusable;
            }
            Err(fault) => {
                anstream::eprintln!("--until {text}: {}", fault.message);
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
    let event = match a.event {
        Event::Step => verdict::CourseEvent::Step,
        Event::PowerUp => verdict::CourseEvent::PowerUp,
    };
    match verdict::course(&board, &a.channel, event, until_s) {
        Ok(result) => {
            let ended = if result.reason.is_empty() {
                Ended::Met
            } else {
                Ended::NotMet
            };
            timed::tell(
                &result,
                ended,
                a.json,
                &a.svg,
                || draw::course(&result),
                || show::course(&result),
            )
        }
        Err(fault) => timed::no_channel(&a.board, Some(&a.channel), &fault),
    }
}
