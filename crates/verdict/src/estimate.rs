//! A quick look at one channel, for searches that look at many circuits.

use board::Board;
use uncertainty::screened;

use crate::findings::converter_code_range;
use crate::limits;
use crate::study::Study;

/// What a quick look at a channel finds.
#[derive(Clone, Debug, PartialEq)]
pub struct Estimate {
    /// Largest half-width of the error over the conditions, by propagation,
    /// in the channel's error unit.
    pub half_width: f64,
    /// Share of the converter's codes that the span uses; none without a
    /// converter.
    pub codes: Option<f64>,
    /// How far the span reaches beyond the converter's scale, as a share of
    /// the scale; zero while it is on it.
    pub beyond: f64,
}

/// Looks at one channel without sampling: propagation at every point of the
/// grid, and how the signal lies on the scale.
///
/// # Errors
/// There is no such channel, or it has no model; in words.
pub fn estimate(board: &Board, channel: &str) -> Result<Estimate, String> {
    let settled = system::settled(board);
    let board = settled.as_ref();
    let study = study(board, channel)?;
    let mut half_width = 0.0_f64;
    let grid = screened(&study.lean, board.judging.probability).map_err(|f| f.to_string())?;
    for there in grid {
        if !(there.half_width <= half_width) {
            half_width = there.half_width;
        }
    }
    if !half_width.is_finite() {
        return Err("the error is not a number".to_owned());
    }
    let signal = study.signal();
    let beyond = signal.map_or(0.0, |s| {
        let (low, high) = (s.at_low.min(s.at_high), s.at_low.max(s.at_high));
        let (first, last) = (s.scale_low.min(s.scale_high), s.scale_low.max(s.scale_high));
        (first - low).max(high - last).max(0.0) / (last - first)
    });
    Ok(Estimate {
        half_width: study.channel.unit.number_of_difference(half_width),
        codes: signal.map(|s| s.share()),
        beyond,
    })
}

/// Kinds of what must hold of a channel and does not on the worst board.
///
/// # Errors
/// As [`estimate`].
pub fn broken(board: &Board, channel: &str) -> Result<Vec<&'static str>, String> {
    let settled = system::settled(board);
    let board = settled.as_ref();
    let study = study(board, channel)?;
    Ok(study
        .checks
        .iter()
        .filter(|c| {
            let looked = limits::look(&study, c);
            let broken = !(looked.worst.margin >= -limits::spare(&study, &looked).borne);
            // Codes that end a little early are an error among others.
            let ends = matches!(c.kind, "code-low" | "code-high") && looked.nominal.margin >= 0.0;
            broken && (!ends || converter_code_range::lost_from(&study, &looked).is_some())
        })
        .map(|c| c.kind)
        .collect())
}

fn study<'a>(board: &'a Board, channel: &str) -> Result<Study<'a>, String> {
    let channel = board
        .channels
        .iter()
        .find(|c| c.name == channel)
        .ok_or_else(|| format!("there is no channel `{channel}`"))?;
    Study::new(board, channel).map_err(|f| f.message)
}
