//! A sheet: title, what it says in words, pictures one below the other.

use crate::bands::Bands;
use crate::bars::Bars;
use crate::paper::{Anchor, Paper, coordinate};
use crate::plot::Plot;
use crate::remarks::Remarks;
use crate::strip::Strips;
use crate::table::Table;
use crate::text::{HEADING, TEXT, TITLE, escaped, wrapped};
use crate::theme;
use crate::timeline::Timeline;
use crate::tree::Tree;

/// Width of a sheet; A4 shows it at about a quarter of a millimetre a unit.
const WIDTH: f64 = 760.0;
/// Empty all round.
const MARGIN: f64 = 24.0;

/// One picture of a sheet.
#[derive(Clone, Debug, PartialEq)]
pub enum Picture {
    /// Curves.
    Plot(Plot),
    /// Turns in time.
    Timeline(Timeline),
    /// Amounts side by side.
    Bars(Bars),
    /// A strip for each channel.
    Strips(Strips),
    /// What there is to say.
    Remarks(Remarks),
    /// Ranges along an axis.
    Bands(Bands),
    /// Supplies that feed each other.
    Tree(Tree),
    /// Rows of texts.
    Table(Table),
    /// Sentences, for what has no picture.
    Words(String),
}

/// A sheet of pictures.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// Its title.
    pub title: String,
    /// What stands below the title.
    pub lead: String,
    /// What it shows, in sentences, for those who hear the sheet read.
    pub description: String,
    /// From top to bottom.
    pub pictures: Vec<Picture>,
}

impl Sheet {
    /// The sheet as SVG: one XML document that needs nothing from elsewhere,
    /// light or dark as the reader prefers, light in print. The same sheet
    /// gives the same bytes.
    ///
    /// ```
    /// let sheet = draw::Sheet {
    ///     title: "R < 1 kΩ".to_owned(),
    ///     lead: String::new(),
    ///     description: String::new(),
    ///     pictures: Vec::new(),
    /// };
    /// assert!(sheet.svg().contains("<title id=\"sheet-title\">R &lt; 1 kΩ</title>"));
    /// ```
    #[must_use]
    pub fn svg(&self) -> String {
        let (paper, y) = self.drawn(true);
        let height = coordinate((y + MARGIN - 16.0).ceil());
        let (title, description) = (escaped(&self.title), escaped(&self.description));
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{WIDTH}\" height=\"{height}\" \
             viewBox=\"0 0 {WIDTH} {height}\" role=\"img\" \
             aria-labelledby=\"sheet-title sheet-description\">\n\
             <title id=\"sheet-title\">{title}</title>\n\
             <desc id=\"sheet-description\">{description}</desc>\n\
             <style>{}</style>\n<defs>{}</defs>\n\
             <rect class=\"f-paper\" width=\"{WIDTH}\" height=\"{height}\"/>\n{}</svg>\n",
            theme::style(),
            theme::patterns(),
            paper.into_body()
        )
    }

    /// The pictures alone, without title and lead, for a page that has its
    /// own style and patterns.
    #[must_use]
    pub fn inline(&self) -> Inline {
        let (paper, y) = self.drawn(false);
        Inline {
            label: format!("{}. {}", self.title, self.description),
            size: (WIDTH, y),
            body: paper.into_body(),
        }
    }

    fn drawn(&self, titled: bool) -> (Paper, f64) {
        let mut paper = Paper::default();
        let (x0, x1) = (MARGIN, WIDTH - MARGIN);
        let mut y = MARGIN;
        if titled {
            for line in wrapped(&self.title, x1 - x0, TITLE) {
                paper.text((x0, y + TITLE), TITLE, Anchor::Start, "ink", true, &line);
                y += 1.35 * TITLE;
            }
            y = sentences(&mut paper, &self.lead, (x0, x1), y + 2.0) + 6.0;
            paper.line((x0, y), (x1, y), "ink", 1.6, "");
            y += 14.0;
        } else {
            y = 0.0;
        }
        for picture in &self.pictures {
            let heading = match picture {
                Picture::Plot(p) => &p.heading,
                Picture::Timeline(p) => &p.heading,
                Picture::Bars(p) => &p.heading,
                Picture::Strips(p) => &p.heading,
                Picture::Remarks(p) => &p.heading,
                Picture::Bands(p) => &p.heading,
                Picture::Tree(p) => &p.heading,
                Picture::Table(p) => &p.heading,
                Picture::Words(_) => "",
            };
            for line in wrapped(heading, x1 - x0, HEADING) {
                let at = (x0, y + HEADING);
                paper.text(at, HEADING, Anchor::Start, "ink", true, &line);
                y += 1.4 * HEADING;
            }
            y += 6.0;
            y = match picture {
                Picture::Plot(p) => p.draw(&mut paper, (x0, x1), y),
                Picture::Timeline(p) => p.draw(&mut paper, (x0, x1), y),
                Picture::Bars(p) => p.draw(&mut paper, (x0, x1), y),
                Picture::Strips(p) => p.draw(&mut paper, (x0, x1), y),
                Picture::Remarks(p) => p.draw(&mut paper, (x0, x1), y),
                Picture::Bands(p) => p.draw(&mut paper, (x0, x1), y),
                Picture::Tree(p) => p.draw(&mut paper, (x0, x1), y),
                Picture::Table(p) => p.draw(&mut paper, (x0, x1), y),
                Picture::Words(text) => sentences(&mut paper, text, (x0, x1), y),
            };
            y += 16.0;
        }
        (paper, y)
    }
}

/// A picture that is part of a page.
#[derive(Clone, Debug, PartialEq)]
pub struct Inline {
    pub(crate) label: String,
    pub(crate) size: (f64, f64),
    pub(crate) body: String,
}

impl Inline {
    /// The picture as an element of a page; style and patterns are the page's
    /// ([`crate::style`], [`crate::patterns`]).
    #[must_use]
    pub fn svg(&self) -> String {
        let (w, h) = (coordinate(self.size.0), coordinate(self.size.1.ceil()));
        let label = escaped(&self.label);
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {w} {h}\" role=\"img\" aria-label=\"{label}\">{}</svg>",
            self.body
        )
    }
}

fn sentences(paper: &mut Paper, text: &str, (x0, x1): (f64, f64), mut y: f64) -> f64 {
    for line in wrapped(text, x1 - x0, TEXT) {
        paper.text((x0, y + TEXT), TEXT, Anchor::Start, "soft", false, &line);
        y += 16.0;
    }
    y
}
