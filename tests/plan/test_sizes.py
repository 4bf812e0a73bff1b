"""The same design at other sizes: its yarn against the published way of computing."""

import csv
from pathlib import Path

import pytest
from scipy import stats

from kit.fabric.setup import BIND_OFF_ROWS, CAST_ON_ROWS
from kit.plan.sizes import OWN, SIZES, sizes_table
from tests.helpers.plans import balls, planned

GOLD = Path(__file__).parents[1] / "gold" / "yarn_consumption_150x200.csv"


def gold(case, model):
    lines = [x for x in GOLD.read_text().splitlines() if not x.startswith("#")]
    rows = csv.DictReader(lines)
    return next(r for r in rows if (r["case"], r["model"]) == (case, model))


def test_a_bed_blanket_takes_what_munden_says():
    """150 x 200 cm, two strands of fingering: stitches, metres, grams of the table."""
    # tests/gold/yarn_consumption_150x200.csv, Munden 1959, fully relaxed
    row = gold("2 x fingering held together, 20 st", "fully relaxed (finished)")
    text = (
        'name = "Bed"\n[gauge]\nstitches_per_10cm = 20\nrows_per_10cm = '
        f"{row['rows_per_10cm']}\n[size]\nwidth_cm = 50\nlength_cm = 40\n"
    )
    plan = planned(balls(6, grams=(50,)), text)
    own = [("bed", 150.0, 200.0)]
    one = sizes_table(plan.fabric, plan.choices.making, own)[-1]
    assert (one.name, one.stitches) == ("bed", 300)
    # A whole number of rows: half a row either way, 300 stitches of 2.1 cm.
    half_row_m = 300 * float(row["loop_cm"]) / 100 / 2
    assert one.rows * one.stitches == pytest.approx(float(row["stitches"]), abs=150)
    edges_m = 300 * (CAST_ON_ROWS + BIND_OFF_ROWS) * float(row["loop_cm"]) / 100
    held_m = one.metres / 2 - edges_m
    assert held_m == pytest.approx(float(row["bundle_metres"]), abs=half_row_m + 0.05)
    grams = held_m * float(row["grams"]) / float(row["bundle_metres"])
    # two strands of 250 tex: half a gram for each metre of both
    assert one.grams - edges_m * 0.5 == pytest.approx(grams, abs=0.5)


def test_the_blanket_itself_stands_first():
    """With its own stitches, rows and measure, and the plain sizes after it."""
    plan = planned(balls(9))
    fabric = plan.fabric
    first, *rest = sizes_table(fabric, plan.choices.making)
    assert (first.name, first.stitches, first.rows) == (OWN, 100, fabric.rows)
    assert first.length_cm == fabric.length_cm
    assert [one.name for one in rest] == [name for name, *_ in SIZES]
    for one, (_, wide, long) in zip(rest, SIZES, strict=True):
        assert one.width_cm == pytest.approx(wide, abs=0.25)  # half a stitch
        assert one.length_cm == pytest.approx(long, abs=0.2)  # half a row


def test_each_weight_class_keeps_its_share():
    """Lace and fingering stand apart, heaviest first, and add up to the size's own."""
    rows = balls(9)
    rows += [{**row, "name": f"lace {k}", "weight": "lace", "metres_per_100g": 800}
             for k, row in enumerate(balls(9, seed=2))]  # fmt: skip
    plan = planned(rows)
    table = sizes_table(plan.fabric, plan.choices.making)
    used = {"fingering": 0, "lace": 0}
    for use in plan.fabric.uses:
        used[use.yarn.label.weight] += use.used_mm
    for one in table:
        parts = {part.weight: part for part in one.yarn}
        assert parts.keys() == used.keys()
        shares = parts["lace"].metres / parts["fingering"].metres
        assert shares == pytest.approx(used["lace"] / used["fingering"])
        assert sum(part.grams for part in one.yarn) == pytest.approx(one.grams)
        assert [part.grams for part in one.yarn] == sorted(
            (part.grams for part in one.yarn), reverse=True
        )


def test_a_size_too_narrow_for_the_repeat_is_left_out():
    """70 cm of repeat: no pram cover of 60 cm."""
    text = (
        'name = "Wide"\n[gauge]\nstitches_per_10cm = 20\nrows_per_10cm = 26\n'
        '[size]\nwidth_cm = 70\nlength_cm = "all"\nrepeat_stitches = 140\n'
    )
    plan = planned(balls(9), text)
    names = [one.name for one in sizes_table(plan.fabric, plan.choices.making)]
    assert names == [OWN, "lap", "sofa", "single", "double"]


def test_buy_so_much():
    """The stated margin on top of metres and grams, the same for every size."""
    plan = planned(balls(9))
    table = sizes_table(plan.fabric, plan.choices.making)
    # gauge 5 %, Munden 15 %, a new ball's label 4.5 %, as limits: their standard
    # uncertainties squared and added, at the normal's 95th percentile
    doubt = (0.05**2 + 0.15**2 + 0.045**2) ** 0.5 / 3**0.5
    for one in table:
        assert one.margin == pytest.approx(stats.norm.ppf(0.95) * doubt, rel=1e-3)
        assert one.buy_grams == pytest.approx(one.grams * (1 + one.margin))
        assert one.buy_metres == pytest.approx(one.metres * (1 + one.margin))
