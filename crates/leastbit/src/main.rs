//! The `leastbit` command: files in, results out.

mod arguments;
mod command;
mod desk;
mod files;
mod progress;
mod show;

use std::process::ExitCode;

use clap::Parser;

use crate::arguments::{Arguments, Command};

/// How a command ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Ended {
    /// Everything is met, or the question has an answer.
    Met,
    /// A need is not met, or the question has no answer on this board.
    NotMet,
    /// The input cannot be used; what is wrong has been said.
    Unusable,
}

fn main() -> ExitCode {
    let ended = match Arguments::parse().command {
        Command::Desk(a) => desk::run(&a),
        Command::New(a) => command::new::run(&a),
        Command::Check(a) => command::check::run(&a),
        Command::Budget(a) => command::budget::run(&a),
        Command::Response(a) => command::response::run(&a),
        Command::Noise(a) => command::noise::run(&a),
        Command::Links(a) => command::links::run(&a),
        Command::Schedule(a) => command::schedule::run(&a),
        Command::Rails(a) => command::rails::run(&a),
        Command::Course(a) => command::course::run(&a),
        Command::Faults(a) => command::faults::run(&a),
        Command::Bound(a) => command::bound::run(&a),
        Command::Interference(a) => command::interference::run(&a),
        Command::Words(a) => command::words::run(&a),
        Command::Parts(a) => command::parts::run(&a),
        Command::Explain(a) => command::explain::run(&a),
    };
    ExitCode::from(match ended {
        Ended::Met => 0,
        Ended::NotMet => 1,
        Ended::Unusable => 2,
    })
}
