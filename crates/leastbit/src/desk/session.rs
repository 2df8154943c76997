//! What lies on the desk: the file as saved, the text as changed, and what
//! was worked out of each.

use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, SystemTime};

use board::Board;
use finding::{InputFault, SourceId, Sources};
use parts::Library;
use tokio::sync::watch;

use crate::files::{self, Input};

/// How often the file is looked at for changes from elsewhere.
const WATCH: Duration = Duration::from_millis(700);
/// Steps that can be taken back.
const MOST_STEPS: usize = 500;
/// Trials of the first, quick answer.
const QUICK_TRIALS: u64 = 4_000;

/// Everything worked out of one text.
pub(super) struct Results {
    /// The board as read.
    pub board: Board,
    /// The texts it was read from.
    pub sources: Sources,
    /// The verdicts.
    pub check: report::Check,
    /// From few trials: a better answer is on its way.
    pub quick: bool,
}

/// A text and what is wrong with it or follows from it.
#[derive(Clone, Default)]
pub(super) struct Sheet {
    /// The text.
    pub text: String,
    /// What follows from it, or from the last text that could be read.
    pub results: Option<Arc<Results>>,
    /// What is wrong with it, with the texts the places belong to.
    pub faults: Arc<(Sources, Vec<InputFault>)>,
}

/// What happens to the file behind the desk's back.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Elsewhere {
    /// Nothing.
    Same,
    /// Another program has written it; this is the text now.
    Changed(String),
    /// It cannot be read any more.
    Gone(String),
}

/// What is on the desk at a moment.
#[derive(Clone)]
pub(super) struct Desk {
    /// The file, if there is one.
    pub path: Option<PathBuf>,
    /// As last saved or read.
    pub saved: Sheet,
    /// As changed since.
    pub draft: Sheet,
    /// What another program did to the file.
    pub elsewhere: Elsewhere,
    /// Counts changes of text.
    pub version: u64,
    undo: Vec<String>,
    redo: Vec<String>,
}

impl Desk {
    /// Whether the draft differs from the file.
    pub fn is_changed(&self) -> bool {
        self.draft.text != self.saved.text
    }
    /// Whether there is a step to take back, and one to take again.
    pub fn steps(&self) -> (bool, bool) {
        (!self.undo.is_empty(), !self.redo.is_empty())
    }
    /// Whether there is a text on the desk.
    pub fn is_open(&self) -> bool {
        self.path.is_some() || !self.draft.text.is_empty()
    }
    /// Name of the file.
    pub fn name(&self) -> String {
        self.path.as_ref().map_or_else(
            || "not saved under a name".to_owned(),
            |p| {
                p.file_name().map_or_else(
                    || p.display().to_string(),
                    |n| n.to_string_lossy().into_owned(),
                )
            },
        )
    }
}

/// The desk shared by all requests.
pub(super) struct Session {
    desk: Mutex<Desk>,
    library: Library,
    base: Sources,
    /// Where new files go: the folder of the file opened.
    folder: PathBuf,
    /// Counts everything that pages show.
    changed: watch::Sender<u64>,
}

impl Session {
    /// Opens a board, or an empty desk.
    ///
    /// # Errors
    /// The file cannot be read; in words.
    pub fn open(path: Option<&Path>, input: Input) -> Result<Session, String> {
        let text = match path {
            Some(path) => files::text_of(path).map_err(|m| format!("{}: {m}", path.display()))?,
            None => String::new(),
        };
        let sheet = Sheet {
            text,
            ..Sheet::default()
        };
        Ok(Session {
            desk: Mutex::new(Desk {
                path: path.map(Path::to_path_buf),
                saved: sheet.clone(),
                draft: sheet,
                elsewhere: Elsewhere::Same,
                version: 1,
                undo: Vec::new(),
                redo: Vec::new(),
            }),
            library: input.library,
            base: input.sources,
            folder: path
                .and_then(Path::parent)
                .filter(|p| !p.as_os_str().is_empty())
                .unwrap_or(Path::new("."))
                .to_path_buf(),
            changed: watch::Sender::new(1),
        })
    }

