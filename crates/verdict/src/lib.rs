//! Needs against results.
//!
//! [`check`] judges every channel of a board and collects the findings,
//! [`budget`] says where one channel's error comes from, [`bound`] how far a
//! value of the board may go, [`interference`] what disturbing tones leave. They take values and return [`report`] types;
//! nothing is read from files or printed here.

mod bound;
mod budget;
mod bus;
mod bus_rows;
mod causes;
mod caution;
mod claims;
mod course;
mod estimate;
mod faults;
mod findings;
mod firmware;
mod interference;
mod judge;
mod known;
mod limits;
mod link;
mod model;
mod noise;
mod nudge;
mod pin;
mod rails;
mod remedy;
mod response;
mod scenarios;
mod schedule;
mod study;
mod telegram;
mod timing;
mod weak;
mod words;

use board::Board;
use finding::{Severity, Sources};
use rayon::prelude::*;
use report::Verdict;
use uncertainty::{Progress, Settings};

pub use bound::{Ask, BoardFile, BoundFault, Sought, Vary, bound};
pub use budget::{BudgetFault, budget};
pub use course::{CourseEvent, course};
pub use estimate::{Estimate, broken, estimate};
pub use faults::faults;
pub use findings::kinds;
pub use interference::{SeenTone, interference};
pub use link::links;
pub use noise::noise;
pub use nudge::nudged;
pub use rails::rails;
pub use response::response;
pub use schedule::schedule;
pub use telegram::{WordsFault, words};

/// What is being worked on: the channel, and how far it has come.
pub type Told<'a> = &'a (dyn Fn(&str, Progress) + Sync);

/// The links over which a channel's numbers or pulses come.
fn links_of(board: &Board, channel: &board::Channel) -> Vec<String> {
    let carries = |i: usize, link: &board::Link| {
        channel.sensor.link.as_ref().is_some_and(|l| l.value == i)
            || channel
                .sensor
                .device
                .is_some_and(|d| link.members.iter().any(|m| m.port.device == d))
    };
    board
        .links
        .iter()
        .enumerate()
        .filter(|(i, l)| carries(*i, l))
        .map(|(_, l)| l.name.clone())
        .collect()
}

/// Holds a channel's verdict down by the findings about it and about the links
/// its numbers come over, and names them.
fn hold(channel: &mut report::Channel, links: &[String], findings: &[report::Finding]) {
    let own = |f: &&report::Finding| {
        f.subjects
            .iter()
            .any(|s| *s == channel.name || links.contains(s))
    };
    let alone = channel.verdict;
    let mut held = Vec::new();
    for f in findings.iter().filter(own) {
        let with = worse(f.severity, alone);
        if with != alone {
            held.push(f.id.clone());
            channel.verdict = worse(f.severity, channel.verdict);
        }
    }
    channel.held_by = held;
}

/// Holds rails down by the findings about them, such as that of a junction.
fn hold_rails(
    mut rails: Vec<report::RailResult>,
    findings: &[report::Finding],
) -> Vec<report::RailResult> {
    for rail in &mut rails {
        for f in findings.iter().filter(|f| f.subjects.contains(&rail.name)) {
            rail.verdict = match (f.severity, rail.verdict) {
                (Severity::Fail, Verdict::Fragment) => Verdict::Fails,
                (severity, verdict) => worse(severity, verdict),
            };
        }
    }
    rails
}

/// Judges every channel of a board.
///
/// `sources` holds the texts that the board was read from; with it places
/// become files and lines.
#[must_use]
pub fn check(board: &Board, sources: &Sources, told: Told<'_>) -> report::Check {
    check_with(board, sources, &Settings::default(), told)
}

/// [`check`] with another amount of work: trials, points, boards. The
/// probability is the board's.
#[must_use]
pub fn check_with(
    board: &Board,
    sources: &Sources,
    settings: &Settings,
    told: Told<'_>,
) -> report::Check {
    let settled = system::settled(board);
    let board = settled.as_ref();
    let timing = timing::of(board);
    let judged: Vec<judge::Judged<'_>> = board
        .channels
        .par_iter()
        .map(|c| judge::judge_with(board, c, &timing, sources, settings, &|p| told(&c.name, p)))
        .collect();
    let system = system::analyse(board);
    let found = findings::look(board, &judged, &timing, sources, &system);
    let findings = words::grouped(&found, sources);
    let mut channels: Vec<report::Channel> = judged.into_iter().map(|j| j.report).collect();
    for (channel, written) in channels.iter_mut().zip(&board.channels) {
        hold(channel, &links_of(board, written), &findings);
    }
    let mut check = report::Check {
        version: report::VERSION,
        board: board.name.clone(),
        conditions: words::conditions(board),
        probability: board.judging.probability,
        counts: report::Counts::of(channels.iter().map(|c| c.verdict)),
        channels,
        links: link::results(board, &system, &findings),
        rails: hold_rails(rails::results(board, &system), &findings),
        findings,
        scenarios: Vec::new(),
    };
    check.scenarios = scenarios::of(board, &check, sources, settings);
    check
}

/// A verdict in the light of a finding.
fn worse(severity: Severity, verdict: Verdict) -> Verdict {
    match (severity, verdict) {
        (Severity::Fail, Verdict::Meets | Verdict::Thin | Verdict::Undecided) => Verdict::Fails,
        (Severity::Thin, Verdict::Meets) => Verdict::Thin,
        (_, as_it_is) => as_it_is,
    }
}
