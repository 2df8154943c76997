#!/usr/bin/env python3
"""Compares two folders of tables: same lines, numbers equal to 1 part in 10^9
(last digits differ between builds of numpy)."""

import csv
import math
import pathlib
import sys


def main(kept, made):
    names = sorted(p.name for p in kept.glob("*.csv"))
    if not names or names != sorted(p.name for p in made.glob("*.csv")):
        return f"{kept} and {made} hold different tables"
    count = 0
    for name in names:
        with open(kept / name) as a, open(made / name) as b:
            old, new = list(csv.reader(a)), list(csv.reader(b))
        if [line[:-1] for line in old] != [line[:-1] for line in new]:
            return f"{name}: other lines than kept"
        for was, now in zip(old[1:], new[1:]):
            if not math.isclose(float(was[-1]), float(now[-1]), rel_tol=1e-9, abs_tol=1e-12):
                return f"{name}: {', '.join(was[:-1])} is {now[-1]}, kept {was[-1]}"
            count += 1
    print(f"{count} reference values as kept")
    return 0


if __name__ == "__main__":
    sys.exit(main(pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2])))
