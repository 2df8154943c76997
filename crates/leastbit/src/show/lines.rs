//! Laying out lines: wrapping and columns.

/// Columns of a line; wider terminals are not made use of, so that output
/// reads the same everywhere.
pub(super) const WIDTH: usize = 80;

/// How many columns a text takes, as far as characters tell.
pub(super) fn width(text: &str) -> usize {
    text.chars().count()
}

/// The words of a text; a number and its unit are one word.
fn words(text: &str) -> Vec<String> {
    let mut list: Vec<String> = Vec::new();
    for word in text.split(' ') {
        let bare = word.trim_end_matches([',', '.', ';', ':', ')']);
        let is_unit = bare == "%" || (!bare.is_empty() && quantity::unit(bare).is_some());
        match list.last_mut() {
            Some(last) if is_unit && last.ends_with(|c: char| c.is_ascii_digit()) => {
                last.push(' ');
                last.push_str(word);
            }
            _ => list.push(word.to_owned()),
        }
    }
    list
}

/// A text broken at spaces into lines of at most `columns`; a word longer
/// than that stands alone, and a number keeps its unit.
pub(super) fn wrapped(text: &str, columns: usize) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in &words(text) {
        if !line.is_empty() && width(&line) + 1 + width(word) > columns {
            lines.push(std::mem::take(&mut line));
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

/// A text behind `first`, wrapped, with all further lines indented by as
/// much.
pub(super) fn hanging(first: &str, text: &str) -> String {
    let indent = " ".repeat(width(first));
    let columns = WIDTH.saturating_sub(width(first)).max(20);
    let mut out = String::new();
    for (n, line) in wrapped(text, columns).iter().enumerate() {
        out.push_str(if n == 0 { first } else { &indent });
        out.push_str(line);
        out.push('\n');
    }
    out
}

/// A text padded on the right.
pub(super) fn left(text: &str, columns: usize) -> String {
    let rest = columns.saturating_sub(width(text));
    format!("{text}{}", " ".repeat(rest))
}

/// A text padded on the left.
pub(super) fn right(text: &str, columns: usize) -> String {
    let rest = columns.saturating_sub(width(text));
    format!("{}{text}", " ".repeat(rest))
}

/// A table: columns as wide as their widest cell, two spaces between them;
/// `numbers` says which columns stand to the right.
pub(super) fn table(rows: &[Vec<String>], numbers: &[bool]) -> Vec<String> {
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
    let widest: Vec<usize> = (0..columns)
        .map(|c| {
            rows.iter()
                .filter_map(|r| r.get(c))
                .map(|t| width(t))
                .max()
                .unwrap_or(0)
        })
        .collect();
    rows.iter()
        .map(|row| {
            let cells: Vec<String> = row
                .iter()
                .zip(&widest)
                .enumerate()
                .map(|(c, (text, &w))| {
                    if numbers.get(c).copied().unwrap_or(false) {
                        right(text, w)
                    } else {
                        left(text, w)
                    }
                })
                .collect();
            cells.join("  ").trim_end().to_owned()
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_break_at_spaces_and_keep_every_word() {
        let text = "one two three fourteen-letters five";
        let lines = wrapped(text, 9);
        assert!(lines.iter().all(|l| width(l) <= 9 || !l.contains(' ')));
        assert_eq!(lines.join(" "), text);
    }

    #[test]
    fn a_number_keeps_its_unit() {
        let text = "the input is below 0 V, at 38 °C 100 % of it";
        for columns in 8..40 {
            for line in wrapped(text, columns) {
                assert!(!line.ends_with(['0', '8']), "{columns}: {line}");
            }
        }
    }

    #[test]
    fn columns_line_up() {
        let rows = [["a", "1"], ["µµµ", "10"]].map(|r| r.map(str::to_owned).to_vec());
        assert_eq!(table(&rows, &[false, true]), ["a     1", "µµµ  10"]);
    }
}
