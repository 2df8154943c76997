#!/usr/bin/env python3
"""Writes the reference values, one table for each topic, into a folder."""

import csv
import pathlib
import sys

import lines
import propagation
import sampling
import stages

TOPICS = {"lines": lines, "propagation": propagation, "sampling": sampling, "stages": stages}


def main(folder):
    folder.mkdir(parents=True, exist_ok=True)
    for name, topic in TOPICS.items():
        with open(folder / f"{name}.csv", "w", newline="") as out:
            writer = csv.writer(out, lineterminator="\n")
            writer.writerow(["case", "name", "what", "value"])
            for *words, value in topic.rows():
                writer.writerow([*words, repr(value)])


if __name__ == "__main__":
    main(pathlib.Path(sys.argv[1]))
