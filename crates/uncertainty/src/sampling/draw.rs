//! Drawing trials and reading the tape for them, in parallel.

use rayon::prelude::*;
use statistics::{Shape, sobol, stream};
use tape::{Block, Point, Reading};

use super::LinearPart;
use crate::model::{Model, ModelFault, Role};
use crate::settings::{Points, Settings};

/// Trials computed by one thread at a stretch.
const PIECE: usize = 2048;
/// Inputs that get low-discrepancy points; further ones matter least and are
/// drawn independently.
const BALANCED: usize = 32;
/// Streams of scrambles lie apart from those of variables under one seed.
const SCRAMBLE_STREAM: u64 = 0x5ca1_ab1e_0000_0000;

/// A drawn input.
#[derive(Clone, Debug)]
pub(crate) struct Keyed {
    pub input: usize,
    pub shape: Shape,
    pub stream: u64,
    /// Dimension of the low-discrepancy points, if it gets them.
    dimension: Option<usize>,
}

/// The drawn inputs that the tape reads.
pub(crate) fn keyed(model: &Model, takes_part: impl Fn(Role) -> bool) -> Vec<Keyed> {
    model
        .inputs
        .iter()
        .enumerate()
        .filter(|(i, input)| {
            input.is_drawn() && takes_part(input.role) && model.tape.uses_input(*i)
        })
        .map(|(i, input)| Keyed {
            input: i,
            shape: input.shape,
            stream: input.stream,
            dimension: None,
        })
        .collect()
}

/// Errors of all trials, by replicate; with them the linear parts, if used.
pub(crate) struct Trials {
    pub errors: Vec<Vec<f64>>,
    pub linear: Vec<Vec<f64>>,
    pub resolved: u64,
    pub unsettled: u64,
}

impl Trials {
    pub fn new(replicates: usize, with_linear: bool) -> Self {
        Trials {
            errors: vec![Vec::new(); replicates],
            linear: vec![Vec::new(); if with_linear { replicates } else { 0 }],
            resolved: 0,
            unsettled: 0,
        }
    }
}

/// A run of trials of one replicate and where its results go.
struct Piece<'a> {
    replicate: usize,
    first: u64,
    errors: &'a mut [f64],
    linear: &'a mut [f64],
}

/// Working space of one thread: a block of the wanted length, and one for the
/// shorter rest of a piece, so that no trial is computed that nobody asked
/// for and counted.
pub(crate) struct Worker {
    lanes: usize,
    blocks: Vec<Block>,
    centre: Vec<f64>,
}

impl Worker {
    pub fn new(lanes: usize, centre: &[f64]) -> Self {
        Worker {
            lanes,
            blocks: Vec::new(),
            centre: centre.to_vec(),
        }
    }

    /// A block of `length` trials with all inputs at the centre to begin
    /// with; the same one when asked again.
    pub fn block(&mut self, model: &Model, length: usize) -> &mut Block {
        let at = match self.blocks.iter().position(|b| b.lanes() == length) {
            Some(at) => at,
            None => {
                let mut block = Block::new(&model.tape, length);
                for (i, &x) in self.centre.iter().enumerate() {
                    block.input_mut(i).fill(x);
                }
                self.blocks.push(block);
                self.blocks.len() - 1
            }
        };
        &mut self.blocks[at]
    }

    pub fn lanes(&self) -> usize {
        self.lanes
    }

    pub fn counts(&self) -> (u64, u64) {
        self.blocks
            .iter()
            .fold((0, 0), |(r, u), b| (r + b.resolved, u + b.unsettled))
    }
}

/// How many workers share `pieces`: a few for each thread, so that none waits
/// long, and not more, since each has its own working space.
pub(crate) fn workers(pieces: usize) -> usize {
    let shares = match rayon::current_num_threads() {
        1 => 1,
        threads => 3 * threads,
    };
    pieces.div_ceil(shares).max(1)
}

/// Draws trials of a model at one set of conditions.
pub(crate) struct Drawer<'a> {
    model: &'a Model,
    settings: &'a Settings,
    centre: Vec<f64>,
    drawn: Vec<Keyed>,
    linear: Option<LinearPart>,
    limit: Option<f64>,
}

impl<'a> Drawer<'a> {
    pub fn new(
        model: &'a Model,
        conditions: &[f64],
        settings: &'a Settings,
    ) -> Result<Self, ModelFault> {
        let nominal = model.centre(conditions, |_| false)?;
        let mut drawn = keyed(model, |_| true);
        let mut means = nominal.clone();
        for variable in &drawn {
            means[variable.input] = variable.shape.mean();
        }
        let mut point = Point::default();
        point.evaluate(&model.tape, &means, Reading::Smooth);
        let bias = point.output(&model.tape, model.error);
        let limit = model.limit.map(|o| point.output(&model.tape, o));
        let mut slopes = vec![0.0; model.inputs.len()];
        point.gradient(&model.tape, model.error, Reading::Smooth, &mut slopes);
        if settings.points == Points::Scrambled {
            balance(&mut drawn, &slopes);
        }
        let linear = settings
            .control
            .then(|| LinearPart::new(bias, &slopes, &drawn, settings.probability))
            .flatten();
        Ok(Drawer {
            model,
            settings,
            centre: nominal,
            drawn,
            linear,
            limit,
        })
    }

    pub fn linear(&self) -> Option<&LinearPart> {
        self.linear.as_ref()
    }

    pub fn limit(&self) -> Option<f64> {
        self.limit
    }

