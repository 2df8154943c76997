"""The same noise integrals here and with scipy, in one run.

    venv/bin/python bench/time-noise/compare.py     (numpy and scipy)
"""

import pathlib
import subprocess
import time

import numpy as np
from scipy import integrate

HERE = pathlib.Path(__file__).resolve().parent
K, T = 1.380649e-23, 300.0
R1, R2, C1, C2 = 10e3, 47e3, 1e-9, 220e-12


def density(hz, k):
    s = 2j * np.pi * hz
    y = np.array([[1 / R1 + 1 / R2 + s * C1, -1 / R2], [-1 / R2, 1 / R2 + s * C2]])
    z = np.linalg.solve(y, np.array([[0.0], [1.0]]))[:, 0]
    return 4 * K * T * (abs(z[0]) ** 2 / R1 if k == 0 else abs(z[0] - z[1]) ** 2 / R2)


def scipy_power(low, high):
    return [
        integrate.quad(
            lambda u: np.exp(u) * density(np.exp(u), k),
            np.log(low),
            np.log(high),
            epsabs=0,
            epsrel=1e-10,
            limit=200,
        )[0]
        for k in (0, 1)
    ]


def best(run):
    times = []
    for _ in range(5):
        start = time.perf_counter()
        value = run()
        times.append(time.perf_counter() - start)
    return min(times), value


out = subprocess.run(
    ["cargo", "run", "--release", "--quiet"], cwd=HERE, check=True, capture_output=True, text=True
).stdout
ours = {line.split()[0]: [float(x) for x in line.split()[1:]] for line in out.splitlines()}
print(f"64-channel scan: {ours['scan_64_s'][0] * 1e3:.2f} ms")
print(
    f"cellar rack: {ours['rack_all_s'][0] * 1e3:.0f} ms for schedule, noise, response and interference, "
    f"{ours['rack_timing_s'][0] * 1e3:.0f} ms for what check takes of it"
)
seconds, values = best(lambda: scipy_power(10.0, 20e3))
print(
    f"noise from 10 Hz to 20 kHz: {ours['noise_band_s'][0] * 1e6:.0f} us here, "
    f"{seconds * 1e6:.0f} us with scipy: {seconds / ours['noise_band_s'][0]:.0f} times"
)
for mine, theirs in zip(ours["noise_band_v2"], values):
    assert abs(mine / theirs - 1) < 1e-9, (mine, theirs)
seconds, values = best(lambda: scipy_power(1e-4, 1e14))
print(
    f"noise of all frequencies: {ours['noise_all_s'][0] * 1e6:.1f} us here, "
    f"{seconds * 1e6:.0f} us with scipy: {seconds / ours['noise_all_s'][0]:.0f} times"
)
for mine, theirs in zip(ours["noise_all_v2"], values):
    assert abs(mine / theirs - 1) < 1e-7, (mine, theirs)
