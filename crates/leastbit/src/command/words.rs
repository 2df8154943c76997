//! `leastbit words`.

use crate::arguments::Words;
use crate::command::{json, out};
use crate::{Ended, files, show};

/// Shows what digital words hold and what bytes that were seen mean.
pub(crate) fn run(a: &Words) -> Ended {
    let mut seen = Vec::new();
    for text in &a.decode {
        match board::bytes_of(text) {
            Ok(bytes) if !bytes.is_empty() => seen.push(bytes),
            Ok(_) => {
                anstream::eprintln!("--decode \"{text}\": no bytes");
                return Ended::Unusable;
            }
            Err(word) => {
                anstream::eprintln!("--decode \"{text}\": `{word}` is no byte");
                anstream::eprintln!("    expected: bytes such as \"0x1A 0x2B\" or \"0x1A2B\"");
                return Ended::Unusable;
            }
        }
    }
    let Ok(mut input) = files::library(&a.parts.folders) else {
        return Ended::Unusable;
    };
    let Ok((board, _)) = files::board(&a.board, &mut input) else {
        return Ended::Unusable;
    };
    match verdict::words(&board, a.word.as_deref(), &seen, &a.reads) {
        Ok(result) => {
            let ended = if result.is_met() {
                Ended::Met
            } else {
                Ended::NotMet
            };
            if a.json {
                return json(&result, ended);
            }
            out(&show::words(&result));
            ended
        }
        Err(verdict::WordsFault::NoReading(text)) => {
            anstream::eprintln!("--reads \"{text}\": no word here can be about it");
            anstream::eprintln!(
                "    expected: a reading in the unit of a word, such as \"-127 °C\""
            );
            Ended::Unusable
        }
        Err(verdict::WordsFault::NoWord(known)) => {
            let name = a.word.as_deref().unwrap_or("");
            anstream::eprintln!("{}: no word is named `{name}`", a.board.display());
            anstream::eprintln!(
                "    expected: {}",
                if known.is_empty() {
                    "a [words.NAME] in the file".to_owned()
                } else {
                    format!("one of {}", known.join(", "))
                }
            );
            Ended::Unusable
        }
    }
}
