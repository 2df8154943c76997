//! Ink on paper: the colours, by light and by dark, and how series differ
//! without them.

/// A colour on light and on dark paper.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Hue {
    /// Name of its class.
    pub name: &'static str,
    /// On light paper, and in print.
    pub light: &'static str,
    /// On dark paper.
    pub dark: &'static str,
}

const fn hue(name: &'static str, light: &'static str, dark: &'static str) -> Hue {
    Hue { name, light, dark }
}

/// The ground.
pub(crate) const PAPER: Hue = hue("paper", "#fbfaf6", "#16191b");
/// What is to be read.
pub(crate) const INK: Hue = hue("ink", "#1d2327", "#e8e6df");
/// What is beside it.
pub(crate) const SOFT: Hue = hue("soft", "#5d666d", "#9aa3a8");
/// Thin rules.
pub(crate) const RULE: Hue = hue("rule", "#d9d5ca", "#343a3e");

/// Hues of series and of kinds, in the order they are taken: the signal's
/// own, then those of Okabe and Ito's set for colour-blind readers (Color
/// Universal Design, 2008) that stand out from the ground, its reddish purple
/// and bluish green darker on light paper for the same reason.
pub(crate) const HUES: [Hue; 6] = [
    hue("h0", "#2b6f77", "#6fb7bd"),
    hue("h1", "#d55e00", "#e69f00"),
    hue("h2", "#0072b2", "#56b4e9"),
    hue("h3", "#a04a7c", "#cc79a7"),
    hue("h4", "#007a58", "#7cd0b0"),
    hue("h5", "#1d2327", "#e8e6df"),
];

/// Dashes of series, in the order they are taken. With the six hues a pair
/// comes again after 42 series only.
pub(crate) const DASHES: [&str; 7] = ["", "8 4", "2 3", "10 3 2 3", "14 4", "5 3 1 3 1 3", "1 5"];

/// Ways to fill a block or a bar, in the order they are taken: full, slanted
/// lines, dots, upright lines, the other slant, empty.
pub(crate) const FILLS: usize = 6;

/// The hue of the n-th series or kind.
pub(crate) fn of(n: usize) -> Hue {
    HUES[n % HUES.len()]
}

/// The dash of the n-th series.
pub(crate) fn dash(n: usize) -> &'static str {
    DASHES[n % DASHES.len()]
}

/// The style sheet: light unless dark is preferred, and light in print.
#[must_use]
pub fn style() -> String {
    let colours = |dark: bool| {
        let mut out = String::new();
        let pick = |h: &Hue| if dark { h.dark } else { h.light };
        for h in [PAPER, INK, SOFT, RULE]
            .iter()
            .chain(&HUES)
            .chain(&crate::strip::HUES)
        {
            let (name, colour) = (h.name, pick(h));
            out.push_str(&format!(
                ".f-{name}{{fill:{colour}}}.s-{name}{{stroke:{colour}}}"
            ));
        }
        out
    };
    format!(
        "svg{{font-family:system-ui,\"Noto Sans\",\"DejaVu Sans\",sans-serif;\
         font-variant-numeric:tabular-nums}}\
         path,line{{fill:none}}\
         {}@media (prefers-color-scheme:dark){{{}}}@media print{{{}}}",
        colours(false),
        colours(true),
        colours(false)
    )
}

/// The patterns that fills refer to; each takes its colour from the class of
/// its lines, so that it follows the theme.
#[must_use]
pub fn patterns() -> String {
    let mut out = String::new();
    for h in HUES.iter().chain(&crate::strip::HUES).chain([&SOFT]) {
        let name = h.name;
        let pattern = |n: usize, size: u32, turn: &str, inner: &str| {
            format!(
                "<pattern id=\"p{n}-{name}\" width=\"{size}\" height=\"{size}\" \
                 patternUnits=\"userSpaceOnUse\"{turn}>{inner}</pattern>"
            )
        };
        let line = format!(
            "<line class=\"s-{name}\" x1=\"0\" y1=\"0\" x2=\"0\" y2=\"5\" stroke-width=\"3\"/>"
        );
        out.push_str(&pattern(1, 5, " patternTransform=\"rotate(45)\"", &line));
        out.push_str(&pattern(
            2,
            4,
            "",
            &format!("<circle class=\"f-{name}\" cx=\"2\" cy=\"2\" r=\"1.1\"/>"),
        ));
        out.push_str(&pattern(3, 5, "", &line));
        out.push_str(&pattern(4, 5, " patternTransform=\"rotate(-45)\"", &line));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance, WCAG 2.2.
    fn luminance(colour: &str) -> f64 {
        let part = |at: usize| {
            let v = f64::from(u8::from_str_radix(&colour[at..at + 2], 16).unwrap()) / 255.0;
            if v <= 0.04045 {
                v / 12.92
            } else {
                elementary::pow((v + 0.055) / 1.055, 2.4)
            }
        };
        0.2126 * part(1) + 0.7152 * part(3) + 0.0722 * part(5)
    }

    fn contrast(a: &str, b: &str) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    /// WCAG 2.2 (W3C Recommendation), 1.4.3: text 4.5 to 1; 1.4.11: lines and
    /// shapes that carry meaning 3 to 1.
    #[test]
    fn published_contrast_of_text_and_lines() {
        assert!((contrast("#000000", "#ffffff") - 21.0).abs() < 1e-9);
        for h in [INK, SOFT].iter().chain(&crate::strip::HUES) {
            assert!(contrast(h.light, PAPER.light) >= 4.5, "{h:?}");
            assert!(contrast(h.dark, PAPER.dark) >= 4.5, "{h:?}");
        }
        for h in HUES {
            assert!(contrast(h.light, PAPER.light) >= 3.0, "{h:?}");
            assert!(contrast(h.dark, PAPER.dark) >= 3.0, "{h:?}");
        }
    }

    #[test]
    fn no_two_of_the_first_series_share_hue_and_dash() {
        let mut seen = std::collections::BTreeSet::new();
        for n in 0..HUES.len() * DASHES.len() {
            assert!(seen.insert((of(n).name, dash(n))), "{n}");
        }
        // In print without colour the dash alone tells the first seven apart.
        let dashes: std::collections::BTreeSet<&str> = DASHES.into_iter().collect();
        assert_eq!(dashes.len(), DASHES.len());
    }
}
