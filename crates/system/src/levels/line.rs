//! One driver and one receiver on one line, over the corners of their rails.

use parts::Part;
use quantity::engineering;

use super::ends::{
    self, CLAMP_DROP_V, Fed, Known, Output, Ratings, Thresholds, Way, output, pull_down,
};

/// A resistance with its limits, Ω.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ohms {
    /// Smallest.
    pub low: f64,
    /// As marked.
    pub nominal: f64,
    /// Largest.
    pub high: f64,
}

impl Ohms {
    /// One without tolerance.
    #[must_use]
    pub fn exact(ohm: f64) -> Ohms {
        Ohms {
            low: ohm,
            nominal: ohm,
            high: ohm,
        }
    }

    /// Those in parallel; none of none.
    #[must_use]
    pub fn parallel(all: &[Ohms]) -> Option<Ohms> {
        let of = |pick: fn(&Ohms) -> f64| 1.0 / all.iter().map(|o| 1.0 / pick(o)).sum::<f64>();
        (!all.is_empty()).then(|| Ohms {
            low: of(|o| o.low),
            nominal: of(|o| o.nominal),
            high: of(|o| o.high),
        })
    }

    fn at(&self, side: Side) -> f64 {
        match side {
            Side::Low => self.low,
            Side::Nominal => self.nominal,
            Side::High => self.high,
        }
    }
}

/// The voltage of a rail with its limits, V.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Volts {
    /// Lowest.
    pub low: f64,
    /// As meant.
    pub nominal: f64,
    /// Highest.
    pub high: f64,
}

impl Volts {
    /// One that does not move.
    #[must_use]
    pub fn exact(volt: f64) -> Volts {
        Volts {
            low: volt,
            nominal: volt,
            high: volt,
        }
    }

    fn at(&self, side: Side) -> f64 {
        match side {
            Side::Low => self.low,
            Side::Nominal => self.nominal,
            Side::High => self.high,
        }
    }
}

/// Which end of a range.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Side {
    Low,
    Nominal,
    High,
}

/// A rail by its place among the rails of the board, with its voltage; ends on
/// one rail have the same value at any time.
#[derive(Clone, Debug, PartialEq)]
pub struct Feed {
    /// Its name.
    pub name: String,
    /// Its voltage.
    pub volt: Volts,
}

/// One end of a line.
#[derive(Clone, Debug)]
pub struct End<'a> {
    /// Device and pin as shown.
    pub name: String,
    /// Its part.
    pub part: &'a Part,
    /// What feeds it.
    pub supply: Feed,
    /// What feeds its side B, where it has one.
    pub supply_b: Option<Feed>,
    /// The line ends on side B.
    pub is_side_b: bool,
    /// The pin tolerates 5 V.
    pub is_tolerant: bool,
}

impl End<'_> {
    /// The feed of the side on which the line ends.
    #[must_use]
    pub fn own(&self) -> &Feed {
        match (&self.supply_b, self.is_side_b) {
            (Some(b), true) => b,
            _ => &self.supply,
        }
    }

    fn fed(&self, volt: &dyn Fn(&Feed) -> f64) -> Fed {
        let supply_v = volt(&self.supply);
        Fed {
            supply_v,
            supply_b_v: self.supply_b.as_ref().map_or(supply_v, volt),
            is_side_b: self.is_side_b,
            is_tolerant: self.is_tolerant,
        }
    }
}

/// What lies between a driver and a receiver.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Line {
    /// Resistance in series, Ω.
    pub series: Option<Ohms>,
    /// Divider, upper and lower resistor, Ω.
    pub divider: Option<(Ohms, Ohms)>,
    /// Pull-up resistors in parallel and their rail.
    pub pull_up: Option<(Ohms, Feed)>,
    /// The driver only pulls down.
    pub is_open_drain: bool,
    /// Resistance of a switch between the driver and this side, with the
    /// pull-up of the driver's side: a translator made of one transistor.
    pub switch: Option<(f64, Option<(Ohms, Feed)>)>,
    /// Pull-ups of segments joined to this one by single transistors, each
    /// with the resistance of its transistor, Ω: a low level sinks them as
    /// well, a high one does not meet them.
    pub beyond: Vec<(f64, Ohms, Feed)>,
    /// Current that all inputs on the line may take, A.
    pub leakage_a: f64,
    /// What the link says that its drivers sink, A.
    pub sink_a: Option<f64>,
}

