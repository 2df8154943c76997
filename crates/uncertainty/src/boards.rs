//! The yield: how many boards meet the need everywhere.

use rayon::prelude::*;
use statistics::{binomial, stream};
use tape::{Point, Reading};

use crate::model::{Model, ModelFault, Role, share_of_limit};
use crate::sampling::{Worker, keyed, workers};
use crate::settings::Settings;

/// Boards of the first look.
const FIRST_BOARDS: u64 = 2048;
/// Confidence of the bounds.
const CONFIDENCE: f64 = 0.95;

/// The share of boards that meet the limit at all points of the grid.
#[derive(Clone, Debug, PartialEq)]
pub struct Yield {
    /// Share of the boards drawn.
    pub share: f64,
    /// One-sided lower bound of the share, 95 % (Clopper and Pearson).
    pub lower_95: f64,
    /// Boards drawn.
    pub boards: u64,
    /// Boards that met it.
    pub met: u64,
    /// By point of the grid: boards that were worst there, as a share of the
    /// limit.
    pub worst_counts: Vec<u64>,
    /// By point of the grid: boards that did not meet the limit there.
    pub failed_counts: Vec<u64>,
    /// The points, one value per condition.
    pub grid: Vec<Vec<f64>>,
}

/// Draws boards and looks at each of them at every point of the grid: what
/// belongs to the board is the same at all points, what belongs to a reading
/// is fresh at each. An error that is no number is not met.
///
/// Boards are doubled until the share is, by a one-sided bound, above or
/// below the probability asked, or [`Settings::most_boards`] is reached. Board
/// i depends on the seed and i alone; trial i of a reading variable at point j
/// on the seed, its stream, i and j.
///
/// `Ok(None)` if the model has no limit.
///
/// # Errors
/// The model does not fit its tape, or a setting has no sense.
pub fn yield_share(model: &Model, settings: &Settings) -> Result<Option<Yield>, ModelFault> {
    model.check()?;
    settings.check()?;
    let grid = model.grid();
    let Some(boards) = Boards::new(model, settings, &grid)? else {
        return Ok(None);
    };
    let mut total = Counts::new(grid.len());
    let mut drawn = 0;
    let mut wanted = FIRST_BOARDS.min(settings.most_boards);
    loop {
        total.add(&boards.count(drawn, wanted));
        drawn = wanted;
        let lower_95 = binomial::lower_bound(total.met, drawn, CONFIDENCE);
        let upper = binomial::upper_bound(total.met, drawn, CONFIDENCE);
        let decided = lower_95 >= settings.probability || upper < settings.probability;
        if decided || drawn >= settings.most_boards {
            return Ok(Some(Yield {
                share: total.met as f64 / drawn as f64,
                lower_95,
                boards: drawn,
                met: total.met,
                worst_counts: total.worst,
                failed_counts: total.failed,
                grid,
            }));
        }
        wanted = (drawn * 2).min(settings.most_boards);
    }
}

#[derive(Clone)]
struct Counts {
    met: u64,
    worst: Vec<u64>,
    failed: Vec<u64>,
}

impl Counts {
    fn new(points: usize) -> Self {
        Counts {
            met: 0,
            worst: vec![0; points],
            failed: vec![0; points],
        }
    }

    fn add(&mut self, other: &Counts) {
        self.met += other.met;
        for (sum, n) in self.worst.iter_mut().zip(&other.worst) {
            *sum += n;
        }
        for (sum, n) in self.failed.iter_mut().zip(&other.failed) {
            *sum += n;
        }
    }
}

/// A variable and its key; a reading's keys, one per point of the grid.
struct Variable {
    input: usize,
    shape: statistics::Shape,
    keys: Vec<u64>,
}

struct Boards<'a> {
    model: &'a Model,
    lanes: usize,
    centre: Vec<f64>,
    places: Vec<usize>,
    grid: &'a [Vec<f64>],
    limits: Vec<f64>,
    board: Vec<Variable>,
    reading: Vec<Variable>,
}

