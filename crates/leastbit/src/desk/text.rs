//! The text of the board file.

use maud::{Markup, html};

use super::page;
use super::session::{Desk, Elsewhere};

/// The text view: an editor, what is wrong at its lines, and what has changed
/// since it was saved.
pub(super) fn view(desk: &Desk) -> Markup {
    html! {
        h1 { "Text" }
        div #faults hx-get="/part/faults" hx-trigger="desk-changed from:body" hx-swap="innerMorph" { (page::faults(desk)) }
        div.editor {
            textarea #text name="text" spellcheck="false" autocomplete="off" wrap="off"
                aria-label="Board file" data-version=(desk.version) rows="40" { (desk.draft.text) }
        }
        div #changes hx-get="/part/changes" hx-trigger="desk-changed from:body" hx-swap="innerMorph" { (changes(desk)) }
    }
}

/// What has changed since the file was saved, and what another program wrote.
pub(super) fn changes(desk: &Desk) -> Markup {
    html! {
        @if desk.is_changed() {
            section aria-label="Changes" {
                h2 { "Changed since it was saved" }
                (difference(&desk.saved.text, &desk.draft.text))
            }
        }
        @if let Elsewhere::Changed(theirs) = &desk.elsewhere {
            section aria-label="Changes by another program" {
                h2 { "What another program changed" }
                (difference(&desk.saved.text, theirs))
            }
        }
    }
}

/// Lines that went and lines that came, between the first and the last that
/// differ.
fn difference(old: &str, new: &str) -> Markup {
    let (a, b): (Vec<&str>, Vec<&str>) = (old.lines().collect(), new.lines().collect());
    let first = a.iter().zip(&b).take_while(|(x, y)| x == y).count();
    let last = a
        .iter()
        .skip(first)
        .rev()
        .zip(b.iter().skip(first).rev())
        .take_while(|(x, y)| x == y)
        .count();
    let gone = a.get(first..a.len() - last).unwrap_or_default();
    let came = b.get(first..b.len() - last).unwrap_or_default();
    html! {
        div.scroll tabindex="0" {
            pre.difference {
                @for l in gone { del { "− " (l) "\n" } }
                @for l in came { ins { "+ " (l) "\n" } }
            }
        }
    }
}
