//! A channel's variables in the words of the analysis.

use chain::variables::{Kind, Lies, Variable, Varies};
use statistics::Shape;
use uncertainty::{Category, Input, Role};

/// What the chain knows of a variable. The stream is the key's own number, so
/// equal keys are equal variables in all channels.
pub(crate) fn input(v: &Variable) -> Input {
    let (shape, bound) = match v.lies {
        Lies::Between(low, high) => (Shape::Rectangular { low, high }, true),
        Lies::About(mean, deviation) => (Shape::Normal { mean, deviation }, false),
        Lies::Triangular(low, high) => (Shape::Triangular { low, high }, true),
        Lies::Arcsine(low, high) => (Shape::Arcsine { low, high }, true),
    };
    let mut input = match v.varies {
        Varies::Condition => Input::condition(&v.name, &v.unit, v.grid.clone()),
        Varies::Board | Varies::Reading => Input::board(&v.name, &v.unit, shape, stream_of(&v.key)),
    };
    if v.varies == Varies::Reading {
        input.role = Role::Reading;
    }
    if v.varies != Varies::Condition {
        input.bound = bound;
    }
    input.category = match v.kind {
        Kind::Fixed => Category::Fixed,
        Kind::Temperature => Category::Temperature,
        Kind::Ageing => Category::Ageing,
        Kind::Supply => Category::Supply,
        Kind::Random => Category::Random,
        Kind::Conversion => Category::Conversion,
        Kind::Other => Category::Other,
    };
    input.group = v.group.as_deref().map(|g| (stream_of(g) >> 32) as u32);
    input.published = v.basis.is_none_or(parts::Basis::is_documented);
    input.sampled = v.sampled;
    input.linear = v.linear;
    input.cornered = v.cornered;
    input
}

/// FNV-1a (Fowler, Noll, Vo; RFC 9923) of the key.
fn stream_of(key: &str) -> u64 {
    key.bytes().fold(0xcbf2_9ce4_8422_2325, |h, b| {
        (h ^ u64::from(b)).wrapping_mul(0x0100_0000_01b3)
    })
}

/// The word for a kind of contributor.
pub(crate) fn category_word(category: Category) -> &'static str {
    match category {
        Category::Fixed => "fixed",
        Category::Temperature => "temperature",
        Category::Ageing => "ageing",
        Category::Supply => "supply",
        Category::Random => "random",
        Category::Conversion => "conversion",
        Category::Other => "other",
    }
}
