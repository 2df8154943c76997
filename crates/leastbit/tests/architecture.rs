//! The map of the crates is the workspace as it is.
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests")]

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::process::Command;

const MAP: &str = include_str!("../../../ARCHITECTURE.md");

type Edges = BTreeMap<String, BTreeSet<String>>;

/// The edges the map names, and the crates in its order.
fn mapped() -> (Edges, Vec<String>) {
    let block = MAP
        .split("```edges\n")
        .nth(1)
        .and_then(|rest| rest.split("```").next())
        .unwrap();
    let mut edges = Edges::new();
    let mut order = Vec::new();
    for line in block.lines() {
        let (name, imports) = line.split_once(':').unwrap();
        let imports = imports.split_whitespace().map(str::to_owned).collect();
        assert!(
            edges.insert(name.to_owned(), imports).is_none(),
            "{name} stands twice"
        );
        if !name.starts_with("tests of ") {
            order.push(name.to_owned());
        }
    }
    (edges, order)
}

/// The edges the manifests make, as cargo reads them.
fn real() -> Edges {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let output = Command::new(env!("CARGO"))
        .args([
            "metadata",
            "--no-deps",
            "--offline",
            "--format-version",
            "1",
        ])
        .current_dir(root)
        .output()
        .unwrap();
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let json: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let mut edges = Edges::new();
    for package in json["packages"].as_array().unwrap() {
        let name = package["name"].as_str().unwrap();
        edges.entry(name.to_owned()).or_default();
        for dependency in package["dependencies"].as_array().unwrap() {
            // Ours are those that come from a folder of the workspace.
            if dependency["path"].is_null() {
                continue;
            }
            let from = match dependency["kind"].as_str() {
                Some("dev") => format!("tests of {name}"),
                _ => name.to_owned(),
            };
            let to = dependency["name"].as_str().unwrap().to_owned();
            edges.entry(from).or_default().insert(to);
        }
    }
    edges
}

#[test]
fn the_map_names_exactly_the_edges_there_are() {
    let (mapped, real) = (mapped().0, real());
    for (name, imports) in &real {
        let Some(allowed) = mapped.get(name) else {
            panic!("ARCHITECTURE.md does not name {name}, which imports {imports:?}");
        };
        assert_eq!(imports, allowed, "imports of {name}");
    }
    for name in mapped.keys() {
        assert!(real.contains_key(name), "there is no {name}");
    }
}

#[test]
fn imports_go_up_the_map_only() {
    let (edges, order) = mapped();
    let place = |name: &str| order.iter().position(|n| n == name);
    for (name, imports) in &edges {
        if let Some(own) = place(name) {
            for import in imports {
                assert!(place(import).unwrap() < own, "{name} imports {import}");
            }
        }
    }
}

#[test]
fn every_crate_has_its_row_with_what_it_owns_and_what_it_never_does() {
    let (_, order) = mapped();
    for name in order {
        let row = MAP
            .lines()
            .find(|l| l.contains(&format!("| `{name}` |")))
            .unwrap_or_else(|| panic!("no row for {name}"));
        let cells: Vec<&str> = row.trim_matches('|').split('|').map(str::trim).collect();
        assert_eq!(cells.len(), 4, "{row}");
        assert!(cells.iter().all(|c| !c.is_empty()), "{row}");
    }
}
