//! The sheet being drawn on: shapes as SVG text, and where texts lie, so that
//! the next one finds a free place.

use crate::text::{escaped, width};

/// What a text's position is: its left end, its middle, its right end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

/// A rectangle of the sheet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Area {
    pub x0: f64,
    pub y0: f64,
    pub x1: f64,
    pub y1: f64,
}

impl Area {
    fn meets(&self, o: &Area) -> bool {
        self.x0 < o.x1 && o.x0 < self.x1 && self.y0 < o.y1 && o.y0 < self.y1
    }

    /// Whether all of `o` lies within.
    pub(crate) fn holds(&self, o: &Area) -> bool {
        self.x0 <= o.x0 && o.x1 <= self.x1 && self.y0 <= o.y0 && o.y1 <= self.y1
    }

    /// The part of a segment within, as ends; none where it passes by
    /// (Liang and Barsky, 1984).
    pub(crate) fn clip(&self, a: (f64, f64), b: (f64, f64)) -> Option<((f64, f64), (f64, f64))> {
        let (dx, dy) = (b.0 - a.0, b.1 - a.1);
        let (mut from, mut to) = (0.0_f64, 1.0_f64);
        for (towards, room) in [
            (-dx, a.0 - self.x0),
            (dx, self.x1 - a.0),
            (-dy, a.1 - self.y0),
            (dy, self.y1 - a.1),
        ] {
            if towards == 0.0 {
                if room < 0.0 {
                    return None;
                }
            } else if towards < 0.0 {
                from = from.max(room / towards);
            } else {
                to = to.min(room / towards);
            }
        }
        let at = |t: f64| (a.0 + t * dx, a.1 + t * dy);
        (from <= to).then(|| {
            (
                if from > 0.0 { at(from) } else { a },
                if to < 1.0 { at(to) } else { b },
            )
        })
    }
}

/// Distance from the sheet beyond which a point has no place.
const FAR: f64 = 1e9;

/// Where a text would lie. `y` is its base line.
pub(crate) fn area_of(x: f64, y: f64, size: f64, anchor: Anchor, text: &str) -> Area {
    let w = width(text, size);
    let x0 = match anchor {
        Anchor::Start => x,
        Anchor::Middle => x - w / 2.0,
        Anchor::End => x - w,
    };
    Area {
        x0,
        y0: y - 0.85 * size,
        x1: x0 + w,
        y1: y + 0.25 * size,
    }
}

/// A sheet.
#[derive(Debug, Default)]
pub(crate) struct Paper {
    body: String,
    /// Texts and rings.
    texts: Vec<Area>,
    strokes: Vec<((f64, f64), (f64, f64))>,
}

/// A coordinate as written: hundredths of a unit are finer than any print.
pub(crate) fn coordinate(x: f64) -> String {
    let text = format!("{x:.2}");
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        &text
    };
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}

impl Paper {
    /// Adds SVG as it is.
    pub(crate) fn raw(&mut self, svg: &str) {
        self.body.push_str(svg);
        self.body.push('\n');
    }

    /// Everything drawn so far.
    pub(crate) fn into_body(self) -> String {
        self.body
    }

    /// A text on its base line; its place is taken from then on.
    pub(crate) fn text(
        &mut self,
        (x, y): (f64, f64),
        size: f64,
        anchor: Anchor,
        class: &str,
        bold: bool,
        text: &str,
    ) {
        if text.is_empty() {
            return;
        }
        self.texts.push(area_of(x, y, size, anchor, text));
        let anchor = match anchor {
            Anchor::Start => "",
            Anchor::Middle => " text-anchor=\"middle\"",
            Anchor::End => " text-anchor=\"end\"",
        };
        let weight = if bold { " font-weight=\"600\"" } else { "" };
        let (x, y, text) = (coordinate(x), coordinate(y), escaped(text));
        self.raw(&format!(
            "<text class=\"f-{class}\" x=\"{x}\" y=\"{y}\" font-size=\"{size}\"{anchor}{weight}>{text}</text>"
        ));
    }

