//! Something to look at while a computation takes longer than a second.

use std::io::{IsTerminal, Write};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use uncertainty::{Progress, Stage};

/// A line that is written over and over, on the error stream of a terminal
/// only, from one second on, and gone at the end.
struct Line {
    terminal: bool,
    started: Instant,
    last: Mutex<Option<Instant>>,
}

impl Line {
    fn new() -> Self {
        Line {
            terminal: std::io::stderr().is_terminal(),
            started: Instant::now(),
            last: Mutex::new(None),
        }
    }

    /// Writes the line unless it is too early for it.
    fn show(&self, text: impl FnOnce() -> String) {
        let now = Instant::now();
        if !self.terminal || now.duration_since(self.started) < Duration::from_secs(1) {
            return;
        }
        // Whoever finds another thread writing leaves the line to it.
        let Ok(mut shown) = self.last.try_lock() else {
            return;
        };
        if let Some(last) = *shown
            && now.duration_since(last) < Duration::from_millis(100)
        {
            return;
        }
        *shown = Some(now);
        let mut stream = std::io::stderr();
        let _ = write!(stream, "\r\x1b[K{}", text());
        let _ = stream.flush();
    }
}

impl Drop for Line {
    fn drop(&mut self) {
        if self.last.lock().is_ok_and(|l| l.is_some()) {
            let mut stream = std::io::stderr();
            let _ = write!(stream, "\r\x1b[K");
            let _ = stream.flush();
        }
    }
}

/// Shows how far the work on a board's channels has come.
pub(crate) struct Teller {
    line: Line,
    count: usize,
    done: AtomicUsize,
}

impl Teller {
    /// For so many channels.
    pub fn new(count: usize) -> Self {
        Teller {
            line: Line::new(),
            count,
            done: AtomicUsize::new(0),
        }
    }

    /// Tells of one channel.
    pub fn tell(&self, channel: &str, progress: Progress) {
        if progress.stage == Stage::Screening && progress.done == 0 {
            self.done.fetch_add(1, Ordering::Relaxed);
        }
        let begun = self.done.load(Ordering::Relaxed);
        self.line.show(|| {
            let stage = match progress.stage {
                Stage::Screening => "looking for the worst conditions",
                Stage::WorstCase => "worst case",
                Stage::Sampling => "Monte Carlo",
                Stage::Yield => "yield",
            };
            format!(
                "{} of {}: {channel}, {stage} {}/{}",
                begun,
                self.count.max(begun),
                progress.done,
                progress.of
            )
        });
    }
}

/// Shows how many of something have been looked at.
pub(crate) struct Counter {
    line: Line,
    what: &'static str,
}

impl Counter {
    /// Counts these.
    pub fn new(what: &'static str) -> Self {
        Counter {
            line: Line::new(),
            what,
        }
    }

    /// Tells how many.
    pub fn tell(&self, count: usize) {
        self.line.show(|| format!("{count} {}", self.what));
    }
}
