//! What holds a board together besides its channels: links and their levels,
//! pins, rails and what they carry, heat, shared returns, and what happens
//! when a wire goes wrong.
//!
//! [`analyse`] works all of it out once for a board. Values come back with
//! their units in their names; what is to be said of them is said above.
//! [`settled`] writes what rails, heat and returns do to the channels into the
//! board, where the models of the channels read it.

pub mod buses;
pub mod energy;
pub mod faults;
pub mod graph;
pub mod heat;
pub mod levels;
pub mod pins;
pub mod rails;
pub mod returns;
mod settled;
pub mod wire;
pub mod words;

use board::Board;

pub use settled::settled;

/// Everything the system layer says of a board.
#[derive(Clone, Debug, Default)]
#[non_exhaustive]
pub struct Analysis {
    /// Buses: pull-ups, clocks, addresses, polling.
    pub buses: buses::Buses,
    /// What the words on its buses can say, one for each.
    pub words: Vec<words::WordAnalysis>,
    /// What each rail feeds, and the powers and voltages that follow.
    pub rails: rails::Rails,
    /// What gets warm and whom it warms.
    pub heat: Vec<heat::Heat>,
    /// Currents that share their way back.
    pub returns: Vec<returns::Return>,
    /// Levels of every driver at every receiver.
    pub levels: levels::Levels,
    /// What pins are used for, and what does not fit.
    pub pins: pins::Pins,
    /// What is stored, and what cells give into a short circuit.
    pub energy: energy::Energy,
    /// What happens when a wire or a component of a channel breaks.
    pub faults: faults::Faults,
}

/// Works out everything the system layer says of a board, be it [`settled`]
/// already or not.
#[must_use]
pub fn analyse(board: &Board) -> Analysis {
    let as_read = settled::quiet(board);
    let loads = rails::gather(&as_read);
    let power = rails::solve(&as_read, &loads);
    // Levels and buses are judged on rails as they are under load.
    let loaded = settled(board);
    let drawn_a = faults::drawn_a(board, &loads, &power);
    Analysis {
        buses: buses::analyse(&loaded),
        words: words::analyse(board),
        heat: heat::analyse(&as_read, &power),
        returns: returns::analyse(&as_read, &loads, &power),
        rails: rails::analyse(&as_read, loads, power),
        levels: levels::analyse(&loaded),
        pins: pins::analyse(board),
        energy: energy::analyse(board),
        faults: faults::analyse(board, drawn_a),
    }
}