    /// A text on a ground of its own, for places where rules pass.
    pub(crate) fn label(&mut self, at: (f64, f64), anchor: Anchor, text: &str) {
        let area = area_of(at.0, at.1, crate::text::TEXT, anchor, text);
        let (x, y) = (coordinate(area.x0 - 1.0), coordinate(area.y0 + 1.0));
        let (w, h) = (
            coordinate(area.x1 - area.x0 + 2.0),
            coordinate(area.y1 - area.y0 - 1.0),
        );
        self.raw(&format!(
            "<rect class=\"f-paper\" x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" fill-opacity=\"0.85\"/>"
        ));
        self.text(at, crate::text::TEXT, anchor, "ink", false, text);
    }

    /// A straight line; `dash` as SVG has it, empty for a full one.
    pub(crate) fn line(
        &mut self,
        (x0, y0): (f64, f64),
        (x1, y1): (f64, f64),
        class: &str,
        wide: f64,
        dash: &str,
    ) {
        let (x0, y0, x1, y1) = (
            coordinate(x0),
            coordinate(y0),
            coordinate(x1),
            coordinate(y1),
        );
        let dash = dashed(dash);
        self.raw(&format!(
            "<line class=\"s-{class}\" x1=\"{x0}\" y1=\"{y0}\" x2=\"{x1}\" y2=\"{y1}\" stroke-width=\"{wide}\"{dash}/>"
        ));
    }

    /// A curve through points, in pieces where one is not a number, cut off
    /// at `within`. Texts placed later keep clear of it.
    pub(crate) fn curve(
        &mut self,
        points: &[(f64, f64)],
        within: &Area,
        class: &str,
        dash: &str,
        name: &str,
    ) {
        let mut path = String::new();
        let mut pen: Option<(f64, f64)> = None;
        // So far off the sheet that where the edge is crossed has no digits
        // left is as good as nowhere.
        let placed = |p: &(f64, f64)| p.0.abs() < FAR && p.1.abs() < FAR;
        for pair in points.windows(2) {
            let [a, b] = pair else { continue };
            let piece = if placed(a) && placed(b) {
                within.clip(*a, *b)
            } else {
                None
            };
            let Some((a, b)) = piece else {
                pen = None;
                continue;
            };
            if pen != Some(a) {
                path.push_str(&format!("M{} {}", coordinate(a.0), coordinate(a.1)));
            }
            path.push_str(&format!("L{} {}", coordinate(b.0), coordinate(b.1)));
            pen = Some(b);
            self.strokes.push((a, b));
        }
        if path.is_empty() {
            return;
        }
        let (dash, name) = (dashed(dash), escaped(name));
        self.raw(&format!(
            "<path class=\"s-{class}\" d=\"{path}\" stroke-width=\"1.8\" stroke-linejoin=\"round\"{dash}><title>{name}</title></path>"
        ));
    }

    /// A block in the n-th way to fill, outlined.
    pub(crate) fn block(&mut self, area: &Area, class: &str, fill: usize, title: &str) {
        let fill = match fill % crate::theme::FILLS {
            0 => format!(" class=\"f-{class} s-{class}\""),
            5 => format!(" class=\"s-{class}\" fill=\"none\""),
            n => format!(" class=\"s-{class}\" fill=\"url(#p{n}-{class})\""),
        };
        let (x, y) = (coordinate(area.x0), coordinate(area.y0));
        let (w, h) = (
            coordinate((area.x1 - area.x0).max(0.0)),
            coordinate(area.y1 - area.y0),
        );
        let title = escaped(title);
        self.raw(&format!(
            "<rect{fill} x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\"><title>{title}</title></rect>"
        ));
    }

    /// A field that lies behind what is drawn later.
    pub(crate) fn field(&mut self, area: &Area, class: &str) {
        let (x, y) = (coordinate(area.x0), coordinate(area.y0));
        let (w, h) = (
            coordinate((area.x1 - area.x0).max(0.0)),
            coordinate(area.y1 - area.y0),
        );
        self.raw(&format!(
            "<rect class=\"f-{class}\" x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" fill-opacity=\"0.45\"/>"
        ));
    }

