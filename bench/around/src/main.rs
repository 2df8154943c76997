//! Times of everything around the channels: links, pins, rails, heat, returns
//! and faults of the demonstration rack, and the faults of a board with a
//! hundred terminals. Best of several runs.
//!
//! `cargo run --release --manifest-path bench/around/Cargo.toml`

use std::fmt::Write as _;
use std::time::Instant;

use board::Board;
use finding::Sources;
use parts::Library;

/// Asked of the rack, s.
const RACK_S: f64 = 0.1;
/// Asked of a hundred terminals, s.
const HUNDRED_S: f64 = 1.0;

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

fn read(name: &str, text: &str) -> (Board, Sources) {
    let mut sources = Sources::new();
    let id = sources.add(name, text);
    let (board, faults) = board::read(id, text, Library::shipped(), &chain::vocabulary());
    (
        board.unwrap_or_else(|| panic!("{name}: {faults:#?}")),
        sources,
    )
}

/// A hundred thermistors on wires, each behind a pull-up and a filter, with
/// what may come over its cable.
fn hundred() -> String {
    let mut text = String::from(
        "[rails.main]\nvoltage = \"5 V ± 5 %\"\n[rails.logic]\nvoltage = \"3.3 V ± 3 %\"\n[controllers.mcu]\npart = \"stm32g474\"\nsupply = \"logic\"\n",
    );
    for i in 0..100 {
        let _ = write!(
            text,
            "[channels.t{i}]\nquantity = \"temperature\"\nspan = \"-10 °C to 50 °C\"\naccuracy = \"2 °C\"\nsensor = \"ntc-10k-3950-1-percent\"\nchain = [{{ pull-up = \"10 kΩ 0.1 % 25 ppm/K\", to = \"logic\" }}, {{ low-pass = {{ r = \"4.7 kΩ 1 %\", c = \"100 nF 10 % X7R\" }} }}]\ninput = \"mcu.adc\"\nreference = \"logic\"\n[terminals.t{i}]\nrails-in-cable = [\"main\"]\nover-voltage = [\"24 V\"]\nmust-detect = true\n"
        );
    }
    text
}

fn main() {
    let rack = std::fs::read_to_string(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../examples/cellar-rack.toml"
    ))
    .expect("the example is there");
    let (board, sources) = read("cellar-rack.toml", &rack);
    let seconds = best(|| {
        let settled = system::settled(&board);
        std::hint::black_box(system::analyse(&settled));
    });
    println!("rack, everything around the channels: {seconds:.4} s (asked {RACK_S} s)");
    let seconds = best(|| {
        std::hint::black_box(verdict::links(&board, &sources));
    });
    println!("rack, links with findings: {seconds:.4} s");
    let seconds = best(|| {
        std::hint::black_box(verdict::rails(&board, &sources));
    });
    println!("rack, rails with findings: {seconds:.4} s");
    let (board, _) = read("hundred.toml", &hundred());
    let seconds = best(|| {
        let settled = system::settled(&board);
        std::hint::black_box(system::analyse(&settled).faults.channels.len());
    });
    println!("a hundred terminals, everything: {seconds:.4} s (asked {HUNDRED_S} s of the faults)");
}
