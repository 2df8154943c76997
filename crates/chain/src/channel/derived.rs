//! Quantities that follow from the readings of channels.

use std::cell::RefCell;

use board::{Board, Channel, Derived, Number};
use tape::{Builder, Value};

use super::sensor::Others;
use super::site::Site;
use super::{ChannelModel, Unmodelled, dither};
use crate::formula;
use crate::time::Timing;
use crate::variables::Variables;

/// Places over the span of each channel: fewer where many are named.
const PLACES: usize = 5;
const FEW_PLACES: usize = 3;
const FEW_CHANNELS: usize = 2;

/// Builds the model of a derived quantity: the formula of the readings less
/// the formula of the true quantities.
///
/// What the channels share is one variable, so that it cancels or adds as the
/// formula says. Where the true result lies outside of its span nothing is
/// asked of it, and its error counts as none.
///
/// # Errors
/// As [`super::build`].
pub(super) fn build(
    board: &Board,
    channel: &Channel,
    derived: &Derived,
    timing: &Timing,
) -> Result<ChannelModel, Unmodelled> {
    let builder = Builder::new();
    let variables = Variables::new(&builder);
    let mut needed = Vec::new();
    name_channels(board, derived, &mut needed)?;
    let places = if needed.len() > FEW_CHANNELS {
        FEW_PLACES
    } else {
        PLACES
    };
    let watched = RefCell::new(Vec::new());
    let others = RefCell::new(Others::default());
    let site = Site {
        board,
        channel,
        watched: &watched,
        builder: &builder,
        variables: &variables,
        ambient: super::ambient(board, &variables),
        instance: "",
        real: true,
        quiet: false,
        trough: false,
        depth: 0,
        measured_rail: None,
        others: &others,
        timing,
    };
    // By channel its true quantity and its reading, in the unit written.
    let mut known = Vec::new();
    for &(i, c) in &needed {
        let (low, high) = c.span.value;
        let set = match c.sensor.rail {
            Some(rail) => site.rail(rail)?,
            None => variables.condition(
                &format!("channels.{}.quantity", c.name),
                &c.name,
                &c.unit.symbol,
                Site::points(low, high, places),
                Some(c.span.span),
            ),
        };
        let truth = set + dither(&Site { channel: c, ..site })?;
        let (reading, _) = site.other_reading(i, truth)?;
        let shown = [truth, reading].map(|si| (si - c.unit.offset) / c.unit.factor);
        known.push((c.name.as_str(), shown));
    }
    let unit = &channel.unit;
    let result = |which: usize| -> Result<Value<'_>, Unmodelled> {
        let value = of(board, &builder, derived, &|name| {
            let found = known.iter().find(|(n, _)| *n == name)?;
            found.1.get(which).copied()
        })?;
        Ok(value * unit.factor + unit.offset)
    };
    let (truth, reading) = (result(0)?, result(1)?);
    let (low, high) = channel.span.value;
    // The ends themselves belong to the span, whatever rounding does to them.
    let reach = 1e-9 * (high - low);
    let inside = (truth - (low - reach)).min((high + reach) - truth);
    let zero = builder.zero();
    let error = builder
        .select(inside, reading - truth, zero)
        .named("error", &unit.symbol);
    let limit = site.limit(truth);
    let tape = builder.finish(&[error, limit, reading, zero, zero, error, zero]);
    Ok(ChannelModel {
        lean: tape.clone(),
        tape,
        validity: None,
        single_noise_codes: 0.0,
        variables: variables.finish(),
        checks: Vec::new(),
    })
}

fn parsed(derived: &Derived) -> Result<formula::Expression, Unmodelled> {
    formula::parse(&derived.formula.value).map_err(|f| told(derived, &f))
}

fn told(derived: &Derived, f: &formula::FormulaFault) -> Unmodelled {
    Unmodelled::at(
        format!("{}; expected {}", f.message, f.expected),
        derived.formula.span,
    )
}

/// The measured channels a formula rests on, those of the derived quantities
/// it names included; each once.
fn name_channels<'a>(
    board: &'a Board,
    derived: &Derived,
    list: &mut Vec<(usize, &'a Channel)>,
) -> Result<(), Unmodelled> {
    let expression = parsed(derived)?;
    for name in formula::names(&expression) {
        let Some((i, c)) = named(board, name) else {
            continue;
        };
        match &c.derived {
            Some(inner) => name_channels(board, inner, list)?,
            None if list.iter().any(|(k, _)| *k == i) => {}
            None => list.push((i, c)),
        }
    }
    Ok(())
}

fn named<'a>(board: &'a Board, name: &str) -> Option<(usize, &'a Channel)> {
    board
        .channels
        .iter()
        .enumerate()
        .find(|(_, c)| c.name == name)
}

/// The value of a formula where `measured` gives those of the channels.
fn of<'t>(
    board: &Board,
    builder: &'t Builder,
    derived: &Derived,
    measured: &dyn Fn(&str) -> Option<Value<'t>>,
) -> Result<Value<'t>, Unmodelled> {
    let expression = parsed(derived)?;
    let mut inner = Vec::new();
    for name in formula::names(&expression) {
        if let Some((_, c)) = named(board, name)
            && let Some(d) = &c.derived
        {
            inner.push((name, of(board, builder, d, measured)?));
        }
    }
    let lookup = |name: &str| {
        if name == "pi" {
            return Some(builder.constant(std::f64::consts::PI));
        }
        derived
            .constants
            .get(name)
            .map(|c| builder.constant(*c))
            .or_else(|| inner.iter().find(|(n, _)| *n == name).map(|(_, v)| *v))
            .or_else(|| measured(name))
    };
    formula::write(builder, &expression, Number::Double, &lookup).map_err(|f| told(derived, &f))
}
