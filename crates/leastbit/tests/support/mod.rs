//! Running the real binary.
#![allow(dead_code, clippy::unwrap_used, clippy::panic, reason = "tests")]

use std::path::PathBuf;
use std::process::{Command, Output};
use std::sync::atomic::{AtomicUsize, Ordering};

/// The binary, away from any terminal and without settings from outside.
pub fn command() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_leastbit"));
    command.env_remove("NO_COLOR").env_remove("CLICOLOR_FORCE");
    command
}

/// Runs it.
pub fn run(arguments: &[&str]) -> Output {
    command().args(arguments).output().unwrap()
}

/// The exit code; a signal is a fault of the test.
pub fn code(output: &Output) -> i32 {
    output
        .status
        .code()
        .unwrap_or_else(|| panic!("ended by a signal: {}", stderr(output)))
}

/// What it printed.
pub fn stdout(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

/// What it complained about.
pub fn stderr(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

/// The project's folder.
pub fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// Path of an example board.
pub fn examples(name: &str) -> String {
    root().join("examples").join(name).display().to_string()
}

/// A file or folder of the test's own, gone at its end.
pub struct Own(PathBuf);

impl Own {
    /// Its path.
    pub fn path(&self) -> String {
        self.0.display().to_string()
    }

    /// A path in it.
    pub fn join(&self, name: &str) -> String {
        self.0.join(name).display().to_string()
    }
}

impl Drop for Own {
    fn drop(&mut self) {
        let _ = if self.0.is_dir() {
            std::fs::remove_dir_all(&self.0)
        } else {
            std::fs::remove_file(&self.0)
        };
    }
}

fn fresh(name: &str, end: &str) -> PathBuf {
    static COUNT: AtomicUsize = AtomicUsize::new(0);
    let n = COUNT.fetch_add(1, Ordering::Relaxed);
    std::env::temp_dir().join(format!("leastbit-{}-{n}-{name}{end}", std::process::id()))
}

/// A file with this text.
pub fn written(name: &str, text: impl AsRef<[u8]>) -> Own {
    let path = fresh(name, ".toml");
    std::fs::write(&path, text).unwrap();
    Own(path)
}

/// An empty folder.
pub fn folder(name: &str) -> Own {
    let path = fresh(name, "");
    std::fs::create_dir(&path).unwrap();
    Own(path)
}
