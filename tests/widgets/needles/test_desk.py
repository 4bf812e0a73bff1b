"""The needles desk without a page: controls are set as a page would set them."""

import pytest

from kit.needles import where_things_stand
from kit.widgets.fabric.view import BLANK
from kit.widgets.needles.desk import NeedlesDesk
from tests.helpers.demos import own_demo


@pytest.fixture(autouse=True)
def quick(request, monkeypatch):
    """The blanket is drawn only where a test is about its picture."""
    if "picture" not in request.node.name:
        so_far = "kit.widgets.needles.results.so_far_svg"
        monkeypatch.setattr(so_far, lambda standing: BLANK)


@pytest.fixture
def folder(tmp_path):
    """A copy of the small demo, not begun."""
    return own_demo(tmp_path).parent / "pram-cover"


@pytest.fixture
def desk(folder):
    return NeedlesDesk(folder)


def words(lines) -> str:
    return " ".join(label.value for label in lines.children).replace("\u00a0", " ")


def log_of(folder) -> list[str]:
    return (folder / "knitted.csv").read_text("utf-8-sig").splitlines()[1:]


def next_join(desk):
    return desk.standing.now.joins[0]


def test_it_opens_on_the_next_join(desk):
    """The first control is filled in with the join that comes next."""
    join = next_join(desk)
    assert desk.join.joined.value == join.yarn.name
    assert desk.join.row.value == str(join.planned_row)
    assert desk.join.instead_of.value == join.instead_of
    assert f'join {join.yarn.no} "{join.yarn.name}"' in words(desk.join.lines)


def test_a_join_is_one_press(desk, folder):
    """It stands in knitted.csv at once, and the next one is offered."""
    join = next_join(desk)
    desk.join.log_it.click()
    (line,) = log_of(folder)
    assert line.split(",")[1:5] == [
        str(join.planned_row), "joined", join.yarn.name, join.instead_of
    ]  # fmt: skip
    assert desk.join.joined.value != join.yarn.name
    assert words(desk.join.said).startswith(f"Logged: joined {join.yarn.name}")
    assert [row[3] for row in desk.log.table.rows] == ["joined"]
    assert [row[0] for row in desk.log.table.rows] == ["2"]  # as messages name it


def test_rows_and_weights(desk, folder):
    """Rows, then a weight: the table of balls has it, and a range round it."""
    desk.more.rows.to_row.value = "12"
    desk.more.rows.log_it.click()
    name = desk.standing.now.knitted.held[0]
    (expected,) = (b.left_g for b in desk.standing.now.balls if b.yarn.name == name)
    desk.more.weigh.yarn.value = name
    desk.more.weigh.left.value = f"{expected.likely / 28.349523:.2f} oz"
    desk.more.weigh.log_it.click()
    assert [line.split(",")[2] for line in log_of(folder)] == ["knitted", "weighed"]
    (row,) = [row for row in desk.balls.table.rows if row[1] == name]
    left, low, high = (float(cell) for cell in row[3:])
    ounces = expected.likely / 28.349523125
    assert low <= left <= high and left == pytest.approx(ounces, abs=0.07)
    assert desk.more.weigh.left.value == ""


def test_half_a_row_is_not_cut(desk, folder):
    """Rows are counted whole: what is typed otherwise is told, and nothing logged."""
    desk.more.rows.to_row.value = "12.5"
    for act in (desk.more.rows.log_it, desk.more.gone.ran_out):
        act.click()
        assert words(desk.more.said) == (
            "Knitted to row: found 12.5, expected a whole number."
        )
    desk.join.row.value = "3.5"
    desk.join.log_it.click()
    assert words(desk.join.said) == "at row: found 3.5, expected a whole number."
    assert not (folder / "knitted.csv").exists()


def test_the_picture_pales_above_the_row(desk):
    """What is to come is paler: the picture changes with the row, and is an image."""
    before = desk.now.picture.value
    desk.more.rows.to_row.value = "60"
    desk.more.rows.log_it.click()
    assert desk.now.picture.value != before and desk.now.svg.startswith("<svg")


def test_undo_takes_the_last_line_out(desk, folder):
    """One line less, told; with none left the button rests."""
    desk.join.log_it.click()
    desk.more.undo.take_out.click()
    assert log_of(folder) == [] and desk.more.undo.take_out.disabled
    assert words(desk.more.said).startswith("Taken out: joined")


def test_a_lost_ball_is_planned_round(desk):
    """It is no longer offered, and the plan from here on does without it."""
    desk.more.rows.to_row.value = "10"
    desk.more.rows.log_it.click()
    later = desk.standing.now.joins[-1].yarn.name
    desk.more.gone.yarn.options = [*desk.more.gone.yarn.options, (later, later)]
    desk.more.gone.yarn.value = later
    desk.more.gone.lost.click()
    assert later not in [value for _, value in desk.join.joined.options]
    desk.anew.try_it.click()
    assert "Tried, not kept" in words(desk.anew.said)
    assert desk.anew.trial.sides.rows[0][0] == "rows" and not desk.anew.keep_it.disabled
    assert desk.anew.trial.before.value != desk.anew.trial.after.value


def test_a_line_forgets_the_trial(desk):
    """After another line in the log the trial no longer fits, and cannot be kept."""
    desk.anew.try_it.click()
    desk.join.log_it.click()
    assert desk.anew.keep_it.disabled and desk.anew.trial.sides.rows == []


