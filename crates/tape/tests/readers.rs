//! The readers of a tape agree with each other bit for bit.
#![allow(clippy::unwrap_used, reason = "tests")]

use tape::{Block, Builder, Iteration, Linear, Reading, Value};

/// A model long enough that places are used again, with constants that
/// appear late, a linear system, an iteration and rounding.
fn long_model(b: &Builder) -> Vec<Value<'_>> {
    let x = b.input("x", "", 1.2);
    let y = b.input("y", "", 0.7);
    let mut sum = x * 0.0;
    for i in 1..40 {
        let term =
            (x * f64::from(i) * 0.01).exp() / (y + 0.1 * f64::from(i)) - (x + f64::from(i)).ln();
        sum = sum + term.min(y * 3.0) * (0.37 + f64::from(i));
    }
    let z = b.input("late", "", 2.0);
    let mut system = Linear::new(b, 3);
    for i in 0..3 {
        for j in 0..3 {
            system.add(
                i,
                j,
                if i == j {
                    x + 4.0 + z
                } else {
                    y * (0.3 + i as f64 - j as f64)
                },
            );
        }
        system.add_right(i, sum * 0.001 + i as f64);
    }
    let solved = system.solve(b, true).unwrap();
    // Newton's iteration for the cube root.
    let target = x + z + 1.0;
    let root = b.fixed_point(&[b.one()], Iteration::default(), |v| {
        vec![v[0] - (v[0].powi(3) - target) / (3.0 * v[0] * v[0])]
    });
    vec![
        sum,
        solved[0],
        solved[2] * 100.0,
        root[0],
        (sum * 10.0).quantised(),
        root[0] * 17.25 + solved[1],
    ]
}

#[test]
fn property_blocks_give_the_bits_of_single_points() {
    let b = Builder::new();
    let outputs = long_model(&b);
    let tape = b.finish(&outputs);
    for lanes in [1, 3, 64, 100] {
        let mut block = Block::new(&tape, lanes);
        for round in 0..3 {
            let at = |lane: usize, input: usize| {
                0.5 + 0.01 * lane as f64 + 0.3 * input as f64 + 0.07 * round as f64
            };
            for input in 0..3 {
                for lane in 0..lanes {
                    block.input_mut(input)[lane] = at(lane, input);
                }
            }
            for reading in [Reading::Exact, Reading::Smooth] {
                block.run(&tape, reading);
                for lane in 0..lanes {
                    let single = tape.values(&[at(lane, 0), at(lane, 1), at(lane, 2)], reading);
                    for (k, v) in single.iter().enumerate() {
                        assert_eq!(
                            block.output(&tape, k)[lane].to_bits(),
                            v.to_bits(),
                            "output {k}, lane {lane} of {lanes}"
                        );
                    }
                }
            }
        }
        assert_eq!((block.resolved, block.unsettled), (0, 0));
    }
}

#[test]
fn property_the_gradient_agrees_with_differences() {
    let b = Builder::new();
    let outputs = long_model(&b);
    let tape = b.finish(&outputs);
    let at = [1.2, 0.7, 2.0];
    for k in [0, 1, 2, 3, 5] {
        let gradient = tape.gradient(&at, k, Reading::Smooth);
        for i in 0..3 {
            let h = 1e-6;
            let (mut up, mut down) = (at, at);
            up[i] += h;
            down[i] -= h;
            let slope = (tape.values(&up, Reading::Smooth)[k]
                - tape.values(&down, Reading::Smooth)[k])
                / (2.0 * h);
            assert!(
                (slope - gradient[i]).abs() < 1e-4 * slope.abs().max(1.0),
                "output {k} input {i}: {slope} {}",
                gradient[i]
            );
        }
    }
}

#[test]
fn a_bad_pivot_order_is_noticed_solved_again_and_counted() {
    // The nominal entry makes the first pivot good; at zero it is not.
    let b = Builder::new();
    let a = b.input("a", "", 3.0);
    let mut system = Linear::new(&b, 2);
    system.add(0, 0, a);
    system.add(0, 1, b.one());
    system.add(1, 0, b.one());
    system.add(1, 1, b.one());
    system.add_right(0, b.one());
    system.add_right(1, b.constant(2.0));
    let x = system.solve(&b, true).unwrap();
    let tape = b.finish(&x);
    let mut block = Block::new(&tape, 4);
    block.input_mut(0).copy_from_slice(&[2.0, 1e-18, 0.0, -1.0]);
    block.run(&tape, Reading::Exact);
    for (lane, a) in [2.0, 1e-18, 0.0, -1.0].into_iter().enumerate() {
        // a·x + y = 1 and x + y = 2: x = 1/(1 − a), y = 2 − x.
        let exact = 1.0 / (1.0 - a);
        assert!(
            (block.output(&tape, 0)[lane] - exact).abs() < 1e-12,
            "lane {lane}"
        );
        assert!(
            (block.output(&tape, 1)[lane] - (2.0 - exact)).abs() < 1e-12,
            "lane {lane}"
        );
    }
}

#[test]
fn the_working_shows_names_and_numbers() {
    let b = Builder::new();
    let v = b.input("supply", "V", 5.0);
    let top = b.input("top", "Ω", 10e3);
    let bottom = b.input("bottom", "Ω", 15e3);
    let out = (v * bottom / (top + bottom)).named("output", "V");
    let lines = b
        .finish(&[out])
        .working(0, &[5.0, 10e3, 15e3], Reading::Exact, &|x, unit| {
            format!("{x} {unit}").trim().to_owned()
        });
    assert_eq!(lines.len(), 1);
    assert_eq!(lines[0].formula, "supply · bottom / (top + bottom)");
    assert_eq!(lines[0].numbers, "5 V · 15000 Ω / (10000 Ω + 15000 Ω)");
    assert_eq!(lines[0].value, 3.0);
}
