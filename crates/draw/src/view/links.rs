//! Links: the levels that arrive, against what receivers read.

use report::{LevelPair, LinkResult, Links, Verdict, number};

use crate::{Band, BandRow, Bands, Picture, Sheet};

/// Pairs beyond which only those with the least margin are drawn.
const PAIRS: usize = 24;

/// The sheet of a board's links: for each a picture with a row for every
/// driver at every receiver.
#[must_use]
pub fn links(result: &Links) -> Sheet {
    let mut pictures: Vec<Picture> = Vec::new();
    for link in &result.links {
        if link.levels.is_empty() {
            pictures.push(Picture::Words(format!(
                "{}: no driver and receiver whose levels could be judged.",
                link.name
            )));
        } else {
            pictures.push(Picture::Bands(bands(link)));
        }
    }
    let failing = result
        .links
        .iter()
        .filter(|l| l.verdict == Verdict::Fails)
        .count();
    let description = match (result.links.len(), failing) {
        (0, _) => "The board has no links.".to_owned(),
        (1, 0) => "One link, which does not fail.".to_owned(),
        (1, _) => "One link, which fails.".to_owned(),
        (n, 0) => format!("{n} links, none fails."),
        (n, f) => format!("{n} links, {f} of them failing."),
    };
    Sheet {
        title: format!("{}: links", result.board),
        lead: description.clone(),
        description,
        pictures,
    }
}

fn bands(link: &LinkResult) -> Bands {
    let mut pairs: Vec<&LevelPair> = link.levels.iter().collect();
    if pairs.len() > PAIRS {
        let least = |p: &LevelPair| {
            p.margin_low
                .unwrap_or(f64::INFINITY)
                .min(p.margin_high.unwrap_or(f64::INFINITY))
        };
        pairs.sort_by(|a, b| least(a).total_cmp(&least(b)));
        pairs.truncate(PAIRS);
    }
    Bands {
        heading: format!("{} ({})", link.name, link.kind),
        label: "voltage".to_owned(),
        unit: "V".to_owned(),
        kinds: [
            "surely reads low",
            "surely reads high",
            "low that arrives",
            "high that arrives",
        ]
        .map(str::to_owned)
        .to_vec(),
        rows: pairs.into_iter().map(row).collect(),
    }
}

fn row(p: &LevelPair) -> BandRow {
    let band = |from: Option<f64>, to: Option<f64>, kind: usize| {
        from.zip(to)
            .filter(|(from, to)| to > from)
            .map(|(from, to)| Band { from, to, kind })
    };
    let reads = band(Some(0.0), p.input_low, 0)
        .into_iter()
        .chain(band(p.input_high, p.permitted.1, 1))
        .collect();
    let arrives = [(p.low, 2), (p.high, 3)]
        .into_iter()
        .map(|((from, to), kind)| Band { from, to, kind })
        .collect();
    let margin = |m: Option<f64>| m.map_or_else(String::new, |v| number::measured(v, "V", 3));
    BandRow {
        name: format!("{} to {}", p.driver, p.receiver),
        lanes: vec![reads, arrives],
        note: format!(
            "{}: {} left low, {} left high; {}",
            p.lines,
            margin(p.margin_low),
            margin(p.margin_high),
            p.verdict.word()
        ),
    }
}