    /// The outline of what was there before.
    pub(crate) fn ghost(&mut self, area: &Area, title: &str) {
        let (x, y) = (coordinate(area.x0), coordinate(area.y0));
        let (w, h) = (
            coordinate((area.x1 - area.x0).max(1.0)),
            coordinate(area.y1 - area.y0),
        );
        let title = escaped(title);
        self.raw(&format!(
            "<rect class=\"s-soft\" fill=\"none\" stroke-dasharray=\"3 2\" x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\"><title>{title}</title></rect>"
        ));
    }

    /// A small ring, a mark on a curve.
    pub(crate) fn ring(&mut self, (x, y): (f64, f64)) {
        self.texts.push(Area {
            x0: x - 4.0,
            y0: y - 4.0,
            x1: x + 4.0,
            y1: y + 4.0,
        });
        let (x, y) = (coordinate(x), coordinate(y));
        self.raw(&format!(
            "<circle class=\"s-ink f-paper\" cx=\"{x}\" cy=\"{y}\" r=\"3.5\" stroke-width=\"1.5\"/>"
        ));
    }

    /// Keeps texts placed later clear of a line.
    pub(crate) fn keep_clear(&mut self, a: (f64, f64), b: (f64, f64)) {
        self.strokes.push((a, b));
    }

    /// Whether a text there would lie on no other text.
    pub(crate) fn is_free(&self, area: &Area) -> bool {
        !self.texts.iter().any(|t| t.meets(area))
    }

    /// Whether it would lie on no curve either.
    pub(crate) fn is_clear(&self, area: &Area) -> bool {
        self.is_free(area)
            && !self
                .strokes
                .iter()
                .any(|(a, b)| area.clip(*a, *b).is_some())
    }
}

fn dashed(dash: &str) -> String {
    if dash.is_empty() {
        String::new()
    } else {
        format!(" stroke-dasharray=\"{dash}\"")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SQUARE: Area = Area {
        x0: 0.0,
        y0: 0.0,
        x1: 10.0,
        y1: 10.0,
    };

    #[test]
    fn segments_are_cut_at_the_edge() {
        let cut = SQUARE.clip((-5.0, 5.0), (15.0, 5.0));
        assert_eq!(cut, Some(((0.0, 5.0), (10.0, 5.0))));
        assert_eq!(SQUARE.clip((-5.0, -1.0), (15.0, -1.0)), None);
        assert_eq!(
            SQUARE.clip((2.0, 2.0), (3.0, 4.0)),
            Some(((2.0, 2.0), (3.0, 4.0)))
        );
        assert_eq!(
            SQUARE.clip((-1.0, 9.0), (1.0, 11.0)),
            Some(((0.0, 10.0), (0.0, 10.0)))
        );
    }

    #[test]
    fn a_curve_has_gaps_where_there_is_no_number() {
        let mut paper = Paper::default();
        let points = [
            (0.0, 1.0),
            (1.0, 1.0),
            (2.0, f64::NAN),
            (3.0, 1.0),
            (4.0, 2.0),
            (5.0, f64::INFINITY),
        ];
        paper.curve(&points, &SQUARE, "h0", "", "x");
        let body = paper.into_body();
        assert!(body.contains("d=\"M0 1L1 1M3 1L4 2\""), "{body}");
        assert!(!body.contains("NaN") && !body.contains("inf"));
    }

    #[test]
    fn texts_keep_clear_of_texts_and_curves() {
        let mut paper = Paper::default();
        paper.text((0.0, 10.0), 12.0, Anchor::Start, "ink", false, "here");
        let there = area_of(5.0, 12.0, 12.0, Anchor::Start, "there");
        assert!(!paper.is_free(&there));
        let below = area_of(0.0, 40.0, 12.0, Anchor::Start, "below");
        assert!(paper.is_clear(&below));
        let all = Area {
            x1: 100.0,
            y1: 100.0,
            ..SQUARE
        };
        paper.curve(&[(0.0, 38.0), (100.0, 38.0)], &all, "h0", "", "x");
        assert!(paper.is_free(&below) && !paper.is_clear(&below));
        assert!(all.holds(&below));
    }

    #[test]
    fn coordinates_are_short() {
        assert_eq!(coordinate(1.0), "1");
        assert_eq!(coordinate(-0.001), "0");
        assert_eq!(coordinate(120.456), "120.46");
        assert_eq!(coordinate(100.0), "100");
    }
}
