//! A pin lacks the function its user needs.

use finding::{Kind, Severity};
use system::pins::Trouble;

use super::{Entry, Scene};
use crate::pin::{about, instead, list, troubles, usage};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "pin.no-function",
        severity: Severity::Fail,
        title: "A pin cannot do what is asked of it",
        explanation: include_str!("pages/pin.no-function.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<finding::Finding>) {
    for (device, d, t) in troubles(scene.board, scene.system) {
        let Trouble::NoFunction {
            usage: i,
            has,
            others,
        } = t
        else {
            continue;
        };
        let Some(u) = usage(d, *i) else {
            continue;
        };
        let can = if has.is_empty() {
            "has no special function".to_owned()
        } else {
            format!("can be {}", list(has))
        };
        let headline = format!(
            "{} needs {} and is at {device}.{}, which {can}",
            u.user,
            list(&u.functions).replace(", ", " or "),
            u.pin
        );
        found.push(instead(about(kind, u, headline), others));
    }
}
