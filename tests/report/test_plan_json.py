"""Plans as written: numbered folders, and what is read back is what was planned."""

import json
from dataclasses import replace
from pathlib import Path

import pytest

from kit.blanket import Blanket
from kit.plan.facts import all_cautions
from kit.report.plan_json import plan_data, plan_folder, plan_folders, read_plan
from tests.helpers.plans import balls, planned, toml
from tests.needles.test_replan import PLANS, again, made, rows


def written(folder, data):
    folder.mkdir(exist_ok=True)
    folder.joinpath("plan.json").write_text(json.dumps(data), "utf-8")
    return folder


def blanket_of(plan):
    return Blanket(None, plan.stash, None, plan.choices)


@pytest.mark.parametrize("name", PLANS)
def test_a_plan_comes_back(tmp_path, name):
    """Stripes, amounts, size and shortage, to the millimetre."""
    before = made(name)
    folder = written(tmp_path / "plan", plan_data(before))
    back, why = read_plan(folder, blanket_of(before))
    assert why == ""
    assert back.fabric.stripes == before.fabric.stripes
    assert back.fabric.short == before.fabric.short
    assert (back.fabric.rows, back.stash) == (before.fabric.rows, before.stash)
    assert all_cautions(back) == all_cautions(before)
    old = {use.yarn.name: use for use in before.fabric.uses}
    assert {use.yarn.name: use for use in back.fabric.uses} == old


def test_a_replan_comes_back(tmp_path):
    """Where it began, what was changed, and the balls as they were believed to be."""
    before = made("to a length")
    after = again(before, rows(50)).after
    folder = written(tmp_path / "plan-2", plan_data(after))
    back, why = read_plan(folder, blanket_of(before))
    assert why == ""
    assert back.fabric.stripes == after.fabric.stripes
    assert back.start.row == 50
    assert back.start == replace(after.start, knitted=())
    assert back.choices == after.choices


# Our own, written by the kit when format 1 was the last: no proof, only so that plans
# on people's needles are still read.
FORMAT_1 = Path(__file__).parents[1] / "silver" / "plan_format_1.json"
TWICE_THROUGH = toml("[colours]\ntimes_through = 2\n")


def test_format_1_is_read(tmp_path):
    """Two times through three balls, as format 1 said it: its stripes to the stitch,
    what each ball gives, and where the run starts anew."""
    data = json.loads(FORMAT_1.read_text("utf-8"))
    assert data["format"] == 1 and "sureness" in data
    blanket = blanket_of(planned(balls(3, grams=(6, 9)), TWICE_THROUGH))
    back, why = read_plan(written(tmp_path / "plan", data), blanket)
    assert why == ""
    stripes = data["fabric"]["stripes"]
    assert [one.restart for one in back.fabric.stripes] == [s["anew"] for s in stripes]
    assert any(one.restart for one in back.fabric.stripes)
    for one, told in zip(back.fabric.stripes, stripes, strict=True):
        assert [yarn.name for yarn in one.strands] == told["strands"]
        assert (one.last_row, one.last_stitch) == (
            told["last_row"],
            told["last_stitch"],
        )
        assert one.metres_each == told["metres_each"]
    used = {use.yarn.name: use.used_mm for use in back.fabric.uses}
    for yarn in data["yarn"]:
        # Written in metres, kept in whole millimetres.
        assert used[yarn["name"]] == pytest.approx(1000 * yarn["metres_used"], abs=0.5)


def test_a_later_format_is_refused(tmp_path):
    """What a later kit has written is not guessed at."""
    before = made("to a length")
    data = plan_data(before) | {"format": 3}
    back, why = read_plan(written(tmp_path / "plan", data), blanket_of(before))
    assert back is None
    assert why == (
        "plan/plan.json is not used: it is of format 3, and this kit reads formats up "
        "to 2. Use the kit that wrote it, or a later one."
    )


def test_folders_are_numbered(tmp_path):
    """plan, plan-2, plan-3 …; what is no plan of ours is left out."""
    for name in ("plan", "plan-2", "plan-10", "plan-x", "plan-1", "planet", "plan-02"):
        written(tmp_path / name, {})
    (tmp_path / "plan-3").mkdir()
    assert list(plan_folders(tmp_path)) == [1, 2, 10]
    assert plan_folder(tmp_path, 1).name == "plan"
    assert plan_folder(tmp_path, 11).name == "plan-11"


@pytest.mark.parametrize(
    "spoil",
    [
        lambda data: data.pop("fabric"),
        lambda data: data["fabric"].update(stitches=99),
        lambda data: data["fabric"]["stripes"].pop(2),
        lambda data: data["fabric"]["stripes"][1].update(strands=["Nobody"]),
        lambda data: data["fabric"]["stripes"][1].update(first_row="x"),
        lambda data: data.update(yarn={}),
        lambda data: data.update(start={"row": 4}),
        lambda data: data.update(format="2"),
        lambda data: data.clear(),
    ],
)
def test_what_is_spoiled_is_not_used(tmp_path, spoil):
    """Told, never a traceback."""
    before = made("to a length")
    data = json.loads(json.dumps(plan_data(before)))
    spoil(data)
    folder = written(tmp_path / "plan", data)
    back, why = read_plan(folder, blanket_of(before))
    assert back is None
    assert why.startswith("plan/plan.json is not used: ")


def test_another_gauge_is_another_fabric(tmp_path):
    """Where blanket.toml has been changed since, the old plan is not followed."""
    before = planned(balls(8), toml(length=50))
    other = planned(balls(8), toml(length=50).replace("= 20", "= 21", 1))
    folder = written(tmp_path / "plan", plan_data(before))
    assert read_plan(folder, blanket_of(other))[0] is None
