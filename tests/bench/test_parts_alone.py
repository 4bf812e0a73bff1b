"""How often a part weighed alone is found out, and a weighing of the whole ball is not.

    python -m pytest -m bench -s tests/bench/test_parts_alone.py

Knittings as in test_coverage, whose knitter puts one part alone on the scale as often
as told. Parts that weigh nearly what the whole should cannot be told apart from it.
"""

import random

import pytest

from kit.needles.progress import progress_of
from tests.helpers.coverages import LOOK, a_mirrored_plan, a_plan
from tests.helpers.knitter import Knitter, as_log, drawn_truth

pytestmark = pytest.mark.bench
N = 100
LOOKS = (20, 60, 100, 140, 180, 230, 280)


def knitted(plan, seed, looks, wrong, aside):
    """The log's lines, and the rows of the file in which a part lay alone."""
    rng = random.Random(seed)
    truth = drawn_truth(plan.stash.yarns, plan.choices, rng)
    knitter, lines, alone = Knitter(plan, truth, rng, plan.choices), [], set()
    for look in looks:
        done = len(knitter.joins)
        knitter.knit_to(look)
        for name, row, out in knitter.joins[done:]:
            cells = {"row": str(row), "what": "joined", "yarn": name}
            lines.append({**cells, "instead_of": out})
        knitter.weather()
        for name in [part.yarn.name for part in knitter.held]:
            grams, waits = knitter.scale(name), sum(knitter.left.later.get(name, ()))
            if waits and rng.random() < wrong:
                metres = waits if aside else knitter.left.on.get(name, 0.0)
                shown = metres * truth.grams_per_m[name] + rng.gauss(0, 1 / 3**0.5)
                grams = round(max(0.0, shown), 1)
                alone.add(len(lines) + 2)
            cells = {"row": str(look), "what": "weighed", "yarn": name}
            lines.append({**cells, "grams": f"{grams:g}"})
    return lines, alone


def counted(plan, looks, wrong=0.0, aside=False):
    """Weighings of a part alone and those of them told; others told; all weighings."""
    n_alone = found = mistaken = n = 0
    for k in range(N):
        lines, alone = knitted(plan, f"parts {k}", looks, wrong, aside)
        yarns = plan.stash.yarns
        now = progress_of(plan, as_log(lines, yarns), plan.choices, yarns)
        odd = ("reads as if", "does not gain by")
        told = {
            int(said.split("row ")[1].split(" ")[0])
            for said in now.sentences
            if any(words in said for words in odd)
        }
        n += sum(line["what"] == "weighed" for line in lines)
        n_alone, found = n_alone + len(alone), found + len(told & alone)
        mistaken += len(told - alone)
    return n_alone, found, mistaken, n


def test_parts_alone_are_found(capsys):
    """Nine in ten of those on the needle; no weighing of whole balls is set aside."""
    mirrored = a_mirrored_plan()
    never, straight = counted(mirrored, LOOKS), counted(a_plan(), LOOK)
    some, all_of_them = (counted(mirrored, LOOKS, share) for share in (0.2, 1.0))
    waiting = counted(mirrored, LOOKS, 0.2, aside=True)
    with capsys.disabled():
        print("\nparts alone, told of them, others told, weighings")
        for what, row in (
            ("none", never), ("none, no ball in parts", straight),
            ("one in five, on the needle", some), ("all", all_of_them),
            ("one in five, the part that waits", waiting),
        ):  # fmt: skip
            print(f"  {what:34}", *row)
    assert never[2] <= never[3] / 500
    assert straight[2] <= straight[3] / 500
    assert some[1] >= 0.9 * some[0]
    assert all_of_them[1] >= 0.9 * all_of_them[0]
    assert some[2] + waiting[2] <= (some[3] + waiting[3]) / 200