/// A level against the threshold it must pass.
#[derive(Clone, Debug, PartialEq)]
pub struct Margin {
    /// The level at the receiver, V.
    pub level_v: f64,
    /// The threshold, V.
    pub threshold_v: f64,
    /// What is left, V; negative where it does not suffice.
    pub margin_v: f64,
    /// The same with everything as meant, V: level, threshold, margin.
    pub nominal: (f64, f64, f64),
    /// Margin of the rated output level by itself, V.
    pub rated_margin_v: Option<f64>,
    /// The rails at this corner, V.
    pub corner: Vec<(String, f64)>,
    /// How the level comes about, with the numbers put in.
    pub working: String,
    /// Where the threshold comes from.
    pub threshold: Known,
    /// The driver's output.
    pub output: Output,
}

/// The highest voltage that a line puts on an input against what that stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Over {
    /// The voltage without the input's clamp, V.
    pub volt: f64,
    /// The receiver's own supply then, V.
    pub supply_v: f64,
    /// What the pin stands.
    pub ratings: Ratings,
    /// Absolute maximum less the voltage, V.
    pub margin_v: f64,
    /// Operating maximum less the voltage, V.
    pub operating_margin_v: Option<f64>,
    /// Current through the upper clamp, A, where the voltage is beyond it.
    pub clamp_a: f64,
    /// Resistance it flows through, Ω.
    pub ohm: f64,
    /// The rails at this corner, V.
    pub corner: Vec<(String, f64)>,
}

/// A driver, a receiver, and how well they understand each other.
#[derive(Clone, Debug, PartialEq)]
pub struct Understood {
    /// High level, at its worst corner.
    pub high: Margin,
    /// Low level, at its worst corner.
    pub low: Margin,
    /// Highest voltage on the receiver.
    pub over: Over,
    /// Lowest and highest high level over all corners, V.
    pub high_range_v: (f64, f64),
    /// Lowest and highest low level over all corners, V.
    pub low_range_v: (f64, f64),
}

/// Voltage of a node that sources pull at through resistances, from which
/// `leak_a` is taken: V = (Σ V_i/R_i − I)/(Σ 1/R_i). A source without
/// resistance holds it; a node that nothing pulls at is at 0 V.
#[must_use]
pub fn node_v(sources: &[(f64, f64)], leak_a: f64) -> f64 {
    let mut current = -leak_a;
    let mut conductance = 0.0;
    for &(volt, ohm) in sources {
        if ohm <= 0.0 {
            return volt;
        }
        current += volt / ohm;
        conductance += 1.0 / ohm;
    }
    if conductance > 0.0 {
        current / conductance
    } else {
        0.0
    }
}

/// Corners of the rails involved: each low or high, and all as meant.
fn corners<'f>(feeds: &[&'f Feed]) -> Vec<Vec<(&'f str, Side, f64)>> {
    let mut distinct: Vec<&Feed> = Vec::new();
    for feed in feeds {
        if !distinct.iter().any(|f| f.name == feed.name) {
            distinct.push(feed);
        }
    }
    let all = |side: &dyn Fn(usize) -> Side| {
        distinct
            .iter()
            .enumerate()
            .map(|(i, f)| (f.name.as_str(), side(i), f.volt.at(side(i))))
            .collect::<Vec<_>>()
    };
    let mut found = vec![all(&|_| Side::Nominal)];
    for bits in 0..1_usize << distinct.len().min(8) {
        found.push(all(&|i| {
            if bits >> i & 1 == 0 {
                Side::Low
            } else {
                Side::High
            }
        }));
    }
    found
}

fn named(corner: &[(&str, Side, f64)]) -> Vec<(String, f64)> {
    corner
        .iter()
        .map(|(name, _, volt)| ((*name).to_owned(), *volt))
        .collect()
}

