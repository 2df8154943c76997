"""Stages against equations derived by hand from the drawing, at random values.

Each function draws a circuit in words, states Kirchhoff's current law at the
nodes that are not given (or the closed form that follows from it), and
evaluates it. Unknowns are found by numpy's dense solution of exactly these
hand-written equations; the program under test builds its own from the
elements.

An amplifier obeys
  v+ - v- + offset + (v+ + v-)/2 * cm + supply * deviation = out / gain
with its bias currents flowing into its pins.
"""

import numpy as np
from scipy.special import lambertw

CASES = 3


def drawing(rng):
    """A function that draws a value between two ends, even on a log scale."""
    return lambda low, high: float(low * (high / low) ** rng.random())


def divider(v):
    """Source s; top from s to o; bottom and load from o to ground; a leakage
    current out of o."""
    s, top, bottom, load, leak = v(1, 12), v(1e3, 1e5), v(1e3, 1e5), v(1e5, 1e8), v(1e-9, 1e-6)
    # (s - o)/top = o/bottom + o/load + leak
    o = (s / top - leak) / (1 / top + 1 / bottom + 1 / load)
    return dict(s=s, top=top, bottom=bottom, load=load, leak=leak), dict(o=o)


def gated_divider(v):
    """A switch of on-resistance `on` between s and the top resistor; beside
    it its off-resistance is not seen when closed."""
    s, on, top, bottom = v(2, 9), v(1, 1e3), v(1e4, 1e6), v(1e4, 1e6)
    return dict(s=s, on=on, top=top, bottom=bottom), dict(o=s * bottom / (on + top + bottom))


def pull_up(v):
    """Sensor resistance r to ground behind two leads, pull-up to vref,
    leakage into the pin through a low-pass resistor."""
    ref, up, r, lead, rf, leak = v(1, 5), v(1e3, 1e5), v(1e2, 1e5), v(0.1, 20), v(1e2, 1e4), v(1e-9, 1e-6)
    g = 1 / up + 1 / (r + 2 * lead)
    node = (ref / up - leak) / g
    return (dict(ref=ref, up=up, r=r, lead=lead, filter=rf, leak=leak),
            dict(node=node, pin=node - leak * rf))


def bridge(v):
    """Excitation e through a feed; arms e-p, p-ground, e-m, m-ground; a load
    between p and m. Unknown: x behind the feed, p, m."""
    e, feed, load = v(2, 10), v(1, 20), v(1e4, 1e7)
    a, b, c, d = (350 * (1 + v(1e-4, 5e-3)) for _ in range(4))
    ga, gb, gc, gd, gf, gl = 1 / a, 1 / b, 1 / c, 1 / d, 1 / feed, 1 / load
    # x: (e - x)gf = (x - p)ga + (x - m)gc
    # p: (x - p)ga = p gb + (p - m)gl
    # m: (x - m)gc = m gd + (m - p)gl
    x, p, m = np.linalg.solve(
        [[gf + ga + gc, -ga, -gc], [-ga, ga + gb + gl, -gl], [-gc, -gl, gc + gd + gl]],
        [e * gf, 0, 0])
    return (dict(e=e, feed=feed, load=load, a=a, b=b, c=c, d=d),
            dict(difference=p - m, excitation=x))


def amplifier_errors(v):
    return dict(gain=v(1e3, 1e6), cm=1 / v(1e3, 1e5), offset=v(1e-5, 1e-2),
                plus=v(1e-12, 1e-7), minus=v(1e-12, 1e-7), supply=1 / v(1e3, 1e5), deviation=v(0.01, 0.5))


def drive(k):
    """What is added to the non-inverting input."""
    return k["offset"] + k["supply"] * k["deviation"]


def buffer(v):
    """Source i through rs into the non-inverting pin; out tied to the other."""
    k = amplifier_errors(v) | dict(i=v(0.1, 4), rs=v(1e2, 1e6))
    p = k["i"] - k["plus"] * k["rs"]
    half = k["cm"] / 2
    # p(1 + half) + drive = o(1 - half + 1/gain)
    o = (p * (1 + half) + drive(k)) / (1 - half + 1 / k["gain"])
    return k, dict(o=o)


def non_inverting(v):
    """Source i through rs into +; rg from - to a level, rf from out to -."""
    k = amplifier_errors(v) | dict(i=v(0.01, 0.4), rs=v(1e2, 1e5), rg=v(1e3, 1e4), rf=v(1e4, 1e5), level=v(0.01, 0.3))
    half = k["cm"] / 2
    p = k["i"] - k["plus"] * k["rs"]
    # m: (level - m)/rg + (o - m)/rf = minus
    # amplifier: p(1 + half) - m(1 - half) + drive = o/gain
    m, o = np.linalg.solve(
        [[-1 / k["rg"] - 1 / k["rf"], 1 / k["rf"]], [-(1 - half), -1 / k["gain"]]],
        [k["minus"] - k["level"] / k["rg"], -p * (1 + half) - drive(k)])
    return k, dict(o=o, m=m)


