"""Reference numbers for frequency response, steps, noise and scans.

Every network is written down by hand here as its differential equations and
handed to numpy and scipy: nothing of leastbit takes part. Run with the
versions below; the numbers go into testdata/time-noise/.


    python reference/time_noise/generate.py [folder]
"""

import json
import pathlib
import sys

import numpy as np
import scipy
from scipy import integrate, linalg, optimize, signal

assert scipy.__version__ == "1.17.1", scipy.__version__
K = 1.380649e-23
OUT = pathlib.Path(__file__).resolve().parents[2] / "testdata" / "time-noise"


def state_space_response(a, b, c, d, hz):
    s = 2j * np.pi * hz
    return (c @ np.linalg.solve(s * np.eye(len(a)) - a, b) + d).item()


def ladder(ohms, farads):
    """RC low-pass sections one after another; output at the last capacitor."""
    n = len(ohms)
    a = np.zeros((n, n))
    b = np.zeros((n, 1))
    for k in range(n):
        if k == 0:
            a[0, 0] -= 1 / (ohms[0] * farads[0])
            b[0, 0] = 1 / (ohms[0] * farads[0])
        else:
            a[k, k - 1] += 1 / (ohms[k] * farads[k])
            a[k, k] -= 1 / (ohms[k] * farads[k])
        if k + 1 < n:
            a[k, k] -= 1 / (ohms[k + 1] * farads[k])
            a[k, k + 1] += 1 / (ohms[k + 1] * farads[k])
    c = np.zeros((1, n))
    c[0, -1] = 1
    return a, b, c, np.zeros((1, 1))


def sallen_key(r1, r2, c1, c2):
    """Unity gain, ideal amplifier: C1 from the middle to the output."""
    # x1 = v(middle) - v(out), x2 = v(out) = v(plus)
    # C1 x1' = (u - m)/r1 - (m - x2)/r2, C2 x2' = (m - x2)/r2, m = x1 + x2
    a = np.array(
        [
            [-(1 / r1 + 1 / r2) / c1, -(1 / r1) / c1],
            [1 / (r2 * c2), 0.0],
        ]
    )
    b = np.array([[1 / (r1 * c1)], [0.0]])
    c = np.array([[0.0, 1.0]])
    return a, b, c, np.zeros((1, 1))


def follower_with_load(gbw, r_out, c_load, gain):
    """Buffer of finite gain, output resistance and a capacitor behind it.

    v_int' = w (u - v_out - v_out/gain), v_int = v_out + r_out i,
    C v_out' = i.
    """
    w = 2 * np.pi * gbw
    # states v_int, v_out
    a = np.array(
        [
            [0.0, -w * (1 + 1 / gain)],
            [1 / (r_out * c_load), -1 / (r_out * c_load)],
        ]
    )
    b = np.array([[w], [0.0]])
    c = np.array([[0.0, 1.0]])
    return a, b, c, np.zeros((1, 1))


def step_at(system, times):
    a, b, c, _ = system
    rest = -np.linalg.solve(a, b)
    return [
        float((c @ (rest - linalg.expm(a * t) @ rest)).item()) for t in times
    ]


def last_crossing(system, accuracy, end):
    a, b, c, _ = system
    rest = -np.linalg.solve(a, b)
    value, vectors = np.linalg.eig(a)
    weights = (c @ vectors).ravel() * np.linalg.solve(vectors, -rest).ravel()

    def left(t):
        return abs(np.sum(weights * np.exp(value * t)).real) - accuracy

    grid = np.linspace(0, end, 400_001)
    outside = np.nonzero(
        abs((weights[None, :] * np.exp(np.outer(grid, value))).sum(axis=1).real)
        > accuracy
    )[0]
    k = outside[-1]
    return float(optimize.brentq(left, grid[k], grid[k + 1], xtol=1e-18, rtol=1e-14))


