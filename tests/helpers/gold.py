"""Published numbers and names, kept under tests/gold with their sources."""

import csv
from itertools import dropwhile
from pathlib import Path

import numpy as np

GOLD = Path(__file__).parents[1] / "gold"
# The printed matrix of IEC 61966-2-1 differs from full-precision primaries by as much
# as 0.026 dE*ab, so values computed from those are met within 0.05.
MATRIX = 0.05


def gold(name):
    """Rows of a gold file as dictionaries, the remarks above its header left out."""
    lines = (GOLD / name).read_text(encoding="utf-8").splitlines()
    rows = dropwhile(lambda line: line.startswith("#"), lines)
    return list(csv.DictReader(rows))


def floats(row, *columns):
    """These columns of a row as numbers, shape (n,)."""
    return np.array([float(row[column]) for column in columns])


def half_digit(printed):
    """Half of the last printed digit, and a hair for binary fractions on the edge."""
    return 0.5 * 10 ** -len(printed.partition(".")[2]) * (1 + 1e-6)


def centroids():
    """The 267 ISCC-NBS names, with grey spelt our way, and their colours."""
    rows = gold("iscc_nbs_centroids.csv")
    return [(row["name"].replace("gray", "grey"), row["hex"]) for row in rows]
