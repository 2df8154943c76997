//! Newton's method in one unknown, for laws without a closed inverse.

use tape::{Builder, Iteration, Value};

/// The root of a function between `bounds`, from `start`.
///
/// `function` returns the function and its slope at the unknown. Every
/// iterate is held within the bounds: where there is no root between them the
/// nearer bound comes out, which is a reading off the end of the scale. The
/// function's slope must keep its sign between the bounds.
pub(super) fn root<'t>(
    builder: &'t Builder,
    start: Value<'t>,
    bounds: (f64, f64),
    settings: Iteration,
    function: impl Fn(Value<'t>) -> (Value<'t>, Value<'t>),
) -> Value<'t> {
    let (low, high) = (builder.constant(bounds.0), builder.constant(bounds.1));
    let step = |x: &Value<'t>| {
        let (value, slope) = function(*x);
        (*x - value / slope).clamp(low, high)
    };
    let start = start.clamp(low, high);
    let solved = builder.fixed_point(&[start], settings, |unknown| {
        unknown.iter().map(step).collect()
    });
    solved.first().copied().unwrap_or(start)
}
