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
