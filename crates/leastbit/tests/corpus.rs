//! Everything that fuzzing has kept (`fuzz/corpus`, see `fuzz/run.sh`), read
//! and judged again: hostile files end in a board or in faults that say
//! something and stand within the text, never in a panic.
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests")]

use std::path::{Path, PathBuf};

use finding::{InputFault, SourceId, Sources};
use parts::{Library, Origin};
use uncertainty::Settings;

fn texts(name: &str) -> Vec<(PathBuf, String)> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("../../fuzz/corpus")
        .join(name);
    let mut texts: Vec<(PathBuf, String)> = std::fs::read_dir(&folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter_map(|path| Some((path.clone(), std::fs::read_to_string(path).ok()?)))
        .collect();
    texts.sort();
    assert!(texts.len() > 10, "{}", folder.display());
    texts
}

fn sensible(sources: &Sources, id: SourceId, path: &Path, faults: &[InputFault]) {
    for fault in faults {
        assert!(!fault.message.is_empty(), "{}", path.display());
        if fault.span.source == id {
            let range = fault.span.range();
            assert!(
                sources.text(id).get(range.clone()).is_some(),
                "{}: {range:?}, {}",
                path.display(),
                fault.message
            );
        }
        assert!(sources.place(fault.span).line >= 1);
    }
}

#[test]
fn property_kept_boards_are_read_and_judged_or_refused_with_reasons() {
    let few = Settings {
        first_trials: 64,
        most_trials: 128,
        most_boards: 32,
        worst_points: 1,
        ..Settings::default()
    };
    let mut judged = 0;
    for (path, text) in texts("check") {
        let mut sources = Library::sources();
        let id = sources.add("board.toml", &text);
        let (board, faults) = board::read(id, &text, Library::shipped(), &chain::vocabulary());
        sensible(&sources, id, &path, &faults);
        let Some(board) = board else {
            assert!(!faults.is_empty(), "{}: nothing said", path.display());
            continue;
        };
        let report = verdict::check_with(&board, &sources, &few, &|_, _| {});
        assert_eq!(
            report.channels.len(),
            board.channels.len(),
            "{}",
            path.display()
        );
        assert!(serde_json::to_string(&report).is_ok(), "{}", path.display());
        timed(&board, &sources, &path);
        judged += 1;
    }
    assert!(judged > 10, "{judged}");
}

/// What asks about time has an answer or a reason for every channel, and a
/// sheet that is drawn.
fn timed(board: &board::Board, sources: &Sources, path: &Path) {
    let response = verdict::response(board, None, &[1e3]).unwrap();
    assert_eq!(response.channels.len(), board.channels.len());
    for c in &response.channels {
        let answered = !c.points.is_empty();
        assert!(answered == c.reason.is_empty(), "{}", path.display());
    }
    let noise = verdict::noise(board, None, sources).unwrap();
    let schedule = verdict::schedule(board);
    let mut sheets = vec![
        draw::response(&response),
        draw::noise(&noise),
        draw::schedule(&schedule),
        draw::links(&verdict::links(board, &finding::Sources::default())),
        draw::rails(&verdict::rails(board, &finding::Sources::default())),
    ];
    if let Some(c) = board.channels.first() {
        let event = verdict::CourseEvent::Step;
        let course = verdict::course(board, &c.name, event, None).unwrap();
        sheets.push(draw::course(&course));
    }
    for sheet in sheets {
        let svg = sheet.svg();
        assert!(
            svg.ends_with("</svg>\n") && !svg.contains("NaN"),
            "{}",
            path.display()
        );
    }
}

#[test]
fn property_kept_part_files_are_read_or_refused_with_reasons() {
    for (path, text) in texts("part") {
        let mut sources = Library::sources();
        let id = sources.add("parts.toml", &text);
        let (_, faults) = parts::parse(id, &text, &Origin::User("parts.toml".to_owned()));
        sensible(&sources, id, &path, &faults);
    }
}
