use super::*;

fn all_shapes() -> Vec<Shape> {
    vec![
        Shape::Rectangular {
            low: -1.0,
            high: 3.0,
        },
        Shape::Normal {
            mean: 2.0,
            deviation: 0.5,
        },
        Shape::Triangular {
            low: -2.0,
            high: 2.0,
        },
        Shape::Arcsine {
            low: -0.5,
            high: 0.5,
        },
        Shape::Trapezoidal {
            low: 0.0,
            high: 4.0,
            beta: 0.4,
        },
        Shape::Trapezoidal {
            low: 0.0,
            high: 4.0,
            beta: 1.0,
        },
        Shape::CurvilinearTrapezoidal {
            low: -1.0,
            high: 1.0,
            inexact: 0.3,
        },
        Shape::CurvilinearTrapezoidal {
            low: -1.0,
            high: 1.0,
            inexact: 1.0,
        },
        Shape::StudentT {
            mean: 10.0,
            scale: 2.0,
            dof: 9.0,
        },
        Shape::StudentT {
            mean: 0.0,
            scale: 1.0,
            dof: f64::INFINITY,
        },
        Shape::Fixed { value: 3.25 },
    ]
}

#[test]
fn published_divisors_of_the_guide() {
    // JCGM 100:2008, 4.3.7, 4.3.9 and F.2.2.1; 4.4.6: half-width 4 gives 2.3
    // rectangular and 1.6 triangular.
    let half = 4.0;
    let rectangular = Shape::Rectangular {
        low: -half,
        high: half,
    };
    let triangular = Shape::Triangular {
        low: -half,
        high: half,
    };
    let arcsine = Shape::Arcsine {
        low: -half,
        high: half,
    };
    assert!((rectangular.deviation() - 2.309).abs() < 5e-4);
    assert!((triangular.deviation() - 1.633).abs() < 5e-4);
    assert!((rectangular.deviation() - half / 3.0_f64.sqrt()).abs() < 1e-15);
    assert!((triangular.deviation() - half / 6.0_f64.sqrt()).abs() < 1e-15);
    assert!((arcsine.deviation() - half / 2.0_f64.sqrt()).abs() < 1e-15);
    let resolution = Shape::Rectangular {
        low: -0.5,
        high: 0.5,
    };
    assert!((resolution.deviation() - 0.288_675).abs() < 5e-7);
}

#[test]
fn published_deviations_of_the_gauge_block_inputs() {
    // The nine inputs of JCGM 101:2008, 9.5 (lengths in nanometres), with the
    // standard deviations that the formulas of its clause 6.4 give.
    let t = |scale, dof| Shape::StudentT {
        mean: 0.0,
        scale,
        dof,
    };
    let cases = [
        (t(25.0, 18.0), 26.5165),
        (t(6.0, 24.0), 6.2668),
        (t(4.0, 5.0), 5.1640),
        (t(7.0, 8.0), 8.0829),
        (
            Shape::Rectangular {
                low: 9.5,
                high: 13.5,
            },
            1.1547,
        ),
        (
            Shape::Normal {
                mean: -0.1,
                deviation: 0.2,
            },
            0.2,
        ),
        (
            Shape::Arcsine {
                low: -0.5,
                high: 0.5,
            },
            0.353_553,
        ),
        (
            Shape::CurvilinearTrapezoidal {
                low: -1.0,
                high: 1.0,
                inexact: 0.1,
            },
            0.578_312,
        ),
        (
            Shape::CurvilinearTrapezoidal {
                low: -0.050,
                high: 0.050,
                inexact: 0.025,
            },
            0.030_046,
        ),
    ];
    for (shape, expected) in cases {
        assert!(
            (shape.deviation() / expected - 1.0).abs() < 2e-5,
            "{shape:?}: {}",
            shape.deviation()
        );
    }
}

