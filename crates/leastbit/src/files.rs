//! Reading board files and folders of part files.

use std::io::{Read, Write};
use std::path::{Path, PathBuf};

use board::Board;
use finding::{InputFault, SourceId, Sources};
use parts::{Library, Origin};

use crate::arguments::{Circumstances, PartFolders};
use crate::show;

/// Largest board or part file that is read, bytes.
const LARGEST: u64 = 4 << 20;
/// Most part files read from the user's folders.
const MOST_PART_FILES: usize = 10_000;

/// What was read.
pub(crate) struct Input {
    pub sources: Sources,
    pub library: Library,
}

/// The shipped library with the parts of the user's folders.
///
/// `Err` if a folder or a file in it cannot be used; that has been said.
pub(crate) fn library(folders: &[PathBuf]) -> Result<Input, ()> {
    let mut sources = Library::sources();
    if folders.is_empty() {
        return Ok(Input {
            sources,
            library: Library::shipped().clone(),
        });
    }
    let mut own = Vec::new();
    let mut faults: Vec<InputFault> = Vec::new();
    let mut unreadable = false;
    for folder in folders {
        let files = match toml_files(folder) {
            Ok(files) => files,
            Err(message) => {
                anstream::eprintln!("{}: {message}", folder.display());
                unreadable = true;
                continue;
            }
        };
        for file in files {
            let name = file.display().to_string();
            match text_of(&file) {
                Ok(text) => {
                    let id = sources.add(&name, &text);
                    let (parts, wrong) = parts::parse(id, &text, &Origin::User(name));
                    own.extend(parts);
                    faults.extend(wrong);
                }
                Err(message) => {
                    anstream::eprintln!("{name}: {message}");
                    unreadable = true;
                }
            }
        }
    }
    let (library, wrong) = Library::with(own);
    faults.extend(wrong);
    if !faults.is_empty() {
        anstream::eprint!("{}", show::faults(&sources, &faults));
    }
    if unreadable || !faults.is_empty() {
        return Err(());
    }
    Ok(Input { sources, library })
}

/// The *.toml files of a folder, by name.
fn toml_files(folder: &Path) -> Result<Vec<PathBuf>, String> {
    let entries = std::fs::read_dir(folder).map_err(|e| format!("cannot be read: {e}"))?;
    let mut files = Vec::new();
    for entry in entries {
        let path = entry.map_err(|e| format!("cannot be read: {e}"))?.path();
        if path.extension().is_some_and(|e| e == "toml") && path.is_file() {
            files.push(path);
        }
        if files.len() > MOST_PART_FILES {
            return Err(format!("has more than {MOST_PART_FILES} part files"));
        }
    }
    files.sort();
    Ok(files)
}

/// A board file, read and resolved, with its text among the sources; what is
/// wrong has been said otherwise.
pub(crate) fn board(path: &Path, input: &mut Input) -> Result<(Board, SourceId), ()> {
    let name = path.display().to_string();
    let text = match text_of(path) {
        Ok(text) => text,
        Err(message) => {
            anstream::eprintln!("{name}: {message}");
            return Err(());
        }
    };
    let id = input.sources.add(&name, &text);
    let (read, faults) = board::read(id, &text, &input.library, &chain::vocabulary());
    match read {
        Some(board) => Ok((board, id)),
        None => {
            anstream::eprint!("{}", show::faults(&input.sources, &faults));
            Err(())
        }
    }
}

/// The library and a board in one of its scenarios, or as written; what is in
/// the way has been said.
pub(crate) fn opened(
    path: &Path,
    parts: &PartFolders,
    circumstances: &Circumstances,
) -> Result<(Input, Board), ()> {
    let mut input = library(&parts.folders)?;
    let (read, _) = board(path, &mut input)?;
    let chosen = circumstances.scenario.as_deref();
    Ok((input, in_scenario(path, read, chosen)?))
}

/// The board in one of its scenarios; as written where none is named. A name
/// that it does not have is said.
fn in_scenario(path: &Path, board: Board, name: Option<&str>) -> Result<Board, ()> {
    let Some(name) = name else {
        return Ok(board);
    };
    let found = board.scenarios.iter().find(|s| s.name == name);
    if let Some(other) = found.and_then(|s| s.board.as_deref()) {
        let mut other = other.clone();
        other.name = format!("{}, {name}", board.name);
        return Ok(other);
    }
    let known: Vec<&str> = board.scenarios.iter().map(|s| s.name.as_str()).collect();
    anstream::eprintln!("{}: the board has no scenario `{name}`", path.display());
    if known.is_empty() {
        anstream::eprintln!("    expected: a [scenarios.NAME] in the file");
    } else {
        anstream::eprintln!("    expected: one of {}", known.join(", "));
    }
    if let Some(near) = finding::nearest_of(name, known.iter().copied()) {
        anstream::eprintln!("    did you mean: {near}");
    }
    Err(())
}

/// The text of a file, within bounds.
pub(crate) fn text_of(path: &Path) -> Result<String, String> {
    let cannot = |e: std::io::Error| format!("cannot be read: {e}");
    if std::fs::metadata(path).map_err(cannot)?.is_dir() {
        return Err("cannot be read: it is a folder".to_owned());
    }
    // What a file says of its size need not be true: devices and pipes have
    // none.
    let mut bytes = Vec::new();
    std::fs::File::open(path)
        .and_then(|f| f.take(LARGEST + 1).read_to_end(&mut bytes))
        .map_err(cannot)?;
    if bytes.len() as u64 > LARGEST {
        return Err(format!(
            "is too large: a file may have {LARGEST} bytes at the most"
        ));
    }
    String::from_utf8(bytes)
        .map_err(|e| format!("is not UTF-8 text (byte {})", e.utf8_error().valid_up_to()))
}

/// Writes a file, whole or not at all, and over another only with `over`:
/// under another name first, which then becomes the file's in one step, which
/// without `over` fails if something has that name by now.
pub(crate) fn write_whole(file: &Path, text: &str, over: bool) -> Result<(), String> {
    let cannot = |e: std::io::Error| match e.kind() {
        std::io::ErrorKind::AlreadyExists => "is there already and is not overwritten".to_owned(),
        _ => format!("cannot be written: {e}"),
    };
    let mut draft = file.as_os_str().to_owned();
    draft.push(format!(".{}.draft", std::process::id()));
    let draft = Path::new(&draft);
    let written = std::fs::OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(draft)
        .and_then(|mut f| f.write_all(text.as_bytes()).and_then(|()| f.sync_all()))
        .and_then(|()| {
            if over {
                std::fs::rename(draft, file)
            } else {
                std::fs::hard_link(draft, file)
            }
        });
    let result = match written {
        Err(e) if over => Err(e),
        // A file system without second names: the name is taken at once, and
        // given back if the writing fails.
        Err(e) if draft.exists() && e.kind() != std::io::ErrorKind::AlreadyExists => {
            std::fs::OpenOptions::new()
                .write(true)
                .create_new(true)
                .open(file)
                .and_then(|mut f| {
                    f.write_all(text.as_bytes())
                        .inspect_err(|_| drop(std::fs::remove_file(file)))
                })
        }
        other => other,
    };
    let _ = std::fs::remove_file(draft);
    result.map_err(cannot)
}
