"""Coverage of the kit's ranges over drawn knittings; see tests/bench/test_coverage."""

import random
from functools import lru_cache

from kit.fabric import forecast_fabric
from kit.needles.progress import progress_of
from tests.helpers.knitter import Knitter, as_log, drawn_truth
from tests.helpers.plans import balls, planned, toml

LOOK = (30, 70, 110)  # rows at which what is on the needle is weighed
N_BALLS = 12
MIRRORED_LOOK = (60, 140, 230)  # of 312; the turn lies half-way
MIRRORED = '[colours]\nlayout = "mirrored"\n'


@lru_cache
def a_plan(length='"all"'):
    """A dozen balls, knitted until the yarn ends."""
    return planned(balls(N_BALLS, grams=(25, 40, 50)), toml(length=length))


@lru_cache
def a_mirrored_plan():
    """A dozen balls in two parts each, from both ends to the middle."""
    return planned(balls(N_BALLS, grams=(25, 40, 50)), toml(MIRRORED, length=120))


def knitted_with_weighings(plan, seed, looks=LOOK):
    """One knitting: the knitter at the end, its log at every look, the truth."""
    rng = random.Random(seed)
    truth = drawn_truth(plan.stash.yarns, plan.choices, rng)
    knitter = Knitter(plan, truth, rng, plan.choices)
    lines, logs = [], []
    for look in looks:
        done = len(knitter.joins)
        knitter.knit_to(look)
        if knitter.lasted is not None:
            break
        for name, row, out in knitter.joins[done:]:
            cells = {"row": str(row), "what": "joined", "yarn": name}
            lines.append({**cells, "instead_of": out})
        knitter.weather()
        for part in list(knitter.held):
            name = part.yarn.name
            grams = f"{knitter.scale(name):g}"
            lines.append(
                {"row": str(look), "what": "weighed", "yarn": name, "grams": grams}
            )
        logs.append((look, list(lines), {p.yarn.name for p in knitter.held}))
    knitter.knit_to(len(knitter.row_m) - 1)
    return knitter, logs, truth


def coverage(n, seed=1, looks=LOOK, plan=None):
    """How many ranges held the truth, of how many, by kind."""
    plan = plan or a_plan()
    table = {}

    def count(what, one, truth):
        held, of = table.get(what, (0, 0))
        table[what] = held + (one.low <= truth <= one.high), of + 1

    sure = forecast_fabric(plan.fabric, plan.choices)
    for k in range(n):
        knitter, logs, truth = knitted_with_weighings(plan, f"{seed} {k}", looks)
        end = knitter.lasted
        count("before: rows the yarn lasts for", sure.lasts, end)
        turn = sure.endings[k % len(sure.endings)]
        if turn.strand.kind == "runs out":
            rows = knitter.ends.get(turn.strand.part)
            count("before: the row a strand runs out in", turn.ends, rows or end)
            if (begun := knitter.begun.get(turn.strand.part)) is not None:
                lasted = (rows or end) - begun
                count("before: rows a strand lasts from its join", turn.lasts, lasted)
        for look, lines, held in logs:
            log = as_log(lines, plan.stash.yarns)
            now = progress_of(plan, log, plan.choices, plan.stash.yarns)
            count(f"row {look}: rows the yarn lasts for", now.forecast.lasts, end)
            count(f"row {look}: yarn in a stitch", now.pace, truth.pace)
            names = {
                e.strand.part.yarn.name: e
                for e in now.forecast.endings
                if e.strand.begun is not None
            }
            name = sorted(held)[k % len(held)]
            ending = names.get(name)
            if ending and ending.strand.kind == "runs out":
                rows = knitter.ends.get(ending.strand.part, end)
                count(f"row {look}: the strand on the needle", ending.ends, rows)
            coming = [e for e in now.forecast.endings if e.strand.begun is None]
            one = coming[k % len(coming)] if coming else None
            begun = one and knitter.begun.get(one.strand.part)
            if one and one.strand.kind == "runs out" and begun is not None:
                rows = knitter.ends.get(one.strand.part, end) - begun
                count(f"row {look}: rows of a strand to come", one.lasts, rows)
    return table


__all__ = [
    "MIRRORED_LOOK",
    "a_mirrored_plan",
    "a_plan",
    "coverage",
    "knitted_with_weighings",
]