def test_a_length_is_needed(desk):
    """Asking for another length without giving one is told beside the control."""
    desk.anew.wishes.length.value = "cm"
    assert not desk.anew.wishes.length_cm.disabled
    desk.anew.try_it.click()
    assert "in, the whole blanket: found nothing" in words(desk.anew.said)


def test_a_weight_that_is_none_is_told(desk, folder):
    """Words beside the control, and no line in the log."""
    desk.more.weigh.left.value = "plenty"
    desk.more.weigh.log_it.click()
    assert "left on it" in words(desk.more.said)
    assert not (folder / "knitted.csv").exists()


def test_a_row_beyond_the_end_is_told(desk):
    """It counts as the last one, and the lines say so."""
    desk.more.rows.to_row.value = "99999"
    desk.more.rows.log_it.click()
    assert "row 99999 lies beyond the plan's last row" in words(desk.join.lines)


def test_it_comes_back_as_it_was(desk, folder):
    """A new desk on the same folder reads the log again."""
    desk.join.log_it.click()
    again = NeedlesDesk(folder)
    assert again.log.table.rows == desk.log.table.rows
    assert again.join.joined.value == desk.join.joined.value


def test_the_log_is_the_one_a_terminal_reads(desk, folder):
    """The desk and the functions behind it see the same."""
    desk.join.log_it.click()
    assert where_things_stand(folder).now.knitted.row == desk.standing.now.knitted.row


def test_another_blanket_is_chosen(desk, folder):
    """The chooser opens the blanket beside it."""
    (other,) = (p for _, p in desk.which.folder.options if p.name == "reading-room")
    desk.which.folder.value = other
    assert desk.standing.blanket.folder == other


def test_a_strand_that_lasts_is_bound_off(desk):
    """No row beyond the last one is told, none before the strand's own join; what is
    sure to last is named so."""
    last = desk.standing.now.rows
    desk.more.rows.to_row.value = str(last - 5)
    desk.more.rows.log_it.click()
    long, scant = desk.sure.table.rows
    on = desk.standing.now.knitted.on_needle
    (lock_gate,) = (s for s in on if s.part.yarn.name == long[1])
    joined = lock_gate.begun // desk.standing.plan.fabric.stitches + 1
    assert long[1:] == ["Lock Gate at Noon", str(joined), "bind off", "", ""]
    assert scant[1] == "Butter Dish" and scant[-1] == str(last)
    desk.more.undo.take_out.click()
    rows = [row for row in desk.sure.table.rows if row[3] != "bind off"]
    assert len(rows) > 10
    for _, _, joined, likely, low, high in rows:
        join = int(joined.removeprefix("about "))
        assert join <= int(low) <= int(likely) <= int(high) <= last


def test_a_ball_in_parts_is_weighed_whole(desk):
    """Said beside the field of a ball that is halved, and of no other."""
    halved = {s.part.yarn.name for s in desk.standing.now.knitted.to_come}
    assert "Butter Dish" in halved
    desk.more.weigh.yarn.value = "Butter Dish"
    told = '"Butter Dish" lies in 2 parts: weigh them together.'
    assert words(desk.more.weigh.parts) == told
    strands = desk.standing.now.knitted.strands
    for name in {s.part.yarn.name for s in strands if s.part.n_parts == 1}:
        desk.more.weigh.yarn.value = name
        assert words(desk.more.weigh.parts) == ""


def test_the_row_of_a_join_is_the_one_told(desk):
    """The field has a row of the range that stands in the line below."""
    for join in desk.standing.now.joins:
        desk.join.joined.value = None
        desk.join.joined.value = join.yarn.name
        first = next(j for j in desk.standing.now.joins if j.yarn == join.yarn)
        assert int(first.row.low) <= desk.join.row.number() <= int(first.row.high)


def test_an_imperial_blanket_is_weighed_in_ounces(desk, folder):
    """Fields, tables, the echo and the log itself; a number in grams says so."""
    assert desk.more.weigh.left.description == "left on it, oz"
    assert desk.anew.wishes.length_cm.description == "in, the whole blanket"
    assert desk.balls.table.columns[3] == "left, oz"
    desk.more.rows.to_row.value = "12"
    desk.more.weigh.yarn.value = name = desk.standing.now.knitted.held[0]
    desk.more.weigh.left.value = "1.5"
    desk.more.weigh.log_it.click()
    said = words(desk.more.said)
    assert said == f"Logged: 1.5 oz of {name} left after row 12."
    header, line = (folder / "knitted.csv").read_text("utf-8-sig").splitlines()
    assert header == "date,row,what,yarn,instead_of,ounces,notes"
    assert line.split(",", 1)[1] == f"12,weighed,{name},,1.5,"
    assert desk.log.table.columns[-1] == "left, oz"
    assert desk.log.table.rows[0][-1] == "1.5"
    desk.more.weigh.left.value = "40 g"
    desk.more.weigh.log_it.click()
    assert log_of(folder)[-1].split(",", 1)[1] == f"12,weighed,{name},,1.411,"


def test_a_metric_blanket_is_weighed_in_grams(folder):
    """Fields and tables speak of grams and centimetres."""
    path = folder / "blanket.toml"
    text = path.read_text("utf-8").replace('"imperial"', '"metric"')
    path.write_text(text, "utf-8")
    desk = NeedlesDesk(folder)
    assert desk.more.weigh.left.description == "left on it, g"
    assert desk.anew.wishes.length_cm.description == "cm, the whole blanket"
    assert (desk.balls.table.columns[3], desk.log.table.columns[-1]) == ("left, g",) * 2