/// What a line comes to at one corner.
struct Level {
    volt: f64,
    output: Output,
    working: String,
}

impl Line {
    fn feeds<'f>(&'f self, driver: &'f End<'_>, receiver: &'f End<'_>) -> Vec<&'f Feed> {
        let mut feeds = vec![&driver.supply, &receiver.supply];
        feeds.extend(&driver.supply_b);
        feeds.extend(&receiver.supply_b);
        feeds.extend(self.pull_up.as_ref().map(|(_, f)| f));
        if let Some((_, Some((_, feed)))) = &self.switch {
            feeds.push(feed);
        }
        feeds.extend(self.beyond.iter().map(|(.., feed)| feed));
        feeds
    }

    /// The level at the receiver. `weak` takes every resistance and leakage the
    /// way that makes the level worse, else as meant.
    fn level(&self, driver: &End<'_>, way: Way, volt: &dyn Fn(&Feed) -> f64, weak: bool) -> Level {
        let fed = driver.fed(volt);
        let v = |x: f64| engineering(x, "V", 4);
        let o = |x: f64| engineering(x, "Ω", 3);
        // A high level is the lower, a low level the higher, the more is in
        // series, the weaker (or stronger) the pull-up.
        let (more, less) = if weak {
            (Side::High, Side::Low)
        } else {
            (Side::Nominal, Side::Nominal)
        };
        let series = self.series.map_or(0.0, |s| s.at(more));
        let leak = if weak { self.leakage_a } else { 0.0 };
        if self.is_open_drain && way == Way::High {
            // What it does at a low level says nothing of the high one.
            let own = Output {
                rated_v: None,
                ..output(driver.part, &fed, Way::Low)
            };
            let Some((ohms, feed)) = &self.pull_up else {
                return Level {
                    volt: 0.0,
                    output: own,
                    working: "nothing pulls the line up".to_owned(),
                };
            };
            let pull = ohms.at(more);
            let high = node_v(&[(volt(feed), pull)], leak);
            return Level {
                volt: high,
                working: format!(
                    "{} {} − {} · {}: {}",
                    feed.name,
                    v(volt(feed)),
                    o(pull),
                    engineering(leak, "A", 3),
                    v(high)
                ),
                output: own,
            };
        }
        let out = match (self.is_open_drain, way) {
            (true, _) => pull_down(driver.part, &fed, self.sink_a),
            (false, way) => output(driver.part, &fed, way),
        };
        // The pull-up fights a low level and helps a high one.
        let pull = self.pull_up.as_ref().map(|(ohms, feed)| {
            let side = if way == Way::Low { less } else { more };
            (volt(feed), ohms.at(side))
        });
        let signed = if way == Way::High { leak } else { -leak };
        if let (Some((on_ohm, near)), Way::Low) = (&self.switch, way) {
            let near = near
                .as_ref()
                .map(|(ohms, feed)| (volt(feed), ohms.at(less)));
            let (level, text) = through_switch(out.open_v, out.ohm + series, *on_ohm, near, pull);
            return Level {
                volt: level,
                output: out,
                working: text,
            };
        }
        let (top, bottom) = match &self.divider {
            Some((t, b)) if way == Way::High => (t.at(more), Some(b.at(less))),
            Some((t, b)) => (t.at(more), Some(b.at(more))),
            None => (0.0, None),
        };
        let mut sources = vec![(out.open_v, out.ohm + series + top)];
        sources.extend(bottom.map(|ohm| (0.0, ohm)));
        sources.extend(pull);
        let beyond: Vec<(f64, f64)> = self
            .beyond
            .iter()
            .filter(|_| way == Way::Low)
            .map(|(on_ohm, ohms, feed)| (volt(feed), ohms.at(less) + on_ohm))
            .collect();
        sources.extend(&beyond);
        // An output rated without a current (TTL) is left behind by a pull-up
        // to more than it gives.
        let lifted = pull.filter(|(from, ohm)| {
            way == Way::High && out.ohm <= 0.0 && bottom.is_none() && from - ohm * leak > out.open_v
        });
        let level = if let Some((from, ohm)) = lifted {
            from - ohm * leak
        } else if bottom.is_some() && sources[0].1 <= 0.0 {
            out.open_v
        } else {
            node_v(&sources, signed)
        };
        let mut text = format!("{} behind {}", v(out.open_v), o(out.ohm));
        if series > 0.0 {
            text.push_str(&format!(" and {}", o(series)));
        }
        if let Some(bottom) = bottom {
            text.push_str(&format!(", divided by {} and {}", o(top), o(bottom)));
        }
        if let Some((from, ohm)) = pull {
            text.push_str(&format!(", {} to {}", o(ohm), v(from)));
        }
        for (from, ohm) in beyond {
            text.push_str(&format!(
                ", {} to {} through the transistor",
                o(ohm),
                v(from)
            ));
        }
        if leak > 0.0 {
            text.push_str(&format!(
                ", {} of leakage",
                engineering(self.leakage_a, "A", 3)
            ));
        }
        text.push_str(&format!(": {}", v(level)));
        Level {
            volt: level,
            output: out,
            working: text,
        }
    }

    /// How well the receiver understands the driver, over every corner.
    #[must_use]
    pub fn judge(&self, driver: &End<'_>, receiver: &End<'_>) -> Understood {
        let feeds = self.feeds(driver, receiver);
        let mut high: Option<Margin> = None;
        let mut low: Option<Margin> = None;
        let mut over: Option<Over> = None;
        let mut ranges = [(f64::INFINITY, f64::NEG_INFINITY); 2];
        for (n, corner) in corners(&feeds).iter().enumerate() {
            let volt = |feed: &Feed| {
                corner
                    .iter()
                    .find(|(name, ..)| *name == feed.name)
                    .map_or(feed.volt.nominal, |(_, _, v)| *v)
            };
            let fed = receiver.fed(&volt);
            let wants = ends::thresholds(receiver.part, &fed);
            let is_nominal = n == 0;
            for way in [Way::High, Way::Low] {
                let level = self.level(driver, way, &volt, !is_nominal);
                let range = &mut ranges[usize::from(way == Way::Low)];
                *range = (range.0.min(level.volt), range.1.max(level.volt));
                let margin = margin(way, level, &wants, corner);
                let kept = if way == Way::High {
                    &mut high
                } else {
                    &mut low
                };
                match kept {
                    // The first corner is everything as meant.
                    None => *kept = Some(margin),
                    Some(worst) => {
                        let nominal = worst.nominal;
                        if margin.margin_v < worst.margin_v {
                            *worst = Margin { nominal, ..margin };
                        }
                    }
                }
            }
            let at = self.over(driver, receiver, &volt, corner);
            if over.as_ref().is_none_or(|o| at.margin_v < o.margin_v) {
                over = Some(at);
            }
        }
        // There is always the nominal corner.
        let none = || {
            let level = self.level(driver, Way::High, &|f| f.volt.nominal, false);
            let fed = receiver.fed(&|f| f.volt.nominal);
            margin(
                Way::High,
                level,
                &ends::thresholds(receiver.part, &fed),
                &[],
            )
        };
        Understood {
            high: high.unwrap_or_else(none),
            low: low.unwrap_or_else(none),
            over: over.unwrap_or_else(|| self.over(driver, receiver, &|f| f.volt.nominal, &[])),
            high_range_v: ranges[0],
            low_range_v: ranges[1],
        }
    }

    /// What the line puts on an input at most: driven without load, or pulled
    /// up.
    fn over(
        &self,
        driver: &End<'_>,
        receiver: &End<'_>,
        volt: &dyn Fn(&Feed) -> f64,
        corner: &[(&str, Side, f64)],
    ) -> Over {
        let fed = receiver.fed(volt);
        let ratings = ends::ratings(receiver.part, &fed);
        let supply_v = fed.own_v();
        let (v, ohm) = self.highest(driver, volt);
        let beyond = v - (supply_v + CLAMP_DROP_V);
        let clamp_a = if beyond > 0.0 && ohm > 0.0 {
            beyond / ohm
        } else {
            0.0
        };
        Over {
            volt: v,
            supply_v,
            margin_v: ratings.maximum.value - v,
            operating_margin_v: ratings.operating.as_ref().map(|k| k.value - v),
            ratings,
            clamp_a,
            ohm,
            corner: named(corner),
        }
    }

    /// The highest voltage of the line without load, V, and the resistance it
    /// stands behind, Ω.
    #[must_use]
    pub fn highest(&self, driver: &End<'_>, volt: &dyn Fn(&Feed) -> f64) -> (f64, f64) {
        let mut sources = Vec::new();
        if let Some((ohms, feed)) = &self.pull_up {
            sources.push((volt(feed), ohms.low));
        }
        if !self.is_open_drain {
            let out = output(driver.part, &driver.fed(volt), Way::High);
            let series = self.series.map_or(0.0, |s| s.low);
            let top = self.divider.map_or(0.0, |(t, _)| t.low);
            // An output reaches its rail when nothing loads it. The data sheet
            // bounds its resistance from above only, so that it counts only
            // where nothing else limits the current.
            let own = if series > 0.0 && self.divider.is_none() {
                0.0
            } else {
                out.ohm
            };
            sources.push((driver.fed(volt).own_v(), own + series + top));
        }
        if let Some((_, bottom)) = self.divider {
            sources.push((0.0, bottom.high));
        }
        let conductance: f64 = sources
            .iter()
            .map(|(_, ohm)| if *ohm > 0.0 { 1.0 / ohm } else { f64::INFINITY })
            .sum();
        let ohm = if conductance > 0.0 {
            1.0 / conductance
        } else {
            0.0
        };
        (node_v(&sources, 0.0), ohm)
    }
}