def inverting(v):
    """Source i through r1 to -, rf from out to -, rp from + to ground."""
    k = amplifier_errors(v) | dict(i=v(0.01, 0.4), r1=v(1e3, 1e4), rf=v(1e4, 1e5), rp=v(1e2, 1e4))
    half = k["cm"] / 2
    p = -k["plus"] * k["rp"]
    m, o = np.linalg.solve(
        [[-1 / k["r1"] - 1 / k["rf"], 1 / k["rf"]], [-(1 - half), -1 / k["gain"]]],
        [k["minus"] - k["i"] / k["r1"], -p * (1 + half) - drive(k)])
    return k, dict(o=o, m=m)


def difference(v):
    """a through r1 to -, r2 from out to -; b through r3 to +, r4 from + to a
    reference. All resistors differ, so the common mode comes through."""
    k = amplifier_errors(v) | dict(a=v(0.5, 2), b=v(0.5, 2), ref=v(0.5, 2))
    k |= {r: v(9e3, 11e3) for r in ("r1", "r3")} | {r: v(4.5e4, 5.5e4) for r in ("r2", "r4")}
    half = k["cm"] / 2
    # p: (b - p)/r3 + (ref - p)/r4 = plus
    p = (k["b"] / k["r3"] + k["ref"] / k["r4"] - k["plus"]) / (1 / k["r3"] + 1 / k["r4"])
    m, o = np.linalg.solve(
        [[-1 / k["r1"] - 1 / k["r2"], 1 / k["r2"]], [-(1 - half), -1 / k["gain"]]],
        [k["minus"] - k["a"] / k["r1"], -p * (1 + half) - drive(k)])
    return k, dict(o=o, p=p)


def transimpedance(v):
    """Photocurrent into -, rf and a shunt resistance of the diode rd from -
    to ground, + at a bias level."""
    k = amplifier_errors(v) | dict(photo=v(1e-9, 1e-6), rf=v(1e5, 1e6), rd=v(1e7, 1e9), level=v(0.05, 0.5))
    half = k["cm"] / 2
    # m: photo + (o - m)/rf - m/rd = minus
    m, o = np.linalg.solve(
        [[-1 / k["rf"] - 1 / k["rd"], 1 / k["rf"]], [-(1 - half), -1 / k["gain"]]],
        [k["minus"] - k["photo"], -k["level"] * (1 + half) - drive(k)])
    return k, dict(o=o)


def summing(v):
    """Three sources through r1 to r3 into -, rf from out, + at a level."""
    k = amplifier_errors(v) | {n: v(0.05, 1) for n in ("v1", "v2", "v3", "level")}
    k |= {r: v(5e3, 5e4) for r in ("r1", "r2", "r3", "rf")}
    half = k["cm"] / 2
    g = sum(1 / k[r] for r in ("r1", "r2", "r3"))
    inflow = sum(k["v" + n] / k["r" + n] for n in "123")
    m, o = np.linalg.solve(
        [[-g - 1 / k["rf"], 1 / k["rf"]], [-(1 - half), -1 / k["gain"]]],
        [k["minus"] - inflow, -k["level"] * (1 + half) - drive(k)])
    return k, dict(o=o)


def sallen_key(v):
    """Direct current of the unity-gain low-pass: r1 and r2 in series carry
    the bias current; its capacitors leak: c1 from the middle node to the
    output, c2 from the pin to ground."""
    k = amplifier_errors(v) | dict(i=v(0.2, 3), r1=v(1e3, 1e5), r2=v(1e3, 1e5), leak1=v(1e8, 1e10), leak2=v(1e8, 1e10))
    half = k["cm"] / 2
    g1, g2, l1, l2 = (1 / k[n] for n in ("r1", "r2", "leak1", "leak2"))
    # x: (i - x)g1 = (x - p)g2 + (x - o)l1
    # p: (x - p)g2 = plus + p l2
    # amplifier with v- = o: p(1 + half) + drive = o(1 - half + 1/gain)
    x, p, o = np.linalg.solve(
        [[g1 + g2 + l1, -g2, -l1], [-g2, g2 + l2, 0], [0, -(1 + half), 1 - half + 1 / k["gain"]]],
        [k["i"] * g1, -k["plus"], drive(k)])
    return k, dict(o=o, x=x)


def instrumentation(v):
    """Bias currents through source resistances rp and rm; output on a
    reference pin."""
    k = dict(gain=v(5, 500), offset_in=v(1e-5, 1e-3), offset_out=v(1e-4, 1e-2), cm=1 / v(1e3, 1e6),
             plus=v(1e-10, 1e-7), minus=v(1e-10, 1e-7), vp=v(2.0, 2.01), vm=v(2.0, 2.01), ref=v(0.5, 2),
             rp=v(1e2, 1e4), rm=v(1e2, 1e4), between=v(1e8, 1e11))
    gp, gm, gb = 1 / k["rp"], 1 / k["rm"], 1 / k["between"]
    # p: (vp - p)gp = plus + (p - m)gb;  m: (vm - m)gm = minus + (m - p)gb
    p, m = np.linalg.solve([[gp + gb, -gb], [-gb, gm + gb]], [k["vp"] * gp - k["plus"], k["vm"] * gm - k["minus"]])
    o = k["ref"] + k["gain"] * (p - m + k["offset_in"] + (p + m) / 2 * k["cm"]) + k["offset_out"]
    return k, dict(o=o)


