//! Something to look at while a computation takes longer than a second.

use std::cell::Cell;
use std::io::{IsTerminal, Write};
use std::time::{Duration, Instant};

use uncertainty::{Progress, Stage};

/// Shows how far work has come, on the error stream of a terminal only, and
/// only from one second on.
pub(crate) struct Teller {
    terminal: bool,
    started: Instant,
    last: Cell<Option<Instant>>,
    count: usize,
    done: Cell<usize>,
}

impl Teller {
    /// For so many channels.
    pub fn new(count: usize) -> Self {
        Teller {
            terminal: std::io::stderr().is_terminal(),
            started: Instant::now(),
            last: Cell::new(None),
            count,
            done: Cell::new(0),
        }
    }

    /// Tells of one channel.
    pub fn tell(&self, channel: &str, progress: Progress) {
        if progress.stage == Stage::Screening && progress.done == 0 {
            self.done.set(self.done.get() + 1);
        }
        let now = Instant::now();
        if !self.terminal || now.duration_since(self.started) < Duration::from_secs(1) {
            return;
        }
        if let Some(last) = self.last.get()
            && now.duration_since(last) < Duration::from_millis(100)
        {
            return;
        }
        self.last.set(Some(now));
        let stage = match progress.stage {
            Stage::Screening => "looking for the worst conditions",
            Stage::WorstCase => "worst case",
            Stage::Sampling => "Monte Carlo",
            Stage::Yield => "yield",
        };
        let mut stream = std::io::stderr();
        let _ = write!(
            stream,
            "\r\x1b[K{} of {}: {channel}, {stage} {}/{}",
            self.done.get(),
            self.count.max(self.done.get()),
            progress.done,
            progress.of
        );
        let _ = stream.flush();
    }
}

impl Drop for Teller {
    fn drop(&mut self) {
        if self.last.get().is_some() {
            let mut stream = std::io::stderr();
            let _ = write!(stream, "\r\x1b[K");
            let _ = stream.flush();
        }
    }
}
