"""Whole plans for tests, from a stash.csv and a blanket.toml in words."""

import csv
import io
import random
from functools import lru_cache
from pathlib import Path

from kit.blanket.choices_toml import read_choices
from kit.blanket.stash_csv import read_stash
from kit.plan import Plan, plan
from tests.helpers.demos import copy_of

GAUGE = "[gauge]\nstitches_per_10cm = 20\nrows_per_10cm = 26\n"
SIZE = "[size]\nwidth_cm = 50\nlength_cm = {}\n"


def stash_bytes(rows) -> bytes:
    """A stash.csv of dicts: name, colours, grams and whatever else they hold."""
    columns = dict.fromkeys(key for row in rows for key in row)
    text = io.StringIO()
    table = csv.DictWriter(text, list(columns), lineterminator="\n")
    table.writeheader()
    table.writerows(rows)
    return text.getvalue().encode()


def toml(more="", *, length='"all"', gauge=True) -> str:
    """A blanket.toml that is knitted 50 cm wide; `more` stands behind its tables."""
    made = GAUGE + SIZE.format(length) if gauge else ""
    return f'name = "Hall"\n{made}{more}'


def planned(rows, text=None) -> Plan:
    """The plan of these yarns; the same one where they were planned before."""
    return _planned(stash_bytes(rows), text or toml())


@lru_cache
def _planned(stash: bytes, text: str) -> Plan:
    return plan(read_stash(stash), read_choices(text))


def balls(n, seed=1, *, grams=(12, 25, 40), **also) -> list[dict]:
    """n greyish balls from light to dark, of drawn weights."""
    rng = random.Random(seed)
    rows = []
    for k in range(n):
        level = 235 - 200 * k // max(1, n - 1)
        hexed = "#" + "".join(f"{level - rng.randrange(12):02x}" for _ in range(3))
        rows.append(
            {
                "name": f"ball {k}",
                "colours": hexed,
                "grams": rng.choice(grams),
                "metres_per_100g": 400,
                **also,
            }
        )
    return rows


def demo_below(place: Path) -> Path:
    """A copy of the demo without gauge and size: the colours alone, in no time."""
    path = copy_of("reading-room", place / "demo") / "blanket.toml"
    text = path.read_text(encoding="utf-8")
    start, end = text.index("[gauge]"), text.index("[colours]")
    path.write_text(text[:start] + text[end:], encoding="utf-8")
    return place / "demo"
