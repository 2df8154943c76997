//! Trials per second of the thermistor divider, drawing included, on one and
//! two cores; time to know the 99.73 % half-width to 1 % with 95 % confidence;
//! time of a whole evaluation. Every timed run asserts its answer.
//!
//! Prints lines `name value` that `compare.py` reads.

use leastbit_bench::{seconds, thermistor};
use uncertainty::{Points, Sampled, Settings, evaluate, sample, sample_tails};

/// Short runs, many of them, so that a busy machine is not measured.
const REPETITIONS: usize = 40;
const TRIALS: u64 = 1 << 20;
/// Half-width by 2^26 trials, in kelvin, and what any run may differ.
const CONDITIONS: [f64; 2] = [50.0, 40.0];

fn best(mut run: impl FnMut()) -> f64 {
    (0..REPETITIONS)
        .map(|_| seconds(&mut run))
        .fold(f64::INFINITY, f64::min)
}

/// Processor time of all threads so far, in seconds; Linux counts it in
/// hundredths.
fn processor_s() -> f64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let fields: Vec<&str> = stat
        .rsplit(')')
        .next()
        .unwrap_or_default()
        .split_whitespace()
        .collect();
    let ticks = |n: usize| -> f64 { fields.get(n).and_then(|f| f.parse().ok()).unwrap_or(0.0) };
    (ticks(11) + ticks(12)) / 100.0
}

fn in_threads<T: Send>(threads: usize, run: impl FnOnce() -> T + Send) -> T {
    match rayon::ThreadPoolBuilder::new().num_threads(threads).build() {
        Ok(pool) => pool.install(run),
        Err(fault) => {
            eprintln!("{fault}");
            std::process::exit(1)
        }
    }
}

fn main() {
    let model = thermistor();
    println!("operations {}", model.tape.operation_count());
    let run = |settings: &Settings| -> Sampled {
        match sample(&model, &CONDITIONS, settings) {
            Ok(sampled) => sampled,
            Err(fault) => {
                eprintln!("{fault}");
                std::process::exit(1)
            }
        }
    };
    let plain = Settings {
        tolerance: 0.0,
        first_trials: TRIALS,
        most_trials: TRIALS,
        ..Settings::default()
    };
    let reference = run(&Settings {
        first_trials: 1 << 24,
        most_trials: 1 << 24,
        seed: 99,
        ..plain
    });
    println!("half_width_k {}", reference.half_width);
    println!("deviation_k {}", reference.deviation);
    let check = |s: &Sampled| {
        let slack = 2.0 * (s.half_width_tolerance + reference.half_width_tolerance);
        assert!(
            (s.half_width - reference.half_width).abs() <= slack,
            "{} instead of {}",
            s.half_width,
            reference.half_width
        );
    };
    for lanes in [64, 128, 256, 512, 1024] {
        let settings = Settings { lanes, ..plain };
        let time = in_threads(1, || best(|| check(&run(&settings))));
        println!("rate_lanes_{lanes} {}", TRIALS as f64 / time);
    }
    for threads in [1, 2] {
        let time = in_threads(threads, || best(|| check(&run(&plain))));
        println!("rate_{threads} {}", TRIALS as f64 / time);
        // On a busy machine the wall does not tell how well threads share.
        let before = processor_s();
        in_threads(threads, || {
            for _ in 0..REPETITIONS {
                check(&run(&plain));
            }
        });
        let each = (processor_s() - before) / (REPETITIONS as f64 * TRIALS as f64);
        println!("processor_ns_per_trial_{threads} {}", each * 1e9);
    }
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
        let mut last = None;
        let time = in_threads(2, || {
            best(|| {
                let s = run(&settings);
                check(&s);
                assert!(s.half_width_tolerance <= 0.01 * s.half_width);
                last = Some(s);
            })
        });
        if let Some(s) = last {
            println!("one_percent_s_{name} {time}");
            println!("one_percent_trials_{name} {}", s.trials);
            println!("control_correlation_{name} {}", s.control_correlation);
        }
    }
    let mut last = None;
    let time = in_threads(2, || {
        best(
            || match sample_tails(&model, &CONDITIONS, &Settings::default()) {
                Ok(t) => {
                    let slack = 2.0 * (t.half_width_tolerance + reference.half_width_tolerance);
                    assert!((t.half_width - reference.half_width).abs() <= slack);
                    assert!(t.half_width_tolerance <= 0.01 * t.half_width);
                    last = Some(t.trials);
                }
                Err(fault) => panic!("{fault}"),
            },
        )
    });
    println!("one_percent_s_tails {time}");
    println!("one_percent_trials_tails {}", last.unwrap_or(0));
    for (name, points, control) in [
        ("streams", Points::Streams, false),
        ("scrambled_control", Points::Scrambled, true),
    ] {
        let settings = Settings {
            points,
            control,
            ..Settings::default()
        };
        let time = in_threads(1, || {
            best(|| match evaluate(&model, &settings, &|_| {}) {
                Ok(e) => assert!(e.worst_case.magnitude() > e.propagated.half_width),
                Err(fault) => panic!("{fault}"),
            })
        });
        println!("evaluate_1_s_{name} {time}");
    }
}
