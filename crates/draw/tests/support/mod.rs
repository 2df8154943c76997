//! Reading a sheet back.
#![allow(dead_code, clippy::unwrap_used, clippy::panic, reason = "tests")]

use std::path::PathBuf;

struct Text {
    text: String,
    x0: f64,
    x1: f64,
    y0: f64,
    y1: f64,
}

fn number(node: &roxmltree::Node<'_, '_>, key: &str) -> f64 {
    let text = node
        .attribute(key)
        .unwrap_or_else(|| panic!("no {key} in {node:?}"));
    text.parse().unwrap()
}

/// Texts with the room they take by their count of characters, half the size
/// each, which is what an open sans face takes on average.
fn texts(document: &roxmltree::Document<'_>) -> Vec<Text> {
    document
        .descendants()
        .filter(|n| n.has_tag_name("text"))
        .map(|n| {
            let text = n.text().unwrap_or("").to_owned();
            let (x, y, size) = (number(&n, "x"), number(&n, "y"), number(&n, "font-size"));
            let wide = 0.5 * size * text.chars().count() as f64;
            let x0 = match n.attribute("text-anchor") {
                None => x,
                Some("middle") => x - wide / 2.0,
                Some("end") => x - wide,
                Some(other) => panic!("{other}"),
            };
            Text {
                text,
                x0,
                x1: x0 + wide,
                y0: y - 0.75 * size,
                y1: y + 0.2 * size,
            }
        })
        .collect()
}

/// That it is XML, is inside its own edges, and has numbers for coordinates.
pub fn well_formed(svg: &str) -> roxmltree::Document<'_> {
    let document = roxmltree::Document::parse(svg).unwrap_or_else(|e| panic!("{e}\n{svg}"));
    let root = document.root_element();
    assert!(root.has_tag_name(("http://www.w3.org/2000/svg", "svg")));
    let (width, height) = (number(&root, "width"), number(&root, "height"));
    for node in document.descendants().filter(|n| n.is_element()) {
        for key in [
            "x", "y", "x1", "y1", "x2", "y2", "cx", "cy", "r", "width", "height",
        ] {
            if node.attribute(key).is_some() {
                let v = number(&node, key);
                assert!(v.is_finite(), "{key} of {node:?}");
            }
        }
        if let Some(d) = node.attribute("d") {
            for piece in d.split(['M', 'L', ' ']).filter(|p| !p.is_empty()) {
                let v: f64 = piece.parse().unwrap_or_else(|_| panic!("{d}"));
                assert!(
                    v.is_finite() && (0.0..=height.max(width)).contains(&v),
                    "{d}"
                );
            }
        }
        // What a pattern or a label refers to is there.
        if let Some(fill) = node.attribute("fill").filter(|f| f.starts_with("url(#")) {
            let id = fill.trim_start_matches("url(#").trim_end_matches(')');
            assert!(
                document
                    .descendants()
                    .any(|n| n.attribute("id") == Some(id))
            );
        }
    }
    document
}

/// That it is well formed and that its texts lie apart and on the sheet; the
/// texts.
pub fn looked_at(svg: &str) -> Vec<String> {
    let document = well_formed(svg);
    let root = document.root_element();
    let (width, height) = (number(&root, "width"), number(&root, "height"));
    let texts = texts(&document);
    for (n, a) in texts.iter().enumerate() {
        assert!(
            a.x0 >= 0.0 && a.x1 <= width && a.y0 >= 0.0 && a.y1 <= height,
            "`{}` leaves the sheet",
            a.text
        );
        for b in texts.iter().skip(n + 1) {
            let apart = a.x1 <= b.x0 || b.x1 <= a.x0 || a.y1 <= b.y0 || b.y1 <= a.y0;
            assert!(apart, "`{}` lies on `{}`", a.text, b.text);
        }
    }
    texts.into_iter().map(|t| t.text).collect()
}

/// Compares with the sheet kept, or keeps this one with `LEASTBIT_WRITE_DOCS`
/// set.
pub fn snapshot(name: &str, svg: &str) {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("tests/golden")
        .join(name);
    if std::env::var_os("LEASTBIT_WRITE_DOCS").is_some() {
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(&path, svg).unwrap();
        return;
    }
    let kept = std::fs::read_to_string(&path).unwrap();
    let first = kept.lines().zip(svg.lines()).find(|(a, b)| a != b);
    assert!(
        kept == svg,
        "{name} has changed: {first:?}\nrun LEASTBIT_WRITE_DOCS=1 cargo test -p draw and look at it"
    );
}
