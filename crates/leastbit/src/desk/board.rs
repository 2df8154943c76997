//! The board at a glance.

use maud::{Markup, PreEscaped, html};
use report::number;

use super::page::{self, Place};
use super::session::Desk;

/// The board view.
pub(super) fn view(desk: &Desk) -> Markup {
    let Some(results) = &desk.draft.results else {
        return html! {
            (page::faults(desk))
            @if desk.draft.faults.1.is_empty() { p.soft role="status" { "Working it out …" } }
        };
    };
    let check = &results.check;
    let ghost = desk
        .saved
        .results
        .as_ref()
        .filter(|_| desk.is_changed())
        .map(|r| &r.check);
    let all: Vec<&report::Finding> = check.findings.iter().collect();
    html! {
        (page::faults(desk))
        div.title {
            div {
                h1 { (check.board) }
                p.soft { (check.conditions.join(" · ")) }
            }
            p.counts role="status" {
                @for (n, word, class) in counts(check) {
                    span class=(class) { b { (n) } " " (word) } " "
                }
                @if results.quick { span.soft { "first answer; more trials on their way" } }
            }
        }
        @if !check.channels.is_empty() {
            section.strips aria-label="Channels" {
                @for c in &check.channels {
                    @let before = ghost.and_then(|g| g.channels.iter().find(|o| o.name == c.name));
                    a.strip href=(Place::Channel(&c.name).address()) aria-label=(format!("{}: {}", c.name, c.verdict.word())) {
                        span.wide { (PreEscaped(draw::strip(c, before, false).svg())) } span.narrow { (PreEscaped(draw::strip(c, before, true).svg())) }
                    }
                }
            }
            details {
                summary { "The same as a table" }
                (table(check))
            }
        }
        (around(check, desk.version))
        (page::findings(&all))
    }
}

/// Links and rails: how each stands, and their pictures.
fn around(check: &report::Check, version: u64) -> Markup {
    let lines: Vec<(String, report::Verdict, &[report::Judged])> = check
        .links
        .iter()
        .map(|l| (l.name.clone(), l.verdict, &l.quantities[..]))
        .chain(
            check
                .rails
                .iter()
                .map(|r| (format!("rail {}", r.name), r.verdict, &r.quantities[..])),
        )
        .collect();
    html! {
        @if !lines.is_empty() {
            section aria-label="Links and rails" {
                h2 { "Links and rails" }
                div.scroll tabindex="0" {
                    table {
                        thead { tr { th scope="col" { "which" } th scope="col" { "how it stands" } th scope="col" { "what is held against a limit" } } }
                        tbody {
                            @for (name, verdict, quantities) in &lines {
                                tr {
                                    th scope="row" { (name) }
                                    td { (page::verdict(*verdict)) }
                                    td { (held(quantities)) }
                                }
                            }
                        }
                    }
                }
            }
            @for (kind, heading, there) in [
                ("links", "Levels and buses", !check.links.is_empty()),
                ("rails", "What rails carry", !check.rails.is_empty()),
            ] {
                @if there {
                    section aria-label=(heading) {
                        h2 { (heading) }
                        div.picture hx-get=(format!("/part/picture/{kind}/board?v={version}")) hx-trigger="revealed" hx-swap="innerHTML" {
                            p.soft { "Working it out …" }
                        }
                    }
                }
            }
        }
    }
}

/// Values with their limits, in words.
fn held(quantities: &[report::Judged]) -> Markup {
    let limited = quantities
        .iter()
        .filter(|q| q.low.is_some() || q.high.is_some());
    html! {
        @for q in limited {
            (q.name) " " (number::measured(q.value, &q.unit, 3))
            @if let Some(low) = q.low { ", at least " (number::measured(low, &q.unit, 3)) }
            @if let Some(high) = q.high { ", at most " (number::measured(high, &q.unit, 3)) }
            br;
        }
    }
}

fn counts(check: &report::Check) -> Vec<(usize, &'static str, &'static str)> {
    let c = &check.counts;
    [
        (c.meets, "meet", "meets"),
        (c.thin, "thin", "thin"),
        (c.fails, "fail", "fails"),
        (c.undecided, "undecided", "thin"),
        (c.fragments, "without a verdict", "soft"),
        (c.unmodelled, "cannot be judged", "soft"),
    ]
    .into_iter()
    .filter(|(n, ..)| *n > 0)
    .collect()
}

fn table(check: &report::Check) -> Markup {
    let size = |x: Option<f64>, c: &report::Channel| {
        x.map_or_else(String::new, |x| {
            format!("±{}", number::measured(x, &c.error_unit, 3))
        })
    };
    html! {
        div.scroll tabindex="0" {
            table {
                thead { tr {
                    th scope="col" { "channel" } th scope="col" { "span" } th scope="col" { "asked" }
                    th scope="col" { "worst case" } th scope="col" { "propagation" } th scope="col" { "sampling" }
                    th scope="col" { "boards that meet" } th scope="col" { "verdict" } th scope="col" { "what decides" }
                } }
                tbody {
                    @for c in &check.channels {
                        tr {
                            th scope="row" { a href=(Place::Channel(&c.name).address()) { (c.name) } }
                            td { (number::span(c.span.0, c.span.1, &c.unit)) }
                            td { @if let Some(n) = &c.need { "±" (n.text) } }
                            td { (size(c.worst_case.as_ref().map(|w| w.magnitude), c)) }
                            td { (size(c.propagation.as_ref().map(|p| p.half_width), c)) }
                            td { (size(c.monte_carlo.as_ref().map(|m| m.half_width), c)) }
                            td { @if let Some(b) = &c.boards { (number::share(b.share)) } }
                            td { (page::verdict(c.verdict)) }
                            td { (c.decides) }
                        }
                    }
                }
            }
        }
    }
}
