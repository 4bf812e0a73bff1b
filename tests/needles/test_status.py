"""A blanket on the needles: the folder, its log, its plans; one whole knitting."""

import random
from datetime import date

import pytest

from kit.__main__ import main
from kit.blanket import open_blanket, save_choices
from kit.errors import KitError
from kit.needles.replan_choices import ReplanChoices
from kit.needles.status import (
    last_line,
    log_join,
    log_ran_out,
    log_row,
    log_weighing,
    mark_lost,
    preview_replan,
    save_replan,
    skip,
    status_lines,
    undo_last,
    where_things_stand,
)
from kit.plan import plan_blanket
from kit.report.plan_json import plan_json
from tests.helpers.knitter import Knitter, drawn_truth
from tests.helpers.plans import balls, stash_bytes, toml
from tests.needles.test_replan import check_sums, held_in

DAY = date(2026, 3, 9)


def a_hall(tmp_path):
    """A blanket of a dozen balls to 100 cm."""
    home = tmp_path / "hall"
    home.mkdir()
    home.joinpath("stash.csv").write_bytes(stash_bytes(balls(12, grams=(25, 40, 50))))
    home.joinpath("blanket.toml").write_text(toml(length=100), "utf-8")
    return home


folder = pytest.fixture(a_hall)


def save_plan(home, plan, name="plan"):
    """plan.json alone; the pictures are for eyes."""
    home.joinpath(name).mkdir()
    home.joinpath(name, "plan.json").write_text(plan_json(plan), "utf-8")


def test_one_call_logs_one_line(folder):
    """Join, weighing, row, ran out, lost, skipped; each is in the file at once."""
    log_row(folder, 20, on=DAY)
    log_weighing(folder, "Ball 0", 30, 24.5, on=DAY)
    log_ran_out(folder, "ball 0", 60, on=DAY)
    log_join(folder, "3", 61, "ball 0", on=DAY)
    mark_lost(folder, "ball 9", on=DAY)
    status = skip(folder, "ball 10", on=DAY)
    text = folder.joinpath("knitted.csv").read_text("utf-8-sig")
    assert text.splitlines() == [
        "date,row,what,yarn,instead_of,grams,notes",
        "2026-03-09,20,knitted,,,,",
        "2026-03-09,30,weighed,Ball 0,,24.5,",
        "2026-03-09,60,ran out,ball 0,,,",
        "2026-03-09,61,joined,3,ball 0,,",
        "2026-03-09,61,lost,ball 9,,,",
        "2026-03-09,61,skipped,ball 10,,,",
    ]
    assert status.now.knitted.row == 61
    assert "ball 2" in status.now.knitted.held
    assert "ball 0" not in status.now.knitted.held
    assert last_line(status).what == "skipped"
    assert folder.joinpath("knitted.csv.bak").exists()


def test_the_last_line_is_taken_back(folder):
    """One after the other, until the log is empty."""
    log_row(folder, 20, on=DAY)
    log_row(folder, 40, on=DAY)
    assert undo_last(folder).now.knitted.row == 20
    assert undo_last(folder).now.knitted.row == 0
    assert undo_last(folder).now.knitted.row == 0
    assert log_row(folder, 30, on=DAY).now.knitted.row == 30


def test_the_spreadsheet_s_ways_are_kept(folder):
    """Line ends, the byte order mark and columns of one's own stay."""
    data = b"\xef\xbb\xbfrow,mood,what\r\n12,calm,knitted\r\n"
    folder.joinpath("knitted.csv").write_bytes(data)
    log_join(folder, "ball 2", 71, on=DAY)
    after = folder.joinpath("knitted.csv").read_bytes()
    head = b"\xef\xbb\xbfrow,mood,what,date,yarn\r\n12,calm,knitted,,\r\n"
    assert after.startswith(head)
    assert after.count(b"\n") == after.count(b"\r\n") == 3


def test_what_cannot_be_read_is_not_written(folder):
    """An unknown yarn, a row that is none: told, the file as it was."""
    log_row(folder, 20, on=DAY)
    before = folder.joinpath("knitted.csv").read_bytes()
    with pytest.raises(KitError, match='No yarn called "Bal 2". Did you mean'):
        log_join(folder, "Bal 2", 30)
    with pytest.raises(KitError, match="row: found -3, expected 0 or more"):
        log_row(folder, -3)
    with pytest.raises(KitError, match="grams: found -4, expected 0 or more"):
        log_weighing(folder, "ball 1", 30, -4)
    assert folder.joinpath("knitted.csv").read_bytes() == before


def test_plans_are_kept_and_numbered(folder, no_pictures):
    """The first in plan, the next in plan-2 and plan-3; none is overwritten."""
    status = log_row(folder, 60, on=DAY)
    replanned = preview_replan(status)
    path = save_replan(status, replanned)
    assert path.name == "plan-2"
    first = folder.joinpath("plan", "plan.json").read_bytes()
    status = log_row(folder, 90, on=DAY)
    path = save_replan(status, preview_replan(status, ReplanChoices(drop=("ball 8",))))
    assert path.name == "plan-3"
    assert folder.joinpath("plan", "plan.json").read_bytes() == first
    status = where_things_stand(folder)
    assert status.number == 3
    assert status.plan.start.row == 90
    page = path.joinpath("plan.html").read_text("utf-8")
    assert "Rows 1 to 90 are knitted" in page
    begun = folder.joinpath("plan", "plan.html").read_text("utf-8")
    brackets = "Rows in brackets hold nine times in ten"  # only where there are any
    assert (brackets in page, brackets in begun) == (False, True)
    for row in range(1, 61):
        expected = held_in(replanned.before.fabric, row)
        assert held_in(status.plan.fabric, row) == expected


