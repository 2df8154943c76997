#!/usr/bin/env python3
"""The Monte Carlo benchmark beside numpy, in one run on the same cores.

    cargo build --release --manifest-path bench/Cargo.toml
    .venv/bin/python bench/compare.py [PATH OF THE BENCHMARK PROGRAM]

Every line asserts its answer: all ways must find the same 99.73 % half-width
of the same model (`bench/src/lib.rs`) within their numerical uncertainty.
numpy 2.4, from the environment that `reference/check.sh` makes.

Ways of numpy, each doing what the program does (draw, compute, quantile):
  usual      arrays of 10^6 trials, one expression per line
  blocked    the same in blocks, best of several lengths and generators, on one
             thread and on two (numpy lets threads run beside each other)
  solved     the node voltage by numpy's batched linear solution of the
             network's equations instead of the closed form
"""

import os
import pathlib
import statistics
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor

import numpy as np

ICE_K = 273.15
CELSIUS, AMBIENT = 50.0, 40.0
PROBABILITY = 0.9973
TRIALS = 1_000_000
REPETITIONS = 5
# Beta law about 25 °C, 10 kΩ over 10 kΩ, 3 V, 12 bits: as in src/lib.rs.
BETA_K, R_OHM, REFERENCE_V, CODES = 3950.0, 10e3, 3.0, 4096.0


def draws(rng, n):
    """Twelve inputs, the half-widths and the deviation of src/lib.rs."""
    u = rng.uniform
    return (
        REFERENCE_V + u(-0.005, 0.005, n),
        u(-0.001, 0.001, n),
        u(-25e-6, 25e-6, n),
        u(-0.0005, 0.0005, n),
        u(-0.01, 0.01, n),
        u(-0.005, 0.005, n),
        u(-1.0, 1.0, n),
        u(-1.5, 1.5, n),
        u(-0.0005, 0.0005, n),
        u(-50e-9, 50e-9, n),
        rng.normal(0.0, 0.4, n),
        u(-0.01, 0.01, n),
    )


def closed_node(reference, pull_up, thermistor, leakage):
    return (reference / pull_up + leakage) / (1.0 / pull_up + 1.0 / thermistor)


def solved_node(reference, pull_up, thermistor, leakage):
    """Two node voltages and the source's current: Kirchhoff's current law at
    the reference and at the pin, and the source's equation."""
    n = len(reference)
    a = np.zeros((n, 3, 3))
    b = np.zeros((n, 3, 1))
    g, h = 1.0 / pull_up, 1.0 / thermistor
    a[:, 0, 0], a[:, 0, 1], a[:, 0, 2] = g, -g, 1.0
    a[:, 1, 0], a[:, 1, 1] = -g, g + h
    a[:, 2, 0] = 1.0
    b[:, 1, 0] = leakage
    b[:, 2, 0] = reference
    return np.linalg.solve(a, b)[:, 1, 0]


def errors(rng, n, node_of=closed_node):
    (reference, tolerance, drift, ageing, r25, beta,
     knot, offset, gain, leakage, noise, dither) = draws(rng, n)
    kelvin = CELSIUS + dither + ICE_K
    law = (1.0 / kelvin - 1.0 / (25.0 + ICE_K)) * (BETA_K * (1.0 + beta))
    thermistor = R_OHM * (1.0 + r25) * np.exp(law)
    pull_up = R_OHM * (1.0 + tolerance) * (1.0 + drift * (AMBIENT - 25.0)) * (1.0 + ageing)
    node = node_of(reference, pull_up, thermistor, leakage)
    share = node / reference
    bow = 4.0 * knot * share * (1.0 - share)
    code = np.floor(share * (1.0 + gain) * CODES + offset + bow + noise)
    ratio = (code + 0.5) / CODES
    found = 1.0 / (np.log(ratio / (1.0 - ratio)) / BETA_K + 1.0 / (25.0 + ICE_K))
    return found - kelvin


def half_width(found):
    return np.quantile(np.abs(found), PROBABILITY)


def best(run, clock=time.process_time):
    """Shortest time of some runs and the last answer. numpy on one thread is
    given its processor time, which on a busy machine is less than what passed
    on the wall; ours and two threads are timed on the wall."""
    times, answer = [], None
    for _ in range(REPETITIONS):
        start = clock()
        answer = run()
        times.append(clock() - start)
    return min(times), answer