    fn lock(&self) -> MutexGuard<'_, Desk> {
        // A desk left in the middle of a panic still has all its texts.
        self.desk.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The desk as it is now.
    pub fn now(&self) -> Desk {
        self.lock().clone()
    }

    /// The parts there are.
    pub fn library(&self) -> &Library {
        &self.library
    }

    /// Tells when pages are behind.
    pub fn follow(&self) -> watch::Receiver<u64> {
        self.changed.subscribe()
    }

    fn tell(&self) {
        self.changed.send_modify(|n| *n += 1);
    }

    /// Puts another text on the desk.
    pub fn change(self: &Arc<Self>, text: String) {
        {
            let mut desk = self.lock();
            if desk.draft.text == text {
                return;
            }
            let before = std::mem::replace(&mut desk.draft.text, text);
            desk.undo.push(before);
            if desk.undo.len() > MOST_STEPS {
                desk.undo.remove(0);
            }
            desk.redo.clear();
            desk.version += 1;
        }
        self.recompute();
    }

    /// Takes a step back, or again.
    pub fn step(self: &Arc<Self>, back: bool) {
        {
            let mut desk = self.lock();
            let Some(text) = (if back {
                desk.undo.pop()
            } else {
                desk.redo.pop()
            }) else {
                return;
            };
            let before = std::mem::replace(&mut desk.draft.text, text);
            if back {
                desk.redo.push(before);
            } else {
                desk.undo.push(before);
            }
            desk.version += 1;
        }
        self.recompute();
    }

    /// Writes one value anew.
    ///
    /// # Errors
    /// The path leads nowhere; in words.
    pub fn set(self: &Arc<Self>, path: &str, value: &str) -> Result<(), String> {
        let text = self.lock().draft.text.clone();
        let text = board::with_value(&text, path, value).map_err(|f| f.message)?;
        self.change(text);
        Ok(())
    }

    /// Writes the file, whole or not at all.
    ///
    /// # Errors
    /// Another program has changed it, or it cannot be written; in words.
    pub fn save(self: &Arc<Self>, over: bool) -> Result<(), String> {
        let (path, text, saved) = {
            let desk = self.lock();
            (
                desk.path.clone(),
                desk.draft.text.clone(),
                desk.saved.text.clone(),
            )
        };
        let path = path.ok_or("no file is open")?;
        match files::text_of(&path) {
            Ok(there) if there != saved && !over => {
                self.lock().elsewhere = Elsewhere::Changed(there);
                self.tell();
                return Err("another program has changed the file: nothing was written".to_owned());
            }
            _ => {}
        }
        files::write_whole(&path, &text, true)?;
        {
            let mut desk = self.lock();
            let results = if desk.draft.text == text {
                desk.draft.clone()
            } else {
                Sheet {
                    text,
                    results: None,
                    faults: Arc::default(),
                }
            };
            desk.saved = results;
            desk.elsewhere = Elsewhere::Same;
        }
        self.tell();
        Ok(())
    }

    /// Puts a new text on an empty desk; it has no file until it is saved
    /// under a name.
    pub fn begin(self: &Arc<Self>, text: String) {
        {
            let mut desk = self.lock();
            let version = desk.version + 1;
            *desk = Desk {
                path: None,
                saved: Sheet::default(),
                draft: Sheet {
                    text,
                    ..Sheet::default()
                },
                elsewhere: Elsewhere::Same,
                version,
                undo: Vec::new(),
                redo: Vec::new(),
            };
        }
        self.recompute();
    }

