//! Bars of text: the span on the converter's scale, errors between fences.

use report::Signal;

/// Columns from the middle of an error bar to a fence.
const FENCE: usize = 11;
/// Columns from the middle to the end of the picture.
const HALF: usize = 16;
/// Columns of the converter's scale.
const SCALE: usize = 40;

/// An error interval on a ruler with a fence at either end of what is
/// permitted; what goes off the ruler ends in an arrow.
///
/// `fill` is what the bar is drawn with.
pub(super) fn error(low: f64, high: f64, limit: f64, fill: char) -> String {
    let columns = 2 * HALF + 1;
    let column = |x: f64| HALF as f64 + (x / limit) * FENCE as f64;
    let (from, to) = (column(low).round(), column(high).round());
    if !from.is_finite() || !to.is_finite() {
        return String::new();
    }
    (0..columns)
        .map(|i| {
            let at = i as f64;
            let off = (i == 0 && from < 0.0) || (i + 1 == columns && to > (columns - 1) as f64);
            if off {
                if i == 0 { '◂' } else { '▸' }
            } else if i == HALF - FENCE || i == HALF + FENCE {
                '┃'
            } else if at >= from && at <= to {
                fill
            } else {
                ' '
            }
        })
        .collect()
}

/// The span on the converter's scale: before it, within it, after it. What is
/// beyond the scale is marked on that side.
pub(super) fn scale(s: &Signal) -> (String, String, String) {
    let width = s.scale_high - s.scale_low;
    let column = |volt: f64| ((volt - s.scale_low) / width * SCALE as f64).round();
    let (a, b) = (column(s.at_low), column(s.at_high));
    let (from, to) = (a.min(b), a.max(b));
    if !from.is_finite() || !to.is_finite() {
        return (String::new(), String::new(), String::new());
    }
    let end = SCALE as f64;
    let clip = |x: f64| x.clamp(0.0, end) as usize;
    let (mut first, mut last) = (clip(from), clip(to));
    if first == last {
        // A thin span is still to be seen.
        if last < SCALE { last += 1 } else { first -= 1 }
    }
    let before = if from < 0.0 { "◂" } else { "▕" };
    let after = if to > end { "▸" } else { "▏" };
    (
        format!("{before}{}", "·".repeat(first)),
        "█".repeat(last - first),
        format!("{}{after}", "·".repeat(SCALE - last)),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_error_as_large_as_the_limit_reaches_the_fences() {
        let bar = error(-1.0, 1.0, 1.0, '█');
        assert_eq!(bar.chars().count(), 2 * HALF + 1);
        assert_eq!(bar.chars().filter(|&c| c == '█').count(), 2 * FENCE - 1);
        assert_eq!(bar.trim(), format!("┃{}┃", "█".repeat(2 * FENCE - 1)));
    }

    #[test]
    fn what_goes_off_the_ruler_ends_in_an_arrow() {
        let bar = error(-0.2, 9.0, 1.0, '─');
        assert!(bar.ends_with('▸') && !bar.starts_with('◂'));
        assert_eq!(error(f64::NAN, 1.0, 1.0, '─'), "");
    }

    #[test]
    fn the_scale_shows_where_the_span_lies() {
        let mut s = Signal {
            scale_low: 0.0,
            scale_high: 2.0,
            at_low: 0.5,
            at_high: 1.5,
            codes: 4096.0,
            codes_used: 2048.0,
            code_width_low: 0.0,
            code_width_high: 0.0,
        };
        let (before, within, after) = scale(&s);
        assert_eq!(before, format!("▕{}", "·".repeat(10)));
        assert_eq!(within, "█".repeat(20));
        assert_eq!(after, format!("{}▏", "·".repeat(10)));
        // A falling signal is drawn the same; one beyond the scale is marked.
        (s.at_low, s.at_high) = (2.5, 0.5);
        let (_, within, after) = scale(&s);
        assert_eq!((within, after.as_str()), ("█".repeat(30), "▸"));
    }
}
