//! What may be written on the command line.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand};

const EXIT_CODES: &str = "\
Exit codes: 0 every need is met; 1 not all are; 2 the input cannot be used.
Colour appears on a terminal only, and not with NO_COLOR set.";

/// Judges measuring boards described in one text file each.
#[derive(Debug, Parser)]
#[command(version, after_help = EXIT_CODES)]
pub(crate) struct Arguments {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    Check(Check),
    Budget(Budget),
    Parts(Parts),
    Explain(Explain),
}

/// Where parts come from, beside the shipped library.
#[derive(Debug, Args)]
pub(crate) struct PartFolders {
    /// Folder with part files of your own (every *.toml in it); may be given
    /// more than once. A part with the name of another one is refused.
    #[arg(long = "parts", value_name = "DIR")]
    pub folders: Vec<PathBuf>,
}

/// Verdict for every channel of a board: need, worst case, propagation,
/// Monte Carlo, yield, and what to do.
#[derive(Debug, Args)]
#[command(after_help = format!("\
Examples:
  leastbit check examples/first-divider.toml
  leastbit check --brief --parts our-parts board.toml
  leastbit check --json board.toml > verdict.json

{EXIT_CODES}"))]
pub(crate) struct Check {
    /// The board file.
    pub board: PathBuf,
    #[command(flatten)]
    pub parts: PartFolders,
    /// One line per channel and finding.
    #[arg(long)]
    pub brief: bool,
    /// Print the result as JSON.
    #[arg(long)]
    pub json: bool,
}

/// Where one channel's error comes from: every contributor with kind, share,
/// sensitivity and source, before and after calibration.
#[derive(Debug, Args)]
#[command(after_help = format!("\
Examples:
  leastbit budget examples/first-divider.toml pump-supply
  leastbit budget --working board.toml tank-1

{EXIT_CODES}"))]
pub(crate) struct Budget {
    /// The board file.
    pub board: PathBuf,
    /// Name of the channel.
    pub channel: String,
    #[command(flatten)]
    pub parts: PartFolders,
    /// Also show the way from the quantity to the error, with the numbers put
    /// in.
    #[arg(long)]
    pub working: bool,
    /// Print the result as JSON.
    #[arg(long)]
    pub json: bool,
}

/// The parts there are: all of them, those that have every one of some words,
/// or one with all its figures and their sources.
#[derive(Debug, Args)]
#[command(after_help = format!("\
Examples:
  leastbit parts
  leastbit parts search shunt reference 2.5
  leastbit parts show adr5041-b
  leastbit parts --parts our-parts search bridge

{EXIT_CODES}"))]
pub(crate) struct Parts {
    #[command(subcommand)]
    pub what: Option<PartsWhat>,
    #[command(flatten)]
    pub parts: PartFolders,
    /// Print the result as JSON.
    #[arg(long, global = true)]
    pub json: bool,
}

#[derive(Debug, Subcommand)]
pub(crate) enum PartsWhat {
    /// All parts.
    List,
    /// The parts that have every one of the words in their name, kind, title,
    /// maker, quantity or law.
    Search {
        /// Words; capitals do not count.
        #[arg(required = true)]
        words: Vec<String>,
    },
    /// One part with all its figures and where each comes from.
    Show {
        /// Its name.
        id: String,
    },
}

/// The page on a finding: what it means, why it matters, how it is computed,
/// what to do. Without an id, all there are.
#[derive(Debug, Args)]
#[command(after_help = format!("\
Examples:
  leastbit explain
  leastbit explain reference.span-exceeds

{EXIT_CODES}"))]
pub(crate) struct Explain {
    /// Id of a finding, as `check` prints it.
    pub id: Option<String>,
    /// Print the result as JSON.
    #[arg(long)]
    pub json: bool,
}