# --- one whole knitting ---------------------------------------------------------------


@pytest.mark.parametrize("seed", [2, 3])
def test_a_blanket_is_knitted_to_its_end(folder, seed):
    """A truth the plan does not know, three weighings, three new plans: a finished
    blanket, no ball below zero, rows that never change, sums that hold."""
    rng = random.Random(seed)
    plan = plan_blanket(open_blanket(folder))
    save_plan(folder, plan)
    base = plan.choices
    truth = drawn_truth(plan.stash.yarns, base, rng)
    knitter = Knitter(plan, truth, rng, base)
    for number, row in enumerate((50, 120, 190), start=2):
        knitter.knit_to(row)
        for name, at, out in knitter.joins:
            log_join(folder, name, at, out, on=DAY)
        knitter.weather()
        for part in list(knitter.held):
            grams = knitter.scale(part.yarn.name)
            status = log_weighing(folder, part.yarn.name, row, grams, on=DAY)
        assert status.now.knitted.row == row
        held = {part.yarn.name for part in knitter.held}
        assert set(status.now.knitted.held) == held
        before, after = plan, preview_replan(status, ReplanChoices(order="keep")).after
        check_sums(after)
        done = status.now.knitted.stripes
        for k in range(1, row + 1, 7):
            strands = held_in(after.fabric, k)
            assert strands == held_in(_with(before, done), k)
        save_plan(folder, after, f"plan-{number}")
        plan = where_things_stand(folder).plan
        assert plan.fabric.stripes == after.fabric.stripes
        knitter = Knitter(plan, truth, rng, base, row=row, left=knitter.left)
    knitter.knit_to(plan.fabric.rows)
    assert knitter.row == plan.fabric.rows
    assert min(knitter.left.values()) > 0
    status = log_row(folder, knitter.row, on=DAY)
    assert status.now.knitted.row == status.now.rows
    assert all(ball.left_mm >= 0 for ball in status.now.balls)
    # within a tenth of what was wished, whatever the pace turned out to be
    assert plan.fabric.rows == pytest.approx(260, rel=0.1)


def _with(plan, stripes):
    class Whole:
        fabric = type("F", (), {"stripes": stripes, "stitches": plan.fabric.stitches})

    return Whole.fabric


# --- the command line -----------------------------------------------------------------


def test_progress_in_a_terminal(folder, capsys, no_pictures):
    """The lines of where things stand; with --replan a new plan beside the old."""
    log_row(folder, 60, on=DAY)
    assert main(["progress", str(folder)]) == 0
    said = capsys.readouterr().out.splitlines()
    assert said == status_lines(where_things_stand(folder))
    assert not folder.joinpath("plan").exists()
    assert main(["progress", str(folder), "--drop", "ball 8", "--length", "90"]) == 0
    said = capsys.readouterr().out
    assert "Planned anew from row 60, before and after:" in said
    assert "  rows: 260 → 234" in said
    assert folder.joinpath("plan-2", "plan.html").exists()


@pytest.mark.parametrize(
    "words",
    [
        ["--drop", "Nobody"],
        ["--add", "ball 3", "--drop", "ball 3"],
    ],
)
def test_words_that_are_off(folder, capsys, words):
    """Exit 2, nothing written."""
    assert main(["progress", str(folder), *words]) == 2
    assert capsys.readouterr().err
    assert not folder.joinpath("plan").exists()


@pytest.mark.parametrize("words", [["--length", "al"], ["--rows-per-colour", "0"]])
def test_words_that_cannot_be_read(folder, words):
    """Exit 2, as the command line has it."""
    with pytest.raises(SystemExit) as left:
        main(["progress", str(folder), *words])
    assert left.value.code == 2


def test_faults_in_the_log(folder, capsys):
    """Exit 1, each a line on stderr."""
    folder.joinpath("knitted.csv").write_text("row,yarn\n12,Nobody\nx,ball 1\n")
    assert main(["progress", str(folder)]) == 1
    told = capsys.readouterr().err.splitlines()
    assert [line.split(":")[0] for line in told] == [
        "knitted.csv, row 2, yarn", "knitted.csv, row 3, row",
    ]  # fmt: skip


def test_it_stands_at_the_beginning(folder):
    """Nothing logged, nothing written: worked out now, and said."""
    status = where_things_stand(folder)
    assert repr(status) == "Status('Hall', row 0 of 260)"
    assert status.number == 0
    assert status.sentences == ("No plan is written yet: this one was worked out now.",)
    assert last_line(status) is None


def test_the_plan_on_paper_is_followed(folder):
    """Once it is written the stash may change; the stripes stay."""
    before = plan_blanket(open_blanket(folder))
    save_plan(folder, before)
    more = [*balls(12, grams=(25, 40, 50)), {"name": "New", "colours": "#777",
            "grams": 99, "metres_per_100g": 400}]  # fmt: skip
    folder.joinpath("stash.csv").write_bytes(stash_bytes(more))
    status = where_things_stand(folder)
    assert (status.number, status.sentences) == (1, ())
    assert status.plan.fabric.stripes == before.fabric.stripes
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
    status = where_things_stand(folder)
    assert status.number == 0
    assert status.sentences == (
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
