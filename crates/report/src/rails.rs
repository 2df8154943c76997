//! What rails carry, what gets warm and what shared returns do.

use serde::Serialize;

use crate::check::Verdict;
use crate::finding::Finding;
use crate::judged::Judged;

/// The rails of a board.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Rails {
    /// Version of the type.
    pub version: u32,
    /// The board.
    pub board: String,
    /// Each rail after the one that feeds it.
    pub rails: Vec<RailResult>,
    /// What gets warm.
    pub heat: Vec<HeatResult>,
    /// Currents that share their way back.
    pub returns: Vec<ReturnResult>,
    /// Rounds until currents, voltages and powers agreed.
    pub rounds: usize,
    /// Whether they did.
    pub settled: bool,
    /// What there is to say about them.
    pub findings: Vec<Finding>,
}

/// One rail.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RailResult {
    /// Its name.
    pub name: String,
    /// The rail that feeds it; empty where it comes from outside.
    pub from: String,
    /// What stands between: a part, `divider`, `wire`; empty where it comes
    /// from outside.
    pub by: String,
    /// How many rails lie above it.
    pub depth: usize,
    /// Voltage without load: least, nominal, most, V; `null` where it has none.
    pub free_v: [f64; 3],
    /// Voltage as usual under its load, V.
    pub usual_v: f64,
    /// Lowest voltage under its largest load, V.
    pub low_v: f64,
    /// Usual current, A.
    pub usual_a: f64,
    /// Largest current, everything at once, A.
    pub most_a: f64,
    /// Current averaged over time, A.
    pub average_a: f64,
    /// The smallest of the currents it may give, A.
    pub limit_a: Option<f64>,
    /// What draws from it.
    pub loads: Vec<LoadLine>,
    /// Everything with limits.
    pub quantities: Vec<Judged>,
    /// The worst of them.
    pub verdict: Verdict,
}

/// One load of a rail.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LoadLine {
    /// What it is.
    pub name: String,
    /// Usual current, A.
    pub usual_a: f64,
    /// Largest current, A.
    pub most_a: f64,
    /// Current averaged over time, A.
    pub average_a: f64,
    /// The largest current is a typical figure, no bound.
    pub typical_only: bool,
    /// Where it was read.
    pub source: String,
}

/// One source of heat.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct HeatResult {
    /// Its name.
    pub name: String,
    /// What gets warm.
    pub source: String,
    /// Usual power, W.
    pub usual_w: f64,
    /// Largest power, W.
    pub most_w: f64,
    /// Thermal resistance to the ambient at most, K/W; zero where not known.
    pub resistance: f64,
    /// How warm it gets inside at the hottest ambient, beside its limit, °C;
    /// `None` where its thermal resistance is not known.
    pub junction: Option<Judged>,
    /// What it warms.
    pub warms: Vec<WarmLine>,
}

/// One thing warmed.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WarmLine {
    /// What.
    pub name: String,
    /// By as much as usual, K.
    pub usual_k: f64,
    /// By as much at most, K.
    pub most_k: f64,
}

/// A return that currents share.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ReturnResult {
    /// Its name.
    pub name: String,
    /// Its resistance as usual, Ω.
    pub ohm: f64,
    /// What it is made of.
    pub pieces: Vec<String>,
    /// Current through it, least and most, A.
    pub current_a: [f64; 2],
    /// Shift of the far ground, least, usual and most, V.
    pub shift_v: [f64; 3],
    /// What it does to the channels beyond it.
    pub channels: Vec<Shifted>,
}

/// A channel beyond a shared return.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Shifted {
    /// The channel.
    pub name: String,
    /// Largest error of its reading by the shift at most, with its sign, in
    /// its own unit.
    pub error: f64,
    /// Unit of the error.
    pub unit: String,
    /// The same in codes; `None` without a converter.
    pub codes: Option<f64>,
}