/// Empirical mean and deviation against the closed forms, and the empirical
/// distribution against the inverse function.
#[test]
fn property_drawn_values_follow_the_shape() {
    let trials = 200_000;
    for (variable, shape) in all_shapes().into_iter().enumerate() {
        let mut drawn = vec![0.0; trials];
        shape.fill(stream::key(2024, variable as u64), 0, &mut drawn);
        let n = trials as f64;
        let mean = drawn.iter().sum::<f64>() / n;
        let variance = drawn.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / (n - 1.0);
        let u = shape.deviation();
        assert!(
            (mean - shape.mean()).abs() <= 5.0 * u / n.sqrt(),
            "{shape:?}"
        );
        // The deviation of a deviation is at most u·√(kurtosis/4n); kurtosis
        // of t with nine degrees of freedom is 4.2.
        assert!(
            (variance.sqrt() - u).abs() <= 5.0 * u * (4.2 / (4.0 * n)).sqrt(),
            "{shape:?}: {} instead of {u}",
            variance.sqrt()
        );
        if let Some((low, high)) = shape.limits() {
            assert!(drawn.iter().all(|&x| x >= low && x <= high), "{shape:?}");
        }
        if u == 0.0 {
            continue;
        }
        for p in [0.01, 0.1, 0.3, 0.5, 0.8, 0.95, 0.995] {
            let edge = shape.from_uniform(p);
            let below = drawn.iter().filter(|&&x| x <= edge).count() as f64 / n;
            assert!(
                (below - p).abs() < 5.0 * (p * (1.0 - p) / n).sqrt(),
                "{shape:?}: {below} below the {p} quantile"
            );
        }
    }
}

#[test]
fn property_same_bits_for_every_split_and_start() {
    for (variable, shape) in all_shapes().into_iter().enumerate() {
        let key = stream::key(9, variable as u64);
        let mut whole = vec![0.0; 1400];
        shape.fill(key, 17, &mut whole);
        for split in [1, 7, 64, 511, 512, 513] {
            let mut parts = vec![0.0; whole.len()];
            for (block, part) in parts.chunks_mut(split).enumerate() {
                shape.fill(key, 17 + (block * split) as u64, part);
            }
            assert!(
                parts
                    .iter()
                    .zip(&whole)
                    .all(|(a, b)| a.to_bits() == b.to_bits()),
                "{shape:?} in blocks of {split}"
            );
        }
    }
}

#[test]
fn property_slices_equal_single_values_and_grow_with_probability() {
    let probabilities: Vec<f64> = (0..1000).map(|i| (f64::from(i) + 0.5) / 1000.0).collect();
    for shape in all_shapes() {
        let mut filled = probabilities.clone();
        shape.fill_from_uniform(&mut filled);
        for (found, &u) in filled.iter().zip(&probabilities) {
            assert_eq!(
                found.to_bits(),
                shape.from_uniform(u).to_bits(),
                "{shape:?} {u}"
            );
        }
        let centre = shape.mean();
        for (below, above) in filled.iter().zip(filled.iter().skip(1)) {
            assert!(below <= above, "{shape:?}");
        }
        for (low, high) in filled.iter().zip(filled.iter().rev()) {
            let asymmetry = (low - centre) + (high - centre);
            assert!(
                asymmetry.abs() < 1e-13 * (1.0 + centre.abs()),
                "{shape:?} {low} {high}"
            );
        }
    }
}

#[test]
fn property_midpoint_sums_reproduce_the_deviation() {
    // ∫ (F⁻¹(u) − mean)² du by the midpoint rule: a check of the inverse
    // functions that does not depend on random numbers.
    let n = 200_000;
    for shape in all_shapes() {
        if matches!(shape, Shape::StudentT { .. }) {
            continue;
        }
        let square: f64 = (0..n)
            .map(|i| {
                let x = shape.from_uniform((f64::from(i) + 0.5) / f64::from(n)) - shape.mean();
                x * x
            })
            .sum::<f64>()
            / f64::from(n);
        assert!(
            (square.sqrt() - shape.deviation()).abs() <= 1e-4 * shape.deviation(),
            "{shape:?}: {} instead of {}",
            square.sqrt(),
            shape.deviation()
        );
    }
}

#[test]
fn property_limits_are_reached_at_the_ends() {
    for shape in all_shapes() {
        let Some((low, high)) = shape.limits() else {
            continue;
        };
        let width = high - low;
        let first = shape.from_uniform(f64::EPSILON / 2.0);
        let last = shape.from_uniform(1.0 - f64::EPSILON / 2.0);
        assert!(
            first >= low && first - low <= 1e-6 * width,
            "{shape:?} {first}"
        );
        assert!(
            last <= high && high - last <= 1e-6 * width,
            "{shape:?} {last}"
        );
    }
}

#[test]
fn property_curvilinear_trapezoid_with_certain_limits_is_a_rectangle() {
    let certain = Shape::CurvilinearTrapezoidal {
        low: 1.0,
        high: 2.0,
        inexact: 0.0,
    };
    for u in [0.1, 0.5, 0.9] {
        assert_eq!(certain.from_uniform(u), 1.0 + u);
    }
}

