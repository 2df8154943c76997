//! What every page has: head, way around, the state of the file, foot.

use maud::{DOCTYPE, Markup, PreEscaped, html};
use report::Verdict;

use super::session::{Desk, Elsewhere};

/// Which page it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Place<'a> {
    /// The start page.
    Start,
    /// The board at a glance.
    Board,
    /// One channel.
    Channel(&'a str),
    /// The text of the file.
    Text,
}

impl Place<'_> {
    /// Its address.
    pub fn address(self) -> String {
        match self {
            Place::Start => "/start".to_owned(),
            Place::Board => "/".to_owned(),
            Place::Channel(name) => format!("/channel/{}", encoded(name)),
            Place::Text => "/text".to_owned(),
        }
    }
}

/// A name as part of an address: everything but letters, digits and `-_`
/// is spelled out (RFC 3986, section 2.1).
pub(super) fn encoded(name: &str) -> String {
    let mut out = String::new();
    for b in name.bytes() {
        if b.is_ascii_alphanumeric() || b == b'-' || b == b'_' {
            out.push(char::from(b));
        } else {
            out.push_str(&format!("%{b:02X}"));
        }
    }
    out
}

/// A whole page.
pub(super) fn whole(place: Place<'_>, desk: &Desk, title: &str, inner: &Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="htmx-config" content=r#"{"includeIndicatorCSS":false,"defaultSwap":"innerMorph"}"#;
                title { (title) " · leastbit" }
                link rel="icon" href="data:,";
                link rel="stylesheet" href="/style.css";
                script src="/htmx.js" defer {}
                script src="/desk.js" defer {}
            }
            body {
                svg.patterns width="0" height="0" aria-hidden="true" { defs { (PreEscaped(draw::patterns())) } }
                a.skip href="#main" { "To the content" }
                (head(place, desk))
                main #main tabindex="-1" data-place=(place.address())
                    hx-get=(format!("/part{}", place.address()))
                    hx-trigger="desk-changed from:body" hx-swap="innerMorph" {
                    (inner)
                }
                footer { "An aid to design: it certifies nothing." }
            }
        }
    }
}

/// The strip above every page: where one is, and how the file stands.
fn head(place: Place<'_>, desk: &Desk) -> Markup {
    let link = |to: Place<'_>, word: &str| {
        let here = std::mem::discriminant(&to) == std::mem::discriminant(&place);
        html! { a href=(to.address()) aria-current=[here.then_some("page")] { (word) } }
    };
    html! {
        header.top {
            nav aria-label="Views" {
                @if desk.is_open() {
                    (link(Place::Board, "Board"))
                    (link(Place::Text, "Text"))
                }
                (link(Place::Start, "Start"))
            }
            div #file hx-get="/part/file" hx-trigger="desk-changed from:body" hx-swap="innerMorph" { (file(desk)) }
        }
    }
}

/// How the file stands, and what can be done with it.
pub(super) fn file(desk: &Desk) -> Markup {
    let (back, again) = desk.steps();
    html! {
        @if desk.is_open() {
            span.file-name { (desk.name()) }
            span.file-state role="status" {
                @if desk.is_changed() { "changed, not saved" } @else { "as saved" }
            }
            button type="button" hx-post="/undo" hx-swap="none" disabled[!back] accesskey="z" { "Step back" }
            button type="button" hx-post="/redo" hx-swap="none" disabled[!again] { "Step again" }
            @if desk.path.is_none() {
                form.name hx-post="/save-as" hx-target="#said" hx-swap="innerHTML" {
                    label for="save-name" { "Name" }
                    input #save-name name="name" required maxlength="100" placeholder="board";
                    button.main type="submit" { "Save as a file" }
                }
            } @else {
            button.main type="button" hx-post="/save" hx-target="#said" hx-swap="innerHTML" disabled[!desk.is_changed()] accesskey="s" { "Save" }
            }
            @match &desk.elsewhere {
                Elsewhere::Same => {}
                Elsewhere::Changed(_) => {
                    p.elsewhere role="alert" {
                        "Another program has changed the file. "
                        button type="button" hx-post="/theirs" hx-swap="none" { "Take the file's text" }
                        " "
                        button type="button" hx-post="/save?over=yes" hx-target="#said" hx-swap="innerHTML" { "Write mine over it" }
                    }
                }
                Elsewhere::Gone(message) => { p.elsewhere role="alert" { "The file " (message) "." } }
            }
            span #said role="status" {}
        }
    }
}

/// A verdict: shape, word and colour.
pub(super) fn verdict(v: Verdict) -> Markup {
    let class = match v {
        Verdict::Meets => "meets",
        Verdict::Thin | Verdict::Undecided => "thin",
        Verdict::Fails => "fails",
        Verdict::Fragment | Verdict::Unmodelled => "soft",
    };
    html! { span.verdict class=(class) { span aria-hidden="true" { (v.shape()) } " " (v.word()) } }
}

/// What is wrong with the text, each at its line.
pub(super) fn faults(desk: &Desk) -> Markup {
    let (sources, faults) = &*desk.draft.faults;
    html! {
        @if !faults.is_empty() {
            section.faults aria-label="What is wrong with the text" {
                h2 { "The text cannot be read" }
                ul {
                    @for f in faults {
                        @let place = sources.place(f.span);
                        li {
                            a href=(format!("/text#line-{}", place.line)) { (place.line) ":" (place.column) }
                            " " (f.message)
                            @if !f.expected.is_empty() { span.soft { " Expected: " (f.expected) "." } }
                            @if let Some(s) = &f.suggestion { span.soft { " Did you mean " (s) "?" } }
                        }
                    }
                }
                p.soft { "Below is what followed from the last text that could be read." }
            }
        }
    }
}

/// What was found.
pub(super) fn findings(list: &[&report::Finding]) -> Markup {
    html! {
        @if !list.is_empty() {
            section.findings aria-label="Findings" {
                h2 { "Findings" }
                @for f in list {
                    article.finding {
                        p.weight class=(f.severity.word()) { (f.severity.word()) }
                        div {
                            p.headline {
                                @if !f.subjects.is_empty() { b { (f.subjects.join(", ")) } ": " }
                                (f.headline)
                            }
                            @for r in &f.remedies { p.remedy { (r) } }
                            @if !f.working.is_empty() || !f.figures.is_empty() {
                                details {
                                    summary { "Working" }
                                    @for w in &f.working { p.working { (w) } }
                                    @if !f.figures.is_empty() {
                                        table {
                                            thead { tr { th { "figure" } th { "value" } th { "source" } } }
                                            tbody { @for u in &f.figures { tr { td { (u.name) } td { (u.value) } td { (u.source) } } } }
                                        }
                                    }
                                }
                            }
                        }
                        p.place {
                            @for s in f.places.iter().take(2) {
                                a href=(format!("/text#line-{}", s.place.line)) { (short(&s.place.file)) " " (s.place.line) ":" (s.place.column) }
                                br;
                            }
                            a href=(format!("/explain/{}", encoded(&f.id))) { code { (f.id) } }
                        }
                    }
                }
            }
        }
    }
}

/// A file without the folders it lies in.
fn short(file: &str) -> &str {
    file.rsplit(['/', '\\']).next().unwrap_or(file)
}