def responses():
    systems = {
        "ladder": ladder([1e3, 4.7e3, 22e3], [100e-9, 10e-9, 1e-9]),
        "wide": ladder([50.0, 1e6, 1e3], [20e-12, 1e-6, 5e-12]),
        "sallen-key": sallen_key(10e3, 10e3, 22e-9, 10e-9),
        "follower": follower_with_load(1e6, 100.0, 10e-9, 1e5),
    }
    # Two equal buffered sections: a pole twice.
    tau = 1e-3
    systems["twice"] = (
        np.array([[-1 / tau, 0.0], [1 / tau, -1 / tau]]),
        np.array([[1 / tau], [0.0]]),
        np.array([[0.0, 1.0]]),
        np.zeros((1, 1)),
    )
    frequencies = {
        "ladder": [1.0, 1e3, 5e3, 1e5, 1e7],
        "wide": [0.01, 0.1, 1.0, 1e3, 1e8],
        "sallen-key": [10.0, 1e3, 1073.02, 5e3, 1e5],
        "follower": [1e2, 1e5, 3.98e5, 1e6, 1e7],
        "twice": [1.0, 100.0, 159.1549, 1e3, 1e5],
    }
    times = {
        "ladder": [1e-6, 5e-5, 1e-4, 5e-4, 2e-3],
        "wide": [1e-9, 1e-6, 0.1, 1.0, 10.0],
        "sallen-key": [1e-5, 2e-4, 5e-4, 1e-3, 3e-3],
        "follower": [1e-7, 1e-6, 2e-6, 5e-6, 1e-5],
        "twice": [1e-5, 1e-3, 3e-3, 1e-2, 2e-2],
    }
    out = {}
    for name, system in systems.items():
        a, b, c, d = system
        h = [state_space_response(a, b, c, d, f) for f in frequencies[name]]
        entry = {
            "hz": frequencies[name],
            "re": [x.real for x in h],
            "im": [x.imag for x in h],
            "step_s": times[name],
            # expm squares a stiff matrix tens of times: the eigenvalues do
            # better where there are enough vectors.
            "step": step_at(system, times[name]) if name != "wide" else None,
        }
        if name == "wide":
            value, vectors = np.linalg.eig(a)
            rest = -np.linalg.solve(a, b)
            weights = (c @ vectors).ravel() * np.linalg.solve(vectors, -rest).ravel()
            entry["step"] = [
                float(1 + np.sum(weights * np.exp(value * t)).real) for t in times[name]
            ]
        else:
            slow = 1 / min(-np.linalg.eigvals(a).real)
            if name != "twice":
                entry["accuracy"] = 2.0**-14
                entry["settles_s"] = last_crossing(system, 2.0**-14, 30 * slow)
            lowpass = lambda x: abs(
                state_space_response(a, b, c, d, np.exp(x))
            ) - abs(state_space_response(a, b, c, d, 1e-6)) / np.sqrt(2)
            grid = np.linspace(np.log(1e-1), np.log(1e8), 4001)
            signs = np.array([lowpass(x) for x in grid])
            k = np.nonzero(signs < 0)[0][0]
            entry["half_power_hz"] = float(
                np.exp(optimize.brentq(lowpass, grid[k - 1], grid[k], rtol=1e-14))
            )
        out[name] = entry
    # A check of the script itself against scipy's own filter.
    b2, a2 = signal.bessel(2, 1.0, analog=True)
    w, h = signal.freqs(b2, a2, [0.5])
    own = state_space_response(*signal.tf2ss(b2, a2), 0.5 / (2 * np.pi))
    assert abs(own - h[0]) < 1e-12
    return out


def quad_log(f, low, high, points):
    total = 0.0
    edges = np.unique(np.concatenate([[low], [p for p in points if low < p < high], [high]]))
    for a, b in zip(np.log(edges[:-1]), np.log(edges[1:])):
        total += integrate.quad(
            lambda u: np.exp(u) * f(np.exp(u)), a, b, epsabs=0, epsrel=1e-12, limit=500
        )[0]
    return total


