//! A tape with some of its outputs reads them as the whole one does.
#![allow(clippy::unwrap_used, reason = "tests")]

use tape::{Block, Builder, Iteration, Linear, Point, Reading, Tape, Value};

/// Outputs that need nothing or little, an iteration with a
/// linear system and an iteration inside it, and a system by itself.
fn whole<'t>(b: &'t Builder) -> Vec<Value<'t>> {
    let p = b.input("p", "", 2.0);
    let q = b.input("q", "", 5.0);
    let r = b.input("r", "", 0.5);
    let system = |a: Value<'t>, d: Value<'t>| {
        let mut s = Linear::new(b, 2);
        s.add(0, 0, a);
        s.add(0, 1, b.one());
        s.add(1, 0, b.one());
        s.add(1, 1, d);
        s.add_right(0, b.constant(3.0));
        s.add_right(1, r + 4.0);
        s
    };
    let alone = system(p, q).solve(b, true).unwrap();
    let iterated = b.fixed_point(&[b.one(), b.one()], Iteration::default(), |x| {
        let root = b.fixed_point(&[b.one()], Iteration::default(), |inner| {
            vec![(inner[0] + (x[0] * x[0] + q) / inner[0]) * 0.5]
        });
        let inside = system(p + x[1] * x[1] * 0.01, q).solve(b, true).unwrap();
        vec![root[0] * 0.3, inside[0] * 0.5 + x[1] * 0.5]
    });
    vec![
        b.constant(7.0),
        r.quantised() * 2.0,
        alone[0],
        alone[1] * p,
        iterated[0],
        iterated[1] + alone[1],
        r + q,
    ]
}

fn bits(tape: &Tape, inputs: &[f64], output: usize) -> (u64, Vec<u64>) {
    let mut point = Point::default();
    point.evaluate(tape, inputs, Reading::Smooth);
    let mut slopes = vec![0.0; inputs.len()];
    point.gradient(tape, output, Reading::Smooth, &mut slopes);
    (
        point.output(tape, output).to_bits(),
        slopes.iter().map(|s| s.to_bits()).collect(),
    )
}

#[test]
fn property_some_outputs_alone_have_the_bits_they_have_among_all() {
    let b = Builder::new();
    let outputs = whole(&b);
    let all = b.finish(&outputs);
    // Ordinary trials, and some where the nominal elimination divides by
    // nothing, so that the guard solves again.
    let trials = [
        [2.0, 5.0, 0.5],
        [0.0, 5.0, 1.5],
        [2.0, 0.0, -3.0],
        [1e-14, 3.0, 8.25],
        [-4.0, 0.7, 0.0],
    ];
    for chosen in [
        vec![0],
        vec![1],
        vec![2],
        vec![3],
        vec![4],
        vec![5],
        vec![6, 2],
        vec![5, 4, 1],
        vec![3, 3],
    ] {
        let some = all.only(&chosen);
        assert_eq!(some.output_count(), chosen.len());
        assert_eq!(some.input_count(), all.input_count());
        assert!(some.operation_count() <= all.operation_count());
        for t in &trials {
            for (n, &output) in chosen.iter().enumerate() {
                assert_eq!(
                    bits(&some, t, n),
                    bits(&all, t, output),
                    "{chosen:?} at {t:?}"
                );
            }
        }
        let mut block = Block::new(&some, trials.len());
        for i in 0..3 {
            for (place, t) in block.input_mut(i).iter_mut().zip(&trials) {
                *place = t[i];
            }
        }
        block.run(&some, Reading::Smooth);
        for (n, &output) in chosen.iter().enumerate() {
            for (x, t) in block.output(&some, n).iter().zip(&trials) {
                assert_eq!(x.to_bits(), bits(&all, t, output).0, "{chosen:?} at {t:?}");
            }
        }
    }
    // What an output does not need is gone, and inputs keep their numbers.
    let last = all.only(&[6]);
    assert_eq!(last.operation_count(), 1);
    assert!(!last.uses_input(0) && last.uses_input(1) && last.uses_input(2));
    assert_eq!(all.only(&[99]).output_count(), 0);
}