    /// Makes every replicate `each` trials long.
    pub fn extend(&self, trials: &mut Trials, each: usize) {
        let old = trials.errors.first().map_or(0, Vec::len);
        for list in trials.errors.iter_mut().chain(&mut trials.linear) {
            list.resize(each, 0.0);
        }
        let mut pieces = Vec::new();
        let mut linear = trials.linear.iter_mut();
        for (replicate, errors) in trials.errors.iter_mut().enumerate() {
            let linear = linear
                .next()
                .map_or(&mut [] as &mut [f64], |l| &mut l[old..]);
            let mut linear_parts = linear.chunks_mut(PIECE);
            for (n, errors) in errors[old..].chunks_mut(PIECE).enumerate() {
                pieces.push(Piece {
                    replicate,
                    first: (old + n * PIECE) as u64,
                    errors,
                    linear: linear_parts.next().unwrap_or_default(),
                });
            }
        }
        let share = workers(pieces.len());
        let counts: Vec<(u64, u64)> = pieces
            .par_chunks_mut(share)
            .map(|pieces| {
                let mut worker = Worker::new(self.settings.lanes, &self.centre);
                for piece in pieces {
                    self.compute(&mut worker, piece);
                }
                worker.counts()
            })
            .collect();
        for (resolved, unsettled) in counts {
            trials.resolved += resolved;
            trials.unsettled += unsettled;
        }
    }

    fn compute(&self, worker: &mut Worker, piece: &mut Piece<'_>) {
        let lanes = worker.lanes();
        let mut linear = piece.linear.chunks_mut(lanes);
        for (n, errors) in piece.errors.chunks_mut(lanes).enumerate() {
            let first = piece.first + (n * lanes) as u64;
            let block = worker.block(self.model, errors.len());
            for variable in &self.drawn {
                let out = block.input_mut(variable.input);
                self.draw(variable, piece.replicate, first, out);
            }
            if let (Some(part), Some(linear)) = (&self.linear, linear.next()) {
                part.fill(linear, block);
            }
            block.run(&self.model.tape, Reading::Exact);
            let found = block.output(&self.model.tape, self.model.error);
            errors.copy_from_slice(found);
        }
    }

    /// The values of a variable in trials `first`, `first` + 1, …
    fn draw(&self, variable: &Keyed, replicate: usize, first: u64, out: &mut [f64]) {
        let seed = match self.settings.points {
            Points::Streams => self.settings.seed,
            Points::Scrambled => {
                stream::key(self.settings.seed, SCRAMBLE_STREAM + replicate as u64)
            }
        };
        match variable.dimension {
            Some(dimension) => {
                sobol::fill(dimension, first, seed, out);
                variable.shape.fill_from_uniform(out);
            }
            None => variable
                .shape
                .fill(stream::key(seed, variable.stream), first, out),
        }
    }

    /// The two largest and the two smallest errors with their inputs.
    pub fn worst_trials(&self, trials: &Trials) -> Vec<(f64, Vec<f64>)> {
        let mut found = Vec::with_capacity(4);
        for sign in [1.0, -1.0] {
            for (error, replicate, trial) in two_largest(&trials.errors, sign) {
                let mut inputs = self.centre.clone();
                for variable in &self.drawn {
                    let mut one = [0.0];
                    self.draw(variable, replicate, trial as u64, &mut one);
                    inputs[variable.input] = one[0];
                }
                found.push((error, inputs));
            }
        }
        found
    }
}

/// The two largest of the errors times `sign`, the first of equal ones first,
/// with replicate and trial; what is no number does not count.
fn two_largest(
    errors: &[Vec<f64>],
    sign: f64,
) -> impl Iterator<Item = (f64, usize, usize)> + use<> {
    /// Errors looked at together before any of them alone.
    const ROW: usize = 32;
    let mut best: [Option<(f64, usize, usize)>; 2] = [None, None];
    let mut second = f64::NEG_INFINITY;
    for (replicate, errors) in errors.iter().enumerate() {
        for (n, row) in errors.chunks(ROW).enumerate() {
            let none = row
                .iter()
                .fold(true, |none, &e| none & (sign * e <= second));
            if none && best[1].is_some() {
                continue;
            }
            for (k, &e) in row.iter().enumerate().filter(|(_, e)| !e.is_nan()) {
                let this = Some((e, replicate, n * ROW + k));
                let beats = |other: Option<(f64, usize, usize)>| {
                    other.is_none_or(|o| (e - o.0) * sign > 0.0)
                };
                if beats(best[0]) {
                    best = [this, best[0]];
                } else if beats(best[1]) {
                    best[1] = this;
                }
            }
            second = best[1].map_or(f64::NEG_INFINITY, |b| sign * b.0);
        }
    }
    best.into_iter().flatten()
}

/// Gives the inputs that matter most the first dimensions. Shapes whose
/// inverse has no closed form are quicker drawn than looked up.
fn balance(drawn: &mut [Keyed], slopes: &[f64]) {
    let mut order: Vec<usize> = (0..drawn.len())
        .filter(|&n| {
            !matches!(
                drawn[n].shape,
                Shape::StudentT { .. } | Shape::CurvilinearTrapezoidal { .. } | Shape::Fixed { .. }
            )
        })
        .collect();
    let size = |n: usize| (slopes[drawn[n].input] * drawn[n].shape.deviation()).abs();
    order.sort_by(|&a, &b| size(b).total_cmp(&size(a)).then(a.cmp(&b)));
    for (dimension, &n) in order.iter().take(BALANCED).enumerate() {
        drawn[n].dimension = Some(dimension);
    }
}