def multiplexer(v):
    """Two sources; the chosen switch conducts with `on`, the other leaks with
    `off`; leakage out of the common node, a load to ground."""
    s, t, rs, rt = v(0.5, 4), v(0.5, 4), v(1e2, 1e5), v(1e2, 1e5)
    on, off, load, leak = v(10, 500), v(1e8, 1e11), v(1e6, 1e9), v(1e-10, 1e-7)
    a, c = 1 / (rs + on), 1 / (rt + off)
    o = (s * a + t * c - leak) / (a + c + 1 / load)
    return dict(s=s, t=t, rs=rs, rt=rt, on=on, off=off, load=load, leak=leak), dict(o=o)


def loop_current(v):
    """4-20 mA into a shunt; both leads to the converter carry nothing but
    the pin's leakage."""
    i, shunt, series, leak = v(4e-3, 20e-3), v(50, 250), v(1e2, 1e4), v(1e-9, 1e-6)
    o = (i - leak) * shunt
    return dict(i=i, shunt=shunt, series=series, leak=leak), dict(pin=o - leak * series)


def four_wire(v):
    """A current source through four leads; the sense leads carry leakage."""
    i, r, lead, leak = v(1e-4, 1e-3), v(90, 200), v(0.1, 30), v(1e-10, 1e-7)
    # Both sense pins draw `leak`: it comes through the upper force lead for
    # the upper pin and does not return through r; from the lower node it goes
    # to the lower pin.
    top = (i - leak) * r + (i - 2 * leak) * lead
    low = (i - 2 * leak) * lead
    return dict(i=i, r=r, lead=lead, leak=leak), dict(difference=(top - leak * lead) - (low - leak * lead))


def clamp(v):
    """Source s through r to o; a conductor from o to a rail, straight between
    the points (0, 0), (v1, i1), (v2, i2) and on with the last slope."""
    rail, v1, i1 = v(2, 5), v(0.2, 0.4), v(1e-6, 1e-4)
    v2, i2 = v1 + v(0.1, 0.4), i1 + v(1e-3, 1e-2)
    r, s = v(1e2, 1e4), rail + v(0.1, 8)
    found = None
    for (xa, ya), (xb, yb), low, high in (
            ((0, 0), (v1, i1), -np.inf, v1), ((v1, i1), (v2, i2), v1, np.inf)):
        slope = (yb - ya) / (xb - xa)
        # (s - rail - x)/r = ya + slope (x - xa), x = o - rail
        x = ((s - rail) / r - ya + slope * xa) / (1 / r + slope)
        if low <= x <= high:
            found = x
    return dict(rail=rail, v1=v1, i1=i1, v2=v2, i2=i2, r=r, s=s), dict(o=rail + found)


def junction(v):
    """Source s through r into i = sat (exp(u/emission) - 1): with Lambert's
    function u + r sat (exp(u/n) - 1) = s gives
    i = n/r W(r sat/n exp((s + r sat)/n)) - sat."""
    s, r, sat, n = v(0.3, 3), v(1e2, 1e5), v(1e-14, 1e-9), v(0.026, 0.05)
    w = lambertw(r * sat / n * np.exp((s + r * sat) / n)).real
    return dict(s=s, r=r, sat=sat, n=n), dict(o=s - r * (n / r * w - sat))


def saturated(v):
    """A non-inverting stage driven beyond its supply: the output stands the
    swing below the high supply, and the inputs part; then m by the divider."""
    k = dict(high=v(3, 5), swing=v(0.01, 0.2), i=v(1, 2), rg=v(1e3, 1e4), ratio=v(6, 20), gain=v(1e4, 1e6))
    o = k["high"] - k["swing"]
    return k, dict(o=o, m=o / (1 + k["ratio"]))


STAGES = [divider, gated_divider, pull_up, bridge, buffer, non_inverting, inverting, difference, transimpedance,
          summing, sallen_key, instrumentation, multiplexer, loop_current, four_wire, clamp, junction, saturated]


def rows():
    for stage in STAGES:
        rng = np.random.default_rng([20, len(stage.__name__)] + list(stage.__name__.encode()))
        for n in range(CASES):
            given, found = stage(drawing(rng))
            name = f"{stage.__name__.replace('_', '-')} {n + 1}"
            for key, value in given.items():
                yield name, "given", key, value
            for key, value in found.items():
                yield name, "found", key, float(value)
