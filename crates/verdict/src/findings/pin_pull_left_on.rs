//! A built-in resistor is left on where the converter measures.

use board::Pull;
use finding::{Kind, Severity};
use report::number;
use system::levels::supply::volts;
use system::pins::Trouble;

use super::{Entry, Scene};
use crate::pin::{about, troubles, usage};
use crate::words;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "pin.pull-left-on",
        severity: Severity::Fail,
        title: "A built-in pull resistor is left on at an analog pin",
        explanation: include_str!("pages/pin.pull-left-on.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<finding::Finding>) {
    for (device, d, t) in troubles(scene.board, scene.system) {
        let Trouble::PullOnAnalog {
            usage: i,
            pull,
            ohm,
            span,
        } = t
        else {
            continue;
        };
        let Some(u) = usage(d, *i) else {
            continue;
        };
        let channel = scene
            .board
            .channels
            .iter()
            .position(|c| c.name == u.subject);
        let settling = channel.and_then(|c| scene.timing.channel(c)?.settling.as_ref());
        let supply = scene
            .board
            .devices
            .get(d.device)
            .and_then(|dev| dev.supply)
            .and_then(|r| volts(scene.board, r));
        let lead = format!(
            "the pull-{} of {device}.{} is on, where {} is measured",
            pull.word(),
            u.pin,
            u.user
        );
        let plain = |lead: String| about(kind, u, lead).at(*span);
        let (Some((least, most)), Some(s), Some(rail), Some(channel)) = (
            ohm,
            settling,
            supply,
            channel.and_then(|c| scene.board.channels.get(c)),
        ) else {
            found.push(plain(lead).remedy(format!("switch it off: pull = \"off\" at {}", u.pin)));
            continue;
        };
        // The end of the span that lies further from what it pulls to.
        let (_, low_v, high_v) = s
            .swings
            .iter()
            .copied()
            .find(|(c, ..)| *c == s.channel)
            .unwrap_or((s.channel, 0.0, rail.nominal));
        let to_v = if *pull == Pull::Up { rail.nominal } else { 0.0 };
        let from_v = if (to_v - low_v).abs() > (to_v - high_v).abs() {
            low_v
        } else {
            high_v
        };
        let shift = |ohm: f64| (to_v - from_v) * s.source_ohm / (s.source_ohm + ohm);
        let worst = shift(*least);
        let error = if s.volt_per_quantity == 0.0 {
            String::new()
        } else {
            format!(", {}", words::size(channel, worst / s.volt_per_quantity, 3))
        };
        let shown = |v: f64| number::measured(v, "V", 3);
        let ohms = |r: f64| number::measured(r, "Ω", 3);
        found.push(
            plain(format!(
                "{lead}: it moves the pin by {}{error}",
                shown(worst)
            ))
            .working(format!(
                "({} − {}) · {} / ({} + {}) = {}",
                shown(to_v),
                shown(from_v),
                ohms(s.source_ohm),
                ohms(s.source_ohm),
                ohms(*least),
                shown(worst)
            ))
            .working(format!(
                "{} with the largest, {}",
                shown(shift(*most)),
                ohms(*most)
            ))
            .remedy(format!("switch it off: pull = \"off\" at {}", u.pin)),
        );
    }
}