impl<'a> Boards<'a> {
    fn new(
        model: &'a Model,
        settings: &Settings,
        grid: &'a [Vec<f64>],
    ) -> Result<Option<Self>, ModelFault> {
        let (Some(limit), Some(first)) = (model.limit, grid.first()) else {
            return Ok(None);
        };
        let mut point = Point::default();
        let limits = grid
            .iter()
            .map(|conditions| {
                let centre = model.centre(conditions, crate::Input::is_drawn)?;
                point.evaluate(&model.tape, &centre, Reading::Smooth);
                Ok(point.output(&model.tape, limit))
            })
            .collect::<Result<Vec<f64>, ModelFault>>()?;
        let variables = |role: Role, points: usize| {
            keyed(model, |r| r == role)
                .into_iter()
                .map(|v| {
                    let key = stream::key(settings.seed, v.stream);
                    Variable {
                        input: v.input,
                        shape: v.shape,
                        keys: match role {
                            Role::Reading => {
                                (0..points as u64).map(|j| stream::key(key, j)).collect()
                            }
                            _ => vec![key],
                        },
                    }
                })
                .collect()
        };
        Ok(Some(Boards {
            model,
            lanes: settings.lanes,
            centre: model.centre(first, |_| false)?,
            places: model.conditions(),
            limits,
            board: variables(Role::Board, 1),
            reading: variables(Role::Reading, grid.len()),
            grid,
        }))
    }

    /// Counts over the boards `from` to `to`.
    fn count(&self, from: u64, to: u64) -> Counts {
        let lanes = self.lanes as u64;
        let starts: Vec<u64> = (0..(to - from).div_ceil(lanes))
            .map(|n| from + n * lanes)
            .collect();
        let parts: Vec<Counts> = starts
            .par_chunks(workers(starts.len()))
            .map(|starts| {
                let mut worker = Worker::new(self.lanes, &self.centre);
                let mut counts = Counts::new(self.grid.len());
                let mut worst = vec![(0.0, 0usize, true); self.lanes];
                for &start in starts {
                    let length = usize::try_from(lanes.min(to - start)).unwrap_or(self.lanes);
                    let worst = worst.get_mut(..length).unwrap_or_default();
                    self.block(&mut worker, start, worst, &mut counts);
                }
                counts
            })
            .collect();
        let mut total = Counts::new(self.grid.len());
        for part in &parts {
            total.add(part);
        }
        total
    }

    /// One block of boards at all points; `worst` is by board the largest
    /// share of the limit, where, and whether all limits were met.
    fn block(
        &self,
        worker: &mut Worker,
        start: u64,
        worst: &mut [(f64, usize, bool)],
        counts: &mut Counts,
    ) {
        worst.fill((f64::NEG_INFINITY, 0, true));
        let model = self.model;
        let block = worker.block(model, worst.len());
        for v in &self.board {
            for &key in &v.keys {
                v.shape.fill(key, start, block.input_mut(v.input));
            }
        }
        for (j, (conditions, &limit)) in self.grid.iter().zip(&self.limits).enumerate() {
            for (&place, &x) in self.places.iter().zip(conditions) {
                block.input_mut(place).fill(x);
            }
            for v in &self.reading {
                if let Some(&key) = v.keys.get(j) {
                    v.shape.fill(key, start, block.input_mut(v.input));
                }
            }
            block.run(&model.tape, Reading::Exact);
            for (w, &e) in worst.iter_mut().zip(block.output(&model.tape, model.error)) {
                let share = share_of_limit(e.abs(), Some(limit));
                let share = if share.is_nan() { f64::INFINITY } else { share };
                if share > w.0 {
                    (w.0, w.1) = (share, j);
                }
                let met = e.abs() <= limit;
                w.2 &= met;
                if let (false, Some(failed)) = (met, counts.failed.get_mut(j)) {
                    *failed += 1;
                }
            }
        }
        for &(_, j, met) in worst.iter() {
            counts.met += u64::from(met);
            if let Some(n) = counts.worst.get_mut(j) {
                *n += 1;
            }
        }
    }
}
