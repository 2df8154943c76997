//! Rails: the tree of supplies with their loads against their limits, and
//! what gets warm.

use report::{HeatResult, RailResult, Rails, Verdict, number};

use crate::{Branch, Picture, Sheet, Tree};

/// Loads of a rail that are drawn by themselves.
const LOADS: usize = 5;

/// The sheet of a board's rails.
#[must_use]
pub fn rails(r: &Rails) -> Sheet {
    let mut pictures = Vec::new();
    if r.rails.is_empty() {
        pictures.push(Picture::Words("The board has no rails.".to_owned()));
    } else {
        pictures.push(Picture::Tree(Tree {
            heading: "What each rail gives at most, and to whom".to_owned(),
            branches: r.rails.iter().map(|one| branch(r, one)).collect(),
        }));
    }
    pictures.extend(warm(&r.heat).map(Picture::Tree));
    let failing = r
        .rails
        .iter()
        .filter(|x| x.verdict == Verdict::Fails)
        .count();
    let description = match (r.rails.len(), failing) {
        (n, 0) => format!("{n} rails, none beyond its limits."),
        (n, f) => format!("{n} rails, {f} of them beyond a limit."),
    };
    Sheet {
        title: format!("{}: rails", r.board),
        lead: description.clone(),
        description,
        pictures,
    }
}

fn ampere(a: f64) -> String {
    number::about(a, "A")
}

fn branch(all: &Rails, r: &RailResult) -> Branch {
    let mut parts: Vec<(String, f64, String)> = r
        .loads
        .iter()
        .take(LOADS)
        .map(|l| (l.name.clone(), l.most_a, ampere(l.most_a)))
        .collect();
    let rest: f64 = r.loads.iter().skip(LOADS).map(|l| l.most_a).sum();
    if rest > 0.0 {
        parts.push(("others".to_owned(), rest, ampere(rest)));
    }
    let volt = |v: f64| number::about(v, "V");
    let note = parts
        .iter()
        .filter(|p| p.1 > 0.0)
        .map(|(name, _, text)| format!("{name} {text}"))
        .collect::<Vec<_>>()
        .join(", ");
    let [low, nominal, _] = r.free_v;
    let mut text = if nominal.is_finite() {
        format!("{}, {} at most", volt(nominal), ampere(r.most_a))
    } else {
        format!("{} at most", ampere(r.most_a))
    };
    if r.low_v.is_finite() && low.is_finite() && r.low_v < low - 1e-6 {
        text.push_str(&format!(", {} at its lowest", volt(r.low_v)));
    }
    Branch {
        name: r.name.clone(),
        from: all.rails.iter().position(|x| x.name == r.from),
        depth: r.depth,
        parts,
        limit: r.limit_a,
        limit_text: r
            .limit_a
            .map_or_else(String::new, |l| format!("may give {}", ampere(l))),
        text,
        note,
    }
}

/// How warm things get inside: the ambient and their own warming against what
/// is permitted.
fn warm(heat: &[HeatResult]) -> Option<Tree> {
    let branches: Vec<Branch> = heat
        .iter()
        .filter_map(|h| {
            let j = h.junction.as_ref()?;
            let own = h.resistance * h.most_w;
            let ambient = j.value - own;
            Some(Branch {
                name: h.name.clone(),
                from: None,
                depth: 0,
                parts: vec![
                    (
                        "the hottest ambient".to_owned(),
                        ambient.max(0.0),
                        format!("{} °C", number::short(ambient.round())),
                    ),
                    ("its own warming".to_owned(), own, number::about(own, "K")),
                ],
                limit: j.high,
                limit_text: j.high.map_or_else(String::new, |l| {
                    format!("{} °C permitted", number::short(l))
                }),
                text: format!("{} °C inside", number::short(j.value.round())),
                note: format!("{}: {}", h.source, j.working),
            })
        })
        .collect();
    (!branches.is_empty()).then(|| Tree {
        heading: "How warm it gets inside, on the hottest day".to_owned(),
        branches,
    })
}
