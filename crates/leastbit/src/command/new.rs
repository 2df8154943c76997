//! `leastbit new`.

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
    if let Err(fault) = files::write_whole(file, &made.text, false) {
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
