//! The start page: boards to open, and a new one.

use maud::{Markup, html};

use super::session::Desk;

/// Boards that come with the program: what they are, and their text.
pub(super) const DEMONSTRATIONS: [(&str, &str, &str); 5] = [
    (
        "first-board",
        "one thermistor on a carrier",
        include_str!("../../../../examples/first-board.toml"),
    ),
    (
        "first-divider",
        "a fragment: one divider",
        include_str!("../../../../examples/first-divider.toml"),
    ),
    (
        "cellar-rack",
        "what ferments, how warm, how full",
        include_str!("../../../../examples/cellar-rack.toml"),
    ),
    (
        "cellar-rack-mistakes",
        "the same with mistakes in it",
        include_str!("../../../../examples/cellar-rack-mistakes.toml"),
    ),
    (
        "battery-trolley",
        "twenty lithium cells: cautions first",
        include_str!("../../../../examples/battery-trolley.toml"),
    ),
];

/// The start page.
pub(super) fn view(desk: &Desk, library: &parts::Library) -> Markup {
    html! {
        h1 { "Boards" }
        @if desk.is_open() {
            p { "On the desk: " a href="/" { (desk.name()) } "." }
        }
        section aria-label="Demonstration boards" {
            h2 { "Demonstration boards" }
            p.soft { "To look at and to play with: each is opened as a text of its own and written nowhere until it is saved under a name." }
            ul.boards {
                @for (name, what, _) in DEMONSTRATIONS {
                    li {
                        form method="post" action="/open" {
                            input type="hidden" name="demonstration" value=(name);
                            button type="submit" { (name) }
                            " " span.soft { (what) }
                        }
                    }
                }
            }
        }
        section aria-label="A new board" {
            h2 { "A new board" }
            form method="post" action="/new" {
                p {
                    label for="new-controller" { "Controller or converter" } br;
                    select #new-controller name="controller" {
                        @for p in starter::devices(library) { option value=(p.id) { (p.id) ": " (p.title) } }
                    }
                }
                p {
                    label for="new-sensors" { "Sensors, one a line, as PART or NAME=PART" } br;
                    textarea #new-sensors name="sensors" rows="4" cols="50" { "room=ntc-10k-3950-1-percent" }
                }
                button type="submit" { "Begin" }
            }
        }
    }
}