def noises():
    t = 300.0
    # Two RC sections: each resistor's own way to the output.
    r1, r2, c1, c2 = 10e3, 47e3, 1e-9, 220e-12

    def both(hz):
        s = 2j * np.pi * hz
        y = np.array(
            [
                [1 / r1 + 1 / r2 + s * c1, -1 / r2],
                [-1 / r2, 1 / r2 + s * c2],
            ]
        )
        z = np.linalg.inv(y)
        return (
            4 * K * t / r1 * abs(z[1, 0]) ** 2,
            4 * K * t / r2 * abs(z[1, 0] - z[1, 1]) ** 2,
        )

    frequencies = [10.0, 1e4, 1e6]
    poles = [1e3, 1e4, 1e5, 1e6]
    rc = {
        "hz": frequencies,
        "density": [list(both(f)) for f in frequencies],
        "power": [quad_log(lambda f: both(f)[k], 1e-10, 1e20, [1e-3, 1.0, *poles, 1e8, 1e10, 1e14]) for k in (0, 1)],
        "band": [10.0, 20e3],
        "in_band": [quad_log(lambda f: both(f)[k], 10.0, 20e3, poles) for k in (0, 1)],
    }
    # Non-inverting amplifier: en with a corner, in, gain resistors, source
    # resistor, finite gain and bandwidth, an RC behind it.
    rs, rf, rg, gbw, a0 = 20e3, 99e3, 1e3, 3e6, 1e5
    en, fe, i_n, fi, rl, cl = 9e-9, 30.0, 0.4e-12, 200.0, 1e3, 10e-9
    beta = rg / (rg + rf)
    par = rf * rg / (rf + rg)

    def stage(hz):
        closed = 1 / (beta + 1 / a0 + 1j * hz / gbw)
        post = 1 / (1 + 2j * np.pi * hz * rl * cl)
        h = abs(closed * post) ** 2
        return {
            "rs": 4 * K * t * rs * h,
            # The feedback resistors seen at the inverting input.
            "rg": 4 * K * t / rg * par**2 * h,
            "rf": 4 * K * t / rf * par**2 * h,
            "en": en**2 * (1 + fe / hz) * h,
            "in+": i_n**2 * (1 + fi / hz) * rs**2 * h,
            "in-": i_n**2 * (1 + fi / hz) * par**2 * h,
            "rl": 4 * K * t * rl * abs(post) ** 2,
        }

    points = [30.0, 200.0, 16e3, 30e3]
    names = list(stage(1.0))
    amplifier = {
        "names": names,
        "hz": frequencies,
        "density": [[stage(f)[n] for n in names] for f in frequencies],
        "band": [0.1, 1e5],
        "in_band": [quad_log(lambda f: stage(f)[n], 0.1, 1e5, points) for n in names],
    }
    # Mean of 16 samples at 100 kHz of the amplifier's en, white and 1/f
    # apart. The covariance of two poles a, b at a lag, for one-sided density
    # S: S/2 G^2 a^2 b^2 / (b^2 - a^2) (exp(-a t)/2a - exp(-b t)/2b).
    rate, count, low = 100e3, 16, 0.1
    h2 = lambda f: stage(f)["en"] / (en**2 * (1 + fe / f))
    g = 1 / (beta + 1 / a0)
    p1, p2 = 2 * np.pi * gbw / g, 1 / (rl * cl)
    lag = lambda t: (
        0.5 * g**2 * p1**2 * p2**2 / (p2**2 - p1**2)
        * (np.exp(-p1 * t) / (2 * p1) - np.exp(-p2 * t) / (2 * p2))
    )
    whole = integrate.quad(h2, 1e-9, np.inf, limit=2000, epsrel=1e-10)[0]
    assert abs(lag(0.0) / whole - 1) < 1e-8
    lags = [lag(k / rate) for k in range(count)]
    white = en**2 * (
        count * lags[0] + 2 * sum((count - k) * lags[k] for k in range(1, count))
    ) / count**2
    window = lambda f: (np.sin(np.pi * count * f / rate) / (count * np.sin(np.pi * f / rate))) ** 2
    flicker = 0.0
    edges = np.concatenate([[low], np.arange(1, 16 * 400 + 1) * rate / count])
    for a, b in zip(edges[:-1], edges[1:]):
        nodes, weights = np.polynomial.legendre.leggauss(24)
        if b / a > 3:
            u = 0.5 * (np.log(b / a) * nodes + np.log(a * b))
            f = np.exp(u)
            flicker += 0.5 * np.log(b / a) * np.sum(weights * h2(f) * window(f))
        else:
            f = 0.5 * ((b - a) * nodes + a + b)
            flicker += 0.5 * (b - a) * np.sum(weights * h2(f) * window(f) / f)
    amplifier["sampled"] = {
        "rate_hz": rate,
        "count": count,
        "low_hz": low,
        "white": white,
        "flicker": en**2 * fe * flicker,
    }
    return {"two-sections": rc, "amplifier": amplifier}


def scan_case(pins, cs, rsw, acquire, convert, pause, start, periods):
    """Brute force: every phase integrated, period after period.

    A pin is (ohm, farad or None, volt) or with four more entries a second
    section towards the source.
    """
    nets = []
    for ohm, farad, volt in pins:
        nets.append(np.array([volt]) if farad else np.zeros(0))
    vs = 0.0
    errors = []
    period = len(pins) * (acquire + convert) + pause
    for _ in range(periods):
        errors = []
        for k, (ohm, farad, volt) in enumerate(pins):
            vs = start[0] * vs + start[1]
            if farad:
                f = lambda t, x: [
                    ((volt - x[0]) / ohm - (x[0] - x[1]) / rsw) / farad,
                    (x[0] - x[1]) / rsw / cs,
                ]
                x0 = [nets[k][0], vs]
            else:
                f = lambda t, x: [(volt - x[0]) / (ohm + rsw) / cs]
                x0 = [vs]
            s = integrate.solve_ivp(
                f, (0, acquire), x0, method="Radau", rtol=1e-11, atol=1e-14
            )
            vs = s.y[-1, -1]
            errors.append(vs - volt)
            if farad:
                nets[k] = np.array([s.y[0, -1]])
                # The rest of the period, until its next turn.
                g = lambda t, x: [(volt - x[0]) / ohm / farad]
                s = integrate.solve_ivp(
                    g, (0, period - acquire), nets[k], method="Radau", rtol=1e-11, atol=1e-14
                )
                nets[k] = s.y[:, -1]
    return errors


