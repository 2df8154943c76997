//! The points in condition space where a model is looked at.

use crate::model::Model;

/// Points of the grid at the most.
pub const MOST_GRID_POINTS: usize = 512;

impl Model {
    /// Every combination of the conditions' points, the last condition
    /// fastest; each vector has one value per condition, in the order of
    /// [`Model::conditions`].
    ///
    /// If there would be more than [`MOST_GRID_POINTS`], the condition with
    /// the most points (the first of equals) is thinned to about half of
    /// them, its ends kept, until it fits. If even the ends alone are too
    /// many combinations, all low, all high and each condition alone at
    /// either end of the middle of all others are taken.
    #[must_use]
    pub fn grid(&self) -> Vec<Vec<f64>> {
        let mut axes: Vec<Vec<f64>> = self
            .inputs
            .iter()
            .filter(|i| i.role == crate::Role::Condition)
            .map(|i| i.grid.clone())
            .collect();
        while combinations(&axes) > MOST_GRID_POINTS {
            let largest = axes.iter().map(Vec::len).max().unwrap_or(0);
            if largest <= 2 {
                return star(&axes);
            }
            if let Some(axis) = axes.iter_mut().find(|a| a.len() == largest) {
                *axis = thinned(axis);
            }
        }
        let mut points: Vec<Vec<f64>> = vec![Vec::new()];
        for axis in &axes {
            points = points
                .iter()
                .flat_map(|p| {
                    axis.iter().map(move |&x| {
                        let mut q = p.clone();
                        q.push(x);
                        q
                    })
                })
                .collect();
        }
        points
    }

    /// The span of every condition: its smallest and largest point.
    pub(crate) fn spans(&self) -> Vec<(f64, f64)> {
        self.axes()
            .iter()
            .map(|a| {
                a.iter()
                    .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), &x| {
                        (low.min(x), high.max(x))
                    })
            })
            .collect()
    }

    /// The points of every condition, ascending.
    pub(crate) fn axes(&self) -> Vec<Vec<f64>> {
        self.inputs
            .iter()
            .filter(|i| i.role == crate::Role::Condition)
            .map(|i| {
                let mut sorted = i.grid.clone();
                sorted.sort_unstable_by(f64::total_cmp);
                sorted
            })
            .collect()
    }
}

fn combinations(axes: &[Vec<f64>]) -> usize {
    axes.iter()
        .fold(1, |product, axis| product.saturating_mul(axis.len()))
}

/// About half of the points, evenly chosen, the ends among them.
fn thinned(axis: &[f64]) -> Vec<f64> {
    let wanted = axis.len().div_ceil(2).max(2);
    let last = axis.len() - 1;
    (0..wanted)
        .filter_map(|i| axis.get(i * last / (wanted - 1)).copied())
        .collect()
}

/// All low, all high, and each axis at its ends while the others stand in
/// their middle.
fn star(axes: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let first = |a: &Vec<f64>| a.first().copied().unwrap_or(0.0);
    let last = |a: &Vec<f64>| a.last().copied().unwrap_or(0.0);
    let low: Vec<f64> = axes.iter().map(first).collect();
    let high: Vec<f64> = axes.iter().map(last).collect();
    let middle: Vec<f64> = low.iter().zip(&high).map(|(a, b)| 0.5 * (a + b)).collect();
    let mut points = vec![low.clone(), high.clone(), middle.clone()];
    for i in 0..axes.len() {
        for end in [low[i], high[i]] {
            let mut p = middle.clone();
            p[i] = end;
            points.push(p);
        }
    }
    points
}

/// Moves a point of the conditions, one condition after the other, to where
/// `measure` is largest between its neighbours on the grid: three points in
/// the gap either side, then a parabola and golden sections. Returns the best
/// measure; `at` is moved there. NaN never wins.
pub(crate) fn refine(
    axes: &[Vec<f64>],
    at: &mut [f64],
    start: f64,
    mut measure: impl FnMut(&[f64]) -> f64,
) -> f64 {
    let mut best = start;
    for (i, axis) in axes.iter().enumerate() {
        let here = at[i];
        let below = axis.iter().rev().find(|&&x| x < here).copied();
        let above = axis.iter().find(|&&x| x > here).copied();
        let mut trial = at.to_vec();
        let (place, value) = crate::search::peak(
            below.unwrap_or(here),
            here,
            above.unwrap_or(here),
            best,
            |x| {
                trial[i] = x;
                measure(&trial)
            },
        );
        if value > best {
            best = value;
            at[i] = place;
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Input, Model};

    fn model(axes: &[usize]) -> Model {
        let builder = tape::Builder::new();
        let mut sum = builder.zero();
        for _ in axes {
            sum = sum + builder.input("c", "", 0.0);
        }
        Model {
            tape: builder.finish(&[sum]),
            inputs: axes
                .iter()
                .map(|&n| Input::condition("c", "", (0..n).map(|i| i as f64).collect()))
                .collect(),
            error: 0,
            limit: None,
        }
    }

    #[test]
    fn small_grids_are_complete() {
        let points = model(&[2, 3]).grid();
        assert_eq!(points.len(), 6);
        assert_eq!(points[1], vec![0.0, 1.0]);
        assert_eq!(points[5], vec![1.0, 2.0]);
        assert_eq!(model(&[]).grid(), vec![Vec::<f64>::new()]);
    }

    #[test]
    fn property_large_grids_keep_their_ends_and_fit() {
        for axes in [vec![9; 4], vec![101, 7, 3], vec![2; 12], vec![5; 7]] {
            let points = model(&axes).grid();
            assert!(points.len() <= MOST_GRID_POINTS && points.len() > 8);
            for (i, &n) in axes.iter().enumerate() {
                for end in [0.0, (n - 1) as f64] {
                    assert!(points.iter().any(|p| p[i] == end), "{axes:?}");
                }
            }
        }
    }
}