    /// Writes the text into a new file of the folder the desk was opened in.
    ///
    /// # Errors
    /// The name leads elsewhere, or is taken; in words.
    pub fn save_as(self: &Arc<Self>, name: &str) -> Result<(), String> {
        let stem = name.strip_suffix(".toml").unwrap_or(name);
        let plain = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | ' ');
        if stem.is_empty() || stem.len() > 100 || !stem.chars().all(plain) {
            return Err("a name of letters, digits, spaces, - and _, without folders".to_owned());
        }
        let path = self.folder.join(format!("{stem}.toml"));
        let text = self.lock().draft.text.clone();
        files::write_whole(&path, &text, false).map_err(|m| format!("{}: {m}", path.display()))?;
        {
            let mut desk = self.lock();
            desk.path = Some(path);
            desk.saved = if desk.draft.text == text {
                desk.draft.clone()
            } else {
                Sheet {
                    text,
                    ..Sheet::default()
                }
            };
        }
        self.tell();
        Ok(())
    }

    /// Takes the file as another program left it; what was on the desk can be
    /// had back as a step.
    pub fn take_theirs(self: &Arc<Self>) {
        let theirs = match &self.lock().elsewhere {
            Elsewhere::Changed(text) => text.clone(),
            _ => return,
        };
        {
            let mut desk = self.lock();
            desk.saved = Sheet {
                text: theirs.clone(),
                ..Sheet::default()
            };
            desk.elsewhere = Elsewhere::Same;
        }
        self.change(theirs);
        self.recompute();
    }

    /// Reads a text and works everything out, quickly first, then in full.
    /// Older answers never replace newer ones.
    pub fn recompute(self: &Arc<Self>) {
        let (version, text, path) = {
            let desk = self.lock();
            (desk.version, desk.draft.text.clone(), desk.path.clone())
        };
        self.tell();
        if path.is_none() && text.is_empty() {
            return;
        }
        let session = Arc::clone(self);
        // The thread ends with its answer; a newer text makes it end sooner.
        std::thread::spawn(move || session.work(version, &text, path.as_deref()));
    }

    fn work(&self, version: u64, text: &str, path: Option<&Path>) {
        let mut sources = self.base.clone();
        let name = path.map_or_else(|| "board.toml".to_owned(), |p| p.display().to_string());
        let id: SourceId = sources.add(&name, text);
        let (read, faults) = board::read(id, text, &self.library, &chain::vocabulary());
        let is_current = || self.lock().version == version;
        let Some(board) = read else {
            let mut desk = self.lock();
            if desk.version == version {
                desk.draft.faults = Arc::new((sources, faults));
                drop(desk);
                self.tell();
            }
            return;
        };
        let quick = uncertainty::Settings {
            most_trials: QUICK_TRIALS,
            ..uncertainty::Settings::default()
        };
        for (settings, is_quick) in [(quick, true), (uncertainty::Settings::default(), false)] {
            if !is_current() {
                return;
            }
            let check = verdict::check_with(&board, &sources, &settings, &|_, _| {});
            let results = Arc::new(Results {
                board: board.clone(),
                sources: sources.clone(),
                check,
                quick: is_quick,
            });
            let mut desk = self.lock();
            if desk.version != version {
                return;
            }
            desk.draft.results = Some(results);
            desk.draft.faults = Arc::default();
            if desk.saved.text == desk.draft.text {
                desk.saved = desk.draft.clone();
            }
            drop(desk);
            self.tell();
        }
    }

    /// Looks at the file now and then, for what other programs do to it.
    pub fn watch_file(self: &Arc<Self>) {
        let session = Arc::clone(self);
        tokio::spawn(async move {
            let mut seen: Option<(SystemTime, u64)> = None;
            loop {
                tokio::time::sleep(WATCH).await;
                let Some(path) = session.lock().path.clone() else {
                    continue;
                };
                let stamp = std::fs::metadata(&path)
                    .ok()
                    .and_then(|m| Some((m.modified().ok()?, m.len())));
                if stamp.is_some() && stamp == seen {
                    continue;
                }
                seen = stamp;
                session.look_at_file(&path);
            }
        });
    }

    fn look_at_file(&self, path: &Path) {
        let there = files::text_of(path);
        let mut desk = self.lock();
        let now = match there {
            Ok(text) if text == desk.saved.text => Elsewhere::Same,
            Ok(text) => Elsewhere::Changed(text),
            Err(message) => Elsewhere::Gone(message),
        };
        if now != desk.elsewhere {
            desk.elsewhere = now;
            drop(desk);
            self.tell();
        }
    }
}
