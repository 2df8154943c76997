//! The page on thresholds against the thresholds.
#![allow(clippy::unwrap_used, reason = "tests")]

mod support;

#[test]
fn every_threshold_is_documented_with_its_default_and_can_be_set() {
    let page = include_str!("../../../docs/judging.md");
    let usual = board::Judging::default();
    let mut rows = 0;
    for line in page.lines().filter(|l| l.starts_with("| `")) {
        let cells: Vec<&str> = line.split('|').map(str::trim).collect();
        let key = cells[1].trim_matches('`');
        let value: f64 = cells[2].parse().unwrap();
        let text = |x: f64| {
            format!(
                "[judging]\n{key} = {x}\n[channels.a]\nquantity = \"voltage\"\nspan = \"0 V to 1 V\"\n"
            )
        };
        assert_eq!(support::read(&text(value)).0.judging, usual, "{key}");
        assert_ne!(support::read(&text(0.77)).0.judging, usual, "{key}");
        rows += 1;
    }
    let fields = format!("{usual:?}").matches(": ").count();
    assert_eq!(rows, fields, "a row for every threshold");
}
