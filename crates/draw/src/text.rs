//! Texts: how wide they are, broken into lines, safe inside XML.

/// Size of the sheet's title.
pub(crate) const TITLE: f64 = 18.0;
/// Size of a picture's heading.
pub(crate) const HEADING: f64 = 14.0;
/// Size of everything else.
pub(crate) const TEXT: f64 = 12.0;

/// Width of a text, as far as it can be told without the typeface: generous
/// widths of an open sans face, so that what fits by them fits on any machine.
pub(crate) fn width(text: &str, size: f64) -> f64 {
    size * text.chars().map(em).sum::<f64>()
}

fn em(c: char) -> f64 {
    match c {
        'i' | 'j' | 'l' | 'I' | '.' | ',' | ':' | ';' | '\'' | '|' | '!' | ' ' => 0.32,
        'f' | 't' | 'r' | '(' | ')' | '[' | ']' | '/' | '-' | '"' | '·' => 0.42,
        'm' | 'w' | 'M' | 'W' | '%' | '@' => 0.95,
        'A'..='Z' | 'Ω' => 0.7,
        // Scripts of broad characters.
        '\u{1100}'.. if !('\u{2000}'..='\u{2bff}').contains(&c) => 1.05,
        _ => 0.6,
    }
}

/// A text broken at spaces into lines of at most `width`; a word longer than
/// that is broken where it must be.
pub(crate) fn wrapped(text: &str, most: f64, size: f64) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let joined = if line.is_empty() {
            word.to_owned()
        } else {
            format!("{line} {word}")
        };
        if width(&joined, size) <= most {
            line = joined;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        for c in word.chars() {
            line.push(c);
            if width(&line, size) > most && line.chars().count() > 1 {
                line.pop();
                lines.push(std::mem::replace(&mut line, c.to_string()));
            }
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

/// A text as XML may hold it: what has a meaning there is named, what XML 1.0
/// does not permit (clause 2.2: control characters) is replaced.
pub(crate) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\t' | '\n' | '\r' => out.push(' '),
            '\0'..='\u{1f}' | '\u{fffe}' | '\u{ffff}' => out.push('\u{fffd}'),
            _ => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_no_wider_than_asked_and_lose_nothing() {
        let text = "input leakage of the pin after antidisestablishmentarianism";
        let lines = wrapped(text, 70.0, TEXT);
        assert!(lines.iter().all(|l| width(l, TEXT) <= 70.0), "{lines:?}");
        let bare = |s: &str| s.replace(' ', "");
        assert_eq!(bare(&lines.concat()), bare(text));
        assert!(wrapped("   ", 70.0, TEXT).is_empty());
    }

    #[test]
    fn what_xml_reserves_or_forbids_is_gone() {
        assert_eq!(
            escaped("a<b & \"c\"\u{0}\n'd'>"),
            "a&lt;b &amp; &quot;c&quot;\u{fffd} &#39;d&#39;&gt;"
        );
    }
}
