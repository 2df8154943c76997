//! Where the time of a trial goes: drawing its inputs, the tape's arithmetic,
//! and gathering the errors, each alone on one core, in nanoseconds per trial.
//! The sum of the first two is the limit that sampling can reach.
//!
//! Shortest of many short runs, so that a busy machine is not measured.

use leastbit_bench::{seconds, thermistor};
use std::hint::black_box;
use tape::{Block, Reading};
use uncertainty::{Points, Settings, sample, sample_tails};

const BLOCKS: usize = 64;
const REPETITIONS: usize = 400;

fn shortest(trials: usize, mut run: impl FnMut()) -> f64 {
    let best = (0..REPETITIONS)
        .map(|_| seconds(&mut run))
        .fold(f64::INFINITY, f64::min);
    best / trials as f64 * 1e9
}

fn main() {
    let model = thermistor();
    for lanes in [64, 128, 256, 512, 1024] {
        let mut block = Block::new(&model.tape, lanes);
        block.input_mut(0).fill(50.0);
        block.input_mut(1).fill(40.0);
        let trials = lanes * BLOCKS;
        let draw = |block: &mut Block, first: u64| {
            for (n, input) in model.inputs.iter().enumerate().skip(2) {
                input.shape.fill(n as u64, first, block.input_mut(n));
            }
        };
        let drawing = shortest(trials, || {
            for i in 0..BLOCKS {
                draw(&mut block, (i * lanes) as u64);
                black_box(&mut block);
            }
        });
        let computing = shortest(trials, || {
            for _ in 0..BLOCKS {
                block.run(&model.tape, Reading::Exact);
                black_box(&mut block);
            }
        });
        let both = shortest(trials, || {
            for i in 0..BLOCKS {
                draw(&mut block, (i * lanes) as u64);
                block.run(&model.tape, Reading::Exact);
                black_box(&mut block);
            }
        });
        let errors = block.output(&model.tape, 0);
        assert!(errors.iter().all(|e| e.abs() < 1.5), "{errors:?}");
        println!(
            "ns_per_trial_lanes_{lanes} drawing {drawing:.2} tape {computing:.2} both {both:.2}"
        );
    }
    let trials = 1 << 18;
    let settings = Settings {
        tolerance: 0.0,
        first_trials: trials,
        most_trials: trials,
        ..Settings::default()
    };
    let pool = rayon::ThreadPoolBuilder::new().num_threads(1).build();
    if let Ok(pool) = pool {
        let whole = pool.install(|| {
            shortest(trials as usize, || {
                let s = sample(&model, &[50.0, 40.0], &settings);
                assert!(black_box(s).is_ok());
            })
        });
        println!("ns_per_trial_sampling {whole:.2}");
        for (name, points, control) in [
            ("streams", Points::Streams, false),
            ("streams_control", Points::Streams, true),
            ("scrambled", Points::Scrambled, false),
            ("scrambled_control", Points::Scrambled, true),
        ] {
            let settings = Settings {
                points,
                control,
                first_trials: 1 << 12,
                ..Settings::default()
            };
            let mut trials = 0;
            let time = pool.install(|| {
                shortest(1, || {
                    if let Ok(s) = sample(&model, &[50.0, 40.0], &settings) {
                        trials = s.trials;
                    }
                })
            });
            println!("one_percent_{name} {:.3} ms, {trials} trials", time * 1e-6);
        }
        let mut trials = 0;
        let time = pool.install(|| {
            shortest(1, || {
                if let Ok(t) = sample_tails(&model, &[50.0, 40.0], &Settings::default()) {
                    trials = t.trials;
                }
            })
        });
        println!("one_percent_tails {:.3} ms, {trials} trials", time * 1e-6);
    }
}
