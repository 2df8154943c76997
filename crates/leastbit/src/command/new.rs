//! `leastbit new`.

use std::io::Write;
use std::path::Path;

use report::{Offered, Offers, Started};
use starter::{Effort, StarterFault, Wish};

use crate::arguments::New;
use crate::command::{json, out};
use crate::progress::Counter;
use crate::{Ended, files, show};

/// Writes a starter board, or lists what one can be made of.
pub(crate) fn run(a: &New) -> Ended {
    let Ok(input) = files::library(&a.parts.folders) else {
        return Ended::Unusable;
    };
    let offer = |part: &parts::Part| Offered {
        id: part.id.clone(),
        kind: part.kind.clone(),
        title: part.title.clone(),
    };
    if a.list {
        let offers = Offers {
            version: report::VERSION,
            devices: starter::devices(&input.library).map(offer).collect(),
            sensors: starter::sensors(&input.library).map(offer).collect(),
        };
        if a.json {
            return json(&offers, Ended::Met);
        }
        out(&show::offers(&offers));
        return Ended::Met;
    }
    let (Some(file), Some(device)) = (&a.file, &a.controller) else {
        return Ended::Unusable;
    };
    if file.exists() {
        anstream::eprintln!(
            "{}: is there already and is not overwritten",
            file.display()
        );
        return Ended::Unusable;
    }
    let name = file
        .file_stem()
        .map_or_else(String::new, |s| s.to_string_lossy().into_owned());
    let wishes: Vec<Wish> = a.sensors.iter().map(|s| Wish::read(s)).collect();
    let counter = Counter::new("channels chosen");
    let count = std::cell::Cell::new(0);
    let made = starter::starter(
        &input.library,
        &name,
        device,
        &wishes,
        Effort::default(),
        &|_| {
            counter.tell(count.get());
            count.set(count.get() + 1);
        },
    );
    drop(counter);
    let made = match made {
        Ok(made) => made,
        Err(fault) => return refused(&fault),
    };
    if let Err(fault) = write_whole(file, &made.text) {
        anstream::eprintln!("{}: {fault}", file.display());
        return Ended::Unusable;
    }
    let result = Started {
        version: report::VERSION,
        file: file.display().to_string(),
        channels: made.channels,
    };
    if a.json {
        return json(&result, Ended::Met);
    }
    out(&show::started(&result));
    Ended::Met
}

fn refused(fault: &StarterFault) -> Ended {
    anstream::eprintln!("{}", fault.message);
    if !fault.expected.is_empty() {
        anstream::eprintln!("    expected: {}", fault.expected);
    }
    if let Some(near) = &fault.suggestion {
        anstream::eprintln!("    did you mean: {near}");
    }
    Ended::Unusable
}

/// Writes a new file, whole or not at all, never over another: under another
/// name first, which then becomes the file's in one step that fails if
/// something has that name by now.
fn write_whole(file: &Path, text: &str) -> Result<(), String> {
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
        .and_then(|()| std::fs::hard_link(draft, file));
    let result = match written {
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
