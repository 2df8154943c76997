"""First-order propagation by two libraries that differentiate on their own,
`uncertainties` and `GTC`; both must agree before a value counts.

Half-widths of limits become standard uncertainties by 1/sqrt(3) (JCGM 100,
4.3.7).
"""

import math

import GTC
import uncertainties
from uncertainties import umath

ICE_K = 273.15


class Uncertainties:
    """One formula, two libraries: this is how to say it in the first."""

    exp, log, cos, sin = map(staticmethod, (umath.exp, umath.log, umath.cos, umath.sin))

    def __init__(self):
        self.inputs = []

    def value(self, x, u, df=math.inf):
        self.inputs.append(uncertainties.ufloat(x, u))
        return self.inputs[-1]

    def correlated(self, values, deviations, r):
        cov = [[r[i][j] * deviations[i] * deviations[j] for j in range(3)] for i in range(3)]
        return uncertainties.correlated_values(values, cov)

    def u(self, y):
        return y.std_dev

    def x(self, y):
        return y.nominal_value

    def sensitivity(self, y, x):
        return y.derivatives.get(x, 0.0)


class Gtc:
    """And in the second."""

    exp, log, cos, sin = map(staticmethod, (GTC.exp, GTC.log, GTC.cos, GTC.sin))

    def __init__(self):
        self.inputs = []

    def value(self, x, u, df=math.inf):
        self.inputs.append(GTC.ureal(x, u, df))
        return self.inputs[-1]

    def correlated(self, values, deviations, r):
        found = [GTC.ureal(x, u, independent=False) for x, u in zip(values, deviations)]
        for i in range(3):
            for j in range(i):
                GTC.set_correlation(r[i][j], found[i], found[j])
        return found

    def u(self, y):
        return GTC.uncertainty(y)

    def x(self, y):
        return GTC.value(y)

    def sensitivity(self, y, x):
        return GTC.rp.sensitivity(y, x)


def within(of, half, middle=0.0):
    return of.value(middle, half / math.sqrt(3))


def thermistor(of, celsius, ambient):
    """Thermistor under a pull-up, read by a converter, temperature from the
    nominal constants; error in kelvin. Twelve inputs."""
    reference = 3.0 + within(of, 0.005)
    pull_up = 1e4
    pull_up = pull_up * (1 + within(of, 0.001))
    pull_up = pull_up * (1 + within(of, 25e-6) * (ambient - 25))
    pull_up = pull_up * (1 + within(of, 0.0005))
    r25 = 1e4 * (1 + within(of, 0.01))
    beta = 3950 * (1 + within(of, 0.005))
    knot, offset, gain = within(of, 1.0), within(of, 1.5), within(of, 0.0005)
    leakage = within(of, 50e-9)
    noise = of.value(0.0, 0.4)
    kelvin = celsius + within(of, 0.01) + ICE_K
    thermistor = r25 * of.exp(beta * (1 / kelvin - 1 / 298.15))
    node = (reference / pull_up + leakage) / (1 / pull_up + 1 / thermistor)
    share = node / reference
    code = share * (1 + gain) * 4096 + offset + 4 * knot * share * (1 - share) + noise
    ratio = code / 4096
    found = 1 / (of.log(ratio / (1 - ratio)) / 3950 + 1 / 298.15)
    return {"error": found - kelvin}


def ratiometric(of, strain, feed):
    """A bridge of four arms of 350 ohm fed from the rail that is also the
    converter's reference, through `feed` ohm; gain 128. Read in shares of the
    reference, and in volt against a rail taken as 5 V."""
    rail = of.value(5.0, 0.05)
    arms = [350 * (1 + sign * strain) * (1 + of.value(0.0, 1e-4)) for sign in (-1, 1, 1, -1)]
    gain = 128 * (1 + of.value(0.0, 5e-4))
    series = feed + of.value(0.0, 0.1)
    left, right = arms[0] + arms[1], arms[2] + arms[3]
    excitation = rail / (1 + series * (1 / left + 1 / right))
    difference = excitation * (arms[1] / left - arms[3] / right)
    return {"share": gain * difference / rail, "absolute": gain * difference / 5.0}


