//! What the fuzzer does with bytes: everything that the program would do
//! with a file of that content, short of printing.

mod change;

pub use change::change;

use board::Board;
use finding::{InputFault, SourceId, Sources};
use parts::{Library, Origin};
use uncertainty::Settings;

/// Channels are judged one like the other; many only take long.
const MOST_CHANNELS: usize = 6;

/// Few trials: the same code runs, in a thousandth of the time.
fn few() -> Settings {
    Settings {
        first_trials: 64,
        most_trials: 128,
        most_boards: 32,
        worst_points: 1,
        ..Settings::default()
    }
}

/// Every fault has a message and stands within the text.
fn sensible(sources: &Sources, id: SourceId, text: &str, faults: &[InputFault]) {
    for fault in faults {
        assert!(!fault.message.is_empty());
        let range = fault.span.range();
        assert!(
            fault.span.source != id || text.get(range.clone()).is_some(),
            "{range:?} is no range of the text: {}",
            fault.message
        );
        let _ = sources.line(fault.span);
    }
}

fn read(text: &str) -> (Sources, Option<Board>) {
    let mut sources = Library::sources();
    let id = sources.add("board.toml", text);
    let (board, faults) = board::read(id, text, Library::shipped(), &chain::vocabulary());
    sensible(&sources, id, text, &faults);
    assert!(
        board.is_some() || !faults.is_empty(),
        "no board and nothing said"
    );
    (sources, board)
}

/// Reads a board file.
pub fn board(bytes: &[u8]) {
    if let Ok(text) = std::str::from_utf8(bytes) {
        let _ = read(text);
    }
}

/// Reads a board file and judges it.
pub fn check(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return;
    };
    if let (sources, Some(board)) = read(text) {
        if board.channels.len() > MOST_CHANNELS {
            return;
        }
        let report = verdict::check_with(&board, &sources, &few(), &|_, _| {});
        assert_eq!(report.channels.len(), board.channels.len());
    }
}

/// Reads a file of parts.
pub fn part(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return;
    };
    let mut sources = Library::sources();
    let id = sources.add("parts.toml", text);
    let (_, faults) = parts::parse(id, text, &Origin::User("parts.toml".to_owned()));
    sensible(&sources, id, text, &faults);
}
