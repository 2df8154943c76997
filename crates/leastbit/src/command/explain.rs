//! `leastbit explain`.

use finding::Kind;
use report::{Explained, Explanations, Page};

use crate::arguments::Explain;
use crate::command::{json, out};
use crate::{Ended, show};

/// Shows the page on a finding, or all ids.
pub(crate) fn run(a: &Explain) -> Ended {
    let Some(id) = &a.id else {
        let all = Explanations {
            version: report::VERSION,
            findings: verdict::kinds().map(page).collect(),
        };
        if a.json {
            return json(&all, Ended::Met);
        }
        out(&show::explanations(&all));
        return Ended::Met;
    };
    let Some(kind) = verdict::kinds().find(|k| k.id == id) else {
        anstream::eprintln!("there is no finding `{id}`");
        if let Some(near) = finding::nearest_of(id, verdict::kinds().map(|k| k.id)) {
            anstream::eprintln!("    did you mean: {near}");
        }
        anstream::eprintln!("    `leastbit explain` lists them all");
        return Ended::Unusable;
    };
    let explained = Explained {
        version: report::VERSION,
        page: page(kind),
        text: kind.explanation.to_owned(),
    };
    if a.json {
        return json(&explained, Ended::Met);
    }
    out(&show::explained(&explained));
    Ended::Met
}

fn page(kind: &Kind) -> Page {
    Page {
        id: kind.id.to_owned(),
        severity: kind.severity,
        title: kind.title.to_owned(),
    }
}
