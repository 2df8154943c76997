//! A channel's network by itself, apart from its reading.

use std::cell::RefCell;

use board::{Board, Channel};
use tape::{Builder, Value};

use super::Timing;
use crate::channel::{Others, Site, Unmodelled, Watched};
use crate::law::Electrical;
use crate::variables::{Kind, Lies, Trace, Variable, Variables};

/// What a network is written on when nothing is asked but how it moves. The
/// first two inputs of its tapes are the quantity (SI) and the ambient (K).
pub(crate) struct Alone<'t> {
    pub variables: Variables<'t>,
    builder: &'t Builder,
    watched: RefCell<Vec<Watched<'t>>>,
    others: RefCell<Others<'t>>,
    timing: Timing,
}

impl<'t> Alone<'t> {
    pub fn new(builder: &'t Builder) -> Self {
        Alone {
            variables: Variables::new(builder),
            builder,
            watched: RefCell::new(Vec::new()),
            others: RefCell::new(Others::default()),
            timing: Timing::default(),
        }
    }

    /// The channel as it is, at a quantity (SI) and an ambient (K) that may be
    /// chosen when a tape is read; with it the input of the quantity.
    ///
    /// # Errors
    /// The channel has no analog network.
    pub fn site<'a>(
        &'a self,
        board: &'a Board,
        channel: &'a Channel,
        quantity: f64,
        kelvin: f64,
    ) -> Result<(Site<'a, 't>, Value<'t>), Unmodelled> {
        let input = |key: &str, nominal: f64| {
            let lies = Lies::Between(nominal, nominal);
            let variable = Variable::board(key, key, "", lies, Kind::Fixed, Trace::board(None));
            self.variables.value(variable, nominal)
        };
        let quantity = input("quantity", quantity);
        let site = Site {
            board,
            channel,
            watched: &self.watched,
            builder: self.builder,
            variables: &self.variables,
            ambient: input("ambient", kelvin),
            instance: "",
            real: true,
            quiet: false,
            trough: false,
            depth: 1,
            measured_rail: None,
            others: &self.others,
            timing: &self.timing,
        }
        .facing(quantity);
        let digital = |e: Electrical| matches!(e, Electrical::Reading | Electrical::Frequency);
        if channel.derived.is_some() || digital(site.law()?.electrical()) {
            return Err(Unmodelled::new("the channel has no analog network"));
        }
        Ok((site, quantity))
    }
}
