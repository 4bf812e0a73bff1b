"""Values as pandas tables: one row each, the numbers of the value itself."""

from dataclasses import replace

import pandas as pd
import pytest

from kit.colour import mean_lab
from kit.colour.steps import Steps
from kit.fabric.stripes import stripe_mix
from kit.report.frames import frame_of
from tests.helpers.fabrics import demo
from tests.helpers.plans import balls, planned


def test_a_plan_with_fabric_is_its_stripes_with_their_steps():
    """Rows join up from the cast-on edge; a step stands beside the stripe it leaves."""
    plan, frame = demo(), frame_of(demo())
    assert len(frame) == len(plan.fabric.stripes)
    assert frame["first_row"].iloc[0] == 1
    assert frame["last_row"].iloc[-1] == plan.fabric.rows
    assert frame["rows"].sum() == pytest.approx(plan.fabric.rows)
    sizes = [step.size for step in plan.fabric_steps]
    assert frame["step"].iloc[:-1].tolist() == sizes
    assert frame["kind"].tolist() == [*(step.kind for step in plan.fabric_steps), ""]
    assert pd.isna(frame["step"].iloc[-1])
    assert frame["L*"].tolist() == [
        mean_lab(stripe_mix(stripe))[0] for stripe in plan.fabric.stripes
    ]
    assert frame_of(plan.fabric).equals(frame.drop(columns=["step", "kind"]))


def test_a_plan_without_fabric_is_its_design():
    """Yarns along the blanket, each with its average and the step to the next."""
    plan = planned(balls(5), 'name = "Colours alone"\n')
    frame = frame_of(plan)
    assert frame.equals(frame_of(plan.design))
    assert frame["name"].tolist() == [yarn.name for yarn in plan.design.laid.yarns]
    assert frame["step"].iloc[:-1].tolist() == [s.size for s in plan.design.steps]
    assert frame["colour"].str.fullmatch("#[0-9a-f]{6}").all()


def test_a_stash_and_steps():
    """One row a yarn, one row a step; of nothing, none."""
    plan = demo()
    assert frame_of(plan.stash)["name"].tolist() == [y.name for y in plan.stash.yarns]
    steps = frame_of(plan.design.steps)
    assert steps["size"].tolist() == [step.size for step in plan.design.steps]
    assert steps["kind"].tolist() == [step.kind for step in plan.design.steps]
    assert frame_of(Steps()).empty
    assert frame_of(replace(plan.fabric, stripes=())).empty
    assert frame_of(replace(plan, fabric=replace(plan.fabric, stripes=()))).empty
