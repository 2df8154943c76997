//! One channel, from the need to what decides.

use maud::{Markup, PreEscaped, html};
use report::number;

use super::page::{self, encoded};
use super::session::{Desk, Results};

/// Pictures that are worked out when the reader comes to them.
const PICTURES: [(&str, &str); 3] = [
    ("response", "How the input follows the sensor"),
    ("noise", "Why readings of a steady quantity differ"),
    ("schedule", "When the converter reads, and what settles"),
];

/// The channel view; `None` where the board has no such channel.
pub(super) fn view(desk: &Desk, name: &str) -> Option<Markup> {
    let Some(results) = &desk.draft.results else {
        return Some(html! {
            (page::faults(desk))
            @if desk.draft.faults.1.is_empty() { p.soft role="status" { "Working it out …" } }
        });
    };
    let find = |r: &Results| r.check.channels.iter().find(|c| c.name == name).cloned();
    let c = find(results)?;
    let before = desk
        .saved
        .results
        .as_ref()
        .filter(|_| desk.is_changed())
        .and_then(|r| find(r));
    let about: Vec<&report::Finding> = results
        .check
        .findings
        .iter()
        .filter(|f| f.subjects.contains(&c.name))
        .collect();
    Some(html! {
        (page::faults(desk))
        div.title {
            div {
                p.soft { (results.check.board) }
                h1 { (c.name) }
                p.soft {
                    (c.quantity) ", " (number::span(c.span.0, c.span.1, &c.unit))
                    @if let Some(n) = &c.need { " within ±" (n.text) }
                }
            }
            p.counts role="status" {
                (page::verdict(c.verdict))
                @if let Some(b) = &c.boards { br; b { (number::share(b.share)) } " of boards meet" }
                @if let Some(b) = &before { br; span.soft { "as saved: " (b.verdict.word()) } }
                @if results.quick { br; span.soft { "first answer; more trials on their way" } }
            }
        }
        section.strips aria-label="Span and error" {
            span.wide { (PreEscaped(draw::strip(&c, before.as_ref(), false).svg())) }
            span.narrow { (PreEscaped(draw::strip(&c, before.as_ref(), true).svg())) }
        }
        div.two {
            section aria-label="Contributors" {
                h2 { "What the error is made of" }
                (contributors(&c))
            }
            section aria-label="Values" {
                h2 { "Values of the board file" }
                (values(desk, &c.name))
            }
        }
        (page::findings(&about))
        section #working aria-label="Budget" {
            h2 { "The budget, line by line" }
            button type="button" hx-get=(format!("/part/budget/{}", encoded(&c.name))) hx-target="#budget" hx-swap="innerHTML" { "Work it out" }
            div #budget {}
        }
        @for (kind, heading) in PICTURES {
            section aria-label=(heading) {
                h2 { (heading) }
                div.picture hx-get=(format!("/part/picture/{kind}/{}?v={}", encoded(&c.name), desk.version)) hx-trigger="revealed" hx-swap="innerHTML" {
                    p.soft { "Working it out …" }
                }
            }
        }
    })
}

/// Contributors as bars, with the table they stand for.
fn contributors(c: &report::Channel) -> Markup {
    let largest = c.contributors.first().map_or(0.0, |x| x.size);
    html! {
        @if c.contributors.is_empty() {
            p.soft { (if c.reason.is_empty() { "None is known." } else { c.reason.as_str() }) }
        } @else {
            div.scroll tabindex="0" {
                table.bars {
                    thead { tr { th scope="col" { "contributor" } th scope="col" { "size" } th scope="col" { "kind" } th scope="col" { "share" } th scope="col" { "source" } } }
                    tbody {
                        @for x in c.contributors.iter().take(14) {
                            tr {
                                th scope="row" { (x.name) }
                                td {
                                    (bar(x.size / largest, &x.kind))
                                    "±" (number::measured(x.size, &c.error_unit, 2))
                                    @if !x.bound { " " span.soft { "(no bound)" } }
                                }
                                td { (x.kind) }
                                td { (number::part(x.share)) }
                                td.soft { (x.source) @if !x.basis.is_empty() { " · " (x.basis) } }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// A bar of a table: its hue and fill by kind, so that colour is not alone.
fn bar(share: f64, kind: &str) -> Markup {
    const KINDS: [&str; 7] = [
        "fixed",
        "temperature",
        "ageing",
        "supply",
        "random",
        "conversion",
        "other",
    ];
    let n = KINDS.iter().position(|k| *k == kind).unwrap_or(6);
    let wide = (120.0 * share).clamp(1.0, 120.0);
    html! { (PreEscaped(draw::bar(n, wide))) }
}

/// Values that can be nudged.
fn values(desk: &Desk, name: &str) -> Markup {
    let prefix = format!("channels.{name}");
    let mut list = board::listed(&desk.draft.text, &prefix);
    for more in ["rails", "references", "networks", "scan"] {
        list.extend(board::listed(&desk.draft.text, more));
    }
    html! {
        p.soft { "Type a value, or step with the arrow keys up and down. Nothing is written until you save." }
        div.values {
            @for v in list.iter().filter(|v| verdict::nudged(&v.text, v.quoted, true).is_some()) {
                @let id = format!("value-{}", v.path.replace('.', "-"));
                @let shown = v.path.strip_prefix(&prefix).map_or(v.path.as_str(), |p| p.trim_start_matches('.'));
                @let saved = board::locate(&desk.saved.text, &v.path).ok().map(|s| s.text).filter(|s| *s != v.text);
                label for=(id) { (shown) }
                span {
                    input #(id) name="value" value=(v.text) data-nudge=(v.path) data-quoted=(v.quoted)
                        autocomplete="off" spellcheck="false";
                    @if let Some(s) = saved { span.was { "was " (s) } }
                }
            }
        }
    }
}

/// The whole budget of a channel.
pub(super) fn budget(b: &report::Budget) -> Markup {
    html! {
        @for (heading, table) in [("Before calibration", &b.before), ("After calibration", &b.after)] {
            @if let Some(t) = table {
                h3 { @if b.after.is_some() { (heading) } @else { "At the worst point" } }
                p.soft {
                    @for c in &t.at { (c.name) " " (number::about(c.value, &c.unit)) " " }
                    "· u = " (number::measured(t.u, &b.channel.error_unit, 3)) ", k = " (number::fixed(t.k, 2))
                }
                div.scroll tabindex="0" {
                    table {
                        thead { tr {
                            th scope="col" { "contributor" } th scope="col" { "kind" } th scope="col" { "limits" }
                            th scope="col" { "u" } th scope="col" { "sensitivity" } th scope="col" { "of the error" }
                            th scope="col" { "share" } th scope="col" { "source" } th scope="col" { "place" }
                        } }
                        tbody { @for l in &t.lines { tr {
                            th scope="row" { (l.name) }
                            td { (l.kind) }
                            td { (number::measured(l.low, &l.unit, 3)) " to " (number::measured(l.high, &l.unit, 3)) @if !l.bound { " (3 u)" } }
                            td { (number::measured(l.u, &l.unit, 3)) }
                            td { (number::fixed(l.sensitivity, number::decimals(l.sensitivity, 4))) }
                            td { (number::measured(l.contribution, &b.channel.error_unit, 3)) }
                            td { (number::part(l.share)) }
                            td { (l.source) @if !l.basis.is_empty() { " · " (l.basis) } }
                            td.soft { (l.place) }
                        } } }
                    }
                }
                @if !t.working.is_empty() {
                    details { summary { "Working" } @for w in &t.working { p.working { (w) } } }
                }
            }
        }
    }
}