fn margin(way: Way, level: Level, wants: &Thresholds, corner: &[(&str, Side, f64)]) -> Margin {
    let (threshold, margin_v) = match way {
        Way::High => (&wants.high, level.volt - wants.high.value),
        Way::Low => (&wants.low, wants.low.value - level.volt),
    };
    let rated_margin_v = level.output.rated_v.map(|v| match way {
        Way::High => v - threshold.value,
        Way::Low => threshold.value - v,
    });
    Margin {
        level_v: level.volt,
        threshold_v: threshold.value,
        margin_v,
        nominal: (level.volt, threshold.value, margin_v),
        rated_margin_v,
        corner: named(corner),
        working: level.working,
        threshold: threshold.clone(),
        output: level.output,
    }
}

/// Low level on the far side of a transistor that conducts: the driver sinks
/// both pull-ups, and the far one's current also crosses the transistor.
///
/// Two nodes: near (driver) and far (receiver), each with its pull-up.
fn through_switch(
    open_v: f64,
    driver_ohm: f64,
    on_ohm: f64,
    near: Option<(f64, f64)>,
    far: Option<(f64, f64)>,
) -> (f64, String) {
    let conductance = |ohm: f64| if ohm > 0.0 { 1.0 / ohm } else { 1e9 };
    let (gd, gs) = (conductance(driver_ohm), conductance(on_ohm));
    let (vn, gn) = near.map_or((0.0, 0.0), |(v, ohm)| (v, conductance(ohm)));
    let (vf, gf) = far.map_or((0.0, 0.0), |(v, ohm)| (v, conductance(ohm)));
    // (gd + gs + gn)·V1 − gs·V2 = gd·open + gn·vn;  (gs + gf)·V2 − gs·V1 = gf·vf
    let (a, b) = (gd + gs + gn, gs + gf);
    let determinant = a * b - gs * gs;
    let right = (gd * open_v + gn * vn, gf * vf);
    let far_v = (a * right.1 + gs * right.0) / determinant;
    let near_v = (b * right.0 + gs * right.1) / determinant;
    let added = far_v - near_v;
    (
        far_v,
        format!(
            "driver {} behind {}, and {} more across {} of the transistor: {}",
            engineering(near_v, "V", 3),
            engineering(driver_ohm, "Ω", 3),
            engineering(added, "V", 2),
            engineering(on_ohm, "Ω", 3),
            engineering(far_v, "V", 4)
        ),
    )
}
