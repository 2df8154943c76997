//! An analog pin is taken beyond what it stands.

use finding::{Kind, Severity};
use report::number;
use system::levels::ends::{Fed, ratings};
use system::levels::supply::volts;

use super::{Entry, Scene};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "pin.level",
        severity: Severity::Fail,
        title: "An analog pin is taken beyond what it stands",
        explanation: include_str!("pages/pin.level.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<finding::Finding>) {
    for j in scene.judged {
        let (Some(input), Some(signal)) = (&j.channel.input, &j.report.signal) else {
            continue;
        };
        let Some(device) = scene.board.devices.get(input.device) else {
            continue;
        };
        // A part that says nothing of its pins is judged by its converter.
        if device.part.figure("absolute-maximum-pin").is_none() || input.plus.is_some() {
            continue;
        }
        let Some(rail) = device
            .analog_supply
            .or(device.supply)
            .and_then(|r| volts(scene.board, r))
        else {
            continue;
        };
        let pin = device
            .part
            .converters
            .get(input.unit)
            .and_then(|u| u.channel(input.channel.as_deref().unwrap_or("")))
            .map_or("", |c| c.pin.as_str());
        let is_tolerant = device
            .part
            .pin(pin)
            .is_some_and(|p| p.attributes.iter().any(|a| a == "5v-tolerant"));
        let stands = ratings(
            &device.part,
            &Fed {
                supply_v: rail.low,
                supply_b_v: rail.low,
                is_side_b: false,
                is_tolerant,
            },
        );
        let high = signal.at_low.max(signal.at_high);
        let low = signal.at_low.min(signal.at_high);
        let (reached, limit, word) = if high > stands.maximum.value {
            (high, &stands.maximum, "most")
        } else if low < stands.minimum.value {
            (low, &stands.minimum, "least")
        } else {
            continue;
        };
        let shown = |v: f64| number::measured(v, "V", 4);
        let headline = format!(
            "{} takes {}{}{pin} to {} within its span; {} is the {word} that the pin stands",
            j.channel.name,
            device.name,
            if pin.is_empty() { "" } else { "." },
            shown(reached),
            shown(limit.value)
        );
        let mut f = finding::Finding::new(kind, &j.channel.name, headline)
            .at(input.span)
            .figure("limit of the pin", shown(limit.value), limit.origin.text())
            .working(format!(
                "{} − {} = {} beyond, with its supply at {}",
                shown(reached),
                shown(limit.value),
                shown((reached - limit.value).abs()),
                shown(rail.low)
            ));
        if word == "most" && limit.value > 0.0 {
            f = f.remedy(format!(
                "divide the signal by {} at least",
                number::measured(reached / limit.value, "", 3)
            ));
        } else {
            f = f.remedy(format!(
                "raise the signal by {} at least",
                number::measured(limit.value - reached, "V", 3)
            ));
        }
        found.push(f);
    }
}
