"""Published names of colours with their colours, for families and words."""

import csv
from pathlib import Path

GOLD = Path(__file__).parents[1] / "gold"


def gold(name):
    """Rows of a gold file as dicts."""
    text = (GOLD / name).read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in text if not line.startswith("#")))


def centroids():
    """The 267 ISCC-NBS names, with grey spelt our way, and their colours."""
    rows = gold("iscc_nbs_centroids.csv")
    return [(row["name"].replace("gray", "grey"), row["hex"]) for row in rows]
