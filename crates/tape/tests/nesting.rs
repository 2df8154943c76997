//! Iterations inside iterations, and linear systems whose usual elimination
//! fails, read the same in every way.
#![allow(clippy::unwrap_used, reason = "tests")]

use tape::{Block, Builder, Iteration, Linear, Reading, Value};

/// y = √a by an inner iteration, inside x = (x + y(x))/2 + …: the outer
/// iteration solves x = √(x + c), which is x = (1 + √(1 + 4c))/2.
fn nested(b: &Builder) -> Value<'_> {
    let c = b.input("c", "", 2.0);
    b.fixed_point(&[b.one()], Iteration::default(), |outer| {
        let a = outer[0] + c;
        let root = b.fixed_point(&[b.one()], Iteration::default(), |inner| {
            vec![(inner[0] + a / inner[0]) * 0.5]
        });
        vec![root[0]]
    })[0]
}

#[test]
fn property_nested_iterations_arrive_in_blocks_as_at_points() {
    let b = Builder::new();
    let x = nested(&b);
    let tape = b.finish(&[x]);
    let trials = [0.5, 2.0, 6.0, 12.0, 1e4];
    let mut block = Block::new(&tape, trials.len());
    block.input_mut(0).copy_from_slice(&trials);
    block.run(&tape, Reading::Exact);
    assert_eq!(block.unsettled, 0);
    for (k, &c) in trials.iter().enumerate() {
        let exact = (1.0 + (1.0 + 4.0 * c).sqrt()) / 2.0;
        let point = tape.values(&[c], Reading::Exact)[0];
        assert!((point - exact).abs() < 1e-11 * exact, "{c}: {point}");
        assert_eq!(block.output(&tape, 0)[k].to_bits(), point.to_bits(), "{c}");
    }
}

/// a·x + y = 3, x + b·y = 4, nominally with a = 2: eliminated from there.
fn pair(b: &Builder) -> Vec<Value<'_>> {
    let a = b.input("a", "", 2.0);
    let d = b.input("b", "", 5.0);
    let mut system = Linear::new(b, 2);
    system.add(0, 0, a);
    system.add(0, 1, b.one());
    system.add(1, 0, b.one());
    system.add(1, 1, d);
    system.add_right(0, b.constant(3.0));
    system.add_right(1, d * 0.0 + 4.0);
    system.solve(b, true).unwrap()
}

#[test]
fn property_slopes_are_right_where_the_elimination_was_repeated() {
    // x = (3·b − 4)/(a·b − 1), y = (4·a − 3)/(a·b − 1) (Cramer). Trials with
    // a = 0 or b = 0 have a zero where the nominal elimination divides.
    let b = Builder::new();
    let xy = pair(&b);
    let tape = b.finish(&xy);
    let mut resolved = 0;
    for (a, d) in [(2.0, 5.0), (0.0, 5.0), (2.0, 0.0), (0.0, 0.0), (1e-14, 3.0)] {
        let mut point = tape::Point::default();
        point.evaluate(&tape, &[a, d], Reading::Exact);
        resolved += point.resolved;
        let det = a * d - 1.0;
        let (x, y) = ((3.0 * d - 4.0) / det, (4.0 * a - 3.0) / det);
        assert!((point.output(&tape, 0) - x).abs() < 1e-12, "{a} {d}");
        assert!((point.output(&tape, 1) - y).abs() < 1e-12, "{a} {d}");
        let expected = [
            [-x * d / det, (3.0 - x * a) / det],
            [(4.0 - y * d) / det, -y * a / det],
        ];
        for (output, expected) in expected.iter().enumerate() {
            let mut slopes = [0.0; 2];
            point.gradient(&tape, output, Reading::Exact, &mut slopes);
            for (s, e) in slopes.iter().zip(expected) {
                assert!((s - e).abs() < 1e-11, "{a} {d} {output}: {s} {e}");
            }
        }
    }
    assert!(resolved > 0, "no trial needed the repeated elimination");
}

#[test]
fn property_nominal_values_are_those_of_a_reading_at_the_nominal_point() {
    // x settles at 0, where the system's entry a = x vanishes: the order
    // found at the start value 1 then divides by nothing.
    let b = Builder::new();
    let c = b.input("c", "", 4.0);
    let out = b.fixed_point(&[b.one()], Iteration::default(), |v| {
        let a = v[0] * v[0];
        let mut system = Linear::new(&b, 2);
        system.add(0, 0, a * 8.0);
        system.add(0, 1, b.one());
        system.add(1, 0, b.one());
        system.add(1, 1, b.constant(0.5));
        system.add_right(0, c);
        system.add_right(1, c * 0.5);
        // At a = 0: y = c, x = c/2 − c/2 = 0.
        let solved = system.solve(&b, true).unwrap();
        vec![b.select(v[0] - 0.5, b.constant(0.0), solved[0])]
    });
    let nominal = out[0].nominal();
    let tape = b.finish(&out);
    let read = tape.values(&[4.0], Reading::Exact)[0];
    assert!(read.abs() < 1e-12, "{read}");
    assert_eq!(nominal.to_bits(), read.to_bits());
}

#[test]
fn property_the_sign_of_the_determinant_is_that_of_its_expansion() {
    // Three rows of given numbers, each order of the rows; expansion by hand
    // (Sarrus).
    let rows = [[2.0, -1.0, 0.5], [0.0, 3.0, 1.0], [4.0, 0.25, -2.0]];
    for order in [
        [0, 1, 2],
        [0, 2, 1],
        [1, 0, 2],
        [1, 2, 0],
        [2, 0, 1],
        [2, 1, 0],
    ] {
        let b = Builder::new();
        let mut system = Linear::new(&b, 3);
        let m = order.map(|i| rows[i]);
        for (i, row) in m.iter().enumerate() {
            for (j, &v) in row.iter().enumerate() {
                system.add(i, j, b.input("m", "", v));
            }
            system.add_right(i, b.one());
        }
        let (_, sign) = system.solve_signed(&b, true).unwrap();
        let det = m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1])
            - m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0])
            + m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0]);
        assert_eq!(sign.nominal(), det.signum(), "{order:?}");
    }
}

#[test]
fn property_the_sign_is_right_where_the_elimination_was_repeated() {
    // det = a·b − 1, with zeros where the nominal elimination divides.
    let b = Builder::new();
    let (p, q) = (b.input("a", "", 2.0), b.input("b", "", 5.0));
    let mut system = Linear::new(&b, 2);
    system.add(0, 0, p);
    system.add(0, 1, b.one());
    system.add(1, 0, b.one());
    system.add(1, 1, q);
    system.add_right(0, p + 1.0);
    system.add_right(1, b.one());
    let (x, sign) = system.solve_signed(&b, true).unwrap();
    let tape = b.finish(&[x[0], sign]);
    let trials = [
        [2.0, 5.0],
        [0.0, 5.0],
        [0.0, -5.0],
        [2.0, 0.0],
        [0.0, 0.0],
        [-1.0, 5.0],
    ];
    let mut block = Block::new(&tape, trials.len());
    for (lane, trial) in trials.iter().enumerate() {
        for (input, &v) in trial.iter().enumerate() {
            block.input_mut(input)[lane] = v;
        }
    }
    block.run(&tape, Reading::Exact);
    assert!(block.resolved > 0);
    for (lane, trial) in trials.iter().enumerate() {
        let det = trial[0] * trial[1] - 1.0;
        let point = tape.values(trial, Reading::Exact);
        assert_eq!(point[1], det.signum(), "{trial:?}");
        assert_eq!(block.output(&tape, 1)[lane], det.signum(), "{trial:?}");
    }
}
