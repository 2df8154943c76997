//! The `leastbit` command: files in, results out.

mod show;

use std::process::ExitCode;

use clap::{Parser, Subcommand};
use finding::Sources;
use parts::Library;

/// Largest board file that is read, bytes.
const LARGEST: u64 = 4 << 20;

/// Judges measuring boards described in one text file each.
#[derive(Parser)]
#[command(
    version,
    after_help = "Exit codes: 0 every channel meets its need, 1 not all do, 2 the input cannot be used."
)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Verdict for every channel of a board.
    #[command(after_help = "Example: leastbit check examples/first-divider.toml")]
    Check {
        /// The board file.
        board: std::path::PathBuf,
        /// Print the result as JSON.
        #[arg(long)]
        json: bool,
    },
}

fn main() -> ExitCode {
    let Command::Check { board, json } = Arguments::parse().command;
    let name = board.display().to_string();
    let text = match read(&board) {
        Ok(text) => text,
        Err(message) => {
            eprintln!("{name}: {message}");
            return ExitCode::from(2);
        }
    };
    let mut sources = Sources::new();
    let id = sources.add(&name, &text);
    let (read, faults) = board::read(id, &text, Library::shipped(), &chain::vocabulary());
    let Some(board) = read else {
        eprint!("{}", show::faults(&sources, &faults));
        return ExitCode::from(2);
    };
    let result = verdict::check(&board);
    if json {
        match serde_json::to_string_pretty(&result) {
            Ok(text) => println!("{text}"),
            Err(fault) => {
                eprintln!("{fault}");
                return ExitCode::from(2);
            }
        }
    } else {
        print!("{}", show::check(&result));
    }
    let good = result.channels.iter().all(|c| {
        matches!(
            c.verdict,
            report::Verdict::Meets | report::Verdict::Thin | report::Verdict::Fragment
        )
    });
    if good {
        ExitCode::SUCCESS
    } else {
        ExitCode::from(1)
    }
}

fn read(path: &std::path::Path) -> Result<String, String> {
    let size = std::fs::metadata(path)
        .map_err(|e| format!("cannot be read: {e}"))?
        .len();
    if size > LARGEST {
        return Err(format!(
            "has {size} bytes; a board file may have {LARGEST} at the most"
        ));
    }
    let bytes = std::fs::read(path).map_err(|e| format!("cannot be read: {e}"))?;
    String::from_utf8(bytes)
        .map_err(|e| format!("is not UTF-8 text (byte {})", e.utf8_error().valid_up_to()))
}
