//! A word cannot hold what its channel may read.

use finding::{Finding, Kind, Severity};
use report::number::about;

use super::{Entry, Scene};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "word.too-small",
        severity: Severity::Fail,
        title: "A word cannot hold what is to be read",
        explanation: include_str!("pages/word.too-small.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for a in &scene.system.words {
        let (Some(word), Some((low, high))) = (scene.board.words.get(a.word), a.range) else {
            continue;
        };
        if !a.is_too_small {
            continue;
        }
        let show = |si: f64| about(word.unit.number(si), &word.unit.symbol);
        let subject = word
            .channel
            .and_then(|c| scene.board.channels.get(c))
            .map_or(&word.name, |c| &c.name);
        let needed = ((low - word.zero) / word.step)
            .abs()
            .max(((high - word.zero) / word.step).abs());
        let mut bits = 1_u8;
        while bits < 48 && needed > system::words::limits(word.form, bits).1 as f64 {
            bits += 1;
        }
        let mut f = Finding::new(
            kind,
            subject,
            format!(
                "the word {} holds {} to {}, {} to {} is to be read",
                word.name,
                show(a.holds.0),
                show(a.holds.1),
                show(low),
                show(high)
            ),
        )
        .at(word.span)
        .at(word.range.as_ref().map(|r| r.span))
        .working(format!(
            "zero + step × code over the codes {} to {} ({})",
            a.codes.0, a.codes.1, word.source
        ));
        if bits > word.bits {
            f = f.remedy(format!("{bits} bits in this form, or a larger step"));
        } else {
            f = f.remedy("a form with a sign, or another zero".to_owned());
        }
        found.push(f);
    }
}
