//! A line's own resistors are too slow for its clock.

use finding::{Finding, Kind, Severity};
use quantity::Series;
use report::number;
use system::levels::translator::TO_HIGH;

use super::{Entry, Scene};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "link.too-slow",
        severity: Severity::Fail,
        title: "The resistors of a line are too slow for its clock",
        explanation: include_str!("pages/link.too-slow.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for s in &scene.system.levels.slow {
        let Some(link) = scene.board.links.get(s.link) else {
            continue;
        };
        let second = |t: f64| number::measured(t, "s", 3);
        let ohm = |r: f64| number::measured(r, "Ω", 3);
        let place = link
            .series_ohm
            .as_ref()
            .map(|v| v.span)
            .or_else(|| link.divider.as_ref().map(|(top, _)| top.span));
        let mut f = Finding::new(
            kind,
            &link.name,
            format!(
                "{} and {} rise in {}, half a period is {}",
                ohm(s.ohm),
                number::measured(s.farad, "F", 3),
                second(s.rise_s),
                second(s.half_s)
            ),
        )
        .at(place)
        .at(link.span)
        .working(format!(
            "t = R·C·ln(1/0.3) = {} · {} · {} = {}",
            quantity::plain(TO_HIGH, 4),
            ohm(s.ohm),
            number::measured(s.farad, "F", 3),
            second(s.rise_s)
        ))
        .remedy(format!(
            "a clock of {} at most",
            number::measured(s.most_hz, "Hz", 3)
        ));
        // What may stand before the line beside the driver itself.
        let most = s.half_s / (TO_HIGH * s.farad);
        if let Some(buy) = Series::E12
            .at_most(most - s.driver_ohm)
            .filter(|r| *r > 0.0)
        {
            f = f.remedy(if link.divider.is_some() {
                format!("or a divider of at most {} in parallel", ohm(most))
            } else {
                format!("or {} in series", ohm(buy))
            });
        }
        found.push(f);
    }
}