def expect(name, found, wanted, relative):
    if not abs(found - wanted) <= relative * wanted:
        sys.exit(f"{name}: half-width {found} K instead of {wanted} K")


def blocked(make, block, threads):
    count = TRIALS // block // threads * threads
    found = np.empty(count * block)

    def work(thread):
        rng = np.random.Generator(make(1000 + thread))
        for i in range(thread, count, threads):
            found[i * block:(i + 1) * block] = errors(rng, block)

    def run():
        if threads == 1:
            work(0)
        else:
            with ThreadPoolExecutor(threads) as pool:
                list(pool.map(work, range(threads)))
        return half_width(found)

    seconds, answer = best(run, time.process_time if threads == 1 else time.perf_counter)
    return count * block / seconds, answer


def needed_trials(sample):
    """Trials for a half-width known to 1 % with 95 % confidence: half of the
    width between the order statistics at p ± 1.96·√(p(1 − p)/n), as 1/√n."""
    size = np.sort(np.abs(sample))
    n = len(size)
    spread = 1.959964 * (PROBABILITY * (1.0 - PROBABILITY) / n) ** 0.5
    low, middle, high = (np.quantile(size, PROBABILITY + s) for s in (-spread, 0.0, spread))
    tolerance = 0.5 * (high - low) / middle
    return int(n * (tolerance / 0.01) ** 2)


def main():
    here = pathlib.Path(__file__).resolve().parent
    target = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", here / "target"))
    program = sys.argv[1] if len(sys.argv) > 1 else target / "release" / "monte_carlo"
    lines = subprocess.run([program], check=True, capture_output=True, text=True).stdout
    ours = {name: float(value) for name, value in (line.split() for line in lines.splitlines())}
    wanted = ours["half_width_k"]

    usual_s, answer = best(lambda: half_width(errors(np.random.default_rng(1), TRIALS)))
    expect("usual", answer, wanted, 0.01)
    usual = TRIALS / usual_s

    quickest = {1: (0.0, ""), 2: (0.0, "")}
    for threads in quickest:
        for make in (np.random.PCG64, np.random.SFC64):
            for block in (1024, 2048, 4096, 8192, 16384, 32768):
                rate, answer = blocked(make, block, threads)
                expect(f"blocks of {block}", answer, wanted, 0.01)
                quickest[threads] = max(quickest[threads], (rate, f"{block}, {make.__name__}"))

    solved_s, answer = best(
        lambda: half_width(errors(np.random.default_rng(1), TRIALS, solved_node)))
    expect("solved", answer, wanted, 0.01)
    solved = TRIALS / solved_s

    counts = [needed_trials(errors(np.random.default_rng(s), TRIALS)) for s in range(5)]
    needed = int(statistics.median(counts))
    plain_s, answer = best(lambda: half_width(errors(np.random.default_rng(3), needed)))
    expect("1 %", answer, wanted, 0.03)
    to_one_percent = min((ours[k], k) for k in ours if k.startswith("one_percent_s_"))

    two = ours["rate_2"]
    print(f"numpy {np.__version__}, {os.cpu_count()} cores, {ours['operations']:.0f} operations, "
          f"half-width {wanted:.5f} K")
    rows = [
        ("ours, 2 threads", two, None),
        ("ours, 1 thread", ours["rate_1"], None),
        ("numpy, arrays of 10^6", usual, 25.0),
        (f"numpy, blocks ({quickest[1][1]})", quickest[1][0], 6.0),
        (f"numpy, 2 threads ({quickest[2][1]})", quickest[2][0], None),
        ("numpy, batched solution", solved, 30.0),
    ]
    short = False
    for name, rate, target_ratio in rows:
        ratio = two / rate
        note = ""
        if target_ratio is not None:
            short |= ratio < target_ratio
            note = f"asked {target_ratio:.0f}" + ("" if ratio >= target_ratio else "   SHORT")
        print(f"{name:38} {rate / 1e6:8.2f} M trials/s   {ratio:6.1f} x   {note}")
    ratio = plain_s / to_one_percent[0]
    short |= ratio < 30.0
    print(f"{'1 % (95 %) of the half-width':38} {to_one_percent[0] * 1e3:8.3f} ms "
          f"({to_one_percent[1][14:]}), numpy {plain_s * 1e3:.1f} ms for {needed} trials: "
          f"{ratio:.1f} x   asked 30" + ("" if ratio >= 30.0 else "   SHORT"))
    return 1 if short else 0


if __name__ == "__main__":
    sys.exit(main())