def calibrated(of, quantity, ambient):
    """A reading calibrated at two points: offset, gain and bow of the board
    are the same in all three readings, the noise is not; offset and gain
    drift with the difference of the ambients; the standard's error is partly
    common. Reads 0 to 100."""
    offset, gain, bow = of.value(0.0, 0.8), of.value(0.0, 0.01), of.value(0.0, 0.15)
    drift_offset, drift_gain = of.value(0.0, 0.01), of.value(0.0, 2e-4)
    common, calibration_ambient = of.value(0.0, 0.03), of.value(21.0, 0.5)

    def raw(x, ambient, noise):
        t = ambient - 21.0
        share = x / 100
        return (x * (1 + gain + drift_gain * t) + offset + drift_offset * t
                + 4 * bow * share * (1 - share) + noise)

    low, high = 10.0, 80.0
    noise = [of.value(0.0, 0.02) for _ in range(3)]
    own = [of.value(0.0, 0.01) for _ in range(2)]
    # The standard says `low` while the quantity is low plus its errors.
    first = raw(low + common + own[0], calibration_ambient, noise[0])
    second = raw(high + common + own[1], calibration_ambient, noise[1])
    reading = raw(quantity, ambient, noise[2])
    return {"error": low + (reading - first) * (high - low) / (second - first) - quantity}


def impedance(of):
    """JCGM 100:2008, H.2: means, deviations and correlations of its table
    H.2.2, to be carried to resistance, reactance and impedance."""
    volt, ampere, phase = of.correlated(
        [4.9990, 19.6610e-3, 1.04446], [0.00320936, 0.00947101e-3, 0.00075206],
        [[1, -0.355311, 0.857624], [-0.355311, 1, -0.645111], [0.857624, -0.645111, 1]])
    z = volt / ampere
    return {"resistance": z * of.cos(phase), "reactance": z * of.sin(phase), "impedance": z}


CASES = (
    [(f"thermistor {t} {a}", thermistor, (t, a)) for t in (-10.0, 25.0, 50.0) for a in (0.0, 40.0)]
    + [(f"ratiometric {s} {f}", ratiometric, (s, f)) for s in (0.0, 1e-3) for f in (0.0, 10.0)]
    + [(f"calibrated {x} {a}", calibrated, (x, a)) for x in (0.0, 45.0, 100.0) for a in (21.0, 38.0)]
    + [("impedance", impedance, ())]
)


def rows():
    for name, formula, arguments in CASES:
        a, b = Uncertainties(), Gtc()
        first, second = formula(a, *arguments), formula(b, *arguments)
        for key in first:
            y, z = first[key], second[key]
            # What is compared, and the size at which a difference counts.
            scale = max(abs(a.x(y)), a.u(y))
            pairs = [("value", a.x(y), b.x(z), scale), ("u", a.u(y), b.u(z), a.u(y))]
            pairs += [(f"slope {n}", a.sensitivity(y, p), b.sensitivity(z, q), a.u(y) / p.std_dev)
                      for n, (p, q) in enumerate(zip(a.inputs, b.inputs))]
            for what, one, other, size in pairs:
                if abs(one - other) > 1e-9 * size:
                    raise SystemExit(f"{name} {key} {what}: uncertainties {one}, GTC {other}")
                yield name, key, what, float(one)
    yield from degrees_of_freedom()


def degrees_of_freedom():
    """JCGM 100:2008, H.1 and G.4.1 by GTC's Welch-Satterthwaite sum."""
    of = Gtc()
    standard, difference = of.value(50_000_623.0, 25.0, 18), of.value(215.0, 9.7, 25.6)
    alpha, theta = of.value(11.5e-6, 1.2e-6), of.value(-0.1, 0.41)
    d_alpha, d_theta = of.value(0.0, 0.58e-6, 50), of.value(0.0, 0.029, 2)
    length = standard + difference - standard * (d_alpha * theta + alpha * d_theta)
    yield "gauge", "length", "u", of.u(length)
    yield "gauge", "length", "dof", GTC.dof(length)
    product = of.value(1.0, 0.0025, 9) * of.value(1.0, 0.0057, 4) * of.value(1.0, 0.0082, 14)
    yield "product", "product", "u", of.u(product)
    yield "product", "product", "dof", GTC.dof(product)
