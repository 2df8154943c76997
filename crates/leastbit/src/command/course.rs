//! `leastbit course`.

use quantity::Dimension;

use crate::arguments::{Course, Event};
use crate::command::timed;
use crate::{Ended, files, show};

/// Follows a channel's network in time.
pub(crate) fn run(a: &Course) -> Ended {
    let (Ok(until_s), Ok(lasts_s)) = (
        seconds("--until", "a course", a.until.as_deref()),
        seconds("--lasts", "a burst", a.lasts.as_deref()),
    ) else {
        return Ended::Unusable;
    };
    let Ok(mut input) = files::library(&a.parts.folders) else {
        return Ended::Unusable;
    };
    let Ok((board, _)) = files::board(&a.board, &mut input) else {
        return Ended::Unusable;
    };
    let event = match a.event {
        Event::Step => verdict::CourseEvent::Step,
        // Without a length there is nothing to follow but the step.
        Event::Burst => lasts_s.map_or(verdict::CourseEvent::Step, verdict::CourseEvent::Burst),
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

/// A time above zero, s; says what is wrong with it.
fn seconds(option: &str, what: &str, text: Option<&str>) -> Result<Option<f64>, ()> {
    let Some(text) = text else {
        return Ok(None);
    };
    match quantity::value(text, Dimension::TIME) {
        Ok(s) if s.value > 0.0 => Ok(Some(s.value)),
        Ok(_) => {
            anstream::eprintln!("{option} {text}: {what} takes more than 0 s");
            Err(())
        }
        Err(fault) => {
            anstream::eprintln!("{option} {text}: {}", fault.message);
            Err(())
        }
    }
}
