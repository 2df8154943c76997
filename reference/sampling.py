"""Half-widths and intervals by numpy's own sampling, with the numerical
uncertainty of each (order statistics, 95 %)."""

import numpy as np

TRIALS = 4_000_000
ICE_K = 273.15


def thermistor(rng, celsius, ambient):
    """As in propagation.py, with the rounding of the converter: floor, read
    as the middle of its code."""
    def within(half):
        return rng.uniform(-half, half, TRIALS)

    reference = 3.0 + within(0.005)
    pull_up = 1e4 * (1 + within(0.001)) * (1 + within(25e-6) * (ambient - 25)) * (1 + within(0.0005))
    r25, beta = 1e4 * (1 + within(0.01)), 3950 * (1 + within(0.005))
    knot, offset, gain, leakage = within(1.0), within(1.5), within(0.0005), within(50e-9)
    noise = rng.normal(0.0, 0.4, TRIALS)
    kelvin = celsius + within(0.01) + ICE_K
    node = (reference / pull_up + leakage) / (1 / pull_up + 1 / (r25 * np.exp(beta * (1 / kelvin - 1 / 298.15))))
    share = node / reference
    code = np.floor(share * (1 + gain) * 4096 + offset + 4 * knot * share * (1 - share) + noise)
    ratio = (code + 0.5) / 4096
    return 1 / (np.log(ratio / (1 - ratio)) / 3950 + 1 / 298.15) - kelvin


def clipped(rng):
    """A normal variable of deviation 1 that is held at 1.5, plus a rectangle
    of half-width 0.2."""
    return np.minimum(rng.normal(0.0, 1.0, TRIALS), 1.5) + rng.uniform(-0.2, 0.2, TRIALS)


def quotient(rng):
    """A product and a quotient of wide variables: skewed."""
    a, b = rng.normal(1.0, 0.1, TRIALS), rng.uniform(0.7, 1.3, TRIALS)
    c = rng.triangular(-0.3, 0.0, 0.3, TRIALS)
    return a * np.exp(c) / b - 1.0


def quantile(ordered, p):
    """Value and half of its 95 % interval."""
    spread = 1.96 * np.sqrt(p * (1 - p) / len(ordered))
    low, middle, high = (np.quantile(ordered, p + s) for s in (-spread, 0.0, spread))
    return float(middle), float(high - low) / 2


CASES = [("thermistor -10.0 40.0", thermistor, (-10.0, 40.0)), ("thermistor 50.0 40.0", thermistor, (50.0, 40.0)),
         ("clipped", clipped, ()), ("quotient", quotient, ())]
PROBABILITY = 0.9973


def rows():
    for n, (name, model, arguments) in enumerate(CASES):
        error = np.sort(model(np.random.default_rng([7, n]), *arguments))
        yield name, "mean", "value", float(np.mean(error))
        yield name, "mean", "tolerance", 1.96 * float(np.std(error)) / len(error) ** 0.5
        yield name, "deviation", "value", float(np.std(error))
        tail = (1 - PROBABILITY) / 2
        for key, (value, tolerance) in {
            "half-width": quantile(np.sort(np.abs(error)), PROBABILITY),
            "low": quantile(error, tail),
            "high": quantile(error, 1 - tail),
        }.items():
            yield name, key, "value", value
            yield name, key, "tolerance", tolerance