#[test]
fn property_unusable_parameters_are_named() {
    let reversed = Shape::Rectangular {
        low: 1.0,
        high: 0.0,
    };
    assert_eq!(reversed.check(), Err(ShapeError::LimitsReversed));
    let negative = Shape::Normal {
        mean: 0.0,
        deviation: -1.0,
    };
    assert_eq!(negative.check(), Err(ShapeError::Negative));
    let no_freedom = Shape::StudentT {
        mean: 0.0,
        scale: 1.0,
        dof: 0.0,
    };
    assert_eq!(no_freedom.check(), Err(ShapeError::OutOfRange));
    let too_inexact = Shape::CurvilinearTrapezoidal {
        low: 0.0,
        high: 1.0,
        inexact: 0.6,
    };
    assert_eq!(too_inexact.check(), Err(ShapeError::OutOfRange));
    let unknown = Shape::Fixed { value: f64::NAN };
    assert_eq!(unknown.check(), Err(ShapeError::NotFinite));
    for shape in all_shapes() {
        assert_eq!(shape.check(), Ok(()), "{shape:?}");
    }
}

#[test]
fn property_wide_instructions_change_no_bit_of_two_stream_shapes() {
    // The single-value forms are compiled here for the plain processor.
    let key = stream::key(31, 5);
    let (mut curvilinear, mut student) = (vec![0.0; 1000], vec![0.0; 1000]);
    Shape::CurvilinearTrapezoidal {
        low: 0.3,
        high: 1.7,
        inexact: 0.2,
    }
    .fill(key, 40, &mut curvilinear);
    Shape::StudentT {
        mean: 0.7,
        scale: 1.3,
        dof: 4.5,
    }
    .fill(key, 40, &mut student);
    for ((trial, a), b) in (40..).zip(&curvilinear).zip(&student) {
        let u = stream::uniform(key, trial);
        let v = stream::uniform(stream::companion(key), trial);
        let expected = kernels::curvilinear_drawn(u, v, 0.3, 1.7, 0.2);
        assert_eq!(a.to_bits(), expected.to_bits());
        let expected = kernels::shifted(kernels::student_drawn(u, v, 4.5), 0.7, 1.3);
        assert_eq!(b.to_bits(), expected.to_bits());
    }
}

#[test]
fn property_far_tails_and_few_degrees_of_freedom_stay_in_order() {
    for dof in [0.5, 1.0, 3.0, 1e3, 1e9] {
        let student = Shape::StudentT {
            mean: 0.0,
            scale: 1.0,
            dof,
        };
        let mut u = [1e-14, 1e-6, 0.02, 0.3, 0.5, 0.7, 0.98, 1.0 - 1e-6];
        student.fill_from_uniform(&mut u);
        for (below, above) in u.iter().zip(u.iter().skip(1)) {
            assert!(below < above, "{dof}: {u:?}");
        }
        let mut drawn = [0.0; 1000];
        student.fill(1, 0, &mut drawn);
        assert!(drawn.iter().all(|x| x.is_finite()), "{dof}");
    }
}

/// A digest of bit patterns that notices any changed bit and any exchange.
fn digest(values: &[f64]) -> u64 {
    values.iter().fold(0, |sum, value| {
        (sum ^ value.to_bits())
            .wrapping_mul(0x9e37_79b9_7f4a_7c15)
            .rotate_left(29)
    })
}

#[test]
fn snapshot_drawn_bits_are_the_same_on_every_machine() {
    let expected: [u64; 11] = [
        0x32db_fc42_6a3d_8859,
        0xc9bf_e181_806e_da98,
        0x02ac_3ebf_5b1c_cb34,
        0x314d_7f58_8400_73b0,
        0x9a36_9449_88c1_a26a,
        0x96a1_98ac_711a_3495,
        0x2542_99cf_b8f8_ece7,
        0x3a61_8fda_2fff_d0af,
        0x6c2e_180e_87cc_fe87,
        0x2efd_2f89_1166_74c7,
        0x2add_85c7_e201_ffd1,
    ];
    let found: Vec<u64> = all_shapes()
        .into_iter()
        .enumerate()
        .map(|(variable, shape)| {
            let mut drawn = vec![0.0; 1000];
            shape.fill(stream::key(1, variable as u64), 0, &mut drawn);
            let mut placed = vec![0.0; 1000];
            crate::sobol::fill(variable, 0, 1, &mut placed);
            shape.fill_from_uniform(&mut placed);
            digest(&drawn) ^ digest(&placed).rotate_left(1)
        })
        .collect();
    assert_eq!(found, expected, "{found:#018x?}");
}