def scans():
    cases = [
        dict(
            name="bare",
            pins=[(10e3, None, 3.0), (47e3, None, 0.2), (100e3, None, 1.5)],
            cs=8e-12, rsw=1e3, acquire=1.5e-6, convert=1e-6, pause=0.0,
            start=[1.0, 0.0], periods=6,
        ),
        dict(
            name="capacitors",
            pins=[(10e3, 100e-12, 3.0), (47e3, 1e-9, 0.2), (1e3, None, 1.5)],
            cs=8e-12, rsw=1e3, acquire=2e-6, convert=1e-6, pause=20e-6,
            start=[1.0, 0.0], periods=80,
        ),
        dict(
            name="precharged",
            pins=[(100e3, 20e-12, 3.0), (220e3, 330e-12, 0.2)],
            cs=5e-12, rsw=3e3, acquire=3e-6, convert=2e-6, pause=5e-6,
            start=[0.0, 1.65], periods=160,
        ),
    ]
    for case in cases:
        case["errors_v"] = scan_case(**{k: v for k, v in case.items() if k != "name"})
    return cases


def interference():
    """What filter and averaging keep of tones, by impulse responses.

    The converter's filter is boxcars convolved with each other at the
    modulator's rate, the averaging is a sum of delayed copies of it: one
    impulse response, whose largest magnitude between two frequencies is found
    on a dense grid and refined.
    """
    cases = [
        dict(order=0, decimation=1, notch_hz=1000.0, sample_hz=1000.0, count=20, low=49.5, high=50.5),
        dict(order=0, decimation=1, notch_hz=1000.0, sample_hz=970.0, count=19, low=49.5, high=50.5),
        dict(order=1, decimation=64, notch_hz=60.0, sample_hz=60.0, count=1, low=49.0, high=51.0),
        dict(order=3, decimation=128, notch_hz=10.0, sample_hz=10.0, count=1, low=49.0, high=51.0),
        dict(order=3, decimation=32, notch_hz=470.0, sample_hz=470.0, count=47, low=49.5, high=50.5),
        dict(order=4, decimation=16, notch_hz=1000.0, sample_hz=1000.0, count=12, low=110.0, high=790.0),
        dict(order=2, decimation=16, notch_hz=500.0, sample_hz=250.0, count=5, low=7850.0, high=7990.0),
    ]
    for case in cases:
        kept = []
        if case["order"]:
            modulator = case["decimation"] * case["notch_hz"]
            one = np.ones(case["decimation"]) / case["decimation"]
            impulse = np.ones(1)
            for _ in range(case["order"]):
                impulse = np.convolve(impulse, one)
            stride = round(modulator / case["sample_hz"])
        else:
            modulator, impulse, stride = case["sample_hz"], np.ones(1), 1
        whole = np.zeros((case["count"] - 1) * stride + len(impulse))
        for k in range(case["count"]):
            whole[k * stride : k * stride + len(impulse)] += impulse / case["count"]
        magnitude = lambda f: np.abs(
            signal.freqz(whole, worN=np.atleast_1d(f), fs=modulator)[1]
        )
        for n in range(1, 6):
            low, high = n * case["low"], n * case["high"]
            grid = np.linspace(low, high, 20_001)
            m = magnitude(grid)
            k = int(np.argmax(m))
            best = optimize.minimize_scalar(
                lambda f: -magnitude(f)[0],
                bounds=(grid[max(k - 1, 0)], grid[min(k + 1, 20_000)]),
                method="bounded",
                options=dict(xatol=1e-12 * high),
            )
            kept.append(float(max(m[k], -best.fun)))
        case["kept"] = kept
    # A tone in the readings, seen by its spectrum.
    seen = []
    for tone, rate in [(205.5, 200.0), (148.5, 40.0), (1e5 + 3.0, 7.0), (60.0, 50.0)]:
        k = np.arange(4096)
        wave = np.cos(2 * np.pi * tone / rate * k + 0.3) * signal.windows.hann(4096)
        spectrum = np.abs(np.fft.rfft(wave, 1 << 20))
        seen.append(dict(tone_hz=tone, rate_hz=rate, seen_hz=float(np.argmax(spectrum) * rate / (1 << 20))))
    return {"kept": cases, "seen": seen}


if __name__ == "__main__":
    out = pathlib.Path(sys.argv[1]) if len(sys.argv) > 1 else OUT
    out.mkdir(parents=True, exist_ok=True)
    for name, make in [("response", responses), ("noise", noises), ("scan", scans), ("interference", interference)]:
        (out / f"{name}.json").write_text(json.dumps(make(), indent=1) + "\n")
