"""Digital lines against Kirchhoff's current law at their nodes, at random
values: numpy's dense solution of the hand-written conductance matrix.

Each function draws one line in words; the program under test is given the
same line as a board file.
"""

import numpy as np

CASES = 4


def solved(n, branches):
    """Voltages of n nodes; a branch is (a, b, ohm, volt): from node a to node
    b, or to a source of `volt` where b is None."""
    g, i = np.zeros((n, n)), np.zeros(n)
    for a, b, ohm, volt in branches:
        g[a, a] += 1 / ohm
        if b is None:
            i[a] += volt / ohm
        else:
            g[b, b] += 1 / ohm
            g[a, b] -= 1 / ohm
            g[b, a] -= 1 / ohm
    return np.linalg.solve(g, i)


def pushed(v):
    """A driver of output resistance `out` at `volt`, a series resistor, then a
    divider; the receiver is at its middle. Nodes: pin, behind the series
    resistor, middle."""
    volt, out, series, top, bottom = v(2, 6), v(10, 200), v(10, 1e3), v(1e3, 1e4), v(1e3, 2e4)
    high = solved(3, [(0, None, out, volt), (0, 1, series, 0), (1, 2, top, 0), (2, None, bottom, 0)])[2]
    return dict(volt=volt, out=out, series=series, top=top, bottom=bottom), dict(high=high)


def pulled(v):
    """An open drain of resistance `sink`, two pull-ups to `volt`, a series
    resistor in the line at the driver. Nodes: line, drain."""
    volt, sink, series, one, two = v(1.7, 5.5), v(20, 150), v(10, 300), v(1e3, 2e4), v(1e3, 2e4)
    low = solved(2, [(0, None, one, volt), (0, None, two, volt), (0, 1, series, 0), (1, None, sink, 0)])[0]
    return dict(volt=volt, sink=sink, series=series, one=one, two=two), dict(low=low)


def translated(v):
    """The same drain on the near side of one transistor, with a pull-up on
    each side. Nodes: near, far."""
    near, far, sink, on = v(1.8, 3.3), v(3.3, 5.5), v(20, 150), v(1, 60)
    one, two = v(1.5e3, 2e4), v(1.5e3, 2e4)
    n, f = solved(2, [(0, None, one, near), (1, None, two, far), (0, 1, on, 0), (0, None, sink, 0)])
    return dict(near=near, far=far, sink=sink, on=on, one=one, two=two), dict(low_near=n, low_far=f)


def rows():
    rng = np.random.default_rng(20261125)
    draw = lambda low, high: float(f"{low * (high / low) ** rng.random():.6g}")
    for line in (pushed, pulled, translated):
        for case in range(CASES):
            given, found = line(draw)
            name = f"{line.__name__} {case}"
            for what, values in (("given", given), ("found", found)):
                for key, value in values.items():
                    yield name, what, key, float(value)
