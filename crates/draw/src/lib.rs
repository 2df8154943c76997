//! Pictures: plots, timelines and bars as SVG, ink on paper.
//!
//! An SVG here is text written straight: no typeface, script or file from
//! elsewhere. Texts are laid out by generous widths, so that they do not lie
//! on one another on any machine; curves are told apart by dash as well as by
//! colour, blocks by their fill. The numbers come from `report` types or from
//! the caller; nothing is computed here but where things lie.

mod axis;
mod bands;
mod bars;
mod legend;
mod paper;
mod plot;
mod remarks;
mod sheet;
mod strip;
mod table;
mod text;
mod theme;
mod timeline;
mod tree;
mod view;

pub use axis::{Axis, Scale};
pub use bands::{Band, BandRow, Bands};
pub use bars::{Bar, Bars};
pub use plot::{Guide, Level, Mark, Panel, Plot, Series};
pub use remarks::{Remark, Remarks, Weight};
pub use sheet::{Inline, Picture, Sheet};
pub use strip::{Answer, OnScale, Stand, Strip, Strips};
pub use table::{Table, TableRow};
pub use theme::{patterns, style};
pub use timeline::{Block, Row, Timeline};
pub use tree::{Branch, Tree};
pub use view::{bar, board, course, faults, links, noise, rails, response, schedule, strip};
