//! Times of a scan's steady state and of noise integrals. `compare.py` runs
//! it and does the same integrals with scipy.

use std::time::Instant;

use circuit::{Band, Network, Node, Output, Pin, Scan, SmallSignal, Start, Visit, Wanted};
use tape::Builder;

/// Best of several runs, s.
fn best(mut run: impl FnMut()) -> f64 {
    (0..7)
        .map(|_| {
            let start = Instant::now();
            run();
            start.elapsed().as_secs_f64()
        })
        .fold(f64::INFINITY, f64::min)
}

fn main() {
    let visits = (0..64)
        .map(|k| Visit {
            pin: Pin::resistor(1e3 * f64::from(k + 1), 0.05 * f64::from(k % 61))
                .with_capacitor(1e-9 * f64::from(k % 5))
                .with_series(100.0)
                .with_capacitor(5e-12),
            acquire_s: 1.2e-6,
            convert_s: 0.9e-6,
            repeats: 1,
        })
        .collect();
    let scan = Scan {
        visits,
        sample_farad: 8e-12,
        switch_ohm: 1e3,
        start: Start::PREVIOUS,
        pause_s: 1e-4,
    };
    let mut largest = 0.0;
    let seconds = best(|| {
        let settled = scan.settled().expect("the scan settles");
        largest = settled
            .iter()
            .map(|s| s.last_error_v().abs())
            .fold(0.0, f64::max);
    });
    println!("scan_64_s {seconds:e}");
    println!("scan_64_largest_error_v {largest:e}");

    // The two RC sections of reference/time_noise.
    let b = Builder::new();
    let mut n = Network::new(&b);
    let (from, middle, out) = (n.node("in"), n.node("m"), n.node("out"));
    n.voltage_source("source", from, Node::GROUND, b.one());
    n.resistor("r1", from, middle, b.constant(10e3));
    n.capacitor("c1", middle, Node::GROUND, b.constant(1e-9), None);
    n.resistor("r2", middle, out, b.constant(47e3));
    n.capacitor("c2", out, Node::GROUND, b.constant(220e-12), None);
    let solution = n.solve().expect("the network has an operating point");
    let outputs = [Output::node(out)];
    let wanted = Wanted {
        outputs: &outputs,
        fed: &[],
        noise: true,
    };
    let small = SmallSignal::new(&solution, &wanted).expect("the network can be made straight");
    let network = small.nominal().expect("the numbers are finite");
    let noise = network.noise(0, |_| 300.0).expect("the output exists");
    let mut power = Vec::new();
    let seconds = best(|| power = noise.power(&Band::flat(10.0, 20e3)).expect("it is stable"));
    println!("noise_band_s {seconds:e}");
    println!("noise_band_v2 {:e} {:e}", power[0], power[1]);
    let seconds = best(|| power = noise.sampled(1e3, 1, 1.0).expect("it is stable"));
    println!("noise_all_s {seconds:e}");
    println!("noise_all_v2 {:e} {:e}", power[0], power[1]);

    // All that `schedule`, `noise`, `response` and `interference` say of the
    // demonstration board, and what `check` takes of it.
    let text = include_str!("../../../examples/cellar-rack.toml");
    let mut sources = parts::Library::sources();
    let id = sources.add("cellar-rack.toml", text);
    let (read, _) = board::read(id, text, parts::Library::shipped(), &chain::vocabulary());
    let rack = read.expect("the demonstration board can be read");
    let seconds = best(|| {
        let noise = verdict::noise(&rack, None, &sources).expect("all channels");
        let response = verdict::response(&rack, None, &[]).expect("all channels");
        let schedule = verdict::schedule(&rack);
        let interference = verdict::interference(&rack, None, None).expect("all channels");
        assert_eq!(schedule.converters.len(), 3);
        assert_eq!(noise.channels.len(), response.channels.len());
        assert!(!interference.channels.is_empty());
    });
    println!("rack_all_s {seconds:e}");
    let mut settled = 0;
    let seconds = best(|| {
        let timing = chain::time::Timing::of(&rack);
        settled = timing.channels.iter().filter(|c| c.settling.is_some()).count();
    });
    assert_eq!(settled, 6);
    println!("rack_timing_s {seconds:e}");
}
