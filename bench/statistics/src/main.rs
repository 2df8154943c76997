//! Throughput of the drawing kernels on one core, in millions of values per
//! second. Fails if a kernel gives a wrong answer or falls below its floor,
//! which stands at about a quarter of a current server core: a compiler that
//! stops using wide instructions is noticed, a busy machine is not.
//!
//! `cargo run --release`, with `--no-floor` on slow machines.

use statistics::{Shape, moments, normal, sobol, stream};
use std::hint::black_box;
use std::process::ExitCode;
use std::time::Instant;

const BLOCK: usize = 512;
const BLOCKS: u64 = 4000;
const REPETITIONS: usize = 7;

/// Runs `fill` over consecutive blocks; the best of some repetitions, with
/// the mean of all values of the last one.
fn measure(mut fill: impl FnMut(u64, &mut [f64])) -> (f64, f64) {
    let mut block = [0.0; BLOCK];
    let (mut best_s, mut mean) = (f64::INFINITY, 0.0);
    for _ in 0..REPETITIONS {
        let mut sums = 0.0;
        let start = Instant::now();
        for i in 0..BLOCKS {
            fill(i * BLOCK as u64, &mut block);
            sums += black_box(&block).iter().step_by(64).sum::<f64>();
        }
        best_s = best_s.min(start.elapsed().as_secs_f64());
        mean = sums / (BLOCKS as f64 * (BLOCK / 64) as f64);
    }
    (BLOCKS as f64 * BLOCK as f64 / best_s / 1e6, mean)
}

fn main() -> ExitCode {
    let floors = !std::env::args().any(|argument| argument == "--no-floor");
    let mut failed = false;
    let mut row =
        |name: &str, floor: f64, expected_mean: f64, fill: &mut dyn FnMut(u64, &mut [f64])| {
            let (rate, mean) = measure(fill);
            let wrong = (mean - expected_mean).abs() > 0.05;
            let slow = floors && rate < floor;
            failed |= wrong || slow;
            println!(
                "{name:28} {rate:8.1} M/s   mean {mean:+.4}{}{}",
                if slow { "   below its floor" } else { "" },
                if wrong { "   wrong" } else { "" },
            );
        };
    let key = stream::key(1, 2);
    row("uniform", 250.0, 0.5, &mut |first, out| {
        stream::fill_uniform(key, first, out);
    });
    let mut probabilities = [0.0; BLOCK];
    stream::fill_uniform(key, 0, &mut probabilities);
    let central = moments::mean(&{
        let mut seen: Vec<f64> = probabilities.iter().step_by(64).copied().collect();
        normal::fill_quantile(&mut seen);
        seen
    });
    row("normal quantile", 50.0, central, &mut |_, out| {
        out.copy_from_slice(&probabilities);
        normal::fill_quantile(out);
    });
    row("sobol, dimension 100", 30.0, 0.5, &mut |first, out| {
        sobol::fill(100, first, 7, out);
    });
    let shapes = [
        (
            "rectangular",
            250.0,
            Shape::Rectangular {
                low: -1.0,
                high: 1.0,
            },
        ),
        (
            "normal",
            100.0 / 2.0,
            Shape::Normal {
                mean: 0.0,
                deviation: 1.0,
            },
        ),
        (
            "triangular",
            40.0,
            Shape::Triangular {
                low: -1.0,
                high: 1.0,
            },
        ),
        (
            "arcsine",
            80.0,
            Shape::Arcsine {
                low: -1.0,
                high: 1.0,
            },
        ),
        (
            "trapezoidal",
            100.0,
            Shape::Trapezoidal {
                low: -1.0,
                high: 1.0,
                beta: 0.5,
            },
        ),
        (
            "curvilinear trapezoidal",
            100.0,
            Shape::CurvilinearTrapezoidal {
                low: -1.0,
                high: 1.0,
                inexact: 0.25,
            },
        ),
        (
            "student, 7 degrees",
            15.0,
            Shape::StudentT {
                mean: 0.0,
                scale: 1.0,
                dof: 7.0,
            },
        ),
    ];
    for (name, floor, shape) in shapes {
        row(name, floor, 0.0, &mut |first, out| {
            shape.fill(key, first, out)
        });
    }
    let mut total = 0.0;
    row("moments", 100.0, 0.0, &mut |_, out| {
        let mut seen = moments::Moments::about(0.5);
        seen.add(&probabilities);
        total += seen.variance();
        out.fill(0.0);
    });
    black_box(total);
    if failed {
        ExitCode::FAILURE
    } else {
        ExitCode::SUCCESS
    }
}
