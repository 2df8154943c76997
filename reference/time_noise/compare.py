#!/usr/bin/env python3
"""Compares two folders of JSON numbers: the same keys, numbers equal to
1 part in 10^8 (integrators stop at 1 in 10^11)."""

import json
import math
import pathlib
import sys


def differs(a, b, place):
    if isinstance(a, dict) and isinstance(b, dict) and a.keys() == b.keys():
        return next(filter(None, (differs(a[k], b[k], f"{place} {k}") for k in a)), None)
    if isinstance(a, list) and isinstance(b, list) and len(a) == len(b):
        return next(
            filter(None, (differs(x, y, f"{place} {k}") for k, (x, y) in enumerate(zip(a, b)))),
            None,
        )
    if isinstance(a, float) and isinstance(b, float):
        return None if math.isclose(a, b, rel_tol=1e-8, abs_tol=1e-11) else f"{place}: {b}, kept {a}"
    return None if a == b else f"{place}: {b}, kept {a}"


def main(kept, made):
    names = sorted(p.name for p in kept.glob("*.json"))
    if not names or names != sorted(p.name for p in made.glob("*.json")):
        return f"{kept} and {made} hold different files"
    for name in names:
        found = differs(
            json.loads((kept / name).read_text()), json.loads((made / name).read_text()), name
        )
        if found:
            return found
    print(f"{len(names)} files of time and noise as kept")
    return 0


if __name__ == "__main__":
    sys.exit(main(pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2])))
