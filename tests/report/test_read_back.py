"""Plans as written: numbered folders, and what is read back is what was planned."""

import json
from dataclasses import replace

import pytest

from kit.blanket import Blanket
from kit.report.plan_json import plan_data
from kit.report.read_back import plan_folder, plan_folders, read_plan
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
