//! Where a channel's error comes from.

use std::collections::BTreeMap;

use board::{Board, Channel};
use finding::Sources;
use report::{Line, Table, number};
use tape::Reading;
use uncertainty::{Evaluation, Progress, Propagated};

use crate::judge::{Judged, conditions, judge};
use crate::model::category_word;
use crate::study::Study;
use crate::{findings, words};

/// Why there is no budget.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum BudgetFault {
    /// The board has no channel of that name; these are there.
    NoChannel(Vec<String>),
}

/// The budget of one channel: every contributor with kind, sensitivity, share
/// and source, before and after its calibration. Where the channel cannot be
/// judged the tables are empty and its report says why.
///
/// # Errors
/// There is no channel of that name.
pub fn budget(
    board: &Board,
    name: &str,
    sources: &Sources,
    progress: &dyn Fn(Progress),
) -> Result<report::Budget, BudgetFault> {
    let settled = system::settled(board);
    let board = settled.as_ref();
    let Some(at) = board.channels.iter().position(|c| c.name == name) else {
        let known = board.channels.iter().map(|c| c.name.clone()).collect();
        return Err(BudgetFault::NoChannel(known));
    };
    let timing = crate::timing::of(board);
    // What is found on the other channels may hold down this one's verdict.
    let mut all: Vec<Judged<'_>> = board
        .channels
        .iter()
        .map(|c| judge(board, c, &timing, sources, progress))
        .collect();
    let findings = words::grouped(
        &findings::look(board, &all, &timing, sources, &system::analyse(board)),
        sources,
    );
    let judged = all.swap_remove(at);
    let channel = judged.channel;
    let own = table_of(&judged, sources);
    let (before, after) = if channel.calibration.is_some() {
        let bare = Channel {
            calibration: None,
            ..channel.clone()
        };
        let before = judge(board, &bare, &timing, sources, progress);
        (table_of(&before, sources), own)
    } else {
        (own, None)
    };
    let mut report = judged.report;
    crate::hold(&mut report, &crate::links_of(board, channel), &findings);
    Ok(report::Budget {
        version: report::VERSION,
        board: board.name.clone(),
        channel: report,
        before,
        after,
    })
}

fn table_of(judged: &Judged<'_>, sources: &Sources) -> Option<Table> {
    let (study, evaluation) = (judged.study.as_ref()?, judged.evaluation.as_ref()?);
    let at = &evaluation.worst_sampled()?.conditions;
    Some(table(study, evaluation, at, sources))
}

fn table(study: &Study<'_>, evaluation: &Evaluation, at: &[f64], sources: &Sources) -> Table {
    let there = &evaluation.propagated_there;
    let unit = &study.channel.unit;
    let scale = |si: f64| unit.number_of_difference(si);
    let mut kinds: BTreeMap<&'static str, f64> = BTreeMap::new();
    for c in &there.contributions {
        *kinds.entry(category_word(c.category)).or_default() += c.share;
    }
    let mut kinds: Vec<(String, f64)> = kinds.into_iter().map(|(k, s)| (k.to_owned(), s)).collect();
    kinds.sort_by(|a, b| b.1.total_cmp(&a.1));
    Table {
        at: conditions(study, at),
        limit: evaluation.worst_sampled().and_then(|w| w.limit).map(scale),
        bias: scale(there.bias),
        u: scale(there.u),
        k: there.k,
        half_width: scale(there.half_width),
        lines: lines(study, there, sources),
        kinds,
        working: working(study, at),
    }
}

fn lines(study: &Study<'_>, there: &Propagated, sources: &Sources) -> Vec<Line> {
    let unit = &study.channel.unit;
    there
        .contributions
        .iter()
        .map(|c| {
            let variable = &study.variables[c.input];
            let (low, high) = study.model.inputs[c.input].corners();
            // A curve is several inputs; they are shown by their group's name.
            let name = match (&variable.group, c.inputs.len()) {
                (Some(group), 2..) => group.clone(),
                _ => c.name.clone(),
            };
            Line {
                name,
                kind: category_word(c.category).to_owned(),
                low,
                high,
                bound: c.bound,
                u: c.u,
                unit: variable.unit.clone(),
                sensitivity: unit.number_of_difference(c.sensitivity),
                contribution: unit.number_of_difference(c.contribution.abs()),
                share: c.share,
                source: variable.source.clone(),
                basis: variable.basis.map(|b| b.to_string()).unwrap_or_default(),
                place: variable
                    .span
                    .map(|s| sources.place(s).to_string())
                    .unwrap_or_default(),
            }
        })
        .collect()
}

/// The way from the quantity to the error with everything at its nominal
/// value, as one would write it by hand.
fn working(study: &Study<'_>, at: &[f64]) -> Vec<String> {
    let tape = &study.model.tape;
    let mut inputs = tape.nominal_inputs().to_vec();
    for (&i, &x) in study.model.conditions().iter().zip(at) {
        if let Some(input) = inputs.get_mut(i) {
            *input = x;
        }
    }
    let format = |value: f64, unit: &str| number::measured(value, unit, 5);
    tape.working(study.model.error, &inputs, Reading::Exact, &format)
        .iter()
        .map(|l| {
            let result = format(l.value, &l.unit);
            if l.formula == l.numbers {
                format!("{} = {} = {result}", l.name, l.formula)
            } else {
                format!("{} = {} = {} = {result}", l.name, l.formula, l.numbers)
            }
        })
        .collect()
}
