//! Figures that a verdict should not rest on unsaid: typical only, or without
//! a document.

use finding::{Finding, Kind};
use report::number;
use uncertainty::Contribution;

use crate::findings::Scene;
use crate::judge::Judged;
use crate::remedy;
use crate::study::Study;
use crate::words;

/// One weak contributor.
struct Weak<'a> {
    contribution: &'a Contribution,
    /// Half-width with it three times as large, SI.
    tripled: f64,
    /// With it three times as large the need is not met, although it is now.
    flips: bool,
}

/// What is looked for.
pub(crate) struct Looked {
    /// Whether a contributor is one of them.
    pub weak: fn(&Study<'_>, &Contribution) -> bool,
    /// What they are, for one.
    pub one: &'static str,
    /// What they are, for several.
    pub more: &'static str,
    /// What to do.
    pub remedy: &'static str,
}

/// Findings on weak figures: those that take more of the variance than the
/// share set, or that would flip the verdict if they were three times as
/// large. The rest is only summed up in the channel's report.
pub(crate) fn findings(
    kind: &Kind,
    scene: &Scene<'_, '_>,
    looked: &Looked,
    found: &mut Vec<Finding>,
) {
    for judged in scene.judged {
        found.extend(finding(kind, scene, judged, looked));
    }
}

fn finding(
    kind: &Kind,
    scene: &Scene<'_, '_>,
    judged: &Judged<'_>,
    looked: &Looked,
) -> Option<Finding> {
    let (study, evaluation) = (judged.study.as_ref()?, judged.evaluation.as_ref()?);
    let worst = evaluation.worst_sampled()?;
    let limit = worst.limit?;
    let meets = worst.sampled.half_width <= limit;
    let weak: Vec<Weak<'_>> = evaluation
        .propagated_there
        .contributions
        .iter()
        .filter(|c| (looked.weak)(study, c))
        .filter_map(|c| {
            // Far below the limit three times as much changes nothing.
            let tripled = if c.share < 1e-4 {
                worst.sampled.half_width
            } else {
                remedy::half_width_with(judged, &c.inputs, 3.0)?
            };
            Some(Weak {
                contribution: c,
                tripled,
                flips: meets && tripled > limit,
            })
        })
        .filter(|w| w.flips || w.contribution.share > scene.board.judging.figure_share)
        .collect();
    let first = weak.first()?;
    let list: Vec<String> = weak
        .iter()
        .take(3)
        .map(|w| {
            format!(
                "{} ({})",
                w.contribution.name,
                number::part(w.contribution.share)
            )
        })
        .collect();
    let more = weak.len().saturating_sub(3);
    let more = if more > 0 {
        format!(" ({more} more)")
    } else {
        String::new()
    };
    let what = if weak.len() == 1 {
        looked.one
    } else {
        looked.more
    };
    let mut f = Finding::new(
        kind,
        &judged.channel.name,
        format!("{}{more} {what}", words::listed(&list)),
    );
    for w in &weak {
        let variable = study.variables.get(w.contribution.input)?;
        f = f
            .figure(
                &w.contribution.name,
                remedy::limits(variable, 1.0),
                match variable.basis {
                    Some(b) if variable.source.is_empty() => b.to_string(),
                    Some(b) if !b.is_documented() && !variable.source.contains(&b.to_string()) => {
                        format!("{}, {b}", variable.source)
                    }
                    _ => variable.source.clone(),
                },
            )
            .at(variable.span)
            .working(format!(
                "{}: {} of the variance; three times as large, errors would reach ±{}{}",
                w.contribution.name,
                number::part(w.contribution.share),
                study.size(w.tripled, 3),
                if w.flips {
                    format!(" where ±{} is asked", study.size(limit, 3))
                } else {
                    String::new()
                }
            ));
    }
    let variable = study.variables.get(first.contribution.input)?;
    // How large the figure may be for the need still to be met.
    if let Some(most) = remedy::widest(judged, &first.contribution.inputs, limit) {
        f = f.remedy(format!(
            "the need is met as long as {} is within {}: measure it or find its limits",
            first.contribution.name,
            remedy::limits(variable, most)
        ));
    }
    Some(f.remedy(looked.remedy.to_owned()))
}
