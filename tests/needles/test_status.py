"""Where a blanket on the needles stands: the plan in hand, the log, what is refused."""

import pytest

from kit.__main__ import main
from kit.blanket import open_blanket, save_choices
from kit.errors import KitError
from kit.needles.status import where_things_stand
from kit.needles.verbs import last_line, log_row
from kit.plan import plan_blanket
from tests.helpers.plans import balls, stash_bytes
from tests.needles.test_verbs import DAY, a_hall, save_plan

folder = pytest.fixture(a_hall)


def test_it_stands_at_the_beginning(folder):
    """Nothing logged, nothing written: worked out now, and said."""
    standing = where_things_stand(folder)
    assert repr(standing) == "Standing('Hall', row 0 of 260)"
    assert standing.number == 0
    assert standing.sentences == (
        "No plan is written yet: this one was worked out now.",
    )
    assert last_line(standing) is None


def test_the_plan_on_paper_is_followed(folder):
    """Once it is written the stash may change; the stripes stay."""
    before = plan_blanket(open_blanket(folder))
    save_plan(folder, before)
    more = [*balls(12, grams=(25, 40, 50)), {"name": "New", "colours": "#777",
            "grams": 99, "metres_per_100g": 400}]  # fmt: skip
    folder.joinpath("stash.csv").write_bytes(stash_bytes(more))
    standing = where_things_stand(folder)
    assert (standing.number, standing.sentences) == (1, ())
    assert standing.plan.fabric.stripes == before.fabric.stripes
    assert plan_blanket(open_blanket(folder)).fabric.stripes != before.fabric.stripes


def test_without_fabric_nothing_can_be_knitted(folder):
    """Told what is missing."""
    folder.joinpath("blanket.toml").write_text('name = "Hall"\n', "utf-8")
    with pytest.raises(KitError) as caught:
        where_things_stand(folder)
    assert str(caught.value) == (
        "There is no fabric to knit in this plan yet. This plan is the colour design "
        "alone: fabric needs both [gauge] and [size] in blanket.toml."
    )


def test_a_spoiled_plan_is_told(folder):
    """And one worked out now is followed."""
    folder.joinpath("plan").mkdir()
    folder.joinpath("plan", "plan.json").write_text("{", "utf-8")
    standing = where_things_stand(folder)
    assert standing.number == 0
    assert standing.sentences == (
        "plan/plan.json is not used: it is not as the kit wrote it. An older plan, or "
        "one worked out now, is followed.",
    )


def test_another_size_is_told_as_what_it_is(folder):
    """A plan that the choices no longer make is not called damaged."""
    save_plan(folder, plan_blanket(open_blanket(folder)))
    save_choices(open_blanket(folder), {"size.width_cm": 62})
    (said,) = where_things_stand(folder).sentences
    assert said.startswith(
        "plan/plan.json is not used: blanket.toml now makes another fabric than it"
    )


def test_a_plan_that_is_knitted_is_not_replaced(folder, capsys, no_pictures):
    """`plan` leaves it alone once the log has a line, says what to do, and still
    writes elsewhere; without a log it may be written again."""
    assert main(["plan", str(folder)]) == 0
    assert main(["plan", str(folder)]) == 0
    log_row(folder, 60, on=DAY)
    before = folder.joinpath("plan", "plan.json").read_bytes()
    capsys.readouterr()
    assert main(["plan", str(folder), "--set", "colours.by=value"]) == 1
    said = capsys.readouterr().err
    assert "This blanket is being knitted by its plan: knitted.csv has 1 line." in said
    assert "--replan" in said and "--out" in said
    assert folder.joinpath("plan", "plan.json").read_bytes() == before
    out = str(folder / "other")
    assert main(["plan", str(folder), "--out", out]) == 0


def test_check_reads_the_log(folder, capsys):
    """A fault of knitted.csv is a fault of the blanket."""
    folder.joinpath("knitted.csv").write_text("row,what,yarn\n5,knited,\n", "utf-8")
    assert main(["check", str(folder)]) == 1
    assert "knitted.csv, row 2" in capsys.readouterr().err
