//! Reading the columns of published data sets.

/// Column number `index` of comma-separated text under a line of headings.
pub(crate) fn column(text: &str, index: usize) -> Vec<f64> {
    text.lines()
        .skip(1)
        .filter(|line| !line.trim().is_empty())
        .map(|line| {
            line.split(',')
                .nth(index)
                .and_then(|cell| cell.trim().parse().ok())
                .unwrap_or_else(|| panic!("no number in column {index} of {line:?}"))
        })
        .collect()
}
